"""Whether what is typed in keeps within the day that was searched, as far past its set-points as a controller may go.

The relation, for one run:

1. never earlier past a temperature: it leaves each no sooner than the day does;
2. never hotter: no set-point lies above one whose hold has not been held out, nor above the day's top, and the top is
   held no longer;
3. never steeper, anywhere.

Both go past their set-points by the same overshoot, so that what holds of set-points holds with all of it. A slower
climb pays for nothing. The probe's letter beside the controller's setting turns every temperature that is shown into
the one that the kiln has. This is arithmetic about temperatures, on its own: it asks nothing of whoever made the steps.
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
from recover.physics.wall import Step

_ROUNDING_H = 1e-6
_ROUNDING_K = 1e-6


@dataclass(frozen=True)
class Rules:
    """How far a programme may depart from its day, see `rules.toml`: restarts in a day, and how much later it ends."""

    restarts: Figure
    later_h: Figure


@cache
def rules() -> Rules:
    """Return the rules as the project holds them. Raises DataError on a faulty file."""
    return load("controller/rules.toml", "recover-programme-rules", Rules)


@dataclass(frozen=True)
class _Breach:
    """Where a programme leaves its day: which part of the relation, at what temperature."""

    part: str
    degc: float


def prove(
    start_degc: float, day: Sequence[Step], typed: Sequence[Step], sensor: tuple[Letter, Letter] | None = None
) -> tuple[_Breach, ...]:
    """Return each breach of the relation of what is typed in to its day, both from one temperature; neither may fall.

    `sensor` is the probe's letter and the controller's setting. Raises QuantityError where one of the two falls.
    """
    if falls(start_degc, day) or falls(start_degc, typed):
        raise QuantityError("programme", "a temperature that falls", "steps that rise or stay")
    try:
        true = _true_steps(typed, sensor)
    except QuantityError:
        return (_Breach("sensor", inf),)
    if falls(start_degc, true):  # a probe that is read too high: later everywhere, and no line to compare
        return (_Breach("sensor", inf),)
    led_h, degc = _lead_h(start_degc, day, true)
    early = [_Breach("earlier", degc)] if led_h < -_ROUNDING_H else []
    return (*early, *_hotter(day, true), *_steeper(start_degc, day, true))


def _true_steps(typed: Sequence[Step], sensor: tuple[Letter, Letter] | None) -> list[Step]:
    """Return the steps of the kiln when the controller shows these. Raises QuantityError where none can be told."""
    if sensor is None or sensor[0] == sensor[1]:
        return list(typed)
    found = []
    for step in typed:
        true = mismatch(*sensor, shown_degc=step.to_degc).true_degc
        if true is None:
            raise QuantityError("probe", f"{sensor[0]} read as {sensor[1]}", "a temperature that can be told")
        found.append(Step(true, step.ramp_k_h * true / step.to_degc, step.hold_h))
    return found


def _lead_h(start_degc: float, day: Sequence[Step], typed: Sequence[Step]) -> tuple[float, float]:
    """Return by how much later than the day what is typed passes at the least [h], and at which temperature.

    Between knots both are straight lines of temperature, so that the least lies at a knot: there, as it is left, or a
    hair below, as it is reached.
    """
    asked, made = Timeline.of(start_degc, day), Timeline.of(start_degc, typed)
    top = asked.degc[-1]
    knots = sorted({degc for degc in (*asked.degc, *made.degc) if start_degc <= degc <= top})
    left = [(made.left_h(degc) - asked.left_h(degc), degc) for degc in knots if degc < top]
    reached = [(made.reached_h(degc) - asked.reached_h(degc), degc) for degc in knots if degc > start_degc]
    return min(left + reached, default=(0.0, start_degc))


def _hotter(day: Sequence[Step], typed: Sequence[Step]) -> Iterator[_Breach]:
    """Keep account of the hours held: each hold of the day that a set-point passes is paid from those before it."""
    top = day[-1].to_degc
    held_h = {degc: sum(step.hold_h for step in day if step.to_degc == degc) for degc in _degc(day)}
    waited_h = at_top_h = 0.0
    for step in typed:
        while held_h and step.to_degc > (lowest := min(held_h)) + _ROUNDING_K:
            waited_h -= held_h.pop(lowest)
            if waited_h < -_ROUNDING_H or lowest == top:
                yield _Breach("hotter", lowest)
                waited_h = 0.0
        waited_h += step.hold_h
        at_top_h += step.hold_h if step.to_degc >= top - _ROUNDING_K else 0.0
    if top in held_h and at_top_h > held_h[top] + _ROUNDING_H:
        yield _Breach("longer", top)


def _degc(steps: Sequence[Step]) -> list[float]:
    return sorted({step.to_degc for step in steps})


def _steeper(start_degc: float, day: Sequence[Step], typed: Sequence[Step]) -> Iterator[_Breach]:
    here = start_degc
    for step in typed:
        slowest = min((piece.ramp_k_h for piece in pieces(start_degc, day, here, step.to_degc)), default=inf)
        if step.to_degc > here + _ROUNDING_K and step.ramp_k_h > slowest * (1 + _ROUNDING_H):
            yield _Breach("steeper", step.to_degc)
        here = step.to_degc


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
    """Return the ramps by which a course passes from one temperature to another, its holds left out."""
    ends = [start_degc, *(step.to_degc for step in steps)]
    return [
        Step(min(high, to_degc), step.ramp_k_h)
        for (low, high), step in zip(pairwise(ends), steps, strict=True)
        if high > max(low, from_degc) and low < to_degc
    ]


def falls(start_degc: float, steps: Sequence[Step]) -> bool:
    """Say whether steps fall somewhere."""
    ends = [start_degc, *(step.to_degc for step in steps)]
    return any(high < low for low, high in pairwise(ends))
