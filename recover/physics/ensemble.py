"""Runs the same kiln many times, each time with other assumptions, side by side on all cores.

A span of assumed inputs comes out as a span of results: p10, p50, p90. It is no measured error.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from operator import eq

import numpy as np

from recover.base.errors import QuantityError, SimulationError
from recover.physics import kernel
from recover.physics.around import Around
from recover.physics.drying import (
    QUICK,
    Numbers,
    Pace,
    Packed,
    ShownMoments,
    check,
    finer,
    hours_gone,
    in_air,
    times_s,
)
from recover.physics.grid import COARSE, Grid
from recover.physics.wall import Course, Setup

FINER, FINEST = (1.0, 5.0), 25.0
"""How many times shorter the steps of a draw are made where it is refused: one of many must not stop them all."""


@dataclass(frozen=True, kw_only=True)
class Ensemble:
    """What every draw did at each of `hours`; the first axis is the draw.

    `around_vapour` is the mole fraction of vapour in the air around the casing; in an enclosure that is the chamber's
    too, and `heater_kwh` is what its heater gives to walls, water and the air that is taken out, its own losses apart.
    """

    setups: tuple[Setup, ...]
    hours: Numbers  # (n_hour,)
    layer_kg: Numbers  # (n_draw, n_hour, n_layer), the layers of all walls one after the other
    casing_degc: Numbers  # (n_draw, n_hour, n_wall)
    demand: Numbers
    chamber_degc: Numbers  # (n_draw, n_hour)
    chamber_vapour: Numbers
    around_vapour: Numbers
    heater_kwh: Numbers

    @property
    def water_kg(self) -> Numbers:
        """Water in all walls (n_draw, n_hour)."""
        return np.asarray(self.layer_kg.sum(axis=2))

    @property
    def left(self) -> Numbers:
        """Water left as a share of the first (n_draw, n_hour)."""
        return self.water_kg / np.maximum(self.water_kg[:, :1], 1e-9)

    def only(self, numbers: Sequence[int]) -> Ensemble:
        """Return some of the draws, one as often as it is named."""
        own = list(numbers)
        each = {one.name: getattr(self, one.name) for one in fields(self) if one.name not in ("setups", "hours")}
        return replace(
            self, setups=tuple(self.setups[n] for n in own), **{name: values[own] for name, values in each.items()}
        )

    def hours_gone(self, share: float) -> Numbers:
        """Return the hour by which a share of the water has gone, for each draw; without end where it has not."""
        found = [hours_gone(self.hours, water, share) for water in self.water_kg]
        return np.array([np.inf if hour is None else hour for hour in found])

    def vapour_kg_h(self, over_h: float = 0.25) -> Numbers:
        """Return the highest mean of vapour from all walls over at least `over_h` hours [kg/h], for each draw."""
        gone = self.water_kg[:, :1] - self.water_kg
        rises = gone - at_hours(self.hours - over_h, self.hours, gone)
        return np.asarray(np.max(rises[:, self.hours >= over_h], axis=1, initial=0.0) / over_h)


def at_hours(hours: float | Numbers, shown_h: Numbers, values: Numbers) -> Numbers:
    """Return values (n_draw, n_shown) that were shown at some hours as they are at others, between the two beside:
    (n_draw,) of one hour, (n_draw, n_hour) of many. Beyond the ends they stay level.
    """
    before = np.clip(np.searchsorted(shown_h, hours, side="right") - 1, 0, len(shown_h) - 2)
    share = np.clip((hours - shown_h[before]) / (shown_h[before + 1] - shown_h[before]), 0.0, 1.0)
    return np.asarray(values[:, before] + share * (values[:, before + 1] - values[:, before]))


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

    def at_pace(self, pace: Pace) -> Draws:
        """Return them run at another pace."""
        return Draws(self.setups, tuple(one.at_pace(pace) for one in self.packed))

    def near_kg(self, standing: Standing, depth_mm: float) -> Numbers:
        """Return the water within a depth of the hot faces of walls that began wet there, by draw [kg]."""
        return np.array([one.near_kg(own, depth_mm) for one, own in zip(self.packed, standing.unknowns, strict=True)])

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
    times, degc = times_s(course), np.array(course.degc, np.float64)
    kilns = [one.kiln._replace(set_times=times, set_degc=degc) for one in draws.packed]
    return _run_on(draws, kilns, standing, np.asarray(hours, np.float64), part=part)


def stretch(
    draws: Draws, standing: Standing, around: Around, hours: Sequence[float] | Numbers
) -> tuple[Ensemble, Standing]:
    """Run draws on from where they stand in some air, whose hours begin there; return what they did, and where they
    stand then. What is summed counts from there too. Raises SimulationError, QuantityError for another number of
    `room_vapour` than of draws.
    """
    vapours = np.asarray(around.room_vapour, np.float64)
    if vapours.ndim and len(vapours) != len(draws.packed):
        raise QuantityError("around, room_vapour", f"{len(vapours)} of them", f"one, or {len(draws.packed)}")
    each = np.broadcast_to(vapours, len(draws.packed))
    kilns = [
        in_air(one, around, float(vapour), unknowns)
        for one, vapour, unknowns in zip(draws.packed, each, standing.unknowns, strict=True)
    ]
    return _run_on(draws, kilns, standing, np.asarray(hours, np.float64), part=True)


def carried(draws: Draws, standing: Standing, into: Draws) -> Standing:
    """Return where the same draws stand after layers have gone or come: what stays keeps its water and its heat, and
    what comes is as it was packed.

    Layers stay as long as they are equal, from the hot face outwards. Raises QuantityError for other walls.
    """
    names, into_names = ([wall.name for wall in one.setups[0].walls] for one in (draws, into))
    if names != into_names or len(draws.packed) != len(into.packed):
        found = f"{len(into.packed)} draws of {', '.join(into_names)}"
        raise QuantityError("draws carried", found, f"{len(draws.packed)} draws of {', '.join(names)}")
    areas, into_areas = (np.array([one.kiln.areas for one in both.packed]) for both in (draws, into))
    if not np.allclose(areas, into_areas):
        raise QuantityError("draws carried", "walls of other areas", "the same lining, layers out or new apart")
    kept = [
        replace(was, unknowns=unknowns, held=held).carried(replace(one, unknowns=one.unknowns.copy(), held=held), eq)
        for was, one, unknowns, held in zip(draws.packed, into.packed, standing.unknowns, standing.held, strict=True)
    ]
    return Standing(np.stack([one.unknowns for one in kept]), standing.held.copy())


def _run_on(
    draws: Draws, kilns: Sequence[kernel.Kiln], standing: Standing, hours: Numbers, *, part: bool
) -> tuple[Ensemble, Standing]:
    """Run a kiln for each draw on from where it stands, on all cores; a draw that is there more than once, once."""
    packed, moments = draws.packed, hours * 3600
    same, other = _alike(draws, kilns, standing)
    ends = Standing(standing.unknowns.copy(), standing.held.copy())
    shown = ShownMoments.of(packed[0], len(moments), (len(packed),))

    def tried(draw: int, times: float) -> None:
        begun, held = standing.unknowns[draw].copy(), standing.held[draw].copy()
        code, reached_s = kernel.run(
            finer(kilns[draw], times), begun, held, moments,
            shown.walls[draw], shown.layers[draw], shown.whole[draw], shown.profiles, shown.audit[draw],
        )  # fmt: skip
        check(int(code), float(reached_s), shown.audit[draw], packed[draw], part=part)
        ends.unknowns[draw], ends.held[draw] = begun, held

    def run(draw: int) -> None:
        for times in FINER:
            with suppress(SimulationError):
                tried(draw, times)
                return
        tried(draw, FINEST)

    if not kernel.run.signatures:  # alone, so that what has to be compiled is compiled once
        run(other.pop(0))
    with ThreadPoolExecutor(_cores()) as threads:
        list(threads.map(run, other))
    for filled in (shown.walls, shown.layers, shown.whole, shown.audit, ends.unknowns, ends.held):
        filled[:] = filled[same]
    return _unpack(draws, kilns, hours, shown), ends


def _alike(draws: Draws, kilns: Sequence[kernel.Kiln], standing: Standing) -> tuple[list[int], list[int]]:
    """Return for each draw the first that is the same, in the same air, and stands where it does; and those firsts.

    What was read leaves some draws more than once, and what they do is the same for weeks.
    """
    firsts: dict[tuple[int, float, bytes, bytes], int] = {}
    same = [
        firsts.setdefault((id(setup), kiln.room_vapour, unknowns.tobytes(), held.tobytes()), number)
        for number, (setup, kiln, unknowns, held) in enumerate(
            zip(draws.setups, kilns, standing.unknowns, standing.held, strict=True)
        )
    ]
    return same, [*firsts.values()]


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


def _unpack(draws: Draws, kilns: Sequence[kernel.Kiln], hours: Numbers, shown: ShownMoments) -> Ensemble:
    did, chamber_vapour = shown.walls, shown.whole[..., kernel.CHAMBER_VAPOUR]
    enclosed = np.array([one.chamber[kernel.ENCLOSED] > 0 for one in kilns])
    room_vapour = np.array([one.room_vapour for one in kilns])
    return Ensemble(
        setups=draws.setups, hours=hours, layer_kg=shown.layers,
        casing_degc=did[..., kernel.CASING], demand=draws.packed[0].raises * did[..., kernel.DEMAND],
        chamber_degc=shown.whole[..., kernel.CHAMBER_DEGC], chamber_vapour=chamber_vapour,
        around_vapour=np.where(enclosed[:, None], chamber_vapour, room_vapour[:, None]),
        heater_kwh=shown.whole[..., kernel.HEATER_J] / 3.6e6,
    )  # fmt: skip
