"""How much water a lining holds: the geometry of its layers, and what it weighs wet.

Lengths come in millimetres, volumes are in m³, masses in kg. Heights are measured from the floor the kiln stands on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import pi, sqrt, tan
from typing import Literal

from recover.errors import QuantityError
from recover.physics.materials import ZERO, Band, Material, damp_share, material, weighed_brick_spread

Shape = Literal["round", "oval", "polygon", "rectangular"]
Part = Literal["wall", "floor", "lid", "door"]
Wet = Literal["soaked", "splashed", "damp", "dry"]


@dataclass(frozen=True)
class Chamber:
    """The inside of a kiln: width and depth between hot faces, height from floor to lid.

    `floor_mm` is the height of the chamber's floor above the floor that the kiln stands on. A polygon is measured
    across its flats and has `sides` equal sides. An oval is taken as two half rounds with straight sides between; an
    ellipse of 3 : 2 encloses 8 % less. Raises QuantityError.
    """

    shape: Shape
    width_mm: float
    depth_mm: float
    height_mm: float
    floor_mm: float = 0.0
    sides: int = 8

    def __post_init__(self) -> None:
        for name in ("width_mm", "depth_mm", "height_mm"):
            _positive(f"chamber, {name}", getattr(self, name))
        if self.floor_mm < 0:
            raise QuantityError("chamber, floor_mm", f"{self.floor_mm:g}", "a height from 0 upwards")
        if self.shape == "round" and self.width_mm != self.depth_mm:
            raise QuantityError("round chamber", f"{self.width_mm:g} by {self.depth_mm:g} mm", "the diameter twice")
        if self.sides < 4:
            raise QuantityError("chamber, sides", f"{self.sides}", "4 or more")

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
        filled = {"round": pi / 4, "polygon": self.sides / 4 * tan(pi / self.sides)}
        return filled.get(self.shape, 1.0)


@dataclass(frozen=True)
class Layer:
    """One layer of a stack. `from_mm` and `to_mm` are the heights between which a wall's or door's layer was reached.

    `to_mm` is the water line itself: the rise of water in the pores above it is added here. A layer of a floor or a lid
    is wet over its whole area, or not at all. Raises QuantityError.
    """

    material_id: str
    thickness_mm: float
    wet: Wet = "dry"
    from_mm: float = 0.0
    to_mm: float = 0.0

    def __post_init__(self) -> None:
        material(self.material_id)  # refuses an id that is not known
        _positive(f"layer of {self.material_id}, thickness_mm", self.thickness_mm)
        if self.to_mm < self.from_mm:
            heights = f"{self.from_mm:g} to {self.to_mm:g} mm"
            raise QuantityError(f"layer of {self.material_id}", heights, "the lower height first")

    @property
    def material(self) -> Material:
        """The material of this layer."""
        return material(self.material_id)


@dataclass(frozen=True)
class LayerStack:
    """The layers of one part, from the hot face outwards. Raises QuantityError."""

    part: Part
    layers: tuple[Layer, ...]

    def __post_init__(self) -> None:
        if not self.layers:
            raise QuantityError(self.part, "no layers", "at least one, the hot face first")
        for layer in self.layers:
            if self.part in ("wall", "door") and layer.wet != "dry" and layer.to_mm == layer.from_mm:
                where, expected = f"{self.part}, layer of {layer.material_id}", "the heights between which it is wet"
                raise QuantityError(where, f"{layer.wet} without heights", expected)


@dataclass(frozen=True)
class Lining:
    """A chamber and the stacks around it: one wall; floor, lid and door where there are any. Raises QuantityError.

    A ring (round, oval, polygon): every wall layer is as high as the chamber, and the slabs of floor and lid reach to
    the outside of the wall's hot-face layer. A box (rectangular): each layer is a shell around the one before it, edges
    and corners counted once; a door takes the whole front of the shell from the wall.
    """

    chamber: Chamber
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

    def wet_m3(self, part: Part, number: int) -> Band:
        """Return the volume [m³] of a layer that holds water: up to the water line, and in soaked layers above it."""
        layer, whole = self.layers(part)[number], self.layer_m3(part, number)
        if layer.wet == "dry":
            return ZERO
        if part in ("floor", "lid"):
            return Band.exactly(whole)
        low, high = self._heights_mm(number)
        rise = layer.material.capillary_rise_mm if layer.wet == "soaked" else ZERO
        tops = (min(high, layer.to_mm + above) for above in (rise.low, rise.mid, rise.high))
        bottom = max(low, layer.from_mm)
        return Band(*(whole * max(0.0, top - bottom) / (high - low) for top in tops))

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


@dataclass(frozen=True)
class LayerWater:
    """What one layer weighs dry [kg], and the water in it [kg]."""

    part: Part
    layer: Layer
    volume_m3: float
    dry_kg: Band
    water_kg: Band


def layer_water(lining: Lining, held_kg_m3: Mapping[str, Band] | None = None) -> tuple[LayerWater, ...]:
    """Return the dry mass and the water of every layer [kg].

    `held_kg_m3` says by material id what its soaked layers hold, where that is known better than the table: from a
    weighed brick (`calibrated`), or for blanket straight out of the water (`undrained_kg_m3`).
    """
    rows = []
    for stack in lining.stacks:
        for number, layer in enumerate(stack.layers):
            volume_m3 = lining.layer_m3(stack.part, number)
            water_kg = held(layer, held_kg_m3) * lining.wet_m3(stack.part, number)
            dry_kg = layer.material.dry_density_kg_m3 * volume_m3
            rows.append(LayerWater(stack.part, layer, volume_m3, dry_kg, water_kg))
    return tuple(rows)


def held(layer: Layer, held_kg_m3: Mapping[str, Band] | None = None) -> Band:
    """Return the water [kg/m³] in the wet zone of a layer; a weighing replaces the table in soaked layers."""
    match layer.wet:
        case "soaked":
            return (held_kg_m3 or {}).get(layer.material_id, layer.material.soaked_kg_m3)
        case "splashed":
            return layer.material.splashed_kg_m3
        case "damp":
            return layer.material.splashed_kg_m3 * damp_share()
        case "dry":
            return ZERO


def calibrated(weighed: Material, wet_kg: float, dry_kg: float, volume_m3: float) -> Band:
    """Return the water held [kg/m³] from one piece weighed wet and oven-dry [kg]: w = (m_wet - m_dry) / V.

    Raises QuantityError where the piece is not heavier wet than dry, or holds more than its pores can.
    """
    _positive("weighed piece, volume_m3", volume_m3)
    _positive("weighed piece, dry_kg", dry_kg)
    water_kg_m3, most = (wet_kg - dry_kg) / volume_m3, 1000 * weighed.open_porosity.high
    if not 0 < water_kg_m3 <= most:
        raise QuantityError(
            f"weighed piece of {weighed.id}", f"{water_kg_m3:.0f} kg/m³ of water", f"more than 0, at most {most:.0f}"
        )
    return weighed_brick_spread() * water_kg_m3


def dry_kg(rows: Iterable[LayerWater], part: Part | None = None) -> Band:
    """Return the dry mass [kg] of a part's lining, or of the whole lining."""
    return sum((row.dry_kg for row in rows if part in (None, row.part)), ZERO)


