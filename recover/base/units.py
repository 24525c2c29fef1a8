"""Units as people write them: a table of spellings within dimensions, and conversion within one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load


@dataclass(frozen=True)
class Unit:
    """A unit: the dimension that it is `of`, what one of it is in that dimension's own unit, how it is written.

    A number of it is `times` that number, and `begins` more: degrees begin elsewhere.
    """

    id: str
    of: str
    times: float
    written: tuple[str, ...]
    begins: float = 0.0


@dataclass(frozen=True)
class _Table:
    unit: list[Unit]


@cache
def units() -> dict[str, Unit]:
    """Return the units by id."""
    return {unit.id: unit for unit in load("base/units.toml", "recover-units", _Table).unit}


def convert(value: float, unit: str, to: str) -> float:
    """Return a number of one unit as one of another of the same dimension.

    >>> round(convert(52, "degF", "degC"), 3), convert(1, "in", "mm")
    (11.111, 25.4)
    """
    one, other = units()[unit], units()[to]
    return (value * one.times + one.begins - other.begins) / other.times


@cache
def _spellings(dimension: str) -> tuple[tuple[str, Unit], ...]:
    """Return every spelling of a dimension with its unit, the longest first."""
    found = [(spelling, unit) for unit in units().values() if unit.of == dimension for spelling in unit.written]
    return tuple(sorted(found, key=lambda pair: -len(pair[0])))


def written_at(text: str, at: int, dimension: str) -> list[tuple[Unit, int]]:
    """Return the units of a dimension that may be written at a place of a text, and where each ends; the longest alone.

    Several where the same letters in another case stand for another unit and the first letter does not tell.
    """
    for spelling, _ in _spellings(dimension):
        end = at + len(spelling)
        if text[at:end].casefold() == spelling.casefold() and not text[end : end + 1].isalpha():
            alike = [(s, u) for s, u in _spellings(dimension) if s.casefold() == spelling.casefold()]
            told = [(s, u) for s, u in alike if s[0] == text[at]] or alike
            return [(unit, end) for unit in dict.fromkeys(unit for _, unit in told)]
    return []
