"""Makes the plan of a job: search, ways beside one another, what is followed, what comes after, kiln by kiln."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.addresses import Address
from recover.base.datafile import load
from recover.base.sources import Figure
from recover.judged.assessment import Assessment
from recover.judged.dryout import frozen, lacking
from recover.physics.materials import Band
from recover.plan import of_job
from recover.plan.cards import FiringCard, against_top, card, cards, firing_energy, rechecks
from recover.plan.follow import followed
from recover.plan.of_job import Taken
from recover.plan.opened import opened_h
from recover.plan.prices import cost
from recover.plan.replacement import Match, Way, match, ways
from recover.plan.strategies import Comparison, compare
from recover.plan.whole import Firing, Followed, JobPlan, KilnPlan, Request
from recover.schedule.fixed import FixedRun, run_fixed
from recover.schedule.limits import figures
from recover.schedule.search import Plan, Tell, search


@dataclass(frozen=True, kw_only=True)
class _Words:
    """What is said while a plan is made, and of a kiln that has none; the room where nobody measured it."""

    fixed: str
    controller: str
    lacks: str
    frozen: str
    dry: str
    room_degc: Figure


@cache
def _words() -> _Words:
    return load("plan/planning.toml", "recover-planning", _Words)


@dataclass(frozen=True, kw_only=True)
class _Kiln:
    """A kiln that is planned for: what was taken of it, what was asked, its schedule in the plan before."""

    found: Assessment
    of: Taken
    request: Request
    told: Tell
    before: tuple[Plan, ...]

    @property
    def room_degc(self) -> float:
        return self.of.heating.room_degc if self.of.heating else _words().room_degc.value

    @property
    def top_degc(self) -> float:
        """The hottest that it is to fire [°C]: what the owner's ware needs, else what its plate says, else a test."""
        return self.of.top_degc or self.of.plate_degc or card("test_firing").steps[-1].to_degc


def kiln_plans(found: Assessment, request: Request, told: Tell, before: JobPlan | None = None) -> tuple[KilnPlan, ...]:
    """Plan each kiln of a job; its schedule in the plan before is tried again, so that what eases drying never makes a
    plan longer. Raises SimulationError where a run cannot be trusted.
    """
    kilns = of_job.taken(found, request.attendance, request.opens.date())

    def share_of(number: int) -> Tell:
        label = found.answers.label(kilns[number].kiln)
        return lambda what, share: told(f"{label}: {what}", (number + share) / len(kilns))

    return tuple(
        _kiln_plan(_Kiln(found=found, of=of, request=request, told=share_of(number), before=_own_of(before, of.kiln)))
        for number, of in enumerate(kilns)
    )


def _own_of(before: JobPlan | None, kiln: Address) -> tuple[Plan, ...]:
    return tuple(one.own for one in (before.kilns if before else ()) if one.kiln == kiln and one.own)


def _kiln_plan(kiln: _Kiln) -> KilnPlan:
    own = _own(kiln)
    comparison = _compared(kiln, own)
    way, refused = _way(comparison, kiln.request)
    match, match_ways = _matched(kiln, own)
    return KilnPlan(
        kiln=kiln.of.kiln, label=kiln.found.answers.label(kiln.of.kiln), missing=_missing(kiln),
        gate_open=kiln.of.gate_open, way=way, refused=refused, comparison=comparison, own=own,
        beside=_fixed(kiln, own), followed=_followed(kiln, own), match=match, match_ways=match_ways,
        after=tuple(_firing(kiln, one) for one in cards()), rechecks=rechecks(kiln.of.looks),
        opened_h=opened_h(own) if own else None,
    )  # fmt: skip


def _missing(kiln: _Kiln) -> tuple[str, ...]:
    """Say why nothing is planned for a kiln's lining."""
    if kiln.of.heating:
        return ()
    lacks = tuple(_words().lacks.format(what=what) for what in lacking(kiln.found, kiln.of.kiln))
    lining = kiln.of.lining
    wet = lining is not None and any(layer.wet != "dry" for stack in lining.stacks for layer in stack.layers)
    return lacks or (_words().frozen if wet and frozen(kiln.found.answers) else _words().dry,)


def _own(kiln: _Kiln) -> Plan | None:
    """Search a schedule of its own elements; where the water was salt, or the way is shut, there is none to search."""
    around, limits = kiln.of.circumstances, kiln.of.limits
    if around is None or limits is None or around.why_shut("own") or around.salt in ("brackish", "sea"):
        return None
    return search(
        around.heating, limits, around.attendance, kiln.request.objective, may_wrap=True, incumbents=kiln.before,
        progress=lambda what, share: kiln.told(what, 0.5 * share),
    )  # fmt: skip


def _compared(kiln: _Kiln, own: Plan | None) -> Comparison | None:
    if kiln.of.circumstances is None:
        return None
    return compare(kiln.of.circumstances, own, progress=lambda what, share: kiln.told(what, 0.5 + 0.25 * share))


def _way(comparison: Comparison | None, request: Request) -> tuple[str, tuple[str, ...]]:
    """Return the way that is followed, and what closes the one that was asked for."""
    if comparison is None:
        return "", ()
    if not request.way:
        return comparison.recommended.card.id if comparison.recommended else "", ()
    wanted = next(one for one in comparison.strategies if one.card.id == request.way)
    return (request.way, ()) if wanted.open else ("", wanted.closed)


def _fixed(kiln: _Kiln, own: Plan | None) -> tuple[FixedRun, ...]:
    if own is None:
        return ()
    kiln.told(_words().fixed, 0.75)
    return run_fixed(own)


def _followed(kiln: _Kiln, own: Plan | None) -> Followed | None:
    if own is None or not own.feasible:
        return None
    kiln.told(_words().controller, 0.82)
    return followed(own, kiln.of.controller, kiln.of.probe, kiln.of.setting)


# ---------------------------------------------------------------------------------------- probe, and what comes after


def _matched(kiln: _Kiln, own: Plan | None) -> tuple[Match | None, tuple[Way, ...]]:
    """Return how the controller suits the probe at the holds and at the top, and both ways to make them suit."""
    probe, letters = kiln.of.probe, kiln.of.controller.letters
    if probe is None or not letters:
        return None, ()
    dries_to = own.proof.schedule.hottest_degc if own else 0.0
    shown = (*(degc for degc in figures().hold_points_degc(_height_m(kiln)) if degc < dries_to), kiln.top_degc)
    suits = match(probe, letters, shown, kiln.of.setting)
    proved = _energy(kiln, card("test_firing"))
    if suits.suits or proved is None:
        return suits, ()
    return suits, ways(probe, letters, kiln.top_degc, proved, kiln.of.price_kwh)


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
