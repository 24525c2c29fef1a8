"""A schedule that a person can follow: attended days of a few ramps and holds, the heater off in between.

Hour 0 is when the first day opens. Every heated hour is attended; in between the chamber cools with its heater off, and
the next day begins with a ramp again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import floor

from recover.physics.wall import Course, Step

AT_ONCE_H = 1 / 3600

ROUND_K = 5.0
"""What temperatures and ramps are told and set in; ramps below `COARSE_K_H` in whole kelvins an hour."""

COARSE_K_H = 10.0

LEAST_HOLD_H = 0.25
"""A shorter hold is none that a person keeps."""


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
class Day:
    """One attended spell: the temperature that its first ramp begins at, and its steps; the heater is off after it."""

    from_degc: float
    steps: tuple[Step, ...]

    @property
    def hours(self) -> float:
        """How long it is attended [h]."""
        return self.ends_h[-1]

    @property
    def ends_h(self) -> tuple[float, ...]:
        """When each step ends, from the opening of the day [h]."""
        return Course.of(self.from_degc, self.steps).hours[2::2]

    def until(self, hour: float) -> Day:
        """Return the day as far as this hour: later steps are left out, the one that is cut ends sooner."""
        kept, before_h, degc = [], 0.0, self.from_degc
        for step, end_h in zip(self.steps, self.ends_h, strict=True):
            if before_h >= hour - AT_ONCE_H:
                break
            ramp_h = abs(step.to_degc - degc) / step.ramp_k_h
            if before_h + ramp_h > hour:
                kept.append(_cut(step, degc, hour - before_h))
            else:
                kept.append(replace(step, hold_h=min(step.hold_h, max(hour - before_h - ramp_h, 0.0))))
            before_h, degc = end_h, step.to_degc
        return Day(self.from_degc, tuple(kept))


def _cut(step: Step, from_degc: float, lasts_h: float) -> Step:
    """Return a ramp that is cut after some hours: to the multiple of 5 K that it has reached, and held there."""
    reached = from_degc + step.ramp_k_h * lasts_h * (1 if step.to_degc > from_degc else -1)
    to_degc = floor((reached + 1e-6) / ROUND_K) * ROUND_K
    to_degc = to_degc if from_degc < to_degc <= reached + 1e-6 else reached
    return replace(step, to_degc=to_degc, hold_h=max(lasts_h - abs(to_degc - from_degc) / step.ramp_k_h, 0.0))


@dataclass(frozen=True)
class Schedule:
    """Attended days, one after the other, each opening 24 h after the one before; one day alone may be longer.

    `rest_h` is how long the lining goes on drying after the last step, vents open and heater off.
    """

    days: tuple[Day, ...]
    attendance: Attendance = Attendance()
    rest_h: float = 0.0

    @property
    def hours(self) -> float:
        """From the first opening until the schedule is done [h]."""
        return 24.0 * (len(self.days) - 1) + self.days[-1].hours + self.rest_h

    @property
    def hottest_degc(self) -> float:
        """The hottest that it asks for [°C]."""
        return max(step.to_degc for day in self.days for step in day.steps)

    @property
    def attended_h(self) -> float:
        """Heated hours, all of them attended [h]."""
        return sum(day.hours for day in self.days)

    def course(self, room_degc: float) -> Course:
        """Return what the chamber is asked to do; the room's temperature stands for a heater that is off."""
        hours: list[float] = []
        degc: list[float] = []
        for number, day in enumerate(self.days):
            own = Course.of(day.from_degc, day.steps)
            hours += [24.0 * number + hour for hour in own.hours]
            degc += own.degc
            off_h = 24.0 * (number + 1) - AT_ONCE_H if number < len(self.days) - 1 else hours[-1] + self.rest_h
            if off_h > hours[-1] + AT_ONCE_H:
                hours += [hours[-1] + AT_ONCE_H, off_h]
                degc += [room_degc, room_degc]
        return Course(tuple(hours), tuple(degc))

    def steps(self) -> Iterator[tuple[int, int, float]]:
        """Yield each step: number of its day and its own, from 0, and the hour at which it ends."""
        for number, day in enumerate(self.days):
            yield from ((number, place, 24.0 * number + ends_h) for place, ends_h in enumerate(day.ends_h))

    def until(self, hour: float) -> Schedule:
        """Return the schedule cut at an hour; what lies beyond is left out."""
        last = max(number for number in range(len(self.days)) if number == 0 or 24.0 * number < hour - AT_ONCE_H)
        final = self.days[last].until(hour - 24.0 * last)
        rest_h = max(hour - 24.0 * last - final.hours, 0.0)
        return Schedule((*self.days[:last], final), self.attendance, rest_h if rest_h > AT_ONCE_H else 0.0)


# ---------------------------------------------------------------------------------------- steps that can be read


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


def rounded_ramp(ramp_k_h: float) -> float:
    """Return a ramp [K/h] rounded down to what is told and set: 5 K, or a whole kelvin where it is slow."""
    by = ROUND_K if ramp_k_h >= COARSE_K_H else 1.0
    return max(floor((ramp_k_h + 1e-6) / by) * by, 1.0)
