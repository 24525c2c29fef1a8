"""What a controller can do, in plain words: the record that a schedule is compiled for.

What nobody has found out takes the value that asks most of whoever attends (`controller.toml` says why of each); the
record names those values, and of a controller that too little is known of nothing is compiled.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, replace
from functools import cache
from math import ceil, floor, inf
from typing import Any, Literal

from recover.base.datafile import load
from recover.base.sources import Authority, Figure
from recover.engineering.thermocouples import Letter

AfterPowerCut = Literal["stops", "goes_on_if_near", "goes_on", "starts_again", "unknown"]
Cutout = Literal["own_probe", "shared", "none"]

_ROUNDING = 1e-9
"""So far beside a step of its own, a setting is that step."""


@dataclass(frozen=True)
class Ramps:
    """The ramps [K/h] that can be set: any `rate` of a span in steps, those of a `list`, a `time` to the target.

    With `none` it goes to its set-point at full power.
    """

    entry: Literal["rate", "list", "time", "none"]
    _: KW_ONLY
    least_k_h: float = 0.0
    greatest_k_h: float = inf
    step_k_h: float = 1.0
    listed_k_h: tuple[float, ...] = ()
    step_min: float = 1.0
    longest_h: float = inf

    def at_most(self, wanted_k_h: float, rise_k: float) -> float | None:
        """Return the steepest ramp over a rise that is no steeper than wanted; None where all are steeper."""
        if self.entry == "list":
            return max((rate for rate in self.listed_k_h if rate <= wanted_k_h + _ROUNDING), default=None)
        if self.entry == "rate":
            rate = min(wanted_k_h, self.greatest_k_h)
            rate = floor(rate / self.step_k_h + _ROUNDING) * self.step_k_h if rate < inf else rate
            return rate if rate > 0 and rate >= self.least_k_h else None
        return self._by_time(wanted_k_h, rise_k) if self.entry == "time" else None

    def slowest(self, rise_k: float) -> float | None:
        """Return the slowest ramp over a rise; None where there is none."""
        if self.entry == "list":
            return min(self.listed_k_h, default=None)
        if self.entry == "rate":
            return max(ceil(self.least_k_h / self.step_k_h - _ROUNDING), 1) * self.step_k_h
        return rise_k / self.longest_h if self.entry == "time" and self.longest_h < inf else None

    def _by_time(self, wanted_k_h: float, rise_k: float) -> float | None:
        step_h = self.step_min / 60
        hours = max(ceil(rise_k / wanted_k_h / step_h - _ROUNDING), 1) * step_h
        return rise_k / hours if hours <= self.longest_h else None


@dataclass(frozen=True, kw_only=True)
class Controller:
    """A controller's capabilities; hours, K and °C but for `temperature_step`, which is in its own `degrees`.

    `ramps_to_degc`: above it, it only gives full power, by which the kiln was seen to climb at `full_power_k_h`.
    `assumed` names what nobody has found out.
    """

    letters: tuple[Letter, ...]
    programmes: int
    steps: int
    ramps: Ramps
    degrees: Literal["C", "F"]
    temperature_step: float
    least_degc: float
    highest_degc: float
    hold_step_min: float
    longest_hold_h: float
    waits_for_kiln: bool
    starts_from: Literal["present", "room", "jumps"]
    starts_hot: bool
    delays_start: bool
    ramps_to_degc: float
    overshoot_k: float
    after_power_cut: AfterPowerCut
    cutout: Cutout
    full_power_k_h: float | None = None
    cutout_margin_k: float | None = None
    cycle_s: float | None = None
    assumed: tuple[str, ...] = ()

    @classmethod
    def known(cls, **known: Any) -> Controller:
        """Return a record from what is known, by field; what is left out takes its conservative value.

        Raises DataError on a faulty file.
        """
        assumed = tuple(reason.field for reason in _file().reason if reason.field not in known)
        return replace(_file().conservative, assumed=assumed, **known)

    @property
    def known_enough(self) -> bool:
        """Whether so much is known of it that a programme for it means something."""
        return len(_file().reason) - len(self.assumed) >= _file().least_known.value

    def rounded_down(self, degc: float) -> float:
        """Return the highest set-point [°C] it can be given that is no hotter."""
        own = degc * 9 / 5 + 32 if self.degrees == "F" else degc
        own = floor(own / self.temperature_step + _ROUNDING) * self.temperature_step
        return min(degc, (own - 32) * 5 / 9 if self.degrees == "F" else own)

    def hold_h(self, hours: float) -> float:
        """Return the shortest hold [h] in its own steps that is no shorter."""
        step_h = self.hold_step_min / 60
        return ceil(hours / step_h - _ROUNDING) * step_h

    @property
    def coarseness_k(self) -> float:
        """Its smallest step of temperature [K]."""
        return self.temperature_step * (5 / 9 if self.degrees == "F" else 1)


@dataclass(frozen=True, kw_only=True)
class _ConservativeReason(Authority):
    """Why a capability that is not known is taken as it is."""

    field: str


@dataclass(frozen=True)
class _File:
    least_known: Figure
    conservative: Controller
    reason: list[_ConservativeReason]


@cache
def _file() -> _File:
    return load("controller/capability.toml", "recover-controller", _File)
