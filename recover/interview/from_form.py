"""A prompter for a person with a filled-in paper form: one short line for each answer, in the order of the paper.

A question and the numbers of its ticks are shown once, then a line for each row of it. An empty line is a row that was
left blank on the paper; it stays open. It reads lines from a stream, so a terminal and a file of lines are one.
"""

from __future__ import annotations

import re
import signal
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from itertools import count
from typing import Any, Protocol, TextIO, TypeVar
from zoneinfo import ZoneInfo

from recover.asked.questions import Detail, Question, Section
from recover.asked.said import come, read_detail
from recover.asked.told import Instrument, same_person
from recover.base.counted import by_number
from recover.base.errors import AnswerError
from recover.base.measures import SYMBOLS, read_moment, read_whole
from recover.interview import meters
from recover.interview.engine import Progress
from recover.interview.prompter import AddNote, Asked, Back, Filled, Given, Leave, NoValue, Pass, Reply, Speaker
from recover.interview.typed import Turned, broken, by_word, read_role, until_it_fits

_HELP = """\
One line for each answer: the number of the tick or its word, several as 1 3; a number and its unit; your words.
Enter: left blank · ?: unknown · x why: not inspected · n/a or n: not applicable
=: as the row before · ==: so are all rows of this question from here
>200 Mohm or OL: beyond the meter's range · @ 2026-03-10 09:20 or @ 09:20 behind an answer: its own time
1; NAME, role; paper 12: who says so, and what shows it, where the form has a line for them; else who filled it in
/: back · note words: a note · end: the rest of the section is blank · q: leave, everything is kept"""
_INSTRUMENT = "kind, maker, serial, calibrated until"
_OWN_TIME = re.compile(r"(.*\S)\s*@\s*((?:\d{4}-\d\d-\d\d )?\d\d?:\d\d)")


Read = TypeVar("Read")


class Say(Protocol):
    """Writes a line, or without `nl` the beginning of one."""

    def __call__(self, message: str, /, *, nl: bool = True) -> None:
        """Write it."""
        ...


