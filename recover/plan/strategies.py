"""Ways to dry a lining, side by side: how long, how much is left, what it costs, what it needs, what speaks against it.

Each is run on the same draws with the same walls. Own elements never begin before a logged reading has opened the gate:
until then that way begins with external drying, whose length nobody knows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from math import ceil, inf
from typing import TYPE_CHECKING, Literal, get_args

from recover.base.datafile import load
from recover.base.sources import Authority
from recover.physics.air import Air
from recover.physics.draws import Spread
from recover.physics.lining import Layer, LayerStack
from recover.physics.materials import Quantity
from recover.physics.staged import Heating, setups_of
from recover.physics.wall import Course, Setup
from recover.profiles import own_limits
from recover.schedule.spells import AT_ONCE_H, Attendance

if TYPE_CHECKING:
    from recover.physics.draws import Values
    from recover.physics.ensemble import Ensemble
    from recover.schedule.search import Plan

Closed = Literal[
    "salt", "nothing_to_strip", "jacket", "little_power", "one_piece", "no_workshop", "no_schedule"
]  # fmt: skip
ReadWhen = Literal["opens", "hourly", "leaves"]
WayGroup = Literal["every", "external", "heated", "moved", "enclosed"]
DRAWS = 16

STRETCH_DAYS = 7
"""Ways are run so far at a time, and on from there only where they are not done by then."""

SLOW = (14400.0, 30.0, 0.5)
"""Pace of a way without its own elements, see `Pace`: within half of a part in 100 of steps a quarter as long."""


@dataclass(frozen=True)
class _RoutineCheck:
    """What is done or written down on a day of a way: before it opens, while it runs, or before somebody leaves."""

    when: ReadWhen
    say: str


@dataclass(frozen=True, kw_only=True)
class _Routine:
    """What is done on a day of a way, in its order; when it ends at once, and when there is another day of it.

    `done` says how one knows that it is done.
    """

    routine: list[_RoutineCheck] = field(default_factory=list)
    stop: list[str] = field(default_factory=list)
    go_on: str = ""
    done: str = ""


@dataclass(frozen=True, kw_only=True)
class WayCard(Authority, _Routine):
    """A way to dry, as data: what is around the lining, what it needs, what speaks against it, what closes it."""

    id: str
    title: str
    air: Literal["enclosure", "small_heater", "workshop", "room", "own"]
    needs: list[str]
    against: list[str]
    not_if: dict[Closed, str]
    casing: str = ""
    opening: str = ""
    stripped: bool = False
    heated: bool = False


@dataclass(frozen=True, kw_only=True)
class _Strategies:
    enclosure_degc: Quantity
    enclosure_w_k: Quantity
    exhaust_m3_h: Quantity
    enclosure_vapour_share: Quantity
    small_heater_kw: Quantity
    small_heater_degc: Quantity
    workshop_degc: Quantity
    workshop_percent: Quantity
    fan_kw: Quantity
    dehumidifier_kwh_l: Quantity
    evaporation_kwh_kg: Quantity
    air_j_m3k: Quantity
    longest_days: Quantity
    fitting_days: Quantity
    proof_days: Quantity
    reason: dict[str, str]
    shared: dict[WayGroup, _Routine]
    strategy: list[WayCard]


@cache
def cards() -> _Strategies:
    """Return the ways, each with its whole routine, and their figures. Raises DataError on a faulty file."""
    found = load("plan/strategies.toml", "recover-strategies", _Strategies)
    return replace(found, strategy=[_with_shared(card, found) for card in found.strategy])


def _with_shared(card: WayCard, found: _Strategies) -> WayCard:
    """Return a card with what it has in common with others before its own, its routine in the order of a day."""
    parts: list[_Routine] = [*(found.shared[name] for name in _shared_by(card)), card]
    routine = [check for part in parts for check in part.routine]
    return replace(
        card, routine=sorted(routine, key=lambda check: get_args(ReadWhen).index(check.when)),
        stop=[rule for part in parts for rule in part.stop],
        go_on=next(part.go_on for part in reversed(parts) if part.go_on),
        done=next(part.done for part in reversed(parts) if part.done),
    )  # fmt: skip


def _shared_by(card: WayCard) -> tuple[WayGroup, ...]:
    if card.air == "own":
        return ("every",)
    if card.air == "enclosure":
        return "every", "external", "heated", "enclosed"
    return "every", "external", "heated" if card.heated else "moved"


@dataclass(frozen=True, kw_only=True)
class Circumstances:
    """What decides which ways are open, of one kiln. What is not known closes a way rather than opening it.

    `gate_open`: a logged reading has opened the gate to own elements. `supply_kw` is what a supply that may be used
    gives; None, not known, closes no way: what it needs names such a supply. `lead_days` is how long parts take; None,
    not known: no date is named, and own elements, which wait for parts, are never first. The price is money for a
    kilowatt-hour, None where it is not known. `shut` names the ways that the place shuts (hazards, standing water),
    each with its sentences.
    """

    heating: Heating
    build: str = ""
    salt: str = ""
    gate_open: bool = False
    sections: int = 1
    workshop: bool = False
    supply_kw: float | None = None
    attendance: Attendance = field(default_factory=Attendance)
    start: date | None = None
    lead_days: int | None = 0
    price_kwh: Decimal | None = None
    shut: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def why_shut(self, way: str) -> tuple[str, ...]:
        """Return the sentences that shut a way; none where the place leaves it open."""
        return dict(self.shut).get(way, ())


@dataclass(frozen=True)
class Strategy:
    """What one way comes to. `closed` says why it is not open; what was not run is None then.

    `days` is None where nine draws in ten are not dry within the longest time; `left` is what is there at the end.
    `unknown_before`: external drying of unknown length comes first. Money is rounded to the hundredth.
    """

    card: WayCard
    closed: tuple[str, ...] = ()
    _: KW_ONLY
    unknown_before: bool = False
    days: float | None = None
    attended_h: float | None = None
    kwh: Spread | None = None
    price: Decimal | None = None
    left: Spread | None = None
    fired_again: date | None = None

    @property
    def open(self) -> bool:
        """Whether nothing closes it."""
        return not self.closed


@dataclass(frozen=True)
class Comparison:
    """All ways, and the one that is recommended with the reason; None where none is."""

    strategies: tuple[Strategy, ...]
    recommended: Strategy | None
    because: str


def compare(
    of: Circumstances,
    plan: Plan | None = None,
    *,
    draws: int = DRAWS,
    progress: Callable[[str, float], None] | None = None,
) -> Comparison:
    """Run every way that is open. `plan` is the searched schedule of own elements. Raises SimulationError."""
    found = []
    for number, card in enumerate(cards().strategy):
        if progress:
            progress(card.title, number / len(cards().strategy))
        found.append(_strategy(card, of, plan, draws))
    recommended, because = _recommended(tuple(found), of)
    return Comparison(tuple(found), recommended, cards().reason[because])


def _strategy(card: WayCard, of: Circumstances, plan: Plan | None, draws: int) -> Strategy:
    own = tuple(says for fact, says in card.not_if.items() if fact in _closed(of, card, plan))
    if closed := (*of.why_shut(card.id), *own):
        return Strategy(card, closed)
    if card.air == "own":
        return _own(card, of, plan) if plan else Strategy(card, (card.not_if["no_schedule"],))
    return _external(card, of, draws)


# ---------------------------------------------------------------------------------------- what is open


def _closed(of: Circumstances, card: WayCard, plan: Plan | None) -> set[Closed]:
    """Return what is so of the kiln and closes a way. For a way that the place shuts no schedule is looked for."""
    facts: dict[Closed, bool] = {
        "salt": of.salt != "fresh", "nothing_to_strip": not _soaked_behind(of.heating),
        "jacket": of.build != "framed", "little_power": of.supply_kw is not None and of.supply_kw < _takes_kw(card, of),
        "one_piece": of.sections < 2, "no_workshop": not of.workshop,
        "no_schedule": not plan.feasible if plan else not of.why_shut(card.id),
    }  # fmt: skip
    return {name for name, so in facts.items() if so}


def _soaked_behind(heating: Heating) -> bool:
    return any(layer.wet == "soaked" for stack in heating.lining.stacks for layer in stack.layers[1:])


def _takes_kw(card: WayCard, of: Circumstances) -> float:
    """Return the power a way takes while it is warm [kW]: losses and exhaust of an enclosure, a heater, a fan."""
    figures = cards()
    if card.air == "enclosure":
        rise_k = figures.enclosure_degc.mid - of.heating.room_degc
        return (figures.enclosure_w_k.mid + figures.exhaust_m3_h.mid / 3600 * figures.air_j_m3k.mid) * rise_k / 1000
    return figures.small_heater_kw.mid if card.air == "small_heater" else figures.fan_kw.mid


# ---------------------------------------------------------------------------------------- external drying


def _external(card: WayCard, of: Circumstances, draws: int) -> Strategy:
    from recover.physics.draws import spread

    did = _run(card, of, replace(_variant(card, of.heating), draws=draws))
    dry = _dry_at(did)
    at = dry if dry is not None else -1
    done = float(did.hours[dry]) / 24 if dry is not None else None
    gone_kg, kwh, left = did.water_kg[:, 0] - did.water_kg[:, at], did.heater_kwh[:, at], did.left[:, at]
    lasts = done if done is not None else cards().longest_days.mid
    heated_h = _heated_h(of.attendance, lasts) if card.heated else 0.0
    used = _kwh(card, of, heated_h, lasts, kwh, gone_kg)
    return Strategy(
        card, days=done, attended_h=heated_h, kwh=spread(used), price=_price(of, spread(used)), left=spread(left),
        fired_again=_fired_again(of, done),
    )  # fmt: skip


def _dry_at(did: Ensemble) -> int | None:
    """Return the first moment at which nine draws in ten are within the limit of the water left."""
    import numpy as np

    dry = np.flatnonzero(np.quantile(did.left, 0.9, axis=0) <= own_limits()["plan_water_left"].value)
    return int(dry[0]) if dry.size else None


def _run(card: WayCard, of: Circumstances, heating: Heating) -> Ensemble:
    """Run a way until it is done, or its longest time is over; every stretch of it begins like the first."""
    import numpy as np

    from recover.physics.drying import Pace
    from recover.physics.ensemble import Draws, joined, resume
    from recover.physics.grid import ROUGH

    course = _course(card, of, STRETCH_DAYS)
    draws = Draws.of([_around(card, one, course) for one in setups_of(heating, course)], ROUGH, Pace(*SLOW))
    standing, parts = draws.begin(), []
    for _ in range(0, int(cards().longest_days.mid), STRETCH_DAYS):
        did, standing = resume(draws, standing, course, np.arange(0.0, 24.0 * STRETCH_DAYS + 0.1, 2.0), part=True)
        parts.append(did)
        if _dry_at(joined(parts)) is not None:
            break
    return joined(parts)


def _variant(card: WayCard, heating: Heating) -> Heating:
    """Return the kiln as it stands in a way: stripped, opened, with what is known to be reckoned."""
    if card.stripped:
        stacks = tuple(
            LayerStack(stack.part, (stack.layers[0], *_kept(stack.layers[1:]))) for stack in heating.lining.stacks
        )
        heating = replace(heating, lining=replace(heating.lining, stacks=stacks))
    return replace(heating, casing=card.casing or heating.casing, opening=card.opening)


def _kept(layers: tuple[Layer, ...]) -> tuple[Layer, ...]:
    return tuple(layer for layer in layers if layer.wet != "soaked")


def _course(card: WayCard, of: Circumstances, days: int) -> Course:
    """Return what warms the lining over so many days: while somebody is there, else the room's temperature."""
    figures, room = cards(), of.heating.room_degc
    if not card.heated:
        return Course.steady(figures.workshop_degc.mid if card.air == "workshop" else room)
    warm = max(figures.enclosure_degc.mid if card.air == "enclosure" else figures.small_heater_degc.mid, room)
    if of.attendance.always:
        return Course((0.0, 1.0), (warm, warm))
    hours, degc = [0.0], [room]
    for day in range(days):
        opens, closes = 24.0 * day, 24.0 * day + of.attendance.hours
        hours += [opens + 0.5, closes, closes + 0.5, 24.0 * (day + 1) - AT_ONCE_H]
        degc += [warm, warm, room, room]
    return Course(tuple(hours), tuple(degc))


