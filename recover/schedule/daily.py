"""One attended day in what can be set: at full speed, cut where it has to end, eased where it breaks a limit."""

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

SLOWER, SLOWEST = 0.85, 0.4
"""By how much a ramp is slowed at a time: at least, and at most."""

COOLER_K = 10.0
AFTER_RAMP_H = 1.0
"""What breaks so soon after a ramp is laid to the ramp: heat that is in the wall goes on."""

WORTH_H = 1.0
"""Less time than that is none for a second run."""

HOTTER_K = 60
"""Beyond so many kelvins no next set-point is looked for."""

COOLED_K = 50.0
"""So much a chamber is taken to cool while readings are taken, until a day has been lived."""

REHEAT_LESS_K = 10.0
"""So far below what the last heated day reached, the ramp is that of first heating again."""


@dataclass(frozen=True)
class Opening:
    """How a day opens: where the chamber stands, until when it may be heated, what is behind it and what is to come.

    `reached_degc` is what the last heated day came to, `stops_degc` are the hold points that are still to come, coolest
    first. `below`: the gate is shut; what opens it is read before a day opens, and not on it.
    """

    from_degc: float
    ends_h: float
    reached_degc: float
    stops_degc: tuple[float, ...]
    below: bool


@dataclass(frozen=True)
class Daily:
    """Makes days in an alphabet, under conditions."""

    under: Conditions
    alphabet: Alphabet

    # ------------------------------------------------------------------------------------ set-points

    def settable(self, degc: float) -> float:
        """Return the highest set-point that is no hotter; one number for one set-point, whatever it was asked by."""
        return round(self.alphabet.set_degc(degc), 9)

    def set_degc(self, degc: float) -> float:
        """Return the highest set-point that with all overshoot is no hotter."""
        return self.settable(degc - self.alphabet.overshoot_k)

    def next_degc(self, degc: float) -> float:
        """Return the next hotter set-point; the same where there is none."""
        hotter = (self.settable(degc + by) for by in range(1, HOTTER_K))
        return next((one for one in hotter if one > degc), degc)

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

    def at_full_speed(self, day: Opening) -> list[Spell]:
        """Return the days of steepest ramps: one that ends at each hold point that is to come, and one that passes all.

        At a hold point with time left, readings are taken and it goes on; the last set-point is held until the end.
        """
        if day.below:
            return [self._until(day, (), self.below_degc)]
        stops = [stop for stop in day.stops_degc if stop < self.top_degc]
        made = [self._until(day, stops[: number + 1], stops[number]) for number in range(len(stops))]
        return list(dict.fromkeys([*made, self._until(day, stops, self.top_degc)]))

    def _until(self, day: Opening, stops: Sequence[float], last_degc: float) -> Spell:
        """Return a day that reads at each of these hold points, and holds at the last temperature."""
        runs: list[HeatedRun] = []
        here, reached = day.from_degc, day.reached_degc
        for to_degc in dict.fromkeys([*stops, last_degc]):
            runs.append(HeatedRun(here, self._climb(here, to_degc, reached, self.alphabet.hold_step_h)))
            here, reached = to_degc - COOLED_K, max(reached, to_degc)
        return self.finished(Spell(tuple(runs), self.under.limits.hold.value), day)

    def _climb(
        self, from_degc: float, to_degc: float, reached_degc: float, hold_h: float, share: float = 1.0
    ) -> tuple[Step, ...]:
        """Return the steps to a set-point: back to what was reached, by the ramp of re-heating, and on by the other."""
        limits = self.under.limits
        again = self.settable(min(reached_degc - REHEAT_LESS_K, to_degc))
        if not (again > from_degc and (self.alphabet.steps > 1 or again >= to_degc)):
            return (self._step(from_degc, to_degc, share * limits.ramp.value, hold_h),)
        quick = self._step(from_degc, again, share * limits.reheat.value, 0.0)
        return joined_steps((quick, self._step(again, to_degc, share * limits.ramp.value, hold_h)))

    def _step(self, from_degc: float, to_degc: float, wanted_k_h: float, hold_h: float) -> Step:
        return Step(to_degc, self._ramp(wanted_k_h, max(to_degc - from_degc, 1.0)), self.hold_h(hold_h, up=True))

    def _ramp(self, wanted_k_h: float, rise_k: float) -> float:
        """Return the steepest ramp that is no steeper, or the slowest that can be set."""
        ramp = self.alphabet.ramp_k_h(wanted_k_h, rise_k) or self.ramp_k_h
        assert ramp is not None, "a day is made where there is a ramp"
        return ramp

    def leg(
        self, here: float, to_degc: float, reached_degc: float, leg_h: float, share: float = 1.0
    ) -> tuple[Step, ...]:
        """Return the steps of a leg of so many hours towards a set-point, by a share of the steepest ramps."""
        stays = (Step(self.settable(here), self._ramp(self.under.limits.ramp.value, 1.0), self.hold_h(leg_h)),)
        if to_degc <= here:
            return stays
        run = HeatedRun(here, self._climb(here, to_degc, reached_degc, leg_h, share))
        return self._as_far(run, leg_h).steps or stays

    def hold_h(self, hours: float, *, up: bool = False) -> float:
        """Return a hold that can be set: no longer, or no shorter."""
        by = self.alphabet.hold_step_h
        return floor(max(hours, 0.0) / by + (1 - 1e-6 if up else 1e-6)) * by

    # ------------------------------------------------------------------------------------ until it ends

    def finished(self, spell: Spell, day: Opening) -> Spell:
        """Return a day that is cut where it has to end, its last hold made as long as there is time."""
        made: list[HeatedRun] = []
        hour, runs = 0.0, spell.runs if self.alphabet.starts_hot else spell.runs[:1]
        for number, run in enumerate(runs):
            cut = self.cut(run, hour, day, last=number == len(runs) - 1)
            if not cut.steps:
                break
            made.append(cut)
            hour += cut.hours + spell.off_h
            if not cut.reads:
                break
        return Spell(tuple(made), spell.off_h)

    def cut(self, run: HeatedRun, hour: float, day: Opening, *, last: bool) -> HeatedRun:
        """Return a run that begins at an hour of the day as far as there is time for it; one without a step where none.

        It is held on where it is the last, or no time is left for another after its readings.
        """
        made = self._as_far(run, day.ends_h - hour)
        if not made.steps:
            return made
        left_h = day.ends_h - hour - made.hours
        if last or not self._reads(made, day) or left_h < self.under.limits.hold.value + WORTH_H:
            *before, final = made.steps
            made = replace(made, steps=(*before, replace(final, hold_h=final.hold_h + self.hold_h(left_h))))
        return replace(made, reads=self._reads(made, day))

    def _as_far(self, run: HeatedRun, left_h: float) -> HeatedRun:
        """Return a run as far as it comes in so many hours; what cannot be set, or is passed already, is left out."""
        made: list[Step] = []
        here = run.from_degc
        for step in run.steps:
            if step.to_degc < self.alphabet.least_degc or (step.to_degc <= here and step is not run.steps[-1]):
                continue
            cut = self._reachable(here, step, left_h)
            if cut is None:
                break
            made.append(cut)
            left_h -= abs(cut.to_degc - here) / cut.ramp_k_h + cut.hold_h
            here = cut.to_degc
            if here < step.to_degc:
                break
        return replace(run, steps=joined_steps(made))

    def _reachable(self, here: float, step: Step, left_h: float) -> Step | None:
        """Return a step, cooler where its ramp does not come so far in time; None where it comes nowhere."""
        degc = step.to_degc
        while True:
            rise_k = abs(degc - here)
            ramp = self._ramp(step.ramp_k_h, max(rise_k, 1.0))
            if rise_k / ramp <= left_h + 1e-9:
                hold_h = min(step.hold_h, self.hold_h(left_h - rise_k / ramp)) if degc == step.to_degc else 0.0
                return Step(degc, ramp, hold_h)
            degc = self.settable(min(here + ramp * left_h, degc - 0.1))
            if degc <= here or degc < self.alphabet.least_degc:
                return None

    def _reads(self, run: HeatedRun, day: Opening) -> bool:
        """Whether a run ends at a hold point that is to come, held; while the gate is shut there is none."""
        final = run.steps[-1]
        held = final.hold_h >= self.alphabet.hold_step_h - 1e-6
        return held and not day.below and final.to_degc in day.stops_degc

    def hotter(self, spell: Spell, number: int, place: int, day: Opening) -> Spell:
        """Return a day with a step of a run one set-point hotter, no hotter than the next and no hold point passed."""
        steps = list(spell.runs[number].steps)
        degc = self.next_degc(steps[place].to_degc)
        reached = max([day.reached_degc, *(run.top_degc for run in spell.runs[:number])])
        again = steps[place].ramp_k_h > self.under.limits.ramp.value and degc > reached - REHEAT_LESS_K
        most = min([self._ceiling_degc(steps[place].to_degc, day), *(step.to_degc for step in steps[place + 1 :])])
        if again or degc > most:
            return spell
        steps[place] = replace(steps[place], to_degc=degc)
        runs = list(spell.runs)
        runs[number] = replace(runs[number], steps=joined_steps(steps))
        return self.finished(Spell(tuple(runs), spell.off_h), day)

    def risen(self, spell: Spell, share: float, day: Opening) -> Spell:
        """Return a day that after a share of its last hold goes on one set-point hotter; as it is where it cannot."""
        run = spell.runs[-1]
        *before, final = run.steps
        degc, hold_h = self.next_degc(final.to_degc), self.hold_h(share * final.hold_h)
        full = len(run.steps) >= self.alphabet.steps
        if full or hold_h <= 0 or not final.to_degc < degc <= self._ceiling_degc(final.to_degc, day):
            return spell
        rises = Step(degc, self._ramp(min(final.ramp_k_h, self.under.limits.ramp.value), degc - final.to_degc), 0.0)
        risen = replace(run, steps=(*before, replace(final, hold_h=hold_h), rises))
        return self.finished(Spell((*spell.runs[:-1], risen), spell.off_h), day)

    def _ceiling_degc(self, degc: float, day: Opening) -> float:
        """Return the hottest set-point of a run that is at a temperature: a hold point that is to come, or the top."""
        below = [self.below_degc] if day.below and degc <= self.below_degc else []
        return min(stop for stop in (*below, *day.stops_degc, max(self.top_degc, degc)) if stop >= degc)

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
            runs.append(replace(run, steps=joined_steps(made)))
            if lowered:
                break
        return self.finished(Spell(tuple(runs), spell.off_h), day)

    def _gentler(self, step: Step, wrong: Broken) -> Step:
        """Return a step that is slowed, or lowered where it is slow enough, by about as much as it broke its limit."""
        wanted = step.ramp_k_h * min(max(0.95 / wrong.times, SLOWEST), SLOWER)
        slower = self.alphabet.ramp_k_h(wanted, 50.0)
        if wrong.limit_id == self.under.limits.casing.id or not wrong.ramping or slower is None:
            cooler_k = COOLER_K * min(max(round((wrong.times - 1) / 0.05), 1), 4)
            return replace(step, to_degc=self.settable(step.to_degc - cooler_k))
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
