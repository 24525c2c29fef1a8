"""Edges and corners solved in their own dimensions: cubes of cells about a corner of the chamber, for tests of `edges`.

The first or the last octant of a closed box, or the quadrant about an edge: planes of symmetry stand at the middle of
the chamber. Heat is conducted from cell to cell, water boils at 100 °C where it is and is gone, as in the model's
`leaves_freely`; explicit in time.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix, diags
from scipy.sparse.linalg import spsolve

from recover.physics.wall import EVAPORATION_J_KG as LATENT

LIQUID_HEAT = 4186.0


@dataclass(frozen=True)
class Stuff:
    """A layer: thickness [m], conductivity [W/mK], heat [J/m³K] and water [kg/m³]."""

    d: float
    k: float
    heat: float
    water: float


class Corner:
    """Cells of a width [m] around the corner where walls meet, each inner side half a chamber (or a long arm) long."""

    def __init__(self, layers: Sequence[Stuff], arms_m: Sequence[float], width_m: float, film: float) -> None:
        self.width, self.size = width_m, len(arms_m)
        thick = round(sum(one.d for one in layers) / width_m)
        axes = [(np.arange(-round(arm / width_m), thick) + 0.5) * width_m for arm in arms_m]
        self.depth = np.max(np.meshgrid(*axes, indexing="ij"), axis=0)
        self.on = self.depth > 0
        which = np.minimum(np.searchsorted(np.cumsum([one.d for one in layers]), self.depth), len(layers) - 1)
        self.k, self.heat, self.water = (
            np.array([getattr(one, name) for one in layers])[which] * self.on for name in ("k", "heat", "water")
        )
        self.passes = [self._passes(axis) for axis in range(self.size)]
        self.hot, self.cold = self._hot(), self._cold(film)

    @property
    def cell(self) -> float:
        """Volume of a cell, or area where the corner is an edge."""
        return self.width**self.size

    def _passes(self, axis: int) -> np.ndarray:
        """Return the conductance from each cell to the next along an axis [W/K]; none into the chamber."""
        one, other = (np.moveaxis(self.k, axis, 0)[part] for part in (slice(None, -1), slice(1, None)))
        both = (one > 0) & (other > 0)
        return self.width ** (self.size - 2) * np.where(both, 2 * one * other / np.where(both, one + other, 1), 0)

    def _hot(self) -> np.ndarray:
        """Return the conductance of each cell to the chamber it borders on, whose temperature is prescribed."""
        found = np.zeros(self.k.shape)
        for axis in range(self.size):
            inside = np.moveaxis(~self.on, axis, 0)
            np.moveaxis(found, axis, 0)[1:] += inside[:-1] & ~inside[1:]
        return found * 2 * self.k * self.width ** (self.size - 2)

    def _cold(self, film: float) -> np.ndarray:
        """Return the conductance of each cell to the room, through half of itself and the film."""
        sides = sum(np.indices(self.k.shape)[axis] == self.k.shape[axis] - 1 for axis in range(self.size))
        through = 1 / (self.width / (2 * np.where(self.on, self.k, 1)) + 1 / film)
        return self.on * sides * through * self.width ** (self.size - 1)

    def steady(self, hot: float, room: float) -> tuple[np.ndarray, float]:
        """Return temperatures, and the heat [W] (per metre of an edge) that enters."""
        number = np.where(self.on, np.cumsum(self.on).reshape(self.on.shape) - 1, 0)
        rows, columns, values = [], [], []
        for axis, passes in enumerate(self.passes):
            at = np.moveaxis(number, axis, 0)
            one, other, through = at[:-1][passes > 0], at[1:][passes > 0], passes[passes > 0]
            rows += [one, other, one, other]
            columns += [other, one, one, other]
            values += [-through, -through, through, through]
        matrix = coo_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))).tocsc()
        ends = (self.hot + self.cold)[self.on]
        degc = np.full(self.on.shape, hot)
        degc[self.on] = spsolve(matrix + diags(ends, format="csc"), (self.hot * hot + self.cold * room)[self.on])
        return degc, float((self.hot * (hot - degc)).sum())

    def heated(self, hot: float, room: float, hours: Sequence[float]) -> Iterator[tuple[np.ndarray, np.ndarray]]:
        """Yield temperatures and water [kg/m³] at each hour; the chamber is hot from the beginning."""
        degc, water, heat = np.full(self.k.shape, room), self.water.copy(), np.where(self.on, self.heat, 1.0)
        longest = 0.4 / self.size * (heat * self.on)[self.on].min() * self.width**2 / self.k.max()
        longest, before = longest / 2, 0.0
        for hour in hours:
            steps = int(np.ceil((hour - before) * 3600 / longest))
            for _ in range(steps):
                self._step(degc, water, heat, hot, room, (hour - before) * 3600 / steps)
            before = hour
            yield degc.copy(), water.copy()

    def _step(self, degc, water, heat, hot, room, dt) -> None:
        gain = self.hot * (hot - degc) + self.cold * (room - degc)
        for axis, passes in enumerate(self.passes):
            at, into = np.moveaxis(degc, axis, 0), np.moveaxis(gain, axis, 0)
            flow = passes * (at[:-1] - at[1:])
            into[:-1] -= flow
            into[1:] += flow
        holds = heat + LIQUID_HEAT * water
        degc += self.on * gain * dt / self.cell / holds
        boils = np.where((degc > 100) & (water > 0), (degc - 100) * holds / LATENT, 0.0)
        gone = np.minimum(boils, water)
        degc[boils > 0] = 100 + ((boils - gone) * LATENT / heat)[boils > 0]
        water -= gone
