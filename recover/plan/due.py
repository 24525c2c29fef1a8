"""Which readings are due at a moment of a day, and all of them in the order of the sheet by the kiln."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from recover.plan.clock import elapsed_h
from recover.plan.kinds import LogKind, kinds, log_data

if TYPE_CHECKING:
    from datetime import datetime

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
    nearest = [_nearest(of, now) for of in _by_place(day).values()]
    apart = {id(one): abs(elapsed_h(one.at, now)) if one.at else 0.0 for one in nearest}
    timed = [apart[id(one)] for one in nearest if one.at]
    reach_h = max(log_data().due_h.value, min(timed, default=0.0))
    return list(_with_beside(one for one in nearest if apart[id(one)] <= reach_h))


def of_the_sheet(day: Day) -> list[DueReading]:
    """Return all readings of a day row by row, a row hour by hour, as the grid of its sheet has them."""
    rows = [sorted(of, key=lambda one: one.at.timestamp() if one.at else 0.0) for of in _by_place(day).values()]
    return list(_with_beside(one for of in rows for one in of))


def _by_place(day: Day) -> dict[tuple[str, str, str], list[Expected]]:
    rows: dict[tuple[str, str, str], list[Expected]] = {}
    for one in sorted(day.readings, key=lambda one: (one.at is None, one.at.timestamp() if one.at else 0.0)):
        rows.setdefault((one.what, one.place, one.unit), []).append(one)
    return rows


def _nearest(of: list[Expected], now: datetime) -> Expected:
    return min(of, key=lambda one: abs(elapsed_h(one.at, now)) if one.at else 0.0)


def _with_beside(expected: Iterable[Expected]) -> Iterator[DueReading]:
    """Yield readings, each with what is asked beside it: of that the day expects nothing."""
    for one in expected:
        yield DueReading(kinds()[one.what], one.place, one, one.at)
        for other in kinds().values():
            if other.beside == one.what:
                yield DueReading(other, "", None, one.at)
