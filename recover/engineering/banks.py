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

from recover.base.addresses import Connection
from recover.base.errors import QuantityError
from recover.engineering.elements import Alloy, ElementFinding, figures, finding_words, plate_factor, require_positive


@dataclass(frozen=True)
class Bank:
    """A bank by its plate, and as it stands with its open strings.

    Whole, as on the plate: `line_current_a`, `phase_hot_ohm`, `phase_cold_ohm`, `string_hot_ohm`, `element_hot_ohm`,
    `element_cold_ohm`.
    With the open strings: `phases_cold_ohm` one a phase, `terminal_cold_ohm` as a meter reads them (between lines in
    star and delta, line to neutral in star with neutral), `lines_a` one a line, `power_kw`.
    """

    connection: Connection
    line_current_a: float
    phase_hot_ohm: float
    phase_cold_ohm: float
    string_hot_ohm: float
    element_hot_ohm: float
    element_cold_ohm: float
    phases_cold_ohm: tuple[float, ...]
    terminal_cold_ohm: tuple[float, ...]
    lines_a: tuple[float, ...]
    power_kw: float


@dataclass(frozen=True)
class Circuit:
    """What one reading says: `rise` over the expected resistance as a share of one, open strings, and the words."""

    finding: ElementFinding
    rise: float
    open_strings: int
    because: str


@dataclass(frozen=True)
class Diagnosis:
    """What the readings of like circuits say together.

    `common_rise` is the wear that all share, `odd` the places (from 0) of the readings that differ from the median by
    more than 5 %. `measure_each`: the readings alone cannot tell an open string from wear, so measure every element.
    """

    circuits: tuple[Circuit, ...]
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
    alloy: str | Alloy = "fecral_22_58",
) -> Bank:
    """Return a bank of equal elements from its plate: volts between lines (or conductors), total kW, hot.

    `strings` and `series` count within each phase. `open_strings` is a number of open strings, all in the first phase,
    or one number for each phase. Phase, hot: U²/P (single, star, star with neutral), 3 U²/P (delta). Element: phase
    times strings over series. Raises QuantityError, also where more strings are open than there are.
    """
    _require_plate(volts, kw)
    _require_counts(strings, series)
    broken = _open_of_each(connection, strings, open_strings)
    hot_ohm, factor = (3 if connection == "delta" else 1) * volts**2 / (kw * 1000), plate_factor(alloy)
    siemens = [(strings - count) / strings / hot_ohm for count in broken]
    cold = tuple(_ohm(value * factor) for value in siemens)
    lines = _line_currents(connection, volts, siemens)
    return Bank(
        connection=connection,
        line_current_a=abs(_line_currents(connection, volts, [1 / hot_ohm] * len(broken))[0]),
        phase_hot_ohm=hot_ohm,
        phase_cold_ohm=hot_ohm / factor,
        string_hot_ohm=hot_ohm * strings,
        element_hot_ohm=hot_ohm * strings / series,
        element_cold_ohm=hot_ohm * strings / series / factor,
        phases_cold_ohm=cold,
        terminal_cold_ohm=terminal_ohm(connection, cold),
        lines_a=tuple(abs(line) for line in lines),
        power_kw=_power_kw(connection, volts, lines),
    )


def terminal_ohm(connection: Connection, phases_ohm: Sequence[float]) -> tuple[float, ...]:
    """Return what a meter reads at the terminals of phases of these resistances; `inf` where it is open.

    Star: two phases in a row. Delta: one branch beside the two others in a row. Otherwise each phase alone.
    """
    if connection in ("single", "star_neutral"):
        return tuple(phases_ohm)
    first, second, third = phases_ohm
    if connection == "star":
        return first + second, second + third, third + first
    return _beside(first, second + third), _beside(second, third + first), _beside(third, first + second)


def phase_ohm(connection: Connection, readings_ohm: Sequence[float]) -> tuple[float, ...]:
    """Return the phases from readings at the terminals, the inverse of `terminal_ohm`. Raises QuantityError."""
    if connection in ("single", "star_neutral"):
        _require_readings(readings_ohm, None if connection == "single" else 3)
        return tuple(readings_ohm)
    return star(readings_ohm) if connection == "star" else delta(readings_ohm)


