"""Insulation resistance: one reading beside limit and gate, the shape of a dry-out series, and windings.

No published limit was made for wet firebrick, and published ones differ a hundredfold. What a country prints and what
this project lets begin are therefore two judgements side by side. The steps are those of the ladder table of the rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import exp, isfinite
from statistics import median
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.engineering.leakage import bound_ma
from recover.engineering.supply import checked, line_to_earth_volts
from recover.profiles import Limit, limits, own_limits
from recover.profiles import profile as country

LadderStep = Literal["entry", "electrician_only", "external_only", "fault_search"]
Joined = Literal["full", "reduced", "other"]
CourseState = Literal["cold", "falling", "minimum", "rising", "plateau"]
Insulant = Literal["thermoplastic", "thermosetting"]
CircuitKind = Literal["mains", "extra_low"]
NoReading = Literal["no_limit", "not_shown"]
"""Why a reading neither passes nor fails: nothing is printed, or it was taken below the voltage of the limit."""

ZERO_DEGC_K = 273.0
WINDING_BASE_DEGC = 40.0


@dataclass(frozen=True)
class Judgement:
    """One reading of the elements to the casing [Mohm, V].

    `limit` is what is printed for such a kiln in that country, None where nothing is. `passes_limit` is None where
    nothing is printed, and where a reading passes at a lower voltage than the limit is printed for. `step` is the
    ladder's, `next_step` the name of a sentence, `leakage_bound_ma` V/R at the country's volts to earth.
    """

    megohm: float
    test_volts: float
    limit: Limit | None
    passes_limit: bool | None
    gate_megohm: float
    step: LadderStep
    next_step: str
    leakage_bound_ma: float

    @property
    def limit_megohm(self) -> float | None:
        """The printed limit [Mohm]; None where none is printed."""
        return None if self.limit is None else self.limit.value

    @property
    def open_because(self) -> NoReading | None:
        """Why `passes_limit` is None; None where it is not."""
        if self.passes_limit is not None:
            return None
        return "no_limit" if self.limit is None else "not_shown"

    @property
    def passes_gate(self) -> bool:
        """Whether the reading reaches this project's own entry."""
        return self.megohm >= self.gate_megohm


@dataclass(frozen=True)
class CircuitJudgement:
    """A reading of wiring alone beside the limit of its country; None where none is printed, as in `Judgement`."""

    limit: Limit | None
    passes_limit: bool | None


@dataclass(frozen=True)
class _Reading:
    """One reading of a dry-out: hours since the first, insulation resistance [Mohm], temperature of the face [°C]."""

    hours: float
    megohm: float
    face_degc: float


@dataclass(frozen=True)
class HeatingStop:
    """A reading at which heating stops; `sentence` names what is said."""

    hours: float
    reason: Literal["below_floor", "fell_after_rise"]

    @property
    def sentence(self) -> str:
        """The name of the sentence."""
        return f"stop_{self.reason}"


@dataclass(frozen=True)
class DryingCourse:
    """Where a series stands, the least reading so far [Mohm], and every stop in it."""

    state: CourseState
    minimum_megohm: float
    stops: tuple[HeatingStop, ...]


@dataclass(frozen=True)
class InsulationData:
    """The whole of `insulation.toml`."""

    limit: list[Limit]
    sentence: dict[str, str]


@cache
def insulation_data() -> InsulationData:
    """Return what `insulation.toml` holds. Raises DataError on a faulty file."""
    return load("engineering/insulation.toml", "recover-insulation", InsulationData)


def sentence(name: str) -> str:
    """Return a sentence by its name."""
    return insulation_data().sentence[name]


@cache
def _figure(limit_id: str) -> float:
    return next(limit.value for limit in insulation_data().limit if limit.id == limit_id)


# ---------------------------------------------------------------------------------------- one reading


def judge(
    megohm: float,
    test_volts: float | None,
    kw: float | None,
    profile: str,
    joined: Joined = "full",
    volts_to_earth: float | None = None,
) -> Judgement:
    """Judge one cold reading of the elements to the casing, all lives joined unless `joined` says otherwise.

    A kiln of unknown power has no allowance. `volts_to_earth` [V] is the country's usual one where it is not given; a
    kiln on 480 V in the United States has 277 V. Raises QuantityError for negative ohms and for a reading without a
    test voltage: one at 50 V and one at 500 V are different readings.
    """
    volts = _test_volts(test_volts)
    value = checked("insulation resistance", megohm, "Mohm", zero=True)
    bound = bound_ma(line_to_earth_volts(profile) if volts_to_earth is None else volts_to_earth, value * 1000)
    limit, step = published_limit(kw, profile), _step(value, kw, profile, joined)
    passes = _passes(value, volts, limit, _figure("limit_volts"))
    next_step = _next_step(step, volts, joined)
    return Judgement(value, volts, limit, passes, limits(profile)["element_entry_megohm"], step, next_step, bound)


