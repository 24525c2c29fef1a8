"""A day for the sheet by the kiln: whether it may begin, what is set, its steps, what is read, when to stop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from recover.base.measures import SYMBOLS, show_quantity
from recover.controller.programme import Instructions, manual
from recover.judged.assessment import Assessment
from recover.plan.kinds import LogKind, kinds
from recover.plan.log import day_at, log_of
from recover.plan.ways import ReadWhen, WayCard, routine_of
from recover.profiles import own_limits
from recover.report.day import (
    card_of,
    criteria,
    day_view,
    dry_when,
    forbidden,
    gate,
    handed_over_on,
    idle,
    may_pass,
    own_heat,
    shut_by,
)
from recover.report.paper import View
from recover.report.words import BoxState, words

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan

GOES = ("over", "outside", "waits", "ready", "lapses", "released")
"""The states in which it is said what is done on the day, once whoever must has released it; or what was to be done."""

ACROSS = 12
"""How many hours of readings stand beside one another."""

OFTEN = 3
"""What is read so often on a day stands in a row of its own, hour by hour; but for insulation, which is read between
hours, the kiln isolated."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What one sheet is made from. `changed`: something that the plan rests on has changed since it was made.

    `day` is None where the kiln has none: no path is followed, or nothing is planned for it.
    """

    found: Assessment
    plan: JobPlan
    kiln: KilnPlan
    day: Day | None
    changed: bool

    @cached_property
    def view(self) -> View | None:
        """The day in words."""
        return day_view(self.found, self.plan, self.kiln, self.day) if self.day else None

    @property
    def state(self) -> BoxState:
        """What may be done today; own elements never while anything is missing, or the plan has been overtaken.

        A day from outside is written down while it waits for a hold point, without a date.
        """
        if self.day is None:
            return "nothing"
        now = self._now(self.day)
        lived = now in GOES or self.was_read(self.day) or handed_over_on(self.found, self.kiln) is not None
        return "over" if lived and self.is_over(self.day) else now

    def _now(self, day: Day) -> BoxState:
        """What may be done on a day by what is released now."""
        if shut_by(self.found, self.kiln, day):
            return "shut"
        may = self._own_state(day) if own_heat(day) else self._outside_state(day)
        return "nobody" if may != "closed" and day.attended_from is None else may

    def was_read(self, day: Day) -> bool:
        """Whether anything of a day is in the log: it was lived, whatever is released now."""
        return any(day_at(self.kiln, one) == day for one in log_of(self.found.answers, self.kiln.kiln))

    def is_over(self, day: Day) -> bool:
        """Whether a day is no order any more: its kiln was handed over, or whoever attends has left, and what runs on
        has ended. What is released today is nothing of it."""
        ends = [at.timestamp() for at in (day.attended_to, day.programme_ends) if at]
        gone = bool(ends) and max(ends) <= self.found.answers.now.timestamp()
        return gone or handed_over_on(self.found, self.kiln) is not None

    def _outside_state(self, day: Day) -> BoxState:
        return "waits" if forbidden(self.found, self.kiln, day) else "outside"

    def _own_state(self, day: Day) -> BoxState:
        hold = gate(self.found, self.kiln)
        if self.lacks or hold.state == "closed":
            return "closed"
        if hold.state == "ready for release":
            return "ready"
        lapses = hold.until is not None and day.attended_to is not None and hold.until < day.attended_to
        return "lapses" if lapses else "released"

    @property
    def goes(self) -> bool:
        """Whether there is something to do today."""
        return self.state in GOES

    @property
    def lacks(self) -> list[str]:
        """What is missing before its own elements heat: of the kiln's lining, of the hold point, of the plan."""
        say, missing = words().kiln_room.missing, gate(self.found, self.kiln).missing
        lining = [sentence.rstrip(".") for sentence in self.kiln.missing]
        wanting = ((say.gate, not self.kiln.gate_open and not missing), (say.again, self.changed))
        return [*lining, *missing, *(what for what, lacks in wanting if lacks)]

    @property
    def card(self) -> WayCard | None:
        """What is done on this day, and when it stops."""
        return card_of(self.day) if self.day else None

    def routine(self, when: ReadWhen) -> list[str]:
        """Return what the way of this day asks for before it opens, while it runs, before somebody leaves."""
        return routine_of(self.card, when, alone=bool(self.day and self.day.runs_on)) if self.card else []


def body(sheet: Sheet) -> View:
    """Return what is done on the day of a sheet; empty where nothing is."""
    if not sheet.goes or sheet.day is None or sheet.view is None:
        tonight = sheet.view["runs_on"] if sheet.view and sheet.state == "nobody" else ""
        return {"set_today": [], "steps": [], "step_columns": [], "grids": [], "once": [],
                "stop": _listed("stop", []), "tonight": tonight, "lists": []}  # fmt: skip
    runs = [run.said for run in sheet.day.runs if run.said]
    return {
        "set_today": _set_today(sheet.view), "steps": sheet.view["steps"],
        "step_columns": words().kiln_room.columns.hand if sheet.day.by_hand else words().kiln_room.columns.steps,
        **_readings(sheet.view["readings"]), "stop": _stop(sheet, sheet.day, sheet.view),
        "tonight": sheet.view["runs_on"], "lists": [*_lists(sheet, sheet.day, runs)],
    }  # fmt: skip


def _listed(name: str, lines: Iterable[str], *, tick: bool = False) -> View:
    """Return lines under their title; `tick`: with a box each."""
    return {"title": words().kiln_room.title[name], "lines": list(lines), "tick": tick}


# ---------------------------------------------------------------------------------------- what is set, and its steps


