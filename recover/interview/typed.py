"""Reading a typed line: the numbers of choices, or their words. The terminal and the paper form share it."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Callable, Sequence
from datetime import date
from typing import TypeVar
from zoneinfo import ZoneInfo

from recover.asked.questions import Question
from recover.base.errors import AnswerError
from recover.base.measures import quoted, read_moment, read_whole
from recover.interview.prompter import Reply, ToSlate

Read = TypeVar("Read")

_SLATE = re.compile(r"(?:slate|s)\s*(\d+)(?:\s*-\s*(\d+))?", re.IGNORECASE)


class Turned(Exception):  # noqa: N818 - a change of direction, not an error
    """A word typed in one of several fields leaves them all: the reply to the question is this one."""

    def __init__(self, reply: Reply) -> None:
        """Take the reply."""
        super().__init__()
        self.reply = reply


def until_it_fits(line: Callable[[], str], read: Callable[[str], Read], refuse: Callable[[str], object]) -> Read:
    """Take lines until one can be read; each AnswerError of `read` is handed to `refuse`."""
    while True:
        try:
            return read(line())
        except AnswerError as error:
            refuse(str(error))


def by_word(question: Question, typed: str) -> str | list[str]:
    """Turn the numbers of choices, or their words, into the choices; anything else stands as it was typed.

    Words are the whole of a choice, or as much as no other choice begins with: `yes`, `y`, `under water`. Raises
    AnswerError.
    """
    if not question.choices:
        return typed
    names, several = [choice.id for choice in question.choices], question.kind == "several"
    named = _named(question, typed)
    if named is not None:
        return [named] if several else named
    words = [(word, _named(question, word)) for word in typed.replace(",", " ").split()]
    numbers = " ".join(str(names.index(name) + 1) if name else word for word, name in words)
    chosen = [names[place] for place in places(numbers if several else typed, len(names), several=several)]
    return chosen if several else chosen[0]


def _named(question: Question, typed: str) -> str | None:
    """Return the choice that words name: by all of its words, else by its first words where only one begins so."""
    said = typed.strip().casefold()
    said = _SHORT.get(said, said)
    if not said or said.isdecimal():
        return None
    for choice in question.choices:
        if said in (choice.id.casefold(), choice.label.casefold()):
            return choice.id
    begin = [choice.id for choice in question.choices if re.match(rf"{re.escape(said)}\b", choice.label.casefold())]
    return begin[0] if len(begin) == 1 else None


_SHORT = {"y": "yes", "n": "no"}


def places(typed: str, count: int, *, several: bool) -> list[int]:
    """Read the numbers of lines, 1 to `count`, as places from 0. Raises AnswerError."""
    expected = f"numbers from 1 to {count}, as in '1 {min(count, 3)}'" if several else f"one number from 1 to {count}"
    try:
        lines = [read_whole(number) for number in typed.replace(",", " ").split()]
    except AnswerError:
        lines = []
    if not lines or not all(1 <= line <= count for line in lines) or (len(lines) > 1 and not several):
        raise AnswerError(f"{quoted(typed)} is none of these lines; expected {expected}, or one of the words")
    return [line - 1 for line in lines]


def read_paper(typed: str) -> str:
    """Read the name or number of a paper, empty for `none`. Raises AnswerError for what another question asks."""
    word = typed.partition(":")[0].strip().lower()
    if word in ("new", "by", "when", "note", "photograph") or _is_moment(typed):
        raise AnswerError(f"{typed!r} names no paper; expected its name or number, as in 'certificate 12', or none")
    return "" if typed.strip().lower() == "none" else typed.strip()


def _is_moment(typed: str) -> bool:
    try:
        read_moment(typed, ZoneInfo("UTC"), date(2000, 1, 1))
    except AnswerError:
        return False
    return True


def broken(text: str, hanging: int = 0) -> str:
    """Break a line between words at the width of the terminal, a little inside it for a prompt's mark."""
    width = max(40, shutil.get_terminal_size().columns - 4)
    return textwrap.fill(text, width, subsequent_indent=" " * hanging) if text.strip() else text


def rows_of_screen() -> int:
    """Return how many lines stay in sight above the one where something is typed."""
    return shutil.get_terminal_size().lines - 2


def slate_in(typed: str) -> ToSlate | None:
    """Find a slate number typed as a word, `slate 154` or `s 154-1`; a bare number is an answer. Raises AnswerError."""
    found = _SLATE.fullmatch(typed.strip())
    return ToSlate(read_whole(found[1]), read_whole(found[2]) if found[2] else None) if found else None


def read_role(typed: str, roles: Sequence[tuple[str, str]]) -> str:
    """Read a role by its number, its title or its id, and return its id. Raises AnswerError."""
    words = {title.lower(): name for name, title in roles} | {name.replace("_", " "): name for name, _ in roles}
    if typed.isdecimal():
        return roles[places(typed, len(roles), several=False)[0]][0]
    name = words.get(typed.lower().replace("_", " "), "")
    if not name:
        raise AnswerError(f"{typed!r} is no role here; expected {', '.join(title for _, title in roles)}")
    return name


def read_person(typed: str, roles: Sequence[tuple[str, str]]) -> tuple[str, str]:
    """Read a name, and the role behind its last comma where that is one: `K. Brandt, repairer`, but `Brandt, K.`."""
    name, _, last = typed.rpartition(",")
    try:
        return (name.strip(), read_role(last.strip(), roles)) if name.strip() else (typed.strip(), "")
    except AnswerError:
        return typed.strip(), ""
