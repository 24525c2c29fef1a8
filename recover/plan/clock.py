"""Clock times of a plan: when a day opens and closes, when each step begins and ends, when all of it is done.

Durations are elapsed time; clock times are local to the job. A day opens at the same local time on each date, so that
23 or 25 h lie between two openings where the clocks change. Whoever attends leaves by the clock on the wall, and the
heater is off then: what a change of clocks takes from a day is cut off its end, what it adds is not used.

Python compares and subtracts two moments of one zone by what the clock shows. So all sums here are done in UTC, and
whoever goes on with these moments turns them into UTC first.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from calendar import monthrange
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from recover.physics.wall import Course, Step
from recover.schedule.spells import Day, Schedule

if TYPE_CHECKING:
    from recover.physics.draws import Spread
    from recover.plan.whole import Followed, Request
    from recover.schedule.search import Plan
    from recover.schedule.verify import Proof

ALIKE_K = 60.0
"""Days whose temperatures lie no further apart than this are read as one range."""

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A step by the clock, to the minute: when its ramp begins, its hold begins, it ends; aware, local to the job.

    `number` is its own within the day, from 0, `step` is what was planned; water left [share] and casing [°C] are those
    of the proof at its end. `cut`: the heater goes off at `ends` before this step, or one after it, is done. The proof
    knows of no change of clocks, so from there on rather more water is left than it says.
    """

    number: int
    begins: datetime
    hold_from: datetime
    ends: datetime
    step: Step
    left: Spread
    casing_degc: Spread
    cut: bool = False


@dataclass(frozen=True, kw_only=True)
class StepSpan:
    """What a step comes to over several days: one ramp, the span of its temperatures and of its holds."""

    ramp_k_h: float
    low_degc: float
    high_degc: float
    shortest_h: float
    longest_h: float


@dataclass(frozen=True)
class Span:
    """Days that are alike, first and last from 0, and their steps."""

    first: int
    last: int
    steps: tuple[StepSpan, ...]

    def dates(self, request: Request, zone: ZoneInfo) -> tuple[date, date]:
        """Return the local dates on which the first and the last of the days open."""
        return opening(request, zone, self.first).date(), opening(request, zone, self.last).date()


# ---------------------------------------------------------------------------------------- days


def opening(request: Request, zone: ZoneInfo, day: int) -> datetime:
    """Return when a day opens, the first being 0: at the same local time on each date.

    Where that does not exist it is the first moment after the gap, where it comes twice the first of the two.
    """
    return _by_the_clock(request.opens + timedelta(days=day), zone)


def closing(request: Request, zone: ZoneInfo, day: int) -> datetime | None:
    """Return when whoever attends leaves, by the local clock; None where somebody is there day and night."""
    if request.attendance.always:
        return None
    midnight = request.opens.replace(hour=0, minute=0, second=0, microsecond=0)
    leaves = midnight + timedelta(minutes=round(60 * request.attendance.to_h))
    over_midnight = timedelta(days=1 if leaves <= request.opens else 0)
    return _by_the_clock(leaves + over_midnight + timedelta(days=day), zone)


