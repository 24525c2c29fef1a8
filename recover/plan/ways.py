"""Ways to dry a lining, as data: what stands around it and warms it, what each needs, what closes it, a day of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from math import floor
from typing import Literal, get_args

from recover.base.datafile import load
from recover.base.sources import Authority
from recover.physics.materials import Quantity
from recover.physics.room import RoomAir
from recover.plan.of_job import Taken

Closed = Literal[
    "salt", "salted", "nothing_to_strip", "jacket", "unknown_power", "little_power", "one_piece", "no_workshop",
    "no_entry",
]  # fmt: skip
ReadWhen = Literal["opens", "hourly", "leaves"]
WayGroup = Literal["every", "external", "heated", "moved", "enclosed"]


SALTED = ("brackish", "sea")
"""Water whose salt stays in the lining."""

SHIFTS = "_shifts"
"""How the id of a path ends whose own elements are attended day and night."""


@dataclass(frozen=True)
class _RoutineCheck:
    """What is done or written down on a day of a way: before it opens, while it runs, or before somebody leaves.

    `alone`: only where something runs on with nobody there, or only where nothing does.
    """

    when: ReadWhen
    say: str
    alone: bool | None = None


@dataclass(frozen=True, kw_only=True)
class _Routine:
    """What is done on a day of a way, in its order; when it ends at once, and when there is another day of it."""

    routine: list[_RoutineCheck] = field(default_factory=list)
    stop: list[str] = field(default_factory=list)
    go_on: str = ""


@dataclass(frozen=True, kw_only=True)
class WayCard(Authority, _Routine):
    """A way to dry, as data: what is around the lining, what it needs, what speaks against it, what closes it.

    `opens` says what would open what `not_if` closes. `heat` is what warms it, in words, and `off` where that is
    switched off; both empty where nothing does. `runs_on` are the machines that run with nobody there, once that is
    agreed.
    """

    id: str
    title: str
    air: Literal["enclosure", "small_heater", "workshop", "room", "own"]
    needs: list[str]
    against: list[str]
    not_if: dict[Closed, str]
    opens: dict[Closed, str] = field(default_factory=dict)
    opening: str = ""
    stripped: bool = False
    heat: str = ""
    off: str = ""
    runs_on: list[str] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class _Ways:
    """The figures of the ways, see `ways.toml`, their sentences, and the ways themselves."""

    enclosure_degc: Quantity
    enclosure_w_k: Quantity
    enclosure_kw: Quantity
    exhaust_m3_h: Quantity
    small_heater_kw: Quantity
    small_heater_degc: Quantity
    cutout_margin_k: Quantity
    workshop_degc: Quantity
    workshop_percent: Quantity
    fan_kw: Quantity
    dehumidifier_kwh_l: Quantity
    entry_left: Quantity
    entry_mm: Quantity
    longest_days: Quantity
    within_days: Quantity
    visit_h: Quantity
    fitting_days: Quantity
    proof_days: Quantity
    proof: list[str]
    sentence: dict[str, str]
    opener: dict[str, str]
    shared: dict[WayGroup, _Routine]
    way: list[WayCard]


@cache
def ways() -> _Ways:
    """Return the ways, each with its whole routine, and their figures. Raises DataError on a faulty file."""
    found = load("plan/ways.toml", "recover-ways", _Ways)
    return replace(found, way=[_with_shared(card, found) for card in found.way])


def routine_of(card: WayCard, when: ReadWhen, *, alone: bool) -> list[str]:
    """Return what is done on a day of a way, by whether something runs on with nobody there."""
    return [check.say for check in card.routine if check.when == when and check.alone in (None, alone)]


def way(way_id: str) -> WayCard:
    """Return a way by its id. Raises KeyError."""
    return {card.id: card for card in ways().way}[way_id]


def _with_shared(card: WayCard, found: _Ways) -> WayCard:
    """Return a card with what it has in common with others before its own, its routine in the order of a day."""
    parts: list[_Routine] = [*(found.shared[name] for name in _shared_by(card)), card]
    routine = [check for part in parts for check in part.routine]
    return replace(
        card, routine=sorted(routine, key=lambda check: get_args(ReadWhen).index(check.when)),
        stop=[rule for part in parts for rule in part.stop],
        go_on=next(part.go_on for part in reversed(parts) if part.go_on),
    )  # fmt: skip


def _shared_by(card: WayCard) -> tuple[WayGroup, ...]:
    if card.air == "own":
        return ("every",)
    if card.air == "enclosure":
        return "every", "external", "heated", "enclosed"
    return "every", "external", "heated" if card.heat else "moved"


SET_KW = 0.1
"""No heater is set more closely than this."""


# ---------------------------------------------------------------------------------------- what is open


def closed_because(card: WayCard, of: Taken) -> tuple[str, ...]:
    """Return what closes a way of a kiln: the place, boards that cannot come out for it, then the kiln itself."""
    boards = of.why_shut("strip") if of.going else ()
    over = (ways().sentence["overloaded"],) if overloaded(of) else ()
    own = (card.not_if[name] for name in _closed(card, of) if name in card.not_if)
    return tuple(dict.fromkeys((*of.why_shut(card.id), *boards, *over, *own)))


def _closed(card: WayCard, of: Taken) -> Iterator[Closed]:
    """Yield what is so of a kiln and closes ways that name it. What is not known closes, it opens nothing."""
    facts: dict[Closed, bool] = {
        "salt": of.salt != "fresh",
        "salted": of.salt in SALTED,
        "nothing_to_strip": not of.strippable,
        "jacket": not of.boards_can_go,
        "unknown_power": of.supply_kw is None,
        "little_power": of.supply_kw is not None and of.supply_kw < takes_kw(card, of),
        "one_piece": of.sections < 2,
        "no_workshop": not of.workshop,
        "no_entry": not of.gate_open,
    }
    yield from (name for name, so in facts.items() if so)


def runs_alone(card: WayCard, of: Taken) -> bool:
    """Whether a way may run with nobody there: own elements and open heaters never."""
    if card.air == "enclosure":
        return of.enclosure_alone
    return card.air in ("workshop", "room") and of.movers_alone


# ---------------------------------------------------------------------------------------- what is on at one supply


def machines_kw(room: RoomAir) -> float:
    """Return what a room's fan and dehumidifier take that it is counted on with [kW]; nothing where none is."""
    fan = room.air_m3_h > room.unattended.air_m3_h
    return fan * ways().fan_kw.mid + ways().dehumidifier_kwh_l.mid * room.dehumidifier_l_day / 24


