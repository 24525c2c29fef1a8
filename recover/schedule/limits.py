"""What a schedule keeps to: each limit with its number, on whose authority, and whether a run kept it.

A limit is looked at as the ninetieth percentile over the draws.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from recover.base.datafile import load
from recover.base.sources import Figure
from recover.physics.air import Air
from recover.physics.stages import Stage, below_boiling_degc
from recover.physics.wall import Course
from recover.profiles import Limit, own_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from recover.physics.ensemble import Ensemble
    from recover.schedule.spells import Attendance

    Values = NDArray[Any]

VAPOUR_OVER_H = 1.0
"""A mean over less would show the cells of the grid."""


@dataclass(frozen=True)
class _Figures:
    """Figures of every schedule, see `limits.toml`: where readings are taken [°C], and what a search goes by."""

    hold_point: tuple[Figure, ...]
    unknown_power_kw: Figure
    margin: Figure
    least_draws: Figure

    def hold_points_degc(self, height_m: float | None) -> tuple[float, ...]:
        """Return where readings are taken with the kiln isolated, coolest first; below boiling by the height [m]."""
        below = below_boiling_degc(0.0)
        return tuple(min(one.value, below_boiling_degc(height_m)) if one.value <= below else one.value
                     for one in self.hold_point)  # fmt: skip


@cache
def figures() -> _Figures:
    """Return the figures of every schedule. Raises DataError on a faulty file."""
    return load("schedule/limits.toml", "recover-plan-limits", _Figures)


@dataclass(frozen=True)
class RoomCare:
    """What takes vapour out of the room: air let out [m³/h], water drawn by a dehumidifier [l/day]; None: not known."""

    air_m3_h: float | None = None
    dehumidifier_l_day: float | None = None


@dataclass(frozen=True, kw_only=True)
class Limits:
    """The limits of one kiln's schedule; None where a kiln has none, or it is not known (power, room)."""

    ramp: Limit
    demand: Limit
    steam: Limit
    casing: Limit
    terminal: Limit
    top: Limit
    wrapped: Limit
    hold: Limit
    lag: Limit
    water_left: Limit
    attendance: Limit
    days: Limit
    power: Limit | None = None
    room: Limit | None = None

    def __iter__(self) -> Iterator[Limit]:
        for one in fields(self):
            if limit := getattr(self, one.name):
                yield limit

    def __getitem__(self, limit_id: str) -> Limit:
        return next(limit for limit in self if limit.id == limit_id)

    def changed(self, limit_id: str, value: float) -> Limits:
        """Return them with another number for one."""
        name = next(one.name for one in fields(self) if getattr(getattr(self, one.name), "id", "") == limit_id)
        return replace(self, **{name: replace(getattr(self, name), value=value)})

    def relaxed(self, limit_id: str, by: float = 1.25) -> Limits:
        """Return them with one that asks less, by a factor."""
        limit = self[limit_id]
        value = limit.value * by if limit.stricter == "less" else limit.value / by
        return self.changed(limit_id, min(value, 24.0) if limit_id == "plan_attendance" else value)


@dataclass(frozen=True)
class Conditions:
    """Under what a kiln is heated: limits, attendance, the hottest chamber and the limit behind it; where.

    The room's temperature [°C], and its height above the sea [m], None where it is not known.
    """

    limits: Limits
    attendance: Attendance
    top: tuple[float, str]
    room_degc: float
    height_m: float | None = 0.0

    @property
    def hold_points_degc(self) -> tuple[float, ...]:
        """Where readings are taken, coolest first."""
        return figures().hold_points_degc(self.height_m)

    @property
    def stretch_h(self) -> float:
        """How long a day is heated [h]; day and night is walked in stretches of a day."""
        return min(self.attendance.hours, 24.0)


