"""The sheet that hangs by a kiln while it is dried: today's steps to tick, what is read, when to stop, who is called.

One page for one kiln and one day. Where its own elements may not heat it, there are no steps to follow.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import ceil
from typing import TYPE_CHECKING, Any, Literal
from zoneinfo import ZoneInfo

from recover.assessment import Assessment, Hold
from recover.errors import QuantityError
from recover.job import Job
from recover.kiln import Address
from recover.measures import show_hours_minutes, show_moment, show_quantity
from recover.physics.figures import opening
from recover.plan.instructions import Instructions, instructions, step_lines
from recover.plan.limits import HOLD_POINTS_DEGC, ventilation_m3_h
from recover.plan.programme import Programme, Refusal, Run, manual
from recover.plan.programme import words as said_of_runs
from recover.plan.schedule import Day, Schedule
from recover.plan.strategies import Card
from recover.profiles import own_limits
from recover.report.paper import View, in_words, paper, plain_cautions, referral_line
from recover.report.plan import day_of, own_heat
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.search import Plan
    from recover.plan.whole import JobPlan, KilnPlan

CLOSE, CLOSEST, ROW = 3600, 5000, 250
"""Characters of lists and cautions from which a sheet is set closer; a step takes the room of so many."""

State = Literal["nothing", "closed", "ready", "released", "outside"]


@dataclass(frozen=True)
class Standing:
    """What is done every day of a way that needs no element, when it goes on, when it is done, when it is stopped."""

    routine: tuple[str, ...] = ()
    go_on: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    stop: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Sheet:
    """What one sheet is made from. `changed`: something that the plan rests on has changed since it was made."""

    found: Assessment
    plan: JobPlan
    kiln: KilnPlan
    day: int
    standing: Standing
    changed: bool

    @property
    def hold(self) -> Hold:
        return own_heat(self.found, self.kiln.kiln)

    @property
    def state(self) -> State:
        """What may be done today; own elements never while anything is missing, or the plan has been overtaken."""
        if not self.kiln.way:
            return "nothing"
        if self.kiln.way != "own":
            return "outside"
        if self.hold.state == "released" and not self.lacks:
            return "released"
        return "ready" if self.hold.state == "ready for release" and not self.lacks else "closed"

    @property
    def lacks(self) -> list[str]:
        """What is missing before anything is heated: of the kiln's lining, or before its own elements heat."""
        told, plan = words()["kiln_room"]["missing"], self.kiln.own
        if self.kiln.way != "own":
            return list(self.kiln.missing)
        schedule = [told["schedule"]] if plan is None else [] if plan.feasible else [told["broken"]]
        return [*self.kiln.missing, *self.hold.missing, *schedule, *([told["again"]] if self.changed else [])]

    @property
    def schedule(self) -> Schedule | None:
        """The schedule of its own elements, as it is followed; None where another way is."""
        if self.kiln.way != "own" or self.kiln.own is None:
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


def kiln_room(
    job: Job, found: Assessment, plan: JobPlan, made: datetime, kiln: Address, day: int = 1,
    standing: Standing | None = None, *, changed: bool = False,
) -> View:
    """Return the sheet of one kiln for a day, counted from 1. Raises QuantityError for a kiln or day not planned."""
    one = next((one for one in plan.kilns if one.kiln == kiln), None)
    if one is None:
        raise QuantityError("kiln of the plan", kiln, f"one of {', '.join(one.kiln for one in plan.kilns)}")
    sheet = _Sheet(found, plan, one, day, standing or Standing(), changed)
    _check(sheet)
    head = paper(job, found, "kiln-room", made)
    head |= {"subtitle": _subtitle(sheet), "changed_since": _told()["changed"] if changed else None}
    body, cautions = _body(sheet), plain_cautions(found)
    return {
        "paper": head, "box": _box(sheet), "told": _told()["title"], "columns": _told()["columns"], **body,
        "set": _set(body, cautions), "call": [{"label": label, "value": _known(found, name)} for label, name in _told()["call"].items()],
        "cautions": cautions, "referral_line": referral_line(found),
    }  # fmt: skip


def _set(body: View, cautions: list[View]) -> str:
    """Return how close a sheet is set, to stay on one page, by how much there is to print."""
    lines = [line for one in body["lists"] for line in one["lines"]] + [one["say"] for one in cautions]
    much = sum(map(len, lines)) + ROW * len(body["steps"])
    return "" if much < CLOSE else "close" if much < CLOSEST else "close closest"


def _told() -> dict[str, Any]:
    told: dict[str, Any] = words()["kiln_room"]
    return told


def _check(sheet: _Sheet) -> None:
    last = sheet.days
    if sheet.day < 1 or (last and sheet.day > last):
        raise QuantityError("day of the plan", str(sheet.day), f"1 to {last}" if last else "1 or more")


# ---------------------------------------------------------------------------------------- head


