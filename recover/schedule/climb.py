"""Finds a day that limits hold back: leg by leg as hot as they allow, each leg a ramp and a hold.

A leg counts as legal when it, and an hour's hold after it, keep every limit in all design draws: heat that is already
in the wall goes on raising vapour and pressure after a ramp has stopped. How hot it may be is found between where it
stands and what can be reached, by how far each trial comes to its limits; where a slower ramp comes hotter by the end
of the leg and takes out more water, that is the leg.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import inf

from recover.physics.ensemble import Draws, Standing, joined, stretch
from recover.physics.wall import Course, Step
from recover.schedule.daily import Daily, Opening
from recover.schedule.design import Design
from recover.schedule.heated import SHOWN_H, asked_degc, coolest_degc, from_hour, moments_h
from recover.schedule.limits import Conditions, reached
from recover.schedule.spells import HeatedRun, Spell, joined_steps

LEGS = 4
"""Into so many legs a day is divided at most: as many set-points as a person reads on a sheet."""

AHEAD_H = 1.0
TRIALS, ENOUGH = 6, 0.95
"""How often the best leg is tried for, and from what share of a limit on it is hot enough."""

SLOWEST = 0.15
"""As a share of the steepest ramp, what is slow enough: below it the leg is made cooler instead."""


@dataclass(frozen=True)
class _Leg:
    """A leg as it was tried: its set-points, how near it came to a limit (1: at it), and how near after
    its end, the water gone, where it ends."""

    steps: tuple[Step, ...]
    near: float
    late: float
    limit_id: str
    gone_kg: float
    ends: Standing


@dataclass
class Climb:
    """A climb through one day of design draws; `touched` gathers the limits that refused a hotter leg."""

    draws: Draws
    begins: Standing
    under: Conditions
    design: Design
    daily: Daily
    day: Opening
    touched: set[str] = field(default_factory=set)

    def spell(self, *, goes_on: bool) -> Spell:
        """Return the day; at a hold point it ends, or `goes_on` after readings."""
        made: list[HeatedRun] = []
        hour, off_h, begins = 0.0, self.under.limits.hold.value, self.begins
        while True:
            held_degc = made[-1].top_degc if made else -inf
            run, begins = self._run(begins, hour, held_degc, goes_on=goes_on)
            if not run.steps:
                break
            made.append(run)
            hour += run.hours + off_h
            if not goes_on or run.top_degc >= self.daily.top_degc or self.day.ends_h - hour < 2 * off_h:
                break
            _, begins = stretch(self.draws, begins, from_hour(self.under.day, hour - off_h, None), [0.0, off_h])
        return self.daily.finished(Spell(tuple(made), off_h), self.day)

    def _run(self, begins: Standing, hour: float, held_degc: float, *, goes_on: bool) -> tuple[HeatedRun, Standing]:
        """Return the run that begins at an hour of the day, readings at `held_degc` behind it, and where it ends."""
        run = HeatedRun(coolest_degc(begins) if hour else self.day.from_degc, ())
        stop = self._stop_degc(max(run.from_degc, held_degc))
        ceiling, leg_h = stop or self.daily.top_degc, self.day.ends_h / max(min(LEGS, self.daily.alphabet.steps - 1), 1)
        while (left_h := self.day.ends_h - hour - _hours(run)) >= self.daily.alphabet.hold_step_h:
            leg = self._leg(run, begins, left_h if left_h < 1.5 * leg_h else leg_h, ceiling)
            *before, last = leg.steps
            at_stop = goes_on and stop is not None and last.to_degc >= stop
            if at_stop:
                short = replace(last, hold_h=self.daily.alphabet.hold_step_h)
                leg = self._tried(run, begins, (*before, short))
            run, begins = replace(run, steps=joined_steps((*run.steps, *leg.steps))), leg.ends
            if at_stop:
                break
        return run, begins

    def _stop_degc(self, from_degc: float) -> float | None:
        """Return what it may not pass: the hold below boiling, the next hold point; None where none is to come."""
        if self.day.below:
            return self.daily.below_degc
        return next((stop for stop in self.day.stops_degc if from_degc < stop < self.daily.top_degc), None)

    # ------------------------------------------------------------------------------------ one leg

    def _leg(self, run: HeatedRun, begins: Standing, leg_h: float, ceiling: float) -> _Leg:
        """Return the best legal leg: hotter while it keeps the limits, slower where only its ramp breaks one, cooler
        where its hold does; where nothing is legal, a hold where it stands.
        """
        here = run.steps[-1].to_degc if run.steps else run.from_degc
        best, share = None, 1.0
        low_degc, high_degc, degc = here, ceiling, ceiling
        low_near, high_near = 0.5, 2.0
        for _ in range(TRIALS):
            steps = self.daily.leg(here, degc, self.day.reached_degc, leg_h, share)
            leg = self._tried(run, begins, steps)
            if leg.near <= 1:
                best = max((one for one in (best, leg) if one), key=lambda one: one.gone_kg)
                low_degc, low_near = steps[-1].to_degc, leg.late
                if leg.late >= ENOUGH or low_degc >= high_degc:
                    break
            else:
                self.touched.add(leg.limit_id)
                if leg.late <= 1 and share > SLOWEST:
                    share *= min(max(0.9 / leg.near, 0.4), 0.8)
                    continue
                high_degc, high_near = steps[-1].to_degc, max(leg.late, 1.01)
            part = min(max((1 - low_near) / max(high_near - low_near, 0.01), 0.15), 0.85)
            degc = self.daily.settable(low_degc + part * (high_degc - low_degc))
            if degc <= low_degc:
                break
        return best or self._tried(run, begins, self.daily.leg(here, here, here, leg_h))

    def _tried(self, run: HeatedRun, begins: Standing, steps: tuple[Step, ...]) -> _Leg:
        """Return a leg after a run so far, with all overshoot, and with a hold after it."""
        whole = replace(run, steps=joined_steps((*run.steps, *steps)))
        before_h, over_k = _hours(run), self.daily.alphabet.overshoot_k
        worst = whole.worst(over_k) if over_k else whole.course
        course = Course(tuple(one - before_h for one in worst.hours), worst.degc)
        moments = moments_h(whole.hours - before_h, SHOWN_H)
        did, stands = stretch(self.draws, begins, from_hour(self.under.day, before_h, course), moments)
        holds = from_hour(self.under.day, whole.hours, Course.steady(worst.degc[-1]))
        after, _ = stretch(self.draws, stands, holds, moments_h(AHEAD_H, SHOWN_H))
        both = joined([did, after])
        came_to = self.design.worst(reached(self.under.limits, both, asked_degc(course, both.hours)))
        shares = {name: values / max(self.under.limits[name].value, 1e-9) for name, values in came_to.items()}
        near = {name: float(values.max()) for name, values in shares.items()}
        most = max(near, key=lambda name: near[name])
        late = max(float(values[both.hours >= did.hours[-1] - AHEAD_H / 2].max()) for values in shares.values())
        return _Leg(steps, near[most], late, most, float(did.water_kg[0, 0] - did.water_kg[0, -1]), stands)


def _hours(run: HeatedRun) -> float:
    return run.hours if run.steps else 0.0
