"""What differs by country, and this project's own limits: words, paper, published limits, who may do what.

A file a country. It holds single numbers (`limit`), the rules that are more than a number (`earth`, `leakage`,
`ratings`), what is printed elsewhere for the same thing and decides nothing here (`elsewhere`), and whose work it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from math import inf, isinf
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority

Trade = Literal["", "electrical"]
"""A trade that a country may leave to its own people; empty: none."""

PROFILES = ("uk", "eu", "us", "au_nz")


@dataclass(frozen=True, kw_only=True)
class Limit(Authority):
    """A number with its unit and its authority; of two that meet, the greater or the less is the stricter."""

    id: str
    value: float
    unit: str
    what: str
    stricter: Literal["greater", "less"] = "greater"

    def __str__(self) -> str:
        return "none" if isinf(self.value) else f"{self.value:g}"


@dataclass(frozen=True, kw_only=True)
class EarthRule(Authority):
    """What earth continuity may measure [ohm]: `ohm`, and more for the conductor that lies within the reading.

    Either the conductor's own resistance (`adds_conductor`), or `step_ohm` for each whole further `step_m` beyond
    `free_m`, at most `most_ohm`.
    """

    what: str
    ohm: float
    adds_conductor: bool = False
    free_m: float = inf
    step_m: float = inf
    step_ohm: float = 0.0
    most_ohm: float = inf
    unit: str = "ohm"

    def __str__(self) -> str:
        further = f" up to {self.free_m:g} m, {self.step_ohm:g} for each whole further {self.step_m:g} m"
        steps = f"{further}, at most {self.most_ohm:g}" if self.step_ohm else ""
        return f"{self.ohm:g}" + steps + (" and the conductor's own" if self.adds_conductor else "")


@dataclass(frozen=True, kw_only=True)
class _LeakageRule(Authority):
    """Leakage allowed [mA]: `ma_per_kw` for each kilowatt of heating above `above_kw`, between `least` and `most`."""

    what: str
    least_ma: float
    most_ma: float
    ma_per_kw: float = 0.0
    above_kw: float = 0.0
    unit: str = "mA"

    def __str__(self) -> str:
        if not self.ma_per_kw:
            return f"{self.least_ma:g}"
        above = f" above {self.above_kw:g} kW" if self.above_kw else ""
        return f"{self.least_ma:g} or, if more,{above} {self.ma_per_kw:g} for each kW, at most {self.most_ma:g}"


@dataclass(frozen=True, kw_only=True)
class _Ratings(Authority):
    """The standard ratings of overcurrent devices [A], least first."""

    what: str
    amps: list[float]
    unit: str = "A"

    def __str__(self) -> str:
        return ", ".join(f"{amps:g}" for amps in self.amps)


@dataclass(frozen=True, kw_only=True)
class Elsewhere(Authority):
    """What an older edition, or another document, prints for the thing of `of`: shown with it, and decides nothing."""

    of: str
    status: Literal["superseded", "contrary"]
    what: str
    value: str
    unit: str

    def __str__(self) -> str:
        return self.value


Printed = Limit | EarthRule | _LeakageRule | _Ratings | Elsewhere
"""A row of a profile: `str` of it is its value in figures, in its `unit`."""


@dataclass(frozen=True, kw_only=True)
class _Competence(Authority):
    """Who may do a piece of work in this country, and on whose authority.

    One that names a `trade` leaves work of it on the kiln itself to the electrician: all of it, or in `tables`, and of
    `outcomes`, alone.
    """

    id: str
    who: str
    may: str
    trade: Trade = ""
    tables: list[str] = field(default_factory=list)
    outcomes: list[str] = field(default_factory=list)

    def reserves(self, trade: Trade, table: str, outcome: str) -> bool:
        """Say whether it leaves work of a trade, called for by a table as an outcome, to the electrician."""
        named = not self.tables or table in self.tables
        return bool(trade) and self.trade == trade and named and (not self.outcomes or outcome in self.outcomes)


Duty = Literal[
    "see", "measure", "hold_key", "prove_dead", "pass_electrics", "test_device", "fit_electrics", "attend",
    "answer_for_room", "clear_hazard", "consent", "lead_lift", "hand_over", "take_back",
]  # fmt: skip
"""What a person attests or signs for."""

RoleName = Literal[
    "owner", "duty_holder", "insurer", "repairer", "competent_person", "electrician", "specialist", "attendant"
]


@dataclass(frozen=True, kw_only=True)
class Role(Authority):
    """A capacity in which somebody attests and signs here: what for, and whether a licence number belongs to it."""

    id: RoleName
    title: str
    duties: list[Duty]
    licence: bool = False


@dataclass(frozen=True)
class _Nominal(Authority):
    """The voltages of supplies here, by name [V]."""

    volts: list[int]


@dataclass(frozen=True, kw_only=True)
class _Terms:
    """What the trade calls things here."""

    earth: str
    protective_conductor: str
    rcd: str
    electrician: str
    breaker: str
    board: str


@dataclass(frozen=True, kw_only=True)
class Profile:
    """A country's words, paper and limits; `earth` and `leakage` are None where none is printed.

    `imperial`: lengths and temperatures are printed in inches and degrees Fahrenheit as well.
    """

    id: str
    title: str
    paper: str
    nominal: _Nominal
    terms: _Terms
    limit: list[Limit]
    ratings: _Ratings
    imperial: bool = False
    earth: EarthRule | None = None
    leakage: _LeakageRule | None = None
    elsewhere: list[Elsewhere] = field(default_factory=list)
    competence: list[_Competence] = field(default_factory=list)
    role: list[Role] = field(default_factory=list)

    def roles_for(self, duty: str) -> list[Role]:
        """Return the roles that may attest or sign for a duty here."""
        return [role for role in self.role if duty in role.duties]

    def may(self, role: str, duty: str) -> bool:
        """Whether somebody in a role, by its id, may attest or sign for a duty here."""
        return any(one.id == role for one in self.roles_for(duty))

    def find(self, limit_id: str) -> Limit | None:
        """Return a limit by its id; None where this country prints none."""
        return next((limit for limit in self.limit if limit.id == limit_id), None)

    def figure(self, limit_id: str) -> float:
        """Return the number of a limit that every country has."""
        return next(limit.value for limit in self.limit if limit.id == limit_id)

    def reserves(self, trade: Trade, table: str, outcome: str) -> bool:
        """Say whether work on the kiln itself, that a repairer does elsewhere, is an electrician's here."""
        return any(one.reserves(trade, table, outcome) for one in self.competence)

    def printed(self) -> Iterator[Printed]:
        """Return every row, each followed by what is printed of it elsewhere."""
        rules = {"earth": self.earth, "leakage": self.leakage, "ratings": self.ratings}
        rows: dict[str, Printed | None] = {**{limit.id: limit for limit in self.limit}, **rules}
        for name, row in rows.items():
            if row:
                yield row
            yield from self.printed_elsewhere(name)

    def printed_elsewhere(self, name: str) -> list[Elsewhere]:
        """Return what is printed elsewhere for a limit by its id, or for `earth`, `leakage` or `ratings`."""
        return [one for one in self.elsewhere if one.of == name]


