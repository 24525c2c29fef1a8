"""Which firings of its proof a kiln shows, by its log or by what was looked at after them: for gate and certificate.

Each firing is shown by a heating of its own, in their order: one that was hot enough for two stands for the nearer. A
yes shows none. Without log or answer a firing is named as not made, or the hand-over waits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from functools import cache

from recover.asked.answers import Answers
from recover.asked.told import Answer
from recover.base.addresses import Address, within
from recover.base.conditions import Possible
from recover.base.datafile import load
from recover.base.measures import show_quantity
from recover.base.sources import Authority, Figure
from recover.judged.dry import COLD, Heat, heats
from recover.profiles import Profile, own_limits

DONE = "handover.done"
"""What whoever hands it over says of the firings."""

_Shown = tuple[tuple[str, Heat], ...]
"""Firings with the heating that each is shown by."""


@dataclass(frozen=True, kw_only=True)
class _Firing(Authority):
    """A firing of the proof: its top, and the question by which it is shown as well, by these answers to it."""

    id: str
    top_degc: float
    shown_by: str = ""
    shown: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _Fired:
    not_shown: str
    reached_k: Figure
    over_share: Figure
    firing: tuple[_Firing, ...]


@cache
def _fired() -> _Fired:
    return load("judged/fired.toml", "recover-fired", _Fired)


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
    shown = shown_by_heat(answers, at, country)
    return [one for one in _fired().firing if one.id not in shown and not _is_told(answers, one, at)]


def _is_told(answers: Answers, one: _Firing, at: Address) -> bool:
    """Whether what was seen after a firing shows that it came to its top."""
    told = answers.answer(one.shown_by, at) if one.shown_by else None
    return told is not None and told.state == "given" and told.value in one.shown


def cold_after(answers: Answers, zone: Address, country: Profile) -> Answer | None:
    """Return the cold reading of a zone's elements, where it was taken an hour or more after the last firing of the
    proof that the log shows before it; None of none."""
    shown = shown_by_heat(answers, within(zone, "kiln") or zone, country).values()
    read, hour = answers.answer(COLD, zone), timedelta(hours=answers.limits["rise_hours"])
    if read is None or read.state != "given" or read.measured is None:
        return None
    before = [heat.one.measured for heat in shown if heat.one.measured <= read.measured]
    return read if before and read.measured >= max(before) + hour else None


# ---------------------------------------------------------------------------------------- by the log


def shown_by_heat(answers: Answers, at: Address, country: Profile) -> Mapping[str, Heat]:
    """Return the hottest of the heating that stands for each firing, by its id: of as many firings as can be shown, and
    the nearest to their tops."""
    found = [*_heatings(heats(answers, at, country))]
    best: list[_Shown] = [()] * (len(found) + 1)
    for firing in _fired().firing:
        row = [best[0]]
        for n, heat in enumerate(found):
            own = [(*best[n], (firing.id, heat))] if _reaches(heat, firing) else []
            row.append(max((row[-1], best[n + 1], *own), key=_fit))
        best = row
    return dict(best[-1])


def _reaches(heat: Heat, firing: _Firing) -> bool:
    return heat.degc >= firing.top_degc - _fired().reached_k.value


def _fit(shown: _Shown) -> tuple[int, float]:
    """Return how many firings are shown, and how near to their tops."""
    tops = tops_degc()
    return len(shown), -sum(abs(heat.degc - tops[firing]) for firing, heat in shown)


def _heatings(read: Iterable[Heat]) -> Iterator[Heat]:
    """Yield the hottest of each heating, in their order: one is over once it has lost a share of its heat, or was not
    read for longer than any run lasts."""
    longest, of = timedelta(hours=own_limits()["run_hours"].value), list[Heat]()
    for heat in read:
        top = max((one.degc for one in of), default=0.0)
        if of and (heat.degc < _fired().over_share.value * top or heat.one.measured - of[-1].one.measured > longest):
            yield max(of, key=lambda one: one.degc)
            of = []
        of.append(heat)
    if of:
        yield max(of, key=lambda one: one.degc)
