"""One attended day: at full speed, or somewhat faster than the day before; mended; filled until somebody leaves.

Where a day breaks a limit, only the steps that break it are slowed or lowered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from recover.physics.drying import Numbers
from recover.physics.wall import Course, Step
from recover.schedule.limits import Conditions, Limits
from recover.schedule.spells import AT_ONCE_H, LEAST_HOLD_H, Day, joined_steps, rounded_ramp

HOPED, HOPED_K = 1.3, 30.0
"""By how much the day after an eased one is first tried faster and hotter: there is less water in it."""

SLOWER, SLOWEST = 0.85, 0.4
"""By how much a ramp is slowed at a time: at least, and at most."""

COOLER_K, COOLEST_DEGC = 15.0, 30.0
AFTER_RAMP_H = 1.0
"""What breaks so soon after a ramp is laid to the ramp: heat that is in the wall goes on."""


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
    return finished(Day(fast.from_degc, joined_steps(quicker)), under)


def finished(day: Day, under: Conditions) -> Day:
    """Return a day that holds on until its end, or is cut there; a last hold of minutes is left out."""
    *before, last = day.steps
    longer = replace(last, hold_h=last.hold_h + max(under.stretch_h - day.hours, 0.0))
    *before, last = replace(day, steps=(*before, longer)).until(under.stretch_h).steps
    last = replace(last, hold_h=0.0) if last.hold_h < LEAST_HOLD_H else last
    return replace(day, steps=joined_steps((*before, last)))


def with_night(course: Course, under: Conditions) -> Course:
    """Return what the chamber is asked to do on a day, and over the night after it where there is one."""
    if under.attendance.always:
        return course
    return Course(
        (*course.hours, course.end_h + AT_ONCE_H, 24.0), (*course.degc, under.room_degc, under.room_degc)
    )  # fmt: skip


# ---------------------------------------------------------------------------------------- what breaks, and its mending


@dataclass(frozen=True)
class Broken:
    """What a step breaks: which limit, how many times its value was reached, and whether while the chamber ramped."""

    limit_id: str
    times: float
    ramping: bool


def broken_steps(day: Day, limits: Limits, came_to: dict[str, Numbers], hours: Numbers) -> dict[int, Broken]:
    """Return each step of a day that breaks a limit, by what it came to at each hour (n_hour,).

    What breaks after the last step, when the heater is off, is laid to it; what breaks as soon as a step begins, to the
    one before it as well.
    """
    found: dict[int, Broken] = {}
    for number, (from_h, to_h) in enumerate(zip((0.0, *day.ends_h), (*day.ends_h[:-1], np.inf), strict=False)):
        within = (hours > from_h) & (hours <= to_h)
        for name, values in came_to.items():
            over = hours[within & (values > limits[name].value)]
            times = float(values[within].max(initial=0.0)) / limits[name].value
            if over.size and (number not in found or times > found[number].times):
                hold_from_h = day.ends_h[number] - day.steps[number].hold_h
                found[number] = Broken(name, times, bool(over[0] <= hold_from_h + AFTER_RAMP_H))
                if number and over[0] <= from_h + AFTER_RAMP_H:
                    found.setdefault(number - 1, Broken(name, times, ramping=True))
    return found


def repaired(day: Day, wrong: dict[int, Broken], limits: Limits, stops: Sequence[float]) -> Day:
    """Slow the ramps that break a limit, or lower the holds that do; nothing else is changed, and nothing falls.

    A day that is lowered at a hold point ends there: nothing passes one without its hold.
    """
    made: list[Step] = []
    for number, step in enumerate(day.steps):
        gentle = _gentler(step, wrong[number], limits) if number in wrong else step
        made.append(replace(gentle, to_degc=max(gentle.to_degc, made[-1].to_degc if made else gentle.to_degc)))
        if made[-1].to_degc < step.to_degc and step.to_degc in stops:
            break
    return replace(day, steps=tuple(made))


def _gentler(step: Step, wrong: Broken, limits: Limits) -> Step:
    """Return a step that is slowed, or lowered where it is slow enough, by about as much as its limit was exceeded."""
    slower = rounded_ramp(step.ramp_k_h * min(max(0.95 / wrong.times, SLOWEST), SLOWER))
    if wrong.limit_id == limits.casing.id or not wrong.ramping or slower >= step.ramp_k_h:
        cooler_k = COOLER_K * min(max(round((wrong.times - 1) / 0.1), 1), 4)
        return replace(step, to_degc=max(step.to_degc - cooler_k, COOLEST_DEGC))
    return replace(step, ramp_k_h=slower)
