"""Reads the file of a data logger as lines of the log: its own columns, its own way to write numbers and times.

All of it can be read or nothing is kept: every line that cannot is told with its number. A lining changes in hours and
a logger writes every second: of each ten minutes a channel keeps its first row, and what lies highest and lowest in
them where that differs. The same file gives the same rows, so that rows imported twice are taken once.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cached_property
from pathlib import Path
from zoneinfo import ZoneInfo

from recover.base.errors import AnswerError, DataError, Problem
from recover.base.measures import CLOCKS_APART, SYMBOLS, quoted, read_quantity, show_moment
from recover.interview.columns import Channel, Columns, DateOrder
from recover.interview.logbook import ToLog
from recover.plan.kinds import Typed, log_data, logged_unit

_DELIMITERS = (";", "\t", ",", "|")
_HEAD_LINES = 60
"""So far down a file the line with the names of its columns is looked for: loggers write about themselves first."""
_LARGEST_BYTES = 500_000_000
_MOST_SHOWN = 20
"""So many names of columns, and letters of one, are told: nobody reads on."""
_MOST_WRONG_MIN = 10 * 366 * 24 * 60
"""A clock that lost its battery begins years ago; ten of them, and it is another drying."""
_LINE_ENDS = ("\n", "\r")
_NOTHING = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "none", "null", "err", "error", "open", "over", "fail"})
"""How loggers write that a channel told nothing."""
_PLAIN = re.compile(r"[+-]?\d{1,9}(?:\.\d{1,12})?")
_CLOCK_TIME = re.compile(r"(\d\d?):(\d\d)(?::(\d\d)(?:[.,]\d+)?)?\s*([aApP])?\.?[mM]?\.?")
_ISO_DAY = re.compile(r"(\d{4})[-/.](\d\d?)[-/.](\d\d?)")
_DOTTED = re.compile(r"(\d\d?)\.(\d\d?)\.(\d{4}|\d\d)")
_SLASHED = re.compile(r"(\d\d?)[/-](\d\d?)[/-](\d{4}|\d\d)")
_IN_BRACKETS = re.compile(r"[\[(]\s*([^\])]{1,8}?)\s*[\])]")


# ---------------------------------------------------------------------------------------- the file


@dataclass
class LoggerRows:
    """What was read out of a file: the lines to log, in their order, and what is said of how it was read."""

    lines: list[ToLog] = field(default_factory=list)
    says: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Found:
    """A file as it lies there: its lines, how they are parted, where the names of its columns stand."""

    file: str
    lines: list[str]
    delimiter: str
    head: int
    at: Mapping[str, int]

    width: int
    ended: bool
    """Whether its last line has an end: else its last number may lack figures."""

    def cells(self, line: str) -> list[str]:
        return _cells(line, self.delimiter)


def _cells(line: str, delimiter: str) -> list[str]:
    """Part a line into cells; a cell that no logger writes is no cell: such a line is one word."""
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return [line]


def read_logger(
    path: Path, mapping: Columns, *, zone: ZoneInfo, now: datetime, between: tuple[datetime, datetime] | None,
    fahrenheit: bool, behind: timedelta = timedelta(),
) -> LoggerRows:  # fmt: skip
    """Read a logger's file; `between`: only rows of this time are logged, as those of the days of a plan; `behind`:
    how slow its clock stood.

    Raises DataError with every line that cannot be read.
    """
    found = _found(path, mapping)
    reader = _Reader(found, mapping, zone, now, between, fahrenheit=fahrenheit, behind=behind)
    reader.read()
    if reader.problems:
        raise DataError(reader.problems)
    return reader.rows()


def read_clock(said: str) -> timedelta:
    """Read how a logger's clock stood, `60 min slow`, as how far it was behind. Raises AnswerError."""
    if not said.strip():
        return timedelta()
    words, _, way = said.strip().rpartition(" ")
    if way.casefold() not in ("slow", "fast") or not words:
        raise AnswerError(f"--clock {said}: {quoted(said)} does not say how it stood; expected as '60 min slow'")
    minutes = round(60 * read_quantity(words, "hour", unit_needed=True))
    if not 0 < minutes <= _MOST_WRONG_MIN:
        raise AnswerError(f"--clock {said}: {quoted(said)} cannot be right here; expected 1 min to ten years")
    return timedelta(minutes=minutes if way.casefold() == "slow" else -minutes)


