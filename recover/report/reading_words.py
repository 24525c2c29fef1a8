"""A reading that is expected in words: what and where, its band, beyond what the day ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recover.base.measures import SYMBOLS
from recover.plan.kinds import as_told, figure, kinds
from recover.report.paper import capital
from recover.report.words import words

if TYPE_CHECKING:
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
