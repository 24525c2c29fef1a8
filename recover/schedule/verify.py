"""Judges a schedule on many draws with all walls: what it leaves, what it reaches, which limits it does not keep.

A schedule is judged as it will be read: after it was made simple.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from math import ceil
from typing import Literal

import numpy as np

from recover.physics.draws import Spread, spread
from recover.physics.drying import Numbers, Pace
from recover.physics.ensemble import Draws, Ensemble, resume
from recover.physics.staged import Heating, setups_of
from recover.physics.wall import Setup, Step
from recover.schedule.limits import Conditions, Limits, figures, reached
from recover.schedule.spells import Schedule

Objective = Literal["elapsed", "attended", "energy"]
"""What is to be least: hours from the first opening to the end, attended hours, or kWh."""

BRISK = Pace(longest_s=3600.0, warms_k=30.0, empties=0.4)
"""A quarter fewer steps than the ensembles of an assessment take: the water is the same within one part in 100."""

SHOWN_H = 0.25
MOST_DRAWN = 150
"""How many moments of a curve are kept: as many as a drawing shows."""


@dataclass(frozen=True)
class Peak:
    """What a run came to of a limit: its draws at the hour at which the p90 over them, which is judged, is highest."""

    limit_id: str
    reached: Spread

    @classmethod
    def of(cls, limit_id: str, values: Numbers) -> Peak:
        """Return it from what each draw came to at each hour (n_draw, n_hour)."""
        return cls(limit_id, spread(values[:, int(np.argmax(np.quantile(values, 0.9, axis=0)))]))


@dataclass(frozen=True)
class _StepEnd:
    """What is there when a step ends: number of day and step from 0, water left [share], casing [°C]."""

    day: int
    step: int
    left: Spread
    casing_degc: Spread


@dataclass(frozen=True, kw_only=True)
class Proof:
    """A schedule run on many draws. `broken` names the limits that nine draws in ten do not keep; empty: it holds.

    Curves are of moments from the first opening on; `middle` is the draw with the median of the water left at the end.
    """

    schedule: Schedule
    draws: int
    left: Spread
    energy_kwh: Spread
    vapour_kg_h: Spread
    peaks: tuple[Peak, ...]
    broken: tuple[str, ...]
    steps: tuple[_StepEnd, ...]
    curve_h: tuple[float, ...]
    left_curve: tuple[Spread, ...]
    casing_curve: tuple[Spread, ...]
    middle: int = 0

    def worth(self, objective: Objective) -> float:
        """Return what is to be least of it: hours or kWh."""
        hours, attended_h = self.schedule.hours, self.schedule.attended_h
        return {"elapsed": hours, "attended": attended_h, "energy": self.energy_kwh.p90}[objective]


def powered(heating: Heating, limits: Limits) -> list[Setup]:
    """Return a setup for each draw, its elements of a power that has an end, so that it cools when they are off."""
    power_kw = limits.power.value if limits.power else figures().unknown_power_kw.value
    return [replace(one, chamber=replace(one.chamber, power_kw=power_kw)) for one in setups_of(heating)]


def examine(draws: Draws, under: Conditions, schedule: Schedule, *, until_dry: bool = False) -> Proof:
    """Run a schedule as it is; with `until_dry`, end it as soon as nine draws in ten are dry."""
    did, _ = resume(draws, draws.begin(), schedule.course(under.room_degc), moments_h(schedule.hours))
    if not until_dry:
        return proof_of(under, schedule, did)
    wet = np.flatnonzero(np.quantile(did.left, 0.9, axis=0) > under.limits.water_left.value)
    at = int(wet[-1]) + 1 if wet.size else 0
    ended = schedule.until(float(did.hours[at])) if 0 < at < len(did.hours) else schedule
    return proof_of(under, ended, cut(did, ended.hours))


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


# ---------------------------------------------------------------------------------------- the proof


def proof_of(under: Conditions, schedule: Schedule, did: Ensemble) -> Proof:
    """Return what a run of a schedule proves."""
    limits, course = under.limits, schedule.course(under.room_degc)
    casing = did.casing_degc.max(axis=2)
    peaks = tuple(Peak.of(name, values) for name, values in reached(limits, did, course).items())
    last = len(did.hours) - 1
    drawn_at = sorted({*range(0, last, ceil(last / MOST_DRAWN) or 1), last})
    return Proof(
        schedule=schedule, draws=len(did.setups),
        left=spread(did.left[:, -1]), energy_kwh=spread(did.heater_kwh[:, -1]),
        vapour_kg_h=spread(did.vapour_kg_h(1.0)),
        peaks=peaks, broken=(*over(limits, peaks), *_not_kept(under, schedule, did)),
        steps=_step_ends(schedule, did, casing),
        curve_h=tuple(float(did.hours[at]) for at in drawn_at),
        left_curve=tuple(spread(did.left[:, at]) for at in drawn_at),
        casing_curve=tuple(spread(casing[:, at]) for at in drawn_at),
        middle=int(np.argsort(did.left[:, -1], kind="stable")[len(did.setups) // 2]),
    )  # fmt: skip


def over(limits: Limits, peaks: Sequence[Peak]) -> list[str]:
    """Return the limits of a run that are not kept by nine draws in ten at every hour."""
    return [peak.limit_id for peak in peaks if peak.reached.p90 > limits[peak.limit_id].value]


def _not_kept(under: Conditions, schedule: Schedule, did: Ensemble) -> list[str]:
    """Return the limits that the schedule itself does not keep: ramps, top, hold points, hours, days, the water."""
    limits, steps = under.limits, [step for day in schedule.days for step in day.steps]
    hottest, stops = schedule.hottest_degc, under.hold_points_degc
    checks = {
        limits.ramp.id: max(_ramps(schedule), default=0.0) > limits.ramp.value + 1e-6,
        under.top[1]: hottest > under.top[0] + 1e-6,
        limits.hold.id: not set(_held_at(steps, limits)) >= {degc for degc in stops if degc < hottest},
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


def _step_ends(schedule: Schedule, did: Ensemble, casing: Numbers) -> tuple[_StepEnd, ...]:
    found = []
    for day, step, ends_h in schedule.steps():
        at = min(int(np.searchsorted(did.hours, ends_h - 1e-6)), len(did.hours) - 1)
        found.append(_StepEnd(day, step, spread(did.left[:, at]), spread(casing[:, at])))
    return tuple(found)