@dataclass(frozen=True)
class _Limits:
    limit: list[Limit]
    earth: EarthRule


@cache
def profile(name: str) -> Profile:
    """Return the profile `uk`, `eu`, `us` or `au_nz`. Raises QuantityError for another, DataError on a faulty file."""
    if name not in PROFILES:
        raise QuantityError("profile", repr(name), f"one of {', '.join(PROFILES)}")
    return load(f"profiles/{name}.toml", "recover-profile", Profile, files("recover"))


@cache
def _own() -> _Limits:
    return load("profiles/own_limits.toml", "recover-limits", _Limits)


@cache
def own_limits() -> dict[str, Limit]:
    """Return this project's own limits by id."""
    return {limit.id: limit for limit in _own().limit}


def own_earth() -> EarthRule:
    """Return this project's own rule of earth continuity; of it and the country's the lesser figure decides."""
    return _own().earth


@cache
def limits(name: str) -> dict[str, float]:
    """Return the numbers that conditions may name in this profile; of a country's and our own the stricter counts."""
    numbers = {limit.id: limit.value for limit in own_limits().values()}
    for limit in profile(name).limit:
        stricter = max if limit.stricter == "greater" else min
        numbers[limit.id] = stricter(limit.value, numbers.get(limit.id, limit.value))
    return numbers
