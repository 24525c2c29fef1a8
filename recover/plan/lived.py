"""A drying as it was lived: each day so far run once more on many draws of the kiln, as long as it was really on.

A day counts as run as far as readings show that it was on: each until the next was to be taken, of its own elements by
a chamber that was as warm as it was set. Without any it counts as not run, and its kiln as left alone. What stopped a
day ends its heat at that moment, until it was logged that it went on: then from where it was stopped, so that what is
lost is the end of the day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from itertools import groupby
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from recover.base.fingerprint import fingerprint
from recover.judged.stops import AGAIN
from recover.physics.wall import Step
from recover.plan.clock import DAY_H, elapsed_h
from recover.plan.log import OF_THE_DAY, on_day, shows_on
from recover.plan.remembered import name_of, remember, remembered
from recover.plan.walk import Walk
from recover.profiles import own_limits
from recover.schedule.spells import HeatedRun, Spell

if TYPE_CHECKING:
    from recover.asked.told import Logged
    from recover.plan.whole import Day, TimedStep

BEHIND_TIMES = 2.0
"""A chamber that lags so many times further behind than a plan allows was not heated as it is written."""

READ_EVERY_H = 2.0
"""How often a day is read: a reading shows that it was on until the next one was to be taken, and no longer."""


@dataclass(frozen=True)
class Done:
    """A day that is over as it was planned, and how long of it was run [h from where it starts]; 0: not at all.

    `reached`: something was logged on it or later, so that what is only done by hand on it was done.
    """

    day: Day
    on_h: float
    reached: bool

    @property
    def run(self) -> bool:
        """Whether it was run: what was to be on was on, for a while."""
        return self.on_h > 0


def done_days(days: Sequence[Day], log: Sequence[Logged], until: datetime) -> list[Done]:
    """Return the days that have opened by a moment, by what was logged from each opening to the next; one that is open
    counts as it was planned."""
    opened = [day for day in days if (day.attended_from or _midnight(day, until)) <= until]
    found = []
    for number, day in enumerate(opened):
        ends = next((one.attended_from for one in days[number + 1 :] if one.attended_from), None)
        own = [one for one in log if _within(one.measured, day.attended_from, ends)]
        is_open = day.attended_to is not None and until < day.attended_to
        reached = day.attended_from is not None and any(one.measured >= day.attended_from for one in log)
        found.append(Done(day, _on_h(day, own, log, is_open=is_open), reached or is_open))
    return found


def _midnight(day: Day, until: datetime) -> datetime:
    """Return when a day on which nobody comes begins."""
    return datetime.combine(day.date, time(), until.tzinfo)


def _within(at: datetime, begins: datetime | None, ends: datetime | None) -> bool:
    return begins is not None and begins <= at and (ends is None or at < ends)


def _on_h(day: Day, log: Sequence[Logged], whole: Sequence[Logged], *, is_open: bool) -> float:
    """Return for how long a day's way was on: as planned, as far as readings show it, and but for stops, which are
    judged by the `whole` log."""
    begins, until = _on_from(day), _on_until(day)
    if begins is None or until is None:
        return 0.0
    ends = until if is_open else _shown_until(day, log, begins, until)
    off_h, off_at = 0.0, None
    for one in log:
        if off_at is None and on_day(one, day, whole).stop is not None:
            off_at = max(one.measured, begins)
        elif one.what == AGAIN and off_at is not None:
            off_h, off_at = off_h + max(elapsed_h(off_at, min(one.measured, ends)), 0.0), None
    last = min(off_at, ends) if off_at else ends
    return max(elapsed_h(begins, last) - off_h, 0.0)


def _shown_until(day: Day, log: Sequence[Logged], begins: datetime, until: datetime) -> datetime:
    """Return until when readings show that a day was on: its beginning, where none does."""
    shown = [one for one in log if shows_on(one) and begins <= one.measured and _fits(one, day)]
    if day.runs_on and shown:
        return until
    ends = [_shows_until(one) for one in shown if one.measured <= until or one.what in OF_THE_DAY]
    return min(max(ends, default=begins), until)


def _shows_until(one: Logged) -> datetime:
    return one.measured if one.what in OF_THE_DAY else one.measured + timedelta(hours=READ_EVERY_H)


def _fits(one: Logged, day: Day) -> bool:
    """Whether a reading is one of a day as it was set: its own elements show in the chamber, no further behind than a
    day is planned with."""
    if day.phase != "own":
        return True
    asked, behind_k = _asked_degc(day, one.measured), BEHIND_TIMES * own_limits()["plan_lag_k"].value
    return one.what == "chamber" and asked is not None and (one.value or 0.0) >= asked - behind_k


def _asked_degc(day: Day, at: datetime) -> float | None:
    """Return what the chamber is asked to be at a moment of a day of its own elements [°C]; None where it is off."""
    step = next((one for one in day.steps if one.begins <= at <= one.ends), None)
    if step is None:
        return None
    left_h = max(elapsed_h(at, step.hold_from), 0.0)
    return step.to_degc - (step.ramp_k_h or 0.0) * left_h


def _on_from(day: Day) -> datetime | None:
    """Return when a day's way is switched on: its first step, or the opening; None where nothing is on."""
    if day.steps:
        return day.steps[0].begins
    return day.attended_from if day.off_switch else None


