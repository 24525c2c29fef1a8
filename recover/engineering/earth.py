"""Earth continuity: what a country prints, what this project asks for, and the conductor's own part in the reading.

Of the two the lesser decides, for the length, cross-section and kind of conductor that lie within the reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from recover.engineering.supply import CopperClass, checked, conductor_ohm
from recover.profiles import EarthRule, own_earth
from recover.profiles import profile as country


@dataclass(frozen=True)
class EarthLimit:
    """What earth continuity may measure [ohm]: as printed (None where nothing is), and by this project's own rule."""

    printed_ohm: float | None
    own_ohm: float

    @property
    def ohm(self) -> float:
        """The lesser of the two: it decides."""
        return self.own_ohm if self.printed_ohm is None else min(self.printed_ohm, self.own_ohm)

    def passes(self, measured_ohm: float) -> bool:
        """Say whether a reading is within the lesser one. Raises QuantityError for a negative one: null the leads."""
        return _within(measured_ohm, self.ohm)

    def passes_printed(self, measured_ohm: float) -> bool | None:
        """Say whether a measured value is within what the country prints; None where it prints nothing."""
        return None if self.printed_ohm is None else _within(measured_ohm, self.printed_ohm)


def limit_ohm(
    profile: str, length_m: float = 0.0, area_mm2: float | None = None, copper: CopperClass = "flexible"
) -> EarthLimit:
    """Return the limit of earth continuity for a kiln with so much conductor between plug or isolator and casing.

    Printed: uk 0.1 ohm + R of the conductor; eu 0.3 ohm up to 5 m and 0.1 ohm for each whole further 7.5 m, at most
    1 ohm; au_nz 1 ohm; us none. Own: 0.1 ohm + R. A conductor of unknown area is not counted. Raises QuantityError.
    """
    length_m = checked("length", length_m, "m", zero=True)
    conductor = 0.0 if area_mm2 is None else conductor_ohm(length_m, area_mm2, copper)
    rule = country(profile).earth
    printed = None if rule is None else _allowed_ohm(rule, length_m, conductor)
    return EarthLimit(printed, _allowed_ohm(own_earth(), length_m, conductor))


def _allowed_ohm(rule: EarthRule, length_m: float, conductor: float) -> float:
    steps = floor(max(0.0, length_m - rule.free_m) / rule.step_m + 1e-9)
    return min(rule.ohm + steps * rule.step_ohm, rule.most_ohm) + (conductor if rule.adds_conductor else 0.0)


def _within(measured_ohm: float, limit: float) -> bool:
    return checked("earth continuity", measured_ohm, "ohm", zero=True) <= limit * (1 + 1e-9)
