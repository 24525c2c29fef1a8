"""Runs walls through a schedule and hands out what they did: the plain side of `kernel`.

The equations stand in model.md. A run that does not hold its balances of water and heat is refused, never shown.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from itertools import pairwise
from math import inf
from operator import is_
from typing import Any

import numpy as np
from numpy.typing import NDArray

from recover.base.errors import SimulationError
from recover.physics import kernel
from recover.physics.air import ATMOSPHERE_PA, diffusivity_m2_s, saturation_line
from recover.physics.around import Around, Stretches, check_stretches
from recover.physics.grid import COARSE, FINE, NORMAL, ROUGH, Accuracy, Grid
from recover.physics.wall import HOT_VAPOUR_FILM_M_S, Course, Face, Setup, Wall, WallLayer

Numbers = NDArray[np.float64]

LEAST_KG_M3 = 1e-6
"""What a cell holds at least where water is computed."""

FRESH_M3_H = 15.0
"""With so much fresh air a dry wall as large as the wet one takes up 2 parts in 1000 of its water; shut, a tenth."""

PERMEABILITY_CAP_M2 = 1e-12
"""Gas that flows more easily than this builds hardly any pressure; the water is the same to a few parts in 1000."""

MOST_WATER_ERROR, MOST_HEAT_ERROR = 1e-6, 1e-5
"""What the balances of a run may miss, relative to the water at the start and to the heat that passed."""


@dataclass(frozen=True)
class Pace:
    """How far a step may go: its length [s], what a cell may warm [K], and what share of its pores may empty.

    With a tolerance [K] a step is of second order and as long as an error of so much in a temperature allows; at a
    front that passes a cell, and where water leaves freely, it stays of first order. Nought: all are of first order.
    """

    longest_s: float = 900.0
    warms_k: float = 8.0
    empties: float = 0.2
    tolerance_k: float = 0.0


STEADY = Pace(longest_s=900.0, warms_k=15.0, empties=0.3, tolerance_k=1.0)
"""An error of a thousandth of the first water, of one part in a hundred of the pressure; see model.md."""

PATIENT = Pace(longest_s=300.0, warms_k=5.0, empties=0.1, tolerance_k=0.05)
SLOW = Pace(longest_s=7200.0, warms_k=30.0, empties=0.5)
"""Of days from outside: water within half of a part in 100 of steps a quarter as long, and casings within a kelvin."""

QUICK = Pace(longest_s=3600.0, warms_k=15.0, empties=0.4)
"""For searches and ensembles: a third of the steps, with which `COARSE` cells are as exact as the inputs deserve."""


@dataclass(frozen=True, kw_only=True)
class WallRun:
    """What one wall did; arrays go along the hours of the run, sums count from its beginning.

    Overpressure is the highest in the wall since the hour before, demand the same over the tensile strength there;
    `peak_mm` is where it stood. Profiles are there where they were asked for, at the middles of cells.
    """

    wall: Wall
    layer_kg: Numbers  # (n_hour, n_layer)
    hot_face_degc: Numbers
    casing_degc: Numbers
    outside_degc: Numbers
    to_chamber_kg: Numbers
    to_room_kg: Numbers
    heat_in_kwh: Numbers
    heat_out_kwh: Numbers
    overpressure_kpa: Numbers
    demand: Numbers
    peak_mm: Numbers
    depth_mm: Numbers  # (n_cell,)
    profile_degc: Numbers  # (n_hour or 0, n_cell)
    profile_kg_m3: Numbers

    @property
    def water_kg(self) -> Numbers:
        """Water in all layers (n_hour,)."""
        return np.asarray(self.layer_kg.sum(axis=1))


@dataclass(frozen=True, kw_only=True)
class Run:
    """What all walls and the chamber did, at each of `hours`; what its balances missed, and how many steps it took.

    `around` is what it was run in, by stretches; none where that is the setup's own. `around_degc` is the air around
    the casings: the room's, or that of an enclosure.
    """

    setup: Setup
    around: Stretches
    hours: Numbers
    walls: tuple[WallRun, ...]
    around_degc: Numbers
    chamber_degc: Numbers
    chamber_vapour: Numbers
    heater_kw: Numbers
    heater_kwh: Numbers
    vented_kg: Numbers
    water_error: float
    heat_error: float
    steps: int

    @property
    def water_kg(self) -> Numbers:
        """Water in all walls (n_hour,)."""
        return np.asarray(sum(wall.water_kg for wall in self.walls))

    def hours_gone(self, share: float) -> float | None:
        """Return the hour by which a share of the water has gone for good; None where it has not."""
        return hours_gone(self.hours, self.water_kg, share)

    def vapour_kg_h(self, over_h: float = 0.25) -> Numbers:
        """Return the vapour from all walls [kg/h] as means over at least `over_h` hours, one for each hour but the
        first.

        Each cell that dries gives a pulse, so that a shorter mean would show the grid.
        """
        gone = np.sum([wall.to_chamber_kg + wall.to_room_kg for wall in self.walls], axis=0)
        back = np.interp(self.hours - over_h, self.hours, gone)
        return np.asarray((gone - back) / np.minimum(over_h, np.maximum(self.hours, 1e-9)))


def hours_gone(hours: Numbers, water_kg: Numbers, share: float) -> float | None:
    """Return the hour from which on no more than `1 - share` of the first water is left, between the moments shown."""
    limit = (1 - share) * water_kg[0]
    over = np.flatnonzero(water_kg > limit)
    if over.size == 0:
        return float(hours[0])
    last = int(over[-1])
    if last == len(hours) - 1:
        return None
    step = (water_kg[last] - limit) / (water_kg[last] - water_kg[last + 1])
    return float(hours[last] + step * (hours[last + 1] - hours[last]))


# ---------------------------------------------------------------------------------------- one run


def simulate(
    setup: Setup, hours: Sequence[float] | Numbers, grid: Grid = NORMAL, pace: Pace = STEADY, *,
    around: Stretches = (), profiles: bool = False,
) -> Run:  # fmt: skip
    """Run a setup and show it at `hours`, which rise from 0; with stretches, in what is around it then, not in its own
    room nor on its own course. Raises SimulationError where it cannot be trusted, QuantityError for stretches that
    cannot be.
    """
    if around:
        check_stretches(setup, around)
    wanted = np.asarray(hours, np.float64)
    changed = {change.at_h for change in setup.changes}
    begins = sorted({0.0, *(hour for hour in (*changed, *(hour for hour, _ in around)) if hour < wanted[-1])})
    parts: list[Run] = []
    packed = Packed.of(replace(setup, changes=()), grid, pace)
    for begin_h, end_h in pairwise([*begins, float(wanted[-1])]):
        if begin_h in changed:
            walls = _walls_from(setup, begin_h)
            packed = packed.carried(Packed.of(replace(setup, walls=walls, changes=()), grid, pace))
        inside = np.unique([begin_h, *wanted[(wanted >= begin_h) & (wanted <= end_h)], end_h])
        part = _part(packed, begin_h, inside, profiles, around)
        if parts:
            _go_on(parts[-1], part, shown=begin_h in wanted)
        parts.append(part)
    return parts[0] if len(parts) == 1 else _joined(setup, parts, wanted, around)


ACCURACIES: dict[Accuracy, tuple[Grid, Pace]] = {
    "rough": (ROUGH, SLOW),
    "quick": (COARSE, QUICK),
    "normal": (NORMAL, STEADY),
    "fine": (FINE, PATIENT),
}


@dataclass(frozen=True)
class Discretisation:
    """How far a run is from another that is cut more finely, at the most: water [share of the first], casing [K], and
    the highest overpressure [share]. Of the finest it is how far the next coarser one is."""

    water: float
    casing_k: float
    overpressure: float
    finest: bool = False


def discretisation(run: Run, accuracy: Accuracy) -> Discretisation:
    """Run the same once more with cells and steps of the next finer kind. Raises SimulationError."""
    beside: dict[Accuracy, Accuracy] = {"rough": "normal", "quick": "normal", "normal": "fine", "fine": "normal"}
    other = simulate(run.setup, run.hours, *ACCURACIES[beside[accuracy]], around=run.around)
    most_kpa = max(float(wall.overpressure_kpa.max()) for wall in run.walls)
    other_kpa = max(float(wall.overpressure_kpa.max()) for wall in other.walls)
    return Discretisation(
        water=float(np.abs(other.water_kg - run.water_kg).max() / max(run.water_kg[0], kernel.DRY)),
        casing_k=max(
            float(np.abs(a.casing_degc - b.casing_degc).max()) for a, b in zip(run.walls, other.walls, strict=True)
        ),
        overpressure=abs(other_kpa / most_kpa - 1) if most_kpa > 0 else 0.0,
        finest=accuracy == "fine",
    )


def _walls_from(setup: Setup, hour: float) -> tuple[Wall, ...]:
    """Return the walls as the changes until an hour have made them."""
    walls = {wall.name: wall for wall in setup.walls}
    for change in setup.changes:
        if change.at_h <= hour:
            walls[change.wall] = change.of(walls[change.wall])
    return tuple(walls.values())


def _part(packed: Packed, begin_h: float, hours: Numbers, profiles: bool, around: Stretches) -> Run:
    """Run what is packed on from an hour, and show it at hours from there on; leave it where it stands then."""
    shown = ShownMoments.of(packed, len(hours), profiles=profiles)
    from_h, now = next((one for one in reversed(around) if one[0] <= begin_h), (0.0, None))
    kiln = in_air(packed, now, float(now.room_vapour), packed.unknowns) if now else packed.kiln
    gone_s = 3600 * (begin_h - from_h)
    kiln = kiln._replace(set_times=kiln.set_times - gone_s, out_times=kiln.out_times - gone_s)
    code, reached_s = kernel.run(
        kiln, packed.unknowns, packed.held, (hours - begin_h) * 3600, shown.walls, shown.layers, shown.whole,
        shown.profiles, shown.audit,
    )  # fmt: skip
    check(int(code), float(reached_s) + 3600 * begin_h, shown.audit, packed, part=begin_h > 0 or len(around) > 1)
    return _unpack(packed, kiln, begin_h, hours, shown, around)


def _go_on(before: Run, part: Run, *, shown: bool) -> None:
    """Let a part begin with what a run does not know at its beginning: what the heater gives, and the peaks since the
    moment shown before it. Where its beginning is not `shown`, they are told of its next moment."""
    part.heater_kw[0] = before.heater_kw[-1]
    for was, now in zip(before.walls, part.walls, strict=True):
        _raise_peaks(now, 0, was, -1)
        if not shown:
            _raise_peaks(now, 1, now, 0)


def _raise_peaks(to: WallRun, at: int, of: WallRun, its: int) -> None:
    if of.overpressure_kpa[its] > to.overpressure_kpa[at]:
        to.overpressure_kpa[at], to.peak_mm[at] = of.overpressure_kpa[its], of.peak_mm[its]
    to.demand[at] = max(to.demand[at], of.demand[its])


def _joined(setup: Setup, parts: Sequence[Run], hours: Numbers, around: Stretches) -> Run:
    """Return the parts of a run as one, shown at `hours`; at the hour of a change, just after it."""
    ends = [*(part.hours[0] for part in parts[1:]), inf]
    rows = [
        np.searchsorted(part.hours, hours[(hours >= part.hours[0]) & (hours < end)])
        for part, end in zip(parts, ends, strict=True)
    ]
    shown: dict[str, Any] = {
        name: _along(parts, rows, name) for name in ("around_degc", "chamber_degc", "chamber_vapour", "heater_kw")
    }
    shown |= {name: _along(parts, rows, name, summed=True) for name in ("heater_kwh", "vented_kg")}
    return Run(
        setup=setup, around=around, hours=hours, steps=sum(part.steps for part in parts), **shown,
        walls=tuple(_joined_wall(setup, number, parts, rows) for number in range(len(setup.walls))),
        water_error=max(part.water_error for part in parts), heat_error=max(part.heat_error for part in parts),
    )  # fmt: skip


def _along(parts: Sequence[Any], rows: Sequence[Any], name: str, *, summed: bool = False) -> Numbers:
    """Return what parts show, one after the other; what is summed goes on from where the part before ended."""
    values = [getattr(part, name) for part in parts]
    before = np.cumsum([0.0, *(value[-1] for value in values[:-1])]) if summed else np.zeros(len(parts))
    return np.concatenate([value[at] + plus for value, at, plus in zip(values, rows, before, strict=True)])


def _joined_wall(setup: Setup, number: int, parts: Sequence[Run], rows: Sequence[Any]) -> WallRun:
    """Return a wall with every layer that it ever had, which holds nothing while it is not there.

    Depths are those of the wall at its thickest; what is not there has no temperature and no water (NaN).
    """
    runs = [part.walls[number] for part in parts]
    layers, there = _every_layer(setup, number, [float(part.hours[0]) for part in parts])
    layer_kg, depth_mm = [], max((run.depth_mm for run in runs), key=lambda depth: depth[-1])
    for run, at, columns in zip(runs, rows, there, strict=True):
        held = np.zeros((len(at), len(layers)))
        held[:, columns] = run.layer_kg[at]
        layer_kg.append(held)
    shown: dict[str, Any] = {
        name: _along(runs, rows, name)
        for name in ("hot_face_degc", "casing_degc", "outside_degc", "overpressure_kpa", "demand", "peak_mm")
    }
    shown |= {
        name: _along(runs, rows, name, summed=True)
        for name in ("to_chamber_kg", "to_room_kg", "heat_in_kwh", "heat_out_kwh")
    }
    shown |= {name: _at_depths(runs, rows, name, depth_mm) for name in ("profile_degc", "profile_kg_m3")}
    wall = replace(setup.walls[number], layers=tuple(layers))
    return WallRun(wall=wall, layer_kg=np.concatenate(layer_kg), depth_mm=depth_mm, **shown)  # fmt: skip


def _every_layer(setup: Setup, number: int, begins_h: Sequence[float]) -> tuple[list[WallLayer], list[list[int]]]:
    """Return every layer that a wall ever has, and which of them are there in the part that begins at each hour."""
    layers = list(setup.walls[number].layers)
    there, at = [list(range(len(layers)))], list(range(len(layers)))
    for begin_h in begins_h[1:]:
        for change in (one for one in setup.changes if one.at_h == begin_h and one.wall == setup.walls[number].name):
            at = [*at[: change.keeps], *range(len(layers), len(layers) + len(change.adds))]
            layers += change.adds
        there.append(at)
    return layers, there


def _at_depths(runs: Sequence[WallRun], rows: Sequence[Any], name: str, depth_mm: Numbers) -> Numbers:
    """Return the profiles of all parts at the same depths; none where they were not asked for."""
    if not len(getattr(runs[0], name)):
        return np.zeros((0, len(depth_mm)))
    return np.array([
        np.interp(depth_mm, run.depth_mm, profile, right=np.nan if run.depth_mm[-1] < depth_mm[-1] else None)
        for run, at in zip(runs, rows, strict=True) for profile in getattr(run, name)[at]
    ])  # fmt: skip


PART_TIMES = 10.0
"""How many times more the balances of a part of a run may miss: little passes in an hour of a hold, and little water is
left in the last days, that they are measured by."""


_REFUSALS = {
    kernel.TOO_COLD: (
        "{value:.4g} °C, colder than all that the run was given",
        "Evaporation would freeze the water there: warm the room. "
        "If nothing there is that cold, a number of its layer cannot be.",
    ),
    kernel.TOO_HOT: (
        "{value:.4g} °C, hotter than all that the run was given",
        "Look for more vapour around than such air can hold, or for a number of its layer that cannot be.",
    ),
    kernel.OVERFULL: (
        "{value:.3g} times as much water as its pores hold",
        "More condenses there than it carries on: give it less water, or a liquid diffusivity that is not nought.",
    ),
    kernel.OVER_PRESSURE: (
        "{value:.3g} Pa, beyond the critical pressure of water",
        "No lining holds that: heat it more slowly, or look at its permeability.",
    ),
}
"""What stopped a run: what a cell came to, and what to change."""


def check(code: int, reached_s: float, audit: Numbers, packed: Packed, *, part: bool = False) -> None:
    """Refuse a run, or part of one, that was not finished, or whose balances do not close. Raises SimulationError."""
    at = f"at hour {reached_s / 3600:.2f}"
    if code == kernel.STEP_TOO_SMALL:
        raise SimulationError(
            f"The drying model found no solution {at}, however short the step. "
            "Look for a number of a material or a face that cannot be."
        )
    if code != kernel.DONE:
        came_to, change = _REFUSALS[code]
        where, value = packed.place(int(audit[kernel.STOPPED_CELL])), audit[kernel.STOPPED_AT]
        raise SimulationError(f"The drying model stopped {at}: {where} came to {came_to.format(value=value)}. {change}")
    water, heat = audit[kernel.WATER_ERROR], audit[kernel.HEAT_ERROR]
    most_water, most_heat = (most * (PART_TIMES if part else 1.0) for most in (MOST_WATER_ERROR, MOST_HEAT_ERROR))
    if not (water <= most_water and heat <= most_heat):
        raise SimulationError(
            f"The drying model lost {water:.1e} of the water and {heat:.1e} of the heat on its way, more than "
            f"{most_water:g} and {most_heat:g}; the run is not used."
        )


# ---------------------------------------------------------------------------------------- values into arrays


@dataclass(frozen=True)
class Packed:
    """A setup as the kernel takes it."""

    setup: Setup
    kiln: kernel.Kiln
    unknowns: Numbers  # (n_cell, 3)
    held: Numbers  # (2,)
    raises: float  # what is told of overpressure, see `Grid`

    def near_kg(self, unknowns: Numbers, depth_mm: float) -> float:
        """Return the water within a depth of the hot faces of walls that began wet there [kg]."""
        found = 0.0
        for number, wall in enumerate(self.setup.walls):
            if wall.layers[0].water_kg_m3 > 0:
                begin, ends_mm = int(self.kiln.first[number]), self._ends_mm(number)
                shares = np.clip((depth_mm - ends_mm[:-1]) / np.diff(ends_mm), 0.0, 1.0)
                cells = slice(begin, begin + len(shares))
                held = unknowns[cells, 1] * self.kiln.cells[cells, kernel.VOLUME] * shares
                found += float(held.sum()) * wall.area_m2
        return found

    def at_pace(self, pace: Pace) -> Packed:
        """Return it run at another pace."""
        control = self.kiln.control.copy()
        control[[kernel.LONGEST_STEP, kernel.DEGC_STEP, kernel.SHARE_STEP]] = pace.longest_s, pace.warms_k, pace.empties
        return replace(self, kiln=self.kiln._replace(control=control))

    def carried(self, into: Packed, same: Callable[[WallLayer, WallLayer], bool] = is_) -> Packed:
        """Return what is packed for the walls as a change makes them, with what the cells that stay hold now.

        From the hot face outwards layers stay as long as they are the `same`.
        """
        for number, wall in enumerate(into.setup.walls):
            mine, theirs = self._ends_mm(number), into._ends_mm(number)
            stays = 0
            for layer, was in zip(wall.layers, self.setup.walls[number].layers, strict=False):
                if not same(layer, was):
                    break
                stays += 1
            kept_mm = sum(layer.thickness_mm for layer in wall.layers[:stays])
            first, begin = int(self.kiln.first[number]), int(into.kiln.first[number])
            for cell, (low, high) in enumerate(pairwise(theirs)):
                if high > kept_mm + 1e-6:
                    break
                shares = np.clip(np.minimum(high, mine[1:]) - np.maximum(low, mine[:-1]), 0.0, None)
                shares = shares * self.kiln.cells[first : first + len(shares), kernel.VOLUME] / np.diff(mine)
                held = self.unknowns[first : first + len(shares)]
                into.unknowns[begin + cell] = (shares[:, None] * held).sum(axis=0) / shares.sum()
        into.held[:] = self.held
        return into._holding_what_it_has()

    def _holding_what_it_has(self) -> Packed:
        """Return it with every wall whose cells hold water computed as a wet one, whatever its file says of it."""
        if self.setup.closure != "coupled":
            return self
        coupled = self.kiln.coupled | holding(self.kiln, self.unknowns)
        for number, (begin, end) in enumerate(pairwise(self.kiln.first)):
            if coupled[number]:
                self.unknowns[begin:end, 1] = np.maximum(self.unknowns[begin:end, 1], LEAST_KG_M3)
        return replace(self, kiln=self.kiln._replace(coupled=coupled))

    def _ends_mm(self, number: int) -> Numbers:
        """Return the ends of the cells of a wall, from the hot face."""
        widths = self.kiln.cells[self.kiln.first[number] : self.kiln.first[number + 1], kernel.DX]
        return np.concatenate([[0.0], 1000 * np.cumsum(widths)])

    def place(self, cell: int) -> str:
        """Say where a cell is: its wall, layer and depth."""
        number = int(np.searchsorted(self.kiln.first, cell, side="right")) - 1
        wall, begin = self.setup.walls[number], int(self.kiln.first[number])
        widths, layer = self.kiln.cells[begin : cell + 1, kernel.DX], int(self.kiln.cells[cell, kernel.LAYER])
        at = layer - int(self.kiln.cells[begin, kernel.LAYER])
        depth_mm = 1000 * (widths.sum() - widths[-1] / 2)
        named = f" ({name})" if (name := wall.layers[at].name) else ""
        return f"{wall.name}, layer {at + 1}{named}, {depth_mm:.1f} mm from the hot face,"

    @classmethod
    def of(cls, setup: Setup, grid: Grid, pace: Pace) -> Packed:
        """Return a setup as arrays."""
        damp = _damp(setup)
        cells, unknowns, first, number = [], [], [0], 0
        for wall in setup.walls:
            for layer, widths, inside_m in _layers(wall, grid):
                cells.append(_cells(layer, widths, inside_m, _radius_m(wall), number))
                unknowns.append(_start(layer, len(widths), setup, LEAST_KG_M3 if wall.wet or damp else 0.0))
                number += 1
            first.append(sum(map(len, cells)))
        kiln = kernel.Kiln(
            coupled=np.array([setup.closure == "coupled" and (wall.wet or damp) for wall in setup.walls]),
            cells=np.concatenate(cells), first=np.array(first),
            areas=np.array([wall.area_m2 for wall in setup.walls]),
            hot=np.array([_face(wall.hot, HOT_VAPOUR_FILM_M_S) for wall in setup.walls], np.float64),
            cold=np.array([_face(wall.cold) for wall in setup.walls], np.float64), chamber=_chamber(setup),
            control=np.array([pace.longest_s, pace.warms_k, pace.empties, _tolerance_k(setup, pace),
                              setup.phase.degc, setup.phase.latent_j_kg, float(setup.phase.reversible)]),
            set_times=times_s(setup.course), set_degc=np.array(setup.course.degc, np.float64),
            out_times=times_s(setup.room.degc), out_degc=np.array(setup.room.degc.degc, np.float64),
            supply_vapour=setup.chamber.vapour_share, room_vapour=setup.room.vapour_share,
            pressure=setup.room.pressure_pa, table=_table(),
        )  # fmt: skip
        held = np.array([setup.start_degc, setup.chamber.vapour_share])
        return cls(setup, kiln, np.concatenate(unknowns), held, grid.raises)


def _layers(wall: Wall, grid: Grid) -> list[tuple[WallLayer, Numbers, float]]:
    """Return each layer with the widths of its cells and how deep it begins [m]."""
    found, inside_m = [], 0.0
    layers_mm = [layer.thickness_mm for layer in wall.layers]
    all_widths = grid.widths_m(layers_mm, open_behind=wall.cold.openness > 0 or wall.cold.may_open)
    for layer, widths in zip(wall.layers, all_widths, strict=True):
        found.append((layer, widths, inside_m))
        inside_m += float(widths.sum())
    return found


def _radius_m(wall: Wall) -> float:
    return inf if wall.inner_radius_mm is None else wall.inner_radius_mm / 1000


def _cells(layer: WallLayer, widths: Numbers, inside_m: float, radius_m: float, number: int) -> Numbers:
    """Return the rows of a layer's cells; areas and volumes are per m² of hot face, larger outwards in a cylinder."""
    m, cells = layer.matter, np.zeros((len(widths), kernel.CELL_COLUMNS))
    ends = inside_m + np.concatenate([[0.0], np.cumsum(widths)])
    areas = 1 + ends / radius_m
    cells[:, kernel.DX], cells[:, kernel.VOLUME] = widths, widths * 0.5 * (areas[1:] + areas[:-1])
    cells[:, kernel.AREA_IN], cells[:, kernel.AREA_OUT] = areas[:-1], areas[1:]
    capped = min(m.permeability_m2, PERMEABILITY_CAP_M2)
    same = {
        kernel.HEAT0: m.density_kg_m3 * m.cp0_j_kgk, kernel.HEAT1: m.density_kg_m3 * m.cp1_j_kgk2 / 2,
        kernel.POROSITY: m.porosity, kernel.K0: m.k0_w_mk, kernel.K1: m.k1_w_mk2, kernel.K_WET: m.wet_k_w_mk,
        kernel.PERMEABILITY: capped, kernel.RESCALE: capped / m.permeability_m2 if m.permeability_m2 else 1.0,
        kernel.TAU: m.vapour_tortuosity, kernel.WIDTH: m.hygroscopic_kg_m3, kernel.D0: m.liquid0_m2_s,
        kernel.B: m.liquid_exponent, kernel.STRENGTH: m.tensile_mpa * 1e6, kernel.LAYER: number,
    }  # fmt: skip
    for column, value in same.items():
        cells[:, column] = value
    return cells


