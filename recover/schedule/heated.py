"""Lives through a day on many draws: heated runs, the heater off between them, and the night after."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from recover.physics.around import Around, Stretches
from recover.physics.drying import Numbers, Pace
from recover.physics.ensemble import Draws, Ensemble, Standing, joined, stretch
from recover.physics.wall import Course
from recover.schedule.limits import Conditions, figures
from recover.schedule.spells import HeatedRun, Spell

BRISK = Pace(longest_s=7200.0, warms_k=30.0, empties=0.4)
"""A third fewer steps than the ensembles of an assessment take: the water is the same within one part in 100."""

SHOWN_H, SHOWN_OFF_H = 0.25, 1.0
"""How often a run is shown, heated and with the heater off."""

OFF_DEGC = -273.0
"""What is asked of a chamber whose heater is off: it never lags behind that."""


@dataclass(frozen=True)
class Lived:
    """A day, or its first hours, as draws lived it.

    What they did, what was around them from each hour on, what was asked of the chamber, where they stand.
    """

    spell: Spell | None
    did: Ensemble
    around: Stretches
    asked_degc: Numbers
    ends: Standing


Again = Callable[[HeatedRun, float, bool], HeatedRun]
"""Makes of a run what there is time for, from an hour of the day on; the last one is held until the day ends."""


def live(
    draws: Draws,
    begins: Standing,
    under: Conditions,
    spell: Spell | None,
    again: Again,
    *,
    over_k: float = 0.0,
    after_h: float | None = None,
) -> Lived:
    """Live through a day, every set-point overrun by `over_k`; None: the heater is off. Raises SimulationError.

    Each run after the first begins from where the coolest draw stands when the readings are done, and is made anew from
    there; one for which no time is left is left out. It is followed for `after_h` after the last run; None: all day.
    """
    parts: list[Ensemble] = []
    stretches: list[tuple[float, Around]] = []
    asked: list[Numbers] = []
    runs: list[HeatedRun] = []
    hour, standing = 0.0, begins

    def on(around: Around, lasts_h: float, course: Course | None) -> None:
        nonlocal hour, standing
        moments = moments_h(lasts_h, SHOWN_H if course else SHOWN_OFF_H)
        stretches.append((hour, from_hour(around, hour, course)))
        did, standing = stretch(draws, standing, stretches[-1][1], moments)
        now = asked_degc(course, moments)
        asked.append(now[1:] if asked else now)
        parts.append(did)
        hour += lasts_h

    for number, run in enumerate(spell.runs if spell else ()):
        if runs and spell:
            on(under.day, spell.off_h, None)
            run = again(replace(run, from_degc=coolest_degc(standing)), hour, number == len(spell.runs) - 1)
            if not run.steps:
                break
        runs.append(run)
        on(under.day, run.hours, run.worst(over_k) if over_k else run.course)
    until_h = 24.0 if after_h is None else min(hour + after_h, 24.0)
    if until_h > hour + 1e-6:
        on(under.night, until_h - hour, None)
    lived = Spell(tuple(runs), spell.off_h) if spell else None
    return Lived(lived, joined(parts), tuple(stretches), np.concatenate(asked), standing)


def water_kg(draws: Draws, standing: Standing, around: Around) -> Numbers:
    """Return the water in each draw where it stands [kg]."""
    return stretch(draws, standing, replace(around, chamber_degc=None), [0.0])[0].water_kg[:, 0]


def coolest_degc(standing: Standing) -> float:
    """Return what a ramp begins at: the chamber that has cooled most, in whole °C."""
    return float(floor(standing.held[:, 0].min()))


def asked_degc(course: Course | None, hours: Numbers) -> Numbers:
    """Return what is asked of the chamber at each hour [°C]; nothing where the heater is off."""
    return np.interp(hours, course.hours, course.degc) if course else np.full(len(hours), OFF_DEGC)


def from_hour(around: Around, hour: float, course: Course | None) -> Around:
    """Return what is around from an hour of the day on, and what is asked of the chamber from then."""
    room = Course(tuple(one - hour for one in around.room_degc.hours), around.room_degc.degc)
    power_kw = min(around.power_kw, figures().unknown_power_kw.value)
    return replace(around, room_degc=room, chamber_degc=course, power_kw=power_kw)


def moments_h(end_h: float, every_h: float) -> Numbers:
    """Return the moments at which a run is shown."""
    return np.append(np.arange(0.0, end_h - 0.01, every_h), end_h)
