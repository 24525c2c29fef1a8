"""A day by the kiln's own elements, for the sheet by the kiln: steps by the clock, what comes before, when to stop.

By the programme of the controller where that runs the day, else by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from math import ceil
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from recover.base.measures import show_hours_minutes, show_quantity
from recover.controller.instructions import Instructions, instructions, step_lines
from recover.controller.programme import Programme, ProgrammeRun, Refusal, manual
from recover.controller.programme import words as said_of_runs
from recover.judged.assessment import Assessment
from recover.judged.dryout import OUTDOORS, ventilation_m3_h
from recover.judged.standing import Hold
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.physics.figures import opening as vent
from recover.physics.staged import Heating
from recover.physics.stages import unknown_height_m
from recover.plan.clock import opening, timetable
from recover.plan.strategies import ReadWhen, WayCard
from recover.profiles import own_limits
from recover.report.paper import View
from recover.report.plan_days import assumed
from recover.report.words import BoxState, words
from recover.schedule.limits import figures
from recover.schedule.spells import Schedule

if TYPE_CHECKING:
    from recover.plan.whole import Followed, JobPlan, KilnPlan
    from recover.schedule.search import Plan


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What one sheet is made from. `changed`: something that the plan rests on has changed since it was made."""

    found: Assessment
    plan: JobPlan
    kiln: KilnPlan
    day: int
    changed: bool

    @property
    def way(self) -> WayCard | None:
        """The way that is followed."""
        return self.kiln.strategy.card if self.kiln.strategy else None

    @property
    def hold(self) -> Hold:
        """The hold point before heating with its own elements."""
        return self.found.hold("own_heat", self.kiln.kiln)

    @property
    def state(self) -> BoxState:
        """What may be done today; own elements never while anything is missing, or the plan has been overtaken."""
        if self.way is None:
            return "nothing"
        if not self.kiln.by_own:
            return "outside"
        if self.hold.state == "released" and not self.lacks:
            return "lapses" if self.hold.until and self.hold.until < self.closes else "released"
        return "ready" if self.hold.state == "ready for release" and not self.lacks else "closed"

    @property
    def lacks(self) -> list[str]:
        """What is missing before its own elements heat: of the kiln's lining, of the hold point, of the plan."""
        say, plan = words().kiln_room.missing, self.kiln.own
        wanting = (
            (say.gate, not self.kiln.gate_open and not self.hold.missing), (say.schedule, plan is None),
            (say.broken, plan is not None and not plan.feasible), (say.again, self.changed),
        )  # fmt: skip
        lining = [sentence.rstrip(".") for sentence in self.kiln.missing]
        return [*lining, *self.hold.missing, *(what for what, lacks in wanting if lacks)]

    @property
    def follows(self) -> Plan | Followed | None:
        """What is done with its own elements, by the controller or by hand; None where another way is followed."""
        return self.kiln.shown if self.kiln.by_own and self.kiln.own else None

    @property
    def schedule(self) -> Schedule | None:
        """The schedule of that."""
        return self.follows.proof.schedule if self.follows else None

    @property
    def zone(self) -> ZoneInfo:
        """Where the clock hangs."""
        return ZoneInfo(self.plan.zone)

    @property
    def closes(self) -> datetime:
        """When what this sheet has of its schedule ends: the day's heating; the day itself where it heats all night."""
        if not self.follows or not self.schedule:
            return self.opens(self.day + 1)
        last = timetable(self.follows, self.plan.request, self.zone, self.begins - 1)[-1].ends
        return min(last, self.opens(self.day + 1)) if self.schedule.attendance.always else last

    @property
    def begins(self) -> int:
        """Which day, from 1, began the attended spell of this one: where somebody is always there, the first."""
        return 1 if self.schedule and self.schedule.attendance.always else self.day

    @property
    def days(self) -> int:
        """How many days the schedule has, by the calendar; 0 where there is none."""
        if self.schedule is None:
            return 0
        return ceil(self.schedule.hours / 24) if self.schedule.attendance.always else len(self.schedule.days)

    def opens(self, day: int) -> datetime:
        """Return when a day, counted from 1, opens."""
        return opening(self.plan.request, self.zone, day - 1)

    def clock(self, moment: datetime) -> str:
        """Return a clock time, with the day of the week past midnight."""
        same = moment.date() == self.opens(self.day).date()
        return f"{moment:%H:%M}" if same else f"{moment:%a %H:%M}"

    def routine(self, when: ReadWhen) -> list[str]:
        """Return what the way that is followed asks for before a day opens, while it runs, before somebody leaves."""
        return [check.say for check in self.way.routine if check.when == when] if self.way else []


