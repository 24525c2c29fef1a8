"""What kind of lining a stack is, and how the trade dries each kind: days of air first, then staged holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from math import floor
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.physics.lining import LayerStack
from recover.physics.materials import Band, Quantity

StageClass = Literal["ifb_thin", "ifb_fibre", "ifb_board", "fibre", "castable"]
StageName = Literal["below_boiling", "past_boiling", "cold_side", "proof"]


@dataclass(frozen=True)
class _Published:
    """What a published document says of a stage, in our words."""

    source: str
    clause: str
    says: str


@dataclass(frozen=True, kw_only=True)
class Stage(Authority):
    """One hold of a staged heating: temperatures [°C], ramp [K/h], hold [h]. Practice of the trade, see `basis`."""

    lining: StageClass
    name: StageName
    from_degc: float
    to_degc: float
    ramp_min_k_h: float | None = None
    ramp_max_k_h: float | None = None
    hours_from: float = 0.0
    hours_to: float | None = None
    hours_per_mm_from: float = 0.0
    hours_per_mm_to: float = 0.0
    note: str = ""
    published: tuple[_Published, ...] = ()

    def hours(self, lining_mm: float) -> Band:
        """Return the hold [h] for a lining of this thickness [mm]. Raises QuantityError.

        Where practice names no upper end, the high end is twice the low one: our rule for any drying time.
        """
        if not lining_mm > 0:
            raise QuantityError("lining_mm", f"{lining_mm:g}", "more than 0")
        low = max(self.hours_from, self.hours_per_mm_from * lining_mm)
        named = max(self.hours_to or 0.0, self.hours_per_mm_to * lining_mm)
        high = max(low, named) if named else 2 * low
        return Band(low, (low + high) / 2, high)


@dataclass(frozen=True)
class _AirDrying:
    """Days of moving room air before any power, for one kind of lining."""

    lining: StageClass
    days: Quantity


@dataclass(frozen=True, kw_only=True)
class _Stages:
    thin_brick_mm: Quantity
    cold_room_degc: Quantity
    cold_room_times: Quantity
    under_boiling_k: Quantity
    unknown_height_m: Quantity
    lowered: str
    lowered_unknown: str
    stage: list[Stage]
    air_drying: list[_AirDrying]


@cache
def _file() -> _Stages:
    return load("physics/stages.toml", "recover-stages", _Stages)


def stages(lining: StageClass, height_m: float | None = 0.0) -> tuple[Stage, ...]:
    """Return the staged holds of a kind of lining at a height above the sea [m], None where unknown, coolest first.

    Raises QuantityError, DataError on a faulty file.
    """
    found = tuple(_below_boiling(stage, height_m) for stage in _file().stage if stage.lining == lining)
    if not found:
        raise QuantityError("lining", repr(lining), "a kind of lining that has stages")
    return found


def _below_boiling(stage: Stage, height_m: float | None) -> Stage:
    """Return a stage that lies below boiling at the sea, kept below it at a height; any other as it is."""
    highest = below_boiling_degc(height_m)
    if stage.name != "below_boiling" or stage.to_degc <= highest:
        return stage
    because = _file().lowered_unknown if height_m is None else _file().lowered
    note = f"{stage.note} {because}".strip()
    return replace(stage, from_degc=min(stage.from_degc, highest), to_degc=highest, note=note)


def unknown_height_m() -> float:
    """Return how high a kiln counts as standing [m] for its holds below boiling, where nobody told."""
    return _file().unknown_height_m.mid


def below_boiling_degc(height_m: float | None) -> float:
    """Return the hottest hold [°C] that is below boiling at a height above the sea: 95 up to 150 m, 85 at 3000 m.

    So many kelvins under the boiling point in whole °C (weather moves it by nearly one), and a multiple of as many, as
    holds are told and set. Not known (None) counts as high up. Raises QuantityError outside -450 to 5000 m.
    """
    by, height_m = _file().under_boiling_k.mid, unknown_height_m() if height_m is None else height_m
    return floor((round(boiling_degc(pressure_at_pa(height_m))) - by) / by) * by


def air_drying_days(lining: StageClass, room_degc: float, heated: bool) -> Band:
    """Return the days of moving room air before any power, back-up opened; longer in an unheated room that is cold.

    The low end is the least that practice accepts. Raises QuantityError for a kind of lining that is not known.
    """
    days = {entry.lining: entry.days for entry in _file().air_drying}
    if lining not in days:
        raise QuantityError("lining", repr(lining), f"one of {', '.join(days)}")
    cold = not heated and room_degc < _file().cold_room_degc.mid
    return days[lining] * (_file().cold_room_times if cold else 1.0)


def stage_class(stack: LayerStack) -> StageClass:
    """Return the kind of lining a stack is; the layer that must be heated most slowly decides, wet or dry.

    Dense brick or castable before back-up board, that before a wall of fibre, that before brick with fibre behind it.
    Bare brick thicker than 76 mm counts with the last. What is not known counts as board.
    """
    families = [layer.material.family for layer in stack.layers]
    if "dense" in families:
        return "castable"
    if "board" in families:
        return "ifb_board"
    if families[0] == "fibre":
        return "fibre"
    thin = sum(layer.thickness_mm for layer in stack.layers) <= _file().thin_brick_mm.mid
    return "ifb_thin" if thin and "fibre" not in families else "ifb_fibre"