def _opens(sheet: _Sheet, day: int) -> datetime:
    """Return when a day opens, by the clock of the job's zone: the same hour every day."""
    zone, first = ZoneInfo(sheet.plan.zone), sheet.plan.request.opens
    first = first.astimezone(zone) if first.tzinfo else first.replace(tzinfo=zone)
    return first + timedelta(days=day - 1)


def _clock(sheet: _Sheet, hours: float) -> str:
    """Return the clock time so many hours after the schedule's day opened, with the day of the week past midnight."""
    opens = _opens(sheet, sheet.begins)
    then = (opens.astimezone(UTC) + timedelta(minutes=round(60 * hours))).astimezone(opens.tzinfo)
    return f"{then:%H:%M}" if then.date() == _opens(sheet, sheet.day).date() else f"{then:%a %H:%M}"


def _subtitle(sheet: _Sheet) -> str:
    told = _told()["subtitle"]["of_days" if sheet.days else "day"]
    date = f"{_opens(sheet, sheet.day):%a %Y-%m-%d}"
    return str(told).format(kiln=sheet.kiln.label, day=sheet.day, days=sheet.days, date=date)


def _box(sheet: _Sheet) -> View:
    """Return what stands in the black box: what may be done today, by whose release, and what is missing."""
    way = _way(sheet)
    box, release, hold = _told()["box"][sheet.state], sheet.hold.release, sheet.hold.point
    named = {"hold": hold.title, "released_by": hold.released_by, "way": way.title if way else ""}
    if release:
        named |= {"by": release.by, "capacity": release.capacity, "at": show_moment(release.moment)}
    lines = [line.format(**named) for line in box["lines"]]
    if sheet.state == "nothing" and sheet.kiln.comparison:
        lines.append(sheet.kiln.comparison.because)
        lines += [f"{one.card.title}: {' '.join(one.closed)}" for one in sheet.kiln.comparison.strategies if one.closed]
    if sheet.lacks and sheet.state in ("nothing", "closed"):
        lines.append(_told()["missing"]["lead"].format(missing="; ".join(sheet.lacks)))
    return {"title": box["title"], "lines": lines}


def _way(sheet: _Sheet) -> Card | None:
    ways = sheet.kiln.comparison.strategies if sheet.kiln.comparison else ()
    return next((one.card for one in ways if one.card.id == sheet.kiln.way), None)


def _known(found: Assessment, name: str) -> str:
    """Return what was answered to a question of the whole loss or of a kiln; nothing where it is not asked or known."""
    question = found.answers.questions.questions.get(name)
    given = [found.answers.answer(name, at) for at in found.answers.instances(question)] if question else []
    return "; ".join(in_words(found, one) for one in given if one and one.state == "given")


# ---------------------------------------------------------------------------------------- bodies


def _body(sheet: _Sheet) -> View:
    if sheet.state == "outside":
        return _outside(sheet)
    if sheet.kiln.own and sheet.schedule and sheet.state in ("ready", "released"):
        return _own(sheet, sheet.kiln.own, sheet.schedule)
    stop = _list("stop", _told()["outside"]["stop"])
    return {"steps": [], "late": False, "step_columns": [], "stop": stop, "lists": []}


def _outside(sheet: _Sheet) -> View:
    """Return the routine of a way that needs no element; what it needs, where no routine is handed over."""
    told, standing = _told()["outside"], sheet.standing
    way = _way(sheet)
    routine = standing.routine or tuple(way.needs if way else ())
    named = {"electrician": sheet.found.profile.terms.electrician}
    return {
        "steps": [{"at": "", "say": line} for line in routine], "late": False, "step_columns": _told()["columns"]["outside"],
        "stop": _list("stop", [*standing.stop, *told["stop"]]),
        "lists": [
            _list("before", [line.format(**named) for line in told["before"]], tick=True), _list("read", told["read"]),
            _list("leaving", told["leaving"], tick=True),
            _list("go_on", standing.go_on), _list("done", standing.done), _list("power_cut", told["power_cut"]),
        ],
    }  # fmt: skip


def _own(sheet: _Sheet, plan: Plan, schedule: Schedule) -> View:
    """Return the day of a schedule of the kiln's own elements: by its programme, or by hand."""
    programme = day_of(sheet.kiln, sheet.begins)
    runs = instructions(programme) if programme else ()
    steps = list(_steps(sheet, runs, schedule))
    cut = [*dict.fromkeys(line for run in runs for line in run.power_cut)] or _by_hand_cut()
    return {
        "steps": steps, "late": any(" " in row["at"] for row in steps), "step_columns": _told()["columns"]["own" if runs else "by_hand"],
        "stop": _list("stop", _stop(plan)),
        "lists": [
            _list("before", _before(sheet, plan, programme, runs), tick=True),
            _list("read", [*_read(), *_seen(runs)]), _list("by_hand", [] if runs else _manual(sheet)),
            _list("leaving", _told()["own"]["leaving"], tick=True),
            _list("power_cut", cut),
        ],
    }  # fmt: skip


