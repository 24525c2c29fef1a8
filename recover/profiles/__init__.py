"""What differs by country, and this project's own limits: words, paper, published limits, who may do what."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Literal

from recover.datafile import load
from recover.sources import Basis

PROFILES = ("uk", "eu", "us", "au_nz")


@dataclass(frozen=True)
class Limit:
    """A number with its unit and its authority; of two that meet, the greater or the less is the stricter."""

    id: str
    value: float
    unit: str
    what: str
    basis: Basis
    stricter: Literal["greater", "less"] = "greater"
    source: str = ""
    clause: str = ""
    edition: str = ""
    because: str = ""


@dataclass(frozen=True)
class Competence:
    """Who may do a piece of work in this country, and on whose authority."""

    id: str
    who: str
    may: str
    basis: Basis
    source: str = ""
    clause: str = ""
    edition: str = ""


@dataclass(frozen=True)
class Terms:
    """What the trade calls things here."""

    earth: str
    rcd: str
    electrician: str
    breaker: str
    board: str


@dataclass(frozen=True)
class Profile:
    """A country's words, paper and limits."""

    id: str
    title: str
    paper: str
    length_unit: str
    temperature_unit: str
    nominal_volts: list[int]
    terms: Terms
    limit: list[Limit]
    competence: list[Competence] = field(default_factory=list)

    @property
    def imperial(self) -> bool:
        """Whether lengths and temperatures are printed in inches and degrees Fahrenheit as well."""
        return self.length_unit == "in"


@dataclass(frozen=True)
class _Limits:
    limit: list[Limit]


@cache
def profile(name: str) -> Profile:
    """Return the profile `uk`, `eu`, `us` or `au_nz`. Raises DataError on a faulty file."""
    return load(f"profiles/{name}.toml", "recover-profile", Profile, files("recover"))


@cache
def own_limits() -> dict[str, Limit]:
    """Return this project's own limits by id."""
    return {limit.id: limit for limit in load("profiles/own_limits.toml", "recover-limits", _Limits).limit}


@cache
def limits(name: str) -> dict[str, float]:
    """Return the numbers that conditions may name in this profile; of a country's and our own the stricter counts."""
    numbers = {limit.id: limit.value for limit in own_limits().values()}
    for limit in profile(name).limit:
        stricter = max if limit.stricter == "greater" else min
        numbers[limit.id] = stricter(limit.value, numbers.get(limit.id, limit.value))
    return numbers