def _set_today(view: View) -> list[View]:
    """Return what is set today, and every number that was assumed of equipment and room."""
    say = words().kiln_room.set_today
    cutout = view["cutout"] or (say["cutout_unknown"] if view["top"] else "")
    rows = [(say["source"], view["source"]), (say["top"], view["top"]), (say["cutout"], cutout)]
    return [
        *({"label": label, "value": value} for label, value in rows if value),
        *({"label": one["what"], "value": one["value"]} for one in view["beside"]),
    ]


# ---------------------------------------------------------------------------------------- what is read


def _readings(readings: list[View]) -> View:
    """Return what is read by the hour as grids, a row to each place, and what is read once as lines."""
    places: dict[str, dict[str, View]] = {}
    readings = [row for one in readings for row in _with_beside(one)]
    for one in readings:
        places.setdefault(f"{one['label']}, {one['unit']}", {})[one["at"]] = one
    hourly = {
        label: of for label, of in places.items()
        if len(of) >= OFTEN and not any(one["what"] == "insulation" for one in of.values())
    }  # fmt: skip
    times = [*dict.fromkeys(one["at"] for one in readings if f"{one['label']}, {one['unit']}" in hourly)]
    once = [one for label, of in places.items() if label not in hourly for one in of.values()]
    parts = [times[first : first + ACROSS] for first in range(0, len(times), ACROSS)]
    return {"grids": [_grid(hourly, part) for part in parts], "once": once}


def _with_beside(one: View) -> Iterator[View]:
    """Yield a reading, and what is read beside it at the same hour; each with the units of all that is written down."""
    yield one | {"unit": _units(one["unit"], kinds()[one["what"]])}
    for kind in kinds().values():
        if kind.beside == one["what"]:
            unit = _units(SYMBOLS[kind.unit], kind)
            yield one | {"what": kind.id, "label": kind.label, "unit": unit, "band": "", "short": "", "stop": ""}


def _units(unit: str, kind: LogKind) -> str:
    """Return the unit of a reading and those of its conditions, as they are typed in: `%; °C`."""
    return "; ".join((unit, *(SYMBOLS[detail.unit] for detail in kind.details)))


def _grid(places: dict[str, dict[str, View]], times: list[str]) -> View:
    rows = [{"label": label, "cells": [of.get(at) for at in times]} for label, of in places.items()]
    return {"times": times, "rows": rows}


# ---------------------------------------------------------------------------------------- when to stop, what else


def _stop(sheet: Sheet, day: Day, view: View) -> View:
    """Return where this day's heat is switched off, and when."""
    say, card = words().kiln_room, sheet.card
    lines = [line.format(off=words().day.switch) for line in (card.stop if card else ())]
    if any(one["stop"] for one in view["readings"]):
        lines.append(say.beyond)
    if own_heat(day):
        abort, terminal = own_limits()["element_abort_megohm"], own_limits()["plan_terminal_degc"]
        lines.append(say.own_stop(
            abort=show_quantity(abort.value, abort.unit), terminal=show_quantity(terminal.value, "degC")
        ))  # fmt: skip
    title = say.off_at(off=view["off"] or say.off_unknown) if view["source"] else say.title["stop"]
    return {"title": title, "lines": lines, "tick": False}


def _lists(sheet: Sheet, day: Day, runs: list[Instructions]) -> Iterator[View]:
    """Yield what else is done and known; the first thing that is done between runs stands with the steps."""
    yield _listed("opens", [*sheet.routine("opens"), *_before(sheet, day)], tick=True)
    yield _listed("hourly", [*sheet.routine("hourly"), *_seen(runs)])
    yield _listed("between", _between(day, sheet.view))
    yield _listed("by_hand", manual() if day.by_hand and own_heat(day) else [])
    yield _listed("leaves", sheet.routine("leaves"), tick=True)
    yield _listed("power_cut", _power_cut(day, runs))
    yield _listed("go_on", [sheet.card.go_on] if sheet.card and sheet.card.go_on else [])
    if own_heat(day) and day.waits_for != "boiling":
        asked = may_pass(sheet.kiln)
        yield _listed("boiling", [*asked, words().kiln_room.unmet] if asked else [])
    yield _listed("done" if criteria(sheet.kiln, "done") else "never_done", dry_when(sheet.kiln, day))


def _between(day: Day, view: View | None) -> Iterator[str]:
    """Yield what is done after each run but the last; where the next has another cut-out, that it is set anew."""
    shown = view["runs"] if view else []
    for run, after, said in zip(day.runs, day.runs[1:], shown[1:], strict=False):
        if run.said:
            yield from run.said.then[1:] if run.reads else run.said.then
        if after.cutout_degc != run.cutout_degc and said["cutout"]:
            yield words().kiln_room.reset(run=after.number, cutout=said["cutout"])


def _before(sheet: Sheet, day: Day) -> Iterator[str]:
    """Yield what is done before own elements heat, beside what their way asks for; how warm they may begin."""
    if own_heat(day):
        yield words().kiln_room.trips
    if day.runs:
        yield words().kiln_room.read_back
    for run in sheet.view["runs"][:1] if sheet.view else ():
        yield from (said for said in ([run["said"]["before"]] if run["said"] else []) if run["begins"] in said)


def _seen(runs: list[Instructions]) -> list[str]:
    """Return what is to be seen while a programme runs, and what is done where it does not end by itself."""
    return [*dict.fromkeys(line for run in runs for line in (*run.see, run.change, run.ends[-1]))]


def _power_cut(day: Day, runs: list[Instructions]) -> list[str]:
    if runs:
        return [*dict.fromkeys(line for run in runs for line in run.power_cut)]
    return [] if idle(day) else [words().kiln_room.power_cut["own" if own_heat(day) else "outside"]]
