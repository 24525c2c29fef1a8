"""Judges a schedule on many draws with all walls: what it leaves, what it reaches, and which step breaks a limit.

A schedule is judged as it will be read: after it was made simple. Where nine draws in ten do not keep a limit, only the
steps that break it are slowed or lowered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from math import ceil

import numpy as np

from recover.physics.draws import Spread, spread
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, Ensemble, resume
from recover.physics.wall import Step
from recover.plan.envelope import rounded_ramp
from recover.plan.limits import HOLD_POINTS_DEGC, Limits, reached
from recover.plan.schedule import Attendance, Day, Schedule

SHOWN_H = 0.25
MOST_DRAWN = 150
"""How many moments of a curve are kept: as many as a drawing shows."""

SLOWER, SLOWEST = 0.85, 0.4
"""By how much a ramp is slowed at a time: at least, and at most."""

COOLER_K, COOLEST_DEGC = 15.0, 30.0
AFTER_RAMP_H = 1.0
"""What breaks so soon after a ramp is laid to the ramp: heat that is in the wall goes on."""


@dataclass(frozen=True)
class Conditions:
    """Under what a kiln is heated: limits, attendance, the hottest chamber and the limit behind it, the room [°C]."""

    limits: Limits
    attendance: Attendance
    top: tuple[float, str]
    room_degc: float

    @property
    def stretch_h(self) -> float:
        """How long a day is heated [h]; day and night is walked in stretches of a day."""
        return min(self.attendance.hours, 24.0)


@dataclass(frozen=True)
class Peak:
    """What a limit was kept to: the highest of each draw, over the draws."""

    limit_id: str
    reached: Spread


@dataclass(frozen=True)
class StepEnd:
    """What is there when a step ends: number of day and step from 0, hours, water left [share], casing [°C]."""

    day: int
    step: int
    from_h: float
    to_h: float
    left: Spread
    casing_degc: Spread


@dataclass(frozen=True)
class Proof:
    """A schedule run on many draws. `broken` names the limits that nine draws in ten do not keep; empty: it holds.

    `dry_h` are the hours until the water left is within its limit, counted no further than the run went; `middle` is
    the draw with the median of the water left at the end.
    """

    schedule: Schedule
    draws: int
    left: Spread
    dry_h: Spread
    energy_kwh: Spread
    vapour_kg_h: Spread
    peaks: tuple[Peak, ...]
    broken: tuple[str, ...]
    steps: tuple[StepEnd, ...]
    curve_h: tuple[float, ...]
    left_curve: tuple[Spread, ...]
    chamber_curve: tuple[Spread, ...]
    casing_curve: tuple[Spread, ...]
    middle: int = 0


def examine(draws: Draws, under: Conditions, schedule: Schedule) -> Proof:
    """Run a schedule as it is."""
    return proof_of(under, schedule, run(draws, schedule, under.room_degc))


def kept(draws: Draws, under: Conditions, schedule: Schedule) -> Proof:
    """Run a schedule, and end it as soon as nine draws in ten are dry."""
    did = run(draws, schedule, under.room_degc)
    over = np.flatnonzero(np.quantile(did.left, 0.9, axis=0) > under.limits.water_left.value)
    at = int(over[-1]) + 1 if over.size else 0
    ended = schedule.until(float(did.hours[at])) if 0 < at < len(did.hours) else schedule
    return proof_of(under, ended, cut(did, ended.hours))


def run(draws: Draws, schedule: Schedule, room_degc: float) -> Ensemble:
    """Run draws through a schedule from its beginning."""
    return resume(draws, draws.begin(), schedule.course(room_degc), moments_h(schedule.hours))[0]


def moments_h(end_h: float) -> Numbers:
    """Return the moments at which a run is shown."""
    return np.append(np.arange(0.0, end_h - 0.01, SHOWN_H), end_h)


def cut(did: Ensemble, hour: float) -> Ensemble:
    """Return a run as far as an hour: until then it does not know what would have come."""
    kept_to = int(np.searchsorted(did.hours, hour + 1e-6))
    by_hour = {
        one.name: getattr(did, one.name)[:, :kept_to] for one in fields(did) if one.name not in ("setups", "hours")
    }
    return replace(did, hours=did.hours[:kept_to], **by_hour)


# ---------------------------------------------------------------------------------------- repair


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


def repaired(day: Day, wrong: dict[int, Broken], limits: Limits) -> Day:
    """Slow the ramps that break a limit, or lower the holds that do; nothing else is changed, and nothing falls."""
    made: list[Step] = []
    for number, step in enumerate(day.steps):
        gentle = _gentler(step, wrong[number], limits) if number in wrong else step
        made.append(replace(gentle, to_degc=max(gentle.to_degc, made[-1].to_degc if made else gentle.to_degc)))
    return replace(day, steps=tuple(made))


def _gentler(step: Step, wrong: Broken, limits: Limits) -> Step:
    """Return a step that is slowed, or lowered, by about as much as its limit was exceeded."""
    if wrong.limit_id == limits.casing.id or not wrong.ramping:
        cooler_k = COOLER_K * min(max(round((wrong.times - 1) / 0.1), 1), 4)
        return replace(step, to_degc=max(step.to_degc - cooler_k, COOLEST_DEGC))
    slower = min(max(0.95 / wrong.times, SLOWEST), SLOWER)
    return replace(step, ramp_k_h=rounded_ramp(step.ramp_k_h * slower))


# ---------------------------------------------------------------------------------------- the proof


def proof_of(under: Conditions, schedule: Schedule, did: Ensemble) -> Proof:
    """Return what a run of a schedule proves."""
    limits, course = under.limits, schedule.course(under.room_degc)
    casing = did.casing_degc.max(axis=2)
    came_to = reached(limits, did, course)
    last = len(did.hours) - 1
    drawn_at = sorted({*range(0, last, ceil(last / MOST_DRAWN) or 1), last})
    dry_h = np.minimum(did.hours_gone(1 - limits.water_left.value), schedule.hours)
    return Proof(
        schedule, len(did.setups), spread(did.left[:, -1]), spread(dry_h), spread(did.heater_kwh[:, -1]),
        spread(did.vapour_kg_h(1.0)),
        tuple(Peak(name, spread(values.max(axis=1))) for name, values in came_to.items()),
        (*_over(limits, came_to), *_not_kept(under, schedule, did)), _step_ends(schedule, did, casing),
        tuple(float(did.hours[at]) for at in drawn_at), tuple(spread(did.left[:, at]) for at in drawn_at),
        tuple(spread(did.chamber_degc[:, at]) for at in drawn_at), tuple(spread(casing[:, at]) for at in drawn_at),
        int(np.argsort(did.left[:, -1], kind="stable")[len(did.setups) // 2]),
    )  # fmt: skip


def _over(limits: Limits, came_to: dict[str, Numbers]) -> list[str]:
    """Return the limits of a run that are not kept by nine draws in ten at every hour."""
    return [
        name for name, values in came_to.items() if float(np.quantile(values, 0.9, axis=0).max()) > limits[name].value
    ]


def _not_kept(under: Conditions, schedule: Schedule, did: Ensemble) -> list[str]:
    """Return the limits that the schedule itself does not keep: ramps, top, hold points, hours, days, the water."""
    limits, steps = under.limits, [step for day in schedule.days for step in day.steps]
    hottest = schedule.hottest_degc
    checks = {
        limits.ramp.id: max(_ramps(schedule), default=0.0) > limits.ramp.value + 1e-6,
        under.top[1]: hottest > under.top[0] + 1e-6,
        limits.hold.id: not set(_held_at(steps, limits)) >= {degc for degc in HOLD_POINTS_DEGC if degc < hottest},
        limits.attendance.id: limits.attendance.value < 24
        and max(day.hours for day in schedule.days) > limits.attendance.value + 0.01,
        limits.days.id: schedule.hours > 24 * limits.days.value + 1e-6,
        limits.water_left.id: float(np.quantile(did.left[:, -1], 0.9)) > limits.water_left.value,
    }
    return [name for name, broken in checks.items() if broken]


def _ramps(schedule: Schedule) -> list[float]:
    """Return the ramps that climb [K/h]."""
    return [
        step.ramp_k_h for day in schedule.days
        for before, step in zip((day.from_degc, *(one.to_degc for one in day.steps)), day.steps, strict=False)
        if step.to_degc > before
    ]  # fmt: skip


def _held_at(steps: Sequence[Step], limits: Limits) -> list[float]:
    """Return the temperatures that are held long enough to take readings, before it is hotter than they are."""
    hottest, found = 0.0, []
    for step in steps:
        if step.hold_h >= limits.hold.value - 1e-6 and step.to_degc >= hottest:
            found.append(step.to_degc)
        hottest = max(hottest, step.to_degc)
    return found


def _step_ends(schedule: Schedule, did: Ensemble, casing: Numbers) -> tuple[StepEnd, ...]:
    found = []
    for day, step, from_h, to_h in schedule.steps():
        at = min(int(np.searchsorted(did.hours, to_h - 1e-6)), len(did.hours) - 1)
        found.append(StepEnd(day, step, from_h, to_h, spread(did.left[:, at]), spread(casing[:, at])))
    return tuple(found)
