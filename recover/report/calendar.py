"""The days of a plan for a calendar program, as iCalendar (RFC 5545). The only door to icalendar.

Moments are written in UTC: there is one reading of them, also in an hour that the clocks show twice, and no table of a
zone's rules has to travel with them. Calendar programs show them by the clock of the place. What is not known to the
hour is an event of a whole day.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import ceil, isinf
from typing import TYPE_CHECKING
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from recover.base.errors import PaperError
from recover.base.measures import show_hours, show_hours_minutes, show_moment, show_number, show_quantity
from recover.judged.assessment import Assessment
from recover.plan.clock import Entry, closing, months_after, opening, timetable
from recover.plan.strategies import Strategy
from recover.plan.strategies import cards as ways
from recover.plan.whole import Followed, JobPlan, KilnPlan, Request
from recover.report.paper import referral_line, say
from recover.report.plan_days import why_none
from recover.report.words import words
from recover.schedule.search import Plan

if TYPE_CHECKING:
    import icalendar

EVENTS = UUID("6f0d3c1e-52a4-4c0b-9a57-1d2f8be03a64")
"""What the identities of events are named within: the same day of the same plan is the same event."""


@dataclass(frozen=True, kw_only=True)
class _Event:
    """One event: from a moment to a moment, or a whole day where `ends` is None."""

    id: str
    title: str
    begins: datetime | date
    ends: datetime | None
    lines: tuple[str, ...]


def calendar_text(plan: JobPlan, job: str, *, cautions: Sequence[str], stop: Sequence[str], referral: str) -> str:
    """Return the days of a plan as a calendar file, its lines ended as RFC 5545 wants them: write it as it is.

    Every event ends with the cautions, the rules by which heating stops, and the referral. Raises PaperError where one
    of them is missing, and where no kiln has a day to dry that can be dated, with the reason.
    """
    word = words().calendar
    always = _always(cautions, stop, referral)
    drying = {kiln.kiln: list(_drying(kiln, plan)) for kiln in plan.kilns}
    if not any(drying.values()):
        raise PaperError(word.nothing(reasons=why_none(plan)))
    calendar = _calendar(plan, word.name(job=job, plan=plan.number))
    for kiln in plan.kilns:
        for event in (*drying[kiln.kiln], *_afterwards(kiln)):
            calendar.add_component(_component(event, f"{job}/{plan.number}/{kiln.kiln}/{event.id}", plan.made, always))
    return str(calendar.to_ical(), "utf-8")


def of_job(found: Assessment, plan: JobPlan) -> str:
    """Return the calendar of a job's plan, with the cautions that apply to it and the stop rules of its ways."""
    ways_followed = [way for kiln in plan.kilns if (way := kiln.strategy)]
    stop = tuple(dict.fromkeys(line for way in ways_followed for line in way.card.stop))
    cautions = tuple(say(applied) for applied in found.group("caution"))
    return calendar_text(
        plan, found.job, cautions=cautions, stop=stop or tuple(ways().strategy[0].stop), referral=referral_line(found)
    )


def _always(cautions: Sequence[str], stop: Sequence[str], referral: str) -> tuple[str, ...]:
    """Return what every event ends with. Raises PaperError naming what is missing."""
    word = words().calendar
    parts = ((word.part["cautions"], cautions), (word.part["stop"], stop), (word.part["referral"], (referral,)))
    missing = [name for name, lines in parts if not lines or not all(map(str.strip, lines))]
    if missing:
        raise PaperError(word.missing(parts=", ".join(missing)))
    return ("", word.part["cautions"], *cautions, "", word.part["stop"], *stop, "", referral)


# ---------------------------------------------------------------------------------------- days of drying


def _drying(kiln: KilnPlan, plan: JobPlan) -> Iterator[_Event]:
    """Yield the days of the way that is followed; own elements have none while their gate is not open."""
    zone, way, own = ZoneInfo(plan.zone), kiln.strategy, kiln.shown if kiln.by_own else None
    if own and kiln.gate_open:
        yield from _own_days(kiln, own, plan.request, zone)
    elif way and way.card.air != "own":
        yield from _external_days(kiln, way, plan.request, zone)


def _own_days(kiln: KilnPlan, own: Plan | Followed, request: Request, zone: ZoneInfo) -> Iterator[_Event]:
    """Yield an event for each attended day; one that goes on day and night is told in days of the calendar."""
    word, schedule = words().calendar, own.proof.schedule
    first = [word.released, *([] if isinstance(own, Followed) else [word.by_hand])]
    for number in range(len(schedule.days)):
        entries, day = timetable(own, request, zone, number), number
        while entries and _utc(opening(request, zone, day)) < _utc(entries[-1].ends):
            begins, next_opens = opening(request, zone, day), opening(request, zone, day + 1)
            ends = min(entries[-1].ends, next_opens, key=_utc)
            here = [one for one in entries if _utc(one.begins) < _utc(ends) and _utc(one.ends) > _utc(begins)]
            lines = [_clocked(one, begins.date()) if number == 0 else _planned(one) for one in here]
            if here[-1].cut:
                lines.append(word.cut(off=_clock(here[-1].ends, begins.date())))
            title = word.title.own(kiln=kiln.label, day=day + 1)
            yield _Event(
                id=f"day/{day + 1}",
                title=title,
                begins=begins,
                ends=ends,
                lines=(*first, *lines, *_rest(own, number, ends, entries)),
            )
            day += 1


