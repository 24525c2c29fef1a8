"""A day of a way from outside on all draws: by day what the way puts around the kiln, then a night in the room's air.

The vapour that a kiln gives into its room makes the room damper, and its own drying slower: a stretch is reckoned in a
room that takes up what the kiln gave in the stretch before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from recover.physics.air import Air
from recover.physics.around import Around, Stretches
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, Ensemble, Standing, joined, stretch
from recover.physics.figures import opening
from recover.physics.room import RoomAir
from recover.physics.wall import Course
from recover.plan.clock import DAY_H
from recover.plan.of_job import Taken
from recover.plan.ways import WayCard, heater_kw, machines_kw, room_beside, ways
from recover.schedule.heated import moments_h

SHOWN_H = 2.0
COLDEST_AT = 0.8
"""At which share of the time from closing to opening a room is coldest: early in the morning."""

WARMS_IN_H = 0.5
"""How long a heater from outside takes to warm its air."""


@dataclass(frozen=True)
class Stood:
    """Where the draws of a kiln stand between two days, and the vapour that each gave last into its room [kg/h]."""

    draws: Draws
    standing: Standing
    gave_kg_h: Numbers

    @property
    def water_kg(self) -> Numbers:
        """The water in each draw [kg]."""
        still = Around(room_degc=Course.steady(0.0), room_vapour=0.0)
        return stretch(self.draws, self.standing, still, [0.0])[0].water_kg[:, 0]

    def only(self, numbers: Sequence[int]) -> Stood:
        """Return where some of the draws stand, one as often as it is named."""
        own = list(numbers)
        standing = Standing(self.standing.unknowns[own], self.standing.held[own])
        return Stood(self.draws.only(own), standing, self.gave_kg_h[own])

    @classmethod
    def begin(cls, draws: Draws) -> Stood:
        """Return where draws start, in a room that the kiln has given nothing to beyond what was read there."""
        return cls(draws, draws.begin(), np.zeros(len(draws.setups)))


def run_day(card: WayCard, of: Taken, stood: Stood, on_h: float) -> tuple[Ensemble, Stretches, Stood]:
    """Run a day that is on for `on_h` hours from its opening, and left alone until the next one opens; return what the
    draws did, what was around them, and where they stand then."""
    parts: list[Ensemble] = []
    stretches: list[tuple[float, Around]] = []
    for on, begins_h, ends_h in ((True, 0.0, on_h), (False, on_h, DAY_H)):
        if ends_h > begins_h:
            around = _around(card, of, stood, ends_h - begins_h, on=on)
            did, stood = _stretched(around, stood, ends_h - begins_h)
            parts.append(did)
            stretches.append((begins_h, around))
    return joined(parts), tuple(stretches), stood


def _stretched(around: Around, stood: Stood, lasts_h: float) -> tuple[Ensemble, Stood]:
    did, standing = stretch(stood.draws, stood.standing, around, moments_h(lasts_h, SHOWN_H))
    gave = (did.water_kg[:, 0] - did.water_kg[:, -1]) / lasts_h
    return did, Stood(stood.draws, standing, np.maximum(gave, 0.0))


def _around(card: WayCard, of: Taken, stood: Stood, lasts_h: float, *, on: bool) -> Around:
    """Return what is around the kiln: the way's own air while it is on, else the air of the room as it stands open."""
    if card.air == "workshop":
        return _workshop(card, on=on)
    if not on:
        return night(of.room, of.room.unattended.vapour_share(stood.gave_kg_h), lasts_h)
    room_degc, vapour = of.room.day_degc, room_beside(card, of).vapour_share(into_room(card) * stood.gave_kg_h)
    figures = ways()
    still = Course.steady(room_degc)
    if card.air == "enclosure":
        warm = Course((0.0, WARMS_IN_H), (room_degc, max(figures.enclosure_degc.mid, room_degc)))
        return Around(
            room_degc=still, room_vapour=vapour, chamber_degc=warm, power_kw=heater_kw(card, of) - losses_kw(of),
            enclosed_m3_h=figures.exhaust_m3_h.mid,
        )  # fmt: skip
    if card.air == "small_heater":
        warm = Course((0.0, WARMS_IN_H), (room_degc, max(figures.small_heater_degc.mid, room_degc)))
        return Around(
            room_degc=still, room_vapour=vapour, chamber_degc=warm, power_kw=heater_kw(card, of),
            vent_m3_h=opening(card.opening).vent_m3_h.mid,
        )  # fmt: skip
    return Around(room_degc=still, room_vapour=vapour, vent_m3_h=opening(card.opening).vent_m3_h.mid)


def night(room: RoomAir, vapour: Numbers | float, lasts_h: float) -> Around:
    """Return the air of a room with nothing on in it: it falls to its coldest before morning, and is warm by day."""
    degc = room.day_degc, room.night_degc, room.day_degc
    return Around(room_degc=Course((0.0, COLDEST_AT * lasts_h, lasts_h), degc), room_vapour=vapour)


def into_room(card: WayCard) -> float:
    """Return which share of what leaves the kiln enters the room while the way is on: an enclosure blows it out."""
    return 0.0 if card.air in ("enclosure", "workshop") else 1.0


def _workshop(card: WayCard, *, on: bool) -> Around:
    """Return the air of a workshop, which stays warm and dry; nothing moves it through the chamber while all is off."""
    figures = ways()
    degc = figures.workshop_degc.mid
    return Around(
        room_degc=Course.steady(degc), room_vapour=Air(degc, figures.workshop_percent.mid).vapour_share,
        vent_m3_h=opening(card.opening).vent_m3_h.mid if on else 0.0,
    )  # fmt: skip


# ---------------------------------------------------------------------------------------- what a day takes


def losses_kw(of: Taken) -> float:
    """Return what a warm enclosure loses through its own walls [kW]: P = U A ΔT."""
    rise_k = max(ways().enclosure_degc.mid - of.room.day_degc, 0.0)
    return ways().enclosure_w_k.mid / 1000 * rise_k


def kwh(card: WayCard, of: Taken, did: Ensemble, on_h: float) -> Numbers:
    """Return what a way takes on a day [kWh] by draw: what a heater gives and an enclosure loses; its own fan.

    Where air is all that moves, what a dehumidifier takes by the litre, unless one is counted among the room's
    machines.
    """
    figures = ways()
    if card.air == "enclosure":
        return did.heater_kwh[:, -1] + (losses_kw(of) + figures.fan_kw.mid) * on_h
    if card.air == "small_heater":
        return did.heater_kwh[:, -1]
    if card.air == "room" and of.room.dehumidifier_l_day:
        return np.full(len(did.setups), figures.fan_kw.mid * on_h)
    gone_kg = np.maximum(did.water_kg[:, 0] - did.water_kg[:, -1], 0.0)
    return figures.fan_kw.mid * on_h + figures.dehumidifier_kwh_l.mid * gone_kg


def machines_kwh(card: WayCard, of: Taken, on_h: float) -> float:
    """Return what the room's fan and dehumidifier take on a day [kWh], on while the way is, as with own elements."""
    return machines_kw(room_beside(card, of)) * on_h
