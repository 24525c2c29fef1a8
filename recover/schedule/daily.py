"""One attended day in what can be set: at full speed, or somewhat faster than the day before; eased where it breaks.

Where a day breaks a limit, only the steps that break it are slowed or lowered.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from recover.physics.drying import Numbers
from recover.physics.wall import Step
from recover.schedule.alphabet import Alphabet
from recover.schedule.limits import Conditions, Limits
from recover.schedule.spells import HeatedRun, Spell, joined_steps

HOPED, HOPED_K = 1.3, 30.0
"""By how much the day after an eased one is first tried faster and hotter: there is less water in it."""

SLOWER, SLOWEST = 0.85, 0.4
"""By how much a ramp is slowed at a time: at least, and at most."""

COOLER_K = 10.0
AFTER_RAMP_H = 1.0
"""What breaks so soon after a ramp is laid to the ramp: heat that is in the wall goes on."""

WORTH_H = 1.0
"""Less time than that is none for a second run."""

REHEAT_LESS_K = 10.0
"""So far below what the last heated day reached, the ramp is that of first heating again."""


@dataclass(frozen=True)
class Opening:
    """How a day opens: where the chamber stands, until when it may be heated, what is behind it and what is to come.

    `reached_degc` is what the last heated day came to, `stops_degc` are the hold points that are still to come, coolest
    first; `below_h` is how long it is still to be held below boiling, 0 once the gate is open.
    """

    from_degc: float
    ends_h: float
    reached_degc: float
    stops_degc: tuple[float, ...]
    below_h: float


@dataclass(frozen=True)
class Daily:
    """Makes days in an alphabet, under conditions."""

    under: Conditions
    alphabet: Alphabet

    # ------------------------------------------------------------------------------------ set-points

    def set_degc(self, degc: float) -> float:
        """Return the highest set-point that with all overshoot is no hotter."""
        return self.alphabet.set_degc(degc - self.alphabet.overshoot_k)

    @property
    def below_degc(self) -> float:
        """The set-point of the hold below boiling."""
        return self.set_degc(self.under.boiling.hold_degc)

    @property
    def top_degc(self) -> float:
        """The hottest set-point."""
        return self.set_degc(self.under.top[0])

    @property
    def ramp_k_h(self) -> float | None:
        """The ramp of first heating; None where the slowest that can be set is too steep."""
        return self.alphabet.ramp_k_h(self.under.limits.ramp.value, 100.0)

    # ------------------------------------------------------------------------------------ a day at full speed

    def at_full_speed(self, day: Opening) -> Spell:
        """Return the steepest ramps, readings at each hold point that is still to come, and the top until the end."""
        stops = [stop for stop in day.stops_degc if stop < self.top_degc - 1e-6]
        if day.below_h > 0:
            stops = [self.below_degc]
        runs, here = [], day.from_degc
        for stop in stops:
            hold_h = max(day.below_h, self.alphabet.hold_step_h) if stop == self.below_degc else self.alphabet.hold_step_h
            runs.append(HeatedRun(here, self._climb(here, stop, day.reached_degc, hold_h), reads=True))
            here = stop - REHEAT_LESS_K  # it cools by about as much; what it does is seen when it is lived
        if not stops or stops[-1] < self.top_degc:
            reached = max([day.reached_degc, *stops])
            runs.append(HeatedRun(here, self._climb(here, self.top_degc, reached, 0.0)))
        return self.finished(Spell(tuple(runs), self.under.limits.hold.value), day)

    def _climb(self, from_degc: float, to_degc: float, reached_degc: float, hold_h: float) -> tuple[Step, ...]:
        """Return the steps to a set-point: back to what was reached, by the ramp of re-heating, and on by the other."""
        again = self.alphabet.set_degc(min(reached_degc - REHEAT_LESS_K, to_degc))
        steps = [self._step(from_degc, to_degc, self.under.limits.ramp.value, hold_h)]
        if again > from_degc and (self.alphabet.steps > 1 or again >= to_degc):
            quick = self._step(from_degc, again, self.under.limits.reheat.value, 0.0)
            steps = [quick, self._step(again, to_degc, self.under.limits.ramp.value, hold_h)]
        return joined_steps(steps)

    def _step(self, from_degc: float, to_degc: float, wanted_k_h: float, hold_h: float) -> Step:
        ramp = self.alphabet.ramp_k_h(wanted_k_h, max(to_degc - from_degc, 1.0)) or self.ramp_k_h
        assert ramp is not None, "a day is made where there is a ramp"
        return Step(to_degc, ramp, self._hold_h(hold_h, up=True))

    def _hold_h(self, hours: float, *, up: bool = False) -> float:
        by = self.alphabet.hold_step_h
        return floor(max(hours, 0.0) / by + (1 - 1e-6 if up else 1e-6)) * by

    # ------------------------------------------------------------------------------------ until it ends

    def finished(self, spell: Spell, day: Opening) -> Spell:
        """Return a day that is cut where it has to end, its last hold made as long as there is time."""
        runs: list[HeatedRun] = []
        hour = 0.0
        for run in spell.runs if self.alphabet.starts_hot else spell.runs[:1]:
            cut = self.cut(run, hour, day)
            if not cut.steps:
                break
            runs.append(cut)
            hour += cut.hours + spell.off_h
            if not cut.reads:
                break
        return Spell(tuple(runs), spell.off_h)

    def cut(self, run: HeatedRun, hour: float, day: Opening) -> HeatedRun:
        """Return a run that begins at an hour of the day as far as there is time for it.

        One that ends at a hold point is followed by another where there is time for that; any other is held on.
        """
        made = self._cut(run, day.ends_h - hour)
        left_h = day.ends_h - hour - made.hours if made.steps else 0.0
        if made.steps and not (made.reads and left_h > self.under.limits.hold.value + WORTH_H and self.alphabet.starts_hot):
            *before, last = made.steps
            made = replace(made, steps=(*before, replace(last, hold_h=last.hold_h + self._hold_h(left_h))))
        return made

    def _cut(self, run: HeatedRun, left_h: float) -> HeatedRun:
        made: list[Step] = []
        here = run.from_degc
        for step in run.steps:
            if step.to_degc <= here and step is not run.steps[-1]:
                continue  # the chamber is hotter than that already
            ramp_h = abs(step.to_degc - here) / step.ramp_k_h
            if ramp_h > left_h:
                reached = self.alphabet.set_degc(here + step.ramp_k_h * left_h)
                made += [replace(step, to_degc=reached, hold_h=0.0)] if reached > here else []
                return replace(run, steps=joined_steps(made), reads=False)
            made.append(replace(step, hold_h=min(step.hold_h, self._hold_h(left_h - ramp_h))))
            left_h -= ramp_h + made[-1].hold_h
            here = step.to_degc
        whole = made[-1].hold_h >= run.steps[-1].hold_h - 1e-6
        return replace(run, steps=joined_steps(made), reads=run.reads and whole)

    # ------------------------------------------------------------------------------------ the day after an eased one

    def hoped(self, fast: Spell, yesterday: Spell | None, day: Opening) -> Spell:
        """Return the day that is eased: yesterday's ramps somewhat faster, to a hotter end; else the day at full speed."""
        if not yesterday or len(fast.runs) > 1 or day.below_h > 0:
            return fast
        steps = [step for step in yesterday.runs[-1].steps if step.to_degc > day.from_degc]
        if not steps:
            return fast
        quick = self.under.limits.reheat.value
        made: list[Step] = []
        here = day.from_degc
        again = self.alphabet.set_degc(day.reached_degc - REHEAT_LESS_K)
        for number, step in enumerate(steps):
            to = min(self.alphabet.set_degc(step.to_degc + HOPED_K), fast.top_degc) if number == len(steps) - 1 else step.to_degc
            most = quick if to <= again else self.under.limits.ramp.value
            made.append(self._step(here, to, min(step.ramp_k_h * HOPED + 1, most), step.hold_h))
            here = to
        if made[-1].to_degc > again > made[0].to_degc - 1e-6:
            pass
        return self.finished(Spell((HeatedRun(day.from_degc, joined_steps(made)),), fast.off_h), day)

    # ------------------------------------------------------------------------------------ mending

    def repaired(self, spell: Spell, wrong: Mapping[tuple[int, int], Broken], day: Opening) -> Spell:
        """Slow the ramps that break a limit, or lower the holds that do; nothing else is changed, and nothing falls.

        A run that is lowered at a hold point is the last of its day: nothing passes one without its readings.
        """
        runs: list[HeatedRun] = []
        for number, run in enumerate(spell.runs):
            made: list[Step] = []
            for place, step in enumerate(run.steps):
                gentle = self._gentler(step, wrong[number, place]) if (number, place) in wrong else step
                made.append(replace(gentle, to_degc=max(gentle.to_degc, made[-1].to_degc if made else gentle.to_degc)))
            lowered = made[-1].to_degc < run.steps[-1].to_degc
            runs.append(replace(run, steps=joined_steps(made), reads=run.reads and not lowered))
            if lowered:
                break
        return self.finished(Spell(tuple(runs), spell.off_h), day)

    def _gentler(self, step: Step, wrong: Broken) -> Step:
        """Return a step that is slowed, or lowered where it is slow enough, by about as much as its limit was exceeded."""
        wanted = step.ramp_k_h * min(max(0.95 / wrong.times, SLOWEST), SLOWER)
        slower = self.alphabet.ramp_k_h(wanted, 50.0)
        if wrong.limit_id == self.under.limits.casing.id or not wrong.ramping or slower is None:
            cooler_k = COOLER_K * min(max(round((wrong.times - 1) / 0.05), 1), 4)
            return replace(step, to_degc=self.alphabet.set_degc(step.to_degc - cooler_k))
        return replace(step, ramp_k_h=slower)


