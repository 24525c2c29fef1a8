"""What the colours of a thermocouple cable may mean. They narrow the type down; they do not prove it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.engineering.thermocouples import Letter


@dataclass(frozen=True, kw_only=True)
class _Colours:
    """A row of a colour standard: the jacket and the two conductors of one type."""

    standard: str
    letter: Letter
    jacket: str
    positive: str
    negative: str


@dataclass(frozen=True, kw_only=True)
class _File(Authority):
    cable: tuple[_Colours, ...]


@cache
def _file() -> _File:
    return load("engineering/colours.toml", "recover-colours", _File)


def candidates(jacket: str = "", positive: str = "", negative: str = "") -> list[tuple[Letter, str]]:
    """Return the types that these colours may mean, each with its standard; an empty colour was not seen.

    Of more than one letter only a test tells which it is. Raises QuantityError where no colour is given, or one that no
    standard has in that place.
    """
    seen = {"jacket": jacket, "positive": positive, "negative": negative}
    for place, colour in seen.items():
        known = sorted({getattr(row, place) for row in _file().cable})
        if colour and colour not in known:
            raise QuantityError(f"{place} of a thermocouple cable", repr(colour), f"one of {', '.join(known)}")
    if not any(seen.values()):
        raise QuantityError("thermocouple cable", "no colour", "at least one of jacket, positive and negative")
    fits = (row for row in _file().cable if all(not c or getattr(row, place) == c for place, c in seen.items()))
    return [(row.letter, row.standard) for row in fits]
