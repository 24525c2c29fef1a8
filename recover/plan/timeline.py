"""When a course of ramps and holds reaches and leaves each temperature: exact, for courses that never fall."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from recover.physics.wall import Step


@dataclass(frozen=True)
class Timeline:
    """The knots of a course that never falls: hours and °C."""

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


@dataclass(frozen=True)
class Piece:
    """A rise up to a temperature [°C] at one ramp [K/h]."""

    to_degc: float
    ramp_k_h: float


def pieces(start_degc: float, steps: Sequence[Step], from_degc: float, to_degc: float) -> list[Piece]:
    """Return the ramps by which a schedule passes from one temperature to another."""
    ends = [start_degc, *(step.to_degc for step in steps)]
    return [
        Piece(min(high, to_degc), step.ramp_k_h)
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
