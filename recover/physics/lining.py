"""What a kiln's lining is made of: the chamber, the layers around it, and how much of each the water reached.

Lengths come in millimetres, areas and volumes are in m² and m³. Heights are measured from the floor the kiln stands on.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from math import pi, sqrt, tan
from typing import Literal

from recover.base.errors import QuantityError
from recover.physics.materials import ZERO, Band, Material, material

Shape = Literal["round", "oval", "polygon", "rectangular"]
Part = Literal["wall", "floor", "lid", "door"]
PartWet = Literal["soaked", "splashed", "damp", "dry"]

SIDES = 8
"""Of a polygon: nobody is asked how many it has; ten enclose 2 % less."""


@dataclass(frozen=True)
class ChamberShape:
    """The inside of a kiln: width and depth between hot faces, height from floor to lid.

    `floor_mm` is the height of the chamber's floor above the floor that the kiln stands on. A polygon is measured
    across its flats and has eight equal sides. An oval is taken as two half rounds with straight sides between; an
    ellipse of 3 : 2 encloses 8 % less. Raises QuantityError.
    """

    shape: Shape
    width_mm: float
    depth_mm: float
    height_mm: float
    _: KW_ONLY
    floor_mm: float = 0.0

    def __post_init__(self) -> None:
        for name in ("width_mm", "depth_mm", "height_mm"):
            _positive(f"chamber, {name}", getattr(self, name))
        if self.floor_mm < 0:
            raise QuantityError("chamber, floor_mm", f"{self.floor_mm:g}", "a height from 0 upwards")
        if self.shape == "round" and self.width_mm != self.depth_mm:
            raise QuantityError("round chamber", f"{self.width_mm:g} by {self.depth_mm:g} mm", "the diameter twice")

    def plan_m2(self, outward_mm: float = 0.0) -> float:
        """Return the area [m²] within an outline that lies `outward_mm` outside the hot face.

        Round, regular polygon, rectangle: A = c W D with c = pi/4, n/4 tan(pi/n), 1. Oval: A = (L - S) S + pi/4 S².
        Exact, but for a polygon that is longer than wide, where both axes are stretched alike.
        """
        width, depth = self._axes_m(outward_mm)
        if self.shape == "oval":
            long, short = max(width, depth), min(width, depth)
            return (long - short) * short + pi / 4 * short**2
        return self._fill() * width * depth

    def girth_m(self, outward_mm: float = 0.0) -> float:
        """Return the length [m] of that outline: the rate at which its area grows as it moves outward."""
        width, depth = self._axes_m(outward_mm)
        if self.shape == "oval":
            return 2 * abs(width - depth) + pi * min(width, depth)
        return 2 * self._fill() * (width + depth)

    def _axes_m(self, outward_mm: float) -> tuple[float, float]:
        return (self.width_mm + 2 * outward_mm) / 1000, (self.depth_mm + 2 * outward_mm) / 1000

    def _fill(self) -> float:
        """Return the share of its own rectangle that the outline fills."""
        filled = {"round": pi / 4, "polygon": SIDES / 4 * tan(pi / SIDES)}
        return filled.get(self.shape, 1.0)


@dataclass(frozen=True)
class Layer:
    """One layer of a stack. `to_mm` is the height up to which a wall's or door's layer was reached: the water line.

    The rise of water in the pores above it is added here. A layer of a floor or a lid is wet over its whole area, or
    not at all. Raises QuantityError.
    """

    material_id: str
    thickness_mm: float
    wet: PartWet = "dry"
    to_mm: float = 0.0

    def __post_init__(self) -> None:
        material(self.material_id)  # refuses an id that is not known
        _positive(f"layer of {self.material_id}, thickness_mm", self.thickness_mm)
        if self.to_mm < 0:
            raise QuantityError(f"layer of {self.material_id}, to_mm", f"{self.to_mm:g}", "a height from 0 upwards")

    @property
    def material(self) -> Material:
        """The material of this layer."""
        return material(self.material_id)

    @property
    def rise_mm(self) -> Band:
        """How far water climbs above its line in this layer [mm]: not at all, unless it is soaked."""
        return self.material.uptake.capillary_rise_mm if self.wet == "soaked" else ZERO


@dataclass(frozen=True)
class LayerStack:
    """The layers of one part, from the hot face outwards. Raises QuantityError."""

    part: Part
    layers: tuple[Layer, ...]

    def __post_init__(self) -> None:
        if not self.layers:
            raise QuantityError(self.part, "no layers", "at least one, the hot face first")
        for layer in self.layers:
            if self.part in ("wall", "door") and layer.wet != "dry" and layer.to_mm == 0:
                where, expected = f"{self.part}, layer of {layer.material_id}", "the height up to which it is wet"
                raise QuantityError(where, f"{layer.wet} without a height", expected)


@dataclass(frozen=True)
class _WetZone:
    """Where a layer was reached: from its bottom to the line, and as far above it as water climbs, up to its top."""

    m3_per_mm: float
    bottom_mm: float
    line_mm: float
    top_mm: float

    def wet_m3(self, rise_mm: float = 0.0) -> float:
        """Return the volume [m³] that is wet where water climbs so far above its line [mm]."""
        return self.m3_per_mm * (max(self.bottom_mm, min(self.top_mm, self.line_mm + rise_mm)) - self.bottom_mm)


@dataclass(frozen=True)
class Lining:
    """A chamber and the stacks around it: one wall; floor, lid and door where there are any. Raises QuantityError.

    A ring (round, oval, polygon): every wall layer is as high as the chamber, and the slabs of floor and lid reach to
    the outside of the wall's hot-face layer. A box (rectangular): each layer is a shell around the one before it, edges
    and corners counted once; a door takes the whole front of the shell from the wall.
    """

    chamber: ChamberShape
    stacks: tuple[LayerStack, ...]

    def __post_init__(self) -> None:
        parts = [stack.part for stack in self.stacks]
        if "wall" not in parts or len(parts) != len(set(parts)):
            raise QuantityError("lining", f"stacks for {', '.join(parts) or 'nothing'}", "one wall, each part once")
        if "door" in parts and not self._box:
            raise QuantityError("lining", f"a door in a {self.chamber.shape} chamber", "a rectangular chamber")

    @property
    def _box(self) -> bool:
        return self.chamber.shape == "rectangular"

    @property
    def wall(self) -> LayerStack:
        """The stack of the wall, which every lining has."""
        return next(stack for stack in self.stacks if stack.part == "wall")

    def layers(self, part: Part) -> tuple[Layer, ...]:
        """Return the layers of a part from the hot face outwards, none where there is no such part."""
        return next((stack.layers for stack in self.stacks if stack.part == part), ())

    def layer_m3(self, part: Part, number: int) -> float:
        """Return the volume [m³] of layer `number` (from 0, the hot face) of a part."""
        thickness_m = self.layers(part)[number].thickness_mm / 1000
        if part in ("floor", "lid"):
            return self.chamber.plan_m2(self._slab_reach_mm(number)) * thickness_m
        inside, outside = self._depth_mm("wall", number), self._depth_mm("wall", number + 1)
        low, high = self._heights_mm(number)
        front_m2 = (self.chamber.width_mm + 2 * outside) * (high - low) / 1e6
        if part == "door":
            return front_m2 * thickness_m
        ring_m3 = (self.chamber.plan_m2(outside) - self.chamber.plan_m2(inside)) * (high - low) / 1000
        return ring_m3 - front_m2 * thickness_m if self.layers("door") else ring_m3

    def wet_zone(self, part: Part, number: int) -> _WetZone:
        """Return where a layer that is not dry was reached; a slab, that is wet all over, counts as full to its top."""
        layer, whole = self.layers(part)[number], self.layer_m3(part, number)
        if part in ("floor", "lid"):
            return _WetZone(whole / layer.thickness_mm, 0.0, layer.thickness_mm, layer.thickness_mm)
        low, high = self._heights_mm(number)
        return _WetZone(whole / (high - low), max(low, 0.0), layer.to_mm, high)

    def wet_m3(self, part: Part, number: int) -> Band:
        """Return the volume [m³] of a layer that holds water: up to the water line, and in soaked layers above it."""
        layer = self.layers(part)[number]
        if layer.wet == "dry":
            return ZERO
        zone, rise = self.wet_zone(part, number), layer.rise_mm
        return Band(zone.wet_m3(rise.low), zone.wet_m3(rise.mid), zone.wet_m3(rise.high))

    def edge_m3(self, part: Part, number: int) -> float:
        """Return the volume [m³] of a layer that does not stand straight behind its part's hot face: its edges.

        The wall of a ring has none: it is the side of a cylinder.
        """
        if part == "wall" and not self._box:
            return 0.0
        straight_m3 = self.hot_face_m2(part) * self.layers(part)[number].thickness_mm / 1000
        return self.layer_m3(part, number) - straight_m3

    def edge_section_m2(self, part: Part) -> float:
        """Return the section [m²] of a part's edge: its thickness by that of the wall beside it."""
        return self._depth_mm(part, len(self.layers(part))) * self._slab_reach_mm(len(self.wall.layers) - 1) / 1e6

    @property
    def corner_share(self) -> float:
        """The share of its corners in all its edges, by volume: 8 L³ of 12 edges and them; a ring has no corners."""
        if not self._box:
            return 0.0
        sides_mm = self.chamber.width_mm + self.chamber.depth_mm + self.chamber.height_mm
        corners_mm = 8 * self._depth_mm("wall", len(self.wall.layers))
        return corners_mm / (4 * sides_mm + corners_mm)

    def hot_face_m2(self, part: Part) -> float:
        """Return the area [m²] of a part's hot face, 0 where there is no such part."""
        return self._face_m2(part, 0) if self.layers(part) else 0.0

    def mean_face_m2(self, part: Part) -> float:
        """Return the geometric mean [m²] of a part's hot and cold face, for the heat that passes through it."""
        return sqrt(self._face_m2(part, 0) * self._face_m2(part, len(self.layers(part)))) if self.layers(part) else 0.0

    def _face_m2(self, part: Part, number: int) -> float:
        """Return the area [m²] of a face: 0 is the hot face, 1 the outside of the first layer, and so on."""
        if part in ("floor", "lid"):
            return self.chamber.plan_m2(self._slab_reach_mm(number - 1) if number else 0.0)
        outward, (low, high) = self._depth_mm("wall", number), self._heights_mm(number)
        front_m = (self.chamber.width_mm + 2 * outward) / 1000 if self.layers("door") else 0.0
        girth_m = front_m if part == "door" else self.chamber.girth_m(outward) - front_m
        return girth_m * (high - low) / 1000

    def _depth_mm(self, part: Part, number: int) -> float:
        """Return how far the first `number` layers of a part reach outward; none, where there is no such part."""
        return sum(layer.thickness_mm for layer in self.layers(part)[:number])

    def _slab_reach_mm(self, number: int) -> float:
        return self._depth_mm("wall", number + 1 if self._box else 1)

    def _heights_mm(self, number: int) -> tuple[float, float]:
        """Return the lower and upper edge of wall layer `number` above the floor the kiln stands on."""
        low, high = self.chamber.floor_mm, self.chamber.floor_mm + self.chamber.height_mm
        if self._box:
            return low - self._depth_mm("floor", number), high + self._depth_mm("lid", number)
        return low, high


def _positive(where: str, value: float) -> None:
    """Refuse a quantity that must be more than 0. Raises QuantityError."""
    if not value > 0:
        raise QuantityError(where, f"{value:g}", "more than 0")
