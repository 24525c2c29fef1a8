"""The verdict on one screen: the kiln, its components by outcome, what is next, hold points, the visit, a caution.

What is next is what `recover status` tells. Nobody scrolls for the answer: what there is no room for is counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from recover.base.addresses import JOB
from recover.base.errors import command
from recover.base.measures import show_quantity
from recover.judged.readings import rating
from recover.report.acts import acts, call_first, unanswered
from recover.report.call_sheets import decision
from recover.report.groups import Group, groups, told
from recover.report.one_screen import COLUMNS, cut, next_blocks, said
from recover.report.paper import fact_words, headline, in_words, say
from recover.report.status import head
from recover.report.words import words

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.judged.standing import Hold
    from recover.report.today import Glance
    from recover.rules.gates import HoldPoint

LINES, NEXT = 30, 3
"""Of how many lines a screen of answers is at most, and how much of what is next it tells."""

STATES = ("suspended", "released", "ready for release", "closed")
"""In which order it is said how hold points stand."""

LOSS = ("category", "salinity", "hours_wet", "event.source")
KILN = ("event.water_line", "identity.opening", "scope.connection")
"""What is told of the water and of a kiln in a line."""


@dataclass(frozen=True)
class _Room:
    """As many lines as each part may take; how many acts are told, and of how many the command."""

    known: int
    acts: int
    first: int
    other: int
    commands: int
    holds: int
    visit: int
    misfits: int
    caution: int


ROOMS = (
    _Room(3, NEXT, 5, 3, NEXT, 4, 2, 3, 4), _Room(3, NEXT, 4, 2, 1, 4, 2, 3, 4), _Room(2, NEXT, 3, 1, 1, 4, 1, 2, 4),
    _Room(2, NEXT, 3, 1, 1, 2, 1, 1, 3), _Room(1, NEXT, 2, 1, 1, 1, 1, 1, 3),
)  # fmt: skip
"""From much room to little: the first is taken that leaves the groups two lines each, or as many as they need; else
the first that leaves them one."""

SCANT = (_Room(1, NEXT, 2, 1, 0, 1, 1, 1, 3), _Room(1, 1, 2, 1, 0, 1, 1, 1, 3), _Room(0, 1, 2, 1, 0, 1, 1, 1, 3))
"""What is left on a terminal that is smaller than any usual one."""


def verdict_lines(look: Glance, *, columns: int = COLUMNS, most: int = LINES) -> list[str]:
    """Return what is found of a job as one screen."""
    of = groups(look.found)
    wanted = sum(min(2, len(_group(one, most, columns))) for one in of)
    around = [(_before(look, room, columns), _after(look, room, columns)) for room in (*ROOMS, *SCANT)]
    fits = (
        one for least, rooms in ((wanted, around[: len(ROOMS)]), (len(of), around))
        for one in rooms if most - sum(map(len, one)) >= least
    )  # fmt: skip
    before, after = next(fits, around[-1])
    return [*before, *_grouped(of, most - len(before) - len(after), columns), *after]


def call_lines(look: Glance, *, columns: int = COLUMNS) -> list[str]:
    """Return what comes of a call as one screen: whether to go, and the one thing that is next."""
    room, of = ROOMS[0], decision(look.found)
    go = (
        []
        if acts(look)[:1] == [call_first(look)]
        else said(words().verdict.label.call, " ".join((of["outcome"], *of["say"])), columns)
    )
    return [
        *_headed(look, columns), *go, *_next(look, room, columns, 1), *_caution(look, room, columns)
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------- its parts


def _before(look: Glance, room: _Room, columns: int) -> list[str]:
    known = (said(label, text, columns) for label, text in _known(look.found))
    return [
        *_headed(look, columns),
        *(line for lines in known for line in cut(lines, room.known, columns) if room.known),
    ]


def _after(look: Glance, room: _Room, columns: int) -> list[str]:
    return [
        *_next(look, room, columns, room.acts), *_holds(look, room, columns), *_visit(look, room, columns),
        *_misfits(look, room, columns), *_caution(look, room, columns),
    ]  # fmt: skip


def _headed(look: Glance, columns: int) -> list[str]:
    """Return whose screen it is, and what is to be known before anything else."""
    top = headline(look.found, counted=False)
    return [head(look), *wrap(". ".join((top["title"], " ".join(top["lines"]))), columns)]


def _known(found: Assessment) -> Iterator[tuple[str, str]]:
    """Yield what is known in a line: where there are several kilns, of the water, then of each."""
    label, several = words().verdict.label, len(found.answers.kilns) > 1
    water = [*_told(found, LOSS, JOB)]
    if several:
        yield label.water, "; ".join(water)
    for kiln in found.answers.kilns:
        power = rating(found.answers, kiln)
        rated = [f"{show_quantity(power.volts, 'V')}, {show_quantity(power.kw, 'kW')}"] if power else []
        name = [found.answers.label(kiln)] if several else []
        yield label.kiln, "; ".join([*name, *rated, *_told(found, KILN, kiln), *([] if several else water)])


def _told(found: Assessment, names: Sequence[str], at: Address) -> Iterator[str]:
    """Yield answers and facts, each with what it is called where it does not say so itself."""
    called = found.answers.questions.printed("summary")
    for name in names:
        value, label = _value(found, name, at), called.get(name, "").lower()
        if label and value and label not in value:
            yield f"{label}: {value}"
        elif value and value != words().open["unanswered"]:
            yield value


def _value(found: Assessment, name: str, at: Address) -> str:
    """Return an answer, or a fact of the whole loss, in words; empty where nothing is asked."""
    question = found.answers.questions.questions.get(name)
    if question is None:
        return fact_words(found, name)
    answer = found.answers.answer(name, at)
    if answer:
        return in_words(found, answer)
    return words().open["unanswered"] if at in found.answers.instances(question) else ""


def _grouped(of: Sequence[Group], room: int, columns: int) -> list[str]:
    """Return the groups in so many lines: one each, then one more each as long as there is need and room; what is open
    first, since an answer settles it."""
    need = [len(_group(one, room, columns)) for one in of]
    order = sorted(range(len(of)), key=lambda at: of[at].name != "open")
    given = [1] * len(of)
    while sum(given) < room and (short := [at for at in order if given[at] < need[at]]):
        for at in short[: room - sum(given)]:
            given[at] += 1
    return [line for one, most in zip(of, given, strict=True) for line in _group(one, most, columns)]


def _group(of: Group, most: int, columns: int) -> list[str]:
    """Return a group in so many lines at most: as many names as they hold, and how many more there are."""
    label, say_more = words().verdict.group[of.name], words().verdict.more
    for end in range(len(of.named), 0, -1):
        more = of.number - sum(one.number for one in of.named[:end])
        rest = [say_more(number=more)] if more else []
        lines = said(label, f"{of.number}: {'; '.join([told(of.named[:end]), *rest])}", columns)
        if len(lines) <= most:
            return lines
    return said(label, f"{of.number}: {words().verdict.all}", columns)[:1]


def _next(look: Glance, room: _Room, columns: int, number: int) -> list[str]:
    """Return the first things that are next, as `recover status` tells them."""
    first = [asdict(act) for act in acts(look)[:number]]
    shown = [act if at < room.commands else {**act, "do": ""} for at, act in enumerate(first)]
    blocks = next_blocks(shown, first=room.first, other=room.other, columns=columns)
    return [line for block in blocks for line in block.lines]


def _holds(look: Glance, room: _Room, columns: int) -> list[str]:
    """Return which hold points stand where, a state after the other; the kiln where they differ in it."""
    stand: list[str] = []
    for state in STATES:
        here = [hold for hold in look.found.holds if hold.stands == state]
        titles = dict.fromkeys(_hold(look.found, hold.point, here) for hold in here)
        stand += [f"{state}: {'; '.join(titles)}."] if titles else []
    return cut(said(words().verdict.label.holds, " ".join(stand), columns), room.holds, columns)


def _hold(found: Assessment, point: HoldPoint, here: Sequence[Hold]) -> str:
    """Name a hold point; with the kilns, where it stands otherwise at others."""
    mine, others = ([found.answers.where(hold.at) for hold in of if hold.point == point] for of in (here, found.holds))
    return point.title if mine == others else f"{point.title} ({', '.join(mine)})"


def _visit(look: Glance, room: _Room, columns: int) -> list[str]:
    """Return how far the visit is: what was answered, what stays open with a reason, what nobody has answered."""
    found = look.found
    asked = sum(len(found.answers.instances(question)) for question in found.answers.questions.question)
    number = unanswered(found)
    line = words().verdict.visit(
        answered=asked - len(found.open), reasoned=len(found.open) - number, unanswered=number,
        photographs=len(found.answers.photographs),
    )  # fmt: skip
    return cut(said(words().verdict.label.visit, line, columns), room.visit, columns)


def _misfits(look: Glance, room: _Room, columns: int) -> list[str]:
    """Return the first of what does not fit together, and how many more there are."""
    if not (problems := look.found.problems):
        return []
    more = [words().verdict.more(number=len(problems) - 1)] if len(problems) > 1 else []
    short = said(words().verdict.label.misfit, f"{len(problems)}: {'; '.join([str(problems[0]), *more])}", columns)
    return cut(short, room.misfits, columns)


def _caution(look: Glance, room: _Room, columns: int) -> list[str]:
    """Return the first caution, what belongs to an electrician, and where all of them stand."""
    cautions, everything = look.found.group("caution"), command("assess", look.folder, "--all")
    first = [say(one) for one in cautions[:1]]
    work = words().referral_work(electrician=look.found.profile.terms.electrician)
    rest = words().verdict.rest(number=max(0, len(cautions) - 1), command=everything)
    text = " ".join([*first, f"{work}.", rest])
    lines = said(words().verdict.label.caution, text, columns)
    if len(lines) > room.caution:
        short = " ".join([*first, rest])
        lines = said(words().verdict.label.caution, short, columns)
    return lines
