"""Finds a day that limits hold back: leg by leg as hot as they allow, each leg a ramp and a hold.

A leg counts as legal when it, and an hour's hold after it, keep every limit in all design draws: heat that is already
in the wall goes on raising vapour and pressure after a ramp has stopped. How hot it may be is found between where it
stands and what can be reached, by how far each trial comes to its limits; where a slower ramp comes hotter by the end
of the leg and takes out more water, that is the leg.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from recover.physics.ensemble import Draws, Standing, joined, stretch
from recover.physics.wall import Course, Step
from recover.schedule.daily import Daily, Opening
from recover.schedule.heated import asked_degc, coolest_degc, from_hour, moments_h
from recover.schedule.limits import Conditions, Limits, reached
from recover.schedule.spells import HeatedRun, Spell, joined_steps

LEGS = 4
"""Into so many legs a day is divided at most: as many set-points as a person reads on a sheet."""

AHEAD_H = 1.0
SHOWN_H = 0.25
TRIALS, ENOUGH = 4, 0.95
"""How often the hottest leg is tried for, and from what share of a limit on it is hot enough."""

RAMPS = (0.6, 0.35, 0.2, 0.1)
"""Slower ramps that are tried, as shares of the steepest."""


@dataclass(frozen=True)
class _Leg:
    """A leg as it was tried: its set-points, how near it came to a limit (1: at it), the water gone, where it ends."""

    steps: tuple[Step, ...]
    near: float
    limit_id: str
    gone_kg: float
    ends: Standing


@dataclass
class Climb:
    """A climb through one day of design draws; `touched` gathers the limits that refused a hotter leg."""

    draws: Draws
    under: Conditions
    limits: Limits
    daily: Daily
    day: Opening
    touched: set[str] = field(default_factory=set)

    def spell(self, begins: Standing, *, goes_on: bool) -> Spell:
        """Return the day; at a hold point it ends, or `goes_on` after readings."""
        made: list[HeatedRun] = []
        hour, off_h = 0.0, self.under.limits.hold.value
        while True:
            run, begins = self._run(begins, hour, goes_on=goes_on)
            if not run.steps:
                break
            made.append(run)
            hour += run.hours + off_h
            if not goes_on or run.top_degc >= self.daily.top_degc or self.day.ends_h - hour < 2 * off_h:
                break
            _, begins = stretch(self.draws, begins, from_hour(self.under.day, hour - off_h, None), [0.0, off_h])
        return self.daily.finished(Spell(tuple(made), off_h), self.day)

    def _run(self, begins: Standing, hour: float, *, goes_on: bool) -> tuple[HeatedRun, Standing]:
        """Return the run that begins at an hour of the day, and where it ends."""
        run = HeatedRun(coolest_degc(begins) if hour else self.day.from_degc, ())
        stop = self._stop_degc(run.from_degc)
        ceiling, leg_h = stop or self.daily.top_degc, self.day.ends_h / LEGS
        while (left_h := self.day.ends_h - hour - _hours(run)) >= self.daily.alphabet.hold_step_h:
            leg = self._leg(run, begins, left_h if left_h < 1.5 * leg_h else leg_h, ceiling)
            at_stop = goes_on and stop is not None and leg.steps[-1].to_degc >= stop
            if at_stop:
                leg = self._tried(run, begins, (*leg.steps[:-1], self._short(leg.steps[-1])))
            run, begins = replace(run, steps=joined_steps((*run.steps, *leg.steps))), leg.ends
            if at_stop:
                break
        return run, begins

    def _stop_degc(self, from_degc: float) -> float | None:
        """Return the next hold point; None where none is to come."""
        if self.day.below_h > 0 and from_degc <= self.daily.below_degc:
            return self.daily.below_degc
        return next((stop for stop in self.day.stops_degc if from_degc < stop < self.daily.top_degc), None)

    def _short(self, step: Step) -> Step:
        """Return a step that is held for readings, below boiling as long as the gate asks for."""
        below_h = self.day.below_h if step.to_degc <= self.daily.below_degc else 0.0
        return replace(step, hold_h=min(step.hold_h, max(self.daily.hold_h(below_h), self.daily.alphabet.hold_step_h)))

    # ------------------------------------------------------------------------------------ one leg

    def _leg(self, run: HeatedRun, begins: Standing, leg_h: float, ceiling: float) -> _Leg:
        """Return the best legal leg."""
        here = run.steps[-1].to_degc if run.steps else run.from_degc
        best = self._hottest(run, begins, leg_h, ceiling)
        for share in RAMPS:
            steps = self.daily.leg(here, ceiling, self.day.reached_degc, leg_h, share)
            if steps[-1].to_degc <= best.steps[-1].to_degc:
                break
            slow = self._tried(run, begins, steps)
            if slow.near <= 1:
                return max(best, slow, key=lambda leg: leg.gone_kg)
        return best

    def _hottest(self, run: HeatedRun, begins: Standing, leg_h: float, ceiling: float) -> _Leg:
        """Return the hottest legal leg by the steepest ramp; where none is, the coolest that was tried."""
        here = run.steps[-1].to_degc if run.steps else run.from_degc
        low = None
        low_degc, low_near, degc = here, 0.5, ceiling
        for _ in range(TRIALS):
            steps = self.daily.leg(here, degc, self.day.reached_degc, leg_h)
            leg = self._tried(run, begins, steps)
            if leg.near <= 1:
                low, low_degc, low_near = leg, steps[-1].to_degc, leg.near
                if leg.near >= ENOUGH or degc == ceiling:
                    break
            else:
                self.touched.add(leg.limit_id)
                high_degc, high_near = steps[-1].to_degc, leg.near
            share = min(max((1 - low_near) / (high_near - low_near), 0.15), 0.85)
            degc = self.daily.alphabet.set_degc(low_degc + share * (high_degc - low_degc))
            if degc <= low_degc:
                break
        return low or self._tried(run, begins, self.daily.leg(here, here, here, leg_h))

    def _tried(self, run: HeatedRun, begins: Standing, steps: tuple[Step, ...]) -> _Leg:
        """Return a leg after a run so far, with all overshoot, and with a hold after it."""
        whole = replace(run, steps=joined_steps((*run.steps, *steps)))
        before_h, over_k = _hours(run), self.daily.alphabet.overshoot_k
        worst = whole.worst(over_k) if over_k else whole.course
        course = Course(tuple(one - before_h for one in worst.hours), worst.degc)
        moments = moments_h(whole.hours - before_h, SHOWN_H)
        did, ends = stretch(self.draws, begins, from_hour(self.under.day, before_h, course), moments)
        level = Course.steady(worst.degc[-1])
        after, _ = stretch(self.draws, ends, from_hour(self.under.day, whole.hours, level), moments_h(AHEAD_H, SHOWN_H))
        came_to = reached(self.limits, joined([did, after]), asked_degc(course, joined([did, after]).hours))
        near = {name: float(values.max()) / max(self.limits[name].value, 1e-9) for name, values in came_to.items()}
        most = max(near, key=lambda name: near[name])
        return _Leg(steps, near[most], most, float(did.water_kg[0, 0] - did.water_kg[0, -1]), ends)


def _hours(run: HeatedRun) -> float:
    return run.hours if run.steps else 0.0
