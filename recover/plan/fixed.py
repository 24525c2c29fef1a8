"""Fixed schedules of other trades, run on the same walls and draws as a searched one, to be set beside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load
from recover.base.sources import Authority
from recover.physics.ensemble import Draws
from recover.physics.grid import ROUGH
from recover.physics.wall import Step
from recover.plan.schedule import Attendance, Day, Schedule
from recover.plan.search import BRISK, Plan, powered
from recover.plan.verify import Conditions, Proof, examine


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
class Row:
    """A line of the table: what it is, and its run; `broken` names the limits that nine draws in ten do not keep."""

    title: str
    proof: Proof

    @property
    def broken(self) -> tuple[str, ...]:
        """The limits that are not kept; the water left is compared instead, and where they hold is their own matter."""
        return tuple(name for name in self.proof.broken if name not in ("plan_water_left", "plan_hold_h"))

    def beats(self, other: Proof) -> bool:
        """Whether it is at once shorter, as dry, and inside the limits."""
        shorter = self.proof.schedule.hours < other.schedule.hours
        return shorter and self.proof.left.p90 <= other.left.p90 and not self.broken


@dataclass(frozen=True)
class _File:
    schedule: list[_Fixed]


@cache
def _fixed_schedules() -> tuple[_Fixed, ...]:
    """Return the fixed schedules. Raises DataError on a faulty file."""
    return tuple(load("plan/fixed.toml", "recover-fixed", _File).schedule)


def beside(plan: Plan) -> tuple[Row, ...]:
    """Run the fixed schedules on the walls and every second draw of a plan. Raises SimulationError."""
    draws, room_degc = Draws.of(powered(plan.heating, plan.limits)[::2], ROUGH, BRISK), plan.heating.room_degc
    under = Conditions(plan.limits, Attendance(), plan.top, room_degc)
    return tuple(
        Row(one.title, examine(draws, under, one.schedule(room_degc, plan.heating.thickness_mm)))
        for one in _fixed_schedules()
    )
