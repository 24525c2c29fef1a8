"""The plan of a job, whole: for each kiln how it is dried, by which schedule, run by what, and what is fired after it.

These values are what is stored and what every paper shows; nothing in a paper is computed again. There is no plan
without an assessment, and nothing in one releases a hold point.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from recover.base.addresses import Address
from recover.controller.programme import Programme, Refusal
from recover.physics.materials import Band
from recover.plan.cards import FiringCard, Recheck, TopCost
from recover.plan.prices import Cost
from recover.plan.replacement import Match, Way
from recover.plan.strategies import Comparison, Strategy
from recover.schedule.fixed import FixedRun
from recover.schedule.search import Plan
from recover.schedule.spells import Attendance
from recover.schedule.verify import Objective, Peak, Proof


@dataclass(frozen=True)
class Request:
    """What is asked of a plan: what is to be least, who is there when, the first opening by the job's own clock.

    `way` names a way to dry that is followed instead of the recommended one; empty: the recommended one.
    """

    opens: datetime
    attendance: Attendance
    objective: Objective = "elapsed"
    way: str = ""


# ---------------------------------------------------------------------------------------- the schedule


@dataclass(frozen=True)
class Followed:
    """A schedule as it is followed: its days as programmes of the controller, or one refusal and what is done by hand.

    Where a day cools in between it is more than one programme, one after the other. `proof` is of the set-points with
    nothing over, days like the last one added until nine draws in ten are dry; where it is done by hand, of the
    schedule itself. `at_worst` is what the limits are kept to with all overshoot, `broken` names those that are not.
    """

    days: tuple[Programme | Refusal, ...]
    proof: Proof
    at_worst: tuple[Peak, ...]
    broken: tuple[str, ...]

    @property
    def by_controller(self) -> bool:
        """Whether the controller runs every day of it."""
        return not self.broken and all(isinstance(day, Programme) for day in self.days)


# ---------------------------------------------------------------------------------------- all of it


@dataclass(frozen=True)
class Firing:
    """A card of what is fired after the dry-out, with its energy [kWh], its cost, and what each of its tops takes.

    Energy is None where the card has no steps, or the lining is not known well enough to reckon it.
    """

    card: FiringCard
    kwh: Band | None
    cost: Cost | None
    tops: tuple[TopCost, ...]


@dataclass(frozen=True, kw_only=True)
class KilnPlan:
    """The plan of one kiln. `missing` says why nothing is planned for its lining; what could not be made is None.

    `way` is the id of the way that is followed, empty where none is, and `refused` then says what closes the one that
    was asked for; `gate_open` whether everything that must come before heating with its own elements has been shown (it
    is still released by named persons only); `opened_h` what its own days would take with the pan under the floor off.
    """

    kiln: Address
    label: str
    missing: tuple[str, ...]
    gate_open: bool
    way: str
    refused: tuple[str, ...]
    comparison: Comparison | None
    own: Plan | None
    beside: tuple[FixedRun, ...]
    followed: Followed | None
    match: Match | None
    match_ways: tuple[Way, ...]
    after: tuple[Firing, ...]
    rechecks: tuple[Recheck, ...]
    opened_h: float | None = None

    @property
    def strategy(self) -> Strategy | None:
        """The way that is followed; None where none is."""
        return next((one for one in self._ways if one.card.id == self.way), None)

    @property
    def by_own(self) -> bool:
        """Whether its own elements are the way that is followed."""
        return self.strategy is not None and self.strategy.card.air == "own"

    @property
    def shown(self) -> Plan | Followed | None:
        """The schedule that is done: as the controller runs it, where it runs every day, else as it was searched."""
        return self.followed if self.followed and self.followed.by_controller else self.own

    @property
    def go_on(self) -> str:
        """The condition for another day of its own elements."""
        return next((one.card.go_on for one in self._ways if one.card.air == "own"), "")

    @property
    def _ways(self) -> tuple[Strategy, ...]:
        return self.comparison.strategies if self.comparison else ()

    def programme(self, day: int) -> Programme | None:
        """Return the programme of a day, counted from 1; None where it is done by hand.

        Days beyond the searched ones are like the last of them.
        """
        run = self.followed
        if run is None or run.broken or not 0 < day <= len(run.proof.schedule.days):
            return None
        made = run.days[min(day, len(run.days)) - 1]
        return made if isinstance(made, Programme) else None


@dataclass(frozen=True, kw_only=True)
class JobPlan:
    """The plan of a job, as stored: what it was made from, by what, and the plan of each kiln.

    `head` is the journal line it rests on, `inputs` the hash of what was taken from answers and limits, `rules` that of
    the rule tables; `made` is a moment in ISO form; clock times in it are of `zone`.
    """

    number: int
    made: str
    program: str
    head: str
    inputs: str
    rules: str
    seed: int
    draws: int
    zone: str
    request: Request
    kilns: tuple[KilnPlan, ...]
