"""Whether what a controller will do keeps within the schedule, however its own ways work against it.

The relation, for temperatures up to where the lining is dry:

1. never earlier past a temperature: it leaves each no sooner than the schedule does;
2. never hotter in a hold: while a hold of the schedule is not finished, set-point and overshoot stay at or below it;
3. never steeper, except over no more than a stair (or the gap above a lowered hold), and then only as far as waits
   before it have paid for the time that this saves.

Above that, only ramps bind. The probe's letter beside the controller's setting turns every temperature that is shown
into the one that the kiln has. This is arithmetic about temperatures; `worst_course` is for the drying model.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import inf

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Figure
from recover.engineering.thermocouples import Letter, mismatch
from recover.physics.wall import Course, Step

_ROUNDING_H = 1e-6
_ROUNDING_K = 1e-6
_AT_ONCE_H = 1 / 3600


@dataclass(frozen=True)
class Rules:
    """How far a programme may depart from its schedule: see `rules.toml`.

    `stair_k` is the height of a stair, `gap_k` what may be climbed steeper above a lowered hold, `restarts` how often
    somebody starts another run. Above `dry_degc` the lining holds no water, and only ramps bind.
    """

    stair_k: Figure
    gap_k: Figure
    restarts: Figure
    dry_degc: Figure


@cache
def rules() -> Rules:
    """Return the rules as the project holds them. Raises DataError on a faulty file."""
    return load("controller/rules.toml", "recover-programme-rules", Rules)


@dataclass(frozen=True)
class _Breach:
    """Where a programme leaves its schedule: which part of the relation, at what temperature."""

    part: str
    degc: float


def prove(
    start_degc: float,
    schedule: Sequence[Step],
    programme: Sequence[Step],
    overshoot_k: float,
    rules: Rules,
    sensor: tuple[Letter, Letter] | None = None,
) -> tuple[_Breach, ...]:
    """Return each breach of the relation of a programme to its schedule, both from one temperature; neither may fall.

    `sensor` is the probe's letter and the controller's setting. Raises QuantityError where one of the two falls.
    """
    if falls(start_degc, schedule) or falls(start_degc, programme):
        raise QuantityError("programme", "a temperature that falls", "steps that rise or stay")
    try:
        true = _true_steps(programme, sensor)
    except QuantityError:
        return (_Breach("sensor", inf),)
    if falls(start_degc, true):  # a probe that is read too high: later everywhere, and no line to compare
        return (_Breach("sensor", inf),)
    led_h, degc = _lead_h(start_degc, schedule, true, rules.dry_degc.value)
    early = [_Breach("earlier", degc)] if led_h < -_ROUNDING_H else []
    return (*early, *_walk(start_degc, schedule, true, overshoot_k, rules))


def _true_steps(programme: Sequence[Step], sensor: tuple[Letter, Letter] | None) -> list[Step]:
    """Return the steps of the kiln when the controller shows these. Raises QuantityError where none can be told."""
    if sensor is None or sensor[0] == sensor[1]:
        return list(programme)
    found = []
    for step in programme:
        true = mismatch(*sensor, shown_degc=step.to_degc).true_degc
        if true is None:
            raise QuantityError("probe", f"{sensor[0]} read as {sensor[1]}", "a temperature that can be told")
        found.append(Step(true, step.ramp_k_h * true / step.to_degc, step.hold_h))
    return found


def _lead_h(
    start_degc: float, schedule: Sequence[Step], programme: Sequence[Step], dry_degc: float = inf
) -> tuple[float, float]:
    """Return by how much later than the schedule a programme passes at the least [h], and at which temperature.

    Between knots both are straight lines of temperature, so that the least lies at a knot: there, as it is left, or a
    hair below, as it is reached.
    """
    asked, made = Timeline.of(start_degc, schedule), Timeline.of(start_degc, programme)
    limit = min(asked.degc[-1], dry_degc)
    knots = sorted({degc for degc in (*asked.degc, *made.degc, limit) if start_degc <= degc <= limit})
    left = [(made.left_h(degc) - asked.left_h(degc), degc) for degc in knots if degc < limit]
    reached = [(made.reached_h(degc) - asked.reached_h(degc), degc) for degc in knots if degc > start_degc]
    return min(left + reached, default=(0.0, start_degc))


def worst_course(start_degc: float, programme: Sequence[Step], overshoot_k: float, dry_degc: float) -> Course:
    """Return what a kiln does at worst: it runs past every hold's set-point at once and stays there till the hold ends.

    Then it stays as hot until the programme has caught up. Up to `dry_degc`, where on/off control is coarse beside the
    temperature. What the drying model is to run before the programme is believed.
    """
    hours, degc, now_h, here = [0.0], [start_degc], 0.0, start_degc
    for step in programme:
        level, over_k = degc[-1], overshoot_k if step.to_degc <= dry_degc else 0.0
        if here < level < step.to_degc:
            hours.append(now_h + (level - here) / step.ramp_k_h)
            degc.append(level)
        now_h += (step.to_degc - here) / step.ramp_k_h
        hot = max(level, step.to_degc + (over_k if step.hold_h else 0.0))
        hours += [now_h, now_h + min(step.hold_h, _AT_ONCE_H), now_h + step.hold_h]
        degc += [max(level, step.to_degc), hot, hot]
        now_h, here = now_h + step.hold_h, step.to_degc
    knots = list(dict.fromkeys(zip(hours, degc, strict=True)))
    return Course(tuple(hour for hour, _ in knots), tuple(level for _, level in knots))


# ---------------------------------------------------------------------------------------- waits, holds and climbs


def _walk(
    start_degc: float, schedule: Sequence[Step], programme: Sequence[Step], overshoot_k: float, rules: Rules
) -> Iterator[_Breach]:
    """Keep account of the hours waited: a hold that is passed and a climb that is steeper are paid from them.

    Slower climbs pay nothing in, so that no lateness is spent later.
    """
    owed = [(step.to_degc - _over_k(step, overshoot_k, rules), step.hold_h, step.to_degc) for step in schedule]
    waited_h, steep_k, here = 0.0, 0.0, start_degc
    for step in programme:
        while owed and step.to_degc > owed[0][0] + _ROUNDING_K:
            _, hold_h, degc = owed.pop(0)
            waited_h -= hold_h
            if waited_h < -_ROUNDING_H:
                yield _Breach("hotter", degc)
                waited_h = 0.0
        for rise_k, slower_k_h in _rises(start_degc, schedule, here, step.to_degc):
            steeper = step.ramp_k_h > slower_k_h * (1 + _ROUNDING_H)
            steep_k = steep_k + rise_k if steeper else 0.0
            waited_h -= rise_k * (1 / slower_k_h - 1 / step.ramp_k_h) if steeper else 0.0
            if steep_k > max(rules.stair_k.value, rules.gap_k.value) + _ROUNDING_K or waited_h < -_ROUNDING_H:
                yield _Breach("steeper", step.to_degc)
                waited_h = 0.0
        steep_k = 0.0 if step.hold_h else steep_k
        waited_h, here = waited_h + step.hold_h, step.to_degc


def _over_k(step: Step, overshoot_k: float, rules: Rules) -> float:
    return overshoot_k if step.to_degc <= rules.dry_degc.value else 0.0


def _rises(
    start_degc: float, schedule: Sequence[Step], from_degc: float, to_degc: float
) -> Iterator[tuple[float, float]]:
    """Yield rise [K] and ramp [K/h] of the schedule's pieces on a climb; a step in the schedule is no limit."""
    here = from_degc
    for piece in pieces(start_degc, schedule, from_degc, to_degc):
        yield piece.to_degc - here, piece.ramp_k_h
        here = piece.to_degc


