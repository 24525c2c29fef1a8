"""Makes the plan of a job: paths from soaked to fired side by side, the one to follow, its days, what is fired after.

Every open path is run and compared whole: by when the kiln can be fired, how long somebody is there, what it costs. One
that ends on a few draws is run on all; days, criteria and dates of the one that is followed are of that run.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

from recover.base.addresses import Address
from recover.base.datafile import load
from recover.base.fingerprint import fingerprint
from recover.base.sources import Figure
from recover.controller.programme import Refusal
from recover.judged.assessment import Assessment
from recover.judged.dryout import frozen, lacking
from recover.physics.materials import Band
from recover.plan import of_job
from recover.plan.answered import contradicting
from recover.plan.cards import FiringCard, against_top, card, cards, firing_energy, rechecks
from recover.plan.cautions import with_cautions
from recover.plan.compared import (
    Calendar,
    Compared,
    best,
    closed_path,
    counted,
    driest,
    open_path,
    recommendation,
    with_beaten,
)
from recover.plan.criteria import criteria
from recover.plan.days import days_of
from recover.plan.inputs import inputs
from recover.plan.log import shut
from recover.plan.moved import moved, runs_as_before
from recover.plan.of_job import Taken
from recover.plan.openers import FEW, most_hours, what_opens, when_cleared
from recover.plan.own import conditions
from recover.plan.paths import PathRun, run_in_shifts, run_path
from recover.plan.prices import cost
from recover.plan.replacement import Match, Way, match
from recover.plan.replacement import ways as match_ways
from recover.plan.under_way import UnderWay, because, is_current, under_way, went_on
from recover.plan.ways import SALTED, SHIFTS, WayCard, closed_because, ways
from recover.plan.whole import Criterion, Day, Firing, JobPlan, KilnPlan, LimitKept, Request
from recover.schedule.limits import Limits, figures
from recover.schedule.search import Tell


@dataclass(frozen=True, kw_only=True)
class _Words:
    """What is said while a plan is made, and of a kiln that has none; the room where nobody measured it."""

    lacks: str
    frozen: str
    dry: str
    room_degc: Figure


@cache
def _words() -> _Words:
    return load("plan/planning.toml", "recover-planning", _Words)


@dataclass(frozen=True, kw_only=True)
class _Kiln:
    """A kiln that is planned for: what was taken of it, what was asked, by which calendar; the plan before and its
    calendar, where the walls are run as they were; its drying, where that is under way."""

    found: Assessment
    of: Taken
    request: Request
    calendar: Calendar
    told: Tell
    before: tuple[KilnPlan, Calendar] | None = None
    under_way: UnderWay | None = None

    @property
    def room_degc(self) -> float:
        return self.of.heating.room_degc if self.of.heating else _words().room_degc.value

    @property
    def top_degc(self) -> float:
        """The hottest that it is to fire [°C]: what the owner's ware needs, else what its plate says, else a test."""
        return self.of.top_degc or self.of.plate_degc or card("test_firing").steps[-1].to_degc


def kiln_plans(found: Assessment, request: Request, told: Tell, before: JobPlan | None = None) -> tuple[KilnPlan, ...]:
    """Plan each kiln of a job; where only dates or prices are others than in the plan before, its days are moved, and
    where a drying is under way it goes on from now.

    Raises SimulationError where a run cannot be trusted.
    """
    kilns, calendar = of_job.taken(found), Calendar(request=request, zone=found.answers.zone)
    now = inputs(found)

    def share_of(number: int) -> Tell:
        label = found.answers.label(kilns[number].kiln)
        return lambda what, share: told(f"{label}: {what}", (number + share) / len(kilns))

    made = [
        _kiln_plan(_Kiln(
            found=found, of=of, request=request, calendar=calendar, told=share_of(number),
            before=_before(before, of.kiln, now, calendar),
            under_way=under_way(found, before, of, request) if before else None,
        ))
        for number, of in enumerate(kilns)
    ]  # fmt: skip
    return with_cautions(kilns, made)


def _before(
    before: JobPlan | None, kiln: Address, now: dict[str, str], calendar: Calendar
) -> tuple[KilnPlan, Calendar] | None:
    """Return a kiln's plan in the plan before, and its calendar, where nothing by which walls are run is another."""
    if before is None or before.fingerprint != fingerprint() or not runs_as_before(kiln, before.inputs, now):
        return None
    there = [one for one in before.kilns if one.kiln == kiln]
    return (there[0], Calendar(request=before.request, zone=calendar.zone)) if there else None


def has_taken_in(found: Assessment, plan: JobPlan) -> bool:
    """Whether a plan has taken in what was logged of each drying that is under way, and the days that are over."""
    each = (under_way(found, plan, of, plan.request) for of in of_job.taken(found))
    return all(one is None or is_current(one) for one in each)


