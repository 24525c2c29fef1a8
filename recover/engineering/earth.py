"""Earth continuity: what each country lets a protective conductor measure, and the conductor's own part in it."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Literal

from recover.engineering.supply import checked, supply_data
from recover.errors import QuantityError
from recover.profiles import EarthRule
from recover.profiles import profile as country

CopperClass = Literal["solid_or_stranded", "flexible"]
"""Class 1 or 2 of fixed wiring; class 5 of cords."""


@dataclass(frozen=True)
class EarthLimit:
    """The most that earth continuity may measure [ohm], the conductor's part in it, and the authority."""

    ohm: float
    conductor_ohm: float
    rule: EarthRule

    def passes(self, measured_ohm: float) -> bool:
        """Say whether a measured value is within the limit. Raises QuantityError for a negative one: null the leads."""
        return checked("earth continuity", measured_ohm, "ohm", zero=True) <= self.ohm * (1 + 1e-9)


def conductor_ohm(length_m: float, area_mm2: float, copper: CopperClass = "flexible") -> float:
    """Return the resistance [ohm] of a copper conductor at 20 °C, one way. Raises QuantityError for other sizes."""
    row = next(row for row in supply_data().copper if row.id == copper)
    if area_mm2 not in row.areas_mm2:
        sizes = ", ".join(f"{area:g}" for area in row.areas_mm2)
        raise QuantityError("conductor", f"{area_mm2:g} mm²", f"one of {sizes} mm²")
    return checked("length", length_m, "m", zero=True) / 1000 * row.ohm_per_km[row.areas_mm2.index(area_mm2)]


def limit_ohm(
    profile: str, length_m: float = 0.0, area_mm2: float | None = None, copper: CopperClass = "flexible"
) -> EarthLimit:
    """Return the limit of earth continuity for a kiln with so much conductor between plug or isolator and casing.

    uk 0.1 ohm + R of the conductor; eu 0.3 ohm up to 5 m and 0.1 ohm for each whole further 7.5 m, at most 1 ohm; au_nz
    1 ohm; us none printed, 0.1 ohm is ours. A conductor of unknown area is not counted. Raises QuantityError.
    """
    rule, length_m = country(profile).earth, checked("length", length_m, "m", zero=True)
    own = 0.0 if area_mm2 is None else conductor_ohm(length_m, area_mm2, copper)
    steps = floor(max(0.0, length_m - rule.free_m) / rule.step_m + 1e-9)
    allowed = min(rule.ohm + steps * rule.step_ohm, rule.most_ohm) + (own if rule.adds_conductor else 0.0)
    return EarthLimit(allowed, own, rule)
