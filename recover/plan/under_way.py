"""A drying that is under way: what was lived and read so far, what that teaches, and the path from there.

The kiln is lived through its days again from the first on, as its answers have it now; so a correction of the lining
counts from the beginning, and a plan that was lost is made again from journal and log.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache, cached_property
from typing import TYPE_CHECKING

from recover.base.datafile import load
from recover.base.measures import show_number
from recover.judged.stops import LOOKED
from recover.physics.draws import spread
from recover.physics.figures import DOUBTED, Knowledge
from recover.plan.compared import Calendar, spanned
from recover.plan.learning import PRIOR_DRAWS, Misfit, Weighed, as_assumed, learn, to_weigh
from recover.plan.lived import Done, LivedKiln, done_days
from recover.plan.log import begun, log_of
from recover.plan.of_job import Taken
from recover.plan.paths import PathRun, run_on
from recover.plan.ways import SHIFTS, way
from recover.plan.whole import JobPlan, KilnPlan, Learnt, Path, Request
from recover.schedule.limits import figures

if TYPE_CHECKING:
    from recover.asked.told import Logged
    from recover.judged.assessment import Assessment


@dataclass(frozen=True, kw_only=True)
class _Words:
    goes_on: str
    no_end: str
    dry: str
    misfit: dict[str, str]


@cache
def _words() -> _Words:
    return load("plan/learning.toml", "recover-learning", _Words)


@dataclass(frozen=True, kw_only=True)
class UnderWay:
    """A drying that is under way: its kiln, the plan that it is dried by, its log, and the moment that it is now.

    `follows` is the id of the path by which it goes on.
    """

    of: Taken
    plan: KilnPlan
    log: tuple[Logged, ...]
    calendar: Calendar
    now: datetime
    follows: str

    @cached_property
    def done(self) -> list[Done]:
        """The days that are over, or open now, as they were planned, and how long of each was run."""
        return done_days(self.plan.days, self.log, self.now)

    @property
    def today(self) -> int:
        """The day, from 0, that a plan made now begins with: none before it can be planned any more."""
        passed = (self.now.date() - self.calendar.date(0)).days
        opened = self.calendar.opening(max(passed, 0)).timestamp() <= self.now.timestamp()
        return max(passed + opened, len(self.done), 0)


def under_way(found: Assessment, before: JobPlan, of: Taken, request: Request) -> UnderWay | None:
    """Return a kiln's drying as it is under way; None before it was begun, and where it is begun anew."""
    there = [one for one in before.kilns if one.kiln == of.kiln]
    log = log_of(found.answers, of.kiln)
    again = request.opens == before.request.opens and of.heating and of.piece
    if not there or not again or not begun(there[0], log):
        return None
    return UnderWay(
        of=of, plan=there[0], log=log, calendar=Calendar(request=request, zone=found.answers.zone),
        now=found.answers.now, follows=request.path or there[0].followed,
    )  # fmt: skip


def as_made(found: Assessment, plan: JobPlan, of: Taken) -> UnderWay | None:
    """Return a kiln's drying as it was when its plan was made; None of a plan that is not gone on with."""
    kiln = next(one for one in plan.kilns if one.kiln == of.kiln)
    now = under_way(found, plan, of, plan.request)
    if kiln.learnt is None or now is None:
        return None
    taken_in = sorted(now.log, key=lambda one: one.line)[: kiln.learnt.lines]
    log = tuple(one for one in now.log if one in taken_in)
    return replace(now, log=log, now=datetime.fromisoformat(plan.made).astimezone(now.calendar.zone))


def is_current(under: UnderWay) -> bool:
    """Whether the plan has taken in what was logged, and every day that is over."""
    learnt = under.plan.learnt
    return learnt is not None and (learnt.lines, learnt.goes_on) == (len(under.log), under.today + 1)


def went_on(under: UnderWay, *, recalls: bool = True) -> tuple[PathRun, Learnt]:
    """Return the path as it goes on from now, and what was learnt; unless it `recalls` them, every day is lived anew.

    Where no draw shows what was read, draws of a kiln that is doubted take their place; it is shut until somebody has
    looked, and again where not even those show what was read since. Raises SimulationError where a
    run cannot be trusted.
    """
    lived, learned = _learned(under, None, recalls=recalls)
    misfits, looked = learned.misfits, _looked(under.log)
    if misfits:
        lived, learned = _learned(under, DOUBTED, recalls=recalls)
    shut = bool(misfits) and (not looked or any(one.line > looked for one in learned.misfits))
    run = run_on(
        lived, way(under.follows.removesuffix(SHIFTS)), learned.chosen(int(figures().least_draws.value)), under.today,
        under.calendar.attended, shifts=under.follows.endswith(SHIFTS),
    )  # fmt: skip
    return run, _learnt(under, lived, learned, misfits, shut=shut)


def _learned(under: UnderWay, knowledge: Knowledge | None, *, recalls: bool) -> tuple[LivedKiln, Weighed]:
    assert under.of.heating
    assert under.of.piece
    heating = to_weigh(replace(under.of.heating, knowledge=knowledge or under.of.heating.knowledge))
    lived = LivedKiln(card=way(under.plan.followed.removesuffix(SHIFTS)), of=under.of, heating=heating, recalls=recalls)
    lived.through(under.done)
    opens = [one.day.attended_from or under.calendar.opening(number) for number, one in enumerate(under.done)]
    return lived, learn(lived.days, opens, under.log, under.of.piece, as_assumed(heating))


def _learnt(under: UnderWay, lived: LivedKiln, learned: Weighed, misfits: Sequence[Misfit], *, shut: bool) -> Learnt:
    left, before = lived.days[-1].left, under.plan.learnt
    chosen = list(learned.chosen(PRIOR_DRAWS))
    path = under.plan.path
    return Learnt(
        goes_on=under.today + 1, lines=len(under.log), readings=learned.readings,
        not_run=tuple(one.day.number for one in under.done if one.day.off_switch and not one.run),
        effective=learned.effective, assumed=spread(left[as_assumed(lived.heating)]), left=spread(left[chosen]),
        at_first=before.at_first if before else path.first_firing if path else None,
        misfits=tuple(_said(misfits)), shut=shut,
    )  # fmt: skip


def _said(misfits: Sequence[Misfit]) -> Iterator[str]:
    for one in misfits:
        side = "above" if one.beside > 0 else "below"
        beside = f"{show_number(abs(one.beside), 2)} {one.unit}"
        yield _words().misfit[f"{one.what}_{side}"].format(place=one.place, beside=beside)


def _looked(log: Sequence[Logged]) -> int:
    """Return the line in which somebody who had looked said so last; nought where nobody has. It speaks of the lines
    before it: what is taken in later, nobody had seen."""
    return max((one.line for one in log if one.what == LOOKED), default=0)


def because(run: PathRun, path: Path, learnt: Learnt) -> str:
    """Return the one sentence of a drying that goes on."""
    say, day = _words(), learnt.goes_on
    if path.first_firing and day > len(run.days):
        return say.dry
    if path.first_firing:
        return say.goes_on.format(day=day, title=path.title, **spanned(path.first_firing))
    return say.no_end.format(day=day, title=path.title, left=f"{show_number(100 * spread(run.days[-1].left).p90, 2)} %")
