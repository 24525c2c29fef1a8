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


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Uptake:
    """What water a material takes up and keeps. What is absent does not matter for it: see `Material.soaked_for`."""

    splashed_kg_m3: Quantity
    soaked_kg_m3: Quantity
    capillary_rise_mm: Quantity
    soaked_hours: Quantity
    saturated_kg_m3: Quantity | None = None
    undrained_kg_m3: Quantity | None = None
    drained_days: Quantity | None = None


@dataclass(frozen=True)
class Moisture:
    """How vapour, liquid and heat move in a material that holds water; `liquid_m2_s` at half-filled pores."""

    permeability_m2: Quantity
    vapour_tortuosity: Quantity
    hygroscopic_kg_m3: Quantity
    liquid_m2_s: Quantity
    wet_k_w_mk: Quantity


@dataclass(frozen=True)
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
    service_limit_degc: Quantity
    tensile_mpa: Quantity
    uptake: Uptake
    moisture: Moisture

    def conductivity_w_mk(self, degc: float, saturation: float = 0.0) -> Band:
        """Return k = k0 + k1 T + k_wet S [W/mK] at `degc` with a share S of the pores filled by water.

        Valid from `k_from_degc` to `k_to_degc`, S from 0 to 1; raises QuantityError outside.
        """
        self._within("conductivity", degc)
        return self.k0_w_mk + self.k1_w_mk2 * degc + self.moisture.wet_k_w_mk * self._share(saturation)

    def heat_capacity_j_kgk(self, degc: float) -> Band:
        """Return cp = cp0 + cp1 T [J/kgK] of the dry material. Raises QuantityError outside the range of k."""
        self._within("heat capacity", degc)
        return self.cp0_j_kgk + self.cp1_j_kgk2 * degc

    @property
    def liquid_exponent(self) -> float:
        """How steeply liquid moves more easily with filling: b in D = D_half exp(b (S - 1/2))."""
        return _file().liquid_exponent.mid

    def liquid_diffusivity_m2_s(self, saturation: float) -> Band:
        """Return D = D_half exp(b (S - 1/2)) [m²/s] of liquid; S from 0 to 1, else QuantityError."""
        return self.moisture.liquid_m2_s * exp(self.liquid_exponent * (self._share(saturation) - 0.5))

    def soaked_for(self, hours: float | None, days_drained: float = 0.0) -> Band:
        """Return the water [kg/m³] held after `hours` under water and `days_drained` out of it.

        Over the logarithm of time the pores fill from splashed to soaked, and on to saturated while trapped air
        dissolves: w = w1 + (w2 - w1) ln(t / t1) / ln(t2 / t1). Coarse pores then drain back towards splashed:
        w = w_s + (w - w_s) exp(-d / d0). Hours that are not known (None) count as those that the table's soaked figure
        stands for. What dries in air is not counted. Both laws are ours, compared with no measurement: weigh a piece.
        Valid from 0 to `counted_hours` and `counted_days`; raises QuantityError outside.
        """
        for what, value, most, unit in (
            ("hours under water", hours or 0.0, counted_hours(), "h"),
            ("days drained", days_drained, counted_days(), "days"),
        ):
            if not 0 <= value <= most:
                raise QuantityError(f"{self.id}, {what}", f"{value:g}", f"0 to {most:g} {unit}")
        return Band(*(self._held(end, hours, days_drained) for end in ENDS))

    def _held(self, end: End, hours: float | None, days_drained: float) -> float:
        own, slow = self.uptake, OPPOSITE[end]
        splashed = getattr(own.splashed_kg_m3, end)
        filling = [(getattr(_file().splashed_hours, slow), splashed)]
        filling += [(getattr(own.soaked_hours, slow), getattr(own.soaked_kg_m3, end))]
        if own.saturated_kg_m3:
            filling += [(getattr(_file().saturated_hours, slow), getattr(own.saturated_kg_m3, end))]
        held = float(filling[1][1] if hours is None else _along_log(hours, filling))
        if own.drained_days:
            held = splashed + (held - splashed) * exp(-days_drained / getattr(own.drained_days, end))
        return held

    def _within(self, what: str, degc: float) -> None:
        if not self.k_from_degc <= degc <= self.k_to_degc:
            where, valid = f"{what} of {self.id}", f"{self.k_from_degc:g} to {self.k_to_degc:g} °C"
            raise QuantityError(where, f"{degc:g} °C", valid)

    def _share(self, saturation: float) -> float:
        if not 0 <= saturation <= 1:
            raise QuantityError(f"saturation of {self.id}", f"{saturation:g}", "0 to 1")
        return saturation


def _along_log(hours: float, nodes: Sequence[tuple[float, float]]) -> float:
    """Return what stands at `hours`, straight over the logarithm of time between nodes and constant beyond them."""
    for (begin, less), (until, more) in pairwise(nodes):
        if hours <= until:
            return less + (more - less) * log(max(hours, begin) / begin) / log(until / begin)
    return nodes[-1][1]


@dataclass(frozen=True)
class Steel:
    """The steel of a casing: it holds no water. `service_limit_degc` is that of paint and zinc, where it has any."""

    id: str
    label: str
    dry_density_kg_m3: Quantity
    k_w_mk: Quantity
    cp_j_kgk: Quantity
    service_limit_degc: Quantity


@dataclass(frozen=True)
class _Materials:
    damp_share: Quantity
    weighed_brick: Quantity
    sea_salt_g_l: Quantity
    splashed_hours: Quantity
    saturated_hours: Quantity
    counted_hours: Quantity
    counted_days: Quantity
    liquid_exponent: Quantity
    material: list[Material]
    steel: list[Steel]


@cache
def _file() -> _Materials:
    return load("physics/materials.toml", "recover-materials", _Materials)


@cache
def materials() -> dict[str, Material]:
    """Return every lining material by its id, in the order of the file. Raises DataError on a faulty file."""
    return {material.id: material for material in _file().material}


def material(material_id: str) -> Material:
    """Return one lining material; `unknown` is insulating brick with a wide span. Raises QuantityError."""
    if material_id not in materials():
        raise QuantityError("material", repr(material_id), f"one of {', '.join(materials())}")
    return materials()[material_id]


def steel(steel_id: str) -> Steel:
    """Return the steel of a casing by its id. Raises QuantityError."""
    known = {entry.id: entry for entry in _file().steel}
    if steel_id not in known:
        raise QuantityError("steel", repr(steel_id), f"one of {', '.join(known)}")
    return known[steel_id]


def counted_hours() -> float:
    """Return the hours under water beyond which nothing is known [h]."""
    return _file().counted_hours.mid


def counted_days() -> float:
    """Return the days of draining beyond which nothing drains [days]."""
    return _file().counted_days.mid


def damp_share() -> Band:
    """Return what share of the splashed water a damp layer holds."""
    return _file().damp_share


def weighed_brick_spread() -> Band:
    """Return the span within which one weighed brick stands for the others."""
    return _file().weighed_brick


def sea_salt_g_l() -> Band:
    """Return the salt in sea water [g/l]."""
    return _file().sea_salt_g_l
