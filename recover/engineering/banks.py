"""Banks of elements: how they are wired, what a meter shows at the terminals, and back to the elements.

A phase is one branch of a bank: the whole bank on a single phase, line to star point in star, line to line in delta.
Each phase has `strings` side by side, each of `series` elements in a row. Phases and readings come in the same order:
L1, L2, L3 in star; L1-L2, L2-L3, L3-L1 in delta and for every reading between lines. An open circuit reads `inf`.
"""

from __future__ import annotations

from cmath import rect
from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, inf, isinf, pi, sqrt
from statistics import median

from recover.base.errors import QuantityError
from recover.engineering.circuits import Connection, phases_of
from recover.engineering.elements import ElementFinding, figures, finding_words, plate_factor
from recover.engineering.supply import checked
from recover.profiles import own_limits


@dataclass(frozen=True, kw_only=True)
class Bank:
    """A bank by its plate, and as it stands with its open strings.

    Whole, as on the plate: `line_current_a`, `element_hot_ohm`, `element_cold_ohm`. With the open strings:
    `terminal_cold_ohm` as a meter reads it (between lines in star and delta, line to neutral in star with neutral),
    `power_kw`.
    """

    line_current_a: float
    element_hot_ohm: float
    element_cold_ohm: float
    terminal_cold_ohm: tuple[float, ...]
    power_kw: float


@dataclass(frozen=True)
class _Circuit:
    """What one reading says, how many strings of it are open, and the words."""

    finding: ElementFinding
    open_strings: int
    because: str


@dataclass(frozen=True, kw_only=True)
class _Diagnosis:
    """What the readings of like circuits say together.

    `common_rise` is the wear that all share, `odd` the places (from 0) of the readings that differ from the median by
    more than 5 %. `measure_each`: the readings alone cannot tell an open string from wear, so measure every element.
    """

    circuits: tuple[_Circuit, ...]
    open_strings: int
    odd: tuple[int, ...]
    common_rise: float
    measure_each: bool


def bank(
    connection: Connection,
    volts: float,
    kw: float,
    strings: int = 1,
    series: int = 1,
    open_strings: int | Sequence[int] = 0,
    alloy: str = "fecral_22_58",
) -> Bank:
    """Return a bank of equal elements from its plate: volts between lines (or conductors), total kW, hot.

    `strings` and `series` count within each phase. `open_strings` is a number of open strings, all in the first phase,
    or one number for each phase. Phase, hot: U²/P (single, star, star with neutral), 3 U²/P (delta). Element: phase
    times strings over series. Raises QuantityError, also where more strings are open than there are.
    """
    checked("voltage", volts, "V")
    checked("power", kw, "kW")
    for where, count in (("strings side by side", strings), ("elements in a row", series)):
        _require_count(where, count)
    broken = _open_of_each(connection, strings, open_strings)
    hot_ohm, factor = (3 if connection == "delta" else 1) * volts**2 / (kw * 1000), plate_factor(alloy)
    siemens = [(strings - count) / strings / hot_ohm for count in broken]
    return Bank(
        line_current_a=abs(_line_currents(connection, volts, [1 / hot_ohm] * len(broken))[0]),
        element_hot_ohm=hot_ohm * strings / series,
        element_cold_ohm=hot_ohm * strings / series / factor,
        terminal_cold_ohm=_terminal_ohm(connection, [_ohm(value * factor) for value in siemens]),
        power_kw=_power_kw(connection, volts, _line_currents(connection, volts, siemens)),
    )


def _terminal_ohm(connection: Connection, phases_ohm: Sequence[float]) -> tuple[float, ...]:
    """Return what a meter reads at the terminals of phases of these resistances; `inf` where it is open.

    Star: two phases in a row. Delta: one branch beside the two others in a row. Otherwise each phase alone.
    """
    if connection in ("single", "star_neutral"):
        return tuple(phases_ohm)
    first, second, third = phases_ohm
    if connection == "star":
        return first + second, second + third, third + first
    return _parallel(first, second + third), _parallel(second, third + first), _parallel(third, first + second)