def months_after(day: date, months: int) -> date:
    """Return the same day of a later month, or its last where it is shorter."""
    year, month = divmod(12 * day.year + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _by_the_clock(local: datetime, zone: ZoneInfo) -> datetime:
    """Return the moment at which a clock on the wall first shows this time, or has just jumped over it."""
    moment = local.replace(tzinfo=zone, fold=0)
    shown = moment.astimezone(UTC).astimezone(zone)
    return moment if shown.replace(tzinfo=None) == moment.replace(tzinfo=None) else _after_gap(local, zone)


def _after_gap(local: datetime, zone: ZoneInfo) -> datetime:
    """Return the first moment after the gap that a local time lies in; zones do not name it, so it is sought."""
    late, early = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    before = early.astimezone(zone).utcoffset()

    def changed(second: int) -> bool:
        return (early + timedelta(seconds=second)).astimezone(zone).utcoffset() != before

    second = bisect_left(range(int((late - early).total_seconds())), True, key=changed)
    return (early + timedelta(seconds=second)).astimezone(zone)


# ---------------------------------------------------------------------------------------- steps


def timetable(of: Plan | Followed, request: Request, zone: ZoneInfo, day: int) -> tuple[Entry, ...]:
    """Return the steps of a day, the first being 0, by the clock. One that would begin at the closing is left out."""
    return tuple(_entries(of.proof, request, zone, day))


def _entries(proof: Proof, request: Request, zone: ZoneInfo, day: int) -> Iterator[Entry]:
    one, opens, off = proof.schedule.days[day], opening(request, zone, day), _off(proof.schedule, request, zone, day)
    ends = {(end.day, end.step): end for end in proof.steps}
    planned = [_later(opens, hour) for hour in Course.of(one.from_degc, one.steps).hours]
    cut = planned[-1] - off > MINUTE
    begun = [number for number in range(len(one.steps)) if not cut or planned[2 * number] < off]
    for number in begun:
        came = planned[2 * number : 2 * number + 3]
        begins, hold_from, until = (min(moment, off).astimezone(zone) for moment in came)
        end = ends[day, number]
        left, casing_degc = end.left, end.casing_degc
        if came[-1] - off > MINUTE:
            left, casing_degc = _at(proof, 24.0 * day + (off - planned[0]) / timedelta(hours=1))
        last = cut and number == begun[-1]
        yield Entry(
            number=number, begins=begins, hold_from=hold_from, ends=until, step=one.steps[number], left=left,
            casing_degc=casing_degc, cut=last,
        )  # fmt: skip


def _off(schedule: Schedule, request: Request, zone: ZoneInfo, day: int) -> datetime:
    """Return when the heater goes off on a day, in UTC: after its steps, at the latest when nobody is there."""
    latest = [_later(opening(request, zone, day), schedule.days[day].hours)]
    if leaves := closing(request, zone, day):
        latest.append(leaves.astimezone(UTC))
    if day < len(schedule.days) - 1:
        latest.append(opening(request, zone, day + 1).astimezone(UTC))
    return min(latest)


def _later(moment: datetime, hours: float) -> datetime:
    """Return a moment so many elapsed hours later, to the minute, in UTC."""
    return moment.astimezone(UTC) + round(60 * hours) * MINUTE


def _at(proof: Proof, hour: float) -> tuple[Spread, Spread]:
    """Return water left and casing of a proof at its last moment until an hour."""
    at = max(bisect_right(proof.curve_h, hour + 1e-6) - 1, 0)
    return proof.left_curve[at], proof.casing_curve[at]


# ---------------------------------------------------------------------------------------- later days


def spans(schedule: Schedule) -> tuple[Span, ...]:
    """Return the days after the first as ranges: consecutive ones with the same ramps and nearly the same tops."""
    alike: list[list[Day]] = []
    for day in schedule.days[1:]:
        if alike and _alike([*alike[-1], day]):
            alike[-1].append(day)
        else:
            alike.append([day])
    found, first = [], 1
    for days in alike:
        found.append(Span(first, first + len(days) - 1, tuple(_step_spans(days))))
        first += len(days)
    return tuple(found)


def _alike(days: Sequence[Day]) -> bool:
    if len({tuple(round(step.ramp_k_h, 1) for step in day.steps) for day in days}) > 1:
        return False
    return all(one.high_degc - one.low_degc <= ALIKE_K for one in _step_spans(days))


def _step_spans(days: Sequence[Day]) -> Iterator[StepSpan]:
    for steps in zip(*(day.steps for day in days), strict=True):
        degc, hold_h = [step.to_degc for step in steps], [step.hold_h for step in steps]
        yield StepSpan(
            ramp_k_h=steps[0].ramp_k_h, low_degc=min(degc), high_degc=max(degc), shortest_h=min(hold_h),
            longest_h=max(hold_h),
        )  # fmt: skip
