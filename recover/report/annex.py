"""The annex: the log of a drying as an electrician and an adjuster can follow it, day by day.

What was planned stands beside what was read, each line with its number in the journal; with it what happened, who
signed, what ended, and pictures of the days. A reading is held against the plan that stood when it was taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from recover.asked.told import Answer, Logged, key_of
from recover.base.addresses import holds_address
from recover.job.folder import Job
from recover.job.kept import papers_of
from recover.judged.assessment import Assessment
from recover.judged.dry import evidence
from recover.judged.stops import powered
from recover.plan import store
from recover.plan.clock import DAY_H
from recover.plan.kinds import COLUMNS, figure, kinds, word_of
from recover.plan.log import Against, against, day_at, day_of, log_of
from recover.report.day import day_text, way_title
from recover.report.in_short import in_short
from recover.report.paper import View, capital, in_words, paper, percent, plain_cautions, referral_line, span
from recover.report.reading_words import clock_on, conditions, logged_figure, typed_late
from recover.report.record import instruments, photographs
from recover.report.words import words

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.plan.whole import Day, Expected, JobPlan, KilnPlan


def annex(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the annex."""
    made_on = {event.data["revision"]: event.n for event in job.events if "plan" in papers_of(event)}
    book = _Book(found, tuple(store.every(job)), made_on)
    kilns = [book.of_kiln(at) for at in found.answers.components("kiln")]
    on = {day["date"] for kiln in kilns for day in kiln["days"]}
    return {
        "paper": paper(job, found, "annex", made), "kilns": kilns, "instruments": instruments(found),
        "photographs": list(_pictures(job, found, on)),
        "cautions": plain_cautions(found), "referral_line": referral_line(found),
    }  # fmt: skip


def _pictures(job: Job, found: Assessment, on: set[str]) -> Iterator[View]:
    """Yield the pictures of days that are in the log, reduced."""
    taken = {one.id: one.taken for one in found.answers.photographs}
    for view in photographs(job, found):
        if (at := taken[view["id"]]) and at.date().isoformat() in on:
            yield view


NOON = time(12)
"""A moment of a date of which nothing is told."""


@dataclass(frozen=True)
class _Entry:
    """One row of the list by the clock: its moment, the line of the journal, its view, the date of its day.

    `logged`: it is a line of the log, and tells which plan its day was lived by. `typed`: when, where that was long
    after its moment.
    """

    at: datetime
    line: int
    row: View
    on: date
    logged: bool = False
    typed: str = ""


