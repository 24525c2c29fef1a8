"""What the estimate rests on beyond the materials, as `figures.toml` gives it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, TypeVar

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.physics.materials import Quantity

T = TypeVar("T")

Knowledge = Literal["assumed", "weighed", "doubted"]
"""Of a lining: nothing of it was weighed; one piece, wet and oven-dry; what was read is of another than was assumed."""

DOUBTED: Knowledge = "doubted"


@dataclass(frozen=True, kw_only=True)
class _Casing:
    """How open the casing is to vapour (share of its face), wrapped or not, and its factor for the front formula."""

    id: str
    label: str
    times: Quantity
    openness: Quantity
    wrap_m2k_w: Quantity | None = None


@dataclass(frozen=True)
class _Pan:
    """What lies under the floor slab, and the share of the slab's cold face that is open to vapour."""

    id: str
    label: str
    openness: Quantity


@dataclass(frozen=True)
class _Opening:
    """How the chamber stands open, and the fresh air that comes through it [m³/h at 20 °C]."""

    id: str
    label: str
    vent_m3_h: Quantity


@dataclass(frozen=True, kw_only=True)
class _Known:
    """How well a kiln is known: how fast its water moves, how much it is beside what is assumed, its hours at best."""

    id: Knowledge
    moves_times: Quantity
    water_times: Quantity
    hours_times: Quantity


@dataclass(frozen=True, kw_only=True)
class _Figures:
    """Every figure by its name; the unit stands in the name where there is one."""

    energy_span: Quantity
    hours_span: Quantity
    surface_w_m2k: Quantity
    natural_wall_w_m2k13: Quantity
    natural_roof_w_m2k13: Quantity
    natural_floor_w_m2k13: Quantity
    casing_emissivity: Quantity
    lining_emissivity: Quantity
    bare_openness: Quantity
    least_chamber_degc: Quantity
    unnamed_ramp_k_h: Quantity
    terminal_share: Quantity
    edge_shape: Quantity
    corner_shape: Quantity
    edge_turn: Quantity
    edge_water: Quantity
    casing_offset_k: Quantity
    casing_look_k: Quantity
    casing_day_k: Quantity
    piece_share: Quantity
    piece_look_times: Quantity
    catch_share: Quantity
    catch_look_times: Quantity
    doubted_share: Quantity
    night_fall_k: Quantity
    room_air_m3_h: Quantity
    known: list[_Known]
    casing: list[_Casing]
    pan: list[_Pan]
    chamber: list[_Opening]


@cache
def figures() -> _Figures:
    """Return what the estimate rests on. Raises DataError on a faulty file."""
    return load("physics/figures.toml", "recover-figures", _Figures)


def casing(casing_id: str) -> _Casing:
    """Return a casing by its id. Raises QuantityError."""
    return _named("casing", casing_id, {one.id: one for one in figures().casing})


def known(knowledge: Knowledge) -> _Known:
    """Return how well a kiln is known."""
    return _named("knowledge", knowledge, {one.id: one for one in figures().known})


def pans(pan_id: str) -> tuple[_Pan, ...]:
    """Return what may lie under a floor slab: the pan of an id, every one where it is empty. Raises QuantityError."""
    return (_named("pan", pan_id, {one.id: one for one in figures().pan}),) if pan_id else tuple(figures().pan)


def opening(opening_id: str) -> _Opening:
    """Return how a chamber stands open, by its id. Raises QuantityError."""
    return _named("chamber", opening_id, {one.id: one for one in figures().chamber})


def _named(what: str, name: str, among: Mapping[str, T]) -> T:
    if name not in among:
        raise QuantityError(what, repr(name), f"one of {', '.join(among)}")
    return among[name]
