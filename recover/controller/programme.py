"""Programmes as values: what one controller runs of a day, or why it cannot; and what is said of them.

A refusal is a value with its reasons, what to do by hand, and what to look for in a replacement. `compile` makes both.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load
from recover.base.sources import Figure
from recover.controller.capability import BY_HAND, Controller, Degrees
from recover.controller.proof import Timeline
from recover.physics.wall import Step


@dataclass(frozen=True, kw_only=True)
class Instructions:
    """What goes with a run, as sentences for whoever starts it; temperatures in the controller's own degrees.

    `steps` as they are read back, `ends` how long it lasts, `then` what is done when it has ended.
    """

    before: str
    steps: tuple[str, ...]
    cutout: str
    ends: tuple[str, ...]
    then: tuple[str, ...]
    see: tuple[str, ...]
    power_cut: tuple[str, ...]
    change: str


@dataclass(frozen=True)
class ProgrammeRun:
    """What is typed in and started at once; it ends by itself with its last hold, and then the heater is off.

    `begins_degc` is what its first ramp was searched from. `reads`: readings are taken after it, the kiln
    isolated, before the next run of the day. `cutout_degc` is what the cut-out is set to for this run.
    """

    number: int
    begins_degc: float
    steps: tuple[Step, ...]
    reads: bool = False
    cutout_degc: float | None = None
    said: Instructions | None = None

    @property
    def top_degc(self) -> float:
        """Its highest set-point [°C]."""
        return max(step.to_degc for step in self.steps)

    @property
    def timeline(self) -> Timeline:
        """When each ramp and each hold of it ends, in hours from its start."""
        return Timeline.of(min(self.begins_degc, self.steps[0].to_degc), self.steps)

    @property
    def hours(self) -> float:
        """From its start to its end [h]."""
        return self.timeline.end_h


@dataclass(frozen=True)
class Programme:
    """A day as runs of one controller, proven."""

    start_degc: float
    controller: Controller
    runs: tuple[ProgrammeRun, ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of all runs, one after the other."""
        return tuple(step for run in self.runs for step in run.steps)

    @property
    def hours(self) -> float:
        """How long all runs last [h], without what lies between them."""
        return sum(run.hours for run in self.runs)


@dataclass(frozen=True)
class RefusalReason:
    """Why a controller cannot: the name of the reason, and its sentence."""

    id: str
    says: str


@dataclass(frozen=True)
class Refusal:
    """Why a controller cannot run a day, how it is done by hand, and what a replacement must be able to do."""

    reasons: tuple[RefusalReason, ...]
    manual: tuple[str, ...]
    look_for: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Words:
    """The sentences of `programme.toml`, and the figures in them; `warm_degc` is what a room may have."""

    warm_degc: Figure
    cycle_s: Figure
    cycle_degc: Figure
    apart_k: Figure
    gone_min: Figure
    cooled_k: Figure
    each_k: Figure
    shown: dict[str, str]
    refused: dict[str, str]
    part: dict[str, str]
    remedy: dict[str, list[str]]
    run: dict[str, str]
    restart: dict[str, str]
    power_cut: dict[str, str]
    power_cut_rule: dict[str, str]


@cache
def words() -> _Words:
    """Return what is said of programmes. Raises DataError on a faulty file."""
    return load("controller/programme.toml", "recover-programme", _Words)


def manual(degrees: Degrees = "C") -> tuple[str, ...]:
    """Return how a day is followed by hand."""
    apart, overshoot = (shown_k(kelvins, degrees) for kelvins in (words().apart_k.value, BY_HAND.overshoot_k))
    return tuple(line.format(apart=apart, overshoot=overshoot) for line in words().remedy["manual"])


# ---------------------------------------------------------------------------------------- degrees


def shown(degc: float, degrees: Degrees) -> str:
    """Return a temperature as it is printed; in °F where those are shown, with °C beside them."""
    return words().shown[degrees].format(own=_plain(degc * 9 / 5 + 32), degc=_plain(degc))


def shown_k(kelvins: float, degrees: Degrees) -> str:
    """Return a difference of temperatures as it is printed."""
    return words().shown[f"{degrees}_apart"].format(own=_plain(kelvins * 9 / 5), kelvins=_plain(kelvins))


def shown_k_h(ramp_k_h: float, degrees: Degrees) -> str:
    """Return a ramp as it is printed."""
    return words().shown[f"{degrees}_ramp"].format(own=_plain(ramp_k_h * 9 / 5), ramp=_plain(ramp_k_h))


def _plain(number: float) -> str:
    """Return a number as a display has it: to a tenth, nothing between its digits."""
    return f"{round(number, 1) + 0.0:g}"
