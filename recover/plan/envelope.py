"""Makes a few ramps and holds of what a march found: a broken line that is nowhere above it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from math import floor, inf

from recover.physics.wall import Step
from recover.plan.limits import HOLD_POINTS_DEGC
from recover.plan.march import Knot
from recover.plan.schedule import ROUND_K

STEP_WORTH_K_H = 25.0
"""Heat that a further step must win to be worth its line on a sheet: ours."""

LEVEL_K = 1.0

COARSE_K_H = 10.0
"""Ramps above this are told in steps of `ROUND_K`, slower ones in whole kelvins an hour."""

LEAST_HOLD_H = 0.25
"""A shorter hold is none that a person keeps."""


def steps_of(knots: list[Knot]) -> tuple[Step, ...]:
    """Return ramps and holds that follow knots from below, rounded so that they can be read and set.

    A hold at a hold point stays as it is.
    """
    found: list[Step] = []
    line = [knot for part in _between_hold_points(knots) for knot in _below(part)[1:]]
    for (from_h, from_degc), (to_h, to_degc) in zip([knots[0], *line], line, strict=False):
        if abs(to_degc - from_degc) < LEVEL_K and found:
            found[-1] = replace(found[-1], hold_h=found[-1].hold_h + to_h - from_h)
        elif abs(to_degc - from_degc) < LEVEL_K:
            found.append(Step(to_degc, ROUND_K, to_h - from_h))
        else:
            found.append(Step(to_degc, abs(to_degc - from_degc) / (to_h - from_h)))
    return joined(_rounded(step) for step in found)


def joined(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Return steps without those that say nothing of their own: no rise after the last, or its ramp going on."""
    made: list[Step] = []
    for step in steps:
        if made and step.to_degc == made[-1].to_degc:
            made[-1] = replace(made[-1], hold_h=made[-1].hold_h + step.hold_h)
        elif made and made[-1].hold_h == 0 and step.ramp_k_h == made[-1].ramp_k_h:
            made[-1] = step
        else:
            made.append(step)
    return tuple(made)


def _between_hold_points(knots: list[Knot]) -> list[list[Knot]]:
    """Divide knots before and after each hold at a hold point."""
    parts, part = [], [knots[0]]
    for before, after in pairwise(knots):
        if before[1] == after[1] and before[1] in HOLD_POINTS_DEGC:
            parts += [part, [before, after]]
            part = [after]
        else:
            part.append(after)
    return [one for one in (*parts, part) if len(one) > 1]


def _rounded(step: Step) -> Step:
    """Round temperature and ramp down, the hold to a quarter of an hour."""
    to_degc = max(floor((step.to_degc + 1e-6) / ROUND_K) * ROUND_K, ROUND_K)
    return Step(to_degc, rounded_ramp(step.ramp_k_h), round(step.hold_h / LEAST_HOLD_H) * LEAST_HOLD_H)


def rounded_ramp(ramp_k_h: float) -> float:
    """Return a ramp [K/h] rounded down to what is told and set: 5 K, or a whole kelvin where it is slow."""
    by = ROUND_K if ramp_k_h >= COARSE_K_H else 1.0
    return max(floor((ramp_k_h + 1e-6) / by) * by, 1.0)


def _below(knots: list[Knot]) -> list[Knot]:
    """Return the broken line through some of the knots, nowhere above the rest, that is worth its number of chords.

    The chord from knot to knot is taken where no knot lies below it. Of all broken lines the one with the least area
    below the knots, each chord counted as `STEP_WORTH_K_H`: the best line to each knot follows from those before it.
    """
    cost, came = [0.0], [0]
    for to in range(1, len(knots)):
        costs = [cost[begin] + _lost(knots, begin, to) + STEP_WORTH_K_H for begin in range(to)]
        came.append(costs.index(min(costs)))
        cost.append(min(costs))
    places = [len(knots) - 1]
    while places[-1]:
        places.append(came[places[-1]])
    return [knots[place] for place in reversed(places)]


def _lost(knots: list[Knot], begin: int, end: int) -> float:
    """Return the area [K h] between knots and their chord; without end where the chord passes above a knot."""
    (from_h, from_degc), (to_h, to_degc) = knots[begin], knots[end]
    slope = (to_degc - from_degc) / (to_h - from_h)
    area = 0.0
    for (a_h, a_degc), (b_h, b_degc) in zip(knots[begin:end], knots[begin + 1 : end + 1], strict=True):
        a_over, b_over = a_degc - from_degc - slope * (a_h - from_h), b_degc - from_degc - slope * (b_h - from_h)
        if min(a_over, b_over) < -0.01:
            return inf
        area += (a_over + b_over) / 2 * (b_h - a_h)
    return area
