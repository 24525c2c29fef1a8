"""Readings that say go on, tested against the model's own truth: past boiling, and the end of drying.

A reading is a criterion only at a value at which it came true in no more than one draw of twenty with more water left
than is named with it. A piece of the hot face dries before the wall behind it, so that its weight alone may say nothing
of the end; then there is no such criterion, and none is printed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from recover.physics.drying import Numbers
from recover.plan.paths import PathRun, RunDay, hot_kg
from recover.plan.piece import Piece
from recover.plan.whole import Criterion, CriterionWhat, Opens
from recover.profiles import own_limits
from recover.schedule.limits import Boiling

MOST_FALSE = 0.05
"""In how many draws a criterion may be true with more water left than it names: one of twenty."""

LEAST_PIECE = 0.02
"""Of its water: a piece is not weighed more closely than this."""

LEAST_LITRES = 0.1
"""In a day: less is not told from what clings to a vessel."""


def criteria(run: PathRun, piece: Piece, gate: Boiling) -> tuple[Criterion, ...]:
    """Return what may be gone by on a path; what the piece comes to is told as it is weighed.

    `gate` says how long practice holds below boiling. Of those hours it is told what they may leave.
    """
    limits = own_limits()
    boiling, done = limits["plan_boiling_left"].value, limits["plan_water_left"].value
    return tuple(_weighed(one, piece) for one in (*_boiling(run, boiling, gate), *_done(run, done)))


def _weighed(one: Criterion, piece: Piece) -> Criterion:
    if one.what != "piece":
        return one
    return replace(one, value=round(float(piece.weighs(one.value)), 2), unit=piece.unit)


def _boiling(run: PathRun, most_left: float, gate: Boiling) -> Iterator[Criterion]:
    """Yield what opens the way past boiling; nothing on a path that does not come to it."""
    past = next((day for day, one in enumerate(run.days) if one.passes_boiling), None)
    if past is None:
        return
    yield from _at_most("boiling", "piece", piece_left(run.days), _left(run.days), most_left, LEAST_PIECE)
    held_h = sum(one.spell.held_h(gate.from_degc, gate.hold_degc) for one in run.days[:past] if one.spell)
    if held_h >= gate.hours - 1e-6:
        left = run.days[past - 1].left
        named = _few_exceed(left)
        yield Criterion(opens="boiling", what="hold", at="least", value=gate.hours, unit="h", left=named,
                        false_share=float(np.mean(left > named)))  # fmt: skip


def _few_exceed(left: Numbers) -> float:
    """Return the share of the water, in whole hundredths, that no more than one draw of twenty has more of."""
    return ceil(100 * float(np.quantile(left, 1 - MOST_FALSE, method="higher"))) / 100


def _done(run: PathRun, most_left: float) -> Iterator[Criterion]:
    """Yield what says that it is dry: the piece, and what leaves on a day that comes to its top."""
    yield from _at_most("done", "piece", piece_left(run.days), _left(run.days), most_left, LEAST_PIECE)
    hottest = max((one.spell.top_degc for one in run.days if one.spell), default=0.0)
    full = [one for one in run.days if one.spell and one.spell.top_degc >= hottest - 1]
    if full:
        litres = np.array([one.litres for one in full])
        yield from _at_most("done", "litres", litres, _left(full), most_left, LEAST_LITRES)


def piece_left(days: Sequence[RunDay]) -> Numbers:
    """Return what a piece of the wet hot face still holds of its first water at the end of each day (n_day, n_draw)."""
    first = np.maximum(hot_kg(days[0].did)[:, 0], 1e-9)
    return np.array([hot_kg(one.did)[:, -1] / first for one in days])


def _left(days: Sequence[RunDay]) -> Numbers:
    return np.array([one.left for one in days])


def _at_most(
    opens: Opens, what: CriterionWhat, read: Numbers, left: Numbers, most_left: float, least: float
) -> Iterator[Criterion]:
    """Yield the highest value at which a reading is a criterion; none where even the least that is told is not."""
    tried = np.unique(np.round(read[read >= least], 2))[::-1]
    for value in tried:
        false = _false_share(read, left, float(value), most_left)
        if false <= MOST_FALSE:
            unit = "of its water" if what == "piece" else "l"
            yield Criterion(opens=opens, what=what, at="most", value=float(value), unit=unit, left=most_left,
                            false_share=false)  # fmt: skip
            return


def _false_share(read: Numbers, left: Numbers, value: float, most_left: float) -> float:
    """Return in which share of the draws a reading comes to a value on some day with more water left than is named."""
    return float(np.mean(((read <= value) & (left > most_left)).any(axis=0)))