def own_day(sheet: Sheet, plan: Plan, follows: Plan | Followed) -> View:
    """Return the day of a schedule of the kiln's own elements: by its programme, or by hand."""
    programme = sheet.kiln.programme(sheet.begins)
    runs = instructions(programme) if programme else ()
    steps = list(_steps(sheet, runs, follows))
    cut = [*dict.fromkeys(line for run in runs for line in run.power_cut)] or _by_hand_cut()
    return {
        "steps": steps, "late": any(" " in row["at"] for row in steps),
        "step_columns": words().kiln_room.columns.own if runs else words().kiln_room.columns.by_hand,
        "stop": listed("stop", [*(sheet.way.stop if sheet.way else ()), _stop(plan)]),
        "lists": [
            listed("opens", [*sheet.routine("opens"), *_before(sheet, plan, programme, runs)], tick=True),
            listed("hourly", [*sheet.routine("hourly"), *_holds(plan.heating), *_seen(runs)]),
            listed("by_hand", [] if runs else _manual(sheet)),
            listed("leaves", sheet.routine("leaves"), tick=True),
            listed("power_cut", cut), listed("go_on", [sheet.way.go_on] if sheet.way else []),
        ],
    }  # fmt: skip


def listed(name: str, lines: Iterable[str], *, tick: bool = False) -> View:
    """Return lines under their title; `tick`: with a box each."""
    return {"title": words().kiln_room.title[name], "lines": list(lines), "tick": tick}


def _steps(sheet: Sheet, runs: tuple[Instructions, ...], follows: Plan | Followed) -> Iterator[View]:
    """Yield the steps of the day by the clock; of a schedule day and night without a break, those of 24 hours of it."""
    entries = timetable(follows, sheet.plan.request, sheet.zone, sheet.begins - 1)
    day = follows.proof.schedule.days[sheet.begins - 1]
    by_hand = ProgrammeRun(1, day.from_degc, day.steps)
    said = _by_programme(runs) if runs else [[line] for line in step_lines(by_hand, "C")]
    rows = [(one.begins, line) for one, lines in zip(entries, said, strict=False) for line in lines]
    off = words().kiln_room.rows.cut if entries[-1].cut else words().kiln_room.rows.off
    here = _here(sheet, [*rows, (entries[-1].ends, off)])
    yield from ({"at": sheet.clock(moment), "say": say, "head": ""} for moment, say in here)


def _here(sheet: Sheet, rows: list[tuple[datetime, str]]) -> Iterator[tuple[datetime, str]]:
    """Yield what lies between the opening of the sheet's day and the next, and first what is under way then."""
    if not sheet.schedule or not sheet.schedule.attendance.always:
        yield from rows
        return
    begins, ends = (sheet.opens(sheet.day + more).astimezone(UTC) for more in (0, 1))
    gone = [say for moment, say in rows if moment.astimezone(UTC) < begins]
    to_come = rows[len(gone) :]
    if gone and to_come and to_come[0][0].astimezone(UTC) > begins:
        yield sheet.opens(sheet.day), words().kiln_room.rows.goes_on(step=gone[-1])
    yield from (row for row in to_come if row[0].astimezone(UTC) < ends or sheet.day == sheet.days)


