"""A schedule as it is followed: day by day by the controller that is there, or by hand where that cannot.

A controller's set-points lie below the schedule's holds by what it may overshoot. So what it does is run through the
drying model twice: with nothing over, for the water that is left, days like the last one added until it is dry; and
with all that it may overshoot, at once and all the while, for the limits.
"""

from __future__ import annotations

from recover.controller.capability import Controller
from recover.controller.compile import programme, refusal
from recover.controller.programme import Programme, Refusal
from recover.controller.proof import rising_parts, rules, worst_course
from recover.engineering.thermocouples import Letter
from recover.physics.ensemble import Draws
from recover.physics.grid import ROUGH
from recover.physics.wall import Course
from recover.plan.whole import Followed
from recover.schedule.limits import Conditions, reached
from recover.schedule.search import Plan
from recover.schedule.spells import Day
from recover.schedule.verify import BRISK, Peak, over, powered, proof_of
from recover.schedule.walk import Walk


def followed(plan: Plan, controller: Controller, probe: Letter | None, setting: Letter | None) -> Followed:
    """Return how a plan is followed with a controller and the letters of its probe and its setting, None: not known.

    Raises SimulationError where a run cannot be trusted.
    """
    made = _made(plan, controller, probe, setting)
    if isinstance(made, Refusal):
        return Followed((made,), plan.proof, plan.proof.peaks, ())
    days = [Day(one.start_degc, one.steps) for one in made]  # switched off when whoever attends leaves
    where = plan.heating.room_degc, plan.heating.height_m
    under = Conditions(plan.limits, plan.proof.schedule.attendance, plan.top, *where)
    draws = Draws.of(powered(plan.heating, plan.limits), pace=BRISK)
    walked = Walk(draws, (0,), under, given=days).run()
    peaks = _at_worst(plan, under, walked.schedule.days, controller.overshoot_k)
    proof = proof_of(under, walked.schedule, walked.did)
    late = {plan.limits.water_left.id, plan.limits.days.id} & set(proof.broken)
    return Followed(tuple(made), proof, peaks, (*over(plan.limits, peaks), *sorted(late)))


def _made(
    plan: Plan, controller: Controller, probe: Letter | None, setting: Letter | None
) -> list[Programme] | Refusal:
    """Return each rising part of each day as a programme; where one cannot be, every reason, each once."""
    parts = [part for day in plan.proof.schedule.days for part in rising_parts(day.from_degc, day.steps)]
    steps = [part for _, part in parts]
    made = [programme(start_degc, part, controller, probe, setting) for start_degc, part in parts]
    refused = [one for one in made if isinstance(one, Refusal)]
    reasons = dict.fromkeys(one for day in refused for one in day.reasons)
    runs = [one for one in made if isinstance(one, Programme)]
    return refusal(tuple(reasons), steps, controller) if refused else runs


def _at_worst(plan: Plan, under: Conditions, days: tuple[Day, ...], overshoot_k: float) -> tuple[Peak, ...]:
    """Return what the limits come to with all overshoot; how far a chamber lags means nothing then."""
    draws = Draws.of(powered(plan.heating, plan.limits), ROUGH, BRISK)

    def course(day: Day) -> Course:
        return worst_course(day.from_degc, day.steps, overshoot_k, rules().dry_degc.value)

    walk = Walk(draws, (0,), under, given=days, course_of=course)
    did = walk.run().did
    came_to = reached(under.limits, did, Course.steady(under.room_degc))
    return tuple(Peak.of(name, values) for name, values in came_to.items() if name != under.limits.lag.id)
