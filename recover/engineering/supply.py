"""What a kiln draws and what carries it: currents, standard ratings, contactors, and cables as a help to referral.

All sums are for resistive loads at rated voltage unless they say otherwise. A country's numbers stand in its profile;
`supply.toml` holds those of every country, with their authority, and this file is the door to them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from math import ceil, isfinite, sqrt
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.profiles import Limit
from recover.profiles import profile as country

Unit = Literal["mm²", "AWG"]
"""In which conductors are sized."""

CopperClass = Literal["solid_or_stranded", "flexible"]
"""Class 1 or 2 of fixed wiring; class 5 of cords."""

_NEAR = 1.1
"""Voltages on plates of one supply differ by less than this: 230 and 240, 400 and 415, 440 and 480 do."""


@dataclass(frozen=True, kw_only=True)
class _Contactor(Authority):
    """The AC-1 ratings that contactors are made in [A]."""

    steps_a: list[float]


@dataclass(frozen=True, kw_only=True)
class _Copper(Authority):
    """Resistance of copper conductors at a temperature [ohm/km], by size, for one class or for both."""

    of: list[CopperClass]
    unit: Unit
    degc: float
    sizes: list[float]
    ohm_per_km: list[float]


@dataclass(frozen=True, kw_only=True)
class _Protected(Authority):
    """The largest device [A] that a code lets stand before a conductor, by size, whatever a table lets it carry."""

    unit: Unit
    sizes: list[float]
    amps: list[float]


@dataclass(frozen=True, kw_only=True)
class Cable(Authority):
    """Current-carrying capacity [A] by size, thinnest first, at 30 °C in air and one circuit.

    `copper` tells cords from fixed wiring, `degc` is the conductor's temperature under that current. `loaded`
    conductors carry current; 0 where the table holds for two and for three.
    """

    id: str
    label: str
    copper: CopperClass
    degc: float
    loaded: Literal[0, 2, 3]
    unit: Unit
    sizes: list[float]
    amps: list[float]

    @property
    def bears_a(self) -> list[float]:
        """The largest device [A] before each size: what the size carries, or less where a code lets it be no more."""
        most = {size: amps for row in supply_data().protected if row.unit == self.unit
                for size, amps in zip(row.sizes, row.amps, strict=True)}  # fmt: skip
        return [min(amps, most.get(size, amps)) for size, amps in zip(self.sizes, self.amps, strict=True)]

    def thinnest(self, rating: float) -> float | None:
        """Return the size of the thinnest cable that bears a device of a rating [A]; None beyond the table.

        A help for the talk with an electrician, never a sizing.
        """
        borne = _least(self.bears_a, rating)
        return None if borne is None else self.sizes[self.bears_a.index(borne)]


@dataclass(frozen=True, kw_only=True)
class _Supply:
    """The whole of `supply.toml`."""

    limit: list[Limit]
    contactor: _Contactor
    copper: list[_Copper]
    protected: list[_Protected]
    cable: list[Cable]
    sentence: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class Division:
    """A country's rule that divides elements which draw much: the least number of circuits; 1: not called for.

    Each draws at most `rule` [A], behind a device of at most `device_a` [A].
    """

    rule: Limit
    device_a: float
    circuits: int

    @property
    def called_for(self) -> bool:
        """Whether the rule divides these."""
        return self.circuits > 1


@dataclass(frozen=True, kw_only=True)
class Conductor:
    """The thinnest of a table that bears a device's rating: None beyond the table, else what it carries and bears [A].

    `begins`: its table begins with it, and it bears more than was asked, so that a thinner one might do.

    Its volt drop [V, and % of the kiln's voltage] is at the conductor's temperature under full load, so rather too
    large; None where no length was given.
    """

    cable: Cable
    size: float | None
    carries_a: float | None = None
    bears_a: float | None = None
    begins: bool = False
    drop_v: float | None = None
    drop_percent: float | None = None


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What a kiln draws in each line [A], and what is put before each of its circuits: device, contactor, conductors.

    `circuits` are as many equal ones as the country's rule calls for; one, the whole kiln, where it calls for none.
    The ratings [A] are None beyond their steps, and without a device there are no conductors for it. `division` is None
    where no rule divides elements.
    """

    current_a: float
    division: Division | None
    circuits: int
    rating_a: float | None
    contactor_a: float | None
    conductors: list[Conductor]

    @property
    def circuit_a(self) -> float:
        """What each circuit draws in each line [A]."""
        return self.current_a / self.circuits


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


def division(current: float, profile: str) -> Division | None:
    """Return what a printed rule makes of elements that draw so much [A]; None where the country prints none.

    Raises QuantityError.

    >>> [found and found.circuits for found in (division(48, "us"), division(48.1, "us"), division(97, "uk"))]
    [1, 2, None]
    """
    amps, rule = checked("current", current, "A"), country(profile).find("subdivide_above_a")
    if rule is None:
        return None
    circuits = ceil(amps / rule.value * (1 - 1e-9))
    return Division(rule=rule, device_a=country(profile).figure("subdivided_device_a"), circuits=circuits)


def contactor_rating_a(current: float) -> float | None:
    """Return the least AC-1 rating [A] with a quarter in hand, at the enclosure's temperature; None beyond the steps.

    The AC-3 rating, for motors, is another number and lower. Raises QuantityError.
    """
    return _least(supply_data().contactor.steps_a, figure("contactor_factor") * checked("current", current, "A"))


def _least(steps: Iterable[float], needed: float) -> float | None:
    return min((step for step in steps if step >= needed * (1 - 1e-9)), default=None)


# ---------------------------------------------------------------------------------------- cables


def conductor_ohm(length_m: float, size: float, copper: CopperClass, unit: Unit = "mm²", degc: float = 20.0) -> float:
    """Return the resistance [ohm] of a copper conductor at a temperature, one way.

    R = r L (234.5 + t) / (234.5 + t of the table). Raises QuantityError for other sizes.

    >>> round(conductor_ohm(10, 1.5, "flexible"), 3), round(conductor_ohm(10, 10, "flexible", "AWG", 75), 4)
    (0.133, 0.0407)
    """
    row = next(row for row in supply_data().copper if row.unit == unit and copper in row.of)
    if size not in row.sizes:
        sizes = ", ".join(f"{one:g}" for one in row.sizes)
        raise QuantityError("conductor", f"{size:g} {unit}", f"one of {sizes} {unit}")
    ohm = checked("length", length_m, "m", zero=True) / 1000 * row.ohm_per_km[row.sizes.index(size)]
    return ohm * (figure("copper_zero_k") + degc) / (figure("copper_zero_k") + row.degc)


def bears_a(size: str, loaded: Literal[2, 3], *, cord: bool = False) -> float | None:
    """Return the largest device [A] that every table for referral lets a conductor bear: `6` mm², `awg_10` a gauge.

    By those of fixed wiring, and by those of cords where it may be a `cord` or no fixed wiring is so thin. None for a
    size that stands in none.

    >>> bears_a("4", 2), bears_a("4", 2, cord=True), bears_a("1.5", 2), bears_a("0.5", 2), bears_a("awg_14", 2)
    (32.0, 30.0, 16.0, None, 15.0)
    """
    number = float(size.removeprefix("awg_"))
    tables = _tables("AWG" if size.startswith("awg_") else "mm²", loaded)
    fitting = [one for one in tables if number in one.sizes]
    fixed = [one for one in fitting if one.copper != "flexible"]
    counted = fitting if cord or not fixed else fixed
    return min((one.bears_a[one.sizes.index(number)] for one in counted), default=None)


def _tables(unit: Unit, loaded: Literal[2, 3]) -> list[Cable]:
    return [cable for cable in supply_data().cable if cable.unit == unit and cable.loaded in (0, loaded)]


# ---------------------------------------------------------------------------------------- all of it


def supply(kw: float, volts: float, phases: Literal[1, 3], profile: str, length_m: float | None = None) -> Supply:
    """Return what a kiln of so much power [kW, V] draws, and what a country's rules and tables put before it.

    Where a rule divides the elements, what is put before each circuit is for its share. With a length [m] of cable or
    cord, their volt drop: resistance alone, which is enough up to 25 mm². Raises QuantityError.

    >>> found = supply(7.2, 230, 1, "uk", length_m=5)
    >>> found.rating_a, [(one.cable.id, one.size) for one in found.conductors][:2]
    (32.0, [('pvc_clipped_two', 4.0), ('pvc_conduit_two', 4.0)])
    """
    amps = current_a(kw, volts, phases)
    divided = division(amps, profile)
    circuits = divided.circuits if divided else 1
    rating = next_rating_a(amps / circuits, profile)
    tables = _tables("AWG" if country(profile).imperial else "mm²", 3 if phases == 3 else 2)
    return Supply(
        current_a=amps,
        division=divided,
        circuits=circuits,
        rating_a=rating,
        contactor_a=contactor_rating_a(amps / circuits),
        conductors=[] if rating is None else [
            _dropping(_thinnest(cable, rating), amps / circuits, volts, phases, length_m) for cable in tables
        ],
    )  # fmt: skip


def _thinnest(cable: Cable, rating: float) -> Conductor:
    """Return the thinnest conductor of a table for a device's rating [A]."""
    size = cable.thinnest(rating)
    if size is None:
        return Conductor(cable=cable, size=None)
    at = cable.sizes.index(size)
    bears, begins = cable.bears_a[at], at == 0 and cable.bears_a[at] > rating
    return Conductor(cable=cable, size=size, carries_a=cable.amps[at], bears_a=bears, begins=begins)


def _dropping(found: Conductor, amps: float, volts: float, phases: Literal[1, 3], length_m: float | None) -> Conductor:
    """Return a conductor with its volt drop: 2 I R, or sqrt(3) I R between lines, of a load without reactance."""
    if found.size is None or length_m is None:
        return found
    ohm = conductor_ohm(length_m, found.size, found.cable.copper, found.cable.unit, found.cable.degc)
    drop = (sqrt(3) if phases == 3 else 2) * amps * ohm
    return replace(found, drop_v=drop, drop_percent=100 * drop / volts)
