"""Clock times of a plan: on which days somebody comes, when a day opens and closes.

Durations are elapsed time; clock times are local to the job. A day opens at the same local time on each date, so that
23 or 25 h lie between two openings where the clocks change. Whoever attends leaves by the clock on the wall, and what
heats is off then: what a change of clocks takes from a day is cut off its end, what it adds is not used.

Python compares and subtracts two moments of one zone by what the clock shows. So all sums here are done in UTC, and
whoever goes on with these moments turns them into UTC first.
"""

from __future__ import annotations

from bisect import bisect_left
from calendar import monthrange
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from recover.plan.whole import Request

DAY_H = 24.0
"""How long a day of a plan lasts, from its opening."""

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def is_closed(request: Request, day: date) -> bool:
    """Whether nobody comes on a date: its weekday, itself, or a span that it lies in."""
    return any(_holds(one, day) for one in request.closed)


def attended_h(request: Request, zone: ZoneInfo, day: int) -> float:
    """Return how long somebody is there on a day [h], the first being 0; nought where nobody comes."""
    opens, leaves = opening(request, zone, day), closing(request, zone, day)
    until = leaves or opening(request, zone, day + 1)
    return 0.0 if is_closed(request, opens.date()) else min(elapsed_h(opens, until), request.attendance.hours, 24.0)


def elapsed_h(begins: datetime, ends: datetime) -> float:
    """Return how many hours lie between two moments, whatever clocks show meanwhile."""
    return (ends.astimezone(UTC) - begins.astimezone(UTC)) / timedelta(hours=1)


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


def _holds(closed: str, day: date) -> bool:
    """Whether a weekday, a date or a span holds a date."""
    if closed in WEEKDAYS:
        return WEEKDAYS[day.weekday()] == closed
    first, _, last = closed.partition("/")
    return date.fromisoformat(first) <= day <= date.fromisoformat(last or first)


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
