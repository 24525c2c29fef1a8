"""What a lining is made of, and the band: the one shape in which this room hands out a number."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from recover.datafile import load
from recover.errors import QuantityError
from recover.sources import Basis, Source

Family = Literal["brick", "fibre", "board", "dense"]
"""What decides how a layer may be heated: insulating brick, fibre, back-up board, or dense brick and castable."""


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
class Material:
    """One lining material, dry unless it says otherwise. `undrained_kg_m3` is there where draining matters much."""

    id: str
    label: str
    family: Family
    k_from_degc: float
    k_to_degc: float
    dry_density_kg_m3: Quantity
    open_porosity: Quantity
    k0_w_mk: Quantity
    k1_w_mk2: Quantity
    cp_j_kgk: Quantity
    soaked_kg_m3: Quantity
    splashed_kg_m3: Quantity
    capillary_rise_mm: Quantity
    service_limit_degc: Quantity
    undrained_kg_m3: Quantity | None = None

    def conductivity_w_mk(self, degc: float) -> Band:
        """Return k = k0 + k1 T [W/mK] of the dry material at `degc`. Raises QuantityError outside its validity."""
        if not self.k_from_degc <= degc <= self.k_to_degc:
            where, valid = f"conductivity of {self.id}", f"{self.k_from_degc:g} to {self.k_to_degc:g} °C"
            raise QuantityError(where, f"{degc:g} °C", valid)
        return self.k0_w_mk + self.k1_w_mk2 * degc


@dataclass(frozen=True)
class _Materials:
    damp_share: Quantity
    weighed_brick: Quantity
    sea_salt_g_l: Quantity
    material: list[Material]


@dataclass(frozen=True)
class _Sources:
    source: list[Source]


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


def damp_share() -> Band:
    """Return what share of the splashed water a damp layer holds."""
    return _file().damp_share


def weighed_brick_spread() -> Band:
    """Return the span within which one weighed brick stands for the others."""
    return _file().weighed_brick


def sea_salt_g_l() -> Band:
    """Return the salt in sea water [g/l]."""
    return _file().sea_salt_g_l


@cache
def references() -> dict[str, Source]:
    """Return the sources that the figures of this room cite, by key. Raises DataError on a faulty file."""
    return {source.id: source for source in load("physics/sources.toml", "recover-sources", _Sources).source}
