"""Makes the programmes of a controller for a schedule: set-points rounded down, ramps no steeper, holds no shorter.

Each is proven against its schedule, or refused with every reason: nothing leaves here that `proof` does not hold of.

Where a hold is lowered, by overshoot or by rounding, what lies between its set-point and the schedule's temperature
still belongs to the schedule's slower ramp. Up to `gap_k` of it is climbed at the next ramp after a hold that is longer
by the time this saves, gap (1/r_before - 1/r_next); more of it is split off as a climb of its own. A ramp slower than
all that the controller offers becomes stairs: the wait stands before each climb.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, inf

from recover.base.errors import QuantityError, RecoverError
from recover.base.measures import show_number
from recover.controller.capability import Controller
from recover.controller.programme import Programme, ProgrammeRun, Refusal, RefusalReason, manual, words
from recover.controller.proof import Rules, falls, pieces, prove, rules
from recover.engineering.thermocouples import Letter, emf_mv, temperature_degc
from recover.physics.wall import Step

_ROUNDING = 1e-9


class _UnableError(RecoverError):
    """The controller cannot run the schedule: `programme` tells the reason, with its figures, as a value."""

    def __init__(self, reason: str, **figures: str) -> None:
        self.reason, self.figures = reason, figures
        super().__init__(reason)


def programme(
    start_degc: float,
    schedule: Sequence[Step],
    controller: Controller,
    probe: Letter | None,
    setting: Letter | None = None,
    allowed: Rules | None = None,
) -> Programme | Refusal:
    """Return the runs of a controller for a schedule, or why there are none.

    `probe` is the probe's letter, `setting` what the controller is set to now, each if it was read off; `allowed` the
    rules, the project's own unless others are given. Whatever the proof does not hold of is refused. Raises
    QuantityError for a schedule without a step.
    """
    if not schedule:
        raise QuantityError("schedule", "no step", "at least one")
    allowed = allowed or rules()
    if probe is None:
        return refusal((_reason("no_probe"),), [schedule], controller)
    if unfit := tuple(_unfit(start_degc, schedule, controller, probe, setting)):
        return refusal(unfit, [schedule], controller)
    try:
        return _proven(start_degc, tuple(schedule), controller, (probe, setting or probe), allowed)
    except _UnableError as unable:
        return refusal((_reason(unable.reason, **unable.figures),), [schedule], controller)


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


def _reason(name: str, **figures: str) -> RefusalReason:
    """Return a reason with its sentence."""
    return RefusalReason(name, words().refused[name].format(**figures))


# ---------------------------------------------------------------------------------------- what cannot be at all


def _unfit(
    start_degc: float, schedule: Sequence[Step], controller: Controller, probe: Letter, setting: Letter | None
) -> Iterator[RefusalReason]:
    """Find what keeps a controller from running any schedule, or this one at any pace."""
    if not controller.known_enough:
        yield _reason("unknown")
    if probe not in controller.letters:
        yield _reason("letter", probe=probe, letters=", ".join(controller.letters) or "no letter that is known")
    elif setting not in (None, probe):
        yield _reason("setting", probe=probe, setting=str(setting))
    coolest = min((step.to_degc for step in schedule if step.hold_h), default=start_degc)
    if not _tells(probe, coolest):
        yield _reason("blind", probe=probe, at=f"{coolest:.0f}")
    if controller.starts_from == "jumps":
        yield _reason("jumps")
    if controller.ramps.entry == "none":
        yield _reason("no_ramp")
    if controller.cutout != "own_probe":
        yield _reason("cutout")
    if falls(start_degc, schedule):
        yield _reason("falls")


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
    """Compile, prove, pack. Raises _UnableError."""
    steps = _Compiler(start_degc, schedule, controller, allowed).compiled()
    if breaches := prove(start_degc, schedule, steps, controller.overshoot_k, allowed, sensor):
        raise _UnableError("unproven", part=words().part[breaches[0].part], degc=f"{breaches[0].degc:.0f}")
    runs = tuple(_packed(start_degc, steps, controller.steps))
    if len(runs) > 1 and not controller.starts_hot:
        raise _UnableError("hot_start", runs=str(len(runs)))
    if len(runs) - 1 > allowed.restarts.value:
        raise _UnableError("restarts", restarts=str(len(runs) - 1), most=show_number(allowed.restarts.value))
    short = controller.ramps_to_degc < schedule[-1].to_degc and steps[-1].to_degc <= controller.ramps_to_degc
    return Programme(start_degc, controller, runs, steps[-1].to_degc if short else None)


def _packed(start_degc: float, steps: Sequence[Step], most: int) -> Iterator[ProgrammeRun]:
    """Fill one run after the other with as many steps as the controller takes."""
    begins = start_degc
    for number, first in enumerate(range(0, len(steps), most), start=1):
        part = tuple(steps[first : first + most])
        yield ProgrammeRun(number, begins, part)
        begins = part[-1].to_degc


# ---------------------------------------------------------------------------------------- steps


@dataclass(frozen=True)
class _Compiler:
    """A schedule that never falls, the controller that is to run it, and the rules."""

    start_degc: float
    steps: tuple[Step, ...]
    controller: Controller
    rules: Rules

    def compiled(self) -> list[Step]:
        """Return the controller's steps. Raises _UnableError."""
        made: list[Step] = []
        for step in self.steps:
            here = made[-1].to_degc if made else self.start_degc
            target = self._set_point(step)
            if target <= here + _ROUNDING:
                self._lengthen(made, step.hold_h)
                continue
            for piece in self._climbs(here, min(target, self._ramped_to(here, target))):
                self._climb(made, piece)
            if made and made[-1].to_degc < target - _ROUNDING:
                return self._in_own_holds(made)  # full power from here on: it stops
            self._lengthen(made, step.hold_h)
        return self._in_own_holds(made)

    # ------------------------------------------------------------------------------------ temperatures

    def _set_point(self, step: Step) -> float:
        """Return how hot a step may be set: with its overshoot no hotter than the hold, while water is about."""
        wet = step.to_degc <= self.rules.dry_degc.value
        degc = self.controller.rounded_down(step.to_degc - (self.controller.overshoot_k if wet else 0))
        if degc < self.controller.least_degc - _ROUNDING:
            raise _UnableError("too_cool", at=f"{degc:.0f}", least=f"{self.controller.least_degc:g}")
        if degc > self.controller.highest_degc:
            raise _UnableError("too_hot", at=f"{degc:.0f}", highest=f"{self.controller.highest_degc:g}")
        if degc <= self.start_degc:
            raise _UnableError("no_room", at=f"{step.to_degc:.0f}", start=f"{self.start_degc:.0f}")
        return degc

    def _ramped_to(self, here: float, target: float) -> float:
        """Return how far it may climb: on above what it can ramp only where full power was seen to be slow enough."""
        limit = self.controller.rounded_down(self.controller.ramps_to_degc) if target > self._limit else target
        if target <= self._limit:
            return target
        slowest = min(piece.ramp_k_h for piece in pieces(self.start_degc, self.steps, max(here, limit), target))
        seen = self.controller.full_power_k_h
        return target if limit >= self.rules.dry_degc.value and seen is not None and seen <= slowest else limit

    @property
    def _limit(self) -> float:
        return self.controller.ramps_to_degc

    # ------------------------------------------------------------------------------------ climbs

    def _climbs(self, here: float, to_degc: float) -> Iterator[tuple[Step, float]]:
        """Split a climb where it must be, and say how long [h] to wait before each part of it."""
        while here < to_degc - _ROUNDING:
            piece, wait_h = self._farthest(here, pieces(self.start_degc, self.steps, here, to_degc), to_degc)
            yield piece, wait_h
            here = piece.to_degc

    def _farthest(self, here: float, way: Sequence[Step], to_degc: float) -> tuple[Step, float]:
        """Return the longest climb at the ramp of its last piece that is steeper over no more than the gap."""
        found = None
        for last, piece in enumerate(way):
            top = to_degc if piece is way[-1] else self.controller.rounded_down(piece.to_degc)
            steep = list(_steeper(here, way[: last + 1], piece.ramp_k_h))
            if top > here + _ROUNDING:
                if sum(rise for rise, _ in steep) <= self.rules.gap_k.value + _ROUNDING:
                    found = Step(top, piece.ramp_k_h), _saved_h(steep, piece.ramp_k_h)
                elif found is None:
                    return Step(top, min(one.ramp_k_h for one in way[: last + 1])), 0.0
        if found is None:
            raise _UnableError("too_coarse", step=f"{self.controller.coarseness_k:.0f}")
        return found

    def _climb(self, made: list[Step], planned: tuple[Step, float]) -> None:
        """Add a climb, as one ramp or as stairs."""
        piece, wait_h = planned
        here = made[-1].to_degc if made else self.start_degc
        if wait_h:
            self._lengthen(made, wait_h)
        if here >= self._limit:
            made.append(Step(piece.to_degc, self.controller.full_power_k_h or inf))
            return
        ramp = self.controller.ramps.at_most(piece.ramp_k_h, piece.to_degc - here)
        if ramp is None:
            self._stairs(made, here, piece)
        else:
            made.append(Step(piece.to_degc, ramp))

    def _stairs(self, made: list[Step], here: float, piece: Step) -> None:
        if piece.to_degc > self.rules.dry_degc.value:
            raise _UnableError("too_steep", at=f"{piece.to_degc:.0f}", ramp=f"{piece.ramp_k_h:.0f}")
        for top in self._stair_tops(here, piece.to_degc):
            ramps = self.controller.ramps
            ramp = ramps.at_most(piece.ramp_k_h, top - here) or ramps.slowest(top - here)
            if ramp is None:
                raise _UnableError("no_ramp")
            self._lengthen(made, max(0.0, (top - here) * (1 / piece.ramp_k_h - 1 / ramp)), ramp)
            made.append(Step(top, ramp))
            here = top

    def _stair_tops(self, here: float, to_degc: float) -> list[float]:
        """Return where the stairs end: as few as may be, as equal as the controller's own steps allow."""
        rise = to_degc - here
        for number in range(
            ceil(rise / self.rules.stair_k.value - _ROUNDING), ceil(rise / self.controller.coarseness_k) + 2
        ):
            tops = [self.controller.rounded_down(here + rise * stair / number) for stair in range(1, number)]
            tops = [top for top in dict.fromkeys(tops) if top > here + _ROUNDING] + [to_degc]
            if max(high - low for low, high in pairwise([here, *tops])) <= self.rules.stair_k.value + _ROUNDING:
                return tops
        raise _UnableError("too_coarse", step=f"{self.controller.coarseness_k:.0f}")

    # ------------------------------------------------------------------------------------ holds

    def _lengthen(self, made: list[Step], hours: float, ramp_k_h: float = inf) -> None:
        """Make the last hold longer; before the first climb, that is a step that waits at the start."""
        if made:
            made[-1] = replace(made[-1], hold_h=made[-1].hold_h + hours)
        elif hours > 0:
            if self.start_degc < self.controller.least_degc - _ROUNDING:
                raise _UnableError("too_cool", at=f"{self.start_degc:.0f}", least=f"{self.controller.least_degc:g}")
            made.append(Step(self.start_degc, ramp_k_h, hours))

    def _in_own_holds(self, made: Sequence[Step]) -> list[Step]:
        """Round holds up, and repeat the set-point where one is longer than the controller can hold."""
        return [part for step in made for part in self._parts(step)]

    def _parts(self, step: Step) -> Iterator[Step]:
        left_h, longest_h = self.controller.hold_h(step.hold_h), self.controller.longest_hold_h
        while True:
            yield replace(step, hold_h=min(left_h, longest_h))
            left_h -= longest_h
            if left_h <= _ROUNDING:
                return


def _steeper(here: float, way: Sequence[Step], ramp_k_h: float) -> Iterator[tuple[float, float]]:
    """Yield rise [K] and ramp [K/h] of what the schedule climbs more slowly than at this ramp."""
    for piece in way:
        if piece.ramp_k_h < ramp_k_h - _ROUNDING:
            yield piece.to_degc - here, piece.ramp_k_h
        here = piece.to_degc


def _saved_h(steep: Sequence[tuple[float, float]], ramp_k_h: float) -> float:
    return sum(rise * (1 / slower - 1 / ramp_k_h) for rise, slower in steep)
