"""Where a job stands, on one screen: what is next, each kiln, its last round beside its bands, what would end the day.

The lines print a view that is one plain document. What does not fit on the screen is left out by its rank, the plot
and the later readings first, and never what is next.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from recover.judged.assessment import Assessment
from recover.plan.answered import HEAT
from recover.plan.log import BESIDE
from recover.report.acts import now_at
from recover.report.day import day_text
from recover.report.one_screen import COLUMNS, LABEL, Block, cut, next_blocks, on_one_screen, said
from recover.report.paper import View, capital
from recover.report.so_far import piece_of_answers, text_plot
from recover.report.status_view import kiln_view, look_at, plan_view, status_view
from recover.report.today import Glance, KilnNow
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan

LINES = 23
"""Those of a terminal of the smallest usual size but for the line at which the next command is typed."""

ROW, VALUE, BAND = 25, 8, 21
"""How wide the cells of a reading are: what and where, its value, its band with the middle."""


def status_lines(found: Assessment, plan: JobPlan | None, now: datetime, **more: Any) -> list[str]:
    """Return where a job stands as one screen, what is next first; `more` as in `look_at`."""
    return screen(look_at(found, plan, now, **more))


def screen(look: Glance) -> list[str]:
    """Return a look at a job as one screen."""
    view = status_view(look)
    blocks = [Block(0, [head(look)]), *next_blocks(view["next"]), *_parties(view), *_kilns(look, view)]
    return on_one_screen([*blocks, *_ends(view["plan"])], LINES)


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
    blocks = [
        Block(0, [head]), *next_blocks([asdict(act) for act in todo]), *_one_kiln(view), *_ends(plan_view(look)),
    ]  # fmt: skip
    return on_one_screen(blocks, LINES)


def head(look: Glance) -> str:
    """Return whose screen it is, and of when."""
    return f"{look.found.job}, {_moment(look)}"


def _moment(look: Glance) -> str:
    return f"{day_text(look.now.date())} {look.now:%H:%M}"


def _parties(view: View) -> Iterator[Block]:
    """Yield whose kiln it is, where it stands and whom to ring, in one line as far as that goes."""
    if view["parties"]:
        told = "; ".join(row["value"] for row in view["parties"])
        yield Block(4, cut(said(words().status.label.whose, told), 1))


def _kilns(look: Glance, view: View) -> Iterator[Block]:
    for kiln, shown in zip(look.kilns, view["kilns"], strict=True):
        yield Block(0, cut(wrap(f"{shown['label']}. {shown['where']}", COLUMNS), 1 + (len(look.kilns) == 1)))
        yield from _one_kiln(shown)
        if kiln.kiln.days and not look.changed:
            piece = piece_of_answers(look.found, kiln.kiln.kiln)
            now = look.now if not kiln.stands_still else None
            yield Block(7, text_plot(kiln.kiln, kiln.log, piece, now))


def _one_kiln(shown: View) -> Iterator[Block]:
    """Yield what is left and when it ends, the last round, what would end the day and where it is switched off."""
    label = words().status.label
    if shown["read"]:
        before, last = "", shown["read"][-1]["measured"]
        for row in shown["read"]:
            on = _date(row["measured"]) if _date(row["measured"]) != before else ""
            head = label.read(day=shown["read_on"]) if shown["read_on"] and not before else on
            yield Block(_rank(row, last), [_row(row)], head)
            before = _date(row["measured"])
    yield Block(1, cut(said(label.left, shown["left"]["says"]), 2) if shown["left"] else [])
    yield Block(2, cut(said(label.ends, shown["fires"]["says"]), 2) if shown["days"] else [])
    if shown["stops"] or shown["off"]:
        stops = f"{'; '.join(map(capital, shown['stops']))}. " if shown["stops"] else ""
        yield Block(3, cut(said(label.stop, f"{stops}{shown['off']}"), 4))


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


def _ends(plan: View | None) -> Iterator[Block]:
    if plan:
        yield Block(0, cut(wrap(plan["says"], COLUMNS), 3))
