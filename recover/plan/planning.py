"""Makes the plan of a job: search, ways beside one another, what is followed, what comes after, kiln by kiln."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.addresses import Address
from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.engineering.thermocouples import Letter
from recover.judged.assessment import Assessment
from recover.judged.dryout import heatings, lacking, linings
from recover.physics.lining import Lining
from recover.physics.materials import Band
from recover.physics.staged import Heating
from recover.plan import of_job
from recover.plan.cards import FiringCard, against_top, card, cards, firing_energy, lowest_adequate, rechecks
from recover.plan.controller import Controller, controller_of
from recover.plan.fixed import beside
from recover.plan.follow import Followed, followed
from recover.plan.limits import HOLD_POINTS_DEGC
from recover.plan.prices import cost
from recover.plan.replacement import Match, Way, match, ways
from recover.plan.search import Plan, Tell, search
from recover.plan.strategies import Comparison, compare
from recover.plan.whole import Firing, FixedBeside, JobPlan, KilnPlan, Request


@dataclass(frozen=True)
class _Words:
    """What is said while a plan is made, and of a kiln that has none."""

    beside: str
    controller: str
    lacks: str
    dry: str


@cache
def _words() -> _Words:
    return load("plan/planning.toml", "recover-planning", _Words)


@dataclass(frozen=True)
class _Kiln:
    """A kiln that is planned for, and what was asked."""

    found: Assessment
    at: Address
    heating: Heating | None
    lining: Lining | None
    request: Request
    told: Tell
    before: tuple[Plan, ...]

    @property
    def room_degc(self) -> float:
        return self.heating.room_degc if self.heating else 20.0

    @property
    def probe(self) -> Letter | None:
        return of_job.probe(self.found, self.at)

    @property
    def controller(self) -> Controller:
        return controller_of(self.found.answers, self.at)

    @property
    def top_degc(self) -> float:
        """The hottest that it is to fire [°C]: what the owner's ware needs, else what its plate says, else a test."""
        plate = self.found.answers.number("identity.max_c", self.at)
        return of_job.top_degc(self.found, self.at) or plate or card("test_firing").steps[-1].to_degc


def kiln_plans(found: Assessment, request: Request, told: Tell, before: JobPlan | None = None) -> tuple[KilnPlan, ...]:
    """Plan each kiln of a job; its schedule in the plan before is tried again, so that what eases drying never makes a
    plan longer. Raises SimulationError where a run cannot be trusted.
    """
    kilns, dries, whole = found.answers.kilns, heatings(found), linings(found)

    def share_of(number: int) -> Tell:
        label = found.answers.label(kilns[number])
        return lambda what, share: told(f"{label}: {what}", (number + share) / len(kilns))

    planned = (
        _Kiln(found, kiln, dries.get(kiln), whole.get(kiln), request, share_of(number), _own_of(before, kiln))
        for number, kiln in enumerate(kilns)
    )
    return tuple(_kiln_plan(one) for one in planned)


def _own_of(before: JobPlan | None, kiln: Address) -> tuple[Plan, ...]:
    return tuple(one.own for one in (before.kilns if before else ()) if one.kiln == kiln and one.own)


def _kiln_plan(of: _Kiln) -> KilnPlan:
    own = _own(of)
    comparison = _compared(of, own)
    way, refused = _way(comparison, of.request)
    match, match_ways = _matched(of, own)
    return KilnPlan(
        of.at, of.found.answers.label(of.at), _missing(of), of_job.gate_open(of.found, of.at), way, refused, comparison,
        own, _beside(of, own), _followed(of, own), match, match_ways, _after(of),
        rechecks(of_job.firings(of.found, of.at)),
    )  # fmt: skip


def _missing(of: _Kiln) -> tuple[str, ...]:
    """Say why nothing is planned for a kiln's lining."""
    if of.heating:
        return ()
    return tuple(_words().lacks.format(what=what) for what in lacking(of.found, of.at)) or (_words().dry,)


