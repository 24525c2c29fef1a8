"""Divides a wall into cells: fine at the hot face, where temperatures are steepest, at every joint, and at a cold face
that is open, where vapour leaves within the last millimetre."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Accuracy = Literal["rough", "quick", "normal", "fine"]
"""How finely a run is cut in space and time: a plan of weeks, a search of hours, a run of one wall, a check of that."""


@dataclass(frozen=True, kw_only=True)
class Grid:
    """How finely a wall is divided: first cell at an open face and at a joint, growth from cell to cell, thickest cell.

    A thick wall has thicker cells, so that no wall has more than about `cells` of them. `raises`: coarse cells tell too
    little of the highest overpressure, so that what is told of it, and of what it asks of the strength, is raised so
    many times, in every run on such cells, alone or in many draws. Normal and fine cells need none: what is told on any
    grid is the same quantity.
    """

    first_mm: float = 0.3
    joint_mm: float = 0.8
    growth: float = 1.08
    thickest_mm: float = 1.5
    cells: int = 90
    raises: float = 1.0

    def widths_m(self, layers_mm: Sequence[float], *, open_behind: bool) -> list[NDArray[np.float64]]:
        """Return the widths of the cells [m] of layers of such thickness, from the hot face outwards."""
        thickest = max(self.thickest_mm, sum(layers_mm) / self.cells)
        first = [self.first_mm] + [self.joint_mm] * (len(layers_mm) - 1)
        last = [inf] * (len(layers_mm) - 1) + [self.first_mm if open_behind else inf]
        return [
            _graded(layer_mm, start, end, self.growth, thickest) / 1000
            for layer_mm, start, end in zip(layers_mm, first, last, strict=True)
        ]


RAISES = 1.15
"""Coarse cells tell 3 to 26 % too little of the highest overpressure."""

NORMAL = Grid()
FINE = Grid(first_mm=0.15, joint_mm=0.4, growth=1.04, thickest_mm=0.75, cells=180)
COARSE = Grid(first_mm=1.5, joint_mm=2.5, growth=1.35, thickest_mm=8.0, cells=20, raises=RAISES)
"""For searches and ensembles: within two parts in a hundred of the first water of a very fine grid."""

ROUGH = Grid(first_mm=0.3, joint_mm=3.5, growth=1.8, thickest_mm=10.0, cells=14, raises=RAISES)
"""For a plan, which goes on for weeks: within two parts in 100 of the first water of `NORMAL`, as fine at open faces.

In air that is not hot all that leaves comes through the first millimetre: behind cells of 2.5 mm there a kiln that
stood in a room for a month kept 22 parts in 100 too much.
"""


@lru_cache(maxsize=512)
def _graded(
    thickness_mm: float, first_mm: float, last_mm: float, growth: float, thickest_mm: float
) -> NDArray[np.float64]:
    """Return widths that grow from both ends to the thickest and fill the layer; at least six of them."""
    most = min(thickest_mm, thickness_mm / 6)
    inner: list[float] = []
    outer: list[float] = []
    ahead, behind = min(first_mm, most), min(last_mm, most)
    while sum(inner) + sum(outer) + 0.5 * min(ahead, behind) < thickness_mm:
        if ahead <= behind:
            inner.append(ahead)
            ahead = min(ahead * growth, most)
        else:
            outer.append(behind)
            behind = min(behind * growth, most)
    widths = np.array(inner + outer[::-1])
    widths *= thickness_mm / float(widths.sum())
    widths.flags.writeable = False
    return widths
