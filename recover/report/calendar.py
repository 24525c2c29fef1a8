"""The days of a plan for a calendar program, as iCalendar (RFC 5545). The only door to icalendar.

Moments are written in UTC: there is one reading of them, also in an hour that the clocks show twice, and no table of a
zone's rules has to travel with them. Calendar programs show them by the clock of the place. What is not known to the
hour is an event of a whole day.

The same date of the same kiln is the same event in every plan; the number of the plan is its sequence, so that a later
plan replaces it. What a calendar of any of them may have held and this one has not is cancelled, whichever was read in.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from recover.base.errors import PaperError
from recover.judged.assessment import Assessment
from recover.plan.clock import months_after
from recover.profiles import own_limits
from recover.report.day import (
    before_boiling,
    card_of,
    dated,
    day_view,
    gate,
    handed_over_on,
    own_heat,
    why_undated,
    withdrawn,
)
from recover.report.paper import View, referral_line, say
from recover.report.words import words

if TYPE_CHECKING:
    import icalendar

    from recover.plan.whole import Day, JobPlan, KilnPlan

StoodAt = Callable[["JobPlan"], Iterable[Assessment]]
"""How a job stood while a plan was its newest, at every moment at which its calendar may have been written."""

EVENTS = UUID("6f0d3c1e-52a4-4c0b-9a57-1d2f8be03a64")
"""What the identities of events are named within."""


def _never(_plan: JobPlan) -> Iterable[Assessment]:
    return ()


@dataclass(frozen=True, kw_only=True)
class _Event:
    """One event: from a moment to a moment, or a whole day where `ends` is None; `alarms` are moments with a text.

    `stop` says when the heat of that day stops at once; empty where nothing heats.
    """

    id: str
    title: str
    where: str
    begins: datetime | date
    ends: datetime | None = None
    lines: tuple[str, ...] = ()
    stop: tuple[str, ...] = ()
    alarms: tuple[tuple[datetime, str], ...] = ()
    cancelled: bool = False


def of_job(found: Assessment, plan: JobPlan, earlier: Iterable[JobPlan] = (), stood: StoodAt = _never) -> str:
    """Return the days of a plan as a calendar file, its lines ended as RFC 5545 wants them: write it as it is.

    Every event ends with the cautions and the referral, and a day of heat with the rules by which it stops. `earlier`
    are the plans before it, the newest first, and `stood` tells how the job stood in the life of each, this one too:
    what a calendar of them may have held then and this has not is cancelled, also where this has nothing else. Raises
    PaperError where cautions are missing, and where there is nothing to write, with the reason.
    """
    word, events = words().calendar, list(_events(found, plan))
    dropped = _dropped(plan, earlier, stood, {event.id for event in events})
    if not events and not dropped:
        raise PaperError(word.nothing(reasons=why_undated(found, plan)))
    always, stamp = _always(found), _stamp(found, plan)
    calendar = _calendar(plan, word.name(job=found.job, plan=plan.number))
    for event in (*events, *dropped):
        calendar.add_component(_component(event, found.job, plan, stamp, always))
    return str(calendar.to_ical(), "utf-8")


def _stamp(found: Assessment, plan: JobPlan) -> datetime:
    """Return since when events are as they are: the plan's making, or the last entry, which may date days or not."""
    made, written = datetime.fromisoformat(plan.made), found.answers.last_entry
    return max(made, written) if written else made


def _always(found: Assessment) -> tuple[str, ...]:
    """Return what every event ends with. Raises PaperError where there are no cautions."""
    word, cautions = words().calendar, [say(applied) for applied in found.group("caution")]
    if not cautions:
        raise PaperError(word.no_cautions)
    return ("", word.part["cautions"], *cautions, "", referral_line(found))


def _stop(day: Day) -> Iterator[str]:
    """Yield when a day stops at once, under a heading; with where its heat is switched off."""
    card, off = card_of(day), words().day.switch
    if card and card.stop:
        yield from ("", words().calendar.part["stop"], *(line.format(off=off) for line in card.stop))


