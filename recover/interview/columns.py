"""Which column of a logger's file is what, as somebody says it once: `Zeit=time, T1=casing@wall, RH=exhaust`."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

from recover.base.errors import AnswerError, DataError, Problem
from recover.base.measures import quoted, read_quantity
from recover.interview.round import place_named
from recover.plan.kinds import LogKind, kind_named

if TYPE_CHECKING:
    from recover.plan.whole import Expected

DateOrder = Literal["", "dmy", "mdy"]
TimeRole = Literal["time", "date", "clock"]


@dataclass(frozen=True)
class Channel:
    """A column that is a reading, or with `detail` a condition of one; `unit` as somebody wrote it, empty: its own."""

    name: str
    kind: LogKind
    place: str = ""
    detail: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Columns:
    """Which column is what: the names of those that tell when, and those that are readings."""

    times: Mapping[TimeRole, str]
    order: DateOrder
    channels: tuple[Channel, ...]

    @property
    def names(self) -> list[str]:
        """Every column that is read."""
        return [*self.times.values(), *(one.name for one in self.channels)]


def columns(said: str, there: Sequence[Sequence[Expected]]) -> Columns:
    """Read which column is what: `Zeit=time, T1=casing@wall, "T2=casing@lid, at the plug °F", RT=exhaust.degc F`.

    `there` is what each day of the plan expects.

    Raises DataError with everything that is wrong with it.
    """
    times: dict[TimeRole, str] = {}
    found: list[Channel] = []
    order: DateOrder = ""
    problems: list[Problem] = []
    for part in _parts(said):
        name, equals, target = (one.strip() for one in part.rpartition("="))
        try:
            if not equals or not name or not target:
                raise AnswerError("expected a column and what it is, as in 'T1=casing@wall'")
            role, *rest = target.split()
            if role in ("time", "date", "clock"):
                order = _order(rest) or order
                times[cast(TimeRole, role)] = name
            else:
                found.append(_channel(name, target, there))
        except AnswerError as error:
            problems.append(Problem(f"--columns {part}", str(error), "correct it"))
    if not problems and not (set(times) == {"time"} or set(times) == {"date", "clock"}):
        remedy = "add NAME=time, or its two parts, NAME=date, NAME=clock"
        problems.append(Problem("--columns", "does not say which column is the time", remedy))
    if not problems and not [one for one in found if not one.detail]:
        problems.append(Problem("--columns", "names no reading", "add one, as in 'T1=casing@wall'"))
    if problems:
        raise DataError(problems)
    return Columns(times, order, tuple(found))


def _parts(said: str) -> list[str]:
    """Part what was said at its commas. Raises DataError where it cannot be."""
    try:
        return next(csv.reader([said], skipinitialspace=True), [])
    except csv.Error as error:
        raise DataError([Problem("--columns", "is longer than anybody says it", "name fewer columns")]) from error


def _order(rest: Sequence[str]) -> DateOrder:
    """Read whether the day or the month comes first, where that is said. Raises AnswerError."""
    if not rest:
        return ""
    if rest[0] not in ("dmy", "mdy"):
        raise AnswerError(f"{quoted(' '.join(rest))} is no order of a date; expected dmy or mdy")
    return cast(DateOrder, rest[0])


def _channel(name: str, target: str, there: Sequence[Sequence[Expected]]) -> Channel:
    """Read what a column is: what, .detail, @place, unit; a place may hold blanks. Raises AnswerError."""
    what, at, place = target.partition("@")
    what, _, unit = (what, "", "") if at else target.partition(" ")
    what, _, detail = what.partition(".")
    kind = kind_named(what)
    if kind.sort != "reading":
        raise AnswerError(f"{quoted(what)} is no reading of a logger")
    if place:
        place, unit = _place_and_unit(place, kind)
        place, detail = _place_and_detail(place, kind, detail)
    if detail and detail not in [one.id for one in kind.details]:
        names = ", ".join(f"{kind.id}.{one.id}" for one in kind.details)
        raise AnswerError(f"{quoted(detail)} is not read with {kind.id}; expected {names or kind.id}")
    return Channel(name, kind, _place(place, kind, there), detail, unit.strip())


def _place(said: str, kind: LogKind, there: Sequence[Sequence[Expected]]) -> str:
    """Return a place as days call it. Without one: the only one that there is, and none where each day has one alone:
    it is that of the day of each row. Raises AnswerError."""
    days = [[one for one in day if one.what == kind.id] for day in there]
    alone = all(len({one.place for one in day}) < 2 for day in days)
    several = len({one.place for day in days for one in day}) > 1
    return "" if alone and several and not said else place_named(said, [one for day in days for one in day])


def _place_and_unit(said: str, kind: LogKind) -> tuple[str, str]:
    """Part a place from the unit behind it, the longest that is one: `lid, at the plug deg F`."""
    units = {kind.unit, *(one.unit for one in kind.details)}
    blanks = [at for at, letter in enumerate(said) if letter == " "]
    found = next((at for at in blanks if any(_is_unit(said[at:].strip(), unit) for unit in units)), None)
    return (said.strip(), "") if found is None else (said[:found].strip(), said[found:].strip())


def _is_unit(said: str, unit: str) -> bool:
    try:
        read_quantity(f"1 {said}", unit, unit_needed=True)
    except AnswerError:
        return False
    return True


def _place_and_detail(said: str, kind: LogKind, detail: str) -> tuple[str, str]:
    """Part a place from what is read there, where that stands behind it: `out.degc`."""
    place, point, last = said.rpartition(".")
    return (place, last) if point and last in {one.id for one in kind.details} else (said, detail)
