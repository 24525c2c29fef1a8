"""The days of a plan as a table for a sheet: a row for each step, or for a day that has none; figures as stored.

A day that something forbids has no step, and nothing that is set.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from recover.base.errors import PaperError
from recover.judged.assessment import Assessment
from recover.report.day import as_it_may_be_set, clock_of, dated, day_view, way_of, why_shut
from recover.report.plan_days import waits_for
from recover.report.words import words

if TYPE_CHECKING:
    from recover.physics.draws import Spread
    from recover.plan.whole import Day, JobPlan, KilnPlan, TimedStep

TableRow = dict[str, str | int | float | None]


def csv_text(found: Assessment, plan: JobPlan) -> str:
    """Return the days of every kiln as CSV; a day that may have no date has clock times alone.

    The first row of each kiln carries the caution as its note. Raises PaperError where no kiln has a day.
    """
    word, rows = words().plan_table, [row for kiln in plan.kilns for row in _rows(found, plan, kiln)]
    if not rows:
        raise PaperError(word.nothing(reasons=_why_none(plan)))
    written = io.StringIO(newline="")
    writer = csv.DictWriter(written, list(word.column), lineterminator="\n")
    writer.writerow(word.column)
    writer.writerows(rows)
    return written.getvalue()


def _why_none(plan: JobPlan) -> str:
    """Return for each kiln that has no day why."""
    return " ".join(f"{kiln.label}: {' '.join(_reasons(kiln))}" for kiln in plan.kilns if not kiln.days)


def _reasons(kiln: KilnPlan) -> Iterator[str]:
    yield from (*kiln.missing, *kiln.refused)
    if kiln.because and not kiln.recommended:
        yield kiln.because


def _rows(found: Assessment, plan: JobPlan, kiln: KilnPlan) -> Iterator[TableRow]:
    word = words().plan_table
    note = word.caution
    for day in kiln.days:
        clock = _Clock(day, ZoneInfo(plan.zone), dated=dated(found, kiln, day))
        told = as_it_may_be_set(found, kiln, day)
        undated = next((word.shut[why] for why in why_shut(found, kiln, day)), word.undated)
        why = "" if clock.dated else undated
        of_day = {
            "kiln": kiln.label, **_day(told, clock), "dated": why,
            "waits_for": ", ".join(waits_for(day, day_view(found, plan, kiln, day))),
        }  # fmt: skip
        for number, step in enumerate(told.steps or (None,), start=1):
            yield {**of_day, **(_step(told, number, step, clock) if step else {}), "note": note}
            note = ""


class _Clock:
    """Writes moments by the clock of the place: in ISO form with the zone's hours, or the time alone without a date."""

    def __init__(self, day: Day, zone: ZoneInfo, *, dated: bool) -> None:
        self.day, self.zone, self.dated = day, zone, dated

    def __call__(self, moment: datetime | None) -> str:
        if moment is None:
            return ""
        if self.dated:
            return moment.astimezone(self.zone).isoformat(timespec="minutes")
        return clock_of(moment, self.day, self.zone)


def _day(day: Day, clock: _Clock) -> TableRow:
    """Return what is the same in every row of a day."""
    say = words().day
    return {
        "day": day.number, "date": day.date.isoformat() if clock.dated else "", "phase": say.phase[day.phase],
        "way": way_of(day), "boards": day.boards,
        "attended_from": clock(day.attended_from), "attended_to": clock(day.attended_to),
        "programme_ends": clock(day.programme_ends), "top": _tenths(day.top_degc), "cutout": _tenths(day.cutout_degc),
        "source": day.source_of_heat, "off": day.off_switch, "runs_on": ", ".join(day.runs_on),
        **_spread("left", day.left, 100), **_spread("litres", day.litres), **_spread("kwh", day.kwh),
    }  # fmt: skip


def _step(day: Day, number: int, step: TimedStep, clock: _Clock) -> TableRow:
    """Return what a row says of a step; one that is there at once, or stays, has no ramp. The cut-out is its run's."""
    own = {run.number: run.cutout_degc for run in day.runs}
    return {
        "run": step.run, "step": number, "begins": clock(step.begins), "hold_from": clock(step.hold_from),
        "ends": clock(step.ends), "ramp": _tenths(step.ramp_k_h), "degc": _tenths(step.to_degc),
        "cutout": _tenths(own.get(step.run, day.cutout_degc)), "reads": words().plan_table.reads if step.reads else "",
    }  # fmt: skip


def _spread(name: str, of: Spread, times: float = 1.0) -> TableRow:
    return {f"{name}_{end}": round(times * getattr(of, end), 2) for end in ("p10", "p50", "p90")}


def _tenths(value: float | None) -> float | None:
    return None if value is None else round(value, 1)