def _start(layer: WallLayer, n: int, setup: Setup, least_kg_m3: float) -> Numbers:
    return np.tile([setup.start_degc, max(layer.water_kg_m3, least_kg_m3), setup.room.pressure_pa], (n, 1))


def in_air(packed: Packed, around: Around, vapour: float, unknowns: Numbers) -> kernel.Kiln:
    """Return a kiln in some air: faces, cells and their numbers stay. Walls that hold water, or will, are computed as
    wet ones."""
    kiln, fresh_m3_h = packed.kiln, around.fresh_m3_h
    chamber = kiln.chamber.copy()
    chamber[kernel.POWER] = 1000 * around.heater_kw
    chamber[kernel.ENCLOSED] = float(around.enclosed_m3_h is not None)
    if fresh_m3_h is not None:
        chamber[kernel.VENT] = mol_s(fresh_m3_h, kiln.pressure)
    damp = chamber[kernel.VENT] < mol_s(FRESH_M3_H, kiln.pressure) and any(wall.wet for wall in packed.setup.walls)
    asked, room = around.asked_degc, around.room_degc
    return kiln._replace(
        coupled=kiln.coupled | holding(kiln, unknowns) | damp, chamber=chamber, room_vapour=vapour,
        supply_vapour=vapour, set_times=times_s(asked), set_degc=np.array(asked.degc, np.float64),
        out_times=times_s(room), out_degc=np.array(room.degc, np.float64),
    )  # fmt: skip


