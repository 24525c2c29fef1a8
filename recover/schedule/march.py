"""Finds one attended day hour by hour, always by the fastest ramp that stays within the limits.

A leg counts as legal when it, and a hold after it, keep every limit with its margin in all design draws: heat that is
already in the wall goes on raising vapour and pressure after a ramp has stopped. Where no hold is legal, the day is
begun again and stays cooler, so that a day never falls. What is found follows the limits closely and is not yet a day
that a person can read: a few ramps and holds are made of it, a broken line that is nowhere above it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import floor, inf

import numpy as np

from recover.physics.ensemble import Draws, Ensemble, Standing, resume
from recover.physics.wall import Course, Step
from recover.profiles import Limit
from recover.schedule.limits import Limits, figures, reached
from recover.schedule.spells import LEAST_HOLD_H, ROUND_K, joined_steps, rounded_ramp

SHARES = (1.0, 0.5, 0.2, 0.0)
"""Ramps that are tried, as shares of the steepest."""

LEG_H, LONGEST_LEG_H, AHEAD_H = 1.0, 8.0, 1.0
COOLER_K = 25.0
LOOKS_H = 0.25

STEP_WORTH_K_H = 25.0
"""Heat that a further step must win to be worth its line on a sheet: ours."""

LEVEL_K = 1.0

Knot = tuple[float, float]
"""Hour of the day's opening, and °C."""


class _TooHotError(Exception):
    """No hold is legal at this temperature: the day must stay cooler."""


@dataclass
class March:
    """A march through one day of a kiln's design draws; `touched` gathers the limits that refused a faster choice.

    `stops` are the hold points that have not been held yet, coolest first; `top` is the hottest chamber that may be
    asked for, and the limit behind it.
    """

    draws: Draws
    limits: Limits
    top: tuple[float, str]
    stops: list[float]
    touched: set[str] = field(default_factory=set)

    def day(self, begins: Standing, from_degc: float, lasts_h: float) -> tuple[Step, ...]:
        """Return the fastest legal day, as few ramps and holds."""
        return _steps_of(self._knots(begins, from_degc, lasts_h), self.stops)

    def _knots(self, begins: Standing, from_degc: float, lasts_h: float) -> list[Knot]:
        """Return the knots of the fastest legal day: hours from its opening, and °C."""
        ceiling = self.top[0]
        while True:
            try:
                return _Day(march=self, standing=begins, degc=from_degc, lasts_h=lasts_h, ceiling=ceiling).run()
            except _TooHotError:
                ceiling = max(from_degc, ceiling) - COOLER_K
                if ceiling <= from_degc:  # the day's own beginning is too hot: it begins with a fall
                    return [(0.0, from_degc), (LEG_H, from_degc - COOLER_K), (lasts_h, from_degc - COOLER_K)]


@dataclass(kw_only=True)
class _Day:
    """One attempt at a day that stays below a ceiling."""

    march: March
    standing: Standing
    degc: float
    lasts_h: float
    ceiling: float
    leg_h: float = LEG_H

    def run(self) -> list[Knot]:
        """March to the end of the day. Raises _TooHotError."""
        knots, stops = [(0.0, self.degc)], [stop for stop in self.march.stops if stop <= self.ceiling]
        while knots[-1][0] < self.lasts_h - LOOKS_H:
            hour = knots[-1][0]
            if stops and self.degc >= stops[0] - 0.01:
                stops.pop(0)
                self.march.touched.add(self.march.limits.hold.id)
                took_h = min(self.march.limits.hold.value, self.lasts_h - hour)
                self.standing, _ = self._leg(self.degc, took_h)
            else:
                took_h = self._fastest(stops[0] if stops else self.ceiling, self.lasts_h - hour)
            knots.append((hour + took_h, self.degc))
        return knots

    def _fastest(self, goal: float, left_h: float) -> float:
        """Take the fastest legal leg; return how long it takes."""
        steepest, climbs = self.march.limits.ramp.value, goal > self.degc + 0.01
        for share in SHARES if climbs else (0.0,):
            for longest_h in dict.fromkeys((min(self.leg_h, left_h), min(LEG_H, left_h))):
                to_degc = min(goal, self.degc + share * steepest * longest_h)
                lasts_h = (to_degc - self.degc) / (share * steepest) if share else longest_h
                taken, why = self._tried(to_degc, lasts_h)
                if taken:
                    fast = share == 1 or not climbs
                    self.leg_h = min(2 * self.leg_h, LONGEST_LEG_H) if fast else LEG_H
                    self.march.touched |= {self.march.limits.ramp.id} if share == 1 else set()
                    self.march.touched |= {self.march.top[1]} if goal == self.march.top[0] and not climbs else set()
                    return lasts_h
                self.march.touched.add(why)
        raise _TooHotError

    def _tried(self, to_degc: float, lasts_h: float) -> tuple[bool, str]:
        """Run a leg and a hold after it, and stand at its end if that is legal; else say what refused it."""
        ends, why = self._leg(to_degc, lasts_h)
        if not why:
            _, why = _run(self.march, ends, to_degc, to_degc, AHEAD_H)
        if not why:
            self.standing, self.degc = ends, to_degc
        return not why, why

    def _leg(self, to_degc: float, lasts_h: float) -> tuple[Standing, str]:
        return _run(self.march, self.standing, self.degc, to_degc, lasts_h)


