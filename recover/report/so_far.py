"""The whole drying so far beside its plan, small: for paper as a picture, for a terminal as a few lines of letters.

The bands are those of the days that are stored; nothing of them is computed again. What is read stands on its own
moment of the drying, its first opening being nought.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from recover.plan.clock import elapsed_h
from recover.plan.log import day_at
from recover.plan.piece import Piece
from recover.plan.whole import Expected
from recover.report.plots import Panel, drying_figure
from recover.report.words import words

if TYPE_CHECKING:
    from datetime import datetime

    from recover.asked.told import Logged
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.plan.whole import Day, KilnPlan

PLACES = 2
"""Of how many places of the casing a panel is drawn: those that were read most often."""

WIDE, ROWS, EACH_DAY = 72, 6, 6
"""Letters from the axis to the right edge, rows of letters, and the most letters that a day is wide."""


def drying_plot(kiln: KilnPlan, logged: Sequence[Logged], piece: Piece | None = None) -> str:
    """Return the drying so far as SVG text; empty where no day of it is planned.

    `piece` is what is weighed, where it is known wet and dry: its weight is then told as the water that is left in it.
    """
    panels = [*_panels(kiln, logged, piece)]
    if not panels:
        return ""
    say = words().status.plot
    return drying_figure(say.title(kiln=kiln.label), say.days, panels)


def text_plot(kiln: KilnPlan, logged: Sequence[Logged], piece: Piece | None, now: datetime | None) -> list[str]:
    """Return water left by day as eight lines of plain letters: its band, what the piece says, and where now is."""
    left, weighed = _left(kiln), _piece(kiln, logged, piece)
    if left is None:
        return []
    shown = weighed.read if weighed and piece else ()
    last = left.days[-1]
    wide = min(WIDE, round(EACH_DAY * last))
    rows = _letters(left, shown, wide, last)
    say = words().status.plot
    head = f"{say.letters} {say.weighed if shown else ''}".rstrip()
    return [head, *(f"{label:>3} |{row}".rstrip() for label, row in zip(_labels(), rows, strict=True)),
            _axis(kiln, wide, last, now)]  # fmt: skip


def piece_of_answers(found: Assessment, kiln: Address) -> Piece | None:
    """Return the marked piece where it was weighed wet and dry; None where its water is not known by weight."""
    wet_kg, dry_kg = (found.answers.number(name, kiln) for name in ("lining.brick_wet", "lining.brick_dry"))
    known = wet_kg is not None and dry_kg is not None and wet_kg > dry_kg > 0
    return Piece(wet_kg, dry_kg, 1 - dry_kg / wet_kg) if known and wet_kg and dry_kg else None


# ---------------------------------------------------------------------------------------- what stands beside what


def _panels(kiln: KilnPlan, logged: Sequence[Logged], piece: Piece | None) -> Iterator[Panel]:
    for one in (_left(kiln), _piece(kiln, logged, piece), _litres(kiln, logged)):
        if one is not None:
            yield one
    for place in _places(kiln, logged):
        yield _casing(kiln, logged, place)


def _left(kiln: KilnPlan) -> Panel | None:
    """Return the water that is left at the end of each day, from all of it where the first day is planned."""
    if not kiln.days:
        return None
    ends = [(day.number, day.left.p10, day.left.p50, day.left.p90) for day in kiln.days]
    begin = [(0, 1.0, 1.0, 1.0)] if kiln.days[0].number == 1 else []
    days, low, mid, high = zip(*begin, *ends, strict=True)
    low, mid, high = (tuple(100 * one for one in values) for values in (low, mid, high))
    return Panel(words().status.plot.left, days, low, mid, high, from_nought=True)


def _piece(kiln: KilnPlan, logged: Sequence[Logged], piece: Piece | None) -> Panel | None:
    """Return what the marked piece weighs beside what it should; as water left in it where it is known wet and dry."""
    expected = [(day, one) for day in kiln.days for one in day.readings if one.what == "piece" and one.at]
    if not expected:
        return None
    unit, say = expected[0][1].unit, words().status.plot
    weighed = piece if piece and piece.unit == unit == "kg" else None
    title = say.piece_left if weighed else say.piece(unit=unit)
    read = _read(kiln, logged, "piece", unit)
    return _timed(title, kiln, expected, [(at, _share(weighed, value)) for at, value in read], weighed)


def _share(piece: Piece | None, weight: float) -> float:
    """Return how much of its water a piece still holds, in per cent; where it is not known, what it weighs."""
    if piece is None or piece.wet_kg is None or piece.dry_kg is None:
        return weight
    return 100 * (weight - piece.dry_kg) / (piece.wet_kg - piece.dry_kg)


def _timed(
    title: str, kiln: KilnPlan, expected: Sequence[tuple[Day, Expected]], read: Sequence[tuple[float, float]],
    piece: Piece | None = None,
) -> Panel:  # fmt: skip
    """Return bands that hold at hours, drawn from hour to hour."""
    days = tuple(_day_of(kiln, one.at) for _, one in expected if one.at)
    bands = ((_share(piece, _or_nan(value)) for value in (one.low, one.mid, one.high))
             for _, one in expected)  # fmt: skip
    low, mid, high = zip(*bands, strict=True)
    return Panel(title, days, low, mid, high, tuple(read))


def _litres(kiln: KilnPlan, logged: Sequence[Logged]) -> Panel | None:
    """Return what was caught, summed up, beside the days' bands summed up: wider than eight in ten of the sums."""
    expected = [
        (day, one) for day in kiln.days for one in day.readings if one.what == "litres" and one.high is not None
    ]
    if not expected:
        return None
    low, mid, high = (
        (0.0, *accumulate(getattr(one, end) or 0.0 for _, one in expected)) for end in ("low", "mid", "high")
    )
    days = (float(expected[0][0].number - 1), *(float(day.number) for day, _ in expected))
    read = _read(kiln, logged, "litres", expected[0][1].unit)
    sums = accumulate(value for _, value in read)
    caught = tuple((at, value) for (at, _), value in zip(read, sums, strict=True))
    return Panel(words().status.plot.litres, days, low, mid, high, caught, from_nought=True)