class Paper:
    """Copies paper forms: reads `lines`, and shows by `say` what each is for."""

    def __init__(self, lines: TextIO, say: Say) -> None:
        """Take where lines come from and how to write one."""
        self._lines, self._write = lines, say
        self._echo = not lines.isatty()
        self._waiting = self._interrupted = False
        self._instruments: list[Instrument] = []
        self._shown: Question | None = None
        self._repeated: Question | None = None
        self._blank = ""
        self._day = self._role = ""

    def __enter__(self) -> Paper:
        """Take note of Ctrl-C that comes between two lines; Python may lose an exception raised just anywhere."""
        self._handler = signal.signal(signal.SIGINT, self._interrupt)
        return self

    def __exit__(self, *_: object) -> None:
        """Give the signal back."""
        signal.signal(signal.SIGINT, self._handler)

    def _interrupt(self, *_: object) -> None:
        self._interrupted = True
        if self._waiting:
            raise KeyboardInterrupt

    def _read_line(self) -> str:
        """Read a line; a Ctrl-C that came since the last one counts now. Raises KeyboardInterrupt."""
        self._waiting = True
        try:
            if self._interrupted:
                raise KeyboardInterrupt
            return self._lines.readline()
        finally:
            self._waiting = False

    # ------------------------------------------------------------------------------------ the head of the form

    def head(
        self, form: str, before: Filled, zone: ZoneInfo, roles: Sequence[tuple[str, str]], now: datetime
    ) -> Filled | None:
        """Ask when, by whom and in which role the form was filled in, and for its instruments; None to leave."""
        self._write(f"\n{form}: the form\n{_HELP}\n")
        usual = f"{before.moment:%Y-%m-%d %H:%M}"
        try:
            moment = self._field(
                f"Filled in, date and time (Enter: {usual})",
                lambda typed: come(read_moment(typed or usual, zone), now),
            )
            by = self._field(f"Filled in by (Enter: {before.by})", lambda typed: typed or before.by)
            role = self._role_of(by, before, roles)
            self._instruments = self._instruments_of(before)
        except Turned as turned:
            return self.head(form, before, zone, roles, now) if isinstance(turned.reply, Back) else None
        self._day, self._role = f"{moment:%Y-%m-%d}", role
        return Filled(moment=moment, by=by, instruments=tuple(self._instruments), role=role)

    def _role_of(self, by: str, before: Filled, roles: Sequence[tuple[str, str]]) -> str:
        """Ask for the role; Enter alone is the one before only for the same person, and else leaves it open."""
        usual = before.role if same_person(by, before.by) else ""
        shown = " · ".join(f"{number}\u00a0{title}" for number, (_, title) in enumerate(roles, start=1))
        stands_for = dict(roles).get(usual) or "left blank, and what needs a role opens nothing"
        self._write(broken(f"  {shown}", hanging=2))
        text = f"In which role (Enter: {stands_for})"
        return self._field(text, lambda typed: read_role(typed, roles) if typed else usual)

    def _instruments_of(self, before: Filled) -> list[Instrument]:
        """Ask for instrument 1, 2, 3 of the paper; Enter alone takes the one the job knows, or ends the list."""
        found: list[Instrument] = []
        known = before.instruments
        for number in count(1):
            usual = known[number - 1] if number <= len(known) else None
            shown = f"Instrument {number}: {_INSTRUMENT} (Enter: {_named(usual) if usual else 'no more'})"
            new = self._field(shown, partial(self._usual_or, usual, [*before.registered, *found]))
            if new is None:
                break
            found.append(new)
        return found

    def _usual_or(self, usual: Instrument | None, known: list[Instrument], typed: str) -> Instrument | None:
        return self._instrument(typed, known) if typed else usual

    @staticmethod
    def _instrument(typed: str, known: list[Instrument]) -> Instrument:
        """Read an instrument as the form names it; one that the job knows already keeps its id."""
        fields = [part.strip() for part in typed.split(",", 3)]
        if not fields[0] or len(fields) == 1:
            raise AnswerError(f"{typed!r} does not say which instrument; expected {_INSTRUMENT}, with commas between")
        what, maker, serial, calibrated = fields + [""] * (4 - len(fields))
        what = meters.kind_of(what) or what
        calibrated = meters.read_calibrated(calibrated) if calibrated else ""
        told = [what, maker, serial, calibrated]
        same = [one for one in known if [one.what, one.maker, one.serial, one.calibrated] == told]
        return same[0] if same else Instrument(meters.free_number(known), *told)

    # ------------------------------------------------------------------------------------ sections

    def open_section(self, section: Section) -> None:
        """Show the title of a section."""
        self._write(f"\n{section.title}")
        self._shown, self._blank = None, ""

    def close_section(self, progress: Progress, misfits: int) -> None:
        """Say how many of a section are answered, left blank, and do not fit."""
        wrong = by_number(misfits, one="{number} that does not fit", other="{number} that do not fit")
        fits = f"; {wrong}, see above" if misfits else ""
        blank = progress.asked - progress.done
        self._write(f"\n{progress.section.title}: {progress.done} answered, {blank} left blank{fits}")

    # ------------------------------------------------------------------------------------ one row

    def ask(self, asked: Asked) -> Reply:
        """Ask for one row of the form."""
        if asked.section == self._blank:
            return Pass()
        self._show(asked.item.question, asked.roles)
        so_far = f"so far {asked.so_far}" if asked.so_far else ""
        row = " · ".join(part for part in (asked.slate, asked.where, so_far) if part)
        if asked.row_before and self._repeated is asked.item.question:
            self._write(f"{row} > =")
            return asked.row_before
        try:
            return until_it_fits(lambda: self._typed(row), lambda typed: self._reply(asked, typed), self.tell)
        except Turned as turned:
            return self.ask(asked) if isinstance(turned.reply, Back) else turned.reply

    def refuse(self, _asked: Asked, message: str) -> None:
        """Say why a row cannot be taken; it is then asked by itself."""
        self._repeated = None
        self.tell(message)

    def heard(self, words: str) -> None:
        """Show a cell as it was understood."""
        self._write(broken(f"  = {words}", hanging=4))

    def tell(self, message: str) -> None:
        """Say something that is no row."""
        self._write(broken(f"  ! {message}", hanging=4))

    def _show(self, question: Question, roles: Sequence[tuple[str, str]]) -> None:
        """Show a question and its key, once for all its rows."""
        if question is self._shown:
            return
        self._shown, self._repeated = question, None
        self._write("\n" + broken(f"{question.slate}  {question.ask}", hanging=4))
        key = _key(question)
        if key:
            self._write("    " + broken(key, hanging=4))
        titles = "" if self._role in dict(roles) else " or ".join(title for _, title in roles)
        behind = [f"who says so, {titles}"] * bool(titles) + ["the paper that shows it"] * bool(question.documented)
        if behind:
            self._write("    " + broken(f"behind semicolons: {'; '.join(behind)}", hanging=4))

    def _reply(self, asked: Asked, typed: str) -> Reply:
        """Read one line as a reply. Raises AnswerError, and Turned from a reading's fields."""
        word, _, rest = typed.partition(" ")
        match word.lower(), rest.strip():
            case "", _:
                return Pass()
            case "/" | "back", "":
                return Back()
            case "end", "":
                self._blank = asked.section
                return Pass()
            case "note", text:
                return AddNote(text)
            case "=", "":
                return _same(asked)
            case "==", "":
                return self._same_from_here(asked)
            case ("?" | "unknown" | "n" | "n/a" | "x") as mark, text:
                return self._no_value(asked, mark, text) or self._given(asked, typed)
            case _:
                return self._given(asked, typed)

    def _same_from_here(self, asked: Asked) -> Given | NoValue:
        if asked.item.question.kind == "reading":
            raise AnswerError("'==' repeats what was seen, and never a reading; write each of them")
        same = _same(asked)
        self._repeated = asked.item.question
        return same

    @staticmethod
    def _no_value(asked: Asked, mark: str, text: str) -> NoValue | None:
        """Return the reply that a mark of the form stands for; None if it is none with these words behind it."""
        for number, choice in enumerate(asked.item.question.choices, start=1):
            if choice.id.lower() == mark or choice.label.lower() == mark:
                expected = {"n": "n/a", "x": "x and why"}.get(mark, "?")
                raise AnswerError(f"{mark!r} may be the tick {number} or the mark; expected {number}, or {expected}")
        if mark == "x" and not text:
            raise AnswerError("'x' needs its reason, as in 'x too dark'")
        if mark == "x":
            return NoValue("not_inspected", text)
        return None if text else NoValue("unknown" if mark in ("?", "unknown") else "not_applicable")

    def _given(self, asked: Asked, typed: str) -> Given:
        """Read an answer, and the time of its own that may stand behind it."""
        found = _OWN_TIME.fullmatch(typed)
        if not found or asked.item.question.kind == "text":
            return self._answer(asked, typed)
        given = self._answer(asked, found[1])
        return replace(given, speaker=replace(given.speaker or Speaker(), measured=self._moment(found[2], asked.zone)))

    def _moment(self, said: str, zone: ZoneInfo) -> datetime:
        """Read a time of its own; a clock time alone is of the day of the form."""
        return read_moment(said, zone, date.fromisoformat(self._day))

    def _answer(self, asked: Asked, typed: str) -> Given:
        question = asked.item.question
        if question.kind == "reading":
            return self._reading(asked, [part.strip() for part in typed.split(";")])
        if not asked.roles:
            return self._checked(asked, typed)
        typed, *told = (part.strip() for part in typed.split(";", 2))
        given = self._checked(asked, typed)
        who, document = [*told, "", ""][:2]
        return replace(given, speaker=_speaker(asked, who) if who else None, document=document)

    @staticmethod
    def _checked(asked: Asked, typed: str) -> Given:
        said = by_word(asked.item.question, typed)
        asked.check(said)
        return Given(said)

    # ------------------------------------------------------------------------------------ a reading

    def _reading(self, asked: Asked, parts: list[str]) -> Given:
        """Read value, details, instrument out of one line; what it lacks is asked for, field by field."""
        question, before = asked.item.question, asked.row_before
        if len(parts) > len(question.details) + 2:
            raise AnswerError(f"that is more than this row holds: {_key(question)}")
        value = parts.pop(0)
        asked.check(value)
        old = before if isinstance(before, Given) else Given("")
        details = {
            detail.id: self._part(_of(detail), old.details.get(detail.id, ""), parts, partial(_detail, detail))
            for detail in question.details
        }
        known = list(asked.registered)
        instrument = self._part("instrument", old.instrument, parts, lambda typed: self._by_number(typed, known))
        return Given(value, instrument, details)

    def _part(self, text: str, before: Any, parts: list[str], read: Callable[[str], Any]) -> Any:
        """Read one part of a reading: out of the line if it is there, else asked for. `=` is the row before's."""

        def part(typed: str) -> Any:
            if typed == "=" and before:
                return before
            if typed == "?":
                return ""  # nobody knows: kept, and it opens nothing
            if not typed or typed == "=":
                raise AnswerError("write it, or ? where nobody knows (the reading then opens nothing); / begins again")
            return read(typed)

        return self._field(f"    {text}", part, parts[:1] and [parts.pop(0)])

    def _by_number(self, typed: str, known: list[Instrument]) -> Instrument:
        """Return the instrument that the form's number stands for; or a new one, named on the spot."""
        if typed.isdecimal():
            number = read_whole(typed)
            if 1 <= number <= len(self._instruments):
                return self._instruments[number - 1]
            raise AnswerError(f"the form's head names no instrument {typed}; name it here: {_INSTRUMENT}")
        new = self._instrument(typed, known)
        self._instruments += [] if new in self._instruments else [new]
        return new

    # ------------------------------------------------------------------------------------ one line

    def _field(self, text: str, read: Callable[[str], Read], ready: list[str] | None = None) -> Read:
        """Take lines for one of several fields, first the one that is ready; `back` leaves the fields."""

        def field(typed: str) -> Read:
            if typed.lower() in ("/", "back"):
                raise Turned(Back())
            return read(typed)

        waiting = ready or []
        return until_it_fits(lambda: waiting.pop() if waiting else self._typed(text), field, self.tell)

    def _typed(self, text: str) -> str:
        """Show what a line is for and take it; the end of the lines is `q`. Raises Turned, AnswerError."""
        self._write(f"{text} > ", nl=False)
        line = self._read_line()
        if self._echo:
            self._write(line.rstrip("\n"))
        if not line or line.strip().lower() == "q":
            raise Turned(Leave())
        if not line.strip().isprintable():
            raise AnswerError("that line holds a key that writes nothing, as an arrow; type it again")
        return line.strip()