def published_limit(kw: float | None, profile: str) -> Limit | None:
    """Return the limit that is printed for a heating appliance of this power; None where none is.

    Where the milder figure begins at a power (uk: above 3 kW), smaller and unknown ones have the general figure.
    """
    if kw is not None:
        checked("power", kw, "kW")
    allowance = country(profile).find("heating_allowance_kw")
    begins_at_a_power = allowance is not None and allowance.source and not _above(kw, allowance.value)
    return country(profile).find(f"{'general' if begins_at_a_power else 'appliance'}_insulation_megohm")


def judge_circuit(
    megohm: float, test_volts: float | None, profile: str, circuit: CircuitKind = "mains"
) -> CircuitJudgement:
    """Judge a reading of wiring alone, elements and electronics disconnected; mains means up to 500 V.

    Raises QuantityError as `judge` does.
    """
    value, volts = checked("insulation resistance", megohm, "Mohm", zero=True), _test_volts(test_volts)
    limit = country(profile).find("wiring_insulation_megohm" if circuit == "mains" else "extra_low_insulation_megohm")
    needed = _figure("limit_volts" if circuit == "mains" else "extra_low_volts")
    return CircuitJudgement(limit, _passes(value, volts, limit, needed))


def _test_volts(test_volts: float | None) -> float:
    if test_volts is None:
        raise QuantityError("test voltage", "none", "the test voltage of the reading in V")
    return checked("test voltage", test_volts, "V")


def _above(kw: float | None, bound: float) -> bool:
    return kw is not None and kw > bound


def _passes(megohm: float, volts: float, limit: Limit | None, limit_volts: float) -> bool | None:
    if limit is None:
        return None
    if megohm < limit.value:
        return False
    return True if volts >= limit_volts else None


def _step(megohm: float, kw: float | None, profile: str, joined: Joined) -> LadderStep:
    numbers = limits(profile)
    if megohm < numbers["element_floor_megohm"]:
        return "fault_search"
    if megohm < numbers["element_low_megohm"] or joined != "full":
        return "external_only"
    if megohm < numbers["element_entry_megohm"]:
        return "electrician_only" if _above(kw, numbers["heating_allowance_kw"]) else "external_only"
    return "entry"


def _next_step(step: LadderStep, volts: float, joined: Joined) -> str:
    if joined != "full" and step != "fault_search":
        return "read_in_full"
    if step in ("entry", "electrician_only") and volts < _figure("limit_volts"):
        return "read_at_limit_volts"
    return step


# ---------------------------------------------------------------------------------------- a series of readings


