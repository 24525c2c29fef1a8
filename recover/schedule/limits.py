"""What a schedule keeps to: each limit with its number, on whose authority, and whether a run kept it.

A limit is looked at as the ninetieth percentile over the draws.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from recover.base.datafile import load
from recover.base.sources import Figure
from recover.physics.air import Air
from recover.physics.draws import Spread, spread
from recover.physics.stages import Stage, below_boiling_degc
from recover.physics.steady import steady_flows
from recover.profiles import Limit, own_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from recover.physics.around import Around
    from recover.physics.ensemble import Ensemble
    from recover.physics.lining import LayerStack

    Values = NDArray[Any]

VAPOUR_OVER_H = 1.0
"""A mean over less would show the cells of the grid."""


@dataclass(frozen=True)
class _Figures:
    """Figures of every schedule, see `limits.toml`: where readings are taken [°C], and what a search goes by."""

    hold_point: tuple[Figure, ...]
    unknown_power_kw: Figure
    least_draws: Figure
    within_days: Figure

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
    reheat: Limit
    demand: Limit
    steam: Limit
    casing: Limit
    terminal: Limit
    top: Limit
    hold: Limit
    boiling_left: Limit
    lag: Limit
    water_left: Limit
    attendance: Limit
    starts_after: Limit
    ends_before: Limit
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


@dataclass(frozen=True)
class Boiling:
    """The gate before boiling: nothing hotter than `hold_degc` until it opens.

    It opens once the chamber has been held below boiling, at `from_degc` or above, for the least hours of practice, and
    so little water is left as `plan_boiling_left` says.
    """

    hold_degc: float
    from_degc: float
    hours: float

    @classmethod
    def of(cls, stages: tuple[Stage, ...], lining_mm: float) -> Boiling:
        """Return the gate of a lining so thick that practice heats by these stages: the shortest of its hours."""
        stage = next(one for one in stages if one.name == "below_boiling")
        return cls(stage.to_degc, stage.from_degc, stage.hours(lining_mm).low)


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """Under what a kiln is heated: its limits, the hottest chamber and the limit behind it, the gate before boiling.

    `day` is what is around it while it is heated, `night` while the heater is off; the hours of both count from the
    opening of a day. `height_m` is the place's above the sea, None where it is not known.
    """

    limits: Limits
    top: tuple[float, str]
    boiling: Boiling
    day: Around
    night: Around
    height_m: float | None = 0.0

    @property
    def hold_points_degc(self) -> tuple[float, ...]:
        """Where readings are taken, coolest first."""
        return figures().hold_points_degc(self.height_m)

    def only(self, numbers: Sequence[int]) -> Conditions:
        """Return them for some of the draws."""
        return replace(self, day=self.day.only(numbers), night=self.night.only(numbers))


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
        ramp=_ramp(stages), reheat=own["plan_reheat_k_h"],
        demand=own["plan_demand"], steam=own["plan_steam_share"], casing=own["plan_casing_degc"],
        terminal=own["plan_terminal_degc"],
        top=own["plan_pest_degc" if pest else "plan_top_degc"],
        hold=own["plan_hold_h"], boiling_left=own["plan_boiling_left"], lag=own["plan_lag_k"],
        water_left=own["plan_water_left"],
        attendance=_attendance(attended_h), starts_after=own["plan_starts_after_h"],
        ends_before=own["plan_ends_before_h"], days=own["plan_days"],
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


def hottest_for_terminals(limits: Limits, stack: LayerStack, room_degc: float) -> tuple[float, str]:
    """Return the hottest chamber that may be asked for [°C], and the limit behind it.

    The terminal space keeps to its limit, at steady heat with the wall dry; or it is the top itself.
    """
    low, high = room_degc, limits.top.value
    if _terminal_degc(stack, high, room_degc) <= limits.terminal.value:
        return high, limits.top.id
    while high - low > 1:
        middle = (low + high) / 2
        keeps = _terminal_degc(stack, middle, room_degc) <= limits.terminal.value
        low, high = (middle, high) if keeps else (low, middle)
    return low, limits.terminal.id


def _terminal_degc(stack: LayerStack, chamber_degc: float, room_degc: float) -> float:
    return max(flow.casing_degc for flow in steady_flows(stack, chamber_degc, room_degc))


# ---------------------------------------------------------------------------------------- what a run came to


@dataclass(frozen=True)
class Peak:
    """What a limit came to: its draws at the hour at which the p90 over them, which is judged, is highest; and the p99
    of what each draw came to at any hour.
    """

    limit_id: str
    reached: Spread
    p99: float

    @classmethod
    def of(cls, limit_id: str, values: Values) -> Peak:
        """Return it from what each draw came to at each hour (n_draw, n_hour)."""
        import numpy as np

        at = int(np.argmax(np.quantile(values, 0.9, axis=0)))
        return cls(limit_id, spread(values[:, at]), float(np.quantile(values.max(axis=1), 0.99)))


def reached(limits: Limits, did: Ensemble, asked_degc: Values) -> dict[str, Values]:
    """Return what each draw came to at each hour of a run, by the limit that it is held to (n_draw, n_hour).

    How far the chamber lags behind what is asked of it at each hour counts where the power of the elements is known.
    """
    import numpy as np

    from recover.physics.ensemble import at_hours

    found: dict[str, Values] = {
        limits.demand.id: did.demand.max(axis=2), limits.steam.id: _mean(did.hours, did.chamber_vapour),
        limits.casing.id: did.casing_degc.max(axis=2),
    }  # fmt: skip
    if limits.power:
        found[limits.lag.id] = asked_degc - did.chamber_degc
    if limits.room:
        gone = did.water_kg[:, :1] - did.water_kg
        back = at_hours(did.hours - VAPOUR_OVER_H, did.hours, gone)
        found[limits.room.id] = (gone - back) / np.minimum(VAPOUR_OVER_H, np.maximum(did.hours, VAPOUR_OVER_H / 4))
    return found


def _mean(hours: Values, values: Values) -> Values:
    """Return what each draw had on the mean of the last hour: each cell of the grid that dries gives a pulse."""
    import numpy as np

    from recover.physics.ensemble import at_hours

    areas = np.diff(hours) * (values[:, 1:] + values[:, :-1]) / 2
    whole = np.concatenate([np.zeros((len(values), 1)), np.cumsum(areas, axis=1)], axis=1)
    back = at_hours(hours - VAPOUR_OVER_H, hours, whole)
    lasts = np.minimum(VAPOUR_OVER_H, hours)
    return np.where(lasts > 0, (whole - back) / np.maximum(lasts, 1e-9), values)