def delta(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    """Return the branches L1-L2, L2-L3, L3-L1 of a delta from the three readings between lines.

    By the star that reads the same, R12 = (r1 r2 + r2 r3 + r3 r1) / r3. A reading that equals the two others together
    means that its branch is open. Raises QuantityError where a reading is larger than that, or the pattern of open
    readings cannot be.
    """
    _require_readings(readings_ohm, 3)
    first, second, third = readings_ohm
    missing = sum(map(isinf, readings_ohm))
    if missing == 1:
        raise QuantityError("readings", _show(readings_ohm), "two open or three, since two closed join the third")
    if missing:
        return first, second, third
    least = figures().meter_share.value * max(readings_ohm)
    first, second, third = (0.0 if -least <= arm <= 1e-9 * least else arm for arm in _arms(readings_ohm))
    if min(first, second, third) < 0:
        raise QuantityError("readings", _show(readings_ohm), "none larger than the two others together")
    product = first * second + second * third + third * first
    return _over(product, third), _over(product, first), _over(product, second)


def diagnose(readings_ohm: Sequence[float], expected_ohm: float, strings: int = 1) -> _Diagnosis:
    """Return what cold readings of like circuits say: phases, banks, or elements measured alone (`strings=1`).

    A rise that all share is wear, up to 15 %. Beyond that the lowest reading is the yardstick, then the expected
    resistance. A reading that is not like its yardstick by n / (n - k) has k open strings of n; a string that has risen
    by half counts as open. Readings between the lines of a delta must be turned into branches first (`delta`). Raises
    QuantityError.
    """
    checked("expected resistance", expected_ohm, "ohm")
    _require_count("strings side by side", strings)
    _require_readings(readings_ohm)
    ratios = [reading / expected_ohm for reading in readings_ohm]
    like = _yardstick(ratios)
    circuits = tuple(_circuit(ratio, like, strings) for ratio in ratios)
    unclear = like >= own_limits()["zone_look_ratio"].value or strings >= figures().measure_each_strings.value
    return _Diagnosis(
        circuits=circuits,
        open_strings=sum(circuit.open_strings for circuit in circuits),
        odd=odd_ones(readings_ohm),
        common_rise=like - 1,
        measure_each=unclear and strings > 1,
    )


def odd_ones(readings_ohm: Sequence[float]) -> tuple[int, ...]:
    """Return the places (from 0) of the readings that differ from their median by more than 5 % of it.

    No plate is needed. The median is that of the closed readings: an open one is always odd beside a closed one.
    Raises QuantityError.
    """
    _require_readings(readings_ohm)
    middle = _middle(readings_ohm)
    return tuple(place for place, reading in enumerate(readings_ohm) if _differs(reading, middle))


def joint_w(ohm: float, amps: float) -> float:
    """Return the heat [W] in a poor joint: I² R."""
    checked("joint", ohm, "ohm")
    return amps**2 * ohm


def poor_joints(readings_ohm: Sequence[float]) -> tuple[int, ...]:
    """Return the places (from 0) of joints to be made again: above 10 milliohms, or twice their median and more.

    Raises QuantityError.

    >>> poor_joints([0.002, 0.0021, 0.0022, 0.005, 0.011])
    (3, 4)
    """
    _require_readings(readings_ohm)
    most, like = figures().joint_ohm.value, figures().joint_spread.value * _middle(readings_ohm)
    return tuple(place for place, ohm in enumerate(readings_ohm) if ohm > most or ohm >= like)


def _open_of_each(connection: Connection, strings: int, given: int | Sequence[int]) -> list[int]:
    phases = phases_of(connection)
    counts = [given, *[0] * (phases - 1)] if isinstance(given, int) else list(given)
    if len(counts) != phases:
        raise QuantityError("open strings", f"{len(counts)} numbers", f"{phases}, one for each phase")
    for count in counts:
        if not 0 <= count <= strings:
            raise QuantityError("open strings", f"{count} in one phase", f"0 to {strings}")
    return counts


def _line_currents(connection: Connection, volts: float, siemens: Sequence[float]) -> list[complex]:
    """Return the current of each line as a phasor, for the conductance of each phase."""
    lines = _line_volts(connection, volts)
    if connection == "delta":
        branch = [(lines[at] - lines[(at + 1) % 3]) * siemens[at] for at in range(3)]
        return [branch[at] - branch[at - 1] for at in range(3)]
    middle = 0j
    if connection == "star" and sum(siemens) > 0:
        middle = sum((volt * value for volt, value in zip(lines, siemens, strict=True)), 0j) / sum(siemens)
    return [(volt - middle) * value for volt, value in zip(lines, siemens, strict=True)]


def _line_volts(connection: Connection, volts: float) -> list[complex]:
    if connection == "single":
        return [complex(volts)]
    return [rect(volts / sqrt(3), -2 * pi * at / 3) for at in range(3)]


def _power_kw(connection: Connection, volts: float, currents: Sequence[complex]) -> float:
    pairs = zip(_line_volts(connection, volts), currents, strict=True)
    return sum((volt * current.conjugate()).real for volt, current in pairs) / 1000


def _ohm(siemens: float) -> float:
    return 1 / siemens if siemens else inf


def _parallel(one: float, other: float) -> float:
    return _ohm(1 / one + 1 / other)


def _over(product: float, arm: float) -> float:
    return product / arm if arm else inf


def _arms(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    first, second, third = readings_ohm
    return (first + third - second) / 2, (first + second - third) / 2, (second + third - first) / 2


def _middle(readings: Sequence[float]) -> float:
    return median([reading for reading in readings if not isinf(reading)] or readings)


def _yardstick(ratios: Sequence[float]) -> float:
    most = own_limits()["element_reject_ratio"].value
    return next((ratio for ratio in (_middle(ratios), min(ratios)) if round(ratio, 9) <= most), 1.0)


def _circuit(ratio: float, like: float, strings: int) -> _Circuit:
    count = _open_count(ratio / like, strings)
    finding = _finding(ratio, like, count)
    return _Circuit(finding, count, finding_words(finding))


def _open_count(ratio: float, strings: int) -> int:
    if not _differs(ratio, 1.0):
        return 0
    missing = strings * (1 - 1 / ratio)
    failed = figures().string_failed_rise.value
    return max(0, floor(missing + 1 - failed / (1 + failed) + 1e-9))


def _finding(ratio: float, like: float, open_count: int) -> ElementFinding:
    if open_count:
        return "open_strings"
    if _differs(ratio, like):
        return "odd_high" if ratio > like else "odd_low"
    if not _differs(like, 1.0):
        return "as_expected"
    return "worn" if like > 1 else "low"


def _differs(value: float, middle: float) -> bool:
    if isinf(value) or isinf(middle):
        return value != middle
    return round(abs(value / middle - 1), 9) > figures().spread.value


def _show(readings_ohm: Sequence[float]) -> str:
    return ", ".join("open" if isinf(reading) else f"{reading:g}" for reading in readings_ohm) + " ohm"


def _require_readings(readings_ohm: Sequence[float], count: int | None = None) -> None:
    if not readings_ohm or len(readings_ohm) != (count or len(readings_ohm)):
        raise QuantityError("readings", f"{len(readings_ohm)} given", f"{count or 'at least 1'}")
    for reading in readings_ohm:
        if reading != inf:
            checked("reading", reading, "ohm")


def _require_count(where: str, count: int) -> None:
    if count < 1:
        raise QuantityError(where, str(count), "1 or more")
