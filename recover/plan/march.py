"""Finds one attended day hour by hour, always by the fastest ramp that stays within the limits.

A leg counts as legal when it, and a hold after it, keep every limit with its margin in all design draws: heat that is
already in the wall goes on raising vapour and pressure after a ramp has stopped. Where no hold is legal, the day is
begun again and stays cooler, so that a day never falls. What is found follows the limits closely and is not yet a day
that a person can read; `envelope` makes one of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from recover.physics.ensemble import Draws, Standing, resume
from recover.physics.wall import Course
from recover.plan.limits import Limits, refused

SHARES = (1.0, 0.5, 0.2, 0.0)
"""Ramps that are tried, as shares of the steepest."""

LEG_H, LONGEST_LEG_H, AHEAD_H = 1.0, 8.0, 1.0
COOLER_K = 25.0
LOOKS_H = 0.25

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

    def day(self, begins: Standing, from_degc: float, lasts_h: float) -> list[Knot]:
        """Return the knots of the fastest legal day: hours from its opening, and °C."""
        ceiling = self.top[0]
        while True:
            try:
                return _Day(self, begins, from_degc, lasts_h, ceiling).run()
            except _TooHotError:
                ceiling = max(from_degc, ceiling) - COOLER_K
                if ceiling <= from_degc:  # the day's own beginning is too hot: it begins with a fall
                    return [(0.0, from_degc), (LEG_H, from_degc - COOLER_K), (lasts_h, from_degc - COOLER_K)]


@dataclass
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
    return ends, refused(march.limits, did, course)