@dataclass(frozen=True)
class _Book:
    """What the days are told from: what is known, the plans, the newest first, and the lines of the journal on which
    they were made."""

    found: Assessment
    plans: tuple[JobPlan, ...]
    made_on: Mapping[int, int]

    def of_kiln(self, kiln: Address) -> View:
        """Return the log of a kiln: in short, then day by day."""
        log = self._log(kiln)
        days = list(self._days(kiln, log))
        stops = [one for one in log if self._against(one).stop]
        opened = [day for one in log if (stood := self._stood(kiln, one.measured)) and (day := day_at(stood[1], one))]
        short = in_short(self.found, kiln, log, opened=opened, stops=stops, plans=self.plans) if log else []
        return {"kiln": self.found.answers.label(kiln), "days": days, "short": short}

    def _log(self, kiln: Address) -> list[Logged]:
        """Return what was logged of a kiln, also what was taken back, in the order of its moments; how a logger's
        columns are read happened on no day, and is told in short."""
        answers = self.found.answers
        gone = [one for one in answers.unlogged if one.kiln == kiln]
        told = [one for one in (*log_of(answers, kiln), *gone) if one.what != COLUMNS]
        return sorted(told, key=lambda one: (one.measured.timestamp(), one.line))

    def _days(self, kiln: Address, log: Sequence[Logged]) -> Iterator[View]:
        """Yield every date from the first to the last of the log, each with what belongs to its day, by the clock."""
        told = [*map(self._of_log, log), *self._rests_on(kiln)]
        first = min((one.on for one in told), default=None)
        if first is None:
            return
        others = (*self._signed(kiln), *self._replanned(kiln), *self._proved(kiln))
        rows = [*told, *(one for one in others if one.on >= first)]
        rows.sort(key=lambda one: (one.at.timestamp(), not one.logged, one.line))  # what ends stands after its cause
        last = max(one.on for one in rows)
        for number in range((last - first).days + 1):
            yield self._day(kiln, first + timedelta(days=number), rows)

    def _day(self, kiln: Address, on: date, rows: Sequence[_Entry]) -> View:
        own = [one for one in rows if one.on == on]
        moments = [one.at for one in own if one.logged] or [datetime.combine(on, NOON, self.found.answers.zone)]
        told = {day.partition(",")[2]: day for at in reversed(moments) if (day := self._planned(kiln, at))}
        return {
            "date": on.isoformat(), "title": day_text(on),
            "planned": [*reversed(told.values())] or [self._unplanned(kiln, on)],
            "rows": [{**one.row, "at": clock_on(one.at, on), "typed": one.typed, "line": one.line} for one in own],
        }  # fmt: skip

    def _date(self, kiln: Address, at: datetime) -> date:
        """Return the date of the day that a moment belongs to: by night that of the day before, for a day from its
        opening."""
        stood = self._stood(kiln, at)
        day = day_of(stood[1], at) if stood else None
        ends = day.attended_from + timedelta(hours=DAY_H) if day and day.attended_from else at
        return day.date if day and at < ends else at.date()

    # ---------------------------------------------------------------------------------------- what was planned

    def _stood(self, of: Address, at: datetime) -> tuple[JobPlan, KilnPlan] | None:
        """Return the plan of a kiln that stood at a moment: the newest made by then, else the first."""
        made = [plan for plan in self.plans if datetime.fromisoformat(plan.made) <= at]
        plan = made[0] if made else self.plans[-1] if self.plans else None
        kiln = next((each for each in plan.kilns if each.kiln == of), None) if plan else None
        return (plan, kiln) if plan and kiln else None

    def _planned(self, kiln: Address, at: datetime) -> str:
        """Return what was planned for the day of a moment, in words; empty where no plan has that day."""
        stood = self._stood(kiln, at)
        day = day_of(stood[1], at) if stood else None
        is_own = day is not None and day.date == self._date(kiln, at)
        return self._in_words(stood[0], day) if stood and day and is_own else ""

    def _unplanned(self, kiln: Address, on: date) -> str:
        """Say that a date is no day of a plan: it comes after the last, where what proves the drying is fired."""
        stood = self._stood(kiln, datetime.combine(on, NOON, self.found.answers.zone))
        after = stood is not None and stood[1].days and stood[1].days[-1].date < on
        return words().annex.after_plan(plan=stood[0].number) if stood and after else words().annex.no_plan

    def _in_words(self, plan: JobPlan, day: Day) -> str:
        say = words().annex
        there = say.attended(begin=f"{day.attended_from:%H:%M}", end=f"{day.attended_to:%H:%M}") if (
            day.attended_from and day.attended_to) else say.nobody  # fmt: skip
        numbers = [there]
        numbers += [say.top(top=logged_figure(day.top_degc, "°C"))] if day.top_degc is not None else []
        numbers += [say.cutout(cutout=logged_figure(day.cutout_degc, "°C"))] if day.cutout_degc is not None else []
        numbers += [say.left(left=percent(day.left.p50))]
        way = way_title(day.way) if day.way else say.phase[day.phase]
        return say.planned(plan=plan.number, day=day.number, way=way, numbers="; ".join(numbers) + ".")

    # ---------------------------------------------------------------------------------------- what was read and seen

    def _of_log(self, one: Logged) -> _Entry:
        """Return what was read, seen or done as a row of the list by the clock."""
        row = self._event_row(one) if one.value is None else self._reading(one)
        typed = typed_late(one.measured, one.written, by_logger=one.by_logger)
        return _Entry(one.measured, one.line, row, self._date(one.kiln, one.measured), logged=True, typed=typed)

    def _event_row(self, one: Logged) -> View:
        return _event(self._event(one), one.by, marked=self._against(one).stop is not None)

    def _reading(self, one: Logged) -> View:
        gone, lies = _gone(one), self._against(one)
        value = logged_figure(one.value, one.unit)
        return {
            "event": "", "what": _label(one.what), "place": one.place,
            "value": words().annex.at_least(value=value) if one.at_least else value,
            "beside": ", ".join(conditions(one)), "band": _band(lies.expected) if lies.expected else "",
            "lies": gone or _outcome(lies), "gone": bool(gone),
            "marked": bool(gone) or lies.lies in ("below", "above", "stop"),
            "by": ", ".join(filter(None, (one.by, one.instrument))),
        }  # fmt: skip

    def _event(self, one: Logged) -> str:
        gone = _gone(one)
        told = one.said if one.said and one.said != one.word else ""
        stop = words().annex.stops["seen"] if self._against(one).stop else ""
        return ": ".join(filter(None, (_label(one.what), word_of(one), told, stop, gone)))

    def _against(self, one: Logged) -> Against:
        """Return how a line lies to the plan that stood, or to what stands beside it where none did."""
        stood, answers = self._stood(one.kiln, one.measured), self.found.answers
        return against(one, stood[1] if stood else None, log_of(answers, one.kiln), powered(answers, one.kiln))

    # ---------------------------------------------------------------------------------------- who signed

    def _signed(self, kiln: Address) -> Iterator[_Entry]:
        """Yield each signature under a hold point of a kiln or of the whole job, and what ended it, where that has a
        moment."""
        say = words().annex
        for hold in (one for one in self.found.holds if one.at == kiln or one.point.per == "job"):
            for one in hold.signatures:
                told = {"title": hold.point.title, "by": one.release.signer}
                yield _entry(one.release.moment, one.release.line, _event(say.signed(**told), one.release.by))
                if one.ended_at:
                    at = one.ended_at.astimezone(self.found.answers.zone)
                    yield _entry(at, one.release.line, _event(say.ended(**told, ended=one.ended)))

    # ---------------------------------------------------------------------------------------- what was planned anew

    def _replanned(self, kiln: Address) -> Iterator[_Entry]:
        """Yield each plan as it was made: from which day it goes on, and what it said that does not fit, or shut it."""
        for plan in self.plans:
            own = next((one for one in plan.kilns if one.kiln == kiln), None)
            if own is not None:
                at = datetime.fromisoformat(plan.made).astimezone(self.found.answers.zone)
                row = _event(" ".join(_of_plan(plan, own)), marked=own.learnt is not None and own.learnt.shut)
                yield _entry(at, self.made_on.get(plan.number, 0), row)

    # ---------------------------------------------------------------------------------------- what dry rests on

    def _rests_on(self, kiln: Address) -> Iterator[_Entry]:
        """Yield each answer that the certificate names in brackets: attested, or read cold."""
        answers = self.found.answers
        lines = {line for one in evidence(answers, kiln, self.found.profile) for line in one.lines}
        for one in (one for told in answers.history.values() for one in told if one.line in lines):
            what = f"{answers.slate_of(one.question, one.at)}: {in_words(self.found, one)}"
            by = ", ".join(filter(None, (one.who or one.by, one.instrument)))
            if at := one.measured or one.moment:
                yield replace(_entry(at, one.line, _event(what, by)), typed=typed_late(at, one.moment))

    # ---------------------------------------------------------------------------------------- what own heat rests on

    def _proved(self, kiln: Address) -> Iterator[_Entry]:
        """Yield what was set and tried for its own heat, each with its line: a row to each moment and who proved it."""
        answers, asked = self.found.answers, self.found.answers.questions
        rows = dict[tuple[datetime, str], list[Answer]]()
        for name in words().annex.proved:
            for at in (at for at in answers.instances(asked.questions[name]) if holds_address(kiln, at)):
                answers.answer(name, at)
                for one in answers.history.get(key_of(name, at), ()):
                    if one.state == "given" and (seen := one.measured or one.moment):
                        rows.setdefault((seen, one.who or one.by), []).append(one)
        for (at_moment, by), told in rows.items():
            what = "; ".join(f"{self._proof(one)} [{one.line}]" for one in told)
            line = min(one.line for one in told)
            row = _entry(at_moment, line, _event(words().annex.proof(what=what), by))
            yield replace(row, typed=typed_late(at_moment, told[0].moment))

    def _proof(self, one: Answer) -> str:
        label = self.found.answers.questions.printed("proof")[one.question]
        return f"{words().handover.short.get(one.question, label)} {in_words(self.found, one)}"


