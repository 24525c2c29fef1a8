"""That a clock was set back: a line of the journal is of a time that has not come (set_back.toml).

Readings are kept all the same: whoever stands at the kiln reads now, whatever a computer says that it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from recover.asked.answers import Answers
from recover.base.datafile import load
from recover.base.errors import command
from recover.base.measures import show_moment


@dataclass(frozen=True)
class _Words:
    back: str
    ahead: str
    kept: str
    unsigned: str
    note: str


@cache
def _words() -> _Words:
    return load("judged/set_back.toml", "recover-set-back", _Words)


def set_back(answers: Answers) -> str:
    """Say that a line of the job is of a time that has not come, and what is looked at first; empty where none is."""
    if answers.ahead is None:
        return ""
    return _words().back.format(now=show_moment(answers.now), last=show_moment(answers.ahead.astimezone(answers.zone)))


def ran_ahead(folder: Path) -> str:
    """Say what is done where it was the other clock that was wrong."""
    return _words().ahead.format(command=command("check", folder, "--mend"))


def kept_all_the_same() -> str:
    """Say that what is read meanwhile is kept."""
    return _words().kept


def unsigned(answers: Answers, folder: Path) -> str:
    """Say why nothing is signed by such a clock; empty where it stands right."""
    back = set_back(answers)
    return _words().unsigned.format(back=back, ahead=ran_ahead(folder)) if back else ""


def note(answers: Answers) -> str:
    """Return what is noted beside a reading that is taken by such a clock; empty where it stands right."""
    last = answers.ahead
    return _words().note.format(last=show_moment(last.astimezone(answers.zone))) if last else ""