def _kiln_plan(kiln: _Kiln) -> KilnPlan:
    """Return the plan of a kiln: gone on with where it is under way, moved from the plan before where that will do."""
    if kiln.under_way:
        return _gone_on(kiln, kiln.under_way)
    again = kiln.before and moved(kiln.before[0], kiln.of, kiln.before[1], kiln.calendar)
    if not again:
        return _anew(kiln)
    _, ways_to_match = _matched(kiln, again.days)
    said = recommendation(kiln.of, again.paths, again.recommended)
    return replace(
        again, because=said or again.because, match_ways=ways_to_match,
        after=tuple(_firing(kiln, one) for one in cards()),
    )  # fmt: skip


def _gone_on(kiln: _Kiln, under: UnderWay) -> KilnPlan:
    """Return the plan of a kiln from today on: days behind it as they were planned, its path as it is told now.

    What was told of other paths before the first day is in the first plan, and held for that day.
    """
    run, learnt = went_on(under)
    told = open_path(run, kiln.of, kiln.calendar)
    ran = _Ran.of(kiln, Compared(told, run))
    past = under.plan.days[: under.today]
    days = (*past, *ran.days[len(past) :])
    match, ways_to_match = _matched(kiln, days)
    stops = (*shut(under.plan, kiln.found.answers, under.now.date()), *(learnt.misfits if learnt.shut else ()))
    return replace(
        under.plan, missing=(), gate_open=kiln.of.gate_open,
        because=" ".join((*(stops or (because(run, told, learnt),)), *contradicting(under.plan, under.log))),
        followed=told.id, recommended=told.id, paths=(told,), days=days, criteria=ran.criteria, kept=ran.kept,
        refusal=ran.refusal, match=match, match_ways=ways_to_match, after=tuple(_firing(kiln, one) for one in cards()),
        rechecks=rechecks(kiln.of.looks), learnt=learnt,
    )  # fmt: skip


def _anew(kiln: _Kiln) -> KilnPlan:
    compared = _compared(kiln)
    recommended = None if kiln.of.salt in SALTED else best(compared)
    shown = [*compared, *_in_shifts(kiln, recommended)]
    followed = _asked(kiln, shown) or recommended
    paths = with_beaten([one.path for one in shown])
    ran = _Ran.of(kiln, followed) if followed and followed.run else _Ran()
    match, ways_to_match = _matched(kiln, ran.days)
    return KilnPlan(
        kiln=kiln.of.kiln, label=kiln.found.answers.label(kiln.of.kiln), missing=_missing(kiln),
        gate_open=kiln.of.gate_open, recommended=recommended.path.id if recommended else "",
        because=_because(kiln, shown, recommended), followed=followed.path.id if ran.days and followed else "",
        refused=followed.path.closed_because if followed else (), paths=paths, days=ran.days,
        criteria=ran.criteria, kept=ran.kept, refusal=ran.refusal, match=match, match_ways=ways_to_match,
        after=tuple(_firing(kiln, one) for one in cards()), rechecks=rechecks(kiln.of.looks),
    )  # fmt: skip


def _missing(kiln: _Kiln) -> tuple[str, ...]:
    """Say why nothing is planned for a kiln's lining."""
    if kiln.of.heating:
        return ()
    lacks = tuple(_words().lacks.format(what=what) for what in lacking(kiln.found, kiln.of.kiln))
    lining = kiln.of.lining
    wet = lining is not None and any(layer.wet != "dry" for stack in lining.stacks for layer in stack.layers)
    return lacks or (_words().frozen if wet and frozen(kiln.found.answers) else _words().dry,)


# ---------------------------------------------------------------------------------------- paths


def _compared(kiln: _Kiln) -> list[Compared]:
    """Return every path: what closes it, or what it comes to; none where no lining is planned for.

    One that ends on a few draws is run on all, so that only like is compared with like.
    """
    if kiln.of.heating is None:
        return []
    found = []
    for number, one in enumerate(ways().way):
        kiln.told(one.title, 0.9 * number / len(ways().way))
        closed = closed_because(one, kiln.of)
        found.append(Compared(closed_path(one, kiln.of)) if closed else _proven(kiln, one))
    return found


def _proven(kiln: _Kiln, one: WayCard) -> Compared:
    few = _run(kiln, one, FEW)
    return _run(kiln, one, _all_draws()) if few.path.finishes else few


def _run(kiln: _Kiln, one: WayCard, draws: int, *, shifts: bool = False) -> Compared:
    run = run_path(one, kiln.of, kiln.calendar.attended, draws, shifts=shifts)
    return Compared(open_path(run, kiln.of, kiln.calendar), run)


def _in_shifts(kiln: _Kiln, recommended: Compared | None) -> Iterator[Compared]:
    """Yield the path that is recommended with its own elements attended day and night, where it comes to them."""
    if recommended and recommended.run and recommended.run.own and not kiln.request.attendance.always:
        kiln.told(ways().sentence["shifts"].format(title=recommended.path.title), 0.9)
        run = run_in_shifts(recommended.run, kiln.of, kiln.calendar.attended)
        yield Compared(open_path(run, kiln.of, kiln.calendar), run)