def _own(of: _Kiln) -> Plan | None:
    """Search a schedule of its own elements; where the water was salt, or the way is shut, there is none to search."""
    shut = of_job.shut(of.found, of.at, "own")
    if of.heating is None or shut or of_job.salt(of.found.answers) in ("brackish", "sea"):
        return None
    there = of.request.attendance
    return search(
        of.heating, of_job.limits(of.found, of.at, of.heating, there), there, of.request.objective, may_wrap=True,
        incumbents=of.before, progress=lambda what, share: of.told(what, 0.5 * share),
    )  # fmt: skip


def _compared(of: _Kiln, own: Plan | None) -> Comparison | None:
    if of.heating is None:
        return None
    start = of.request.opens.date()
    around = of_job.circumstances(of.found, of.at, of.heating, of.request.attendance, start)
    return compare(around, own, progress=lambda what, share: of.told(what, 0.5 + 0.25 * share))


def _way(comparison: Comparison | None, request: Request) -> tuple[str, tuple[str, ...]]:
    """Return the way that is followed, and what closes the one that was asked for."""
    if comparison is None:
        return "", ()
    if not request.way:
        return comparison.recommended.card.id if comparison.recommended else "", ()
    wanted = next(one for one in comparison.strategies if one.card.id == request.way)
    return (request.way, ()) if wanted.open else ("", wanted.closed)


def _beside(of: _Kiln, own: Plan | None) -> tuple[FixedBeside, ...]:
    if own is None:
        return ()
    of.told(_words().beside, 0.75)
    return tuple(
        FixedBeside(row.title, row.proof.schedule.hours, row.proof.left.p90, row.broken, row.beats(own.proof))
        for row in beside(own)
    )


def _followed(of: _Kiln, own: Plan | None) -> Followed | None:
    if own is None or not own.feasible:
        return None
    of.told(_words().controller, 0.82)
    return followed(own, of.controller, of.probe, of_job.setting(of.found, of.at))


# ---------------------------------------------------------------------------------------- probe, and what comes after


def _matched(of: _Kiln, own: Plan | None) -> tuple[Match | None, tuple[Way, ...]]:
    """Return how the controller suits the probe at the holds and at the top, and both ways to make them suit."""
    letters = of.controller.letters
    if of.probe is None or not letters:
        return None, ()
    dries_to = own.proof.schedule.hottest_degc if own else 0.0
    shown = (*(degc for degc in HOLD_POINTS_DEGC if degc < dries_to), of.top_degc)
    suits = match(of.probe, letters, shown, of_job.setting(of.found, of.at))
    proved = _energy(of, card("test_firing"))
    if suits.suits or proved is None:
        return suits, ()
    return suits, ways(of.probe, letters, of.top_degc, proved, of_job.price_kwh(of.found.answers))


def _after(of: _Kiln) -> tuple[Firing, ...]:
    return tuple(_firing(of, one) for one in cards())


def _firing(of: _Kiln, one: FiringCard) -> Firing:
    """Return a card for this kiln: its ramps by the thickest ware, its top as the owner's ware needs it."""
    thickness_mm, price = of_job.ware_mm(of.found, of.at), of_job.price_kwh(of.found.answers)
    chosen = one if thickness_mm is None else one.for_thickness(thickness_mm)
    chosen = chosen.to_top(_adequate_degc(of, chosen)) if chosen.tops else chosen
    kwh = _energy(of, chosen)
    tops = against_top(chosen, of.lining, of.room_degc, price) if of.lining and chosen.tops else ()
    return Firing(chosen, kwh, None if kwh is None or price is None else cost(kwh, price), tops)


def _adequate_degc(of: _Kiln, one: FiringCard) -> float:
    """Return the lowest top that the owner's ware needs; the card's lowest where nobody said, or it is beyond them."""
    try:
        return lowest_adequate(one, of_job.top_degc(of.found, of.at)).degc
    except QuantityError:
        return lowest_adequate(one).degc


def _energy(of: _Kiln, one: FiringCard) -> Band | None:
    """Return what a card's firing takes [kWh]; None where it has no steps, or the lining is not known."""
    return firing_energy(one, of.lining, of.room_degc) if of.lining and one.steps else None
