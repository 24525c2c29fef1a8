"""Makes what is typed in of a day that was searched in a controller's own set-points, ramps and holds.

A day is one run, or several with the kiln isolated for readings in between. Each becomes as many programmes as its
steps need, proven against its day, or all is refused with every reason: nothing leaves here that `proof` does not hold
of. A day that is not in what the controller can set is rounded: set-points down, ramps down, holds up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from math import inf

from recover.base.errors import QuantityError
from recover.base.measures import show_hours_minutes, show_number
from recover.controller.capability import Controller
from recover.controller.instructions import instructions
from recover.controller.programme import (
    Programme,
    ProgrammeRun,
    Refusal,
    RefusalReason,
    manual,
    shown,
    shown_k_h,
    words,
)
from recover.controller.proof import Timeline, falls, prove, rules
from recover.engineering.thermocouples import Letter, tells
from recover.physics.wall import Step

_ROUNDING = 1e-6

_Day = list[tuple[float, Sequence[Step]]]
"""Each run of a day: what its first ramp was searched from, and its steps."""


def programmes(
    spell_start_degc: float,
    runs_of_steps: Sequence[Sequence[Step]],
    controller: Controller,
    probe: Letter | None,
    setting: Letter | None = None,
    restarts_degc: Sequence[float] | None = None,
) -> Programme | Refusal:
    """Return what a controller runs of a day, or why it runs none of it.

    `restarts_degc` is what each later run's first ramp was searched from; without, where the run before it ended.
    `probe` is the probe's letter, `setting` what the controller is set to now, each if it was read off: a
    programme for a setting that was not begins with that it is read first. Raises QuantityError for a day or a run
    without a step.
    """
    if not runs_of_steps or not all(runs_of_steps):
        raise QuantityError("day", "a run without a step", "at least one step in each run")
    begins = [spell_start_degc, *(restarts_degc or [run[-1].to_degc for run in runs_of_steps[:-1]])]
    day: _Day = list(zip(begins, runs_of_steps, strict=True))
    reasons = [*unfit(controller, probe, setting), *_unable(day, controller, probe)]
    if not reasons and probe:
        typed = [_typed(start_degc, run, controller) for start_degc, run in day]
        runs = tuple(_packed(begins, typed, controller))
        reasons = [*_unproven(day, typed, controller, (probe, setting or probe)), *_too_many(runs, controller)]
        if not reasons:
            return _told(Programme(spell_start_degc, controller, runs), None if setting else probe)
    return refusal(reasons, runs_of_steps, controller)


def unfit(controller: Controller, probe: Letter | None, setting: Letter | None = None) -> tuple[RefusalReason, ...]:
    """Return what keeps a controller from running any day, every reason; none where it may run one."""
    return tuple(_unfit(controller, probe, setting))


def refusal(
    reasons: Sequence[RefusalReason], runs_of_steps: Sequence[Sequence[Step]], controller: Controller
) -> Refusal:
    """Return a refusal of one or more runs, each reason once, with what to do instead."""
    steps = [step for run in runs_of_steps for step in run]
    needed = {
        "steps": str(max(map(len, runs_of_steps), default=0)),
        "least_ramp": shown_k_h(min((step.ramp_k_h for step in steps), default=inf), controller.degrees),
        "longest_hold": show_number(max((step.hold_h for step in steps), default=0)),
        "least": shown(min((step.to_degc for step in steps), default=0), controller.degrees),
    }
    blind = any(reason.id == "blind" for reason in reasons)
    named = [] if not runs_of_steps else words().remedy["look_for_blind" if blind else "look_for"]
    look_for = tuple(line.format(**needed) for line in named)
    return Refusal(tuple(dict.fromkeys(reasons)), manual(controller.degrees), look_for)


def _reason(name: str, **figures: str) -> RefusalReason:
    """Return a reason with its sentence."""
    return RefusalReason(name, words().refused[name].format(**figures))


# ---------------------------------------------------------------------------------------- what cannot be at all


def _unfit(controller: Controller, probe: Letter | None, setting: Letter | None) -> Iterator[RefusalReason]:
    if not controller.there:
        yield _reason("absent")
        return
    if not controller.known_enough:
        yield _reason("unknown")
    if probe is None:
        yield _reason("no_probe")
    elif probe not in controller.letters:
        yield _reason("letter", probe=probe, letters=", ".join(controller.letters) or "no letter that is known")
    elif setting not in (None, probe):
        yield _reason("setting", probe=probe, setting=str(setting))
    if controller.starts_from == "jumps":
        yield _reason("jumps")
    if controller.starts_from == "room":
        yield _reason("room_start")
    if controller.ramps.entry == "none":
        yield _reason("no_ramp")
    if controller.cutout != "own_probe":
        yield _reason("cutout")


def _unable(day: _Day, controller: Controller, probe: Letter | None) -> Iterator[RefusalReason]:
    """Find what keeps it from running this day."""
    coolest = min((step.to_degc for _, run in day for step in run if step.hold_h), default=inf)
    if probe and coolest < inf and not tells(probe, coolest):
        yield _reason("blind", probe=probe, at=shown(coolest, controller.degrees))
    for start_degc, run in day:
        if falls(run[0].to_degc, run):
            yield _reason("falls")
        yield from _beyond(start_degc, run, controller)


def _beyond(start_degc: float, run: Sequence[Step], controller: Controller) -> Iterator[RefusalReason]:
    """Find set-points and ramps that lie beyond what it offers."""
    degrees = controller.degrees
    for before, step in pairwise((Step(start_degc), *run)):
        degc, rise_k = controller.set_degc(step.to_degc), step.to_degc - before.to_degc
        if degc < controller.least_degc - _ROUNDING:
            yield _reason("too_cool", at=shown(degc, degrees), least=shown(controller.least_degc, degrees))
        if step.to_degc > controller.highest_degc + _ROUNDING:
            yield _reason("too_hot", at=shown(step.to_degc, degrees), highest=shown(controller.highest_degc, degrees))
        if step.to_degc > controller.ramps_to_degc + _ROUNDING:
            yield _reason("past_ramps", at=shown(step.to_degc, degrees), to=shown(controller.ramps_to_degc, degrees))
        climbs = rise_k > _ROUNDING and controller.ramps.entry != "none"
        if climbs and controller.ramp_k_h(step.ramp_k_h, rise_k) is None:
            ramp = shown_k_h(step.ramp_k_h, degrees)
            yield _reason("too_steep", at=shown(step.to_degc, degrees), ramp=ramp)


# ---------------------------------------------------------------------------------------- runs


def _typed(start_degc: float, run: Sequence[Step], controller: Controller) -> tuple[Step, ...]:
    """Return a run in the controller's own steps: rounded to them, a set-point repeated where a hold is too long."""
    made: list[Step] = []
    for step in run:
        degc = controller.set_degc(step.to_degc)
        rise_k = degc - (made[-1].to_degc if made else start_degc)
        ramp = controller.ramp_k_h(step.ramp_k_h, rise_k) if rise_k > _ROUNDING else None
        made += [Step(degc, ramp or step.ramp_k_h, hold_h) for hold_h in controller.holds_h(step.hold_h)]
    return tuple(made)


