"""Goes through a drying hour by hour, always by the fastest ramp that stays within the limits.

A leg counts as legal when it, and a hold after it, keep every limit with its margin in all design draws: heat that is
already in the wall goes on raising vapour and pressure after a ramp has stopped. The result follows the limits closely
and is not yet a schedule that a person can read; `envelope` makes one of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import floor

import numpy as np

from recover.physics.ensemble import Draws, Ensemble, Standing, resume
from recover.physics.wall import Course
from recover.plan.limits import HOLD_POINTS_DEGC, MARGIN, Limits, reached
from recover.plan.schedule import Attendance
from recover.profiles import Limit

SHARES = (1.0, 0.5, 0.2, 0.0)
"""Ramps that are tried, as shares of the steepest."""

LEG_H, LONGEST_LEG_H, AHEAD_H = 1.0, 8.0, 1.0
COOLS_K = 25.0
LOOKS_H = 0.25

Knot = tuple[float, float]
"""Hour of the day's opening, and °C."""


@dataclass
class Marched:
    """What was found: knots day by day, what refused a faster choice, hours, heat; and whether the water has gone."""

    days: list[list[Knot]] = field(default_factory=list)
    touched: set[str] = field(default_factory=set)
    hours: float = 0.0
    attended_h: float = 0.0
    kwh: float = 0.0
    left: float = 1.0
    dry: bool = False


