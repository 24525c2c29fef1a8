"""The log of a drying beside its plan: to which day a line belongs, and how what was read lies to what was expected.

A reading is held against the day that is stored, and no day is computed for it. Between two hours that a day expects
something at, its band is what lies between theirs; half an hour beyond the first and the last it is still theirs. A
piece is expected once a morning: what lies between two mornings is between theirs. At every other hour the highest stop
of the day holds; of a chamber the highest of all days, where its day has none. At a place that the day does not name,
the lowest stop of those that it does.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from recover.asked.told import Logged
from recover.base.addresses import Address
from recover.base.measures import show_moment
from recover.judged.stops import (
    NEVER_POWERED,
    STOP,
    LogStop,
    Powered,
    counts_still,
    is_answered_anew,
    is_lifted,
    powered,
    shuts_days,
    stop_of,
)
from recover.plan.clock import DAY_H, elapsed_h
from recover.plan.kinds import as_told, edges, log_data
from recover.profiles import own_limits

if TYPE_CHECKING:
    from recover.asked.answers import Answers
    from recover.plan.whole import Day, Expected, KilnPlan

Lies = Literal["within", "below", "above", "stop", "unexpected"]
"""How a reading lies to its band; *stop*: beyond what ends the day; *unexpected*: the day has no band for it."""

BESIDE = timedelta(minutes=30)
"""So long before the first hour of a band, and after the last, a reading still belongs to it."""

BY_THE_HOUR, OF_THE_DAY = frozenset({"chamber", "casing", "exhaust"}), frozenset({"litres", "kwh"})
"""What shows that something is on at that hour, and what shows it of the day until then."""

KEEPS_WARM_H = 24.0
"""So long before a reading another still tells how warm a chamber may be."""


@dataclass(frozen=True)
class Against:
    """A line beside what its day expects of it at its moment; None where that has no band. `stop`: why it is one."""

    one: Logged
    day: Day | None
    expected: Expected | None
    lies: Lies
    stop: LogStop | None = None


def log_of(answers: Answers, kiln: Address) -> tuple[Logged, ...]:
    """Return what was logged of a kiln, in the order of its moments; what nothing proves any more is left out."""
    return answers.log_by_kiln.get(kiln, ())


def shows_on(one: Logged) -> bool:
    """Whether a line of the log is a reading that is taken while something is on."""
    return bool(one.value is not None and (one.what in BY_THE_HOUR or (one.what in OF_THE_DAY and one.value > 0)))


def begun(plan: KilnPlan, log: Sequence[Logged]) -> bool:
    """Whether anything tells that a drying was begun: what is read while something is on, on a day of its plan."""
    first = next((day.attended_from for day in plan.days if day.attended_from), None)
    return first is not None and any(shows_on(one) and one.measured >= first for one in log)


def day_at(kiln: KilnPlan, one: Logged) -> Day | None:
    """Return the day of a plan that a line of the log belongs to: by its date, or, before that day's opening, by
    what the day before has not ended by then; None where there is none."""
    return day_of(kiln, one.measured)


def day_of(kiln: KilnPlan, at: datetime) -> Day | None:
    """Return the day of a plan that a moment belongs to, as a line of the log of then does."""
    on = [day for day in kiln.days if (begins := _begins(day)) is not None and begins <= at.timestamp()]
    last = on[-1] if on else None
    return last if last and (at.date() - last.date).days <= 1 else None


def _begins(day: Day) -> float | None:
    """Return from when on a log speaks of a day: half an hour before somebody comes; None where nobody does."""
    return (day.attended_from - BESIDE).timestamp() if day.attended_from else None


def against(
    one: Logged, kiln: KilnPlan | None, log: Iterable[Logged] = (), since: Powered = NEVER_POWERED
) -> Against:  # fmt: skip
    """Return how a line lies to its day, None where there is no plan; `log` is what was logged of the kiln, `since`
    from when on it was powered. Without a plan, and before that, a chamber is held to what no plan goes beyond."""
    if kiln is None:
        return on_day(one, None, log, since, most=None if since.is_before(one) else _top_degc(one))
    if _was_lived_before(one, kiln, log):
        return replace(on_day(one, None, log, since), day=day_at(kiln, one))
    held = _by_mornings(on_day(one, day_at(kiln, one), log, since, most=highest_stop(one, kiln)), kiln)
    return _unbanded(held) if water_since(one, kiln, log) else held


def _by_mornings(held: Against, kiln: KilnPlan) -> Against:
    """Return the weight of a piece beside what it weighs between two mornings, where its day has no band at its hour;
    all else as it is."""
    one, day = held.one, held.day
    if one.what != "piece" or day is None or held.expected is not None:
        return held
    after = next((other for other in kiln.days if (other.date - day.date).days == 1), None)
    found = _between_mornings(one, day, after) if after else None
    return replace(held, expected=_told(found), lies=_lies(one, _told(found))) if found else held


def _between_mornings(one: Logged, day: Day, after: Day) -> Expected | None:
    """Return what a piece weighs at an hour between two mornings; None where one of them expects no weight.

    It loses most while something heats, so its least weight falls to the next morning's until whoever attends leaves;
    its most falls until that morning.
    """
    first, then = (_piece_of(of, one) for of in (day, after))
    if first is None or then is None or first.at is None or then.at is None or day.attended_to is None:
        return None
    gone_h, night_h = elapsed_h(first.at, one.measured), elapsed_h(first.at, then.at)
    day_h = elapsed_h(first.at, day.attended_to) or night_h
    slow = _mixed(first, then, gone_h / night_h)
    soaked = first.low is None  # the same in every draw: no weight is too light but one below the next morning's
    return replace(slow, low=then.low if soaked else _mixed(first, then, min(gone_h / day_h, 1.0)).low)


def _piece_of(day: Day, one: Logged) -> Expected | None:
    """Return what a day expects a piece to weigh in its morning, in the unit and at the place of a reading."""
    of = (read for read in day.readings if (read.what, read.unit) == ("piece", one.unit))
    return next((read for read in of if one.place in ("", read.place)), None)


def _was_lived_before(one: Logged, kiln: KilnPlan, log: Iterable[Logged]) -> bool:
    """Whether a chamber was read since a drying opened and before its plan was made, and no plan of then had a figure
    for it: what the days of a later plan ask for was asked of nobody yet. A figure of its moment stands beside it."""
    first = next((day.attended_from for day in kiln.days if day.attended_from), None)
    if one.what != "chamber" or kiln.learnt is None or first is None or one.measured < first or STOP in one.details:
        return False
    lines = sorted(other.line for other in log if other.kiln == one.kiln)
    return one.line in lines[: kiln.learnt.lines]


def water_since(one: Logged, kiln: KilnPlan, log: Iterable[Logged]) -> bool:
    """Whether water came between the opening of a plan and a line: its bands knew nothing of that, its stops stand."""
    first = next((day.date for day in kiln.days), date.max)
    came = (other.measured for other in log if other.kiln == one.kiln and other.is_water)
    return any(first <= at.date() and at <= one.measured for at in came)


def _unbanded(held: Against) -> Against:
    """Return a line beside no band, and a stop as it is."""
    expected = replace(held.expected, low=None, mid=None, high=None) if held.expected else None
    return replace(held, expected=expected, lies=held.lies if held.stop else "unexpected")


def highest_stop(one: Logged, kiln: KilnPlan) -> float | None:
    """Return the highest stop of a chamber on any day of a plan, until its last: no day of it asks for more, whatever
    the hour. What is fired after that is no day of it. None of anything else."""
    if one.what != "chamber" or not kiln.days or one.measured.date() > kiln.days[-1].date:
        return None
    of = (read for day in kiln.days for read in day.readings if (read.what, read.unit) == (one.what, one.unit))
    return _highest(of)


def _top_degc(one: Logged) -> float | None:
    """Return the hottest that a chamber is in any schedule that dries [°C]; None of anything else."""
    return own_limits()["plan_top_degc"].value if (one.what, one.unit) == ("chamber", "°C") else None


def on_day(
    one: Logged, day: Day | None, log: Iterable[Logged] = (), since: Powered = NEVER_POWERED,
    most: float | None = None,
) -> Against:  # fmt: skip
    """Return how a line lies to a day; None where it belongs to none. `most` is beyond what it is a stop, where its day
    has no such figure."""
    expected = expected_at(one, day) if day else None
    figure = most if expected is None or expected.stop is None else expected.stop
    stop = stop_of(one, log, figure=figure, own=is_own(day), since=since)
    return Against(one, day, expected, "stop" if stop else _lies(one, expected), stop)


def is_own(day: Day | None) -> bool:
    """Whether a day is one of its own elements."""
    return day is not None and day.phase != "outside"


def expected_at(one: Logged, day: Day) -> Expected | None:
    """Return what a day expects of a reading at its moment, as finely as it is told; None where it expects nothing
    then, or in another unit."""
    found = _expected(one, day)
    return _told(found) if found else None


def expected_now(one: Expected, day: Day, now: datetime) -> Expected | None:
    """Return what a day expects at a moment of what it reads, at its place: by that a reading of then is judged."""
    read = Logged(line=0, by="", kiln="", what=one.what, measured=now, place=one.place, unit=one.unit)
    return expected_at(read, day)


def _told(of: Expected) -> Expected:
    low, high = edges(of.low, of.high, of.unit)
    return replace(of, low=low, mid=as_told(of.mid, of.unit), high=high, stop=as_told(of.stop, of.unit, down=True))


def is_elsewhere(one: Logged, day: Day) -> bool:
    """Whether something is read at no place that a day names of its kind, or at none, where there are several."""
    places = {read.place for read in day.readings if (read.what, read.unit) == (one.what, one.unit)}
    return bool(places) and one.place not in places and (one.place != "" or len(places) > 1)


def _elsewhere(one: Logged, day: Day) -> Expected | None:
    """Return what holds at a place that a day does not name: no band, and the lowest stop of those that it does."""
    places = {read.place for read in day.readings if (read.what, read.unit) == (one.what, one.unit)}
    found = [there for place in places if (there := _expected(replace(one, place=place), day))]
    stops = [there for there in found if there.stop is not None]
    lowest = min(stops, key=lambda there: there.stop or 0.0, default=None)
    return replace(lowest, place=one.place, at=None, low=None, mid=None, high=None) if lowest else None


def _expected(one: Logged, day: Day) -> Expected | None:
    if is_elsewhere(one, day):
        return _elsewhere(one, day)
    named = (one.what, one.unit)
    of = [read for read in day.readings if (read.what, read.unit) == named and one.place in ("", read.place)]
    if one.what == "insulation" and any(read.low is not None for read in of):
        return _insulation(one, day, of)
    once = next((read for read in of if read.at is None), None)
    if _is_over(day, one.measured):
        return once
    timed = sorted((read for read in of if read.at is not None), key=lambda read: read.at.timestamp() if read.at else 0)
    return once or _between(one, timed, [*_turns(day)] if one.what == "chamber" else [])


def _is_over(day: Day, at: datetime) -> bool:
    """Whether a day of its own elements was over by a moment, 24 h from its opening: what is fired then is no run of
    it, and no hour of it tells how hot that may be."""
    return is_own(day) and day.attended_from is not None and elapsed_h(day.attended_from, at) >= DAY_H


def _turns(day: Day) -> Iterator[tuple[datetime, bool]]:
    """Yield the moments at which what is asked of a chamber turns, and whether it is switched off there."""
    for step, after in pairwise((*day.steps, None)):
        assert step
        yield step.hold_from, False
        yield step.ends, after is None or after.begins > step.ends


def _insulation(one: Logged, day: Day, of: Sequence[Expected]) -> Expected:
    """Return what insulation is to be: at the entry until its own elements are on, above the floor from then on."""
    entry = next(read for read in of if read.low is not None)
    if not day.steps or one.measured < day.steps[0].begins:
        return entry
    return next((read for read in of if read.stop is not None), replace(entry, low=None))


def _between(one: Logged, timed: Sequence[Expected], turns: Sequence[tuple[datetime, bool]]) -> Expected | None:
    """Return what is expected between two hours; where it turns between them, what both allow, and no band where it
    was switched off."""
    if not timed:
        return None
    hours = [elapsed_h(read.at, one.measured) for read in timed if read.at]
    beside_h = BESIDE / timedelta(hours=1)
    if hours[0] < -beside_h or hours[-1] > beside_h:
        return _hottest(timed)
    after = next((number for number, hour in enumerate(hours) if hour <= 0), len(timed) - 1)
    before = max(after - 1, 0) if hours[after] < 0 else after
    if before == after:
        return timed[after]
    ends = (timed[before], timed[after])
    turned = [off for at, off in turns if ends[0].at and ends[1].at and ends[0].at < at < ends[1].at]
    if any(turned):
        return _hottest(ends)
    if turned:
        return _spanning(*ends)
    return _mixed(*ends, hours[before] / (hours[before] - hours[after]))


def _spanning(one: Expected, other: Expected) -> Expected:
    """Return what is expected between two hours between which a ramp or a hold ends: as much as both."""
    lows, highs = ([getattr(of, end) for of in (one, other)] for end in ("low", "high"))
    whole = None not in (*lows, *highs)
    return replace(one, at=None, mid=None, stop=_highest((one, other)),
                   low=min(lows) if whole else None, high=max(highs) if whole else None)  # fmt: skip


def _hottest(timed: Sequence[Expected]) -> Expected | None:
    """Return what ends a day at every hour of it: the highest of its stops, without a band; None where it has none."""
    stop = _highest(timed)
    return None if stop is None else replace(timed[0], at=None, low=None, mid=None, high=None, stop=stop)


def _highest(of: Iterable[Expected]) -> float | None:
    """Return the highest stop of some hours; None where none has one."""
    return max((read.stop for read in of if read.stop is not None), default=None)


def _mixed(one: Expected, other: Expected, share: float) -> Expected:
    """Return what is expected between two hours."""

    def mixed(a: float | None, b: float | None) -> float | None:
        return None if a is None or b is None else a + share * (b - a)

    return replace(
        one, at=None, low=mixed(one.low, other.low), mid=mixed(one.mid, other.mid), high=mixed(one.high, other.high),
        stop=mixed(one.stop, other.stop),
    )  # fmt: skip


def _lies(one: Logged, expected: Expected | None) -> Lies:
    if expected is None or one.value is None:
        return "unexpected"
    value = float(f"{one.value:.4g}")  # as it is printed
    if expected.low is not None and value < expected.low and not one.at_least:
        return "below"
    if expected.high is not None and value > expected.high:
        return "above"
    banded = (expected.low, expected.high) != (None, None) or (expected.stop is not None and one.what == "insulation")
    return "within" if banded else "unexpected"


# ---------------------------------------------------------------------------------------- while nothing is to be on


def unheated_degc(one: Logged, kiln: KilnPlan, day: Day, log: Iterable[Logged]) -> float | None:
    """Return how hot a chamber is at most at the moment of a line without its own elements [°C]; None where nothing
    tells that.

    It is what the ways from outside make of it, or as its day begins; or as it was read last: after a stop, since
    then, and where nothing was, nobody knows.
    """
    before = [other for other in log if _is_day_before(other, one, day)]
    stopped = [_at(other) for other in before if is_own(day) and on_day(other, day, before).stop]
    read = [other for other in before if other.what == "chamber" and _at(other) > max(stopped, default=0.0)]
    if stopped and not read:
        return None
    last = max(read, key=_at, default=None)
    known = [*_cold_degc(kiln, day), *([last.value] if last and last.value is not None else [])]
    return max(known) + log_data().hotter_k.value if known else None


def unplanned_degc(
    one: Logged, kiln: KilnPlan, log: Iterable[Logged], on_until: Callable[[Collection[datetime]], datetime | None]
) -> float | None:  # fmt: skip
    """Return how hot a chamber is at most on no day of a plan, while its own elements may not be on [°C]; None while
    they may, and where nothing tells that. `on_until` says until when they may have been, by when a run was read hot.

    It cools from then on: it is no hotter than it was read since, or as it was read last before.
    """
    cold = _cold_start_degc(kiln)
    if cold is None:
        return None
    warm = cold + log_data().hotter_k.value
    read = sorted((other for other in log if other.what == "chamber" and _at(other) < _at(one)), key=_at)
    was_cold = max((_at(other) for other in read if (other.value or 0.0) <= warm), default=0.0)
    until = on_until([*(other.measured for other in read if _at(other) > was_cold), one.measured])
    if until is None or one.measured <= until:
        return None
    last = [other for other in read if other.measured <= until][-1:]
    since = [*last, *(other for other in read if other.measured > until)]
    kept = [other.value or 0.0 for other in since if elapsed_h(other.measured, one.measured) <= KEEPS_WARM_H]
    return max(cold, min(kept, default=cold)) + log_data().hotter_k.value


def _cold_start_degc(kiln: KilnPlan) -> float | None:
    """Return how warm a chamber may be on no day of a plan [°C]: as hot as anything from outside is set, else as its
    first own day begins; None where neither is planned."""
    outside = [day.top_degc for day in kiln.days if not is_own(day) and day.top_degc is not None]
    first = next((day for day in kiln.days if is_own(day) and day.steps), None)
    return max(outside, default=None) if outside or first is None else next(_cold_degc(kiln, first), None)


def _at(one: Logged) -> float:
    return one.measured.timestamp()


def _is_day_before(other: Logged, one: Logged, day: Day) -> bool:
    """Whether a line was measured before another: on its day, where that is one of its own elements, whose first step
    tells how far it has cooled since; in the day and night before it on one from outside."""
    hours = elapsed_h(other.measured, one.measured)
    return 0 < hours <= KEEPS_WARM_H and (not is_own(day) or other.measured.date() == day.date)


def _cold_degc(kiln: KilnPlan, day: Day) -> Iterator[float]:
    """Yield how warm a chamber may be without its own elements [°C]: as hot as anything from outside is set, and as
    the first step of a day of its own begins."""
    yield from (other.top_degc for other in kiln.days if not is_own(other) and other.top_degc is not None)
    if is_own(day) and day.steps:
        first = day.steps[0]
        yield first.to_degc - (first.ramp_k_h or 0.0) * elapsed_h(first.begins, first.hold_from)


def is_entry(one: Expected) -> bool:
    """Whether a reading opens own heat on its day."""
    return one.what == "insulation" and one.low is not None


def is_entered(day: Day, log: Iterable[Logged], at: datetime) -> bool:
    """Whether the insulation that opens own heat on a day was read by a moment, and was at the entry: the last before
    its first step, or one since."""
    entry = next((read.low for read in day.readings if is_entry(read)), None)
    begins = _begins(day)
    if entry is None or begins is None:
        return True
    opens = day.steps[0].begins.timestamp() if day.steps else at.timestamp()
    of = [one for one in log if one.what == "insulation" and one.value is not None and begins <= _at(one)]
    read = sorted((one for one in of if _at(one) <= at.timestamp()), key=_at)
    counts = [*[one for one in read if _at(one) <= opens][-1:], *(one for one in read if _at(one) > opens)]
    return any((one.value or 0.0) >= entry for one in counts)


# ---------------------------------------------------------------------------------------- what shuts a plan


@lru_cache(maxsize=4)
def stops(answers: Answers, at: Address, kiln: KilnPlan | None) -> tuple[Against, ...]:
    """Return each stop in the log of a kiln, in the order of its moments, also what was taken back and is one all the
    same; `kiln` is its plan, if any. Every day of a plan asks for them."""
    log = [*log_of(answers, at), *counts_still(answers, at)]
    log.sort(key=lambda one: (one.measured.timestamp(), one.line))
    since = powered(answers, at)
    return tuple(held for one in log if (held := against(one, kiln, log, since)).stop)


def standing(answers: Answers, at: Address, kiln: KilnPlan | None) -> Iterator[Against]:
    """Yield every stop of a kiln that nothing since lifts, the last first."""
    yield from (one for one in reversed(stops(answers, at, kiln)) if one.stop and not is_lifted(one.stop, answers))


def shut(kiln: KilnPlan, answers: Answers, on: date) -> tuple[str, ...]:
    """Return why a plan is followed no more on a date: water came again, or a stop of which nobody has logged yet that
    its cause was found."""
    return (*wetted(kiln, answers, on), *halted(kiln, answers, on))


def wetted(kiln: KilnPlan, answers: Answers, on: date) -> tuple[str, ...]:
    """Return why a plan is followed no more from a date on: water came again after its first opening, or before it and
    nobody has answered it anew."""
    first = next((day.date for day in kiln.days), date.max)
    came = (one for one in log_of(answers, kiln.kiln) if one.is_water and one.measured.date() <= on)
    again = any(first <= one.measured.date() or not is_answered_anew(one, answers) for one in came)
    return (log_data().shuts.rain,) if again else ()


def halted(kiln: KilnPlan, answers: Answers, on: date) -> tuple[str, ...]:
    """Return what stopped a drying until a date, of which nobody has logged yet that its cause was found."""
    found = (held.stop for held in stops(answers, kiln.kiln, kiln) if not held.one.is_water)
    return tuple(dict.fromkeys(
        log_data().shuts.halted.format(on=show_moment(stop.one.measured), why=stop.say)
        for stop in found if stop and shuts_days(stop, answers, on)
    ))  # fmt: skip
