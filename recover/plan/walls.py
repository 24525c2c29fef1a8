"""The path that is followed as wall files: each kiln whole, at its middle draw, in what is around it hour by hour.

A plan keeps what papers print, and not what every draw went through: the path is run again, which gives the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf
from pathlib import Path

import numpy as np

from recover.judged.assessment import Assessment
from recover.physics.around import Around, Stretches
from recover.physics.drying import ACCURACIES, Pace, simulate
from recover.physics.grid import Grid
from recover.physics.wall import Change, Course, Room, Setup, Wall
from recover.physics.wallfile import Study, write
from recover.plan import of_job
from recover.plan.clock import DAY_H
from recover.plan.compared import Calendar
from recover.plan.paths import PathRun, run_path
from recover.plan.under_way import as_made, went_on
from recover.plan.walk import RunDay
from recover.plan.ways import way
from recover.plan.whole import JobPlan, KilnPlan


@dataclass(frozen=True, kw_only=True)
class Beside:
    """A run of a wall file beside the path that it was written from: by how much they differ at the most, in water
    [share of the first] and at the casing [K]; what the highest overpressure asks of the strength in each."""

    water: float
    casing_k: float
    demand: float
    planned_demand: float


@dataclass(frozen=True)
class Written:
    """A wall file of a path, and a run of it in normal cells beside what the plan was reckoned by."""

    file: Path
    normal: Beside


def write_walls(found: Assessment, plan: JobPlan, folder: Path) -> Iterator[Written]:
    """Write a wall file for each kiln that has days. Raises SimulationError where a run cannot be trusted."""
    for kiln, run in followed(found, plan):
        study, file = study_of(run, f"{found.job}, {kiln.label}"), folder / f"{kiln.kiln.replace('/', '-')}.toml"
        write(study, file)
        yield Written(file, beside(run, study, *ACCURACIES["normal"]))


def followed(found: Assessment, plan: JobPlan) -> Iterator[tuple[KilnPlan, PathRun]]:
    """Run the path of each kiln again that has days, on all draws of its plan."""
    calendar = Calendar(request=plan.request, zone=found.answers.zone)
    taken = {one.kiln: one for one in of_job.taken(found)}
    for kiln in plan.kilns:
        if kiln.days and kiln.path:
            card, shifts = way(kiln.days[0].way), kiln.path.in_shifts
            if under := as_made(found, plan, taken[kiln.kiln]):
                yield kiln, went_on(under, recalls=False)[0]
                continue
            yield kiln, run_path(card, taken[kiln.kiln], calendar.attended, plan.draws, shifts=shifts)


def study_of(run: PathRun, title: str) -> Study:
    """Return the middle draw of a path as it was run, cut as it was, a row for each day."""
    draw = middle(run)
    setup = run.days[0].did.setups[draw]
    whole = replace(
        setup, course=Course.steady(setup.start_degc), room=Room(height_m=setup.room.height_m),
        chamber=replace(setup.chamber, power_kw=inf), changes=tuple(_changes(run, draw)),
    )  # fmt: skip
    return Study(title, whole, DAY_H * len(run.days), DAY_H, _around(run, draw), "rough")


def middle(run: PathRun) -> int:
    """Return the draw whose water left is nearest to the median of all, over all days: at the end all are dry."""
    left = np.array([one.left for one in run.days])
    return int(np.abs(left - np.median(left, axis=1, keepdims=True)).sum(axis=0).argmin())


def beside(run: PathRun, study: Study, grid: Grid, pace: Pace) -> Beside:
    """Run the middle draw on some grid, beside the path as it was run. Raises SimulationError."""
    draw, shown = middle(run), [_shown(one) for one in run.days]
    hours = [hour + DAY_H * day for day, at in enumerate(shown) for hour in run.days[day].did.hours[at]]
    other = simulate(study.setup, [*hours, study.hours], grid, pace, around=study.around)
    water_kg = np.concatenate([one.did.water_kg[draw][at] for one, at in zip(run.days, shown, strict=True)])
    casing_degc = np.concatenate([one.did.casing_degc[draw][at] for one, at in zip(run.days, shown, strict=True)])
    other_degc = np.array([wall.casing_degc[:-1] for wall in other.walls]).T
    return Beside(
        water=float(np.abs(other.water_kg[:-1] - water_kg).max() / water_kg[0]),
        casing_k=float(np.abs(other_degc - casing_degc).max()),
        demand=max(float(wall.demand.max()) for wall in other.walls),
        planned_demand=max(float(one.did.demand[draw].max()) for one in run.days),
    )  # fmt: skip


def _shown(one: RunDay) -> list[int]:
    """Return the moments of a day at which what is around stays what it is: at the others a face has two temperatures.

    The last is the first of the next day.
    """
    alters = [hour for hour, _ in one.around if hour > 0]
    return [at for at, hour in enumerate(one.did.hours[:-1]) if not np.isclose(hour, alters).any()]


def _around(run: PathRun, draw: int) -> Stretches:
    """Return what was around one draw from each hour of the path on."""
    return tuple(
        (DAY_H * day + hour, _of_draw(around, draw)) for day, one in enumerate(run.days) for hour, around in one.around
    )


def _of_draw(around: Around, draw: int) -> Around:
    vapours = np.ravel(around.room_vapour)
    power_kw = around.power_kw if around.chamber_degc else inf  # of a heater that is off nothing need be known
    return replace(around, room_vapour=float(vapours[draw if len(vapours) > 1 else 0]), power_kw=power_kw)


def _changes(run: PathRun, draw: int) -> Iterator[Change]:
    """Yield what is altered of the walls of a draw on the day on which boards come in."""
    for day, (before, after) in enumerate(pairwise(one.did.setups for one in run.days), start=1):
        if before is not after:
            for was, wall in _walls(before[draw], after[draw]):
                yield _change(was, wall, DAY_H * day)


def _walls(before: Setup, after: Setup) -> Iterator[tuple[Wall, Wall]]:
    return ((was, wall) for was, wall in zip(before.walls, after.walls, strict=True) if was != wall)


def _change(was: Wall, wall: Wall, at_h: float) -> Change:
    """Return what makes one wall of another: layers stay as long as they are equal, from the hot face outwards."""
    same = [one == other for one, other in zip(was.layers, wall.layers, strict=False)]
    keeps = same.index(False) if False in same else len(same)
    return Change(
        at_h=at_h, wall=was.name, keeps=keeps if keeps < len(was.layers) else None, adds=wall.layers[keeps:],
        hot=wall.hot if wall.hot != was.hot else None, cold=wall.cold if wall.cold != was.cold else None,
    )  # fmt: skip
