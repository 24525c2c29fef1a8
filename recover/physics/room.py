"""The air of a kiln room: what a kiln's vapour makes of it, by what comes in from outside and what is drawn from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.air import VAPOUR_BY_AIR, Air
from recover.physics.figures import figures

if TYPE_CHECKING:
    from recover.physics.draws import Values

LEAST_KG_H = 1e-9
"""A room without any air that comes in keeps all that is given to it."""


@dataclass(frozen=True, kw_only=True)
class RoomAir:
    """The air of the kiln room: by day and night, what replaces it, what takes water out of it.

    `air_m3_h` comes in from `outside`; `read` is the room as it was found, without a kiln that dries in it. Raises
    QuantityError.
    """

    day_degc: float
    night_degc: float
    outside: Air
    air_m3_h: float
    dehumidifier_l_day: float
    read: Air

    def __post_init__(self) -> None:
        for name in ("air_m3_h", "dehumidifier_l_day"):
            if not getattr(self, name) >= 0:
                raise QuantityError(f"room, {name}", f"{getattr(self, name):g}", "0 or more")
        if self.read.pressure_pa != self.outside.pressure_pa:
            found = f"{self.read.pressure_pa:.0f} and {self.outside.pressure_pa:.0f} Pa"
            raise QuantityError("room, inside and outside", found, "the same pressure: one height above the sea")

    @classmethod
    def of(cls, read: Air, outside: Air, air_m3_h: float | None, dehumidifier_l_day: float | None) -> RoomAir:
        """Return a room that was read by day, and falls at night; not known (None): little air, no dehumidifier."""
        night_degc = max(read.degc - figures().night_fall_k.mid, min(read.degc, 0.0))
        air_m3_h = figures().room_air_m3_h.mid if air_m3_h is None else air_m3_h
        return cls(
            day_degc=read.degc, night_degc=night_degc, outside=outside, air_m3_h=air_m3_h,
            dehumidifier_l_day=dehumidifier_l_day or 0.0, read=read,
        )  # fmt: skip

    @property
    def unattended(self) -> RoomAir:
        """The room with its fan and its dehumidifier off: what comes in by itself, doors and windows shut."""
        return replace(self, air_m3_h=min(self.air_m3_h, figures().room_air_m3_h.mid), dehumidifier_l_day=0.0)

    def vapour_share(self, kiln_kg_h: Values | float) -> Values:
        """Return the mole fraction of vapour in the room's air while a kiln gives so much [kg/h].

        W = W_read + (m_kiln - m_dehumidifier) / (ρ V), and W_outside for W_read where that is more: what a room gives
        of its own it goes on giving. Never drier than outside, and never damper than saturated at its coldest, where
        the rest runs down the walls.
        """
        import numpy as np

        carries_kg_h = max(self.air_m3_h * self.outside.dry_kg_m3, LEAST_KG_H)
        added_kg_h = np.asarray(kiln_kg_h, np.float64) - self.dehumidifier_l_day / 24
        out, coldest = self.outside.humidity_ratio, min(self.day_degc, self.night_degc)
        ratio = np.maximum(max(self.read.humidity_ratio, out) + added_kg_h / carries_kg_h, out)
        ratio = np.minimum(ratio, Air(coldest, 100, self.read.pressure_pa).humidity_ratio)
        return np.asarray(ratio / (VAPOUR_BY_AIR + ratio))
