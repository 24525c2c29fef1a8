"""A reading that is expected in words: what and where, its band, beyond what the day ends."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from recover.base.measures import SYMBOLS, show_number
from recover.judged.entry import ENTRY
from recover.judged.stops import LINING_STOP, STOP, UNHEATED
from recover.plan.kinds import as_told, figure, kinds, log_data
from recover.report.paper import capital
from recover.report.words import words

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from recover.asked.told import Logged
    from recover.plan.whole import Expected


def read_name(one: Expected) -> str:
    """Return what is read, and where."""
    return ", ".join(filter(None, (words().day.read[one.what], one.place)))


def logged_name(one: Logged) -> str:
    """Return what was logged, and where: as papers of a day name it, else by the label of its kind."""
    named: dict[str, str] = {str(what): label for what, label in words().day.read.items()}
    label = named.get(one.what) or (kinds()[one.what].label if one.what in kinds() else _as_written(one.what))
    return ", ".join(filter(None, (label, one.place)))


def _as_written(what: str) -> str:
    """Print a kind that only a later version knows."""
    return capital(what.replace("_", " "))


def with_unit(value: float | None, unit: str) -> str:
    """Print a reading with its unit, as finely as it is read; of what a share is stands at its band."""
    short = unit.partition(" ")[0]
    return f"{figure(value, unit)} {SYMBOLS.get(short, short)}".strip()


def as_read(value: float, unit: str) -> str:
    """Print what was read with its unit, as it was read: beside a band it lies where it says that it does."""
    short = unit.partition(" ")[0]
    return f"{show_number(value, 4)} {SYMBOLS.get(short, short)}".strip()


def band(one: Expected) -> str:
    """Print the band of a reading with its unit; nothing where nothing is expected."""
    if one.high is None:
        return words().day.least(low=with_unit(one.low, one.unit)) if one.low is not None else ""
    return words().span(first=figure(one.low, one.unit), last=with_unit(one.high, one.unit))


def beyond(one: Expected) -> str:
    """Say on which side of its stop figure a reading ends the day: insulation below it, all else above."""
    return words().status.act.beyond["below" if one.what == "insulation" else "above"]


def stop_line(one: Expected) -> str:
    """Print what ends the day: `Casing, lid above 55 °C`."""
    return f"{read_name(one)} {beyond(one)} {with_unit(as_told(one.stop, one.unit, down=True), one.unit)}"


# ---------------------------------------------------------------------------------------- what was logged


BAND = ("low", "high", STOP, UNHEATED, ENTRY, LINING_STOP)
"""What a line of the log keeps of what it was held against."""


def logged_figure(value: float | None, unit: str) -> str:
    """Print a figure of the log with its unit, as finely as it was read."""
    return "" if value is None else f"{show_number(value, 4)} {SYMBOLS.get(unit, unit)}".strip()


def clock_on(at: datetime, on: date) -> str:
    """Print a time of a day; with its date where that is another one."""
    return f"{at:%H:%M}" if at.date() == on else f"{at:%a} {at.day}, {at:%H:%M}"


def typed_late(said: datetime, written: datetime | None, *, by_logger: bool = False) -> str:
    """Say when something was typed, or a logger's file read in, where that was long after the moment that it is said to
    be of; else nothing.

    Who reads the log sees by it what was told from paper or memory.
    """
    late = timedelta(minutes=log_data().late_min.value)
    if written is None or written - said < late:
        return ""
    at = clock_on(written, said.date())
    return words().annex.read_in(at=at) if by_logger else words().annex.typed(at=at)


def conditions(one: Logged, *, beside: Collection[str] = ()) -> Iterator[str]:
    """Yield what was read and noted with a reading: its conditions, what was joined; not what is told `beside` it."""
    known = {detail.id: detail for detail in (kinds()[one.what].details if one.what in kinds() else ())}
    for name, value in one.details.items():
        if name not in BAND and name not in beside:
            detail = known.get(name)
            label, unit = (detail.label, detail.unit) if detail else (name.replace("_", " "), one.unit)
            yield words().annex.detail(name=label, value=logged_figure(value, unit))
    if one.joined:
        yield words().annex.joined(joined=one.joined.replace("_", " "))