# ---------------------------------------------------------------------------------------- what breaks


@dataclass(frozen=True)
class Broken:
    """What a step breaks: which limit, how many times its value was reached, and whether while the chamber ramped."""

    limit_id: str
    times: float
    ramping: bool


def broken_steps(
    spell: Spell, limits: Limits, came_to: Mapping[str, Numbers], hours: Numbers
) -> dict[tuple[int, int], Broken]:
    """Return each step of a day that breaks a limit, by run and step, and what it came to at each hour (n_hour,).

    What breaks after the last step, when the heater is off, is laid to it; what breaks as soon as a step begins, to the
    one before it as well.
    """
    found: dict[tuple[int, int], Broken] = {}
    places = _places(spell)
    for number, (place, from_h, hold_from_h) in enumerate(places):
        to_h = places[number + 1][1] if number + 1 < len(places) else np.inf
        within = (hours > from_h) & (hours <= to_h)
        for name, values in came_to.items():
            over = hours[within & (values > limits[name].value)]
            times = float(values[within].max(initial=0.0)) / limits[name].value
            if over.size and (place not in found or times > found[place].times):
                found[place] = Broken(name, times, bool(over[0] <= hold_from_h + AFTER_RAMP_H))
                if number and over[0] <= from_h + AFTER_RAMP_H:
                    found.setdefault(places[number - 1][0], Broken(name, times, ramping=True))
    return found


def _places(spell: Spell) -> list[tuple[tuple[int, int], float, float]]:
    """Return for each step its run and place, and when its ramp and its hold begin [h]."""
    found = []
    for number, (run, begins_h) in enumerate(zip(spell.runs, spell.begins_h, strict=True)):
        hours = [begins_h + hour for hour in run.course.hours]
        found += [((number, place), hours[2 * place], hours[2 * place + 1]) for place in range(len(run.steps))]
    return found
