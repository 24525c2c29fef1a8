"""The days of the path that is followed as a calendar, phase by phase; days that are printed alike stand together.

Every figure is a day's own, in the words of `day`. A day that something forbids has no date: nobody knows when it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING

from recover.report.day import criteria, may_be_told, way_title
from recover.report.paper import View, days_text, span
from recover.report.words import words

if TYPE_CHECKING:
    from recover.judged.assessment import Assessment
    from recover.plan.whole import Day, KilnPlan, PathPhase, PhaseName


def phases(
    found: Assessment, kiln: KilnPlan, views: Sequence[View], *, overtaken: bool = False, over: date | None = None
) -> list[View]:  # fmt: skip
    """Return the phases of the path that is followed, each with its days; without any date where it is overtaken, and
    waiting for nothing where it is `over`, handed over on a date.

    `views` are what `day_view` makes of the days. A phase that is not planned day by day has none.
    """
    rows = [_row(day, view) for day, view in zip(kiln.days, views, strict=True)]
    parts = groupby(rows, key=lambda row: (row["phase"], row["way"]))
    named = {row["phase"] for row in rows}
    later = [one for one in (kiln.path.phases if kiln.path else ()) if one.name not in named]
    told = [
        *(_with_days(found, kiln, list(part)) for _, part in parts),
        *(_headed(one.name, one.way, _dates(found, kiln, one), [_before_proof(kiln)]) for one in later),
    ]
    if over:
        return [{**one, "waits": [], "over": words().plan.phase.over(on=over)} for one in told]
    return [_undated(one) for one in told] if overtaken else told


def _undated(phase: View) -> View:
    return {**phase, "dates": "", "days": [{**day, "when": ""} for day in phase["days"]]}


def _dates(found: Assessment, kiln: KilnPlan, phase: PathPhase | None) -> str:
    """Return from when to when a phase is; nothing where a day of it, or before it, has no date."""
    return dates(phase.first, phase.last) if phase and may_be_told(found, kiln, phase.last) else ""


def _with_days(found: Assessment, kiln: KilnPlan, part: Sequence[View]) -> View:
    """Return a phase with its days, those together that are alike in all but date and water left."""
    head, alike = part[0], (list(group) for _, group in groupby(part, key=lambda row: row["cells"]))
    planned = (one for one in (kiln.path.phases if kiln.path else ()) if one.name == head["phase"])
    phase = next((one for one in planned if one.first <= head["on"] <= one.last), None)
    days = [
        {
            "day": days_text([row["number"] for row in group]), "when": _when(group), "left": group[-1]["left"],
            **group[0]["cells"],
        }
        for group in alike
    ]  # fmt: skip
    waits = [one for row in part for one in row["waits"]]
    return {**_headed(head["phase"], head["way"], _dates(found, kiln, phase), waits), "days": days}


def _headed(name: PhaseName, way: str, on: str, waits: Sequence[str]) -> View:
    """Return the head of a phase: how it is dried, when, and what it waits for."""
    told = words().plan.phase
    how = {"outside": way_title(way), "own": "", "proof": told.proof}
    return {
        "name": words().day.phase[name], "way": how[name],
        "dates": on, "waits": [*dict.fromkeys(waits)], "over": "", "days": [],
    }  # fmt: skip


def _before_proof(kiln: KilnPlan) -> str:
    """Say what a phase waits for that is not planned day by day: what is read says that it is dry, or its days do."""
    waits = words().plan.phase.waits
    return waits["proof"] if criteria(kiln, "done") else waits["held"]


def _row(day: Day, view: View) -> View:
    """Return a day's own figures, and the cells that it may have in common with its neighbours."""
    nobody = day.attended_from is None
    cells = {
        "attended": "" if nobody else view["attended"], "top": view["top"], "cutout": view["cutout"],
        "does": view["attended"] if nobody else view["boards"], "ends": list(_ends(day, view)),
        "steps": [row for row in view["steps"] if row["kind"] not in ("off", "opens")], "dated": bool(view["date"]),
    }  # fmt: skip
    return {
        "number": day.number, "on": day.date, "phase": day.phase, "way": day.way, "waits": list(waits_for(day, view)),
        "date": view["date"], "after": view["after"], "left": view["left"], "cells": cells,
    }  # fmt: skip


def waits_for(day: Day, view: View) -> Iterator[str]:
    """Yield what a day waits for: hold points that are not released, a reading."""
    told = words().plan.phase
    if view["holds"]:
        yield told.release(holds=", ".join(view["holds"]))
    if day.waits_for == "boiling" and view["gate"]:
        yield told.waits["own_heat"]
    if day.waits_for:
        yield told.waits[day.waits_for]


def _ends(day: Day, view: View) -> Iterator[str]:
    """Yield when a day's heat ends, where it is switched off, what runs on, and what it does not begin without."""
    told = words().plan.calendar
    if view["ends"]:
        yield view["ends"]
    if view["source"]:
        yield told.off(source=view["source"], off=view["off"] or words().calendar.off)
    if day.runs_on:
        yield view["runs_on"]
    if day.waits_for == "boiling":
        yield told.boiling


def _when(group: Sequence[View]) -> str:
    """Return the dates of days that are alike; of those without, which days after the release they are.

    Where they are counted from it anyway, their numbers are not said twice.
    """
    if group[0]["date"]:
        return span(group[0]["date"], group[-1]["date"])
    counted = all(row["after"] == row["number"] for row in group)
    days = "" if counted else days_text([row["after"] for row in group])
    return words().plan.calendar.after_release(days=days).strip()


def dates(first: date, last: date) -> str:
    """Print two dates as a range, the year once where it is one."""
    begins = f"{first.day} {first:%b}" if first.year == last.year else f"{first.day} {first:%b %Y}"
    ends = f"{last.day} {last:%b %Y}"
    return ends if first == last else span(begins, ends)
