"""A round of readings: what is due now, or all rows of a day's sheet, each on the disk before the next is asked.

It is asked by whatever speaks with whoever reads: a terminal, or a stream of lines. Each reading is answered at once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import Protocol, TextIO

from recover.asked.said import come, person
from recover.base.errors import AnswerError, command
from recover.base.measures import SYMBOLS, convert, quoted, read_moment, show_number, show_quantity
from recover.interview.from_form import Say
from recover.interview.logbook import Entry, LogBook, still_a_stop
from recover.interview.prompter import Back, Leave
from recover.interview.typed import Read, Turned, broken, until_it_fits
from recover.plan.answered import band_text, stop_text, value_text
from recover.plan.due import DueReading
from recover.plan.kinds import LogDetail, LogKind, Typed, kind_named, kinds, log_data, read_condition, read_typed
from recover.plan.whole import Day, Expected

_WORDS = re.compile(r"\w+")
_PLACE_THEN_NUMBER = re.compile(r"([^@]*@.*\S)\s+([<>]?[+-]?[\d.,]+\s*[^\s\d]*(?:\s*;.*|\s*@.*)?|\?)")
_OWN_TIME = re.compile(r"(.*\S)\s*@\s*(\S.*)")


class RoundKeeper(Protocol):
    """Somebody who takes readings, line by line."""

    def row(self, text: str, read: Callable[[str], Read]) -> Read:
        """Ask for one line until it can be read; Enter alone is an empty one, the end of all lines is `leave`."""
        ...

    def say(self, text: str) -> None:
        """Say something that needs no reply."""
        ...


class FormLines:
    """Readings as lines of a stream: a filled-in sheet that is copied, or a file of lines."""

    def __init__(self, lines: TextIO, say: Say) -> None:
        """Take where lines come from, and how to write one."""
        self._lines, self._write, self._echo = lines, say, not lines.isatty()

    def row(self, text: str, read: Callable[[str], Read]) -> Read:
        """Show what a line is for, and take lines until one can be read."""
        return until_it_fits(partial(self._typed, text), read, lambda message: self.say(f"  ! {message}"))

    def _typed(self, text: str) -> str:
        self._write(f"{text} > ", nl=False)
        line = self._lines.readline()
        if self._echo:
            self._write(line.rstrip("\n"))
        return line.strip() if line else "leave"

    def say(self, text: str) -> None:
        """Write lines, broken between words."""
        for line in text.split("\n"):
            self._write(broken(line))


class Round:
    """One way through rows of readings. `live`: they are taken now, and a stop ends the round."""

    def __init__(self, book: LogBook, keeper: RoundKeeper, rows: Sequence[DueReading], *, day: Day | None,
                 at: datetime | None = None, form: bool = False, fahrenheit: bool = False,
                 named: bool = False) -> None:  # fmt: skip
        """Take where it is written, who is asked, the rows, and the moment, where it is not that of typing; `named`:
        who reads was said already."""
        self.book, self.keeper, self.rows, self.day = book, keeper, rows, day
        self._at, self._form, self._fahrenheit, self._is_named = at, form, fahrenheit, named
        self._own: datetime | None = None
        self._place, self._entries = 0, dict[int, Entry]()
        self.live = not form and at is None

    def run(self) -> None:
        """Ask who reads, each row, what else there is, and what was seen. All that was answered is kept."""
        parts = (self._who, self._all_rows, self._all_else, self._seen)
        at = 0
        while at < len(parts):
            try:
                if not parts[at]():
                    return
                at += 1
            except Turned as turned:
                if isinstance(turned.reply, Leave):
                    return
                at, self._place = max(at - 1, 0), max(len(self.rows) - 1, 0) if at > 1 else 0

    def _who(self) -> bool:
        """Ask who reads, unless the command said it; say that the round goes on."""
        if not self._is_named:
            text = log_data().ask.who.format(who=self.book.by)
            self.book.by = self._line(text, lambda typed: person(typed) if typed else self.book.by)
        return True

    # ------------------------------------------------------------------------------------ the rows

    def _all_rows(self) -> bool:
        """Ask row by row; say whether the round goes on."""
        while self._place < len(self.rows):
            try:
                goes_on = self._row(self._place)
            except Turned as turned:
                if isinstance(turned.reply, Leave) or self._place == 0:
                    raise
                self._place -= 1
                continue
            if not goes_on:
                return False
            self._place += 1
        return True

    def _row(self, place: int) -> bool:
        """Ask for one row, in the place of what was kept of it before; say whether the round goes on."""
        row = self.rows[place]
        typed = self._typed_of(replace(row, expected=self.book.expects(row, self._moment(row))))
        if typed is None:
            return True
        if place in self._entries:
            self._correct(self._entries[place])
        self._entries[place] = self._keep(row, typed)
        return not self._ends(self._entries[place])

    def _correct(self, before: Entry) -> None:
        """Take back what was kept before of a row; of a stop ask why, for without a reason it stays one."""
        ask, why = log_data().ask, ""
        if before.answer.stops:
            why = self._line(ask.why.format(value=value_text(before.one)), str.strip)
        gone = self.book.take_back(before.one.line, why)
        for line in still_a_stop(gone, why, self.book) if before.answer.stops else ():
            self.keeper.say(f"  {line}")

    def _typed_of(self, row: DueReading) -> Typed | None:
        """Ask for one row, with what is read with it; None for Enter alone. Raises Turned."""
        self._own = None
        expected = row.expected.unit if row.expected else ""
        while True:
            typed = self._line(self._text(row), lambda said: self._reading(row.kind, said, expected))
            try:
                return self._completed(row.kind, typed) if typed else None
            except Turned as turned:  # back out of what is read with it: to the reading itself
                if isinstance(turned.reply, Leave):
                    raise

    def _reading(self, kind: LogKind, said: str, expected: str) -> Typed | None:
        if not said:
            return None
        said, self._own = self._own_time(said)
        return read_typed(kind, said, expected=expected, fahrenheit=self._fahrenheit)

    def _own_time(self, said: str) -> tuple[str, datetime | None]:
        """Part what was typed from the time of its own behind it. Raises AnswerError."""
        found = _OWN_TIME.fullmatch(said)
        if not found:
            return said, None
        today = self.day.date if self.day else self.book.now().date()
        return found[1], come(read_moment(found[2], self.book.zone, today), self.book.now())

    def _completed(self, kind: LogKind, typed: Typed) -> Typed:
        """Ask for what is read with a reading and was not typed behind it; Enter alone leaves it out."""
        if typed.value is None:
            return typed
        last = self.book.last(kind)
        joined, details = typed.joined, dict(typed.details)
        if kind.joined and not joined:
            before = last.joined if last else ""
            joined = self._line(_text_with(log_data().ask.joined, before), partial(_as_before, before, str)) or ""
        for detail in (one for one in kind.details if one.id not in details):
            value = self._condition(detail, last.details.get(detail.id) if last else None)
            details |= {} if value is None else {detail.id: value}
        return replace(typed, joined=joined, details=details)

    def _condition(self, detail: LogDetail, before: float | None) -> float | None:
        text = log_data().ask.condition.format(label=detail.label, unit=SYMBOLS[detail.unit])
        shown = "" if before is None else show_quantity(before, detail.unit)
        needed = self._fahrenheit and detail.unit == "degC"

        def read(said: str) -> float | None:
            if said == "=" and before is not None:
                return before
            return read_condition(detail, said, needed=needed) if said and said != "?" else None

        return self._line(_text_with(text, shown), read)

    def _keep(self, row: DueReading, typed: Typed) -> Entry:
        entry = self.book.write(row.kind, typed, at=self._own or self._moment(row), place=row.place)
        self._tell(entry)
        return entry

    def _moment(self, row: DueReading) -> datetime:
        """Return of when a row is, where nothing else stands behind it: what its band is told for."""
        return self._at or (self._of_the_row(row) if self._form else self.book.now())

    def _of_the_row(self, row: DueReading) -> datetime:
        """Return the hour of a row of the sheet; of what is read over a day, when whoever attends leaves."""
        leaves = self.day.attended_to if self.day else None
        at = row.at or leaves or self.book.now()
        return min(at.astimezone(self.book.zone), self.book.now(), key=lambda one: one.timestamp())

    # ------------------------------------------------------------------------------------ what else there is

    def _all_else(self) -> bool:
        """Take anything else that was read, until Enter alone; say whether the round goes on."""
        while found := self._line(log_data().ask.more, self._named):
            kind, place, typed = found
            entry = self._keep(DueReading(kind, place, None, None), self._completed(kind, typed))
            if self._ends(entry):
                return False
        return True

    def _named(self, said: str) -> tuple[LogKind, str, Typed] | None:
        """Read what was read and what of it was: `kwh 14.2`, `casing@lid 44`. Raises AnswerError."""
        if not said:
            return None
        name, place, value = _parted(said)
        kind, value = kind_named(name), value.strip()
        typed = self._reading(kind, value, "")
        if typed is None or kind.sort == "event":
            raise AnswerError(f"{quoted(said)} names no reading; expected what and its value, as in 'kwh 14.2'")
        there = [one for one in (self.day.readings if self.day else ()) if one.what == kind.id]
        return kind, place_named(place, there), typed

    def _seen(self) -> bool:
        """Ask in one line for drips, smell and trips; say whether the round goes on."""
        words = quick_words()
        self._own = None
        text = log_data().ask.seen.format(words=", ".join(words))
        for kind, word in self._line(text, partial(_quick, words)):
            entry = self._keep(DueReading(kind, "", None, None), Typed(word=word))
            if self._ends(entry):
                return False
        return True

    # ------------------------------------------------------------------------------------ one line

    def _line(self, text: str, read: Callable[[str], Read]) -> Read:
        """Ask for one line; say for `help` what may be typed. Raises Turned for `back` and `leave`."""

        def turned_or_read(said: str) -> Read:
            word = said.lower()
            if word in ("help", "h"):
                raise AnswerError(log_data().ask.help)
            if word in ("back", "/"):
                raise Turned(Back())
            if word in ("leave", "q"):
                raise Turned(Leave())
            return read(said)

        return self.keeper.row(text, turned_or_read)

    def _text(self, row: DueReading) -> str:
        """Return what is asked for in a row: what, where, when on the sheet, its band."""
        ask, band = log_data().ask, self._band(row.expected)
        at = ask.at.format(at=f"{row.at.astimezone(self.book.zone):%H:%M}") if self._form and row.at else ""
        return ask.row.format(
            label=row.kind.label, place=f", {row.place}" if row.place else "", at=at,
            band=ask.band.format(band=band) if band else ask.band.format(band=SYMBOLS[row.kind.unit]),
            before=self._before(row),
        )  # fmt: skip

    def _before(self, row: DueReading) -> str:
        """Return what was read of a row within the hour, as before a round that was broken off; empty for nothing."""
        kept = self.book.kept_of(row, self._moment(row))
        at = f"{kept.measured.astimezone(self.book.zone):%H:%M}" if kept else ""
        return log_data().ask.before.format(at=at, value=value_text(kept)) if kept else ""

    def _band(self, expected: Expected | None) -> str:
        """Return a band with its stop; in degrees Fahrenheit as well, where those are read."""
        if expected is None:
            return ""
        stop = log_data().ask.stop.format(stop=stop_text(expected)) if expected.stop is not None else ""
        told = ", ".join(filter(None, (band_text(expected), stop))) or expected.unit
        if not self._fahrenheit or expected.unit != SYMBOLS["degC"] or expected.low is None or expected.high is None:
            return told
        low, high = (show_number(round(convert(one, "degC", "degF"))) for one in (expected.low, expected.high))
        high = f"{high} {SYMBOLS['degF']}"
        return f"{log_data().say['band'].format(low=low, high=high)}; {told}"

    def _tell(self, entry: Entry) -> None:
        self.keeper.say("\n".join(f"  {line}" for line in entry.answer.lines))

    def _ends(self, entry: Entry) -> bool:
        """Say whether a stop ends a round of readings that are taken now."""
        if not entry.answer.stops:
            return False
        log, ask = partial(command, "log", self.book.job.folder, *self.book.whose), log_data().ask
        if entry.one.what != "stopped":
            self.keeper.say("  " + ask.off.format(command=log("--happened", "other", "--note", "WHY")))
            back = log("--take-back", str(entry.one.line), "--note", "WHY")
            self.keeper.say("  " + ask.mistyped.format(command=back))
        if self.live:
            self.keeper.say("  " + ask.broken.format(command=log()))
        return self.live


def head_of(label: str, day: Day | None, at: datetime, number: int, *, form: bool) -> str:
    """Return what stands above a round: of which day, and what may be typed."""
    ask = log_data().ask
    if day is None:
        return ask.no_day.format(kiln=label, at=f"{at:%Y-%m-%d %H:%M}", help=ask.help)
    said = ask.sheet if form else ask.head
    return said.format(kiln=label, day=day.number, at=f"{at:%H:%M}", number=number, help=ask.help)


def place_named(said: str, there: Iterable[Expected]) -> str:
    """Return a place as days call it, of which the beginning is enough, or any words of it; one that none calls stays
    as it was said.

    Where no place is said it is the only one that there is. Raises AnswerError where several begin so.
    """
    wanted, places = said.strip().casefold(), list(dict.fromkeys(one.place for one in there))
    begun = [place for place in places if wanted in (place.casefold(), "") or place.casefold().startswith(wanted)]
    exact = [place for place in places if place.casefold() == wanted]
    begun = begun or [place for place in places if {*_WORDS.findall(wanted)} <= {*_WORDS.findall(place.casefold())}]
    if len(exact or begun) == 1:
        return (exact or begun)[0]
    if len(begun) > 1 and wanted:
        raise AnswerError(f"{quoted(said)} may be {' or '.join(begun)}; write more of it")
    if begun:
        raise AnswerError(f"which place? expected {' or '.join(f'@{place}' for place in begun)}")
    return said.strip()


def _parted(said: str) -> tuple[str, str, str]:
    """Part what was typed into what, place and value: a place may hold blanks, and ends at `=` or before the number."""
    name, equals, value = said.partition("=")
    if not equals and "@" in name and (found := _PLACE_THEN_NUMBER.fullmatch(name)):
        name, value = found[1], found[2]
    elif not equals:
        name, _, value = name.partition(" ")
    what, _, place = name.partition("@")
    return what.strip(), place.strip(), value


def quick_words() -> Mapping[str, tuple[LogKind, str]]:
    """Return the words by which drips, smell and trips are told in one line, each with its kind and its word there."""
    named = (one.partition(".") for one in log_data().ask.quick)
    return {word: (kinds()[kind], word) for kind, _, word in named}


def _quick(words: Mapping[str, tuple[LogKind, str]], said: str) -> list[tuple[LogKind, str]]:
    """Read words of what was seen; `none` is none of what may be seen. Raises AnswerError."""
    typed = said.replace(",", " ").casefold().split()
    if typed in (["none"], ["n"], ["no"]):
        return [(kind, "none") for kind in kinds().values() if kind.sort == "seen"]
    return list(_each_quick(words, typed))


def _each_quick(words: Mapping[str, tuple[LogKind, str]], typed: Sequence[str]) -> Iterator[tuple[LogKind, str]]:
    for one in typed:
        found = [word for word in words if word.startswith(one)]
        if len(found) != 1:
            raise AnswerError(f"{quoted(one)} is none of these words; expected none, or {', '.join(words)}")
        yield words[found[0]]


def _text_with(text: str, before: str) -> str:
    return text + log_data().ask.as_before.format(before=before) if before else text


def _as_before(before: str, read: Callable[[str], Read], said: str) -> Read | str:
    return before if said == "=" and before else read(said)
