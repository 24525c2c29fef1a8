"""Since when own heat of a kiln is off, by releases and stops, and how hot its chamber is at most from then on.

A kiln that is off cools. So what was read of it since it went off, and as it was then, tells how hot it may be at every
later moment, and no reading lets the next one be hotter: that is heat of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp, isfinite
from typing import TYPE_CHECKING

from recover.judged.runs import HeatRelease, on_until
from recover.plan.clock import elapsed_h
from recover.plan.kinds import log_data
from recover.plan.log import expected_at, is_own, stopped_since

if TYPE_CHECKING:
    from recover.asked.told import Logged
    from recover.plan.whole import Day, KilnPlan

Read = tuple[datetime, float]
"""When a chamber was read, and how hot [°C]."""

DAY_BEFORE_H = 24.0
"""So long before a reading on a day from outside another still tells how warm a chamber may be."""


@dataclass(frozen=True)
class Off:
    """Since when own heat is off; `stopped`: by a stop that was logged, else by the end of its release."""

    since: datetime
    stopped: bool = False

    def is_on(self, day: Day | None) -> bool:
        """Whether it went off within a day; of no day of a plan, at all."""
        return self.since.date() == day.date if day else self.since.year > 1


def off_since(
    one: Logged, kiln: KilnPlan, day: Day | None, log: Iterable[Logged], releases: Sequence[HeatRelease]
) -> Off | None:  # fmt: skip
    """Return since when own heat is off at the moment of a line; None while releases and stops let it be on.

    A stop ends it, a power cut as well, until it is logged that it goes on, the day is over, or, on no day of a plan,
    it is released anew. A run that was begun under a release goes on for some hours once that is out of date.
    """
    before = sorted((other for other in log if _at(other) < _at(one)), key=_at)
    if stopped := _stopped(one, day, before, releases):
        return Off(stopped, stopped=True)
    hot = [at for at, _ in _of_its_run(before, kiln)] if day is None else []
    until = on_until(releases, [*hot, *([one.measured] if day is None else [])], one.measured)
    return Off(until) if until is not None and one.measured > until else None


def unheated_degc(
    one: Logged, kiln: KilnPlan, day: Day | None, log: Iterable[Logged], off: Off | None
) -> float | None:  # fmt: skip
    """Return how hot a chamber is at most at the moment of a line, its own elements `off` [°C]; None where nothing
    tells that.

    It is what the ways from outside make of it, or as its day begins; or what it has cooled to from when it went off,
    and from each reading since. Where nobody knows since when it is off, it is as it was read last.
    """
    cold = [*_cold_degc(kiln, day)]
    before = sorted((other for other in log if _is_before(other, one, day)), key=_at)
    known = [*_known(one, kiln, day, [*_chamber(before)], off)]
    if not cold or (not known and off and off.stopped):
        return None
    cooled = [_cooled_degc(each, one.measured, min(cold)) for each in known]
    return max([*cold, *([min(cooled)] if cooled else [])]) + log_data().hotter_k.value


def _at(one: Logged) -> float:
    return one.measured.timestamp()


# ---------------------------------------------------------------------------------------- since when it is off


def _stopped(
    one: Logged, day: Day | None, before: Sequence[Logged], releases: Iterable[HeatRelease]
) -> datetime | None:  # fmt: skip
    """Return since when heating is stopped at the moment of a line: of no day of a plan, since it was released last."""
    if day is not None:
        return stopped_since(one, day, before) if is_own(day) else None
    anew = max((other.since.timestamp() for other in releases if other.since <= one.measured), default=0.0)
    return stopped_since(one, None, [other for other in before if _at(other) >= anew])


def _of_its_run(before: Iterable[Logged], kiln: KilnPlan) -> Sequence[Read]:
    """Return what was read of a chamber in the run that may be on: since it was cold, or clearly fell, and rose again.

    A run that fell is over, and one that is switched on after it is another.
    """
    data, cold = log_data(), max(_cold_degc(kiln, None), default=0.0)
    run: list[Read] = []
    lowest: float | None = None
    for at, degc in _chamber(before):
        if degc <= cold + data.hotter_k.value or (run and degc < max(hot for _, hot in run) - data.falls_k.value):
            run, lowest = [], degc
        elif run or lowest is None or degc > lowest + data.hotter_k.value:
            run.append((at, degc))
        else:
            lowest = min(lowest, degc)
    return run


def _chamber(of: Iterable[Logged]) -> Iterator[Read]:
    yield from ((one.measured, one.value) for one in of if one.what == "chamber" and one.value is not None)


# ---------------------------------------------------------------------------------------- how hot it is then


def _is_before(other: Logged, one: Logged, day: Day | None) -> bool:
    """Whether a line was measured before another: on its day, where that is one of its own elements, whose first step
    tells how far it has cooled since; in the day and night before it on one from outside; whenever on no day."""
    hours = elapsed_h(other.measured, one.measured)
    if day is None or hours <= 0:
        return hours > 0
    return other.measured.date() == day.date if is_own(day) else hours <= DAY_BEFORE_H


def _known(
    one: Logged, kiln: KilnPlan, day: Day | None, read: Sequence[Read], off: Off | None
) -> Iterator[Read]:  # fmt: skip
    """Yield how hot a chamber was at most when it went off, and as it was read since."""
    if off is None:
        yield from read[-1:]
        return
    before = [each for each in read if each[0] <= off.since]
    if off.is_on(day):
        yield from _as_it_went_off(one, kiln, day, before, off)
    yield from read[len(before) :]


def _as_it_went_off(
    one: Logged, kiln: KilnPlan, day: Day | None, before: Sequence[Read], off: Off
) -> Iterator[Read]:  # fmt: skip
    """Yield how hot a chamber was at most when it went off: up to where its day ends then; else as it was read last,
    and, where a firing was stopped, as much hotter as the steepest ramp makes it in the time between."""
    then = replace(one, what="chamber", place="", measured=off.since)
    expected = expected_at(then, day) if day else None
    if expected is not None and expected.stop is not None:
        yield off.since, expected.stop
    elif before:
        last, degc = before[-1]
        steepest_k_h = _steepest_k_h(kiln) if day is None and off.stopped else 0.0
        yield off.since, degc + steepest_k_h * elapsed_h(last, off.since)


def _steepest_k_h(kiln: KilnPlan) -> float:
    """Return the steepest ramp of all that is fired after the days of a plan [K/h]."""
    ramps = (step.ramp_k_h for firing in kiln.after for step in firing.card.steps)
    return max((ramp for ramp in ramps if isfinite(ramp)), default=0.0)


def _cooled_degc(read: Read, now: datetime, cold_degc: float) -> float:
    """Return how hot a chamber is at most some time after it was so hot, its own elements off [°C]."""
    at, degc = read
    above_k = max(degc - cold_degc, 0.0)
    return min(degc, cold_degc) + above_k * exp(-elapsed_h(at, now) / log_data().cools_h.value)


def _cold_degc(kiln: KilnPlan, day: Day | None) -> Iterator[float]:
    """Yield how warm a chamber may be without its own elements [°C]: as hot as anything from outside is set, and as
    the first step of a day of its own begins; on no day of a plan, as the first of them does."""
    yield from (other.top_degc for other in kiln.days if not is_own(other) and other.top_degc is not None)
    own = day or next((other for other in kiln.days if is_own(other) and other.steps), None)
    if own and is_own(own) and own.steps:
        first = own.steps[0]
        yield first.to_degc - (first.ramp_k_h or 0.0) * elapsed_h(first.begins, first.hold_from)
