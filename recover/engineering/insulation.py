"""Insulation resistance: one reading beside limit and entry, and the shape of a dry-out series.

No published limit was made for wet firebrick, and published ones differ a hundredfold. What a country prints and what
this project lets begin are therefore two judgements side by side. The steps are those of the ladder table of the rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import inf, isfinite
from statistics import median
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.engineering.supply import checked, line_to_earth_volts
from recover.profiles import Limit, limits, own_limits
from recover.profiles import profile as country

LadderStep = Literal["entry", "electrician_only", "external_only", "fault_search"]
Joined = Literal["full", "reduced", "other"]
CourseState = Literal["cold", "falling", "minimum", "rising", "plateau"]
CircuitKind = Literal["mains", "extra_low"]
NoReading = Literal["no_limit", "not_shown"]
"""Why a reading neither passes nor fails: nothing is printed, or it was taken below the voltage of the limit."""


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """One reading of the elements to the casing, beside limit and entry [Mohm].

    `limit` is what is printed for such a kiln in that country, None where nothing is. `passes_limit` is None where
    nothing is printed, and where a reading passes at a lower voltage than the limit is printed for. `step` is the
    ladder's, `next_step` the name of a sentence, `leakage_bound_ma` V/R at the country's volts to earth.
    """

    limit: Limit | None
    passes_limit: bool | None
    entry_megohm: float
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


@dataclass(frozen=True)
class _Reading:
    """One reading of a dry-out: hours since the first, insulation resistance [Mohm], temperature of the face [°C]."""

    hours: float
    megohm: float
    face_degc: float


@dataclass(frozen=True)
class _Stop:
    """A reading at which heating stops; `sentence` names what is said."""

    hours: float
    reason: Literal["below_abort", "fell_after_rise"]

    @property
    def sentence(self) -> str:
        """The name of the sentence."""
        return f"stop_{self.reason}"


@dataclass(frozen=True)
class _Course:
    """Where a series stands, the least reading so far [Mohm], and every stop in it."""

    state: CourseState
    minimum_megohm: float
    stops: tuple[_Stop, ...]


@dataclass(frozen=True)
class _File:
    limit: list[Limit]
    sentence: dict[str, str]


def bound_ma(volts_to_earth: float, kohm: float) -> float:
    """Return the most that can leak [mA] through an insulation resistance [kohm], all lives joined: V / R.

    Use it for every entry. Without end at nought ohms. Raises QuantityError.

    >>> round(bound_ma(230, 10), 1)
    23.0
    """
    volts = checked("voltage to earth", volts_to_earth, "V")
    return inf if checked("insulation resistance", kohm, "kohm", zero=True) == 0 else volts / kohm


@cache
def _file() -> _File:
    return load("engineering/insulation.toml", "recover-insulation", _File)


def sentence(name: str) -> str:
    """Return a sentence by its name."""
    return _file().sentence[name]


@cache
def _figure(limit_id: str) -> float:
    return next(limit.value for limit in _file().limit if limit.id == limit_id)


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
    return Judgement(
        limit=limit,
        passes_limit=_passes(value, volts, limit, "insulation_test_volts"),
        entry_megohm=limits(profile)["element_entry_megohm"],
        step=step,
        next_step=_next_step(step, volts, joined),
        leakage_bound_ma=bound,
    )


def published_limit(kw: float | None, profile: str) -> Limit | None:
    """Return the limit that is printed for a heating appliance of this power; None where none is.

    Where the milder figure begins at a power (uk: above 3 kW), smaller and unknown ones have the general figure.
    """
    if kw is not None:
        checked("power", kw, "kW")
    allowance = country(profile).find("heating_allowance_kw")
    begins_at_a_power = allowance is not None and allowance.source and not _above(kw, allowance.value)
    return country(profile).find(f"{'general' if begins_at_a_power else 'appliance'}_insulation_megohm")


def judge_circuit(megohm: float, test_volts: float | None, profile: str, circuit: CircuitKind = "mains") -> bool | None:
    """Say whether a reading of wiring alone passes what its country prints; None as `passes_limit` of a `Judgement`.

    Elements and electronics are disconnected; mains means up to 500 V. Raises QuantityError as `judge` does.
    """
    value, volts = checked("insulation resistance", megohm, "Mohm", zero=True), _test_volts(test_volts)
    if circuit == "extra_low":
        limit = country(profile).find("extra_low_insulation_megohm")
        return _passes(value, volts, limit, "extra_low_test_volts")
    return _passes(value, volts, country(profile).find("wiring_insulation_megohm"), "insulation_test_volts")


def _test_volts(test_volts: float | None) -> float:
    if test_volts is None:
        raise QuantityError("test voltage", "none", "the test voltage of the reading in V")
    return checked("test voltage", test_volts, "V")


def _above(kw: float | None, bound: float) -> bool:
    return kw is not None and kw > bound


def _passes(megohm: float, volts: float, limit: Limit | None, tested_at: str) -> bool | None:
    if limit is None:
        return None
    if megohm < limit.value:
        return False
    return True if volts >= own_limits()[tested_at].value else None


def _step(megohm: float, kw: float | None, profile: str, joined: Joined) -> LadderStep:
    numbers = limits(profile)
    if megohm < numbers["element_abort_megohm"]:
        return "fault_search"
    if megohm < numbers["element_low_megohm"] or joined != "full":
        return "external_only"
    if megohm < numbers["element_entry_megohm"]:
        return "electrician_only" if _above(kw, numbers["heating_allowance_kw"]) else "external_only"
    return "entry"


def _next_step(step: LadderStep, volts: float, joined: Joined) -> str:
    if joined != "full" and step != "fault_search":
        return "read_in_full"
    if step in ("entry", "electrician_only") and volts < own_limits()["insulation_test_volts"].value:
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


def fallen_by_course(readings: Sequence[tuple[float, float, float]]) -> float | None:
    """Return the best reading [Mohm], of a lining as warm or warmer, below which the last one of a course (hours, Mohm,
    °C) lies by more than half; None where none is. One that was taken anew within half an hour is none.

    >>> fallen_by_course([(0, 6.9, 150), (48, 1.1, 150)]), fallen_by_course([(0, 29, 16), (48, 6.9, 150)])
    (6.9, None)
    """
    *before, (_, last, degc) = without_corrections(readings)
    best = max((megohm for _, megohm, warm in before if warm >= degc), default=0.0)
    return best if last < (1 - _figure("course_share")) * best else None


def shape(readings: Sequence[tuple[float, float, float]]) -> _Course:
    """Return where a dry-out stands, from readings (hours, Mohm, °C of the face) at one point, in order of time.

    A series starts cold, falls as the lining warms, passes a minimum, rises, and ends in a plateau: at least 3 readings
    over 4 h, the face within 10 K and each reading within 10 % of the median, all at 5 times the minimum or more. It
    stops below the abort floor, and on a fall of more than 30 % after the rise, which starts the search anew. All these
    numbers are ours. Raises QuantityError for an empty or unordered series and for a face at 800 °C or more.
    """
    series = _checked_series(readings)
    abort_megohm = own_limits()["element_abort_megohm"].value
    stops = [_Stop(one.hours, "below_abort") for one in series if one.megohm < abort_megohm]
    state: CourseState = "cold"
    highest = lowest = series[0].megohm
    for one in series[1:]:
        if state == "rising" and one.megohm < (1 - _figure("fall_share")) * highest:
            stops.append(_Stop(one.hours, "fell_after_rise"))
            state, highest, lowest = "falling", one.megohm, one.megohm
            continue
        state = _next_state(state, one.megohm, highest, lowest)
        lowest = min(lowest, one.megohm)
        highest = max(highest, one.megohm) if state in ("cold", "rising") else one.megohm
    least = min(one.megohm for one in series)
    if state == "rising" and _ends_level(series, least):
        state = "plateau"
    return _Course(state, least, tuple(sorted(stops, key=lambda stop: stop.hours)))


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
