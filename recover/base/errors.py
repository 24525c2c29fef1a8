"""What can go wrong, in two kinds.

A *problem* is a finding about data: a value, collected with its siblings and shown all at once.
An *error* is a broken contract: an exception, each class of which leaves the caller one thing to do.
"""

from __future__ import annotations

import errno
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from shlex import quote

_SHOWN = 20
"""How many problems of a file are shown; then their number."""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with data: where, what, what was expected or what to do about it."""

    where: str
    what: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; {self.remedy}"


class RecoverError(Exception):
    """Anything this program refuses to go on with. The message is a sentence for a person."""


class DataError(RecoverError):
    """A data file of the program or of a job cannot be used: mend the file. Carries every problem found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(listed(self.problems))


def command(verb: str, folder: str | Path, *words: str | Path) -> str:
    """Return a command as it can be typed: a word with blanks or signs of the shell stands in quotes, as one word."""
    return " ".join(["recover", verb, *(quote(_word(one)) for one in (Path(folder), *words))])


def _word(word: str | Path) -> str:
    """Return a word of a command; a path that begins like an option is written so that it is read as a path."""
    return f"./{word}" if isinstance(word, Path) and str(word).startswith("-") else str(word)


_NAME, _PLACE, _LINK = "give it a shorter name, of plain letters", "take away what stands in its place", "look for it"
_RIGHTS, _SPACE = "see to its rights", "free some space"
_ADVICE = {
    errno.ENAMETOOLONG: _NAME, errno.EILSEQ: _NAME, errno.EEXIST: _PLACE, errno.EISDIR: _PLACE, errno.ENOTDIR: _PLACE,
    errno.ESPIPE: _PLACE, errno.ENOENT: _LINK, errno.ELOOP: _LINK, errno.EACCES: _RIGHTS, errno.EPERM: _RIGHTS,
    errno.EROFS: _RIGHTS, errno.ENOSPC: _SPACE, errno.EDQUOT: _SPACE,
}  # fmt: skip


def advice(error: OSError) -> str:
    """Return what a person can do about a file that the system refused: its name, what stands there, rights, space."""
    return _ADVICE.get(error.errno or 0, f"{_SPACE}, or {_RIGHTS}")


def listed(problems: Sequence[Problem]) -> str:
    """Return problems one a line, and how many there are beyond those that a person reads."""
    more = [f"and {len(problems) - _SHOWN} more"] if len(problems) > _SHOWN else []
    return "\n".join([*map(str, problems[:_SHOWN]), *more])


class QuantityError(DataError, ValueError):
    """A quantity that cannot be: says where, what was given, what was expected."""

    def __init__(self, where: str, what: str, expected: str) -> None:
        super().__init__([Problem(where, what, f"expected {expected}")])


class AnswerError(RecoverError):
    """What was answered does not fit the question: answer again."""


class JournalError(RecoverError):
    """The journal cannot be trusted or written: keep the file as it is and look at the line that is named."""


class JobError(RecoverError):
    """The folder that was named cannot serve as a job: name another, or start one."""


class PaperError(RecoverError):
    """A paper cannot be made or issued as asked: the message says what is missing."""


class SimulationError(RecoverError):
    """A run of the drying model did not hold its own balances: nothing of it may be used."""