def _rest(own: Plan | Followed, number: int, ends: datetime, entries: Sequence[Entry]) -> Iterator[str]:
    """Say what comes after the heater is off for the last time."""
    schedule = own.proof.schedule
    if number == len(schedule.days) - 1 and _utc(ends) == _utc(entries[-1].ends):
        if schedule.rest_h:
            yield words().calendar.rest(hours=show_hours(schedule.rest_h))
        yield words().calendar.done


def _external_days(kiln: KilnPlan, way: Strategy, request: Request, zone: ZoneInfo) -> Iterator[_Event]:
    """Yield an event for each day that nine draws in ten need, at most the longest time that is counted."""
    word, longest = words().calendar, ways().longest_days.mid
    lasts = ceil(longest if way.days is None else min(way.days, longest))
    says = (word.lasts if way.days is not None else word.not_dry)(days=lasts)
    lines = (says, *(f"- {need}" for need in way.card.needs), *way.card.against)
    title = word.title.heated if way.card.heated else word.title.unheated
    for day in range(lasts):
        begins, ends = opening(request, zone, day), closing(request, zone, day) or opening(request, zone, day + 1)
        named = title(kiln=kiln.label, way=way.card.title, day=day + 1)
        if way.card.heated:
            yield _Event(id=f"day/{day + 1}", title=named, begins=begins, ends=ends, lines=lines)
        else:
            yield _Event(id=f"day/{day + 1}", title=named, begins=begins.date(), ends=None, lines=lines)


# ---------------------------------------------------------------------------------------- after it


def _afterwards(kiln: KilnPlan) -> Iterator[_Event]:
    """Yield the earliest day of a normal firing and what is looked at again so many months after; undated: none."""
    word, way = words().calendar, kiln.strategy
    if not way or not way.fired_again:
        return
    yield _Event(
        id="fired", title=word.title.fired(kiln=kiln.label), begins=way.fired_again, ends=None, lines=tuple(word.fired)
    )
    for one in kiln.rechecks:
        if one.months is not None:
            title = word.title.recheck(kiln=kiln.label, months=one.months)
            lines = (word.recheck, *one.look, one.because)
            yield _Event(
                id=f"look/{one.id}",
                title=title,
                begins=months_after(way.fired_again, one.months),
                ends=None,
                lines=lines,
            )


# ---------------------------------------------------------------------------------------- lines


def _planned(entry: Entry) -> str:
    """Return a step without its clock times."""
    word, step = words().calendar.step, entry.step
    ramp = word.at_once if isinf(step.ramp_k_h) else word.ramp(ramp=show_number(step.ramp_k_h))
    hold = word.hold(hold=show_hours_minutes(step.hold_h)) if step.hold_h else ""
    left, high = (show_quantity(100 * share, "percent", figures=2) for share in (entry.left.p50, entry.left.p90))
    return word.line(
        number=entry.number + 1, ramp=ramp, degc=show_quantity(step.to_degc, "degC"), hold=hold, left=left, high=high,
        casing=show_quantity(round(entry.casing_degc.p50), "degC"),
    )  # fmt: skip


def _clocked(entry: Entry, on: date) -> str:
    """Return a step with its clock times, for an event that begins on this date."""
    word = words().calendar.step
    begins, hold_from, ends = (_clock(moment, on) for moment in (entry.begins, entry.hold_from, entry.ends))
    held = entry.hold_from != entry.ends
    times = word.held(begins=begins, hold_from=hold_from, ends=ends) if held else word.climbs(begins=begins, ends=ends)
    return f"{times} {_planned(entry)}"


def _clock(moment: datetime, on: date) -> str:
    """Return a local clock time with the zone's name, and its date where that is another."""
    return f"{moment:%H:%M %Z}" if moment.date() == on else show_moment(moment)


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)


# ---------------------------------------------------------------------------------------- iCalendar


def _calendar(plan: JobPlan, name: str) -> icalendar.Calendar:
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", f"-//recover//{plan.program}//EN")
    calendar.add("version", "2.0")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)  # what programs read that do not know RFC 7986
    return calendar


def _component(event: _Event, name: str, made: str, always: Sequence[str]) -> icalendar.Event:
    """Return an event as a tentative one: it is released by named persons, never by its date."""
    import icalendar

    component = icalendar.Event()
    component.add("uid", str(uuid5(EVENTS, name)))
    component.add("dtstamp", datetime.fromisoformat(made).astimezone(UTC))
    component.add("summary", event.title)
    component.add("status", "TENTATIVE")
    if isinstance(event.begins, datetime) and event.ends:
        component.add("dtstart", _utc(event.begins))
        component.add("dtend", _utc(event.ends))
    else:
        component.add("dtstart", event.begins)
        component.add("dtend", event.begins + timedelta(days=1))
        component.add("transp", "TRANSPARENT")
    component.add("description", "\n".join((*event.lines, *always)))
    return component