def finer(kiln: kernel.Kiln, times: float) -> kernel.Kiln:
    """Return a kiln to be run in steps that are so many times shorter."""
    control = kiln.control.copy()
    control[[kernel.LONGEST_STEP, kernel.DEGC_STEP, kernel.SHARE_STEP]] /= times
    return kiln._replace(control=control)


def holding(kiln: kernel.Kiln, unknowns: Numbers) -> NDArray[np.bool_]:
    """Say of each wall whether its cells hold water that counts."""
    wet = unknowns[:, 1] > LEAST_KG_M3 * 10
    return np.logical_or.reduceat(wet, kiln.first[:-1])


def _face(face: Face, usual_film_m_s: float | None = None) -> list[float]:
    *heat, own, _ = (getattr(face, column.name) for column in fields(Face))  # columns are in the order of the fields
    film = usual_film_m_s if own is None else own
    return [*heat, film or 0.0, float(film is None)]


def _damp(setup: Setup) -> bool:
    """Say whether dry walls may take up vapour worth counting; else they hold heat alone."""
    if setup.chamber.vent_m3_h < inf:
        return any(wall.wet for wall in setup.walls) and setup.chamber.vent_m3_h < FRESH_M3_H
    coldest = min(setup.start_degc, *setup.course.degc, *setup.room.degc.degc)
    return setup.chamber.vapour_share * setup.room.pressure_pa >= saturation_line(coldest)[0]