def _around(card: WayCard, setup: Setup, course: Course) -> Setup:
    """Return a setup in the air of a way: what is around the casing, and what the chamber is held by."""
    figures = cards()
    if card.air == "enclosure":
        share = figures.enclosure_vapour_share.mid
        chamber = replace(setup.chamber, power_kw=float("inf"), vapour_share=share)
        room = replace(setup.room, degc=course, vapour_share=share)
        return replace(setup, room=room, chamber=chamber, start_degc=setup.room.degc.degc[0])
    if card.air == "workshop":
        air = Air(figures.workshop_degc.mid, figures.workshop_percent.mid, setup.room.pressure_pa)
        room = replace(setup.room, degc=course, vapour_share=air.vapour_share)
        return replace(setup, room=room, chamber=replace(setup.chamber, power_kw=float("inf")))
    power_kw = figures.small_heater_kw.mid if card.air == "small_heater" else float("inf")
    return replace(setup, chamber=replace(setup.chamber, power_kw=power_kw))


def _heated_h(attendance: Attendance, days: float) -> float:
    """Return the attended hours of so many days: whole days, and what of the last lies before somebody leaves."""
    whole = int(days)
    return whole * attendance.hours + min((days - whole) * 24, attendance.hours)


def _kwh(card: WayCard, of: Circumstances, heated_h: float, days: float, heater_kwh: Values, gone_kg: Values) -> Values:
    """Return the energy [kWh] by draw: of an enclosure with what evaporates, a heater, or fan and dehumidifier."""
    figures, hours = cards(), 24 * days
    if card.air == "enclosure":
        return _takes_kw(card, of) * heated_h + figures.evaporation_kwh_kg.mid * gone_kg
    if card.air == "small_heater":
        return heater_kwh
    return figures.fan_kw.mid * hours + figures.dehumidifier_kwh_l.mid * gone_kg


