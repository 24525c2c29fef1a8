"""Readings that say go on, tested against the model's own truth: past boiling, and the end of drying.

A reading is a criterion only at a value at which it came true in no more than one draw of twenty with more water left
than is named with it. A piece of the hot face dries before the wall behind it, so that its weight alone may say nothing
of the end; then there is no such criterion, and none is printed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from recover.base.measures import to_the_gram
from recover.physics.drying import Numbers
from recover.plan.paths import PathRun
from recover.plan.piece import Piece
from recover.plan.walk import RunDay, hot_kg
from recover.plan.whole import Criterion, Opens
from recover.profiles import own_limits
from recover.schedule.limits import Boiling

MOST_FALSE = 0.05
"""In how many draws a criterion may be true with more water left than it names: one of twenty."""

LEAST_TRUE = 0.5
"""In how many draws it is true at the end: what never comes true tells nobody anything."""

LEAST_PIECE = 0.02
"""Of its water: a piece is not weighed more closely than this."""


def criteria(run: PathRun, piece: Piece, gate: Boiling) -> tuple[Criterion, ...]:
    """Return what may be gone by on a path; what the piece comes to is told as it is weighed.

    Past boiling the hours of practice are asked for as well, held by its own elements; `gate` says how long.
    """
    limits = own_limits()
    boiling, done = limits["plan_boiling_left"].value, limits["plan_water_left"].value
    found = [*_boiling(run, boiling, gate), *(_at_most("done", run.days, done) if run.dry else ())]
    return tuple(_weighed(one, piece) for one in found)


def _weighed(one: Criterion, piece: Piece) -> Criterion:
    if one.what != "piece":
        return one
    weighs = float(piece.weighs(one.value))
    return replace(one, value=to_the_gram(weighs) if piece.unit == "kg" else round(weighs, 2), unit=piece.unit)


def _boiling(run: PathRun, most_left: float, gate: Boiling) -> Iterator[Criterion]:
    """Yield what opens the way past boiling; nothing on a path that does not come to it."""
    past = next((day for day, one in enumerate(run.days) if one.passes_boiling), None)
    if past is None:
        return
    yield from _at_most("boiling", run.days, most_left)
    false = float(np.mean(run.days[past - 1].left > most_left)) if past else 1.0
    yield Criterion(opens="boiling", what="hold", at="least", value=gate.hours, unit="h", left=most_left,
                    false_share=false, at_degc=gate.from_degc)  # fmt: skip


def piece_left(days: Sequence[RunDay]) -> Numbers:
    """Return what a piece of the wet hot face still holds of its first water at the end of each day (n_day, n_draw)."""
    first = np.maximum(hot_kg(days[0].did)[:, 0], 1e-9)
    return np.array([hot_kg(one.did)[:, -1] / first for one in days])


def _left(days: Sequence[RunDay]) -> Numbers:
    return np.array([one.left for one in days])


def _at_most(opens: Opens, days: Sequence[RunDay], most_left: float) -> Iterator[Criterion]:
    """Yield the highest weight of the piece that is a criterion; none where even the least that is told is not."""
    read, left = piece_left(days), _left(days)
    for value in np.unique(np.round(read[read >= LEAST_PIECE], 2))[::-1]:
        false = _false_share(read, left, float(value), most_left)
        if false <= MOST_FALSE and np.mean(read[-1] <= value) >= LEAST_TRUE:
            yield Criterion(opens=opens, what="piece", at="most", value=float(value), unit="", left=most_left,
                            false_share=false)  # fmt: skip
            return


def _false_share(read: Numbers, left: Numbers, value: float, most_left: float) -> float:
    """Return in which share of the draws a reading comes to a value on some day with more water left than is named."""
    return float(np.mean(((read <= value) & (left > most_left)).any(axis=0)))
