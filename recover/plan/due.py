"""Which readings are due at a moment of a day, and all of them in the order of the sheet by the kiln."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recover.plan.clock import elapsed_h
from recover.plan.kinds import LogKind, kinds, log_data
from recover.plan.log import BESIDE

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from recover.asked.told import Logged
    from recover.plan.whole import Day, Expected


@dataclass(frozen=True)
class DueReading:
    """One reading that somebody is asked for: of what, where, what the day expects of it (None where nothing), and its
    hour; None where it is read over the whole day."""

    kind: LogKind
    place: str
    expected: Expected | None
    at: datetime | None


def due(day: Day, now: datetime) -> list[DueReading]:
    """Return the readings of a day that are due at a moment: of each place the nearest in time.

    Where none is near, those of the hour that is nearest; what is read over the whole day always is due.
    """
    nearest = [_nearest(of, now) for of in by_place(day)]
    apart = {id(one): abs(elapsed_h(one.at, now)) if one.at else 0.0 for one in nearest}
    timed = [apart[id(one)] for one in nearest if one.at]
    reach_h = max(log_data().due_h.value, min(timed, default=0.0))
    return [row for one in nearest if apart[id(one)] <= reach_h for row in _beside(one)]


def missed(day: Day, log: Iterable[Logged], now: datetime) -> list[DueReading]:
    """Return what decides something on a day, was asked for last by a moment, and was not read from then on."""
    lines, found = [*log], []
    for of in by_place(day):
        come = [one for one in of if one.at and one.at <= now and kinds()[one.what].decides]
        if come and not any(_is_of(one, come[-1]) for one in lines):
            found += _beside(come[-1])
    return found


def read_before(row: DueReading, log: Iterable[Logged], now: datetime) -> Logged | None:
    """Return what was read last of a row within the hour before a moment; None where nothing was.

    A round that was broken off is begun anew, and what was kept of it stands.
    """
    of = [one for one in log if (one.what, one.place) in ((row.kind.id, row.place), (row.kind.id, ""))]
    near = [one for one in of if 0.0 <= elapsed_h(one.measured, now) < log_data().due_h.value]
    return max(near, key=lambda one: (one.measured.timestamp(), one.line), default=None)


def _is_of(one: Logged, asked: Expected) -> bool:
    """Whether a line of the log is what was asked for at an hour, or later."""
    since = asked.at - BESIDE if asked.at else one.measured
    return one.what == asked.what and one.place in ("", asked.place) and one.measured >= since


def of_the_sheet(day: Day) -> list[DueReading]:
    """Return all readings of a day row by row, a row hour by hour, as the grid of its sheet has them."""
    return [one for of in by_place(day) for row in zip(*map(_beside, of), strict=True) for one in row]


def by_place(day: Day) -> list[list[Expected]]:
    """Return what a day reads, thing by thing and place by place, each by the clock; what has no hour comes last."""
    rows: dict[tuple[str, str, str], list[Expected]] = {}
    for one in sorted(day.readings, key=lambda one: (one.at is None, one.at.timestamp() if one.at else 0.0)):
        rows.setdefault((one.what, one.place, one.unit), []).append(one)
    return [*rows.values()]


def _nearest(of: list[Expected], now: datetime) -> Expected:
    return min(of, key=lambda one: abs(elapsed_h(one.at, now)) if one.at else 0.0)


def _beside(one: Expected) -> list[DueReading]:
    """Return a reading, and what is asked beside it: of that the day expects nothing."""
    others = (kind for kind in kinds().values() if kind.beside == one.what)
    return [
        DueReading(kinds()[one.what], one.place, one, one.at),
        *(DueReading(kind, "", None, one.at) for kind in others),
    ]
