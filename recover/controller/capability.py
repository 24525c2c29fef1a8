"""What can be set: on a controller, or by somebody who heats by hand. A day is searched in what one of the two can set.

What nobody has found out of a controller takes the value that asks most of whoever attends (`capability.toml` says why
of each); the record names those values, and a controller that too little is known of runs nothing.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, replace
from functools import cache
from math import ceil, floor, inf
from typing import Any, Literal

from recover.base.datafile import load
from recover.base.sources import Authority, Figure
from recover.engineering.thermocouples import Letter
from recover.profiles import own_limits

Degrees = Literal["C", "F"]
AfterPowerCut = Literal["stops", "goes_on_if_near", "goes_on", "starts_again", "unknown"]
Cutout = Literal["own_probe", "shared", "none"]

_ROUNDING = 1e-9
"""So far beside a step of its own, a setting is that step."""


@dataclass(frozen=True)
class Ramps:
    """The ramps [K/h] that can be set: any `rate` of a span in steps, those of a `list`, a `time` to the target.

    `step_degrees_h` is in the controller's own degrees an hour. With `none` it goes to its set-point at full power.
    """

    entry: Literal["rate", "list", "time", "none"]
    _: KW_ONLY
    least_k_h: float = 0.0
    greatest_k_h: float = inf
    step_degrees_h: float = 1.0
    listed_k_h: tuple[float, ...] = ()
    step_min: float = 1.0
    longest_h: float = inf

    def at_most(self, wanted_k_h: float, rise_k: float, degree_k: float = 1.0) -> float | None:
        """Return the steepest ramp over a rise that is no steeper than wanted; None where all are steeper.

        `degree_k` is one of the controller's own degrees [K].
        """
        if self.entry == "list":
            return max((rate for rate in self.listed_k_h if rate <= wanted_k_h + _ROUNDING), default=None)
        if self.entry == "rate":
            rate = _down(min(wanted_k_h, self.greatest_k_h), self.step_degrees_h * degree_k)
            return rate if rate > 0 and rate >= self.least_k_h - _ROUNDING else None
        return self._by_time(wanted_k_h, rise_k) if self.entry == "time" else None

    def _by_time(self, wanted_k_h: float, rise_k: float) -> float | None:
        step_h = self.step_min / 60
        hours = max(ceil(rise_k / wanted_k_h / step_h - _ROUNDING), 1) * step_h
        return rise_k / hours if hours <= self.longest_h else None


@dataclass(frozen=True, kw_only=True)
class Controller:
    """A controller's capabilities; hours, K and °C but for `temperature_step`, which is in its own `degrees`.

    It is `there`, or somebody switches by hand. `steps` are those of one programme. Above `ramps_to_degc` it only gives
    full power. `assumed` names what nobody has found out; `plate_degc` is what the kiln stands by its plate, as far as
    that is known.
    """

    letters: tuple[Letter, ...]
    programmes: int
    steps: int
    ramps: Ramps
    degrees: Degrees
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
    cutout_margin_k: float | None = None
    plate_degc: float = inf
    cycle_s: float | None = None
    there: bool = True
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

    @property
    def hold_step_h(self) -> float:
        """The step of its holds [h]; no longer than its longest."""
        return min(self.hold_step_min / 60, self.longest_hold_h)

    def margin_fault(self, top_degc: float) -> Literal["short", "beyond"] | None:
        """Return why a margin of the cut-out counts as not known above a run's top; None where it may stand.

        One below the overshoot trips in good order; one past what the kiln stands, or far above the run, too late.
        """
        if self.cutout_margin_k is None:
            return None
        if self.cutout_margin_k < self.overshoot_k:
            return "short"
        too_late = self.cutout_margin_k > own_limits()["cutout_above_degrees"].value
        return "beyond" if too_late or top_degc + self.cutout_margin_k > self.plate_degc else None

    def cutout_above_k(self, top_degc: float) -> float:
        """Return how far above a run's top its cut-out is set [K]: its margin, or beyond the overshoot where none
        stands."""
        margin_k = None if self.margin_fault(top_degc) else self.cutout_margin_k
        return clear_of(self.overshoot_k) if margin_k is None else margin_k

    def set_degc(self, degc: float) -> float:
        """Return the highest set-point [°C] it can be given and still ramps to, that is no hotter.

        A whole step in its own degrees; it may lie below `least_degc`.
        """
        most = min(degc, self.highest_degc, self.ramps_to_degc)
        own = most * 9 / 5 + 32 if self.degrees == "F" else most
        own = _down(own, self.temperature_step)
        return min(most, (own - 32) * 5 / 9 if self.degrees == "F" else own)

    def ramp_k_h(self, wanted_k_h: float, rise_k: float) -> float | None:
        """Return the steepest ramp over a rise that is no steeper than wanted; None where all are steeper."""
        return self.ramps.at_most(wanted_k_h, rise_k, 5 / 9 if self.degrees == "F" else 1.0)

    def holds_h(self, hours: float) -> tuple[float, ...]:
        """Return the holds [h] in its own steps that are together no shorter, one after the other at one set-point."""
        left, longest = _up(hours, self.hold_step_h), _down(self.longest_hold_h, self.hold_step_h)
        made = []
        while left > longest + _ROUNDING:
            made.append(longest)
            left -= longest
        return (*made, left)


@dataclass(frozen=True)
class ByHand:
    """What somebody can set who switches by hand, after an independent probe: figures of `capability.toml`, °C."""

    @property
    def overshoot_k(self) -> float:
        """How far past its set-point the kiln goes [K]."""
        return _file().by_hand.overshoot_k.value

    @property
    def hold_step_h(self) -> float:
        """The step of holds [h]."""
        return _file().by_hand.hold_step_h.value

    @property
    def least_degc(self) -> float:
        """The coolest set-point that is kept [°C]."""
        return _file().by_hand.least_degc.value

    @property
    def steps(self) -> int:
        """How many steps somebody follows from one start."""
        return int(_file().by_hand.steps.value)

    @property
    def starts_hot(self) -> bool:
        """Whether heating may begin again in a kiln that is still hot."""
        return True

    def set_degc(self, degc: float) -> float:
        """Return the highest set-point [°C] that is no hotter."""
        return min(degc, _down(degc, _file().by_hand.temperature_step_k.value))

    def ramp_k_h(self, wanted_k_h: float, rise_k: float) -> float | None:  # noqa: ARG002 - any rise
        """Return the steepest ramp that is no steeper than wanted; None where all are steeper."""
        ramp = _down(wanted_k_h, _file().by_hand.ramp_step_k_h.value) if wanted_k_h < inf else wanted_k_h
        return ramp if ramp > 0 else None


BY_HAND = ByHand()
"""The one way to heat by hand."""


def clear_of(overshoot_k: float) -> float:
    """Return how far above a top a cut-out does not trip in good order [K]: beyond what may be overrun, by as much as
    its probe and the other may lie apart."""
    return overshoot_k + _file().probes_apart_k.value


def _down(value: float, step: float) -> float:
    """Return the greatest whole number of steps that is no more."""
    return floor(value / step + _ROUNDING) * step if value < inf else value


def _up(value: float, step: float) -> float:
    """Return the least whole number of steps that is no less."""
    return ceil(value / step - _ROUNDING) * step


@dataclass(frozen=True, kw_only=True)
class _ConservativeReason(Authority):
    """Why a capability that is not known is taken as it is."""

    field: str


@dataclass(frozen=True)
class _ByHandFigures:
    temperature_step_k: Figure
    ramp_step_k_h: Figure
    hold_step_h: Figure
    overshoot_k: Figure
    least_degc: Figure
    steps: Figure


@dataclass(frozen=True)
class _File:
    least_known: Figure
    probes_apart_k: Figure
    by_hand: _ByHandFigures
    conservative: Controller
    reason: list[_ConservativeReason]


@cache
def _file() -> _File:
    return load("controller/capability.toml", "recover-controller", _File)