def note_of(behind: timedelta) -> str:
    """Return what stands beside each line of a logger whose clock stood wrong; empty where it did not."""
    minutes = round(behind / timedelta(minutes=1))
    return log_data().say["slow" if minutes > 0 else "fast"].format(minutes=abs(minutes)) if minutes else ""


def read_text(path: Path) -> str:
    """Return the text of a file in one of the ways that loggers write it. Raises DataError."""
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise DataError([Problem(str(path), "is larger than any logger's file of a drying", "part it by weeks")])
        content = path.read_bytes()
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise DataError([Problem(str(path), what, "name the file that the logger wrote")]) from error
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise DataError([Problem(str(path), "is a spreadsheet and no text", "save it as CSV, and name that file")])
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    if b"\0" in content:
        raise DataError(
            [Problem(str(path), "is no text: it holds bytes that no text has", "copy it off the logger again")]
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


def _found(path: Path, mapping: Columns) -> _Found:
    """Find the line that names the columns. Raises DataError."""
    text = read_text(path)
    lines = text.splitlines()
    if not any(line.strip() for line in lines):
        raise DataError([Problem(str(path), "is empty", "copy it off the logger again")])
    wanted = [_folded(name) for name in mapping.names]
    for number, line in enumerate(lines[:_HEAD_LINES]):
        for delimiter in _DELIMITERS:
            names = [_folded(one) for one in _cells(line, delimiter)]
            if all(name in names or _number_of(name) for name in wanted) and len(names) > 1:
                at = {one: _number_of(one) - 1 if _number_of(one) else names.index(one) for one in wanted}
                twice = [one for one in wanted if names.count(one) > 1]
                if twice:
                    what = f"has the column {quoted(twice[0])} twice"
                    raise DataError([Problem(f"{path} line {number + 1}", what, "name it by its number, as #3")])
                return _Found(str(path), lines, delimiter, number, at, len(names), ended=text.endswith(_LINE_ENDS))
    there = column_names(lines)
    lacking = [name for name in mapping.names if _folded(name) not in [_folded(one) for one in there]]
    what = f"has no line with the columns {', '.join(lacking or mapping.names)}; it has {named(there)}"
    raise DataError([Problem(str(path), what, "say with --columns which column is what")])


def column_names(lines: Sequence[str]) -> list[str]:
    """Return what looks like the names of columns: the first of the lines that part into the most words."""
    best: list[str] = []
    for line in lines[:_HEAD_LINES]:
        for delimiter in _DELIMITERS:
            cells = [one.strip() for one in _cells(line, delimiter)]
            if len(cells) > len(best) and len(cells) > 1:
                best = cells
    return best


def named(names: Sequence[str]) -> str:
    """Return names of columns as far as a person reads on."""
    shown = [name if len(name) <= _MOST_SHOWN else f"{name[:_MOST_SHOWN]}…" for name in names[:_MOST_SHOWN]]
    more = [f"and {len(names) - len(shown)} more"] if len(names) > len(shown) else []
    return ", ".join([*shown, *more]) or "none"


def _folded(name: str) -> str:
    return name.strip().casefold()


def _number_of(name: str) -> int:
    """Return the number of a column that is named by it, as #3; 0 for a name."""
    return int(name[1:]) if name.startswith("#") and name[1:].isdecimal() else 0


# ---------------------------------------------------------------------------------------- its rows


@dataclass
class _Slot:
    """The rows of one channel within ten minutes that are kept: the first, the highest, the lowest."""

    first: tuple[float, float, int]
    high: tuple[float, float, int]
    low: tuple[float, float, int]

    def take(self, row: tuple[float, float, int]) -> None:
        if row[1] > self.high[1]:
            self.high = row
        if row[1] < self.low[1]:
            self.low = row

    def rows(self, differs: float) -> set[tuple[float, float, int]]:
        apart = {one for one in (self.high, self.low) if abs(one[1] - self.first[1]) > differs}
        return {self.first, *apart}


class _Reader:
    """Goes through the rows of a file once: reads when, reads each channel, keeps what is kept of each slot."""

    def __init__(self, found: _Found, mapping: Columns, zone: ZoneInfo, now: datetime,
                 between: tuple[datetime, datetime] | None, *, fahrenheit: bool,
                 behind: timedelta) -> None:  # fmt: skip
        self.found, self.mapping, self.zone, self.fahrenheit = found, mapping, zone, fahrenheit
        self.problems: list[Problem] = []
        self._latest = (now + CLOCKS_APART).timestamp()
        self._between = (between[0].timestamp(), between[1].timestamp()) if between else None
        self._slots: dict[tuple[int, int], _Slot] = {}
        self._details: dict[tuple[int, str], dict[int, float]] = {}
        self._left_out = self._no_reading = self._told = 0
        self._before, self._slot_s = float("-inf"), 60 * log_data().thin_min.value
        self._oldest = (now - timedelta(minutes=_MOST_WRONG_MIN)).timestamp()
        self._said: list[str] = []
        self._once: set[str] = set()
        self._last: dict[int, tuple[float, float, int]] = {}
        self._width = 0
        self._behind_s, self._note = behind.total_seconds(), note_of(behind)

    # ------------------------------------------------------------------------------------ once over all rows

    def read(self) -> None:
        """Go through every row; what cannot be read stands among the problems."""
        of = [_Column(one, self.found.at[_folded(one.name)], self._scale(one)) for one in self.mapping.channels]
        when, least = self._when(), 1 + max(self.found.at.values())
        last = max((number for number, line in enumerate(self.found.lines, start=1) if line.strip()), default=0)
        begins = self.found.head + 1
        if not any(line.strip() for line in self.found.lines[begins:]):
            what, remedy = "has a head and no rows below it", "copy it off the logger again"
            self.problems.append(Problem(self.found.file, what, remedy))
        for number, line in enumerate(self.found.lines[begins:] if not self.problems else (), start=begins + 1):
            if not line.strip():
                continue
            cells = self.found.cells(line)
            before, self._width = self._width, len(cells)
            if number == last and (why := self._half_written(number, len(cells), before)):
                self._said_once("end", f"line {number}, the last, {why}, and it is left out. Copied off again, it is "
                                       "taken.")  # fmt: skip
            elif len(cells) < least:
                self._wrong(number, f"ends after {len(cells)} of {least} columns; was it still being written?")
            elif any(cell.strip() for cell in cells[self.found.width :]):
                wide = f"has {len(cells)} columns, and its head {self.found.width}"
                self._wrong(number, f"{wide}: are its decimals and its columns parted alike?")
            elif (at := self._time(when, cells, number)) is not None:
                self._row(of, cells, at, number)

    def _half_written(self, number: int, columns: int, before: int) -> str:
        """Return why the last row was still being written; empty where it was not: it has no end, or fewer columns than
        the head and the row before it."""
        if not self.found.ended and number == len(self.found.lines):
            return "has no end: its last number may lack figures"
        of = min(before, self.found.width)
        return f"ends after {columns} of {of} columns: it was still being written" if columns < of else ""

    def _time(self, when: Callable[[Sequence[str]], float], cells: Sequence[str], number: int) -> float | None:
        """Read when a row is of; None where that cannot be, which then stands among the problems."""
        try:
            at = when(cells)
        except AnswerError as error:
            self._wrong(number, str(error))
            return None
        if at > self._latest:
            self._wrong(number, f"{self._shown(at)} has not come yet; is the logger's clock set?")
            return None
        if at < self._oldest:
            self._wrong(number, f"{self._shown(at)} cannot be right; is the logger's clock set?")
            return None
        if at < self._before - 1 and 0 <= at + 3600 - self._before < 3600 and self._comes_twice(at):
            at += 3600
            self._said_once("twice", f"line {number}: the clocks went back at night, and this hour comes twice. Its "
                                     "rows are read in their order.")  # fmt: skip
        if at < self._before - 1:
            self._clock_back(number, self._before, at)
        self._before = at
        return at

    def _comes_twice(self, at: float) -> bool:
        """Whether the clock of the job shows a moment again an hour later."""
        one, other = (datetime.fromtimestamp(moment, self.zone) for moment in (at, at + 3600))
        return one.replace(tzinfo=None, fold=0) == other.replace(tzinfo=None, fold=0)

    def _said_once(self, what: str, say: str) -> None:
        if what not in self._once:
            self._once.add(what)
            self._said.append(say)

    def _row(self, of: Sequence[_Column], cells: Sequence[str], at: float, number: int) -> None:
        inside = self._between is None or self._between[0] <= at <= self._between[1]
        self._left_out += not inside
        for place, column in enumerate(of):
            value = self._value(column, cells[column.at], number)
            if value is not None and inside:
                self._take(place, column, (at, value, number), int(at // self._slot_s))

    def _take(self, place: int, column: _Column, row: tuple[float, float, int], slot: int) -> None:
        if column.of.detail:
            self._details.setdefault((self._owner(column.of), column.of.detail), {})[row[2]] = row[1]
            return
        self._told += 1
        held = self._slots.get((place, slot))
        last = self._last.get(place)
        if last and last[0] == row[0] and abs(last[1] - row[1]) > column.of.kind.differs:
            self._said_once("moment", f"line {row[2]}: {column.of.name} tells {last[1]:g} and {row[1]:g} of the same "
                                      "moment. Both are kept; look which is right.")  # fmt: skip
        self._last[place] = row
        if held is None:
            self._slots[place, slot] = _Slot(row, row, row)
        else:
            held.take(row)

    def _owner(self, of: Channel) -> int:
        """Return the place of the reading that a condition belongs to; its own where there is none."""
        same = [
            place for place, one in enumerate(self.mapping.channels)
            if (one.kind.id, one.place, one.detail) == (of.kind.id, of.place, "")
        ]  # fmt: skip
        return same[0] if same else -1

    def _wrong(self, number: int, what: str) -> None:
        where = f"{self.found.file} line {number}"
        self.problems.append(Problem(where, what, "correct it, or take the line out; nothing was kept"))

    def _clock_back(self, number: int, before: float, at: float) -> None:
        if len(self._said) < 3:
            back = f"line {number}: the logger's clock goes back from {self._shown(before)} to {self._shown(at)}"
            self._said.append(f"{back}. Was it set, or did the clocks change? Say which rows are right; "
                              "recover log JOB --take-back LINES --note WHY takes out what is not.")  # fmt: skip

    def _shown(self, at: float) -> str:
        try:
            return show_moment(datetime.fromtimestamp(at, self.zone))
        except (OverflowError, ValueError, OSError):
            return "its moment"

    # ------------------------------------------------------------------------------------ a cell

    def _scale(self, of: Channel) -> tuple[float, float]:
        """Return by what a number of a column is multiplied, and what is added, to be in the unit of the log."""
        unit = _unit_of(of)
        own = of.unit or next(iter(_IN_BRACKETS.findall(of.name)), "")
        needed = of.kind.needs_unit == "always" or (unit == "degC" and self.fahrenheit)
        if not own and needed and not of.detail:
            what = f"does not say in which unit {quoted(of.name)} is"
            self.problems.append(Problem("--columns", what, f"add it, as in '{of.name}={of.kind.id} {SYMBOLS[unit]}'"))
        try:
            begins, one = (read_quantity(f"{number} {own}", unit) for number in (0, 1)) if own else (0.0, 1.0)
        except AnswerError:
            what = f"{quoted(own)} is no unit of {of.kind.id} ({SYMBOLS[unit]})"
            self.problems.append(Problem(f"--columns {of.name}", what, "say which, as in 'T1=casing@wall °F'"))
            return 1.0, 0.0
        return one - begins, begins

    def _value(self, column: _Column, cell: str, number: int) -> float | None:
        """Read one cell in the unit of the log; None where the channel told nothing."""
        text = cell.strip()
        if text.casefold() in _NOTHING:
            self._no_reading += bool(text)
            return None
        try:
            plain = self._plain(text)
            value = read_quantity(text, column.unit) if plain is None else plain * column.scale[0] + column.scale[1]
        except AnswerError as error:
            self._wrong(number, f"{column.of.name}: {error}")
            return None
        if not column.least <= value <= column.most:
            shown = f"{quoted(text)} cannot be right for {column.of.kind.label.lower()}"
            self._wrong(
                number,
                f"{column.of.name}: {shown}; expected {column.least:g} to {column.most:g} {SYMBOLS[column.unit]}",
            )
            return None
        return value

    def _plain(self, text: str) -> float | None:
        """Read a bare number as this file writes it: where commas part no columns, a comma is a decimal one."""
        if text.count(",") == 1 and "." not in text and self.found.delimiter != ",":
            text = text.replace(",", ".")
        return float(text) if _PLAIN.fullmatch(text) else None

    # ------------------------------------------------------------------------------------ when

    def _when(self) -> Callable[[Sequence[str]], float]:
        """Return what reads the moment of a row, as seconds."""
        parts = [self.found.at[_folded(self.mapping.times[role])] for role in ("time", "date", "clock")
                 if role in self.mapping.times]  # fmt: skip
        zone, order = self.zone, self._order_of(parts[0])

        def when(cells: Sequence[str]) -> float:
            text = " ".join(cells[part].strip() for part in parts)
            moment = _moment(text, order, zone)
            if not self._behind_s and moment.tzinfo is zone and _is_left_out(moment):
                raise AnswerError(f"{quoted(text)} is no moment: the clocks went forward then. Does the logger keep "
                                  "winter time? Part the file there, and say so with --clock")  # fmt: skip
            return moment.timestamp() + self._behind_s

        return when

    def _order_of(self, column: int) -> DateOrder:
        """Return whether day or month comes first: as was said, or as a date of the file shows that can be but one."""
        if self.mapping.order:
            return self.mapping.order
        for line in self.found.lines[self.found.head + 1 :]:
            cells = self.found.cells(line)
            found = _SLASHED.match(cells[column].strip()) if len(cells) > column else None
            if found and max(int(found[1]), int(found[2])) > 12:
                return "dmy" if int(found[1]) > 12 else "mdy"
        return ""

    # ------------------------------------------------------------------------------------ what is kept

    def rows(self) -> LoggerRows:
        """Return the lines to log, in the order of their moments."""
        return LoggerRows(sorted(self._lines(), key=lambda one: one.at.timestamp()), [*self._said, *self._sums()])

    def _lines(self) -> Iterator[ToLog]:
        for (place, _), slot in self._slots.items():
            of = self.mapping.channels[place]
            unit = logged_unit(of.kind.unit, of.kind)
            for at, value, number in sorted(slot.rows(of.kind.differs)):
                typed = Typed(round(value, 4), unit, details=self._conditions(place, number))
                yield ToLog(of.kind, typed, datetime.fromtimestamp(at, self.zone), of.place, self._note)

    def _conditions(self, place: int, number: int) -> dict[str, float]:
        return {
            detail: round(rows[number], 4)
            for (owner, detail), rows in self._details.items()
            if owner == place and number in rows
        }

    def _sums(self) -> Iterator[str]:
        kept = sum(
            len(slot.rows(self.mapping.channels[place].kind.differs)) for (place, _), slot in self._slots.items()
        )
        if self._note:
            yield f"{self._note[0].upper()}{self._note[1:]}; each of its lines says so."
        if kept < self._told:
            every = f"{log_data().thin_min.value:g} minutes"
            yield f"{self._told} readings, {kept} of them kept: one every {every}, and what rose or fell in between."
        if self._left_out:
            yield f"{self._left_out} rows lie before or after the days of the plan and are left out."
        if self._left_out and not kept:
            yield "No row is of a day of the plan: did the logger's clock stand wrong? Say how with --clock."
        if self._no_reading:
            yield f"{self._no_reading} cells hold no reading: was a probe off?"


@dataclass(frozen=True)
class _Column:
    """A channel at its place in a row, with its scale."""

    of: Channel
    at: int
    scale: tuple[float, float]

    @cached_property
    def _detail(self) -> tuple[float, float, str]:
        found = next((one for one in self.of.kind.details if one.id == self.of.detail), None)
        kind = self.of.kind
        return (found.least, found.most, found.unit) if found else (kind.least, kind.most, kind.unit)

    @cached_property
    def least(self) -> float:
        return self._detail[0]

    @cached_property
    def most(self) -> float:
        return self._detail[1]

    @property
    def unit(self) -> str:
        return self._detail[2]


def _unit_of(of: Channel) -> str:
    return next((one.unit for one in of.kind.details if one.id == of.detail), of.kind.unit)


def _moment(text: str, order: DateOrder, zone: ZoneInfo) -> datetime:
    """Read when a row is of, seconds and all. Raises AnswerError."""
    try:
        moment = datetime.fromisoformat(text)
        if len(text) > len("2026-03-07"):
            return moment if moment.tzinfo else moment.replace(tzinfo=zone)
    except ValueError:
        pass
    day, _, clock = text.replace("T", " ").partition(" ")
    parts = _day_parts(day.rstrip(","), order)
    found = _CLOCK_TIME.fullmatch(clock.strip())
    if parts is None or found is None:
        raise AnswerError(f"{quoted(text)} is no moment; expected a date and a clock time, as in '2026-03-07 18:00:00'")
    hour = int(found[1]) % 12 + 12 * (found[4].lower() == "p") if found[4] else int(found[1])
    try:
        return datetime(*parts, hour, int(found[2]), int(found[3] or 0), tzinfo=zone)
    except ValueError as error:
        raise AnswerError(f"{quoted(text)} is no moment; expected one as '2026-03-07 18:00:00'") from error


def _is_left_out(moment: datetime) -> bool:
    """Whether a clock time was left out on its day: the clocks went forward over it."""
    return moment.astimezone(UTC).astimezone(moment.tzinfo).replace(tzinfo=None) != moment.replace(tzinfo=None)


def _day_parts(text: str, order: DateOrder) -> tuple[int, int, int] | None:
    """Return year, month, day. Raises AnswerError where day and month can be told in two ways."""
    if found := _ISO_DAY.fullmatch(text):
        return int(found[1]), int(found[2]), int(found[3])
    dotted = _DOTTED.fullmatch(text)
    found = dotted or _SLASHED.fullmatch(text)
    if not found:
        return None
    one, other, year = (int(part) for part in found.groups())
    year += 2000 if year < 100 else 0
    if not (dotted or order) and one != other:
        raise AnswerError(f"{quoted(text)} can be read in two ways; add dmy or mdy in --columns, as in 'Time=time dmy'")
    return (year, one, other) if order == "mdy" and not dotted else (year, other, one)