def overloaded(of: Taken) -> bool:
    """Whether the room's fan and dehumidifier alone take more than the supply that may be used gives."""
    return of.supply_kw is not None and machines_kw(of.room) > of.supply_kw


def room_beside(card: WayCard, of: Taken) -> RoomAir:
    """Return the room while a way is on: with its fan and its dehumidifier, or with both off.

    An enclosure blows to the open and gives the room nothing, so that its heater goes before them where the supply
    does not carry all. While a kiln is in a workshop its room waits.
    """
    if card.air == "workshop":
        return of.room.unattended
    carries_all = own_kw(card, of) + machines_kw(of.room) <= (of.supply_kw or 0.0) + 1e-9
    return of.room if card.air != "enclosure" or carries_all else of.room.unattended


def own_kw(card: WayCard, of: Taken) -> float:
    """Return what a way takes of the supply by itself, beside the room's machines [kW]; a workshop has its own supply,
    and own elements hang on another."""
    return _fan_kw(card) + heater_kw(card, of)


def _fan_kw(card: WayCard) -> float:
    """Return what a way's own fan takes of the supply [kW]: one blows an enclosure out, one moves the room's air."""
    return ways().fan_kw.mid if card.air in ("enclosure", "room") else 0.0


def heater_kw(card: WayCard, of: Taken) -> float:
    """Return the power of a way's heater from outside [kW]: a usual one, of an enclosure's no more than the supply
    leaves beside its fan."""
    if card.air != "enclosure":
        return ways().small_heater_kw.mid if card.air == "small_heater" else 0.0
    leaves_kw = max((of.supply_kw or 0.0) - _fan_kw(card), 0.0)
    return min(ways().enclosure_kw.mid, floor(leaves_kw / SET_KW + 1e-9) * SET_KW)


def beside_kw(card: WayCard, of: Taken) -> float:
    """Return what is on beside a heater [kW]: the room's machines, and the way's own fan."""
    return machines_kw(room_beside(card, of)) + _fan_kw(card)


def takes_kw(card: WayCard, of: Taken) -> float:
    """Return the least that a way is to be given while it is warm and dry [kW], with what is on beside it.

    Of an enclosure its losses and exhaust, P = (U A + V ρ cp) ΔT, air of 1.2 kg/m³ and 1005 J/kgK; the water that
    evaporates comes on top.
    """
    figures, beside = ways(), beside_kw(card, of)
    if card.air == "enclosure":
        rise_k = figures.enclosure_degc.mid - of.room_degc
        return beside + (figures.enclosure_w_k.mid + figures.exhaust_m3_h.mid / 3600 * 1.2 * 1005) * rise_k / 1000
    return beside + heater_kw(card, of)


def all_on_kw(card: WayCard, of: Taken) -> float:
    """Return what all that is on takes of the supply, at the most [kW]."""
    return beside_kw(card, of) + heater_kw(card, of)
