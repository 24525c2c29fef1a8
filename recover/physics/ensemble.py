"""Runs the same kiln many times, each time with other assumptions, side by side on all cores.

A span of assumed inputs comes out as a span of results: p10, p50, p90. It is no measured error.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, fields

import numpy as np

from recover.base.errors import QuantityError, SimulationError
from recover.physics import kernel
from recover.physics.drying import QUICK, Numbers, Pace, Packed, ShownMoments, check, hours_gone
from recover.physics.grid import COARSE, Grid
from recover.physics.wall import Course, Setup

FINER, FINEST = (1.0, 5.0), 25.0
"""How many times shorter the steps of a draw are made where it is refused: one of many must not stop them all."""

TOLD_OF_PEAKS = 1.15
"""Coarse cells tell 3 to 26 % too little of the highest pressure; what it asks of the strength is raised by so much."""


@dataclass(frozen=True, kw_only=True)
class Ensemble:
    """What every draw did at each of `hours`; the first axis is the draw."""

    setups: tuple[Setup, ...]
    hours: Numbers  # (n_hour,)
    layer_kg: Numbers  # (n_draw, n_hour, n_layer), the layers of all walls one after the other
    casing_degc: Numbers  # (n_draw, n_hour, n_wall)
    demand: Numbers
    chamber_degc: Numbers  # (n_draw, n_hour)
    chamber_vapour: Numbers
    heater_kwh: Numbers

    @property
    def water_kg(self) -> Numbers:
        """Water in all walls (n_draw, n_hour)."""
        return np.asarray(self.layer_kg.sum(axis=2))

    @property
    def left(self) -> Numbers:
        """Water left as a share of the first (n_draw, n_hour)."""
        return self.water_kg / np.maximum(self.water_kg[:, :1], 1e-9)

    def hours_gone(self, share: float) -> Numbers:
        """Return the hour by which a share of the water has gone, for each draw; without end where it has not."""
        found = [hours_gone(self.hours, water, share) for water in self.water_kg]
        return np.array([np.inf if hour is None else hour for hour in found])

    def vapour_kg_h(self, over_h: float = 0.25) -> Numbers:
        """Return the highest mean of vapour from all walls over at least `over_h` hours [kg/h], for each draw."""
        gone = self.water_kg[:, :1] - self.water_kg
        peaks = []
        for one in gone:
            back = np.interp(self.hours - over_h, self.hours, one)
            peaks.append(np.max((one - back)[self.hours >= over_h], initial=0.0) / over_h)
        return np.array(peaks)


@dataclass(frozen=True)
class Standing:
    """Where draws of a kiln stand: the unknowns of their cells (n_draw, n_cell, 3), and what their chambers hold."""

    unknowns: Numbers
    held: Numbers  # (n_draw, 2) °C, mole fraction of vapour


@dataclass(frozen=True)
class Draws:
    """Setups that differ in numbers only, packed once, so that one course after the other can be tried on them."""

    setups: tuple[Setup, ...]
    packed: tuple[Packed, ...]

    @classmethod
    def of(cls, setups: Sequence[Setup], grid: Grid = COARSE, pace: Pace = QUICK) -> Draws:
        """Pack setups: same layers, thicknesses and room. Raises QuantityError for walls that are changed in a run."""
        if any(setup.changes for setup in setups):
            raise QuantityError("changes", "in many draws", "a single run, or draws without them")
        return cls(tuple(setups), tuple(Packed.of(setup, grid, pace) for setup in setups))

    def begin(self) -> Standing:
        """Return where they start."""
        return Standing(np.stack([one.unknowns for one in self.packed]), np.stack([one.held for one in self.packed]))

    def only(self, numbers: Sequence[int]) -> Draws:
        """Return some of the draws."""
        return Draws(tuple(self.setups[n] for n in numbers), tuple(self.packed[n] for n in numbers))


def simulate_many(
    setups: Sequence[Setup], hours: Sequence[float] | Numbers, grid: Grid = COARSE, pace: Pace = QUICK
) -> Ensemble:
    """Run setups that differ in numbers only: same layers, thicknesses, course and room. Raises SimulationError."""
    draws = Draws.of(setups, grid, pace)
    return resume(draws, draws.begin(), setups[0].course, hours)[0]


def resume(
    draws: Draws, standing: Standing, course: Course, hours: Sequence[float] | Numbers, *, part: bool = False
) -> tuple[Ensemble, Standing]:
    """Run draws on from where they stand, by a course whose hours begin there; return what they did, and where they
    stand then. What is summed counts from there too. `part`: of a longer run, see `PART_TIMES`. Raises
    SimulationError.
    """
    packed, moments = draws.packed, np.asarray(hours, np.float64) * 3600
    ends = Standing(standing.unknowns.copy(), standing.held.copy())
    shown = ShownMoments.of(packed[0], len(moments), (len(packed),))
    times_s, degc = np.array(course.hours, np.float64) * 3600, np.array(course.degc, np.float64)

    def tried(draw: int, finer: float) -> None:
        kiln = packed[draw].finer(finer)._replace(set_times=times_s, set_degc=degc)
        code, reached_s = kernel.run(
            kiln, ends.unknowns[draw], ends.held[draw], moments,
            shown.walls[draw], shown.layers[draw], shown.whole[draw], shown.profiles, shown.audit[draw],
        )  # fmt: skip
        check(int(code), float(reached_s), shown.audit[draw], packed[draw], part=part)

    def run(draw: int) -> None:
        for finer in FINER:
            with suppress(SimulationError):
                tried(draw, finer)
                return
        tried(draw, FINEST)

    first = 0
    if not kernel.run.signatures:  # alone, so that what has to be compiled is compiled once
        run(first)
        first = 1
    with ThreadPoolExecutor(_cores()) as threads:
        list(threads.map(run, range(first, len(packed))))
    return _unpack(draws, np.asarray(hours, np.float64), shown), ends


def joined(parts: Sequence[Ensemble]) -> Ensemble:
    """Return runs that went on from one another as one: hours one after the other, sums counted from the first."""
    if len(parts) == 1:
        return parts[0]
    first, *later = parts
    ends_h = np.cumsum([one.hours[-1] for one in parts[:-1]])
    hours = [first.hours, *(one.hours[1:] + end for one, end in zip(later, ends_h, strict=True))]

    def along(name: str) -> Numbers:
        values = [getattr(one, name) for one in parts]
        if name == "heater_kwh":  # the one that is summed
            before = np.cumsum([one[:, -1] for one in values[:-1]], axis=0)
            values = [values[0], *(one + sum_[:, None] for one, sum_ in zip(values[1:], before, strict=True))]
        return np.concatenate([values[0], *(one[:, 1:] for one in values[1:])], axis=1)

    names = [one.name for one in fields(Ensemble) if one.name not in ("setups", "hours")]
    return Ensemble(setups=first.setups, hours=np.concatenate(hours), **{name: along(name) for name in names})


def _cores() -> int:
    """Return on how many cores this process may run."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _unpack(draws: Draws, hours: Numbers, shown: ShownMoments) -> Ensemble:
    did = shown.walls
    return Ensemble(
        setups=draws.setups, hours=hours, layer_kg=shown.layers,
        casing_degc=did[..., kernel.CASING], demand=TOLD_OF_PEAKS * did[..., kernel.DEMAND],
        chamber_degc=shown.whole[..., kernel.CHAMBER_DEGC], chamber_vapour=shown.whole[..., kernel.CHAMBER_VAPOUR],
        heater_kwh=shown.whole[..., kernel.HEATER_J] / 3.6e6,
    )  # fmt: skip