def _tolerance_k(setup: Setup, pace: Pace) -> float:
    """Return the tolerance of a step; none where water leaves freely: what has left does not come back for a stage."""
    free = setup.closure == "leaves_freely" and any(wall.wet for wall in setup.walls)
    return 0.0 if free else pace.tolerance_k


def _chamber(setup: Setup) -> Numbers:
    chamber = setup.chamber
    fresh_mol_s = mol_s(chamber.vent_m3_h, setup.room.pressure_pa)
    return np.array([chamber.power_kw * 1000, fresh_mol_s, chamber.heat_j_k, chamber.gas_m3, 0.0])


def mol_s(fresh_m3_h: float, pressure_pa: float) -> float:
    """Return fresh air, given at 20 °C, as a flow [mol/s]."""
    return fresh_m3_h / 3600 * pressure_pa / (kernel.GAS * (20.0 + kernel.ZERO_K))


def times_s(course: Course) -> Numbers:
    """Return when the knots of a course are [s]."""
    return np.array(course.hours, np.float64) * 3600


@cache
def _table() -> Numbers:
    """Return what the kernel looks up by temperature: values and slopes, so that it can lay cubics through them."""
    nodes = kernel.TABLE_FROM + kernel.TABLE_STEP * np.arange(int((1500 - kernel.TABLE_FROM) / kernel.TABLE_STEP) + 1)
    pressure = np.array([saturation_line(degc) for degc in nodes]).T
    spread = np.array([diffusivity_m2_s(degc) * ATMOSPHERE_PA for degc in nodes])
    return np.ascontiguousarray([*pressure, spread, 1.8 * spread / (nodes + kernel.ZERO_K)])


