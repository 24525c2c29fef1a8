"""Programmes: what one controller can run of a schedule, proven against it, or why it cannot.

A refusal is a value with its reasons, what to do by hand, and what to look for in a replacement. No programme leaves
this room that `proof` does not hold of.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from math import inf

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.measures import show_number
from recover.base.sources import Figure
from recover.engineering.thermocouples import Letter, emf_mv, temperature_degc
from recover.physics.wall import Course, Step
from recover.plan.compile import Compiler, Rules, UnableError, rules
from recover.plan.controller import Controller, known_enough
from recover.plan.proof import ProgrammeProof, prove, worst_course
from recover.plan.timeline import Timeline, falls


@dataclass(frozen=True)
class ProgrammeRun:
    """What is typed in and started at once; `begins_degc` is where the run before it ended."""

    number: int
    begins_degc: float
    steps: tuple[Step, ...]

    @property
    def hours(self) -> float:
        """How long it lasts [h]."""
        return Timeline.of(self.begins_degc, self.steps).end_h

    @property
    def top_degc(self) -> float:
        """Its highest set-point [°C]."""
        return self.steps[-1].to_degc


@dataclass(frozen=True)
class Programme:
    """A schedule as runs of one controller, and the proof; `stops_degc` where it cannot go on to the end."""

    start_degc: float
    schedule: tuple[Step, ...]
    controller: Controller
    runs: tuple[ProgrammeRun, ...]
    proof: ProgrammeProof
    dry_degc: float
    stops_degc: float | None = None

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps of all runs, one after the other."""
        return tuple(step for run in self.runs for step in run.steps)

    @property
    def hours(self) -> float:
        """How long all runs last [h], without what lies between them."""
        return Timeline.of(self.start_degc, self.steps).end_h

    @property
    def course(self) -> Course:
        """The set-point against time."""
        return Course.of(self.start_degc, self.steps)

    @property
    def worst_course(self) -> Course:
        """What the kiln does at worst, for the drying model: stairs and overshoot."""
        return worst_course(self.start_degc, self.steps, self.controller.overshoot_k, self.dry_degc)


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


@dataclass(frozen=True)
class Words:
    """The sentences of `programme.toml`; `cycle_min` is the cycle of heating by hand, `cycle_s` a relay's."""

    cycle_min: Figure
    cycle_s: Figure
    cycle_degc: Figure
    refused: dict[str, str]
    part: dict[str, str]
    remedy: dict[str, list[str]]
    run: dict[str, str]
    power_cut: dict[str, str]
    power_cut_rule: dict[str, str]


@cache
def words() -> Words:
    """Return what is said of programmes. Raises DataError on a faulty file."""
    return load("plan/programme.toml", "recover-programme", Words)


def programme(
    start_degc: float,
    schedule: Sequence[Step],
    controller: Controller,
    probe: Letter,
    setting: Letter | None = None,
    allowed: Rules | None = None,
) -> Programme | Refusal:
    """Return the runs of a controller for a schedule, or why there are none.

    `probe` is the probe's letter, `setting` what the controller is set to now, if that was read off; `allowed` the
    rules, the project's own unless others are given. Whatever the proof does not hold of is refused. Raises
    QuantityError for a schedule without a step.
    """
    if not schedule:
        raise QuantityError("schedule", "no step", "at least one")
    allowed = allowed or rules()
    unfit = tuple(_unfit(start_degc, schedule, controller, probe, setting))
    if unfit:
        return refusal(unfit, [schedule], controller)
    try:
        return _proven(start_degc, tuple(schedule), controller, (probe, setting or probe), allowed)
    except UnableError as unable:
        return refusal((reason(unable.reason, **unable.figures),), [schedule], controller)


def reason(name: str, **figures: str) -> RefusalReason:
    """Return a reason with its sentence."""
    return RefusalReason(name, words().refused[name].format(**figures))