# ---------------------------------------------------------------------------------------- own elements, dates, choice


def _own(card: WayCard, of: Circumstances, plan: Plan) -> Strategy:
    proof, days = plan.proof, plan.proof.schedule.hours / 24
    return Strategy(
        card, unknown_before=not of.gate_open, days=days, attended_h=proof.schedule.attended_h, kwh=proof.energy_kwh,
        price=_price(of, proof.energy_kwh), left=proof.left,
        fired_again=_fired_again(of, days, own=True) if of.gate_open else None,
    )  # fmt: skip


def _price(of: Circumstances, kwh: Spread) -> Decimal | None:
    """Return what the ninetieth percentile of the energy costs; None where no price is known."""
    return None if of.price_kwh is None else (of.price_kwh * Decimal(kwh.p90)).quantize(Decimal("0.01"))


def _fired_again(of: Circumstances, days: float | None, own: bool = False) -> date | None:
    """Return the earliest day of a normal firing: external drying runs while parts are on their way, own heat does not.

    None where the start, the time it takes, or that of the parts is not known.
    """
    if of.start is None or days is None or of.lead_days is None:
        return None
    meanwhile = of.lead_days + ceil(days) if own else max(of.lead_days, ceil(days))
    return of.start + timedelta(days=meanwhile + ceil(cards().fitting_days.mid) + ceil(cards().proof_days.mid))


def _recommended(found: tuple[Strategy, ...], of: Circumstances) -> tuple[Strategy | None, str]:
    """Return the way to take and the name of its reason."""
    if of.salt in ("brackish", "sea"):
        return None, "salt"
    ways = [one for one in found if one.open and not one.unknown_before]
    dry = [one for one in ways if one.days is not None]
    if not ways:
        return None, "none"
    if not dry:
        later = any(one.open and one.unknown_before for one in found)
        least = min(ways, key=lambda one: one.left.p90 if one.left else 1.0)
        return least, "then_own" if later else "least_left"
    first = min(dry, key=lambda one: (_days_to_fire(one, of), one.kwh.p90 if one.kwh else 0.0))
    return first, {"own": "own", "strip": "strip"}.get(first.card.id, "earliest")


def _days_to_fire(one: Strategy, of: Circumstances) -> float:
    days = ceil(one.days or 0)
    if of.lead_days is None:
        return inf if one.card.air == "own" else days
    return of.lead_days + days if one.card.air == "own" else max(of.lead_days, days)