# ---------------------------------------------------------------------------------------- arrays into values


@dataclass(frozen=True, kw_only=True)
class ShownMoments:
    """What the kernel fills; a leading axis of draws where there are many."""

    walls: Numbers
    layers: Numbers
    whole: Numbers
    profiles: Numbers
    audit: Numbers

    @classmethod
    def of(cls, packed: Packed, n_moment: int, draws: tuple[int, ...] = (), *, profiles: bool = False) -> ShownMoments:
        """Return the arrays for the kernel to fill."""
        n_wall, n_cell = len(packed.kiln.areas), len(packed.kiln.cells)
        n_layer = int(packed.kiln.cells[-1, kernel.LAYER]) + 1
        return cls(
            walls=np.zeros((*draws, n_moment, n_wall, kernel.WALL_COLUMNS)),
            layers=np.zeros((*draws, n_moment, n_layer)), whole=np.zeros((*draws, n_moment, kernel.SHOWN_COLUMNS)),
            profiles=np.zeros((n_moment if profiles else 0, n_cell, 3)), audit=np.zeros((*draws, kernel.AUDIT_COLUMNS)),
        )  # fmt: skip


def _unpack(
    packed: Packed, kiln: kernel.Kiln, begin_h: float, hours: Numbers, shown: ShownMoments, around: Stretches
) -> Run:
    whole, walls, layer = shown.whole, [], 0
    room_degc = np.interp((hours - begin_h) * 3600, kiln.out_times, kiln.out_degc)
    enclosed = kiln.chamber[kernel.ENCLOSED] > 0
    for number, wall in enumerate(packed.setup.walls):
        walls.append(_wall(wall, number, layer, packed, shown))
        layer += len(wall.layers)
    return Run(
        setup=packed.setup, around=around, hours=hours, walls=tuple(walls),
        around_degc=whole[:, kernel.CHAMBER_DEGC] if enclosed else room_degc,
        chamber_degc=whole[:, kernel.CHAMBER_DEGC], chamber_vapour=whole[:, kernel.CHAMBER_VAPOUR],
        heater_kw=whole[:, kernel.HEATER_W] / 1000, heater_kwh=whole[:, kernel.HEATER_J] / 3.6e6,
        vented_kg=whole[:, kernel.VENTED_KG],
        water_error=float(shown.audit[kernel.WATER_ERROR]), heat_error=float(shown.audit[kernel.HEAT_ERROR]),
        steps=int(shown.audit[kernel.STEPS]),
    )  # fmt: skip