def _list(name: str, lines: Any, *, tick: bool = False) -> View:
    return {"title": _told()["title"][name], "lines": list(lines), "tick": tick}


def _steps(sheet: _Sheet, runs: tuple[Instructions, ...], schedule: Schedule) -> Iterator[View]:
    """Yield the steps of the day; of a schedule day and night without a break, those of 24 hours of it."""
    rows = [*(_by_programme(runs) if runs else _by_hand(schedule.days[sheet.begins - 1]))]
    from_h = 24.0 * (sheet.day - sheet.begins)
    whole = sheet.begins == sheet.day and not schedule.attendance.always
    today = [row for row in rows if from_h <= row[0] <= from_h + 24] if not whole else rows
    under_way = [say for hour, say in rows if hour < from_h][-1:] if not today or today[0][0] > from_h else []
    for say in under_way:
        yield {"at": _clock(sheet, from_h), "say": _told()["rows"]["goes_on"].format(step=say)}
    yield from ({"at": _clock(sheet, hour), "say": say} for hour, say in today)


def _by_programme(runs: tuple[Instructions, ...]) -> Iterator[tuple[float, str]]:
    """Yield hour and words of each step of the runs, one run after the other, and of the end."""
    from_h, told = 0.0, _told()["rows"]
    for one in runs:
        if len(runs) > 1:
            least, most = (show_quantity(round(degc), "degC") for degc in one.warm_degc or (0.0, 0.0))
            yield from_h, told["run_hot" if one.warm_degc else "run"].format(run=one.run.number, least=least, most=most)
        yield from ((from_h + begins_h, say) for begins_h, say in zip(one.begins_h, one.steps, strict=True))
        from_h += one.run.hours
    yield from_h, told["off"]


def _by_hand(day: Day) -> Iterator[tuple[float, str]]:
    lines = (*step_lines(Run(1, day.from_degc, day.steps), "C"), _told()["rows"]["off"])
    yield from zip((0.0, *day.ends_h), lines, strict=True)


def _seen(runs: tuple[Instructions, ...]) -> list[str]:
    """Return what is to be seen while a programme runs."""
    return [*dict.fromkeys(line for run in runs for line in (*run.see, run.change))]


def _manual(sheet: _Sheet) -> tuple[str, ...]:
    """Return how the day is done by hand."""
    days = sheet.kiln.followed.days if sheet.kiln.followed else ()
    refused = [day for day in days if isinstance(day, Refusal)]
    return refused[0].manual if refused else manual()


def _read() -> list[str]:
    points = ", ".join(show_quantity(degc, "degC") for degc in HOLD_POINTS_DEGC)
    hold = show_hours_minutes(own_limits()["plan_hold_h"].value)
    return [line.format(hold_points=points, hold=hold) for line in _told()["own"]["read"]]


def _before(
    sheet: _Sheet, plan: Plan, programme: Programme | None, runs: tuple[Instructions, ...]
) -> Iterator[str]:
    told, release = _told()["own"], sheet.hold.release
    named = {
        "hold": sheet.hold.point.title, "by": f"{release.by}, {release.capacity}" if release else "",
        "opening": opening(plan.heating.opening).label,
        "air": show_quantity(ventilation_m3_h(plan.proof.vapour_kg_h.p90), "m3/h", figures=2),
    }  # fmt: skip
    for line in told["before"]:
        yield line.format(**named)
    if plan.wrapped:
        yield told["wrapped"]
    start = show_quantity(round(programme.start_degc if programme else plan.heating.room_degc), "degC")
    yield told["cold"] if sheet.day == 1 else told["hotter"].format(start=start)
    if programme:
        yield from (_cutout(programme, run.run) for run in runs)
        yield told["read_back"]


def _cutout(programme: Programme, run: Run) -> str:
    """Say what the cut-out is set to for a run; where its margin is not known, as little above the top as can be."""
    margin_k, told = programme.controller.cutout_margin_k, _told()["own"]["cutout"]
    which = _told()["own"]["cutout_of"].format(run=run.number) if len(programme.runs) > 1 else ""
    degc = show_quantity(round(run.top_degc + (margin_k or 0.0)), "degC")
    return str(told["unknown" if margin_k is None else "known"]).format(degc=degc, which=which)


def _stop(plan: Plan) -> list[str]:
    limits, own = plan.limits, own_limits()
    floor = own["element_floor_megohm"]
    named = {
        "floor": show_quantity(floor.value, floor.unit), "casing": show_quantity(limits.casing.value, "degC"),
        "terminal": show_quantity(limits.terminal.value, "degC"),
    }
    return [line.format(**named) for line in _told()["own"]["stop"]]


def _by_hand_cut() -> list[str]:
    return [*_told()["own"]["power_cut"], said_of_runs().power_cut_rule["say"]]