def star(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    """Return the phases L1, L2, L3 of a star from readings L1-L2, L2-L3, L3-L1: r1 = (m12 + m31 - m23) / 2.

    Two open readings: the phase that both share is open; the two others are known by their sum, and halved. Raises
    QuantityError where no star can read so.
    """
    _require_readings(readings_ohm, 3)
    if any(isinf(reading) for reading in readings_ohm):
        return _open_star(readings_ohm)
    arms = _arms(readings_ohm)
    if min(arms) <= 0:
        raise QuantityError("readings", _show(readings_ohm), "each to be less than the two others together")
    return arms


def delta(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    """Return the branches L1-L2, L2-L3, L3-L1 of a delta from the three readings between lines.

    By the star that reads the same, R12 = (r1 r2 + r2 r3 + r3 r1) / r3. A reading that equals the two others together
    means that its branch is open. Raises QuantityError where a reading is larger than that, or the pattern of open
    readings cannot be.
    """
    _require_readings(readings_ohm, 3)
    if any(isinf(reading) for reading in readings_ohm):
        return _isolated_delta(readings_ohm)
    least = figures().meter_share.value * max(readings_ohm)
    first, second, third = (0.0 if -least <= arm <= 1e-9 * least else arm for arm in _arms(readings_ohm))
    if min(first, second, third) < 0:
        raise QuantityError("readings", _show(readings_ohm), "none larger than the two others together")
    product = first * second + second * third + third * first
    return _over(product, third), _over(product, first), _over(product, second)


def element_ohm(
    connection: Connection, readings_ohm: Sequence[float], strings: int = 1, series: int = 1
) -> tuple[float, ...]:
    """Return the mean element of each phase from readings at the terminals, as if no string were open."""
    _require_counts(strings, series)
    return tuple(ohm * strings / series for ohm in phase_ohm(connection, readings_ohm))


def diagnose(readings_ohm: Sequence[float], expected_ohm: float, strings: int = 1) -> Diagnosis:
    """Return what cold readings of like circuits say: phases, banks, or elements measured alone (`strings=1`).

    A rise that all share is wear, up to 15 %. Beyond that the lowest reading is the yardstick, then the expected
    resistance. A reading that is not like its yardstick by n / (n - k) has k open strings of n; a string that has risen
    by half counts as open. Readings between lines must be turned into phases first (`phase_ohm`). Raises QuantityError.
    """
    require_positive("expected resistance", expected_ohm, "ohm")
    _require_counts(strings, 1)
    _require_readings(readings_ohm)
    ratios = [reading / expected_ohm for reading in readings_ohm]
    like = _yardstick(ratios)
    circuits = tuple(_circuit(ratio, like, strings) for ratio in ratios)
    unclear = like - 1 > figures().measure_each_rise.value or strings >= figures().measure_each_strings.value
    return Diagnosis(circuits, sum(circuit.open_strings for circuit in circuits), odd_ones(readings_ohm), like - 1,
                     unclear and strings > 1)  # fmt: skip


def odd_ones(readings_ohm: Sequence[float]) -> tuple[int, ...]:
    """Return the places (from 0) of the readings that differ from their median by more than 5 % of it.

    No plate is needed. The median is that of the closed readings: an open one is always odd beside a closed one.
    Raises QuantityError.
    """
    _require_readings(readings_ohm)
    middle = _middle(readings_ohm)
    return tuple(place for place, reading in enumerate(readings_ohm) if _differs(reading, middle))


def plate_only_band(volts: float, kw: float, connection: Connection = "single") -> tuple[float, float]:
    """Return the least and the most [ohm] that a whole bank may read cold, where only its plate is known.

    From 0.95/1.05 to 1/0.90 of the plate's resistance: power within +5 and -10 %, hot or cold not said. Three phase:
    the reading between lines, 2 U²/P; with neutral the reading to it, U²/P. Raises QuantityError.

    >>> [round(ohm, 2) for ohm in plate_only_band(230, 9)]
    [5.32, 6.53]
    """
    _require_plate(volts, kw)
    plate_ohm = (2 if connection in ("star", "delta") else 1) * volts**2 / (kw * 1000)
    known = figures()
    return plate_ohm * known.cold_over_hot.value / known.power_high.value, plate_ohm / known.power_low.value


def power_at_kw(kw: float, plate_volts: float, volts: float) -> float:
    """Return the power at another voltage: P (U/U0)². Raises QuantityError.

    >>> round(power_at_kw(100, 240, 208), 1)
    75.1
    """
    _require_plate(plate_volts, kw)
    require_positive("voltage", volts, "V")
    return kw * (volts / plate_volts) ** 2


def joint_w(ohm: float, amps: float) -> float:
    """Return the heat [W] in a poor joint: I² R."""
    require_positive("joint", ohm, "ohm")
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
    phases = 1 if connection == "single" else 3
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


def _beside(one: float, other: float) -> float:
    return _ohm(1 / one + 1 / other)


def _over(product: float, arm: float) -> float:
    return product / arm if arm else inf


def _arms(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    first, second, third = readings_ohm
    return (first + third - second) / 2, (first + second - third) / 2, (second + third - first) / 2


def _open_star(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    closed = _only_closed(readings_ohm)
    if closed is None:
        raise QuantityError("readings", "none is closed", "one at least, or each phase measured to the star point")
    phases = [readings_ohm[closed] / 2] * 3
    phases[(closed + 2) % 3] = inf
    return phases[0], phases[1], phases[2]


def _isolated_delta(readings_ohm: Sequence[float]) -> tuple[float, float, float]:
    _only_closed(readings_ohm)
    first, second, third = readings_ohm
    return first, second, third


def _only_closed(readings_ohm: Sequence[float]) -> int | None:
    """Return the place of the one closed reading, None if all are open. Raises QuantityError where two are closed."""
    closed = [place for place, reading in enumerate(readings_ohm) if not isinf(reading)]
    if len(closed) > 1:
        raise QuantityError("readings", _show(readings_ohm), "two open or three, since two closed join the third")
    return closed[0] if closed else None


def _middle(readings: Sequence[float]) -> float:
    return median([reading for reading in readings if not isinf(reading)] or readings)


def _yardstick(ratios: Sequence[float]) -> float:
    most = 1 + figures().wear_limit.value
    return next((ratio for ratio in (_middle(ratios), min(ratios)) if round(ratio, 9) <= most), 1.0)


def _circuit(ratio: float, like: float, strings: int) -> Circuit:
    count = _open_count(ratio / like, strings)
    finding = _finding(ratio, like, count)
    return Circuit(finding, ratio - 1, count, finding_words(finding))


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
        require_positive("reading", reading, "ohm", open_too=True)


def _require_plate(volts: float, kw: float) -> None:
    require_positive("voltage", volts, "V")
    require_positive("power", kw, "kW")


def _require_counts(strings: int, series: int) -> None:
    for where, count in (("strings side by side", strings), ("elements in a row", series)):
        if count < 1:
            raise QuantityError(where, str(count), "1 or more")
