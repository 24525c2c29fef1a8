"""Divides a wall into cells: fine at the hot face, where temperatures are steepest, and at every joint."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recover.physics.wall import Wall


@dataclass(frozen=True)
class Grid:
    """How finely a wall is divided: first cell at the hot face and at a joint, growth from cell to cell, thickest cell.

    A thick wall has thicker cells, so that no wall has more than about `cells` of them.
    """

    first_mm: float = 0.3
    joint_mm: float = 0.8
    growth: float = 1.08
    thickest_mm: float = 1.5
    cells: int = 90

    def widths_m(self, wall: Wall) -> list[NDArray[np.float64]]:
        """Return the widths of the cells of each layer [m], from the hot face outwards."""
        thickest = max(self.thickest_mm, wall.thickness_mm / self.cells)
        return [
            _graded(layer.thickness_mm, self.joint_mm if number else self.first_mm, self.growth, thickest) / 1000
            for number, layer in enumerate(wall.layers)
        ]


NORMAL = Grid()
COARSE = Grid(first_mm=1.0, joint_mm=1.5, growth=1.2, thickest_mm=4.0, cells=40)
"""For searches and ensembles: about two parts in a hundred of the water apart from a very fine grid."""


def _graded(thickness_mm: float, first_mm: float, growth: float, thickest_mm: float) -> NDArray[np.float64]:
    """Return widths that grow from the first to the thickest and fill the layer; at least six of them."""
    widths: list[float] = []
    width = min(first_mm, thickness_mm / 6)
    while sum(widths) + 0.5 * width < thickness_mm:
        widths.append(width)
        width = min(width * growth, thickest_mm, thickness_mm / 6)
    return np.array(widths) * (thickness_mm / sum(widths))
