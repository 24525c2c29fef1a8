"""What is around a kiln for a stretch of time: the air of its room or of an enclosure, and what holds its chamber."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.wall import Course, Room, Setup

if TYPE_CHECKING:
    from recover.physics.draws import Values


@dataclass(frozen=True, kw_only=True)
class Around:
    """What is around a kiln for a stretch of time and what holds its chamber; hours count from where it begins.

    `room_degc` is the air around the casing, and what comes in as fresh air; `room_vapour` the mole fraction of vapour
    in it, one or per draw. `chamber_degc` is asked of a heater of `power_kw`; None: there is no heat, and the chamber
    floats. `vent_m3_h` of fresh air (at 20 °C) goes through the chamber; None: what each draw drew for its opening.
    With `enclosed_m3_h` casing and chamber stand in one air instead, kept at `chamber_degc`: so much of it (at 20 °C)
    is taken out to the open and replaced by the room's, and its vapour follows from what the faces give. Raises
    QuantityError.
    """

    room_degc: Course
    room_vapour: Values | float
    chamber_degc: Course | None = None
    power_kw: float = inf
    vent_m3_h: float | None = None
    enclosed_m3_h: float | None = None

    def __post_init__(self) -> None:
        for name in ("power_kw", "vent_m3_h", "enclosed_m3_h"):
            value = getattr(self, name)
            if value is not None and not value >= 0:
                raise QuantityError(f"around, {name}", f"{value:g}", "0 or more")
        if self.enclosed_m3_h is not None and self.chamber_degc is None:
            expected = "what its air is kept at; room_degc is that of the room around it"
            raise QuantityError("around, an enclosure", "no chamber_degc", expected)
        if self.enclosed_m3_h is not None and self.vent_m3_h is not None:
            raise QuantityError("around", "enclosed_m3_h and vent_m3_h", "one of them: an enclosure has one air")

    def only(self, numbers: Sequence[int]) -> Around:
        """Return it for some of the draws."""
        vapour = self.room_vapour
        if isinstance(vapour, float | int) or vapour.ndim == 0:
            return self
        return replace(self, room_vapour=vapour[list(numbers)])

    @property
    def asked_degc(self) -> Course:
        """What the chamber is asked to be; unheated, as warm as the room, which then asks nothing."""
        return self.chamber_degc or self.room_degc

    @property
    def heater_kw(self) -> float:
        """The power of the heater; none where nothing is heated."""
        return 0.0 if self.chamber_degc is None else self.power_kw

    @property
    def fresh_m3_h(self) -> float | None:
        """Fresh air through the chamber, or through the enclosure that it stands in; None: what each draw drew."""
        return self.vent_m3_h if self.enclosed_m3_h is None else self.enclosed_m3_h


Stretches = tuple[tuple[float, Around], ...]
"""What is around a kiln from each hour on, until the next one."""


def check_stretches(setup: Setup, stretches: Sequence[tuple[float, Around]]) -> None:
    """Refuse stretches that do not follow one another from hour 0, or air in which a setup cannot be.

    Raises QuantityError.
    """
    begins = [hour for hour, _ in stretches]
    if begins[0] != 0 or any(late <= early for early, late in pairwise(begins)):
        raise QuantityError("around, at_h", ", ".join(f"{hour:g}" for hour in begins), "hours that rise, the first 0")
    for hour, around in stretches:
        try:
            room = Room(around.room_degc, float(around.room_vapour), setup.room.height_m)
            replace(setup, course=around.asked_degc, room=room)
        except QuantityError as error:
            told = error.problems[0]
            where = f"around, at {hour:g} h, {told.where}"
            raise QuantityError(where, told.what, told.remedy.removeprefix("expected ")) from error
