"""The log of a drying beside its plan: to which day a line belongs, and how what was read lies to what was expected.

A reading is held against the day that is stored, and no day is computed for it. Between two hours that a day expects
something at, its band is what lies between theirs; half an hour beyond the first and the last it is still theirs. A
piece is expected once a morning: what lies between two mornings is between theirs. At every other hour the highest stop
of the day holds; of a chamber the highest of all days, where its day has none. At a place that the day does not name,
the lowest stop of those that it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING, Literal

from recover.asked.compiled import questionnaire
from recover.asked.told import Logged
from recover.base.addresses import Address
from recover.base.measures import show_moment
from recover.judged.stops import (
    MENDED,
    NEVER_POWERED,
    STOP,
    UNHEATED,
    LogStop,
    Powered,
    counts_still,
    goes_on,
    is_answered_anew,
    is_lifted,
    is_mended,
    powered,
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


@dataclass(frozen=True)
class Against:
    """A line beside what its day expects of it at its moment; None where that has no band. `stop`: why it is one.

    `off`: where heat is switched off then, empty where no plan tells.
    """

    one: Logged
    day: Day | None
    expected: Expected | None
    lies: Lies
    stop: LogStop | None = None
    off: str = ""


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
    held = _against(one, kiln, log, since)
    own = off_switch(kiln, None) if held.stop and held.stop.why == "unheated" else ""
    return replace(held, off=own or off_switch(kiln, held.day))


def _against(one: Logged, kiln: KilnPlan, log: Iterable[Logged], since: Powered) -> Against:
    if _was_lived_before(one, kiln, log):
        return replace(on_day(one, None, log, since), day=day_at(kiln, one))
    held = _by_mornings(on_day(one, day_at(kiln, one), log, since, most=highest_stop(one, kiln)), kiln)
    return _unbanded(held) if water_since(one, kiln, log) or is_off(one, held.day, log) else held


def is_off(one: Logged, day: Day | None, log: Iterable[Logged]) -> bool:
    """Whether a line reads what a day heats once something that happened has ended that: its bands are of a kiln that
    is on. A reading beyond its stop may be one of its meter, and the next one tells."""
    happened = [other for other in log if other.value is None]
    return one.what in BY_THE_HOUR and day is not None and stopped_since(one, day, happened) is not None


def stopped_since(one: Logged, day: Day | None, log: Iterable[Logged]) -> datetime | None:
    """Return since when heating is stopped at the moment of a line, by the first stop before it on its day of which
    nothing logged by then says that it goes on; of no day, by any."""
    before = [
        other for other in log if other.measured < one.measured and (day is None or day.date == other.measured.date())
    ]
    stops = (on_day(other, day, before).stop for other in before if not _is_within_its_stop(other))
    return min((stop.one.measured for stop in stops if stop and not goes_on(stop, before)), default=None)


def _is_within_its_stop(one: Logged) -> bool:
    """Whether a reading keeps a figure beyond which its day ends, and lies within it: no stop, and soon told."""
    return (one.value is not None and one.what != "insulation" and UNHEATED not in one.details
            and one.value <= one.details.get(STOP, float("-inf")))  # fmt: skip


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


def off_switch(kiln: KilnPlan | None, day: Day | None) -> str:
    """Return where heat is switched off on a day, by its sheet; on no day of the plan, and where nothing is to be on,
    where its own elements are. Empty where no day tells."""
    heats = day is not None and (day.off_switch or day.source_of_heat) and not is_own(day)
    own = [] if heats or kiln is None else [other for other in kiln.days if is_own(other)]
    switches = (other.off_switch for other in (*([day] if day else []), *own))
    return next((switch.rstrip(".") for switch in switches if switch), "")


def _cutout_degc(day: Day, at: datetime) -> float | None:
    """Return what the cut-out is set to by the sheet of a day for the run that is on at a moment, or comes next, after
    the last for that; None where the sheet has no figure."""
    run = next((step.run for step in day.steps if step.ends > at), day.steps[-1].run if day.steps else 0)
    return next((one.cutout_degc for one in day.runs if one.number == run), day.cutout_degc)


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
    if one.what != "chamber":
        return once or _between(one, timed, [])
    found = once or _between(one, timed, [*_turns(day)])
    if found is None or found.stop is None:
        return found
    is_after = bool(timed) and found.high is None and timed[-1].at is not None and one.measured > timed[-1].at
    return replace(found, stop=up_to_its_cutout(found.stop, day, one.measured, is_after=is_after))


def up_to_its_cutout(stop: float, day: Day, at: datetime, *, is_after: bool = False) -> float:
    """Return up to where a chamber may be read on a day of its own elements: no hotter than its cut-out is set then, or
    for a reading that is taken late; `is_after` the last hour of the sheet, which may come before the top, just that.
    """
    told = [degc for when in (at, at + BESIDE) if is_own(day) and (degc := _cutout_degc(day, when)) is not None]
    most = max(map(ceil, told), default=None)
    return stop if most is None else float(most) if is_after else min(stop, float(most))


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


# ---------------------------------------------------------------------------------------- what opens a day


def is_entry(one: Expected) -> bool:
    """Whether a reading opens own heat on its day."""
    return one.what == "insulation" and one.low is not None


def is_entered(day: Day, log: Iterable[Logged], at: datetime) -> bool:
    """Whether the insulation that opens own heat on a day was read by a moment, and was at the entry: the last before
    its first step, or one since. `log` holds what was answered of it as well."""
    entry = next((read.low for read in day.readings if is_entry(read)), None)
    if entry is None:
        return True
    opens = day.steps[0].begins.timestamp() if day.steps else at.timestamp()
    of = [one for one in log if one.what == "insulation" and one.value is not None and _is_of(one, day)]
    read = sorted((one for one in of if _at(one) <= at.timestamp()), key=_at)
    counts = [*[one for one in read if _at(one) <= opens][-1:], *(one for one in read if _at(one) > opens)]
    return any((one.value or 0.0) >= entry for one in counts)


def _is_of(one: Logged, day: Day) -> bool:
    """Whether a line was read on the date of a day, also before that opens, or since."""
    return one.measured.date() == day.date or _at(one) >= (_begins(day) or 0.0)


def _at(one: Logged) -> float:
    return one.measured.timestamp()


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
    yield from (one for one in reversed(stops(answers, at, kiln)) if not _was_lifted(one, answers))


def _was_lifted(held: Against, answers: Answers) -> bool:
    """Whether the log says that it goes on since a stop; of a trip of own heat, whether whoever may has said that its
    cause is found and mended: that opens its hold point too, and no word of the log does."""
    of = held.stop
    return of is None or (is_mended(of, answers) if trips_own_heat(held) else is_lifted(of, answers))


def trips_own_heat(held: Against) -> bool:
    """Whether a line is a trip of what protects own heat: on a day from outside it is of what stands beside that."""
    own = is_own(held.day) if held.day else bool(held.off)  # without a plan nobody knows what was on
    return held.stop is not None and held.stop.trips and own


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
    told, slate = log_data().shuts, questionnaire().questions[MENDED].slate
    return tuple(dict.fromkeys(
        (told.tripped if trips_own_heat(held) else told.halted).format(
            on=show_moment(held.one.measured), why=held.stop.say, slate=slate)
        for held in stops(answers, kiln.kiln, kiln)
        if held.stop and held.stop.until != "next_day" and not held.one.is_water
        and held.one.measured.date() <= on and not _was_lifted(held, answers)
    ))  # fmt: skip