def refusal(reasons: tuple[RefusalReason, ...], parts: Sequence[Sequence[Step]], controller: Controller) -> Refusal:
    """Return a refusal of a schedule of one or more parts, each a programme of its own, with what to do instead."""
    steps = [step for part in parts for step in part]
    needed = {
        "steps": str(max(map(len, parts), default=0)),
        "least_ramp": show_number(min((step.ramp_k_h for step in steps), default=inf)),
        "longest_hold": show_number(max((step.hold_h for step in steps), default=0)),
        "least_degc": show_number(min((step.to_degc for step in steps), default=0) - controller.overshoot_k),
    }
    look_for = tuple(line.format(**needed) for line in words().remedy["look_for"])
    return Refusal(reasons, manual(), look_for)


def manual(needed_w: float | None = None, installed_w: float | None = None) -> tuple[str, ...]:
    """Return how a schedule is followed by hand, with the share of the time that is on, where the powers are known.

    u = needed / installed power, for a steady temperature; above one the kiln cannot hold it. Raises QuantityError.
    """
    lines = words().remedy["manual"]
    if needed_w is None or installed_w is None:
        return tuple(line for line in lines if "{" not in line)
    if not 0 <= needed_w <= installed_w:
        raise QuantityError("heating by hand", f"{needed_w:g} W", f"0 to {installed_w:g} W, what is installed")
    figures = {
        "on_percent": f"{100 * needed_w / installed_w:.0f}", "cycle_min": show_number(words().cycle_min.value),
        "watts": show_number(needed_w), "installed_w": show_number(installed_w),
    }  # fmt: skip
    return tuple(line.format(**figures) for line in lines)


# ---------------------------------------------------------------------------------------- what cannot be at all


def _unfit(
    start_degc: float, schedule: Sequence[Step], controller: Controller, probe: Letter, setting: Letter | None
) -> Iterator[RefusalReason]:
    """Find what keeps a controller from running any schedule, or this one at any pace."""
    if not known_enough(controller):
        yield reason("unknown")
    if probe not in controller.letters:
        yield reason("letter", probe=probe, letters=", ".join(controller.letters) or "no letter that is known")
    elif setting not in (None, probe):
        yield reason("setting", probe=probe, setting=str(setting))
    coolest = min((step.to_degc for step in schedule if step.hold_h), default=start_degc)
    if not _tells(probe, coolest):
        yield reason("blind", probe=probe, at=f"{coolest:.0f}")
    if controller.starts_from == "jumps":
        yield reason("jumps")
    if controller.ramps.entry == "none":
        yield reason("no_ramp")
    if controller.cutout != "own_probe":
        yield reason("cutout")
    if falls(start_degc, schedule):
        yield reason("falls")


def _tells(probe: Letter, degc: float) -> bool:
    """Say whether a type can tell a temperature from its millivolts."""
    try:
        return abs(temperature_degc(probe, emf_mv(probe, degc)) - degc) < 1
    except QuantityError:
        return False


# ---------------------------------------------------------------------------------------- runs


def _proven(
    start_degc: float,
    schedule: tuple[Step, ...],
    controller: Controller,
    sensor: tuple[Letter, Letter],
    allowed: Rules,
) -> Programme:
    """Compile, prove, pack. Raises UnableError."""
    steps = Compiler(start_degc, schedule, controller, allowed).compiled()
    proof = prove(start_degc, schedule, steps, controller.overshoot_k, allowed, sensor)
    if not proof.holds:
        worst = proof.breaches[0]
        raise UnableError("unproven", part=words().part[worst.part], degc=f"{worst.degc:.0f}")
    runs = tuple(_packed(start_degc, steps, controller.steps))
    if len(runs) > 1 and not controller.starts_hot:
        raise UnableError("hot_start", runs=str(len(runs)))
    if len(runs) - 1 > allowed.restarts:
        raise UnableError("restarts", restarts=str(len(runs) - 1), most=show_number(allowed.restarts))
    short = controller.ramps_to_degc < schedule[-1].to_degc and steps[-1].to_degc <= controller.ramps_to_degc
    return Programme(
        start_degc, schedule, controller, runs, proof, allowed.dry_degc, steps[-1].to_degc if short else None
    )


def _packed(start_degc: float, steps: Sequence[Step], most: int) -> Iterator[ProgrammeRun]:
    """Fill one run after the other with as many steps as the controller takes."""
    begins = start_degc
    for number, first in enumerate(range(0, len(steps), most), start=1):
        part = tuple(steps[first : first + most])
        yield ProgrammeRun(number, begins, part)
        begins = part[-1].to_degc
