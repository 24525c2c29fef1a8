"""The piece that is weighed: a brick, or half of one, out of the wet hot face, marked, put back after each weighing.

It dries as the hot face does, before what lies behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recover.physics.lining import Lining
from recover.physics.uptake import held

if TYPE_CHECKING:
    from recover.physics.draws import Values


@dataclass(frozen=True)
class Piece:
    """What a piece weighs wet and dry [kg], where that is known; else the share of its wet weight that is water."""

    wet_kg: float | None
    dry_kg: float | None
    water_share: float

    @property
    def unit(self) -> str:
        """In what it is told: kilograms, or per cent of what it weighed when it was wet."""
        return "% of its wet weight" if self.wet_kg is None or self.dry_kg is None else "kg"

    def weighs(self, left: Values | float) -> Values | float:
        """Return what it weighs with a share of its first water left, in its unit."""
        if self.wet_kg is None or self.dry_kg is None:
            return 100.0 * (1 - self.water_share * (1 - left))
        return self.dry_kg + left * (self.wet_kg - self.dry_kg)

    def left(self, weighs: float) -> float:
        """Return the share of its first water that it still holds where it weighs so much, in its unit."""
        if self.wet_kg is None or self.dry_kg is None:
            return 1 - (1 - weighs / 100) / self.water_share
        return (weighs - self.dry_kg) / (self.wet_kg - self.dry_kg)


def piece_of(lining: Lining, wet_kg: float | None, dry_kg: float | None) -> Piece:
    """Return the piece of a lining's hot face, by what its material holds and weighs where nobody weighed it."""
    wet = [stack.layers[0] for stack in lining.stacks if stack.layers[0].wet != "dry"]
    face = (wet or [lining.wall.layers[0]])[0]
    water, dry = held(face).mid, face.material.dry_density_kg_m3.mid
    weighed = wet_kg is not None and dry_kg is not None and wet_kg > dry_kg > 0
    return Piece(wet_kg if weighed else None, dry_kg if weighed else None, water / (dry + water))