def _places(kiln: KilnPlan, logged: Sequence[Logged]) -> list[str]:
    """Return the places of the casing that were read most often, those of the plan where none was read."""
    planned = dict.fromkeys(one.place for day in kiln.days for one in day.readings if one.what == "casing")
    times = {place: sum(one.what == "casing" and one.place in ("", place) for one in logged) for place in planned}
    return sorted(planned, key=lambda place: -times[place])[:PLACES]


def _casing(kiln: KilnPlan, logged: Sequence[Logged], place: str) -> Panel:
    """Return a place of the casing beside its band; between two days there is none."""
    rows: list[tuple[float, float, float, float]] = []
    for day in kiln.days:
        here = [one for one in day.readings if (one.what, one.place) == ("casing", place)]
        of = [(_day_of(kiln, one.at), one) for one in here if one.at]
        rows += [(at, _or_nan(one.low), _or_nan(one.mid), _or_nan(one.high)) for at, one in of]
        rows += [(rows[-1][0], nan, nan, nan)] if of else []
    days, low, mid, high = zip(*rows, strict=True)
    read = _read(kiln, logged, "casing", "°C", place)
    return Panel(words().status.plot.casing(place=place), (*days, float(kiln.days[-1].number)),
                 (*low, nan), (*mid, nan), (*high, nan), tuple(read))  # fmt: skip


def _or_nan(value: float | None) -> float:
    return nan if value is None else value


def _read(kiln: KilnPlan, logged: Sequence[Logged], what: str, unit: str, place: str = "") -> list[tuple[float, float]]:
    """Return what was read of something, each by the day of the drying; of another unit, or of no day, none."""
    return [
        (_day_of(kiln, one.measured), one.value) for one in logged
        if (one.what, one.unit) == (what, unit) and one.value is not None and (not place or one.place in ("", place))
        and day_at(kiln, one)
    ]  # fmt: skip


def _day_of(kiln: KilnPlan, at: datetime) -> float:
    """Return a moment by the day of the drying: its first opening is nought, what is before it as well."""
    first = next((day for day in kiln.days if day.attended_from), None)
    if first is None or first.attended_from is None:
        return 0.0
    return max(first.number - 1 + elapsed_h(first.attended_from, at) / 24, 0.0)


# ---------------------------------------------------------------------------------------- in letters


def _labels() -> list[str]:
    return [str(round(100 - 100 * row / (ROWS - 1))) for row in range(ROWS)]


def _letters(left: Panel, read: Sequence[tuple[float, float]], wide: int, last: float) -> list[str]:
    """Return the rows of a plot, the highest first: colons in the band, a dash at its middle, o what was read."""
    grid = [[" "] * wide for _ in range(ROWS)]
    for column in range(wide):
        day = (column + 0.5) / wide * last
        if day < left.days[0]:
            continue
        low, mid, high = (_row(float(np.interp(day, left.days, one))) for one in (left.low, left.mid, left.high))
        for row in range(high, low + 1):
            grid[row][column] = ":"
        grid[mid][column] = "-"
    for when, value in read:
        grid[_row(value)][min(int(when / last * wide), wide - 1)] = "o"
    return ["".join(row) for row in grid]


def _row(percent: float) -> int:
    return min(max(round((ROWS - 1) * (1 - percent / 100)), 0), ROWS - 1)


def _axis(kiln: KilnPlan, wide: int, last: float, now: datetime | None) -> str:
    """Return the axis: the number of each day that there is room for where it ends, and a caret where now is."""
    marks = ["_"] * wide
    step = next(one for one in (1, 2, 5, 7, 14, 28, 100, 1000) if one * wide / last >= len(f" {last:g} "))
    for day in range(step, round(last) + 1, step):
        text, end = str(day), round(day / last * wide)
        marks[end - len(text) : end] = text
    at = 0.0 if now is None else _day_of(kiln, now)
    if 0 < at < last:
        marks[min(int(at / last * wide), wide - 1)] = "^"
    return f"{words().status.plot.axis:>3} |{''.join(marks)}"