def _on_until(day: Day) -> datetime | None:
    """Return when it is off: after its last step, its programme, or attendance; what runs alone, a day on."""
    if day.steps:
        return day.steps[-1].ends
    if day.runs_on and day.attended_from:
        return day.attended_from + timedelta(hours=DAY_H)
    return day.programme_ends or day.attended_to


# ---------------------------------------------------------------------------------------- on many draws


@dataclass(kw_only=True)
class LivedKiln(Walk):
    """Draws of a kiln on the days that are over, as they were run.

    `fitted`: parts are in, new boards among them; `gave_kg_h` is what each draw gave last into its room from outside.
    It `recalls` days that were lived before, but for what was around the kiln then.
    """

    fitted: bool = False
    recalls: bool = True

    def __post_init__(self) -> None:
        super().__post_init__()
        self.gave_kg_h = self.stood.gave_kg_h
        of, card = self.of, self.card.id
        self.by = name_of(fingerprint(), of.room, of.supply_kw, of.power_kw, self.out, self.heating, card, self.chosen)

    def through(self, done: Sequence[Done]) -> LivedKiln:
        """Live through days in their order. Raises SimulationError where a run cannot be trusted."""
        for one in done:
            self._day(one)
        return self

    def _day(self, done: Done) -> None:
        day = done.day
        if day.boards == "in" and done.reached:
            self.boards_in()
        self.fitted = self.fitted or (done.reached and self._is_fitted_on(day))
        spell = cut(spell_of(day), done.on_h) if day.phase == "own" and done.run else None
        self.by = name_of(self.by, day.phase, day.way, day.boards, done.reached, done.on_h, spell)
        held = remembered(self.by) if self.recalls else None
        if held is not None:
            self.recall(held, day.boards, spell, done.on_h, _there_h(day))
        elif spell:
            self.own_day(spell, _there_h(day), float(np.median(self.gave_kg_h)))
        else:
            self.outside_day(day.boards, done.on_h if day.phase == "outside" else 0.0, _there_h(day))
        if held is None:
            remember(self.by, self.as_arrays())
        if not spell:
            self.gave_kg_h = self.stood.gave_kg_h

    def _is_fitted_on(self, day: Day) -> bool:
        """Whether parts are fitted on a day, or were before: somebody comes and nothing is on, or its own elements."""
        by_hand = not day.off_switch and day.boards != "out" and bool(self.days)
        return day.phase == "own" or by_hand


def _there_h(day: Day) -> float:
    return elapsed_h(day.attended_from, day.attended_to) if day.attended_from and day.attended_to else 0.0


# ---------------------------------------------------------------------------------------- what was set


def spell_of(day: Day) -> Spell:
    """Return what a day's own elements were set to, as it is stored; runs are parted where readings were taken."""
    runs = [tuple(steps) for _, steps in groupby(day.steps, key=_part(day.steps))]
    off_h = elapsed_h(runs[0][-1].ends, runs[1][0].begins) if len(runs) > 1 else 0.0
    return Spell(tuple(_run(steps) for steps in runs), off_h)


def _part(steps: Sequence[TimedStep]) -> Callable[[TimedStep], int]:
    """Return the key by which steps are parted: how many readings lie before each."""
    return lambda step: sum(one.reads for one in steps if one.ends <= step.begins)


def _run(steps: Sequence[TimedStep]) -> HeatedRun:
    first = steps[0]
    rise_k = (first.ramp_k_h or 0.0) * elapsed_h(first.begins, first.hold_from)
    made = tuple(Step(one.to_degc, one.ramp_k_h or inf, elapsed_h(one.hold_from, one.ends)) for one in steps)
    return HeatedRun(first.to_degc - rise_k, made, steps[-1].reads)


def cut(spell: Spell, on_h: float) -> Spell:
    """Return a spell that was stopped so many hours after it began; its last step as far as it came."""
    made: list[HeatedRun] = []
    for run, begins_h in zip(spell.runs, spell.begins_h, strict=True):
        if steps := tuple(_until(run, on_h - begins_h)):
            made.append(replace(run, steps=steps))
    return replace(spell, runs=tuple(made))


def _until(run: HeatedRun, left_h: float) -> Iterator[Step]:
    here = run.from_degc
    for step in run.steps:
        ramps_h = abs(step.to_degc - here) / step.ramp_k_h
        if left_h <= 1e-6:
            return
        if ramps_h > left_h:
            yield replace(step, to_degc=here + (step.to_degc - here) * left_h / ramps_h, hold_h=0.0)
            return
        yield replace(step, hold_h=min(step.hold_h, left_h - ramps_h))
        left_h, here = left_h - ramps_h - step.hold_h, step.to_degc