def without_corrections(readings: Sequence[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """Return readings (hours, Mohm, °C) with each that was taken anew within half an hour left out."""
    closest_h = _figure("series_minutes") / 60
    kept = [before for before, after in pairwise(readings) if after[0] - before[0] >= closest_h]
    return [*kept, *readings[-1:]]


def falling(megohms: Sequence[float]) -> bool:
    """Say whether the last of the cold readings of a day [Mohm] lies clearly below any before it.

    Clearly is more than the share by which a fall stops a heating. Our own rule: an entry is not taken on a way down.

    >>> falling([8.0, 1.1]), falling([8.0, 1.1, 1.2]), falling([1.5, 1.1])
    (True, True, False)
    """
    return any(megohms[-1] < (1 - _figure("fall_share")) * before for before in megohms[:-1])


def shape(readings: Sequence[tuple[float, float, float]]) -> DryingCourse:
    """Return where a dry-out stands, from readings (hours, Mohm, °C of the face) at one point, in order of time.

    A series starts cold, falls as the lining warms, passes a minimum, rises, and ends in a plateau: at least 3 readings
    over 4 h, the face within 10 K and each reading within 10 % of the median, all at 5 times the minimum or more. It
    stops below the abort floor, and on a fall of more than 30 % after the rise, which starts the search anew. All these
    numbers are ours. Raises QuantityError for an empty or unordered series and for a face at 800 °C or more.
    """
    series = _checked_series(readings)
    floor_megohm = own_limits()["element_floor_megohm"].value
    stops = [HeatingStop(one.hours, "below_floor") for one in series if one.megohm < floor_megohm]
    state: CourseState = "cold"
    highest = lowest = series[0].megohm
    for one in series[1:]:
        if state == "rising" and one.megohm < (1 - _figure("fall_share")) * highest:
            stops.append(HeatingStop(one.hours, "fell_after_rise"))
            state, highest, lowest = "falling", one.megohm, one.megohm
            continue
        state = _next_state(state, one.megohm, highest, lowest)
        lowest = min(lowest, one.megohm)
        highest = max(highest, one.megohm) if state in ("cold", "rising") else one.megohm
    least = min(one.megohm for one in series)
    if state == "rising" and _ends_level(series, least):
        state = "plateau"
    return DryingCourse(state, least, tuple(sorted(stops, key=lambda stop: stop.hours)))


def _next_state(state: CourseState, megohm: float, highest: float, lowest: float) -> CourseState:
    """Return the state after one more reading; a change within the band of the plateau is none."""
    band = _figure("plateau_band")
    if state == "rising" or megohm > (1 + band) * lowest:
        return "rising"
    if state == "cold":
        return "falling" if megohm < (1 - band) * highest else "cold"
    return "falling" if megohm < lowest else "minimum"


def _ends_level(series: Sequence[_Reading], least: float) -> bool:
    fewest = int(_figure("plateau_readings"))
    return any(_level(series[start:], least) for start in range(len(series) - fewest + 1))


def _level(tail: Sequence[_Reading], least: float) -> bool:
    middle, warmth = median(one.megohm for one in tail), median(one.face_degc for one in tail)
    return tail[-1].hours - tail[0].hours >= _figure("plateau_hours") and all(
        abs(one.megohm - middle) <= _figure("plateau_band") * middle * (1 + 1e-9)
        and abs(one.face_degc - warmth) <= _figure("plateau_kelvin")
        and one.megohm >= _figure("plateau_rise") * least
        for one in tail
    )


def _checked_series(readings: Sequence[tuple[float, float, float]]) -> list[_Reading]:
    series = [_Reading(*reading) for reading in readings]
    if not series:
        raise QuantityError("readings", "none", "at least one")
    for one in series:
        checked("insulation resistance", one.megohm, "Mohm", zero=True)
        if not isfinite(one.hours) or not -50 <= one.face_degc < _figure("conducts_degc"):
            raise QuantityError(
                "reading", f"{one.hours:g} h, {one.face_degc:g} °C", "a face below 800 °C, where water shows"
            )
    if any(not before.hours < after.hours for before, after in pairwise(series)):
        raise QuantityError("readings", "hours that do not rise", "readings in the order of time")
    return series


# ---------------------------------------------------------------------------------------- ratios and windings


def winding_factor(degc: float, insulant: Insulant) -> float:
    """Return K with R(40 °C) = K R(T), for windings only, 10 to 85 °C.

    Thermoplastic: K = 0.5^((40 - T)/10). Thermosetting: K = exp(-B (1/(T + 273) - 1/313)), B = 4230 K from
    40 °C, 1245 K below. From memory of IEEE 43-2013. It is no correction for brick. Raises
    QuantityError outside its validity.
    """
    low, high = _figure("winding_low_degc"), _figure("winding_high_degc")
    if not low <= degc <= high:
        raise QuantityError("winding", f"{degc:g} °C", f"{low:g} to {high:g} °C")
    if insulant == "thermoplastic":
        return float(0.5 ** ((WINDING_BASE_DEGC - degc) / _figure("thermoplastic_kelvin")))
    slope_k = _figure("thermosetting_warm_kelvin" if degc >= WINDING_BASE_DEGC else "thermosetting_cool_kelvin")
    return exp(-slope_k * (1 / (degc + ZERO_DEGC_K) - 1 / (WINDING_BASE_DEGC + ZERO_DEGC_K)))


def winding_megohm(megohm: float, degc: float, insulant: Insulant, base_degc: float = WINDING_BASE_DEGC) -> float:
    """Return a winding's reading referred to another temperature [Mohm]. Raises QuantityError.

    >>> winding_megohm(50, 20, "thermoplastic")
    12.5
    """
    reading = checked("insulation resistance", megohm, "Mohm", zero=True)
    return reading * winding_factor(degc, insulant) / winding_factor(base_degc, insulant)


def winding_minimum_megohm(kilovolts: float) -> float:
    """Return the old rule of the trade for a winding's least reading [Mohm]: 1 for each kilovolt, and 1.

    >>> winding_minimum_megohm(4.16)
    5.16
    """
    return checked("rated voltage", kilovolts, "kV") + _figure("winding_volts_free_megohm")