def _wall(wall: Wall, number: int, layer: int, packed: Packed, shown: ShownMoments) -> WallRun:
    first, last = packed.kiln.first[number], packed.kiln.first[number + 1]
    widths = packed.kiln.cells[first:last, kernel.DX]
    depth_mm = (np.cumsum(widths) - widths / 2) * 1000
    did, profile = shown.walls[:, number], shown.profiles[:, first:last]
    peak_cell = did[:, kernel.PEAK_CELL].astype(int).clip(first, last - 1) - first
    return WallRun(
        wall=wall, layer_kg=shown.layers[:, layer : layer + len(wall.layers)],
        hot_face_degc=did[:, kernel.HOT_FACE], casing_degc=did[:, kernel.CASING], outside_degc=did[:, kernel.OUTSIDE],
        to_chamber_kg=did[:, kernel.TO_CHAMBER], to_room_kg=did[:, kernel.TO_ROOM],
        heat_in_kwh=did[:, kernel.HEAT_IN] / 3.6e6, heat_out_kwh=did[:, kernel.HEAT_OUT] / 3.6e6,
        overpressure_kpa=packed.raises * did[:, kernel.OVERPRESSURE] / 1000,
        demand=packed.raises * did[:, kernel.DEMAND],
        peak_mm=depth_mm[peak_cell], depth_mm=depth_mm,
        profile_degc=profile[:, :, 0], profile_kg_m3=profile[:, :, 1],
    )  # fmt: skip
