"""Which firings of its proof a kiln shows, by its log or by what was looked at after them: for gate and certificate.

A yes shows none. Without log or answer a firing is named as not made, or the hand-over waits.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.asked.answers import Answers
from recover.base.addresses import Address
from recover.base.conditions import Possible
from recover.base.datafile import load
from recover.base.measures import show_quantity
from recover.base.sources import Authority, Figure
from recover.judged.dry import hottest
from recover.profiles import Profile

DONE = "handover.done"
"""What whoever hands it over says of the firings."""


@dataclass(frozen=True, kw_only=True)
class _Firing(Authority):
    """A firing of the proof: its top, and the question whose answer shows it."""

    id: str
    top_degc: float
    shown_by: str = ""


@dataclass(frozen=True, kw_only=True)
class _Fired:
    not_shown: str
    reached_k: Figure
    firing: tuple[_Firing, ...]


@cache
def _fired() -> _Fired:
    return load("judged/fired.toml", "recover-fired", _Fired)


def reached_k() -> float:
    """Return by how much heat may stay below the top of a firing and show it [K]."""
    return _fired().reached_k.value


def tops_degc() -> dict[str, float]:
    """Return the top of each firing of the proof [°C], by its id."""
    return {one.id: one.top_degc for one in _fired().firing}


def unshown(answers: Answers, at: Address, country: Profile) -> list[str]:
    """Return each firing of the proof that neither the log of a kiln nor an answer shows, by its id."""
    return [one.id for one in _unshown(answers, at, country)]


def firings_shown(answers: Answers, at: Address, country: Profile) -> Possible:
    """Return whether log and answers show every firing of the proof."""
    return frozenset({"not_shown" if _unshown(answers, at, country) else "shown"})


def told_unshown(answers: Answers, at: Address, country: Profile) -> list[str]:
    """Return, in words, each firing that a yes alone tells of; nothing where no yes was said."""
    slate = answers.questions.questions[DONE].slate
    if answers.word(DONE, at) != "yes":
        return []
    return [
        _fired().not_shown.format(slate=slate, top=show_quantity(one.top_degc, "degC"))
        for one in _unshown(answers, at, country)
    ]


def _unshown(answers: Answers, at: Address, country: Profile) -> list[_Firing]:
    heat = hottest(answers, at, country)
    came_to = heat.degc + reached_k() if heat else float("-inf")
    return [one for one in _fired().firing if not _is_told(answers, one, at) and came_to < one.top_degc]


def _is_told(answers: Answers, one: _Firing, at: Address) -> bool:
    """Whether somebody answered what is seen after a firing."""
    told = answers.answer(one.shown_by, at) if one.shown_by else None
    return told is not None and told.state == "given"
