"""What a kiln draws and what carries it: currents, standard ratings, contactors, and cables as a help to referral.

All sums are for resistive loads at rated voltage unless they say otherwise. A country's numbers stand in its profile;
`supply.toml` holds those of every country, with their authority, and this file is the door to them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from math import inf, isfinite, sqrt
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.profiles import Limit
from recover.profiles import profile as country

_NEAR = 1.1
"""Voltages on plates of one supply differ by less than this: 230 and 240, 400 and 415, 440 and 480 do."""


@dataclass(frozen=True, kw_only=True)
class _Contactor(Authority):
    """The AC-1 ratings that contactors are made in [A]."""

    steps_a: list[float]


@dataclass(frozen=True, kw_only=True)
class _Copper(Authority):
    """Resistance of copper conductors of one class at 20 °C [ohm/km], by cross-section [mm²]."""

    id: str
    areas_mm2: list[float]
    ohm_per_km: list[float]


@dataclass(frozen=True, kw_only=True)
class Cable(Authority):
    """Current-carrying capacity [A] by size, thinnest first, at 30 °C in air and one circuit.

    `loaded` conductors carry current; 0 where the table holds for two and for three.
    """

    id: str
    label: str
    loaded: Literal[0, 2, 3]
    unit: Literal["mm²", "AWG"]
    sizes: list[float]
    amps: list[float]

    def thinnest(self, rating: float) -> float | None:
        """Return the size of the thinnest cable that carries a rating [A]; None beyond the table.

        A help for the talk with an electrician, never a sizing.
        """
        capacity = _least(self.amps, rating)
        return None if capacity is None else self.sizes[self.amps.index(capacity)]


@dataclass(frozen=True, kw_only=True)
class _Supply:
    """The whole of `supply.toml`."""

    limit: list[Limit]
    contactor: _Contactor
    copper: list[_Copper]
    cable: list[Cable]
    sentence: dict[str, str]


@cache
def supply_data() -> _Supply:
    """Return what `supply.toml` holds. Raises DataError on a faulty file."""
    return load("engineering/supply.toml", "recover-supply", _Supply)


def figure(limit_id: str) -> float:
    """Return the number that holds in every country."""
    return next(limit.value for limit in supply_data().limit if limit.id == limit_id)


def checked(where: str, value: float, unit: str, *, zero: bool = False) -> float:
    """Return a number that is finite and above nought, or nought too where `zero` says so. Raises QuantityError."""
    if not isfinite(value) or value < 0 or (value == 0 and not zero):
        raise QuantityError(where, f"{value:g} {unit}", f"{'nought or more' if zero else 'more than nought'} {unit}")
    return value


# ---------------------------------------------------------------------------------------- currents


def current_a(kw: float, volts: float, phases: Literal[1, 3]) -> float:
    """Return the current in each line [A]: I = P / U, or P / (sqrt(3) U) with U between lines. Raises QuantityError.

    >>> round(current_a(7.2, 230, 1), 2), round(current_a(15, 400, 3), 2)
    (31.3, 21.65)
    """
    if phases not in (1, 3):
        raise QuantityError("phases", str(phases), "1 or 3")
    across = sqrt(3) if phases == 3 else 1.0
    return checked("power", kw, "kW") * 1000 / (across * checked("voltage", volts, "V"))


def plate_power_kw(volts: float, amps: float, phases: Literal[1, 3]) -> float:
    """Return the power [kW] that volts and line current of a plate call for: the inverse of `current_a`.

    >>> round(plate_power_kw(230, 31.3, 1), 1), round(plate_power_kw(400, 21.65, 3), 1)
    (7.2, 15.0)
    """
    return checked("current", amps, "A") / current_a(1.0, volts, phases)


def line_to_earth_volts(profile: str, between_lines: float | None = None) -> float:
    """Return the voltage of a line to earth [V]: the country's usual one.

    A kiln on more than twice as much (480 V in the United States) is on a star of its own: U / sqrt(3). Raises
    QuantityError.

    >>> [line_to_earth_volts("us", volts) for volts in (None, 208, 240)], round(line_to_earth_volts("us", 480))
    ([120.0, 120.0, 120.0], 277)
    """
    usual = country(profile).figure("volts_to_earth")
    across = 0.0 if between_lines is None else checked("voltage", between_lines, "V")
    return across / sqrt(3) if across > 2 * usual * _NEAR else usual


# ---------------------------------------------------------------------------------------- ratings


def next_rating_a(current: float, profile: str) -> float | None:
    """Return the least standard rating [A] of the device before a kiln; None beyond the list: the electrician's.

    Rating >= factor x current: 1.25 in the United States, where a firing of three hours or more is a continuous load,
    1 elsewhere. A plate or instructions that name a device go before it. Raises QuantityError.

    >>> next_rating_a(48, "us"), next_rating_a(31.3, "uk"), next_rating_a(64, "eu")
    (60.0, 32.0, None)
    """
    needed = country(profile).figure("load_factor") * checked("current", current, "A")
    return _least(country(profile).ratings.amps, needed)


def must_subdivide(current: float, profile: str) -> bool:
    """Say whether a printed rule divides elements that draw so much [A] into circuits. Raises QuantityError."""
    rule = country(profile).find("subdivide_above_a")
    return checked("current", current, "A") > (rule.value if rule else inf) * (1 + 1e-9)


def contactor_rating_a(current: float) -> float | None:
    """Return the least AC-1 rating [A] with a quarter in hand, at the enclosure's temperature; None beyond the steps.

    The AC-3 rating, for motors, is another number and lower. Raises QuantityError.
    """
    return _least(supply_data().contactor.steps_a, figure("contactor_factor") * checked("current", current, "A"))


def _least(steps: Iterable[float], needed: float) -> float | None:
    return min((step for step in steps if step >= needed * (1 - 1e-9)), default=None)


# ---------------------------------------------------------------------------------------- cables


def capacity_a(size: str, loaded: Literal[2, 3]) -> float | None:
    """Return the least that the tables for referral let a conductor carry [A]: `6` for mm², `awg_10` for a gauge.

    None for a size that stands in none of them.

    >>> capacity_a("6", 3), capacity_a("awg_10", 2), capacity_a("1", 2)
    (36.0, 30.0, None)
    """
    unit, number = ("AWG" if size.startswith("awg_") else "mm²"), float(size.removeprefix("awg_"))
    tables = [cable for cable in supply_data().cable if cable.unit == unit]
    fitting = [cable for cable in tables if cable.loaded in (0, loaded) and number in cable.sizes]
    return min((cable.amps[cable.sizes.index(number)] for cable in fitting), default=None)
