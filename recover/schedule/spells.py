"""A schedule that a person can follow: attended spells of a few ramps and holds, the heater off in between.

Hour 0 is when the day opens. Every heated hour is attended. At a hold point the heater is off while readings are taken;
a second run goes on from where the chamber has cooled to.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from recover.physics.wall import Course, Step


@dataclass(frozen=True)
class Attendance:
    """When somebody is there, every day: clock hours from and to; over midnight where `to_h` comes first."""

    from_h: float = 0.0
    to_h: float = 24.0

    @property
    def hours(self) -> float:
        """How long a day may be heated [h]."""
        return self.to_h - self.from_h if self.to_h > self.from_h else self.to_h + 24 - self.from_h

    @property
    def always(self) -> bool:
        """Whether somebody is there day and night."""
        return self.hours >= 24

    def __str__(self) -> str:
        return f"{_clock(self.from_h)}-{_clock(self.to_h)}"


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(hour % 1 * 60):02d}"


@dataclass(frozen=True)
class HeatedRun:
    """Set-points one after the other, from where the chamber stands; `reads`: it ends at a hold point, for readings."""

    from_degc: float
    steps: tuple[Step, ...]
    reads: bool = False

    @property
    def course(self) -> Course:
        """What the chamber is asked to do, from the beginning of the run."""
        return Course.of(self.from_degc, self.steps)

    @property
    def hours(self) -> float:
        """How long it lasts [h]; it ends by itself."""
        return self.course.end_h

    @property
    def top_degc(self) -> float:
        """Its hottest set-point [°C]."""
        return max(step.to_degc for step in self.steps)

    def held_h(self, from_degc: float, to_degc: float) -> float:
        """Return how long it asks for a temperature between two [h]."""
        return _between(self.course, from_degc, to_degc)

    def worst(self, overshoot_k: float) -> Course:
        """Return what it does where it runs past every set-point: each ramp goes on, up to so far above its set-point.

        It stays there until the programme has caught up, or has ended.
        """
        course, overs = self.course, self._overs(overshoot_k)
        knots = {*course.hours, *(hour for over in overs for hour in over.hours)}
        knots |= {hour for one, other in combinations([course, *overs], 2) for hour in _crossings(one, other)}
        hours = np.array(sorted(hour for hour in knots if hour <= course.end_h))
        degc = np.max([np.interp(hours, one.hours, one.degc, left=-np.inf) for one in (course, *overs)], axis=0)
        return Course(tuple(hours.tolist()), tuple(degc.tolist()))

    def _overs(self, overshoot_k: float) -> list[Course]:
        """Return each ramp as it goes on past its set-point, from the hour at which it begins."""
        found = []
        begins_h = self.course.hours[:-1:2]
        for begin_h, here, step in zip(begins_h, self.course.degc[:-1:2], self.steps, strict=True):
            rise_k = step.to_degc + overshoot_k - here
            if rise_k > 0:
                found.append(Course((begin_h, begin_h + rise_k / step.ramp_k_h), (here, here + rise_k)))
        return found


def _crossings(one: Course, other: Course) -> list[float]:
    """Return the hours at which two courses cross, found between all their knots."""
    hours = np.array(sorted({*one.hours, *other.hours}))
    apart = np.interp(hours, one.hours, one.degc) - np.interp(hours, other.hours, other.degc)
    at = np.flatnonzero(apart[:-1] * apart[1:] < 0)
    share = apart[at] / (apart[at] - apart[at + 1])
    return list((hours[at] + share * (hours[at + 1] - hours[at])).tolist())


@dataclass(frozen=True)
class Spell:
    """One attended spell: one or more runs, the heater off for `off_h` between them; it is off after the last."""

    runs: tuple[HeatedRun, ...]
    off_h: float = 0.0

    @property
    def from_degc(self) -> float:
        """What its first ramp begins at [°C]."""
        return self.runs[0].from_degc

    @property
    def steps(self) -> tuple[Step, ...]:
        """All set-points, in order."""
        return tuple(step for run in self.runs for step in run.steps)

    @property
    def begins_h(self) -> tuple[float, ...]:
        """When each run begins, from the opening of the day [h]."""
        found = [0.0]
        for run in self.runs[:-1]:
            found.append(found[-1] + run.hours + self.off_h)
        return tuple(found)

    @property
    def hours(self) -> float:
        """When the last run ends, from the opening of the day [h]."""
        return self.begins_h[-1] + self.runs[-1].hours

    @property
    def top_degc(self) -> float:
        """Its hottest set-point [°C]."""
        return max(run.top_degc for run in self.runs)

    def held_h(self, from_degc: float, to_degc: float) -> float:
        """Return how long it asks for a temperature between two [h], heater on."""
        return sum(run.held_h(from_degc, to_degc) for run in self.runs)


def _between(course: Course, low: float, high: float) -> float:
    """Return for how long a course lies between two temperatures [h]."""
    found = 0.0
    for (from_h, a), (to_h, b) in pairwise(zip(course.hours, course.degc, strict=True)):
        if a == b:
            found += to_h - from_h if low <= a <= high else 0.0
        else:
            inside = max(min(max(a, b), high) - max(min(a, b), low), 0.0)
            found += (to_h - from_h) * inside / abs(b - a)
    return found


def joined_steps(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Return steps without those that say nothing of their own: no rise after the last, or its ramp going on."""
    made: list[Step] = []
    for step in steps:
        if made and step.to_degc == made[-1].to_degc:
            made[-1] = replace(made[-1], hold_h=made[-1].hold_h + step.hold_h)
        elif made and made[-1].hold_h == 0 and step.ramp_k_h == made[-1].ramp_k_h:
            made[-1] = step
        else:
            made.append(step)
    return tuple(made)
