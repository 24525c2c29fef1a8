"""A day by the kiln's own elements, for the sheet by the kiln: steps by the clock, what comes before, when to stop.

By the programme of the controller where that runs the day, else by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import ceil, inf
from typing import TYPE_CHECKING, Any, Literal
from zoneinfo import ZoneInfo

from recover.assessment import Assessment, Hold
from recover.measures import show_hours_minutes, show_quantity
from recover.physics.figures import opening as vent
from recover.plan.clock import opening
from recover.plan.instructions import Instructions, instructions, step_lines
from recover.plan.limits import HOLD_POINTS_DEGC, ventilation_m3_h
from recover.plan.programme import Programme, Refusal, Run, manual
from recover.plan.programme import words as said_of_runs
from recover.plan.schedule import Day, Schedule
from recover.plan.strategies import Card, When
from recover.profiles import own_limits
from recover.report.paper import View
from recover.report.plan import day_of, own_heat
from recover.report.way import way_of
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.search import Plan
    from recover.plan.whole import JobPlan, KilnPlan

State = Literal["nothing", "closed", "ready", "released", "outside"]


@dataclass(frozen=True)
class Sheet:
    """What one sheet is made from. `changed`: something that the plan rests on has changed since it was made."""

    found: Assessment
    plan: JobPlan
    kiln: KilnPlan
    day: int
    changed: bool

    @property
    def way(self) -> Card | None:
        """The way that is followed."""
        way = way_of(self.kiln)
        return way.card if way else None

    @property
    def own_heat(self) -> bool:
        """Whether its own elements heat it."""
        return self.way is not None and self.way.air == "own"

    @property
    def hold(self) -> Hold:
        """The hold point before heating with its own elements."""
        return own_heat(self.found, self.kiln.kiln)

    @property
    def state(self) -> State:
        """What may be done today; own elements never while anything is missing, or the plan has been overtaken."""
        if self.way is None:
            return "nothing"
        if not self.own_heat:
            return "outside"
        if self.hold.state == "released" and not self.lacks:
            return "released"
        return "ready" if self.hold.state == "ready for release" and not self.lacks else "closed"

    @property
    def lacks(self) -> list[str]:
        """What is missing before anything is heated: of the kiln's lining, or before its own elements heat."""
        say, plan = told()["missing"], self.kiln.own
        if not self.own_heat:
            return list(self.kiln.missing)
        wanting = {
            "gate": not self.kiln.gate_open and not self.hold.missing, "schedule": plan is None,
            "broken": plan is not None and not plan.feasible, "again": self.changed,
        }  # fmt: skip
        return [*self.kiln.missing, *self.hold.missing, *(say[name] for name, lacks in wanting.items() if lacks)]

    @property
    def schedule(self) -> Schedule | None:
        """The schedule of its own elements, as it is followed; None where another way is."""
        if not self.own_heat or self.kiln.own is None:
            return None
        return (self.kiln.followed or self.kiln.own).proof.schedule

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


def told() -> dict[str, Any]:
    """Return the sheet's words."""
    room: dict[str, Any] = words()["kiln_room"]
    return room


def day_opens(sheet: Sheet, day: int) -> datetime:
    """Return when a day, counted from 1, opens."""
    return opening(sheet.plan.request, ZoneInfo(sheet.plan.zone), day - 1)


def clock(sheet: Sheet, hours: float) -> str:
    """Return the clock time so many hours after the schedule's day opened, with the day of the week past midnight."""
    first = day_opens(sheet, sheet.begins)
    then = (first.astimezone(UTC) + timedelta(minutes=round(60 * hours))).astimezone(first.tzinfo)
    return f"{then:%H:%M}" if then.date() == day_opens(sheet, sheet.day).date() else f"{then:%a %H:%M}"


def routine(sheet: Sheet, when: When) -> list[str]:
    """Return what the way that is followed asks for: before a day opens, while it runs, or before somebody leaves."""
    return [check.say for check in sheet.way.routine if check.when == when] if sheet.way else []


def own_day(sheet: Sheet, plan: Plan, schedule: Schedule) -> View:
    """Return the day of a schedule of the kiln's own elements: by its programme, or by hand."""
    programme = day_of(sheet.kiln, sheet.begins)
    runs = instructions(programme) if programme else ()
    steps = list(_steps(sheet, runs, schedule))
    cut = [*dict.fromkeys(line for run in runs for line in run.power_cut)] or _by_hand_cut()
    return {
        "steps": steps, "late": any(" " in row["at"] for row in steps),
        "step_columns": told()["columns"]["own" if runs else "by_hand"],
        "stop": listed("stop", [*(sheet.way.stop if sheet.way else ()), _stop(plan)]),
        "lists": [
            listed("opens", [*routine(sheet, "opens"), *_before(sheet, plan, programme, runs)], tick=True),
            listed("hourly", [*routine(sheet, "hourly"), _holds(), *_seen(runs)]),
            listed("by_hand", [] if runs else _manual(sheet)),
            listed("leaves", routine(sheet, "leaves"), tick=True),
            listed("power_cut", cut), listed("go_on", [sheet.way.go_on] if sheet.way else []),
        ],
    }  # fmt: skip


