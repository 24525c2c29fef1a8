"""Proves a schedule on many draws with all walls: what it leaves, what it reaches, and which step breaks a limit.

A schedule is judged as it will be read: after it was made simple. Where nine draws in ten do not keep a limit, only the
steps that break it are slowed or lowered, and it is run again.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from recover.physics.draws import Spread, spread
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, Ensemble, resume
from recover.physics.wall import Step
from recover.plan.limits import Limits, reached
from recover.plan.schedule import Day, Schedule

SHOWN_H = 0.5
REPAIRS = 6
SLOWER, COOLER_K = 0.7, 15.0
FURTHER = 0.35
"""Share of a schedule that is run beyond its end, to see when nine draws in ten are dry."""


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

    `dry_h` are the hours until the water left is within its limit, counted no further than the run went.
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


def prove(draws: Draws, limits: Limits, schedule: Schedule, room_degc: float) -> Proof:
    """Repair a schedule until it holds, or cannot be repaired; end it as soon as nine draws in ten are dry."""
    longer, attempt = _longer(schedule, limits), 0
    while True:
        did = _run(draws, longer, room_degc)
        at = _dry_at(did, limits)
        if at is None and longer.hours < 24 * limits.days.value * (1 - FURTHER) and attempt < REPAIRS:
            longer, attempt = _longer(longer, limits), attempt + 1
            continue
        ended = longer.until(float(did.hours[at])) if at is not None else longer
        wrong = _broken_steps(ended, limits, did)
        if not wrong or attempt == REPAIRS:
            return _proof(limits, ended, _cut(did, ended.hours))
        attempt += 1
        longer = _longer(_repaired(ended, wrong, limits), limits)


def examine(draws: Draws, limits: Limits, schedule: Schedule, room_degc: float) -> Proof:
    """Run a schedule as it is."""
    return _proof(limits, schedule, _run(draws, schedule, room_degc))


def _run(draws: Draws, schedule: Schedule, room_degc: float) -> Ensemble:
    hours = np.append(np.arange(0.0, schedule.hours - 0.01, SHOWN_H), schedule.hours)
    return resume(draws, draws.begin(), schedule.course(room_degc), hours)[0]


def _cut(did: Ensemble, hour: float) -> Ensemble:
    """Return a run as far as an hour: until then it does not know what would have come."""
    kept = int(np.searchsorted(did.hours, hour + 1e-6))
    by_hour = {
        one.name: getattr(did, one.name)[:, :kept] for one in fields(did) if one.name not in ("setups", "hours")
    }
    return replace(did, hours=did.hours[:kept], **by_hour)


def _longer(schedule: Schedule, limits: Limits) -> Schedule:
    """Return a schedule that goes on with its last hold, or with more days like its last whole one."""
    *before, last = schedule.days
    if schedule.attendance.always:
        final = last.steps[-1]
        longer = replace(final, hold_h=final.hold_h + FURTHER * schedule.hours + 2)
        return Schedule((*before, replace(last, steps=(*last.steps[:-1], longer))), schedule.attendance)
    more = 1 + round(FURTHER * len(schedule.days))
    whole = filled(max(schedule.days[-2:], key=lambda day: day.steps[-1].to_degc), limits)
    return Schedule((*before, filled(last, limits), *[whole] * more), schedule.attendance)


def filled(day: Day, limits: Limits) -> Day:
    """Return a day that holds on until somebody leaves, or is cut then."""
    final = day.steps[-1]
    rest_h = max(limits.attendance.value - day.hours, 0.0)
    held = replace(day, steps=(*day.steps[:-1], replace(final, hold_h=final.hold_h + rest_h)))
    return held.until(limits.attendance.value)


def _dry_at(did: Ensemble, limits: Limits) -> int | None:
    """Return the first moment from which on nine draws in ten are within the limit of the water left."""
    over = np.flatnonzero(np.quantile(did.left, 0.9, axis=0) > limits.water_left.value)
    last = int(over[-1]) + 1 if over.size else 0
    return last if last < len(did.hours) else None


Where = tuple[int, int]


def _broken_steps(schedule: Schedule, limits: Limits, did: Ensemble) -> dict[Where, tuple[str, bool]]:
    """Return each step in which a limit is broken: which, and whether while the chamber was ramped or soon after."""
    found: dict[Where, tuple[str, bool]] = {}
    within = did.hours <= schedule.hours + 1e-6
    for name, values in reached(limits, did).items():
        hours = did.hours[within][np.quantile(values, 0.9, axis=0)[within] > limits[name].value]
        for day, step, from_h, to_h in schedule.steps():
            broken = hours[(hours > from_h) & (hours <= to_h + SHOWN_H / 2)]
            if broken.size:
                ramp_h = to_h - from_h - schedule.days[day].steps[step].hold_h
                found[day, step] = (name, bool(broken[0] <= from_h + ramp_h + 1))
    return found


def _repaired(schedule: Schedule, wrong: dict[Where, tuple[str, bool]], limits: Limits) -> Schedule:
    """Slow the ramps that break a limit, or lower the holds that do; nothing else is changed."""
    days = []
    for number, day in enumerate(schedule.days):
        steps = [
            _gentler(step, *wrong[number, place], limits) if (number, place) in wrong else step
            for place, step in enumerate(day.steps)
        ]
        days.append(Day(day.from_degc, tuple(steps)))
    if not schedule.attendance.always:
        days = [filled(day, limits) for day in days]
    return replace(schedule, days=tuple(days))


def _gentler(step: Step, limit_id: str, ramping: bool, limits: Limits) -> Step:
    if limit_id == limits.casing.id or not ramping:
        return replace(step, to_degc=max(step.to_degc - COOLER_K, 30.0))
    return replace(step, ramp_k_h=max(step.ramp_k_h * SLOWER, 1.0))


def _proof(limits: Limits, schedule: Schedule, did: Ensemble) -> Proof:
    casing = did.casing_degc.max(axis=2)
    peaks = {name: values.max(axis=1) for name, values in reached(limits, did).items()}
    dry_h = np.minimum(did.hours_gone(1 - limits.water_left.value), schedule.hours)
    return Proof(
        schedule, len(did.setups), spread(did.left[:, -1]), spread(dry_h), spread(did.heater_kwh[:, -1]),
        spread(did.vapour_kg_h(1.0)), tuple(Peak(name, spread(values)) for name, values in peaks.items()),
        _broken(schedule, limits, did), _step_ends(schedule, did, casing),
        tuple(float(hour) for hour in did.hours), tuple(spread(at) for at in did.left.T),
        tuple(spread(at) for at in did.chamber_degc.T), tuple(spread(at) for at in casing.T),
    )  # fmt: skip


def _broken(schedule: Schedule, limits: Limits, did: Ensemble) -> tuple[str, ...]:
    """Return the limits that are not kept: those of the run, of the ramps, of the top, of the days, of the water."""
    steps = [step for day in schedule.days for step in day.steps]
    ramps = [
        step.ramp_k_h for day in schedule.days
        for before, step in zip((day.from_degc, *(one.to_degc for one in day.steps)), day.steps, strict=False)
        if step.to_degc > before
    ]  # fmt: skip
    came_to = {name: np.quantile(values, 0.9, axis=0).max() for name, values in reached(limits, did).items()}
    over = [name for name, value in came_to.items() if value > limits[name].value]
    checks = {
        limits.ramp.id: max(ramps, default=0.0) > limits.ramp.value + 1e-6,
        limits.top.id: max(step.to_degc for step in steps) > limits.top.value + 1e-6,
        limits.attendance.id: limits.attendance.value < 24
        and max(day.hours for day in schedule.days) > limits.attendance.value + 0.01,
        limits.days.id: schedule.hours > 24 * limits.days.value,
        limits.water_left.id: float(np.quantile(did.left[:, -1], 0.9)) > limits.water_left.value,
    }
    return (*over, *(name for name, broken in checks.items() if broken))


def _step_ends(schedule: Schedule, did: Ensemble, casing: Numbers) -> tuple[StepEnd, ...]:
    found = []
    for day, step, from_h, to_h in schedule.steps():
        at = min(int(np.searchsorted(did.hours, to_h - 1e-6)), len(did.hours) - 1)
        found.append(StepEnd(day, step, from_h, to_h, spread(did.left[:, at]), spread(casing[:, at])))
    return tuple(found)
