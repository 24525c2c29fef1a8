"""Heating elements: the alloys, wire and coils, how much they carry, and what their cold resistance says.

Resistances are cold, at 20 °C, unless a name says hot. The alloys hardly change in the cold: a reading on a damp
kiln needs no correction for the room.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import inf, pi
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority, Figure

Verdict = Literal["failed", "replace", "serviceable", "accept", "inspect", "do_not_energise"]
"""What a cold resistance allows, from the highest down."""

ElementFinding = Literal["as_expected", "worn", "low", "open_strings", "odd_high", "odd_low"]
"""What one reading says beside its like."""


@dataclass(frozen=True, kw_only=True)
class FactorTable(Authority):
    """Resistance at a temperature over resistance at 20 °C: points of °C and factor, rising in °C."""

    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Alloy:
    """A resistance alloy. `max_degc` is the temperature of the wire in air. A magnet tells iron from nickel alloys."""

    id: str
    label: str
    magnetic: bool
    resistivity_ohm_mm2_m: Figure
    density_g_cm3: Figure
    max_degc: Figure
    factor: FactorTable


@dataclass(frozen=True)
class Conductor:
    """A metre of wire or strip at 20 °C. `cm2_per_ohm` is the design number A/R: surface load times it is I² Ct."""

    section_mm2: float
    ohm_per_m: float
    g_per_m: float
    cm2_per_m: float
    cm2_per_ohm: float


@dataclass(frozen=True)
class Coil:
    """A coil of round wire: `close_wound_mm` is its length with the turns touching."""

    length_m: float
    turns: float
    close_wound_mm: float
    surface_cm2: float


@dataclass(frozen=True, kw_only=True)
class _LoadPoint(Authority):
    """What coils bear at a temperature of the chamber: a span of surface loads."""

    chamber_degc: float
    low_w_cm2: float
    high_w_cm2: float


@dataclass(frozen=True)
class Load:
    """A surface load beside its guidance: the span that coils bear at the chamber's temperature, and the verdict."""

    w_cm2: float
    low_w_cm2: float
    high_w_cm2: float
    verdict: Literal["within", "high", "over"]


@dataclass(frozen=True)
class Replacement:
    """A new element of given wire and coil: its coil, its power, its load, and what the wire of it weighs."""

    coil: Coil
    watts: float
    load_w_cm2: float
    wire_g: float


@dataclass(frozen=True, kw_only=True)
class Acceptance(Authority):
    """What a cold resistance allows: `rise` over the expected one, and the share of power left, as shares of one."""

    verdict: Verdict
    rise: float
    power_share: float


@dataclass(frozen=True)
class ElementFigures:
    """The single numbers of the elements' data file, each with its authority."""

    plate_degc: Figure
    strip_fill: Figure
    life_per_100_k: Figure
    life_span_k: Figure
    power_low: Figure
    power_high: Figure
    cold_over_hot: Figure
    spread: Figure
    wear_limit: Figure
    measure_each_rise: Figure
    measure_each_strings: Figure
    string_failed_rise: Figure
    meter_share: Figure
    load_over_first: Figure
    joint_ohm: Figure
    joint_spread: Figure


@dataclass(frozen=True, kw_only=True)
class _Band(Authority):
    id: Verdict
    above: float


@dataclass(frozen=True)
class _Finding:
    id: ElementFinding
    because: str


@dataclass(frozen=True)
class _File:
    alloy: list[Alloy]
    figures: ElementFigures
    surface_load: list[_LoadPoint]
    acceptance: list[_Band]
    finding: list[_Finding]


@cache
def _file() -> _File:
    return load("engineering/elements.toml", "recover-elements", _File)


def alloys() -> dict[str, Alloy]:
    """Return every alloy by its id, in the order of the file. Raises DataError on a faulty file."""
    return {alloy.id: alloy for alloy in _file().alloy}


def figures() -> ElementFigures:
    """Return the single numbers with their authority. Raises DataError on a faulty file."""
    return _file().figures


def finding_words(finding: ElementFinding) -> str:
    """Return the sentence for a finding: what it means and where to look."""
    return next(entry.because for entry in _file().finding if entry.id == finding)


