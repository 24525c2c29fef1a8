"""Where a job stands, on one screen: what is next, each kiln, its last round beside its bands, what would end the day.

The lines print a view that is one plain document. What does not fit on the screen is left out by its rank, the plot
and the later readings first, and never what is next.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from recover.judged.assessment import Assessment
from recover.plan.answered import HEAT
from recover.plan.log import BESIDE
from recover.report.acts import now_at
from recover.report.day import day_text
from recover.report.paper import View, capital
from recover.report.so_far import piece_of_answers, text_plot
from recover.report.status_view import kiln_view, look_at, plan_view, status_view
from recover.report.today import Glance, KilnNow
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan

COLUMNS, LINES, LABEL = 80, 23, 8
"""A terminal of the smallest usual size but for the line at which the next command is typed; how wide a label is."""

FIRST, OTHER = 6, 3
"""Of how many lines the first thing that is next is told, and any other."""

ROW, VALUE, BAND = 25, 8, 21
"""How wide the cells of a reading are: what and where, its value, its band with the middle."""


@dataclass(frozen=True)
class _Block:
    """Lines that stand or fall together; of the highest rank, the last fall first. `head` stands before the first row
    that is left of those it is told for; None where the lines are no row."""

    rank: int
    lines: Sequence[str]
    head: str | None = None


def status_lines(found: Assessment, plan: JobPlan | None, now: datetime, **more: Any) -> list[str]:
    """Return where a job stands as one screen, what is next first; `more` as in `look_at`."""
    return screen(look_at(found, plan, now, **more))


def screen(look: Glance) -> list[str]:
    """Return a look at a job as one screen."""
    view = status_view(look)
    head, next_up = _Block(0, [_head(look)]), _next(view["next"])
    return _on_one_screen([head, *next_up, *_parties(view), *_kilns(look, view), *_ends(view["plan"])])


def round_lines(
    found: Assessment, plan: JobPlan, kiln_plan: KilnPlan, day: Day, now: datetime, **more: Any
) -> list[str]:  # fmt: skip
    """Return the screen after a round of readings of a day: what to do, what was read, what is left, what ends it."""
    look = look_at(found, plan, now, **more)
    kiln = KilnNow(look=look, plan=plan, kiln=kiln_plan, given=day)
    todo = now_at(KilnNow(look=look, plan=plan, kiln=kiln_plan))
    todo = [act for act in now_at(kiln) if act.kind == "stop" and act not in todo] + todo
    view = kiln_view(kiln)
    head = words().status.round(kiln=kiln_plan.label, day=day.number, days=len(kiln_plan.days), at=_moment(look))
    return _on_one_screen([
        _Block(0, [head]), *_next([asdict(act) for act in todo]), *_one_kiln(view), *_ends(plan_view(look)),
    ])  # fmt: skip


def _head(look: Glance) -> str:
    return f"{look.found.job}, {_moment(look)}"


def _moment(look: Glance) -> str:
    return f"{day_text(look.now.date())} {look.now:%H:%M}"


def _on_one_screen(blocks: Sequence[_Block]) -> list[str]:
    """Return the lines of as many blocks as there is room for."""
    kept = [block for block in blocks if block.lines]
    while sum(len(block.lines) for block in kept) > LINES:
        rank = max(block.rank for block in kept)
        last = max(number for number, block in enumerate(kept) if block.rank == rank)
        if rank == 0:
            return [line for block in kept for line in _lines(block)][:LINES]
        gone = kept.pop(last)
        if gone.head and last < len(kept) and kept[last].head == "":
            kept[last] = replace(kept[last], head=gone.head)
    return [line for block in kept for line in _lines(block)]


def _lines(block: _Block) -> list[str]:
    return [f"{block.head:{LABEL}}{line[LABEL:]}" for line in block.lines] if block.head else [*block.lines]


def _next(found: Sequence[View]) -> Iterator[_Block]:
    """Yield what is next: the first whole, as far as anybody reads on, the others shorter."""
    label = words().status.label
    for number, act in enumerate(found):
        most = FIRST if number == 0 else OTHER
        lines = _cut(_said(label.next if number == 0 else label.then, _sentence(act)), most)
        yield _Block(min(3 * number, 8), [*lines, *(f"{'':{LABEL}} {line}" for line in _command(act["do"]))])


def _command(do: str) -> list[str]:
    """Return a command as a shell takes it: broken before an option, and joined again where a line ends in a stroke."""
    lines: list[str] = []
    for part in do.replace(" --", "\n--").split("\n"):
        if lines and len(lines[-1]) + len(part) + 3 <= COLUMNS - LABEL - 1:
            lines[-1] += f" {part}"
        elif part:
            lines += wrap(part, COLUMNS - LABEL - 1, break_on_hyphens=False)
    if " --" not in do:
        return lines
    return [*(f"{line} \\" for line in lines[:-1]), *lines[-1:]]


def _sentence(act: View) -> str:
    """Return what is to be done, with who does it and until when."""
    say = words().status.act
    if act["by"] and act["until"]:
        told = say.by_until(by=act["by"], until=act["until"])
    else:
        told = say.by(by=act["by"]) if act["by"] else say.until(until=act["until"]) if act["until"] else ""
    return " ".join(filter(None, (act["say"], told)))


def _parties(view: View) -> Iterator[_Block]:
    """Yield whose kiln it is, where it stands and whom to ring, in one line as far as that goes."""
    if view["parties"]:
        told = "; ".join(row["value"] for row in view["parties"])
        yield _Block(4, _cut(_said(words().status.label.whose, told), 1))


def _kilns(look: Glance, view: View) -> Iterator[_Block]:
    for kiln, shown in zip(look.kilns, view["kilns"], strict=True):
        yield _Block(0, _cut(wrap(f"{shown['label']}. {shown['where']}", COLUMNS), 1 + (len(look.kilns) == 1)))
        yield from _one_kiln(shown)
        if kiln.kiln.days and not look.changed:
            piece = piece_of_answers(look.found, kiln.kiln.kiln)
            now = look.now if not kiln.stands_still else None
            yield _Block(7, text_plot(kiln.kiln, kiln.log, piece, now))


def _one_kiln(shown: View) -> Iterator[_Block]:
    """Yield what is left and when it ends, the last round, what would end the day and where it is switched off."""
    label = words().status.label
    if shown["read"]:
        before, last = "", shown["read"][-1]["measured"]
        for row in shown["read"]:
            on = _date(row["measured"]) if _date(row["measured"]) != before else ""
            head = label.read(day=shown["read_on"]) if shown["read_on"] and not before else on
            yield _Block(_rank(row, last), [_row(row)], head)
            before = _date(row["measured"])
    yield _Block(1, _cut(_said(label.left, shown["left"]["says"]), 2) if shown["left"] else [])
    yield _Block(2, _cut(_said(label.ends, shown["fires"]["says"]), 2) if shown["days"] else [])
    if shown["stops"] or shown["off"]:
        stops = f"{'; '.join(map(capital, shown['stops']))}. " if shown["stops"] else ""
        yield _Block(3, _cut(_said(label.stop, f"{stops}{shown['off']}"), 4))


def _rank(row: View, last: str) -> int:
    """Return how soon a row is left out: a stop before nothing, what is of an earlier hour first."""
    if row["lies"] == "stop":
        return 1
    if row["lies"] in ("below", "above") or row["what"] == HEAT:
        return 3
    return 4 if datetime.fromisoformat(last) - datetime.fromisoformat(row["measured"]) <= BESIDE else 6


def _date(moment: str) -> str:
    return f"{datetime.fromisoformat(moment):%d %b}" if moment else ""


def _row(row: View) -> str:
    """Return a reading in one line: when, what, its value, its band, how it lies; a word over all its cells."""
    if row["value"] is None:
        wide = ROW + VALUE + BAND + 3
        said = f"{row['label']}: {row['says']}"
        said = said if len(said) <= wide else f"{said[: wide - 1]}…"
        return f"{'':{LABEL}} {row['at']} {said:{wide}} {row['lies_says']}".rstrip()
    told = f"{row['at']} {_fitted(row['label']):{ROW}} {row['says']:>{VALUE}}  {row['band']:{BAND}} {row['lies_says']}"
    return f"{'':{LABEL}} {told}"[:COLUMNS].rstrip()


def _fitted(label: str) -> str:
    """Return as much of what is read, and where, as its cell holds: whole parts, as far as there are any."""
    parts = label.split(", ")
    while len(parts) > 1 and len(", ".join(parts)) > ROW:
        parts.pop()
    text = ", ".join(parts)
    return text if len(text) <= ROW else f"{text[: ROW - 1]}…"


def _ends(plan: View | None) -> Iterator[_Block]:
    if plan:
        yield _Block(0, _cut(wrap(plan["says"], COLUMNS), 3))


def _said(label: str, text: str) -> list[str]:
    indent = " " * (LABEL + 1)
    return wrap(text, COLUMNS, initial_indent=f"{label:{LABEL}} ", subsequent_indent=indent, break_on_hyphens=False)


def _cut(lines: Iterable[str], most: int) -> list[str]:
    """Return no more lines than so many; where one is left out, that there is more."""
    found = list(lines)
    if len(found) <= most:
        return found
    return [*found[: most - 1], f"{found[most - 1][: COLUMNS - 2].rstrip(' ;,.')} …"]