def listed(name: str, lines: Iterable[str], *, tick: bool = False) -> View:
    """Return lines under their title; `tick`: with a box each."""
    return {"title": told()["title"][name], "lines": list(lines), "tick": tick}


def _steps(sheet: Sheet, runs: tuple[Instructions, ...], schedule: Schedule) -> Iterator[View]:
    """Yield the steps of the day; of a schedule day and night without a break, those of 24 hours of it."""
    rows = [*(_by_programme(runs) if runs else _by_hand(schedule.days[sheet.begins - 1]))]
    from_h = 24.0 * (sheet.day - sheet.begins)
    to_h = from_h + 24 if schedule.attendance.always and sheet.day < sheet.days else inf
    today = [(hour, say) for hour, say in rows if from_h <= hour < to_h]
    under_way = [say for hour, say in rows if hour < from_h][-1:] if not today or today[0][0] > from_h else []
    goes_on = [(from_h, told()["rows"]["goes_on"].format(step=say)) for say in under_way]
    yield from ({"at": clock(sheet, hour), "say": say, "head": ""} for hour, say in (*goes_on, *today))


def _by_programme(runs: tuple[Instructions, ...]) -> Iterator[tuple[float, str]]:
    """Yield hour and words of each step of the runs, one run after the other, and of the end."""
    from_h, row = 0.0, told()["rows"]
    for one in runs:
        if len(runs) > 1:
            least, most = (show_quantity(round(degc), "degC") for degc in one.warm_degc or (0.0, 0.0))
            yield from_h, row["run_hot" if one.warm_degc else "run"].format(run=one.run.number, least=least, most=most)
        yield from ((from_h + begins_h, say) for begins_h, say in zip(one.begins_h, one.steps, strict=True))
        from_h += one.run.hours
    yield from_h, row["off"]


def _by_hand(day: Day) -> Iterator[tuple[float, str]]:
    """Yield hour and words of each step of a day as the schedule has it, and of the end."""
    lines = (*step_lines(Run(1, day.from_degc, day.steps), "C"), told()["rows"]["off"])
    yield from zip((0.0, *day.ends_h), lines, strict=True)


def _seen(runs: tuple[Instructions, ...]) -> list[str]:
    """Return what is to be seen while a programme runs."""
    return [*dict.fromkeys(line for run in runs for line in (*run.see, run.change))]


def _manual(sheet: Sheet) -> tuple[str, ...]:
    """Return how the day is done by hand."""
    days = sheet.kiln.followed.days if sheet.kiln.followed else ()
    refused = [day for day in days if isinstance(day, Refusal)]
    return refused[0].manual if refused else manual()


def _holds() -> str:
    points = ", ".join(show_quantity(degc, "degC") for degc in HOLD_POINTS_DEGC)
    return str(told()["own"]["holds"]).format(
        hold_points=points, hold=show_hours_minutes(own_limits()["plan_hold_h"].value)
    )


def _before(sheet: Sheet, plan: Plan, programme: Programme | None, runs: tuple[Instructions, ...]) -> Iterator[str]:
    say, release = told()["own"], sheet.hold.release
    named = {
        "hold": sheet.hold.point.title, "by": f"{release.by}, {release.capacity}" if release else "",
        "opening": vent(plan.heating.opening).label,
        "air": show_quantity(ventilation_m3_h(plan.proof.vapour_kg_h.p90), "m3/h", figures=2),
    }  # fmt: skip
    yield from (line.format(**named) for line in say["opens"])
    if plan.wrapped:
        yield say["wrapped"]
    start = show_quantity(round(programme.start_degc if programme else plan.heating.room_degc), "degC")
    yield say["under_way" if sheet.begins < sheet.day else "cold" if sheet.day == 1 else "hotter"].format(start=start)
    if programme:
        yield from (_cutout(programme, run.run) for run in runs)
        yield say["read_back"]


def _cutout(programme: Programme, run: Run) -> str:
    """Say what the cut-out is set to for a run; where its margin is not known, as little above the top as can be."""
    margin_k, say = programme.controller.cutout_margin_k, told()["own"]["cutout"]
    which = told()["own"]["cutout_of"].format(run=run.number) if len(programme.runs) > 1 else ""
    degc = show_quantity(round(run.top_degc + (margin_k or 0.0)), "degC")
    return str(say["unknown" if margin_k is None else "known"]).format(degc=degc, which=which)


def _stop(plan: Plan) -> str:
    """Return the figures at which a day is stopped, in a line."""
    limits, floor = plan.limits, own_limits()["element_floor_megohm"]
    return str(told()["own"]["stop"]).format(
        floor=show_quantity(floor.value, floor.unit), casing=show_quantity(limits.casing.value, "degC"),
        terminal=show_quantity(limits.terminal.value, "degC"),
    )  # fmt: skip


def _by_hand_cut() -> list[str]:
    return [*told()["own"]["power_cut"], said_of_runs().power_cut_rule["say"]]