def alloy(given: str | Alloy) -> Alloy:
    """Return an alloy by its id; an alloy is returned as it is. Raises QuantityError naming those there are."""
    if isinstance(given, Alloy):
        return given
    if given not in alloys():
        raise QuantityError("alloy", repr(given), f"one of {', '.join(alloys())}")
    return alloys()[given]


def resistance_factor(alloy_id: str | Alloy, degc: float) -> float:
    """Return Ct = R(T) / R(20 °C), by straight lines between the points of the alloy's table.

    Raises QuantityError outside the table, with its range.

    >>> resistance_factor("fecral_22_58", 1200), round(resistance_factor("fecral_22_58", 450), 3)
    (1.04, 1.005)
    """
    points = alloy(alloy_id).factor.points
    for (low_degc, low), (high_degc, high) in pairwise(points):
        if low_degc <= degc <= high_degc:
            return low + (high - low) * (degc - low_degc) / (high_degc - low_degc)
    valid = f"{points[0][0]:g} to {points[-1][0]:g} °C"
    raise QuantityError(f"resistance factor of {alloy(alloy_id).id}", f"{degc:g} °C", valid)


def plate_factor(alloy_id: str | Alloy) -> float:
    """Return the factor between hot, as on the plate, and cold: at 1200 °C, or at the end of a shorter table."""
    end_degc = alloy(alloy_id).factor.points[-1][0]
    return resistance_factor(alloy_id, min(figures().plate_degc.value, end_degc))


def wire(alloy_id: str | Alloy, diameter_mm: float) -> Conductor:
    """Return a metre of round wire: q = pi d²/4, surface 10 pi d cm²/m for d [mm]. Raises QuantityError.

    >>> metre = wire("fecral_22_58", 2.0)
    >>> round(metre.ohm_per_m, 4), round(metre.g_per_m, 1), round(metre.cm2_per_m, 1), round(metre.cm2_per_ohm)
    (0.4615, 22.3, 62.8, 136)
    """
    require_positive("wire diameter", diameter_mm, "mm")
    return _conductor(alloy(alloy_id), pi * diameter_mm**2 / 4, 10 * pi * diameter_mm)


def strip(alloy_id: str | Alloy, width_mm: float, thickness_mm: float) -> Conductor:
    """Return a metre of rolled strip: q = 0.92 b t, surface 20 (b + t) cm²/m for b, t [mm]. Raises QuantityError."""
    require_positive("strip width", width_mm, "mm")
    require_positive("strip thickness", thickness_mm, "mm")
    section_mm2 = figures().strip_fill.value * width_mm * thickness_mm
    return _conductor(alloy(alloy_id), section_mm2, 20 * (width_mm + thickness_mm))


def _conductor(of: Alloy, section_mm2: float, cm2_per_m: float) -> Conductor:
    ohm_per_m = of.resistivity_ohm_mm2_m.value / section_mm2
    g_per_m = of.density_g_cm3.value * section_mm2
    return Conductor(section_mm2, ohm_per_m, g_per_m, cm2_per_m, cm2_per_m / ohm_per_m)


def coil(ohm: float, wire_mm: float, coil_mm: float, alloy_id: str | Alloy) -> Coil:
    """Return the coil of outer diameter D that has a cold resistance: turns = 1000 L / (pi (D - d)).

    Raises QuantityError for a resistance that is not positive, or a coil not wider than two wires.

    >>> round(coil(20, 2.0, 16, "fecral_22_58").length_m, 2)
    43.33
    """
    require_positive("resistance", ohm, "ohm")
    metre = wire(alloy_id, wire_mm)
    if not coil_mm > 2 * wire_mm:
        raise QuantityError("coil", f"{coil_mm:g} mm outside", f"more than two wires, {2 * wire_mm:g} mm")
    length_m = ohm / metre.ohm_per_m
    turns = 1000 * length_m / (pi * (coil_mm - wire_mm))
    return Coil(length_m, turns, turns * wire_mm, length_m * metre.cm2_per_m)


def surface_load_w_cm2(watts: float, surface_cm2: float) -> float:
    """Return the surface load p = P / A [W/cm²] of an element. Raises QuantityError."""
    require_positive("surface", surface_cm2, "cm²")
    require_positive("power", watts, "W")
    return watts / surface_cm2


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


