"""What readings of a drying teach: each draw weighed by how likely it would have shown them.

Half of the draws are of the kiln as assumed, half of one that is doubted, as the model itself may be wrong: what is
told as a span has both. What none of those as assumed shows is another kiln, whatever a doubted one shows. All are
lived through every day again, so that none is worn out by readings of days ago.

Errors stay (how a probe sits, what one piece says of a wall, which share is caught), come anew each day, and with each
look. The likelihood is raised to a power where fewer than `LEAST_AGREEING` draws would carry the weight. Kilowatt-hours
are read for the bill: by what a trial showed, they leave too few draws and teach a wrong thing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from math import floor
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

from recover.asked.told import to_the_minute
from recover.physics.drying import Numbers
from recover.physics.ensemble import at_hours
from recover.physics.figures import DOUBTED, figures
from recover.physics.sensitivity import LEAST_AGREEING, LEAST_KG, deviation, tempered
from recover.physics.staged import Heating
from recover.plan.clock import elapsed_h
from recover.plan.criteria import LEAST_PIECE, piece_left
from recover.plan.days import place_of
from recover.plan.kinds import kinds
from recover.plan.lived import READ_EVERY_H
from recover.plan.piece import Piece
from recover.plan.walk import RunDay

if TYPE_CHECKING:
    from recover.asked.told import Logged

PRIOR_DRAWS = 256
"""On so many draws a drying is lived again: what readings leave of them still has to be many."""

UNLIKELY = 0.001
"""What chance does once in a thousand kilns: readings that no draw comes nearer to are of another kiln."""

Teaches = Literal["casing", "piece", "litres"]


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """What no draw comes near to: what was read, where, and how far beside the nearest draw it lies, on the mean.

    `line` is the last line of the log in which it was read so.
    """

    what: Teaches
    place: str
    beside: float
    unit: str
    line: int


@dataclass(frozen=True, kw_only=True)
class Weighed:
    """What readings leave of the draws: the weight of each, how many readings counted, and what no draw shows."""

    weights: Numbers
    readings: int
    misfits: tuple[Misfit, ...]

    @property
    def effective(self) -> float:
        """How many draws carry the weight: (Σw)² / Σw²."""
        return float(self.weights.sum() ** 2 / (self.weights**2).sum())

    def chosen(self, draws: int) -> tuple[int, ...]:
        """Return so many draws, each as often as its weight has it, to the next whole number."""
        ends = np.cumsum(self.weights) / self.weights.sum()
        at = (np.arange(draws) + 0.5) / draws
        return tuple(int(one) for one in np.minimum(np.searchsorted(ends, at), len(ends) - 1))


@dataclass(frozen=True, kw_only=True)
class _Channel:
    """Readings of one kind at one place, and what each draw shows of them (n_draw, n_look), with their errors."""

    what: Teaches
    place: str
    read: Numbers
    shown: Numbers
    covariance: Numbers
    beside: Numbers
    unit: str
    days: Numbers
    lines: Numbers

    @property
    def against(self) -> Numbers:
        """Half the squared distance of each draw from what was read (n_draw,)."""
        apart = np.linalg.solve(np.linalg.cholesky(self.covariance), (self.read - self.shown).T)
        return np.asarray(0.5 * (apart**2).sum(axis=0))

    def of(self, draws: Sequence[int]) -> _Channel:
        """Return what some of the draws show."""
        own = list(draws)
        return replace(self, shown=self.shown[own], beside=self.beside[own])


def to_weigh(heating: Heating) -> Heating:
    """Return the draws that readings weigh: a share of them doubted, or all where the kiln is."""
    share = 0.0 if heating.knowledge == DOUBTED else figures().doubted_share.mid
    return replace(heating, draws=PRIOR_DRAWS, doubted_share=share)


def as_assumed(heating: Heating) -> list[int]:
    """Return the numbers of the draws that are of the kiln as it is assumed."""
    return [draw for draw, doubted in enumerate(heating.doubted) if not doubted]


def learn(
    days: Sequence[RunDay], opens: Sequence[datetime], log: Sequence[Logged], piece: Piece, assumed: Sequence[int]
) -> Weighed:
    """Return what readings teach of draws that lived through days; `opens` is when each of these days opened, and
    `assumed` numbers the draws of the kiln as it is assumed: what none of them shows is a misfit."""
    channels = [*_channels(days, opens, log, piece)]
    against = sum((one.against for one in channels), start=np.zeros(len(days[0].left)))
    least = min(LEAST_AGREEING, len(against) / 4)
    weights = tempered((against - against.min())[None, :], least)[0]
    return Weighed(
        weights=weights, readings=sum(len(one.read) for one in channels),
        misfits=tuple(_misfits([one.of(assumed) for one in channels])),
    )  # fmt: skip


def _misfits(channels: Sequence[_Channel]) -> Iterator[Misfit]:
    """Yield what was read on some day beyond all that draws show, by more than its errors; the farthest day of each."""
    for one in channels:
        if beyond := [found for day in sorted({*one.days}) if (found := _beyond(one, day))]:
            yield max(beyond, key=lambda found: abs(found.beside))


def _beyond(one: _Channel, day: int) -> Misfit | None:
    """Return by how much the mean of a day lies beside the nearest draw; None where it is among them, or may be."""
    looks = one.days == day
    apart = (one.read - one.shown)[:, looks].mean(axis=1)
    nearest = int(np.argmin(np.abs(apart)))
    error = float(one.covariance[np.ix_(looks, looks)].mean() ** 0.5)
    if apart.min() < 0 < apart.max() or abs(apart[nearest]) <= NormalDist().inv_cdf(1 - UNLIKELY / 2) * error:
        return None
    beside = float(one.beside[nearest, looks].mean())
    return Misfit(what=one.what, place=one.place, beside=beside, unit=one.unit, line=int(one.lines[looks].max()))


# ---------------------------------------------------------------------------------------- what is read


@dataclass(frozen=True)
class _Look:
    """A reading on a day of the drying, counted from 0, so many hours after that day started; its line of the log."""

    day: int
    hour: float
    value: float
    line: int


def _channels(
    days: Sequence[RunDay], opens: Sequence[datetime], log: Sequence[Logged], piece: Piece
) -> Iterator[_Channel]:
    numbers = [one for one in counted(log) if one.value is not None and one.what in _CHANNEL]
    for (what, place, unit), of in groupby(sorted(numbers, key=_place), key=_place):
        looks = [*_looks(days, opens, [*of])]
        made = _CHANNEL[what](days, looks, place, unit, piece) if looks else None
        if made is not None:
            yield made


def counted(log: Iterable[Logged]) -> Iterator[Logged]:
    """Yield what counts of a log: what was typed several times of one minute once, and no reading of a meter that need
    not be the one of before, until somebody notes that they were compared."""
    once: dict[tuple[object, ...], Logged] = {}
    named: dict[tuple[str, str, str], str] = {}
    for one in sorted(log, key=lambda one: (to_the_minute(one.measured).timestamp(), one.line)):
        once.setdefault((*_place(one), to_the_minute(one.measured).timestamp(), one.value, one.word), one)
    for one in once.values():
        kind, before = kinds().get(one.what), named.get(_place(one))
        if kind and before is not None and not kind.teaches(one.said, before):
            continue
        named[_place(one)] = one.said if kind and kind.names_meter(one.said) else before or ""
        yield one


def _place(one: Logged) -> tuple[str, str, str]:
    return one.what, one.place, one.unit


def _looks(days: Sequence[RunDay], opens: Sequence[datetime], of: Sequence[Logged]) -> Iterator[_Look]:
    """Yield readings by their day and hour; of a casing or a piece that is read more often than a day asks, the mean of
    those that lie so near to one another: a logger says no more than a person, and one weighing no more than itself.
    """
    all_of = [look for one in of if (look := _look(days, opens, one))]
    if not of or of[0].what == "litres":
        yield from all_of
        return
    for _, near in groupby(sorted(all_of, key=_window), key=_window):
        together = [*near]
        hour, value = (float(np.mean([getattr(one, name) for one in together])) for name in ("hour", "value"))
        yield _Look(together[0].day, hour, value, max(one.line for one in together))


def _window(look: _Look) -> tuple[int, int]:
    return look.day, floor(look.hour / READ_EVERY_H + 0.25)


def _look(days: Sequence[RunDay], opens: Sequence[datetime], one: Logged) -> _Look | None:
    before = [number for number, at in enumerate(opens) if at.timestamp() <= one.measured.timestamp()]
    if not before or one.value is None:
        return None
    hour = elapsed_h(opens[before[-1]], one.measured) - days[before[-1]].starts_h
    return _Look(before[-1], max(hour, 0.0), one.value, one.line) if hour <= days[before[-1]].did.hours[-1] else None


# ---------------------------------------------------------------------------------------- what draws show


def _casing(days: Sequence[RunDay], looks: Sequence[_Look], place: str, unit: str, _: Piece) -> _Channel | None:
    """Return casing readings of one place, in kelvins; None where the model has no such place."""
    names = [place_of(wall.name) for wall in days[0].did.setups[0].walls]
    if place not in names or unit != "°C":
        return None
    at = names.index(place)
    shown = np.array([_at_hour(days[one.day], days[one.day].did.casing_degc[:, :, at], one.hour) for one in looks]).T
    read, say = np.array([one.value for one in looks]), figures()
    error = _covariance(looks, say.casing_offset_k.mid, say.casing_day_k.mid, say.casing_look_k.mid)
    return _Channel(what="casing", place=place, read=read, shown=shown, covariance=error, beside=read - shown, unit="K",
                    days=_days(looks), lines=_lines(looks))  # fmt: skip


def _piece(days: Sequence[RunDay], looks: Sequence[_Look], place: str, unit: str, piece: Piece) -> _Channel | None:
    """Return weighings, as the logarithm of the share of its water that the piece still holds."""
    if unit != piece.unit:
        return None
    left = np.vstack([np.ones(len(days[0].left)), piece_left(days)])
    shown = np.array([left[one.day + (one.hour > days[one.day].on_h > 0)] for one in looks]).T
    read = np.array([max(piece.left(one.value), 0.0) for one in looks])
    error = _covariance(looks, deviation(figures().piece_share), 0.0, deviation(figures().piece_look_times))
    logs = [np.log(np.maximum(values, 0.0) + LEAST_PIECE) for values in (read, shown)]
    return _Channel(what="piece", place=place, read=logs[0], shown=logs[1], covariance=error,
                    beside=100 * (read - shown), unit="%", days=_days(looks),
                    lines=_lines(looks))  # fmt: skip


def _litres(days: Sequence[RunDay], looks: Sequence[_Look], place: str, unit: str, _: Piece) -> _Channel | None:
    """Return what was caught on each day, all its emptyings together, by its logarithm."""
    if unit != "l":
        return None
    by_day = {day: [*of] for day, of in groupby(sorted(looks, key=lambda one: one.day), key=lambda one: one.day)}
    caught = {day: sum(one.value for one in of) for day, of in by_day.items()}
    share = figures().catch_share
    read = np.maximum([*caught.values()], LEAST_KG)
    shown = np.array([np.maximum(days[day].litres * share.mid, LEAST_KG) for day in caught]).T
    days_looked = [_Look(day, 0.0, caught[day], max(one.line for one in of)) for day, of in by_day.items()]
    error = _covariance(days_looked, deviation(share), 0.0, deviation(figures().catch_look_times))
    return _Channel(what="litres", place=place, read=np.log(read), shown=np.log(shown), covariance=error,
                    beside=read - shown, unit="l", days=_days(days_looked), lines=_lines(days_looked))  # fmt: skip


_CHANNEL = {"casing": _casing, "piece": _piece, "litres": _litres}


def _at_hour(day: RunDay, values: Numbers, hour: float) -> Numbers:
    return at_hours(hour, day.did.hours, values)


def _lines(looks: Sequence[_Look]) -> Numbers:
    return np.array([one.line for one in looks], np.float64)


def _days(looks: Sequence[_Look]) -> Numbers:
    return np.array([one.day for one in looks], np.float64)


def _covariance(looks: Sequence[_Look], stays: float, by_day: float, anew: float) -> Numbers:
    """Return the covariance of errors that stay, that come anew with each day, and with each look."""
    days = _days(looks)
    return np.asarray(stays**2 + by_day**2 * (days[:, None] == days[None, :]) + anew**2 * np.eye(len(looks)))