def _run(march: March, begins: Standing, from_degc: float, to_degc: float, lasts_h: float) -> tuple[Standing, str]:
    """Run a ramp, or a hold; return where it ends and which limit refuses it, empty where none does."""
    course = Course((0.0, lasts_h), (from_degc, to_degc))
    hours = np.append(np.arange(0.0, lasts_h - 0.01, LOOKS_H), lasts_h)
    did, ends = resume(march.draws, begins, course, hours, part=True)
    return ends, _refused(march.limits, did, course)


def _refused(limits: Limits, did: Ensemble, course: Course) -> str:
    """Return the limit that any draw comes nearest to breaking, its margin taken off; empty where all keep them.

    A chamber that lags is refused by the power of its elements.
    """
    over = {name: float(values.max()) / _kept(limits[name]) for name, values in reached(limits, did, course).items()}
    worst = max(over, key=lambda name: over[name])
    if over[worst] <= 1:
        return ""
    return limits.power.id if limits.power and worst == limits.lag.id else worst


def _kept(limit: Limit) -> float:
    """Return a limit with its margin taken off; the lag of a chamber has none, since nothing in the wall adds to it."""
    return limit.value if limit.id == "plan_lag_k" else limit.value * (1 - figures().margin.value)


# ---------------------------------------------------------------------------------------- steps of what was found


def _steps_of(knots: list[Knot], stops: Sequence[float]) -> tuple[Step, ...]:
    """Return ramps and holds that follow knots from below, rounded so that they can be read and set.

    A hold at a hold point that is to come stays as it is.
    """
    found: list[Step] = []
    line = [knot for part in _between_hold_points(knots, stops) for knot in _below(part)[1:]]
    for (from_h, from_degc), (to_h, to_degc) in zip([knots[0], *line], line, strict=False):
        if abs(to_degc - from_degc) < LEVEL_K and found:
            found[-1] = replace(found[-1], hold_h=found[-1].hold_h + to_h - from_h)
        elif abs(to_degc - from_degc) < LEVEL_K:
            found.append(Step(to_degc, ROUND_K, to_h - from_h))
        else:
            found.append(Step(to_degc, abs(to_degc - from_degc) / (to_h - from_h)))
    return joined_steps(_rounded(step) for step in found)


def _between_hold_points(knots: list[Knot], stops: Sequence[float]) -> list[list[Knot]]:
    """Divide knots before and after each hold at a hold point."""
    parts, part = [], [knots[0]]
    for before, after in pairwise(knots):
        if before[1] == after[1] and before[1] in stops:
            parts += [part, [before, after]]
            part = [after]
        else:
            part.append(after)
    return [one for one in (*parts, part) if len(one) > 1]


def _rounded(step: Step) -> Step:
    """Round temperature and ramp down, the hold to a quarter of an hour."""
    to_degc = max(floor((step.to_degc + 1e-6) / ROUND_K) * ROUND_K, ROUND_K)
    return Step(to_degc, rounded_ramp(step.ramp_k_h), round(step.hold_h / LEAST_HOLD_H) * LEAST_HOLD_H)


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
