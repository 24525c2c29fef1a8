"""The edges of a kiln, where walls meet: what a lining has beyond its hot faces, as a sector of a cylinder.

An edge has a line for a hot face and two walls' worth of casing, so that it stays colder than the walls, and wet for
longer. The sector has what the square edge has: each layer its volume, the whole its steady heat. It begins a little
off its axis. How near it comes to edges and corners in their own dimensions stands in model.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import expm1, sqrt

from recover.physics.figures import figures
from recover.physics.lining import Lining, Part


@dataclass(frozen=True)
class Edge:
    """A part's edges, its share of the corners among them: hot face [m²], its radius and the layers around it [mm]."""

    area_m2: float
    inner_radius_mm: float
    layers_mm: tuple[float, ...]


def edge(lining: Lining, part: Part) -> Edge:
    """Return the edges of a part that has any.

    A sector of angle a, of a length l that follows from the section L² of the edge. Heat by the shape factor s per
    metre, for a wall of one material: s = a / ln(R/r). Volume: a/2 (R² - r²) = L², and so for each layer within R.
    """
    turn, section_m2 = figures().edge_turn.mid, lining.edge_section_m2(part)
    m3 = [lining.edge_m3(part, number) for number in range(len(lining.layers(part)))]
    length_m = sum(m3) / section_m2
    inner_m2 = 2 / turn * section_m2 / expm1(2 * turn / _shape(lining))
    radii_m = [sqrt(inner_m2 + 2 / turn * within / length_m) for within in accumulate(m3, initial=0.0)]
    layers_mm = tuple(1000 * (outer - inner) for inner, outer in pairwise(radii_m))
    return Edge(turn * radii_m[0] * length_m, 1000 * radii_m[0], layers_mm)


def _shape(lining: Lining) -> float:
    """Return the shape factor of an edge by its length, with the corners counted into it by their volume."""
    own = figures()
    return own.edge_shape.mid + lining.corner_share * (own.corner_shape.mid - own.edge_shape.mid)
