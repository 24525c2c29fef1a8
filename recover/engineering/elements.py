"""Heating elements: the alloys, coils of wire, and how much they carry.

Resistances are cold, at 20 °C, unless a name says hot. The alloys hardly change in the cold: a reading on a damp
kiln needs no correction for the room.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import pi
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority, Figure
from recover.engineering.supply import checked

ElementFinding = Literal["as_expected", "worn", "low", "open_strings", "odd_high", "odd_low"]
"""What one reading says beside its like."""


@dataclass(frozen=True, kw_only=True)
class _FactorTable(Authority):
    """Resistance at a temperature over resistance at 20 °C: points of °C and factor, rising in °C."""

    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class _Alloy:
    id: str
    resistivity_ohm_mm2_m: Figure
    density_g_cm3: Figure
    factor: _FactorTable


@dataclass(frozen=True)
class _Coil:
    """A coil of round wire, what the wire of it weighs, and the surface that gives off its heat."""

    length_m: float
    turns: float
    surface_cm2: float
    wire_g: float

    def load_w_cm2(self, watts: float) -> float:
        """Return the surface load p = P / A [W/cm²] at a power. Raises QuantityError."""
        checked("power", watts, "W")
        return watts / self.surface_cm2


@dataclass(frozen=True, kw_only=True)
class _LoadPoint(Authority):
    """What coils bear at a temperature of the chamber: a span of surface loads."""

    chamber_degc: float
    low_w_cm2: float
    high_w_cm2: float


@dataclass(frozen=True, kw_only=True)
class _Figures:
    """The single numbers of the elements' data file, each with its authority."""

    plate_degc: Figure
    life_per_100_k: Figure
    life_span_k: Figure
    spread: Figure
    measure_each_strings: Figure
    string_failed_rise: Figure
    meter_share: Figure
    load_over_first: Figure
    joint_ohm: Figure
    joint_spread: Figure


@dataclass(frozen=True)
class _Finding:
    id: ElementFinding
    because: str


@dataclass(frozen=True)
class _File:
    alloy: list[_Alloy]
    figures: _Figures
    surface_load: list[_LoadPoint]
    finding: list[_Finding]


@cache
def _file() -> _File:
    return load("engineering/elements.toml", "recover-elements", _File)


def figures() -> _Figures:
    """Return the single numbers with their authority. Raises DataError on a faulty file."""
    return _file().figures


def finding_words(finding: ElementFinding) -> str:
    """Return the sentence for a finding: what it means and where to look."""
    return next(entry.because for entry in _file().finding if entry.id == finding)


def _alloy(alloy_id: str) -> _Alloy:
    known = {alloy.id: alloy for alloy in _file().alloy}
    if alloy_id not in known:
        raise QuantityError("alloy", repr(alloy_id), f"one of {', '.join(known)}")
    return known[alloy_id]


def _resistance_factor(alloy_id: str, degc: float) -> float:
    """Return Ct = R(T) / R(20 °C), by straight lines between the points of the alloy's table.

    Raises QuantityError for an alloy that is not known, and outside the table, with its range.

    >>> _resistance_factor("fecral_22_58", 1200), round(_resistance_factor("fecral_22_58", 450), 3)
    (1.04, 1.005)
    """
    points = _alloy(alloy_id).factor.points
    for (low_degc, low), (high_degc, high) in pairwise(points):
        if low_degc <= degc <= high_degc:
            return low + (high - low) * (degc - low_degc) / (high_degc - low_degc)
    valid = f"{points[0][0]:g} to {points[-1][0]:g} °C"
    raise QuantityError(f"resistance factor of {alloy_id}", f"{degc:g} °C", valid)


def plate_factor(alloy_id: str) -> float:
    """Return the factor between hot, as on the plate, and cold: at 1200 °C, or at the end of a shorter table."""
    end_degc = _alloy(alloy_id).factor.points[-1][0]
    return _resistance_factor(alloy_id, min(figures().plate_degc.value, end_degc))


def coil(ohm: float, wire_mm: float, coil_mm: float, alloy_id: str) -> _Coil:
    """Return the coil of outer diameter D [mm], wound of wire of d [mm], that has a cold resistance R [ohm].

    q = pi d²/4, L = R q / rho, turns = 1000 L / (pi (D - d)), surface 10 pi d L cm². Raises QuantityError for a
    resistance or a wire that is not positive, or a coil not wider than two wires.

    >>> wound = coil(8.478, 2.3, 20, "fecral_22_58")
    >>> round(wound.length_m, 2), round(wound.load_w_cm2(1500), 3)
    (24.29, 0.855)
    """
    checked("resistance", ohm, "ohm")
    checked("wire diameter", wire_mm, "mm")
    of = _alloy(alloy_id)
    if not coil_mm > 2 * wire_mm:
        raise QuantityError("coil", f"{coil_mm:g} mm outside", f"more than two wires, {2 * wire_mm:g} mm")
    section_mm2 = pi * wire_mm**2 / 4
    length_m = ohm / (of.resistivity_ohm_mm2_m.value / section_mm2)
    return _Coil(
        length_m=length_m,
        turns=1000 * length_m / (pi * (coil_mm - wire_mm)),
        surface_cm2=length_m * (10 * pi * wire_mm),
        wire_g=length_m * (of.density_g_cm3.value * section_mm2),
    )


def surface_load_guidance(chamber_degc: float) -> tuple[float, float]:
    """Return the span of surface loads [W/cm²] that coils bear in a chamber, by straight lines between the points.

    Below the coolest point that point stands; advice, since no curve was seen whole. Raises QuantityError above the
    hottest.

    >>> surface_load_guidance(1200)
    (1.6, 1.8)
    """
    points = _file().surface_load
    if not 0 <= chamber_degc <= points[-1].chamber_degc:
        raise QuantityError("surface load", f"{chamber_degc:g} °C", f"0 to {points[-1].chamber_degc:g} °C")
    degc = max(chamber_degc, points[0].chamber_degc)
    low, high = next((one, other) for one, other in pairwise(points) if degc <= other.chamber_degc)
    share = (degc - low.chamber_degc) / (high.chamber_degc - low.chamber_degc)
    return (low.low_w_cm2 + share * (high.low_w_cm2 - low.low_w_cm2),
            low.high_w_cm2 + share * (high.high_w_cm2 - low.high_w_cm2))  # fmt: skip


def judge_load(
    w_cm2: float, chamber_degc: float, first_w_cm2: float | None = None
) -> Literal["within", "high", "over"]:
    """Judge a surface load beside its guidance, and beside the element that was there first.

    `over`: above the span, or more than a tenth above the first element; `high`: in the span's upper half. Raises
    QuantityError.
    """
    checked("surface load", w_cm2, "W/cm²")
    low, high = surface_load_guidance(chamber_degc)
    too_much = first_w_cm2 is not None and w_cm2 > figures().load_over_first.value * first_w_cm2
    if too_much or w_cm2 > high:
        return "over"
    return "high" if w_cm2 > low else "within"


def relative_life(hotter_k: float) -> float:
    """Return the life of a wire run hotter by so much [K, negative: cooler], as a share: 3.3^(-K/100).

    Computed from accelerated life at 1100, 1200 and 1300 °C. Raises QuantityError beyond 200 K either way.
    """
    span_k = figures().life_span_k.value
    if not -span_k <= hotter_k <= span_k:
        raise QuantityError("wire temperature", f"{hotter_k:g} K apart", f"{-span_k:g} to {span_k:g} K")
    return float(figures().life_per_100_k.value ** (-hotter_k / 100))