# ---------------------------------------------------------------------------------------- courses that never fall


@dataclass(frozen=True)
class Timeline:
    """The knots of a course that never falls, hours and °C: when it reaches and leaves each temperature, exactly."""

    hours: tuple[float, ...]
    degc: tuple[float, ...]

    @classmethod
    def of(cls, start_degc: float, steps: Sequence[Step]) -> Timeline:
        """Return the knots of ramps and holds; a step to the temperature that is there already is all hold."""
        hours, degc = [0.0], [start_degc]
        for step in steps:
            hours.append(hours[-1] + (step.to_degc - degc[-1]) / step.ramp_k_h)
            hours.append(hours[-1] + step.hold_h)
            degc += [step.to_degc, step.to_degc]
        return cls(tuple(hours), tuple(degc))

    def reached_h(self, degc: float) -> float:
        """Return when it is first as hot as that [h]; inf where it never is."""
        after = bisect_left(self.degc, degc)
        if after == len(self.degc):
            return inf
        return self.hours[0] if after == 0 else self._between(after, degc)

    def left_h(self, degc: float) -> float:
        """Return when it is last no hotter than that [h]; inf where it never is hotter."""
        after = next((index for index, one in enumerate(self.degc) if one > degc), None)
        if after is None:
            return inf
        return self.hours[0] if after == 0 else self._between(after, degc)

    @property
    def end_h(self) -> float:
        """Its last knot [h]."""
        return self.hours[-1]

    def _between(self, after: int, degc: float) -> float:
        low, high = self.degc[after - 1], self.degc[after]
        begin, end = self.hours[after - 1], self.hours[after]
        return begin + (end - begin) * (degc - low) / (high - low)


def pieces(start_degc: float, steps: Sequence[Step], from_degc: float, to_degc: float) -> list[Step]:
    """Return the ramps by which a schedule passes from one temperature to another, its holds left out."""
    ends = [start_degc, *(step.to_degc for step in steps)]
    return [
        Step(min(high, to_degc), step.ramp_k_h)
        for (low, high), step in zip(pairwise(ends), steps, strict=True)
        if high > max(low, from_degc) and low < to_degc
    ]


def falls(start_degc: float, steps: Sequence[Step]) -> bool:
    """Say whether a schedule falls somewhere."""
    ends = [start_degc, *(step.to_degc for step in steps)]
    return any(high < low for low, high in pairwise(ends))


def rising_parts(start_degc: float, steps: Sequence[Step]) -> list[tuple[float, tuple[Step, ...]]]:
    """Split a schedule where it falls: the temperature at which each part starts, and its steps.

    A step that falls is no part of a programme: the kiln cools by itself, switched off, down to where the next begins.
    """
    parts: list[tuple[float, list[Step]]] = [(start_degc, [])]
    here = start_degc
    for step in steps:
        if step.to_degc < here:
            parts.append((step.to_degc, []))
        else:
            parts[-1][1].append(step)
        here = step.to_degc
    return [(start, tuple(rising)) for start, rising in parts if rising]
