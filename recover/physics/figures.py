"""What the estimate rests on beyond the materials, as `figures.toml` gives it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.physics.materials import Band, Quantity
from recover.physics.stages import StageClass

T = TypeVar("T")


@dataclass(frozen=True)
class Casing:
    """How open the casing is to vapour (share of its face), wrapped or not, and its factor for the front formula."""

    id: str
    label: str
    times: Quantity
    openness: Quantity
    wrap_m2k_w: Quantity | None = None


@dataclass(frozen=True)
class Opening:
    """How the chamber stands open, and the fresh air that comes through it [m³/h at 20 °C]."""

    id: str
    label: str
    vent_m3_h: Quantity


@dataclass(frozen=True)
class AirDrying:
    """Days of moving room air before any power, for one kind of lining."""

    lining: StageClass
    days: Quantity


@dataclass(frozen=True)
class Figures:
    """Every figure by its name; the unit stands in the name where there is one."""

    energy_span: Quantity
    hours_span: Quantity
    surface_w_m2k: Quantity
    natural_w_m2k13: Quantity
    casing_emissivity: Quantity
    least_chamber_degc: Quantity
    unnamed_ramp_k_h: Quantity
    terminal_share: Quantity
    hot_face_vapour_kg_m2h: Quantity
    heating_efficiency: Quantity
    cold_room_degc: Quantity
    cold_room_times: Quantity
    casing: list[Casing]
    chamber: list[Opening]
    air_drying: list[AirDrying]


@cache
def figures() -> Figures:
    """Return what the estimate rests on. Raises DataError on a faulty file."""
    return load("physics/figures.toml", "recover-figures", Figures)


def casing(casing_id: str) -> Casing:
    """Return a casing by its id. Raises QuantityError."""
    return _named("casing", casing_id, {one.id: one for one in figures().casing})


def opening(opening_id: str) -> Opening:
    """Return how a chamber stands open, by its id. Raises QuantityError."""
    return _named("chamber", opening_id, {one.id: one for one in figures().chamber})


def casing_times(casing_id: str) -> Band:
    """Return how many times longer than the front formula drying takes with this casing. Raises QuantityError."""
    return casing(casing_id).times


def _named(what: str, name: str, known: dict[str, T]) -> T:
    if name not in known:
        raise QuantityError(what, repr(name), f"one of {', '.join(known)}")
    return known[name]


def least_air_days(lining: StageClass) -> Band:
    """Return the days of moving room air for a kind of lining, in a room that is not cold. Raises QuantityError."""
    days = {entry.lining: entry.days for entry in figures().air_drying}
    if lining not in days:
        raise QuantityError("lining", repr(lining), f"one of {', '.join(days)}")
    return days[lining]
