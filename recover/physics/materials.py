"""What a lining is made of, and the band: the one shape in which this room hands out a number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import exp, log
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Basis

MaterialFamily = Literal["brick", "fibre", "board", "dense"]
"""What decides how a layer may be heated: insulating brick, fibre, back-up board, or dense brick and castable."""

End = Literal["low", "mid", "high"]
ENDS: tuple[End, ...] = ("low", "mid", "high")
OPPOSITE: dict[End, End] = {"low": "high", "mid": "mid", "high": "low"}
"""The end of a band that goes with an end of the result, where more of the one makes less of the other."""


@dataclass(frozen=True)
class Band:
    """A number with its span of assumptions: lowest, likeliest, highest. It is not a measured error.

    All low assumptions go together and all high ones too: sums and products take low with low and high with high, a
    quotient takes low over high. The span is therefore wider than chance would make it. Products and quotients are for
    numbers that are not negative. Raises QuantityError unless low <= mid <= high.

    >>> Band(1, 2, 3) + Band(10, 10, 10), Band(2, 4, 6) / Band(1, 2, 4)
    (Band(low=11, mid=12, high=13), Band(low=0.5, mid=2.0, high=6.0))
    """

    low: float
    mid: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.mid <= self.high:
            raise QuantityError("band", f"{self.low}, {self.mid}, {self.high}", "low <= mid <= high")

    @classmethod
    def exactly(cls, value: float) -> Band:
        """Return a band without a span: for what was measured, or is known."""
        return Band(value, value, value)

    def __add__(self, other: Band) -> Band:
        return Band(self.low + other.low, self.mid + other.mid, self.high + other.high)

    def __mul__(self, other: Band | float) -> Band:
        by = other if isinstance(other, Band) else Band.exactly(other)
        return Band(self.low * by.low, self.mid * by.mid, self.high * by.high)

    def __truediv__(self, other: Band | float) -> Band:
        by = other if isinstance(other, Band) else Band.exactly(other)
        return Band(self.low / by.high, self.mid / by.mid, self.high / by.low)

    def at_least(self, factor: Band) -> Band:
        """Return this band, widened where needed to the span of `factor` about its mid (`Band(0.5, 1, 2)`: ×/÷ 2)."""
        return Band(min(self.low, self.mid * factor.low), self.mid, max(self.high, self.mid * factor.high))


ZERO = Band(0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Quantity(Band):
    """A band with its authority: a source with the place in it, or the reason for it. Raises QuantityError."""

    basis: Basis
    source: str = ""
    clause: str = ""
    because: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not (self.source or (self.because and self.basis != "document")):
            raise QuantityError("quantity", f"basis {self.basis} alone", "a source, or a reason where there is none")


@dataclass(frozen=True, kw_only=True)
class _Uptake:
    """What water a material takes up and keeps. What is absent does not matter for it: see `Material.soaked_for`."""

    splashed_kg_m3: Quantity
    soaked_kg_m3: Quantity
    capillary_rise_mm: Quantity
    soaked_hours: Quantity
    saturated_kg_m3: Quantity | None = None
    drained_days: Quantity | None = None


@dataclass(frozen=True, kw_only=True)
class _Moisture:
    """How vapour, liquid and heat move in a material that holds water; `liquid_m2_s` at half-filled pores."""

    permeability_m2: Quantity
    vapour_tortuosity: Quantity
    hygroscopic_kg_m3: Quantity
    liquid_m2_s: Quantity
    wet_k_w_mk: Quantity


@dataclass(frozen=True, kw_only=True)
class Material:
    """One lining material: dry, what water it takes up, how water moves in it."""

    id: str
    label: str
    family: MaterialFamily
    k_from_degc: float
    k_to_degc: float
    dry_density_kg_m3: Quantity
    open_porosity: Quantity
    k0_w_mk: Quantity
    k1_w_mk2: Quantity
    cp0_j_kgk: Quantity
    cp1_j_kgk2: Quantity
    tensile_mpa: Quantity
    uptake: _Uptake
    moisture: _Moisture

    def conductivity_w_mk(self, degc: float) -> Band:
        """Return k = k0 + k1 T [W/mK] of the dry material, from `k_from_degc` to `k_to_degc`. Raises QuantityError."""
        self._within("conductivity", degc)
        return self.k0_w_mk + self.k1_w_mk2 * degc

    def heat_capacity_j_kgk(self, degc: float) -> Band:
        """Return cp = cp0 + cp1 T [J/kgK] of the dry material. Raises QuantityError outside the range of k."""
        self._within("heat capacity", degc)
        return self.cp0_j_kgk + self.cp1_j_kgk2 * degc

    def soaked_for(self, hours: float | None, days_drained: float = 0.0) -> Band:
        """Return the water [kg/m³] held after `hours` under water and `days_drained` out of it.

        Over the logarithm of time the pores fill from splashed to soaked, and on to saturated while trapped air
        dissolves: w = w1 + (w2 - w1) ln(t / t1) / ln(t2 / t1). Coarse pores then drain back towards splashed:
        w = w_s + (w - w_s) exp(-d / d0). Hours that are not known (None) count as those that the table's soaked figure
        stands for. What dries in air is not counted. Both laws are ours, compared with no measurement: weigh a piece.
        Valid from 0 to `counted_hours` and `counted_days`; raises QuantityError outside.
        """
        for what, value, most, unit in (
            ("hours under water", hours or 0.0, material_data().counted_hours.mid, "h"),
            ("days drained", days_drained, material_data().counted_days.mid, "days"),
        ):
            if not 0 <= value <= most:
                raise QuantityError(f"{self.id}, {what}", f"{value:g}", f"0 to {most:g} {unit}")
        return Band(*(self._held(end, hours, days_drained) for end in ENDS))

    def _held(self, end: End, hours: float | None, days_drained: float) -> float:
        own, slow = self.uptake, OPPOSITE[end]
        splashed = getattr(own.splashed_kg_m3, end)
        filling = [(getattr(material_data().splashed_hours, slow), splashed)]
        filling += [(getattr(own.soaked_hours, slow), getattr(own.soaked_kg_m3, end))]
        if own.saturated_kg_m3:
            filling += [(getattr(material_data().saturated_hours, slow), getattr(own.saturated_kg_m3, end))]
        held = float(filling[1][1] if hours is None else _along_log(hours, filling))
        if own.drained_days:
            held = splashed + (held - splashed) * exp(-days_drained / getattr(own.drained_days, end))
        return held

    def _within(self, what: str, degc: float) -> None:
        if not self.k_from_degc <= degc <= self.k_to_degc:
            where, valid = f"{what} of {self.id}", f"{self.k_from_degc:g} to {self.k_to_degc:g} °C"
            raise QuantityError(where, f"{degc:g} °C", valid)


def _along_log(hours: float, nodes: Sequence[tuple[float, float]]) -> float:
    """Return what stands at `hours`, straight over the logarithm of time between nodes and constant beyond them."""
    for (begin, less), (until, more) in pairwise(nodes):
        if hours <= until:
            return less + (more - less) * log(max(hours, begin) / begin) / log(until / begin)
    return nodes[-1][1]


@dataclass(frozen=True, kw_only=True)
class _Materials:
    """Every material; shares of water held, salt in sea water [g/l], and how long water fills and drains is counted."""

    damp_share: Quantity
    weighed_brick: Quantity
    sea_salt_g_l: Quantity
    splashed_hours: Quantity
    saturated_hours: Quantity
    counted_hours: Quantity
    counted_days: Quantity
    liquid_exponent: Quantity
    material: list[Material]


@cache
def material_data() -> _Materials:
    """Return the materials, and what holds for all of them. Raises DataError on a faulty file."""
    return load("physics/materials.toml", "recover-materials", _Materials)


@cache
def materials() -> dict[str, Material]:
    """Return every lining material by its id, in the order of the file. Raises DataError on a faulty file."""
    return {material.id: material for material in material_data().material}


def material(material_id: str) -> Material:
    """Return one lining material; `unknown` is insulating brick with a wide span. Raises QuantityError."""
    if material_id not in materials():
        raise QuantityError("material", repr(material_id), f"one of {', '.join(materials())}")
    return materials()[material_id]