def water_kg(rows: Iterable[LayerWater], part: Part | None = None) -> Band:
    """Return the water [kg] in a part's lining, or in the whole lining."""
    return sum((row.water_kg for row in rows if part in (None, row.part)), ZERO)


def part_kg(rows: Iterable[LayerWater], part: Part, sections: int = 1) -> Band:
    """Return the wet mass [kg] of a part's lining, as somebody lifts it: lid, door, or one of a wall's equal sections.

    Casing and elements are not in it. Raises QuantityError for fewer than one section, or sections of another part.
    """
    if sections < 1 or (sections > 1 and part != "wall"):
        raise QuantityError(part, f"{sections} sections", "1, or more for a wall")
    rows = tuple(rows)
    return (dry_kg(rows, part) + water_kg(rows, part)) / sections


def kiln_kg(rows: Iterable[LayerWater], casing_elements_stand_kg: Band) -> Band:
    """Return the wet mass [kg] of the whole kiln. Water in its pan is free water: drain it first (`pan_kg`)."""
    rows = tuple(rows)
    return dry_kg(rows) + water_kg(rows) + casing_elements_stand_kg


def pan_kg(litres: Band) -> Band:
    """Return the mass [kg] of free water in pan or base, 1 kg a litre. It is no part of the lining's water."""
    return litres


def salt_kg(water_kg: Band, grams_per_litre: Band) -> Band:
    """Return the salt [kg] that stays in the lining when its water has gone, with a litre counted as a kilogram.

    Sea water holds `sea_salt_g_l()`; brackish water is measured. Raises QuantityError below 0 g/l.
    """
    if grams_per_litre.low < 0:
        raise QuantityError("salt", f"{grams_per_litre.low:g} g/l", "0 or more")
    return water_kg * grams_per_litre / 1000


def _positive(where: str, value: float) -> None:
    if not value > 0:
        raise QuantityError(where, f"{value:g}", "more than 0")
