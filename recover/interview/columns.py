"""Which column of a logger's file is what, as somebody says it once: `Zeit=time, T1=casing@wall, RH=exhaust`."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

from recover.base.errors import AnswerError, DataError, Problem
from recover.base.measures import quoted
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


def columns(said: str, there: Sequence[Expected]) -> Columns:
    """Read which column is what: `Zeit=time, T1=casing@wall, "RH, out"=exhaust, RT=exhaust.degc F`.

    Raises DataError with everything that is wrong with it.
    """
    times: dict[TimeRole, str] = {}
    found: list[Channel] = []
    order: DateOrder = ""
    problems: list[Problem] = []
    for part in next(csv.reader([said], skipinitialspace=True), []):
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


def _order(rest: Sequence[str]) -> DateOrder:
    """Read whether the day or the month comes first, where that is said. Raises AnswerError."""
    if not rest:
        return ""
    if rest[0] not in ("dmy", "mdy"):
        raise AnswerError(f"{quoted(' '.join(rest))} is no order of a date; expected dmy or mdy")
    return cast(DateOrder, rest[0])


def _channel(name: str, target: str, there: Sequence[Expected]) -> Channel:
    """Read what a column is: what, @place, .detail, unit. Raises AnswerError."""
    what, _, unit = target.partition(" ")
    what, _, detail = what.partition(".")
    what, _, place = what.partition("@")
    kind = kind_named(what)
    if kind.sort != "reading":
        raise AnswerError(f"{quoted(what)} is no reading of a logger")
    if detail and detail not in [one.id for one in kind.details]:
        names = ", ".join(f"{kind.id}.{one.id}" for one in kind.details)
        raise AnswerError(f"{quoted(detail)} is not read with {kind.id}; expected {names or kind.id}")
    return Channel(name, kind, place_named(place, [one for one in there if one.what == kind.id]), detail, unit.strip())
