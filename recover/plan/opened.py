"""What a plan would take with nothing under the floor slab: the same days on the same draws, until they are dry."""

from __future__ import annotations

from dataclasses import replace

from recover.physics.ensemble import Draws
from recover.physics.staged import Heating
from recover.schedule.limits import Conditions
from recover.schedule.search import Plan
from recover.schedule.verify import BRISK, examine, powered

BARE = "removed"
"""The pan that is off."""


def opened_h(plan: Plan) -> float | None:
    """Return the hours [h] after which a plan's own days have dried the kiln with its pan off.

    None where there is no pan, they do not dry it, or it then dries faster than a limit allows. Raises SimulationError
    where a run cannot be trusted.
    """
    if not _has_pan(plan.heating):
        return None
    draws = Draws.of(powered(replace(plan.heating, pan=BARE), plan.limits), pace=BRISK)
    where = plan.heating.room_degc, plan.heating.height_m
    under = Conditions(plan.limits, plan.proof.schedule.attendance, plan.top, *where)
    found = examine(draws, under, plan.proof.schedule, until_dry=True)
    return None if found.broken else found.schedule.hours


def _has_pan(heating: Heating) -> bool:
    """Whether a floor slab lies, or may lie, in a pan."""
    floor = any(stack.part == "floor" for stack in heating.lining.stacks)
    return floor and heating.pan not in (BARE, "raised")
