"""One attended day: at full speed, somewhat faster than the day before, filled until somebody leaves, its night."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from recover.physics.wall import Course, Step
from recover.plan.envelope import LEAST_HOLD_H, joined, rounded_ramp
from recover.plan.schedule import AT_ONCE_H, Day
from recover.plan.verify import Conditions

HOPED, HOPED_K = 1.3, 30.0
"""By how much the day after an eased one is first tried faster and hotter: there is less water in it."""


def at_full_speed(from_degc: float, stops: Sequence[float], under: Conditions) -> Day:
    """Return the steepest ramps, a hold at each hold point that is still to come, and the top until the end."""
    ramp, hold_h = under.limits.ramp.value, under.limits.hold.value
    held = [Step(stop, ramp, hold_h) for stop in stops if stop > from_degc]
    rest = Step(max(under.top[0], from_degc), ramp, under.stretch_h)
    return finished(Day(from_degc, (*held, rest)), under)


def hoped(fast: Day, yesterday: Day | None, under: Conditions) -> Day:
    """Return the day that is eased: yesterday's ramps somewhat faster, to a hotter end; the first day at full speed."""
    ramps = [step for step in yesterday.steps if step.to_degc > fast.from_degc] if yesterday else []
    if not ramps:
        return fast
    steepest = under.limits.ramp.value
    quicker = [Step(step.to_degc, min(rounded_ramp(step.ramp_k_h * HOPED + 1), steepest)) for step in ramps]
    quicker[-1] = replace(quicker[-1], to_degc=min(quicker[-1].to_degc + HOPED_K, fast.steps[-1].to_degc))
    return finished(Day(fast.from_degc, joined(quicker)), under)


def finished(day: Day, under: Conditions) -> Day:
    """Return a day that holds on until its end, or is cut there; a last hold of minutes is left out."""
    *before, last = day.steps
    longer = replace(last, hold_h=last.hold_h + max(under.stretch_h - day.hours, 0.0))
    *before, last = replace(day, steps=(*before, longer)).until(under.stretch_h).steps
    last = replace(last, hold_h=0.0) if last.hold_h < LEAST_HOLD_H else last
    return replace(day, steps=joined((*before, last)))


def with_night(course: Course, under: Conditions) -> Course:
    """Return what the chamber is asked to do on a day, and over the night after it where there is one."""
    if under.attendance.always:
        return course
    return Course(
        (*course.hours, course.end_h + AT_ONCE_H, 24.0), (*course.degc, under.room_degc, under.room_degc)
    )  # fmt: skip
