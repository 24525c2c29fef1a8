"""Programmes as values: what one controller runs of a schedule, or why it cannot; and what is said of them.

A refusal is a value with its reasons, what to do by hand, and what to look for in a replacement. `compile` makes both.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load
from recover.base.sources import Figure
from recover.controller.capability import Controller
from recover.controller.proof import Timeline
from recover.physics.wall import Step


@dataclass(frozen=True)
class ProgrammeRun:
    """What is typed in and started at once; `begins_degc` is where the run before it ended."""

    number: int
    begins_degc: float
    steps: tuple[Step, ...]

    @property
    def top_degc(self) -> float:
        """Its highest set-point [°C]."""
        return self.steps[-1].to_degc


@dataclass(frozen=True)
class Programme:
    """A schedule as runs of one controller, proven; `stops_degc` where it cannot go on to the end."""

    start_degc: float
    controller: Controller
    runs: tuple[ProgrammeRun, ...]
    stops_degc: float | None = None

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of all runs, one after the other."""
        return tuple(step for run in self.runs for step in run.steps)

    @property
    def hours(self) -> float:
        """How long all runs last [h], without what lies between them."""
        return Timeline.of(self.start_degc, self.steps).end_h


@dataclass(frozen=True)
class RefusalReason:
    """Why a controller cannot: the name of the reason, and its sentence."""

    id: str
    says: str


@dataclass(frozen=True)
class Refusal:
    """Why a controller cannot run a schedule, how it is done by hand, and what a replacement must be able to do."""

    reasons: tuple[RefusalReason, ...]
    manual: tuple[str, ...]
    look_for: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Words:
    """The sentences of `programme.toml`; `cycle_s` is a relay's cycle, `warm_degc` what a room may have."""

    warm_degc: Figure
    cycle_s: Figure
    cycle_degc: Figure
    refused: dict[str, str]
    part: dict[str, str]
    remedy: dict[str, list[str]]
    run: dict[str, str]
    power_cut: dict[str, str]
    power_cut_rule: dict[str, str]


@cache
def words() -> _Words:
    """Return what is said of programmes. Raises DataError on a faulty file."""
    return load("controller/programme.toml", "recover-programme", _Words)


def manual() -> tuple[str, ...]:
    """Return how a schedule is followed by hand."""
    return tuple(words().remedy["manual"])