def limits_of(
    stages: tuple[Stage, ...],
    power_kw: float | None,
    attended_h: float,
    care: RoomCare | None,
    outside: Air,
    *,
    pest: bool = False,
) -> Limits:
    """Return the limits of a lining that practice heats by these stages; with `pest`, below where elements crumble."""
    own = own_limits()
    return Limits(
        ramp=_ramp(stages), demand=own["plan_demand"], steam=own["plan_steam_share"], casing=own["plan_casing_degc"],
        terminal=own["plan_terminal_degc"],
        top=own["plan_pest_degc" if pest else "plan_top_degc"], wrapped=own["plan_wrapped_degc"],
        hold=own["plan_hold_h"], lag=own["plan_lag_k"], water_left=own["plan_water_left"],
        attendance=_attendance(attended_h), days=own["plan_days"],
        power=_power(power_kw), room=_room(care, outside),
    )  # fmt: skip


def _ramp(stages: tuple[Stage, ...]) -> Limit:
    """Return the steepest ramp that practice names for the kind of lining, the least where it names several."""
    ramp_k_h = min(stage.ramp_max_k_h for stage in stages if stage.ramp_max_k_h)
    first = next(stage for stage in stages if stage.ramp_max_k_h == ramp_k_h)
    return Limit(
        id="plan_ramp", value=ramp_k_h, unit="K/h", what="ramp for this kind of lining",
        stricter="less", basis=first.basis, because="The steepest that practice names while the lining is wet.",
    )  # fmt: skip


def _attendance(hours: float) -> Limit:
    return Limit(
        id="plan_attendance", value=hours, unit="hour", what="hours a day that somebody is there", stricter="less",
        basis="own_limit", because="Every heated hour is attended.",
    )  # fmt: skip


def _power(power_kw: float | None) -> Limit | None:
    if power_kw is None:
        return None
    return Limit(
        id="plan_power", value=power_kw, unit="kW", what="power of the elements", stricter="less", basis="own_limit",
        because="What the plate, or the ohms, say of the kiln.",
    )  # fmt: skip


def _room(care: RoomCare | None, outside: Air) -> Limit | None:
    """Return what the room's air and dehumidifier take up [kg/h]: m = V ρ ΔW + l/24."""
    if care is None or care.air_m3_h is care.dehumidifier_l_day is None:
        return None
    rise = own_limits()["room_rise_g_kg"].value / 1000
    takes = (care.air_m3_h or 0.0) * outside.dry_kg_m3 * rise + (care.dehumidifier_l_day or 0.0) / 24
    return Limit(
        id="plan_room", value=takes, unit="kg/h", what="vapour that ventilation and dehumidifier of the room take up",
        stricter="less", basis="own_limit",
        because="More would condense in the room, and make the air that enters the chamber damper.",
    )  # fmt: skip


# ---------------------------------------------------------------------------------------- what a run came to


def reached(limits: Limits, did: Ensemble, course: Course) -> dict[str, Values]:
    """Return what each draw came to at each hour of a run, by the limit that it is held to (n_draw, n_hour).

    How far the chamber lags behind its course counts where the power of the elements is known.
    """
    import numpy as np

    found: dict[str, Values] = {
        limits.demand.id: did.demand.max(axis=2), limits.steam.id: _mean(did.hours, did.chamber_vapour),
        limits.casing.id: did.casing_degc.max(axis=2),
    }  # fmt: skip
    if limits.power:
        found[limits.lag.id] = np.interp(did.hours, course.hours, course.degc) - did.chamber_degc
    if limits.room:
        gone = did.water_kg[:, :1] - did.water_kg
        back = np.array([np.interp(did.hours - VAPOUR_OVER_H, did.hours, one) for one in gone])
        found[limits.room.id] = (gone - back) / np.minimum(VAPOUR_OVER_H, np.maximum(did.hours, VAPOUR_OVER_H / 4))
    return found


def _mean(hours: Values, values: Values) -> Values:
    """Return what each draw had on the mean of the last hour: each cell of the grid that dries gives a pulse."""
    import numpy as np

    areas = np.diff(hours) * (values[:, 1:] + values[:, :-1]) / 2
    whole = np.concatenate([np.zeros((len(values), 1)), np.cumsum(areas, axis=1)], axis=1)
    back = np.array([np.interp(hours - VAPOUR_OVER_H, hours, one) for one in whole])
    lasts = np.minimum(VAPOUR_OVER_H, hours)
    return np.where(lasts > 0, (whole - back) / np.maximum(lasts, 1e-9), values)