def _asked(kiln: _Kiln, shown: Sequence[Compared]) -> Compared | None:
    """Return the path that was asked for, run on all draws where it is open; None where none was, or nothing is wet."""
    if there := next((one for one in shown if one.path.id == kiln.request.path), None):
        few = there.run and not there.path.finishes
        return _run(kiln, there.run.way, _all_draws()) if few and there.run else there
    way_id = kiln.request.path.removesuffix(SHIFTS)
    asked = next((one for one in shown if one.path.id == way_id), None)
    return _run(kiln, asked.run.way, _all_draws(), shifts=True) if asked and asked.run else asked


def _all_draws() -> int:
    return int(figures().least_draws.value)


def _because(kiln: _Kiln, compared: Sequence[Compared], recommended: Compared | None) -> str:
    """Return the one sentence of the recommendation, or what stands in its place."""
    say = ways().sentence
    if recommended:
        return recommendation(kiln.of, [one.path for one in compared], recommended.path.id)
    if not compared or kiln.of.salt in SALTED:
        return say["salt"] if compared else ""
    cleared = when_cleared(kiln.of, kiln.calendar, kiln.told) if kiln.of.shut else ""
    nearest = [(one.path, one.run.way) for one in driest(compared) if one.run]
    if not nearest:
        return f"{say['none']} {cleared}".strip()
    if cleared:
        return f"{say['no_end_now'].format(counted=counted())} {cleared}"
    cards = [card for _, card in nearest]
    opens = what_opens(cards, kiln.of, kiln.calendar, _all_draws(), kiln.told)
    nothing = say["nothing_opens"].format(hours=most_hours(kiln.calendar))
    return say["no_end"].format(counted=counted(), title=nearest[0][0].title, would_open=opens or nothing)


# ---------------------------------------------------------------------------------------- the path that is followed


@dataclass(frozen=True, kw_only=True)
class _Ran:
    """What a kiln's plan has of the path that is followed; empty where none is."""

    days: tuple[Day, ...] = ()
    criteria: tuple[Criterion, ...] = ()
    kept: tuple[LimitKept, ...] = ()
    refusal: Refusal | None = None

    @classmethod
    def of(cls, kiln: _Kiln, followed: Compared) -> _Ran:
        run = followed.run
        if run is None or not run.days or kiln.of.piece is None or kiln.of.heating is None:
            return cls()
        days = days_of(run, kiln.of, kiln.request, kiln.calendar.zone, kiln.of.piece)
        under = conditions(kiln.of, kiln.of.heating, kiln.request.attendance.hours)
        told = criteria(run, kiln.of.piece, under.boiling)
        return cls(days=days, criteria=told, kept=_kept(under.limits, run),
                   refusal=run.own.refusal if run.own else None)  # fmt: skip


def _kept(limits: Limits, run: PathRun) -> tuple[LimitKept, ...]:
    """Return the limits of its own elements, those that refused anything faster first."""
    if run.own is None:
        return ()
    peaks, binds = {one.limit_id: one.reached for one in run.own.found.peaks}, run.own.found.holds_up
    rows = [LimitKept(limit, peaks.get(limit.id), limit.id in binds) for limit in limits]
    return tuple(sorted(rows, key=lambda row: binds.index(row.limit.id) if row.binds else len(binds)))


# ---------------------------------------------------------------------------------------- probe, and what comes after


def _matched(kiln: _Kiln, days: Sequence[Day]) -> tuple[Match | None, tuple[Way, ...]]:
    """Return how the controller suits the probe at the holds and at the top, and both ways to make them suit."""
    probe, letters = kiln.of.probe, kiln.of.controller.letters
    if probe is None or not letters:
        return None, ()
    dries_to = max((day.top_degc or 0.0 for day in days if day.phase == "own"), default=0.0)
    shown = (*(degc for degc in figures().hold_points_degc(_height_m(kiln)) if degc < dries_to), kiln.top_degc)
    suits = match(probe, letters, shown, kiln.of.setting)
    proved = _energy(kiln, card("test_firing"))
    if suits.suits or proved is None:
        return suits, ()
    return suits, match_ways(probe, letters, kiln.top_degc, proved, kiln.of.price_kwh)


def _height_m(kiln: _Kiln) -> float | None:
    return kiln.of.heating.height_m if kiln.of.heating else None


def _firing(kiln: _Kiln, one: FiringCard) -> Firing:
    """Return a card for this kiln: its ramps by the thickest ware, its top as the owner's ware needs it."""
    of, price = kiln.of, kiln.of.price_kwh
    chosen = one if of.ware_mm is None else one.for_thickness(of.ware_mm)
    chosen = chosen.for_ware(of.top_degc)
    kwh = _energy(kiln, chosen)
    tops = against_top(chosen, of.lining, kiln.room_degc, price) if of.lining and chosen.tops else ()
    return Firing(chosen, kwh, cost(kwh, price) if kwh else None, tops)


def _energy(kiln: _Kiln, one: FiringCard) -> Band | None:
    """Return what a card's firing takes [kWh]; None where it has no steps, or the lining is not known."""
    return firing_energy(one, kiln.of.lining, kiln.room_degc) if kiln.of.lining and one.steps else None
