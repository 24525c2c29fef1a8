"""The schedules of a plan as a table for a sheet: a row for each step, with its clock times and what it leaves."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from math import isinf
from zoneinfo import ZoneInfo

from recover.base.errors import PaperError
from recover.plan.clock import Entry, timetable
from recover.plan.whole import JobPlan, KilnPlan
from recover.report.plan_days import why_none
from recover.report.words import words

TableRow = dict[str, str | int | float]


def csv_text(plan: JobPlan) -> str:
    """Return the steps of every kiln that is dried by a schedule of its own elements, as CSV.

    The first row of each kiln carries the caution as its note. Raises PaperError where no kiln has such a schedule.
    """
    word, rows = words().plan_table, [row for kiln in plan.kilns for row in _rows(kiln, plan)]
    if not rows:
        raise PaperError(word.nothing(reasons=why_none(plan)))
    written = io.StringIO(newline="")
    writer = csv.DictWriter(written, list(word.column), lineterminator="\n")
    writer.writerow(word.column)
    writer.writerows(rows)
    return written.getvalue()


def _rows(kiln: KilnPlan, plan: JobPlan) -> Iterator[TableRow]:
    if not kiln.by_own or not (own := kiln.shown):
        return
    note = _note(kiln)
    for day in range(len(own.proof.schedule.days)):
        for entry in timetable(own, plan.request, ZoneInfo(plan.zone), day):
            yield {"kiln": kiln.label, "day": day + 1, **_step(entry), "note": note}
            note = ""


def _note(kiln: KilnPlan) -> str:
    word = words().plan_table
    return word.caution if kiln.gate_open else f"{word.caution} {word.gate}"


def _step(entry: Entry) -> TableRow:
    """Return what a row says of a step; a ramp that is done at once has no figure."""
    step = entry.step
    begins, hold_from, ends = (
        moment.isoformat(timespec="minutes") for moment in (entry.begins, entry.hold_from, entry.ends)
    )
    return {
        "step": entry.number + 1, "date": entry.begins.date().isoformat(),
        "begins": begins, "hold_from": hold_from, "ends": ends,
        "ramp": "" if isinf(step.ramp_k_h) else round(step.ramp_k_h, 1), "degc": round(step.to_degc, 1),
        "hold": round(step.hold_h, 2), "left_p10": _percent(entry.left.p10), "left_p50": _percent(entry.left.p50),
        "left_p90": _percent(entry.left.p90), "casing": round(entry.casing_degc.p50),
        "cut": words().plan_table.cut if entry.cut else "",
    }  # fmt: skip


def _percent(share: float) -> float:
    return round(100 * share, 1)