def _packed(
    begins: Sequence[float], typed: Sequence[tuple[Step, ...]], controller: Controller
) -> Iterator[ProgrammeRun]:
    """Fill one programme after the other with as many steps as the controller takes; readings where a run ends."""
    number = 0
    for place, (start_degc, steps) in enumerate(zip(begins, typed, strict=True)):
        begins_degc = start_degc
        for first in range(0, len(steps), controller.steps):
            part, number = steps[first : first + controller.steps], number + 1
            reads = first + len(part) == len(steps) and place < len(typed) - 1
            run = ProgrammeRun(number, begins_degc, part, reads)
            yield replace(run, cutout_degc=run.top_degc + controller.cutout_above_k(run.top_degc))
            begins_degc = part[-1].to_degc


def _unproven(
    day: _Day, typed: Sequence[Sequence[Step]], controller: Controller, sensor: tuple[Letter, Letter]
) -> Iterator[RefusalReason]:
    """Prove every run, and that it ends no later than its day was searched to end, but for a rounding."""
    for (begins_degc, run), steps in zip(day, typed, strict=True):
        start_degc = min(begins_degc, run[0].to_degc, steps[0].to_degc)
        if breaches := prove(start_degc, run, steps, sensor):
            degc = shown(breaches[0].degc, controller.degrees)
            yield _reason("unproven", part=words().part[breaches[0].part], at=degc)
        late_h = Timeline.of(start_degc, steps).end_h - Timeline.of(start_degc, run).end_h
        if late_h > rules().later_h.value + _ROUNDING:
            yield _reason("late", late=show_hours_minutes(late_h))


def _too_many(runs: tuple[ProgrammeRun, ...], controller: Controller) -> Iterator[RefusalReason]:
    if len(runs) > 1 and not controller.starts_hot:
        yield _reason("hot_start", runs=str(len(runs)))
    if len(runs) - 1 > rules().restarts.value:
        yield _reason("restarts", restarts=str(len(runs) - 1), most=show_number(rules().restarts.value))


def _told(programme: Programme, unread: Letter | None) -> Programme:
    """Return a programme whose runs carry what is said of them; first of all that a letter that is set is `unread`."""
    first, *later = instructions(programme)
    if unread:
        says = words().run["unread"].format(probe=unread)
        first = replace(first, before=f"{says} {first.before}", see=(says, *first.see))  # a sheet may print but one
    said = zip(programme.runs, (first, *later), strict=True)
    return replace(programme, runs=tuple(replace(run, said=lines) for run, lines in said))
