"""Fixed schedules of other trades, run on the same walls and draws as a searched one, to be set beside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load
from recover.base.sources import Authority
from recover.physics.ensemble import Draws
from recover.physics.grid import ROUGH
from recover.physics.wall import Step
from recover.schedule.limits import Conditions
from recover.schedule.search import Plan
from recover.schedule.spells import Attendance, Day, Schedule
from recover.schedule.verify import BRISK, Proof, examine, powered


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

    def schedule(self, room_degc: float, lining_mm: float) -> Schedule:
        """Return it for a lining of this thickness."""
        steps = (Step(one.to_degc, one.ramp_k_h, max(one.hours, one.hours_per_mm * lining_mm)) for one in self.steps)
        return Schedule((Day(room_degc, tuple(steps)),), Attendance())


@dataclass(frozen=True)
class _File:
    schedule: list[_Fixed]


@cache
def _fixed_schedules() -> tuple[_Fixed, ...]:
    """Return the fixed schedules. Raises DataError on a faulty file."""
    return tuple(load("schedule/fixed.toml", "recover-fixed", _File).schedule)


def run_fixed(plan: Plan) -> tuple[FixedRun, ...]:
    """Run the fixed schedules on the walls and every second draw of a plan. Raises SimulationError."""
    draws, room_degc = Draws.of(powered(plan.heating, plan.limits)[::2], ROUGH, BRISK), plan.heating.room_degc
    under = Conditions(plan.limits, Attendance(), plan.top, room_degc, plan.heating.height_m)
    return tuple(
        _row(one.title, examine(draws, under, one.schedule(room_degc, plan.heating.thickness_mm)), plan.proof)
        for one in _fixed_schedules()
    )


def _row(title: str, found: Proof, searched: Proof) -> FixedRun:
    """Return a fixed schedule's row; the water left is compared, and where it holds is its own matter."""
    broken = tuple(name for name in found.broken if name not in ("plan_water_left", "plan_hold_h"))
    hours, left = found.schedule.hours, found.left.p90
    beats = hours < searched.schedule.hours and left <= searched.left.p90 and not broken
    return FixedRun(title=title, hours=hours, left_p90=left, broken=broken, beats=beats)
