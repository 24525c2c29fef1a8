"""How an instrument is registered: its number, its kind in the words of questions, its date."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from itertools import count

from recover.asked.told import Instrument
from recover.base.datafile import load
from recover.base.errors import AnswerError
from recover.base.measures import DONT_KNOW, read_date

NOT_KNOWN = "not known"
"""How it is written that nobody knows until when an instrument is calibrated."""


@dataclass(frozen=True)
class _MeterKind:
    """A kind of instrument, as questions name it, and what else the trade calls it."""

    kind: str
    also: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Kinds:
    instrument: list[_MeterKind]


@cache
def kinds() -> tuple[_MeterKind, ...]:
    """Return every kind, those that questions name first."""
    return tuple(load("interview/instruments.toml", "recover-instruments", _Kinds).instrument)


def free_number(known: Iterable[Instrument]) -> str:
    """Return the first number that no instrument has."""
    taken = {one.id for one in known}
    return next(f"I{number}" for number in count(1) if f"I{number}" not in taken)


def kind_of(typed: str) -> str:
    """Return the kind that a word of the trade stands for, with what is said behind it; empty where it is none."""
    words = " ".join(typed.lower().split())
    for one in kinds():
        if words in {one.kind, *(name.lower() for name in one.also)}:
            return one.kind
        if words.startswith(one.kind):
            return typed
    return ""


def read_calibrated(typed: str) -> str:
    """Read until when an instrument is calibrated: a date, in ISO form, or that nobody knows. Raises AnswerError."""
    if typed.lower() in DONT_KNOW:
        return NOT_KNOWN
    try:
        return read_date(typed).isoformat()
    except AnswerError as error:
        raise AnswerError(f"{error}, or '{NOT_KNOWN}'") from error
