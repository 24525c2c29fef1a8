"""Fixed schedules of other trades, run on the same walls and draws as a searched one, to be set beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from recover.base.datafile import load
from recover.base.sources import Authority
from recover.physics.ensemble import Ensemble, Standing, stretch
from recover.physics.wall import Step
from recover.schedule.heated import asked_degc, coolest_degc, from_hour, moments_h
from recover.schedule.limits import Conditions, reached
from recover.schedule.search import Begin, Found
from recover.schedule.spells import HeatedRun

EVERY = 4
"""Of so many draws one is run: enough to set it beside what was searched, and to prove nothing."""

SHOWN_H = 0.5


@dataclass(frozen=True, kw_only=True)
class FixedRun:
    """A fixed schedule of another trade on the same walls and draws; `broken` names the limits that it does not keep.

    `beats`: it would be at once shorter, as dry, and inside the limits.
    """

    title: str
    hours: float
    left_p90: float
    broken: tuple[str, ...]
    beats: bool


@dataclass(frozen=True)
class _FixedStep:
    """A ramp and a hold [h], the longer of its hours and those by thickness of the lining."""

    to_degc: float
    ramp_k_h: float
    hours: float = 0.0
    hours_per_mm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class _Fixed(Authority):
    """A schedule as practice has it, day and night without a break."""

    id: str
    title: str
    steps: list[_FixedStep]

    def run(self, from_degc: float, lining_mm: float) -> HeatedRun:
        """Return it for a lining of this thickness."""
        steps = (Step(one.to_degc, one.ramp_k_h, max(one.hours, one.hours_per_mm * lining_mm)) for one in self.steps)
        return HeatedRun(from_degc, tuple(steps))


@dataclass(frozen=True)
class _File:
    schedule: list[_Fixed]


@cache
def _fixed_schedules() -> tuple[_Fixed, ...]:
    """Return the fixed schedules. Raises DataError on a faulty file."""
    return tuple(load("schedule/fixed.toml", "recover-fixed", _File).schedule)


def run_fixed(begin: Begin, under: Conditions, found: Found, lining_mm: float) -> tuple[FixedRun, ...]:
    """Run the fixed schedules from where a search began, on some of its draws. Raises SimulationError."""
    some = range(0, len(begin.draws.setups), EVERY)
    few = Begin(begin.draws.only(some), _only(begin.standing, some), begin.first_kg[list(some)])
    return tuple(_row(one, few, under.only(some), found, lining_mm) for one in _fixed_schedules())


def _only(standing: Standing, numbers: Sequence[int]) -> Standing:
    return Standing(standing.unknowns[list(numbers)], standing.held[list(numbers)])


def _row(one: _Fixed, begin: Begin, under: Conditions, found: Found, lining_mm: float) -> FixedRun:
    """Return a fixed schedule's row; the water left is compared, and where it holds is its own matter."""
    run = one.run(coolest_degc(begin.standing), lining_mm)
    moments = moments_h(run.hours, SHOWN_H)
    did, _ = stretch(begin.draws, begin.standing, from_hour(under.day, 0.0, run.course), moments)
    left = float(np.quantile(did.water_kg[:, -1] / begin.first_kg, 0.9))
    broken = _broken(run, under, did, begin)
    searched = float(np.quantile(found.did[-1].water_kg[:, -1][:: EVERY] / begin.first_kg, 0.9))
    beats = found.dry and run.hours < found.hours and left <= searched and not broken
    return FixedRun(title=one.title, hours=run.hours, left_p90=left, broken=broken, beats=beats)


def _broken(run: HeatedRun, under: Conditions, did: Ensemble, begin: Begin) -> tuple[str, ...]:
    """Return the limits that a fixed schedule does not keep, with nothing over."""
    limits, gate = under.limits, under.boiling
    came_to = reached(limits, did, asked_degc(run.course, did.hours))
    over = [name for name, values in came_to.items() if np.quantile(values, 0.9, axis=0).max() > limits[name].value]
    passes = int(np.argmax(did.chamber_degc.max(axis=0) > gate.hold_degc))
    wet = float(np.quantile(did.water_kg[:, passes] / begin.first_kg, 0.9)) > limits.boiling_left.value
    checks = {
        limits.ramp.id: max(step.ramp_k_h for step in run.steps) > limits.ramp.value,
        under.top[1]: run.top_degc > under.top[0],
        limits.boiling_left.id: wet and run.held_h(gate.from_degc, gate.hold_degc) < gate.hours,
    }
    return (*over, *(name for name, broken in checks.items() if broken))
