"""How much water a lining holds: by layer, by zone of the wall, in all; and what it weighs wet.

Each figure comes in two ways. As a band, with every low assumption together and every high one: for what must not be
too small, such as what somebody is going to lift. And by draws, in which high and low meet by chance: for planning.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.draws import from_band, shares
from recover.physics.lining import Layer, Lining, Part
from recover.physics.materials import ZERO, Band, Material, material_data

if TYPE_CHECKING:
    from recover.physics.draws import Ranks, Values


@dataclass(frozen=True)
class LayerWater:
    """What one layer weighs dry [kg], and the water in it [kg]."""

    part: Part
    layer: Layer
    dry_kg: Band
    water_kg: Band


def layer_water(lining: Lining, held_kg_m3: Mapping[str, Band] | None = None) -> tuple[LayerWater, ...]:
    """Return the dry mass and the water of every layer [kg].

    `held_kg_m3` says by material id what its soaked layers hold, where that is known better than the table: from a
    weighed brick (`calibrated`), or from the hours under water and the days since (`Material.soaked_for`).
    """
    rows = []
    for stack in lining.stacks:
        for number, layer in enumerate(stack.layers):
            water_kg = held(layer, held_kg_m3) * lining.wet_m3(stack.part, number)
            dry_kg = layer.material.dry_density_kg_m3 * lining.layer_m3(stack.part, number)
            rows.append(LayerWater(stack.part, layer, dry_kg, water_kg))
    return tuple(rows)


def drawn_water(lining: Lining, ranks: Ranks, held_kg_m3: Mapping[str, Band] | None = None) -> Values:
    """Return the water of every layer [kg] by draws, (n_layer, n_draw), from the same spans as `layer_water`.

    What a family of materials holds and how far water climbs in it are drawn once for all its layers: they lay under
    the same water and drained as long. Families are drawn apart. Raises QuantityError.
    """
    import numpy as np

    return np.array([
        _drawn_kg(lining, stack.part, number, held_kg_m3, ranks)
        for stack in lining.stacks
        for number in range(len(stack.layers))
    ])  # fmt: skip


def _drawn_kg(lining: Lining, part: Part, number: int, held_kg_m3: Mapping[str, Band] | None, ranks: Ranks) -> Values:
    """Return the water of one layer [kg] by draws: below the water line, and above it where it climbed."""
    import numpy as np

    def drawn(name: str, band: Band, most: float = inf) -> Values:
        return from_band(band, ranks.of(name), most)

    layer, zone = lining.layers(part)[number], lining.wet_zone(part, number)
    if layer.wet == "dry":
        return np.zeros(ranks.draws)
    pores_kg_m3 = 1000 * layer.material.open_porosity.high
    water_kg_m3 = drawn(f"water of {layer.material.family}", _full_kg_m3(layer, held_kg_m3), pores_kg_m3)
    if layer.wet == "damp":
        water_kg_m3 = water_kg_m3 * drawn("damp", material_data().damp_share, 1.0)
    rise_mm = drawn(f"rise of {layer.material.family}", layer.rise_mm)
    wet_mm = np.maximum(zone.bottom_mm, np.minimum(zone.top_mm, zone.line_mm + rise_mm)) - zone.bottom_mm
    under_m3 = zone.wet_m3()
    under_kg, risen_kg = water_kg_m3 * under_m3, water_kg_m3 * (zone.m3_per_mm * wet_mm - under_m3)
    return np.asarray(under_kg + risen_kg)


def held(layer: Layer, held_kg_m3: Mapping[str, Band] | None = None) -> Band:
    """Return the water [kg/m³] in the wet zone of a layer; what is known better replaces the table if it is soaked."""
    share = {"dry": ZERO, "damp": material_data().damp_share}.get(layer.wet, Band.exactly(1.0))
    return _full_kg_m3(layer, held_kg_m3) * share


def _full_kg_m3(layer: Layer, held_kg_m3: Mapping[str, Band] | None) -> Band:
    """Return what a layer holds where it is all soaked, or all splashed."""
    if layer.wet == "soaked":
        return (held_kg_m3 or {}).get(layer.material_id, layer.material.uptake.soaked_kg_m3)
    return layer.material.uptake.splashed_kg_m3


def calibrated(weighed: Material, wet_kg: float, dry_kg: float, volume_m3: float) -> Band:
    """Return the water held [kg/m³] from one piece weighed wet and oven-dry [kg]: w = (m_wet - m_dry) / V.

    It lay as long under water and drained as long as the layers around it, so that neither matters any more.
    Raises QuantityError where the piece is not heavier wet than dry, or holds more than its pores can.
    """
    for name, value in (("volume_m3", volume_m3), ("dry_kg", dry_kg)):
        if not value > 0:
            raise QuantityError(f"weighed piece, {name}", f"{value:g}", "more than 0")
    water_kg_m3, most = (wet_kg - dry_kg) / volume_m3, 1000 * weighed.open_porosity.high
    if not 0 < water_kg_m3 <= most:
        raise QuantityError(
            f"weighed piece of {weighed.id}", f"{water_kg_m3:.0f} kg/m³ of water", f"more than 0, at most {most:.0f}"
        )
    return material_data().weighed_brick * water_kg_m3


def dry_kg(rows: Iterable[LayerWater], part: Part | None = None) -> Band:
    """Return the dry mass [kg] of a part's lining, or of the whole lining."""
    return sum((row.dry_kg for row in rows if part in (None, row.part)), ZERO)


def water_kg(rows: Iterable[LayerWater], part: Part | None = None) -> Band:
    """Return the water [kg] in a part's lining, or in the whole lining."""
    return sum((row.water_kg for row in rows if part in (None, row.part)), ZERO)


def part_kg(rows: Iterable[LayerWater], part: Part, sections: int = 1) -> Band:
    """Return the wet mass [kg] of a part's lining, as somebody lifts it: lid, door, or one of a wall's equal sections.

    Casing, elements and water in the pan, which is drained first, are not in it. Raises QuantityError for fewer than
    one section, or sections of another part.
    """
    if sections < 1 or (sections > 1 and part != "wall"):
        raise QuantityError(part, f"{sections} sections", "1, or more for a wall")
    rows = tuple(rows)
    return (dry_kg(rows, part) + water_kg(rows, part)) / sections


def salt_kg(water_kg: Values, grams_per_litre: Band, seed: int) -> Values:
    """Return the salt [kg] that stays when the water has gone, draw by draw, with a litre counted as a kilogram.

    Sea water holds `sea_salt_g_l` of materials.toml; brackish water is measured. Raises QuantityError below 0 g/l.
    """
    if grams_per_litre.low < 0:
        raise QuantityError("salt", f"{grams_per_litre.low:g} g/l", "0 or more")
    return water_kg * from_band(grams_per_litre, shares("salt", water_kg.size, seed)) / 1000