# ---------------------------------------------------------------------------------------- events


def _events(found: Assessment, plan: JobPlan) -> Iterator[_Event]:
    """Yield the events of a plan, as a job stands."""
    for kiln in plan.kilns:
        days = [day for day in kiln.days if day.attended_from and dated(found, kiln, day)]
        yield from (_day(found, plan, kiln, day) for day in days)
        yield from _hold_points(found, kiln, days)
        if signed := handed_over_on(found, kiln):
            yield from _looks(kiln, signed, words().calendar.recheck_signed)
        elif kiln.days and _ends(found, kiln, days):
            yield from _afterwards(kiln)


def _ends(found: Assessment, kiln: KilnPlan, days: Sequence[Day]) -> bool:
    """Whether a plan tells by when it ends: all its attended days have dates, and nothing has come that shuts it."""
    attended = sum(day.attended_from is not None for day in kiln.days)
    return len(days) == attended and not withdrawn(found, kiln)


def _dropped(now: JobPlan, earlier: Iterable[JobPlan], stood: StoodAt, kept: Collection[str]) -> list[_Event]:
    """Return what a calendar may have held before and holds no more, each once, as the newest plan had it.

    Nobody knows which calendars were read in. What was never to be written is no more cancelled than it was planned.
    """
    gone: dict[str, _Event] = {}
    for plan in (now, *earlier):
        for event in (event for then in stood(plan) for event in _events(then, plan)):
            gone.setdefault(event.id, _cancelled(event, now, lapsed=plan is now))
    return [event for name, event in gone.items() if name not in kept]


def _cancelled(event: _Event, now: JobPlan, *, lapsed: bool) -> _Event:
    """Return an event as cancelled; `lapsed`: by what has come since, and by no other plan. Nothing of it is followed,
    so it names no switch and no stop."""
    word = words().calendar
    return replace(event, cancelled=True, lines=(word.lapsed if lapsed else word.cancelled(plan=now.number),),
                   stop=(), alarms=())  # fmt: skip


def _day(found: Assessment, plan: JobPlan, kiln: KilnPlan, day: Day) -> _Event:
    """Return an attended day: from when somebody comes until the last one leaves."""
    word, view = words().calendar, day_view(found, plan, kiln, day)
    title, way = word.title.heated if view["source"] else word.title.visit, view["way"] or view["phase"]
    return _Event(
        id=f"{kiln.kiln}/{day.date}/day", title=title(kiln=kiln.label, way=way, day=day.number),
        where=_where(found, kiln), begins=day.attended_from or day.date, ends=day.attended_to,
        lines=tuple(_lines(kiln, day, view)), stop=tuple(_stop(day)), alarms=tuple(_alarms(day)),
    )  # fmt: skip


def _lines(kiln: KilnPlan, day: Day, view: View) -> Iterator[str]:
    """Yield what is told of a day: who is there, what is set, its steps, where it is switched off, what runs on."""
    word = words().calendar
    if own_heat(day):
        yield word.released
    yield from filter(None, (view["waits"], word.attended(there=view["attended"]), view["ends"], view["boards"]))
    if day.waits_for == "boiling":
        yield before_boiling(kiln)
    if view["source"]:
        yield word.heat(source=view["source"], top=view["top"], cutout=view["cutout"] or word.no_cutout)
        yield word.off_at(off=view["off"] or word.off)
    yield from (f"{row['at']} {row['say']}" for row in view["steps"])
    yield from (f"{one['what']}: {one['value']}" for one in view["beside"])
    yield from (view["runs_on"], word.sheet)


def _alarms(day: Day) -> Iterator[tuple[datetime, str]]:
    """Yield when to be reminded: before the day opens, and before its programme ends."""
    word, limits = words().calendar.alarm, own_limits()
    if day.attended_from:
        yield _utc(day.attended_from) - timedelta(hours=limits["plan_alarm_opens_h"].value), word["opens"]
    if day.programme_ends:
        yield _utc(day.programme_ends) - timedelta(hours=limits["plan_alarm_ends_h"].value), word["ends"]


