"""Lines of the log as words of a command: `casing@wall=46`, `power_cut`. All that is wrong is told at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from recover.asked.said import come
from recover.base.errors import AnswerError, Problem, command
from recover.base.measures import quoted, read_moment
from recover.interview.logbook import LogBook, ToLog
from recover.interview.round import place_named
from recover.judged.stops import AGAIN
from recover.plan.kinds import LogKind, Typed, kind_named, kinds, log_data, read_typed

if TYPE_CHECKING:
    from recover.plan.whole import Expected

_SPAN = re.compile(r"(\d{1,9})(?:\s*-\s*(\d{1,9}))?")
"""A line of the journal, or from which to which."""


def lines_of(
    book: LogBook, *, reads: Sequence[str], happened: Sequence[str], note: str, at: str, fahrenheit: bool
) -> tuple[list[ToLog], list[Problem]]:
    """Read what is to be logged, with everything that is wrong with it; `at` is when, empty for now."""
    problems: list[Problem] = []
    moment = _moment(book, at, problems)
    found: list[ToLog] = []
    for said in reads:
        try:
            found.append(_reading(book, said, moment, note, fahrenheit=fahrenheit))
        except AnswerError as error:
            problems.append(Problem(f"--read {said}", str(error), "correct it; nothing was kept"))
    for said in happened:
        try:
            found.append(_event(book, said, moment, note))
        except AnswerError as error:
            problems.append(Problem(f"--happened {said}", str(error), "correct it; nothing was kept"))
    return found, problems


def moment_of(book: LogBook, said: str) -> datetime:
    """Read when something was read or happened, by the clock of the job; now where nothing was said.

    Raises AnswerError for what is none, and for one that has not come.
    """
    now = book.now()
    return come(read_moment(said, book.zone, now.date()), now) if said else now


def _moment(book: LogBook, said: str, problems: list[Problem]) -> datetime:
    try:
        return moment_of(book, said)
    except AnswerError as error:
        problems.append(Problem(f"--at {said}", str(error), "correct it; nothing was kept"))
        return book.now()


def _reading(book: LogBook, said: str, at: datetime, note: str, *, fahrenheit: bool) -> ToLog:
    """Read `what@place=value unit`. Raises AnswerError."""
    name, equals, value = said.partition("=")
    what, _, place = name.partition("@")
    if not equals or not value.strip():
        raise AnswerError(f"{quoted(said)} is no reading; expected what and its value, as in 'casing@wall=46'")
    kind = kind_named(what)
    if kind.sort == "event":
        raise AnswerError(f"{quoted(what)} is nothing that is read; expected --happened")
    there = expected_of(book, kind, at)
    unit = next((one.unit for one in there), "")
    typed = read_typed(kind, value.strip(), expected=unit, fahrenheit=fahrenheit)
    return ToLog(kind, typed, at, place_named(place, there), note)


def expected_of(book: LogBook, kind: LogKind, at: datetime) -> list[Expected]:
    """Return what the day of a moment expects of a kind."""
    day = book.day(at)
    return [one for one in (day.readings if day else ()) if one.what == kind.id]


def _event(book: LogBook, said: str, at: datetime, note: str) -> ToLog:
    """Read what happened, by its word: `power_cut`, `rain`. Raises AnswerError."""
    wanted = said.strip().casefold().replace(" ", "_").replace("-", "_")
    words = dict(_words())
    begun = [word for word in words if wanted and word.startswith(wanted)]
    name = wanted if wanted in words else begun[0] if len(begun) == 1 else ""
    if not name:
        raise AnswerError(f"{quoted(said)} is nothing that is logged; expected one of {', '.join(words)}")
    kind = words[name]
    word = kind.of_word(name)
    if word and word.note and not note.strip():
        raise AnswerError("says nothing without why, or what was found; write it with --note")
    if kind.id == AGAIN:
        book.goes_on(at)
    return ToLog(kind, Typed(word=name), at, note=note.strip())


def _words() -> Iterator[tuple[str, LogKind]]:
    """Yield every word by which something happens, with its kind."""
    for kind in kinds().values():
        for word in kind.word if kind.sort == "event" else ():
            yield word.id, kind


# ---------------------------------------------------------------------------------------- lines taken back


def take_backs(book: LogBook, said: Iterable[str], why: str) -> tuple[list[int], list[Problem]]:
    """Read which lines are to be taken back, `41, 50-67`, with everything that is wrong with that."""
    problems: list[Problem] = []
    found: dict[int, None] = {}
    for part in (one.strip() for many in said for one in many.split(",")):
        try:
            lines = _lines(book, part)
            for line in lines:
                book.own_line(line, why)
            found |= dict.fromkeys(lines)
        except AnswerError as error:
            problems.append(Problem(f"--take-back {part}", str(error), "correct it; nothing was kept"))
    return list(found), problems


def _lines(book: LogBook, said: str) -> list[int]:
    """Return the line that is named, or all of a span that stand in the log. Raises AnswerError."""
    found = _SPAN.fullmatch(said)
    if not found:
        raise AnswerError(f"{quoted(said)} is no line of the journal; expected its number, or two, as in '41-67'")
    first, last = int(found[1]), int(found[2] or found[1])
    if not found[2]:
        return [first]
    lines = [line for line in book.lines if first <= line <= last]
    if not lines:
        raise AnswerError(f"no line of the log of {book.kiln} stands from {first} to {last}")
    return lines


def by_another_clock(book: LogBook, file: str, note: str) -> list[Problem]:
    """Return that rows of a file stand in the log by another clock: read in again, they would stand there twice."""
    lines = sorted(one.line for one in book.of_this_file if one.said != note)
    if not lines:
        return []
    say = log_data().say
    span = f"{lines[0]}-{lines[-1]}" if len(lines) > 1 else f"{lines[0]}"
    remedy = say["by_another_clock"].format(
        command=command("log", book.job.folder, *book.whose, "--take-back", span, "--note", "WHY")
    )
    return [Problem(file, say["here_by_another_clock"].format(number=len(lines)), remedy)]