def _key(question: Question) -> str:
    """Return what may be written in a row: the numbers of the ticks, the unit, the parts of a reading."""
    if question.choices:
        return " · ".join(f"{number}\u00a0{choice.label}" for number, choice in enumerate(question.choices, start=1))
    unit = SYMBOLS.get(question.unit, question.unit)
    if question.kind != "reading":
        return {"moment": "date and time, as 2026-03-07 18:00"}.get(question.kind, unit)
    return "; ".join([f"a number with its unit ({unit})", *map(_of, question.details), "instrument"])


def _of(detail: Detail) -> str:
    return f"{detail.ask} ({SYMBOLS.get(detail.unit, detail.unit)})"


def _named(instrument: Instrument) -> str:
    return ", ".join(part for part in (instrument.what, instrument.maker, instrument.serial) if part)


def _speaker(asked: Asked, typed: str) -> Speaker:
    """Read who says so, as `E. Lectrician, electrician`; the role of somebody known need not be said again."""
    name, comma, role = (part.strip() for part in typed.partition(","))
    if comma and name:
        return Speaker(name, read_role(role, asked.every_role))
    known = {one.role for one in asked.speakers if same_person(one.who, name)}
    if len(known) != 1:
        titles = " or ".join(title for _, title in asked.roles)
        raise AnswerError(f"{typed!r} does not say who says so in which role; expected NAME, {titles}")
    return Speaker(name, known.pop())


def _same(asked: Asked) -> Given | NoValue:
    if asked.row_before is None:
        raise AnswerError("'=' repeats the row before, and there is none with an answer; write the answer")
    return asked.row_before


def _detail(detail: Detail, typed: str) -> str:
    """Prove a detail of a reading and return it as it was typed. Raises AnswerError."""
    read_detail(detail, typed)
    return typed