@dataclass
class March:
    """A march through one kiln's design draws, of which the second has the water that must go.

    `top_degc` is the hottest chamber that it may ask for.
    """

    draws: Draws
    limits: Limits
    attendance: Attendance
    top_degc: float
    top_limit: str
    room_degc: float
    standing: Standing = field(init=False)
    first_kg: float = field(init=False)
    found: Marched = field(default_factory=Marched)
    leg_h: float = LEG_H
    stops: list[float] = field(init=False)

    def __post_init__(self) -> None:
        self.standing = self.draws.begin()
        start, _ = resume(self.draws, self.standing, Course.steady(self.room_degc), [0.0], part=True)
        self.first_kg = float(start.water_kg[self._wet, 0])
        self.stops = [degc for degc in HOLD_POINTS_DEGC if degc < self.top_degc]

    @property
    def _wet(self) -> int:
        return min(1, len(self.draws.setups) - 1)

    def run(self) -> Marched:
        """March until the water has gone, or the days have."""
        days = int(self.limits.days.value)
        while not self.found.dry and len(self.found.days) < (1 if self.attendance.always else days):
            if self.found.days:
                self._cool()
            self._day(24.0 * days if self.attendance.always else self.limits.attendance.value)
        if not self.found.dry:
            self.found.touched.add(self.limits.days.id)
        return self.found

    def _cool(self) -> None:
        """Leave the heater off until the next opening: vapour goes on, and condenses where it is cold."""
        self.found.touched.add(self.limits.attendance.id)
        off_h = 24.0 * len(self.found.days) - self.found.hours
        self._take(*resume(self.draws, self.standing, Course.steady(self.room_degc), [0.0, off_h], part=True))
        self.found.hours += off_h

    def _day(self, lasts_h: float) -> None:
        degc = max(self.room_degc, floor(float(self.standing.held[:, 0].min())))
        knots, hour = [(0.0, degc)], 0.0
        self.found.days.append(knots)
        while hour < lasts_h - LOOKS_H and not self.found.dry:
            share, to_degc, took_h = self._leg(degc, min(self.leg_h, lasts_h - hour))
            fast = share == 1 or degc == to_degc == self.top_degc
            self.leg_h = min(2 * self.leg_h, LONGEST_LEG_H) if fast else LEG_H
            hour, degc = hour + took_h, to_degc
            knots.append((hour, degc))
            self.found.hours += took_h
            self.found.attended_h += took_h

    def _leg(self, degc: float, leg_h: float) -> tuple[float, float, float]:
        """Take the fastest legal leg; return the share of the steepest ramp, where it leads and how long it takes."""
        if self.stops and degc >= self.stops[0] - 0.01:
            self.stops.pop(0)
            self.found.touched.add(self.limits.hold.id)
            return 0.0, degc, self._try(degc, degc, self.limits.hold.value, take=True)[1]
        goal = min([self.top_degc, *(stop for stop in self.stops if stop > degc)])
        ramp, refused = self.limits.ramp.value, ""
        for share in SHARES if goal > degc + 0.01 else (0.0,):
            for longest_h in (leg_h, LEG_H) if leg_h > LEG_H else (leg_h,):
                to_degc = min(goal, degc + share * ramp * longest_h)
                lasts_h = (to_degc - degc) / (share * ramp) if share else longest_h
                refused, took_h = self._try(degc, to_degc, lasts_h)
                if not refused:
                    to_degc = degc + (to_degc - degc) * min(took_h / lasts_h, 1.0)
                    self.found.touched |= {self.limits.ramp.id} if share == 1 else set()
                    self.found.touched |= {self.top_limit} if goal <= degc + 0.01 else set()
                    return share, to_degc, took_h
            self.found.touched.add(refused)
        lower = max(self.room_degc, degc - COOLS_K)
        return 0.0, lower, self._try(degc, lower, LEG_H, take=True)[1]

    def _try(self, degc: float, to_degc: float, lasts_h: float, take: bool = False) -> tuple[str, float]:
        """Run a leg and a hold after it; stand at its end if that is legal. Return what refused it, and its hours."""
        course = Course((0.0, lasts_h), (degc, to_degc))
        hours = np.append(np.arange(0.0, lasts_h - 0.01, LOOKS_H), lasts_h)
        did, ends = resume(self.draws, self.standing, course, hours, part=True)
        refused = "" if take else self._refused(did, to_degc)
        if not refused and not take:
            hours = np.arange(0.0, AHEAD_H + 0.01, LOOKS_H)
            ahead, _ = resume(self.draws, ends, Course.steady(to_degc), hours, part=True)
            refused = self._refused(ahead, to_degc)
        if refused:
            return refused, lasts_h
        dry_h = self._dry_at(did, lasts_h)
        if dry_h < lasts_h:
            course = Course((0.0, dry_h), (degc, degc + (to_degc - degc) * dry_h / lasts_h))
            did, ends = resume(self.draws, self.standing, course, [0.0, dry_h], part=True)
        self._take(did, ends)
        return "", dry_h

    def _dry_at(self, did: Ensemble, lasts_h: float) -> float:
        """Return when in a leg the water has gone, to the quarter of an hour; its length where it has not."""
        left = did.water_kg[self._wet] / self.first_kg
        gone = np.flatnonzero(left <= self.limits.water_left.value)
        return max(float(did.hours[gone[0]]), LOOKS_H) if gone.size else lasts_h

    def _take(self, did: Ensemble, ends: Standing) -> None:
        self.standing = ends
        self.found.kwh += float(did.heater_kwh[0, -1])
        self.found.left = float(did.water_kg[self._wet, -1]) / self.first_kg
        self.found.dry = self.found.left <= self.limits.water_left.value

    def _refused(self, did: Ensemble, to_degc: float) -> str:
        """Return the limit that a run comes nearest to breaking, its margin taken off; empty where it keeps them."""
        behind_k = to_degc - float(did.chamber_degc[:, -1].min())
        came_to = reached(self.limits, did)
        over = {name: float(values.max()) / kept(self.limits[name]) for name, values in came_to.items()}
        if self.limits.power:
            over[self.limits.power.id] = behind_k / self.limits.lag.value
        worst = max(over, key=lambda name: over[name])
        return worst if over[worst] > 1 else ""


def kept(limit: Limit) -> float:
    """Return a limit with its margin taken off."""
    return limit.value * (1 - MARGIN)
