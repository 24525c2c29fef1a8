"""What the estimate rests on beyond the materials, as `figures.toml` gives it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.datafile import load
from recover.errors import QuantityError
from recover.physics.materials import Band, Quantity
from recover.physics.stages import LiningClass


@dataclass(frozen=True)
class Casing:
    """How open the casing is, and how many times longer than the front formula drying takes for it."""

    id: str
    label: str
    times: Quantity


@dataclass(frozen=True)
class AirDrying:
    """Days of moving room air before any power, for one kind of lining."""

    lining: LiningClass
    days: Quantity


@dataclass(frozen=True)
class Figures:
    """Every figure by its name; the unit stands in the name where there is one."""

    energy_span: Quantity
    hours_span: Quantity
    surface_w_m2k: Quantity
    casing_emissivity: Quantity
    least_chamber_degc: Quantity
    hot_face_vapour_kg_m2h: Quantity
    heating_efficiency: Quantity
    vapour_openness: Quantity
    dehumidifier_rating: Quantity
    cold_room_degc: Quantity
    cold_room_times: Quantity
    casing: list[Casing]
    air_drying: list[AirDrying]


@cache
def figures() -> Figures:
    """Return what the estimate rests on. Raises DataError on a faulty file."""
    return load("physics/figures.toml", "recover-figures", Figures)


def casing_times(casing_id: str) -> Band:
    """Return how many times longer than the front formula drying takes with this casing. Raises QuantityError."""
    times = {casing.id: casing.times for casing in figures().casing}
    if casing_id not in times:
        raise QuantityError("casing", repr(casing_id), f"one of {', '.join(times)}")
    return times[casing_id]


def least_air_days(lining: LiningClass) -> Band:
    """Return the days of moving room air for a kind of lining, in a room that is not cold. Raises QuantityError."""
    days = {entry.lining: entry.days for entry in figures().air_drying}
    if lining not in days:
        raise QuantityError("lining", repr(lining), f"one of {', '.join(days)}")
    return days[lining]