def _by_programme(runs: tuple[Instructions, ...]) -> Iterator[list[str]]:
    """Yield what is said at the begin of each step of the runs, one run after the other."""
    for one in runs:
        for number, say in enumerate(one.steps):
            yield [_run(one), say] if number == 0 and len(runs) > 1 else [say]


def _run(one: Instructions) -> str:
    """Say that a run is started; one that follows another, between which temperatures."""
    if one.run.number == 1 or one.warm_degc is None:
        return words().kiln_room.rows.run(run=one.run.number)
    least, most = (show_quantity(round(degc), "degC") for degc in one.warm_degc)
    return words().kiln_room.rows.run_hot(run=one.run.number, least=least, most=most)


def _seen(runs: tuple[Instructions, ...]) -> list[str]:
    """Return what is to be seen while a programme runs."""
    return [*dict.fromkeys(line for run in runs for line in (*run.see, run.change))]


def _manual(sheet: Sheet) -> tuple[str, ...]:
    """Return how the day is done by hand."""
    days = sheet.kiln.followed.days if sheet.kiln.followed else ()
    refused = [day for day in days if isinstance(day, Refusal)]
    return refused[0].manual if refused else manual()


def _holds(heating: Heating) -> list[str]:
    """Say where readings are taken and how long, at what height, and where water boils there."""
    said, height_m = words().kiln_room.own, heating.height_m
    degc = figures().hold_points_degc(height_m)
    points = ", ".join(show_quantity(one, "degC") for one in degc)
    holds = said.holds(hold_points=points, hold=show_hours_minutes(own_limits()["plan_hold_h"].value))
    counted_m = unknown_height_m() if height_m is None else height_m
    boils = show_quantity(round(boiling_degc(pressure_at_pa(counted_m)), 1), "degC")
    at_height = said.at_height["unknown" if height_m is None else "known"]
    return [holds, at_height(height=show_quantity(counted_m, "m"), boils=boils)]


def _before(sheet: Sheet, plan: Plan, programme: Programme | None, runs: tuple[Instructions, ...]) -> Iterator[str]:
    say = words().kiln_room.own
    air_m3_h = ventilation_m3_h(plan.proof.vapour_kg_h.p90, OUTDOORS.at(plan.heating.height_m))
    yield from say.opens(
        by=sheet.hold.signers, opening=vent(plan.heating.opening).label,
        air=show_quantity(air_m3_h, "m3/h", figures=2),
    )  # fmt: skip
    yield assumed(plan.heating)
    if plan.wrapped:
        yield say.wrapped
    start = show_quantity(round(programme.start_degc if programme else plan.heating.room_degc), "degC")
    cold = say.cold if sheet.day == 1 else say.hotter(start=start)
    yield say.under_way if sheet.begins < sheet.day else cold
    if programme:
        yield from (_cutout(programme, run.run) for run in runs)
        yield say.read_back


def _cutout(programme: Programme, run: ProgrammeRun) -> str:
    """Say what the cut-out is set to for a run; where its margin is not known, as little above the top as can be."""
    margin_k, say = programme.controller.cutout_margin_k, words().kiln_room.own.cutout
    which = words().kiln_room.own.cutout_of(run=run.number) if len(programme.runs) > 1 else ""
    degc = show_quantity(round(run.top_degc + (margin_k or 0.0)), "degC")
    return say["unknown" if margin_k is None else "known"](degc=degc, which=which)


def _stop(plan: Plan) -> str:
    """Return the figures at which a day is stopped, in a line."""
    limits, abort = plan.limits, own_limits()["element_abort_megohm"]
    return words().kiln_room.own.stop(
        abort=show_quantity(abort.value, abort.unit), casing=show_quantity(limits.casing.value, "degC"),
        terminal=show_quantity(limits.terminal.value, "degC"),
    )  # fmt: skip


def _by_hand_cut() -> list[str]:
    return [*words().kiln_room.own.power_cut, said_of_runs().power_cut_rule["say"]]