def _hold_points(found: Assessment, kiln: KilnPlan, days: Sequence[Day]) -> Iterator[_Event]:
    """Yield the hold point before own elements, on the last day before them, and the reading before boiling.

    What the first asks for is asked for while it is closed: its date heats nothing.
    """
    word, hold = words().calendar, gate(found, kiln)
    first = next((day for day in kiln.days if own_heat(day)), None)
    by = [day for day in days if first and day.number < first.number] or [day for day in days if day is first]
    if by and hold.state != "released":
        missing = [word.missing_of(missing="; ".join(hold.missing))] if hold.missing else []
        yield _Event(
            id=f"{kiln.kiln}/hold/own_heat", title=word.title.hold(kiln=kiln.label, hold=hold.point.title),
            where=_where(found, kiln), begins=by[-1].date,
            lines=(word.signed(by=hold.released_by), *missing),
        )  # fmt: skip
    boiling = next((day for day in days if day.waits_for == "boiling"), None)
    if boiling:
        yield _Event(
            id=f"{kiln.kiln}/hold/boiling", title=word.title.boiling(kiln=kiln.label), where=_where(found, kiln),
            begins=boiling.date, lines=(before_boiling(kiln),),
        )  # fmt: skip


def _afterwards(kiln: KilnPlan) -> Iterator[_Event]:
    """Yield the earliest day of a normal firing and what is looked at again so many months after it."""
    word, path = words().calendar, kiln.path
    if path is None or path.first_firing is None:
        return
    fired = path.first_firing.p90
    yield _Event(
        id=f"{kiln.kiln}/fired", title=word.title.fired(kiln=kiln.label), where=kiln.label, begins=fired,
        lines=tuple(word.fired),
    )  # fmt: skip
    yield from _looks(kiln, fired, word.recheck)


def _looks(kiln: KilnPlan, since: date, counted: str) -> Iterator[_Event]:
    """Yield what is looked at again so many months after a date; `counted` says from what."""
    for one in kiln.rechecks:
        if one.months is not None:
            title = words().calendar.title.recheck(kiln=kiln.label, months=one.months)
            yield _Event(
                id=f"{kiln.kiln}/look/{one.id}", title=title, where=kiln.label, begins=months_after(since, one.months),
                lines=(counted, *one.look, one.because),
            )  # fmt: skip


def _where(found: Assessment, kiln: KilnPlan) -> str:
    """Return the place of an event: nobody is asked for an address, so it is the kiln and the job."""
    return words().calendar.where(kiln=kiln.label, job=found.job)


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


def _component(event: _Event, job: str, plan: JobPlan, stamp: datetime, always: Sequence[str]) -> icalendar.Event:
    """Return an event as a tentative one, since named persons release it and never its date; or as cancelled."""
    import icalendar

    component = icalendar.Event()
    component.add("uid", str(uuid5(EVENTS, f"{job}/{event.id}")))
    component.add("sequence", plan.number)
    component.add("dtstamp", _utc(stamp))
    component.add("summary", event.title)
    component.add("location", event.where)
    component.add("status", "CANCELLED" if event.cancelled else "TENTATIVE")
    _when(component, event)
    component.add("description", "\n".join((*event.lines, *event.stop, *always)))
    for moment, text in event.alarms:
        component.add_component(_alarm(moment, text))
    return component


def _when(component: icalendar.Event, event: _Event) -> None:
    if isinstance(event.begins, datetime) and event.ends:
        component.add("dtstart", _utc(event.begins))
        component.add("dtend", _utc(event.ends))
    else:
        component.add("dtstart", event.begins)
        component.add("dtend", event.begins + timedelta(days=1))
        component.add("transp", "TRANSPARENT")


def _alarm(moment: datetime, text: str) -> icalendar.Alarm:
    import icalendar

    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", moment)
    alarm.add("description", text)
    return alarm