def judge_load(w_cm2: float, chamber_degc: float, first_w_cm2: float | None = None) -> Load:
    """Return a surface load beside its guidance, and beside the element that was there first.

    `over`: above the span, or more than a tenth above the first element; `high`: in the span's upper half. Raises
    QuantityError.
    """
    require_positive("surface load", w_cm2, "W/cm²")
    low, high = surface_load_guidance(chamber_degc)
    too_much = first_w_cm2 is not None and w_cm2 > figures().load_over_first.value * first_w_cm2
    verdict: Literal["within", "high", "over"] = "high" if w_cm2 > low else "within"
    return Load(w_cm2, low, high, "over" if too_much or w_cm2 > high else verdict)


def replacement(ohm: float, watts: float, wire_mm: float, coil_mm: float, alloy_id: str | Alloy) -> Replacement:
    """Return the coil that replaces an element of this cold resistance and power, with its load. Raises QuantityError.

    >>> made = replacement(8.478, 1500, 2.3, 20, "fecral_22_58")
    >>> round(made.coil.length_m, 2), round(made.load_w_cm2, 3)
    (24.29, 0.855)
    """
    wound = coil(ohm, wire_mm, coil_mm, alloy_id)
    load = surface_load_w_cm2(watts, wound.surface_cm2)
    return Replacement(wound, watts, load, wound.length_m * wire(alloy_id, wire_mm).g_per_m)


def wire_diameter_mm(resistivity_ohm_mm2_m: float, watts: float, load_w_cm2: float, ohm: float) -> float:
    """Return the diameter at which wire of this cold resistance has the surface load.

    d = (4/pi² rho P / (10 p R20))^(1/3) [mm], for rho [ohm mm²/m], P [W], p [W/cm²], R20 [ohm]. Raises QuantityError.

    >>> round(wire_diameter_mm(1.35, 1000, 8, 40), 3)
    0.555
    """
    require_positive("resistivity", resistivity_ohm_mm2_m, "ohm mm²/m")
    require_positive("power", watts, "W")
    require_positive("surface load", load_w_cm2, "W/cm²")
    require_positive("resistance", ohm, "ohm")
    return float((4 / pi**2 * resistivity_ohm_mm2_m * watts / (10 * load_w_cm2 * ohm)) ** (1 / 3))


def relative_life(hotter_k: float) -> float:
    """Return the life of a wire run hotter by so much [K, negative: cooler], as a share: 3.3^(-K/100).

    Computed from accelerated life at 1100, 1200 and 1300 °C. Raises QuantityError beyond 200 K either way.
    """
    span_k = figures().life_span_k.value
    if not -span_k <= hotter_k <= span_k:
        raise QuantityError("wire temperature", f"{hotter_k:g} K apart", f"{-span_k:g} to {span_k:g} K")
    return float(figures().life_per_100_k.value ** (-hotter_k / 100))


def acceptance(cold_ohm: float, expected_ohm: float) -> Acceptance:
    """Return what a cold resistance allows against the expected cold one; infinite means open. Raises QuantityError.

    >>> acceptance(11.2, 10).verdict, acceptance(9.2, 10).verdict
    ('serviceable', 'inspect')
    """
    require_positive("reading", cold_ohm, "ohm", open_too=True)
    require_positive("expected resistance", expected_ohm, "ohm")
    rise = round(cold_ohm / expected_ohm - 1, 9)
    band = next(band for band in _file().acceptance if _exceeds(rise, band.above))
    share = expected_ohm / cold_ohm
    return Acceptance(verdict=band.id, rise=rise, power_share=share, because=band.because, basis=band.basis)


def _exceeds(rise: float, line: float) -> bool:
    return rise > line if line > 0 else rise >= line


def require_positive(where: str, value: float, unit: str, *, open_too: bool = False) -> None:
    """Refuse a number that is not above zero, or not finite unless an open circuit may be. Raises QuantityError."""
    if not (0 < value < inf or (open_too and value == inf)):
        raise QuantityError(where, f"{value:g} {unit}", f"more than 0 {unit}")