def _of_plan(plan: JobPlan, kiln: KilnPlan) -> Iterator[str]:
    """Yield what a plan said when it was made: whence it goes on, what did not fit, that it was shut."""
    say, learnt = words().annex, kiln.learnt
    if learnt is None:
        yield say.made(plan=plan.number)
        return
    yield say.goes_on(plan=plan.number, day=learnt.goes_on)
    yield from learnt.misfits
    if learnt.shut:
        yield say.shut


def _entry(at: datetime, line: int, row: View) -> _Entry:
    """Return what is no line of the log: it stands under its own date."""
    return _Entry(at, line, row, at.date())


def _event(say: str, by: str = "", *, marked: bool = False) -> View:
    """Return a row of something that was seen, done, signed or planned."""
    return {"event": say, "by": by, "marked": marked}


def _gone(one: Logged) -> str:
    """Return that a line was taken back: by whom, when, and why; empty where it stands."""
    if (back := one.taken_back) is None:
        return ""
    told = words().annex.taken_back(by=back.by, at=clock_on(back.moment, one.measured.date()))
    return ": ".join(filter(None, (told, back.why)))


def _outcome(lies: Against) -> str:
    return words().annex.stops[lies.stop.why] if lies.stop else words().annex.lies[lies.lies]


def _label(what: str) -> str:
    return kinds()[what].label if what in kinds() else capital(what)


def _band(one: Expected) -> str:
    low, high = (figure(value, one.unit) for value in (one.low, one.high))
    band = span(low, high) if low and high else words().day.least(low=low) if low else ""
    stop = words().annex.stop(stop=figure(one.stop, one.unit)) if one.stop is not None else ""
    return "; ".join(filter(None, (band, stop)))
