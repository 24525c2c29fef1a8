"""The annex: the log of a drying as an electrician and an adjuster can follow it, day by day.

What was planned stands beside what was read, each line with its number in the journal; with it what happened, who
signed, what ended, and pictures of the days. A reading is held against the plan that stood when it was taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from recover.asked.told import Logged
from recover.base.errors import DataError
from recover.base.measures import SYMBOLS, show_number
from recover.job.folder import Job
from recover.judged.assessment import Assessment
from recover.judged.stops import STOP
from recover.plan import store
from recover.plan.kinds import kinds, word_of
from recover.plan.log import Against, against, day_at, log_of
from recover.report.day import day_text, way_title
from recover.report.paper import View, capital, paper, percent, plain_cautions, referral_line, span
from recover.report.record import instruments, photographs
from recover.report.words import words

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.plan.whole import Day, Expected, JobPlan, KilnPlan


def annex(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the annex."""
    book = _Book(found, tuple(_plans(job)))
    days = {at: list(book.days(at)) for at in found.answers.components("kiln")}
    kilns = [{"kiln": found.answers.label(at), "days": of} for at, of in days.items()]
    on = {day["date"] for of in days.values() for day in of}
    return {
        "paper": paper(job, found, "annex", made), "kilns": kilns, "instruments": instruments(found),
        "photographs": list(_pictures(job, found, on)),
        "cautions": plain_cautions(found), "referral_line": referral_line(found),
    }  # fmt: skip


def _plans(job: Job) -> Iterator[JobPlan]:
    """Yield every plan of a job that can be read, the newest first."""
    with suppress(DataError):
        if plan := store.newest(job):
            yield plan
            yield from store.earlier(job, plan)


def _pictures(job: Job, found: Assessment, on: set[str]) -> Iterator[View]:
    """Yield the pictures of days that are in the log, reduced."""
    taken = {one.id: one.taken for one in found.answers.photographs}
    for view in photographs(job, found):
        if (at := taken[view["id"]]) and at.date().isoformat() in on:
            yield view


BAND = ("low", "high", STOP)
"""What a line of the log keeps of the band that it was held against."""


@dataclass(frozen=True)
class _Entry:
    """Something that happened: its moment, the line of the journal, who wrote it, what it says."""

    at: datetime
    line: int
    by: str
    say: str


@dataclass(frozen=True)
class _Book:
    """What the days are told from: what is known, and the plans, the newest first."""

    found: Assessment
    plans: tuple[JobPlan, ...]

    def days(self, kiln: Address) -> Iterator[View]:
        """Yield every day on which something was logged of a kiln, in their order."""
        answers = self.found.answers
        gone = [one for one in answers.unlogged if one.kiln == kiln]
        log = [*log_of(answers, kiln), *gone]
        log.sort(key=lambda one: (one.measured.timestamp(), one.line))
        signed = list(self._signed(kiln))
        first = min((one.measured.date() for one in log), default=None)
        dates = {one.measured.date() for one in log}
        dates |= {one.at.date() for one in signed if first and one.at.date() >= first}
        for on in sorted(dates):
            yield self._day(on, [one for one in log if one.measured.date() == on],
                            [one for one in signed if one.at.date() == on])  # fmt: skip

    def _day(self, on: date, log: list[Logged], signed: list[_Entry]) -> View:
        planned = next(filter(None, map(self._planned, log)), "")
        seen = [one for one in log if one.value is None]
        stops = {one.line for one in seen if self._against(one).stop}
        events = [*(_Entry(one.measured, one.line, one.by, self._event(one)) for one in seen), *signed]
        events.sort(key=lambda one: (one.at.timestamp(), one.line))
        return {
            "date": on.isoformat(), "title": day_text(on), "planned": planned or words().annex.no_plan,
            "readings": [self._reading(one) for one in log if one.value is not None],
            "events": [{"at": f"{one.at:%H:%M}", "line": one.line, "by": one.by, "say": one.say,
                        "marked": one.line in stops} for one in events],
        }  # fmt: skip

    # ---------------------------------------------------------------------------------------- what was planned

    def _stood(self, one: Logged) -> tuple[JobPlan, KilnPlan] | None:
        """Return the plan that stood when something was logged: the newest made by then, else the first."""
        made = [plan for plan in self.plans if datetime.fromisoformat(plan.made) <= one.measured]
        plan = made[0] if made else self.plans[-1] if self.plans else None
        kiln = next((each for each in plan.kilns if each.kiln == one.kiln), None) if plan else None
        return (plan, kiln) if plan and kiln else None

    def _planned(self, one: Logged) -> str:
        stood = self._stood(one)
        day = day_at(stood[1], one) if stood else None
        return self._in_words(stood[0], day) if stood and day else ""

    def _in_words(self, plan: JobPlan, day: Day) -> str:
        say = words().annex
        there = say.attended(begin=f"{day.attended_from:%H:%M}", end=f"{day.attended_to:%H:%M}") if (
            day.attended_from and day.attended_to) else say.nobody  # fmt: skip
        numbers = [there]
        numbers += [say.top(top=_value(day.top_degc, "°C"))] if day.top_degc is not None else []
        numbers += [say.cutout(cutout=_value(day.cutout_degc, "°C"))] if day.cutout_degc is not None else []
        numbers += [say.left(left=percent(day.left.p50))]
        way = way_title(day.way) if day.way else say.phase[day.phase]
        return say.planned(plan=plan.number, day=day.number, way=way, numbers="; ".join(numbers) + ".")

    # ---------------------------------------------------------------------------------------- what was read and seen

    def _reading(self, one: Logged) -> View:
        gone = one in self.found.answers.unlogged
        lies = self._against(one)
        told = words().annex.taken_back if gone else _outcome(lies)
        value = _value(one.value, one.unit)
        return {
            "at": f"{one.measured:%H:%M}", "line": one.line, "what": _label(one.what), "place": one.place,
            "value": words().annex.at_least(value=value) if one.at_least else value,
            "beside": ", ".join(_beside(one)), "band": _band(lies.expected) if lies.expected else "",
            "lies": told, "gone": gone, "marked": gone or lies.lies in ("below", "above", "stop"),
            "by": ", ".join(filter(None, (one.by, one.instrument))),
        }  # fmt: skip

    def _event(self, one: Logged) -> str:
        gone = self._gone(one)
        told = one.said if one.said and one.said != one.word else ""
        stop = words().annex.stops["seen"] if self._against(one).stop and not gone else ""
        return ": ".join(filter(None, (_label(one.what), word_of(one), told, stop, gone)))

    def _against(self, one: Logged) -> Against:
        """Return how a line lies to the plan that stood, or to what stands beside it where none did."""
        stood = self._stood(one)
        return against(one, stood[1] if stood else None, log_of(self.found.answers, one.kiln))

    def _gone(self, one: Logged) -> str:
        """Return that a line was taken back, and why; empty where it stands."""
        gone = one in self.found.answers.unlogged
        return ": ".join(filter(None, (words().annex.taken_back, one.taken_back))) if gone else ""

    # ---------------------------------------------------------------------------------------- who signed

    def _signed(self, kiln: Address) -> Iterator[_Entry]:
        """Yield each signature under a hold point of a kiln or of the whole job, and what ended it, where that has a
        moment."""
        say = words().annex
        for hold in (one for one in self.found.holds if one.at == kiln or one.point.per == "job"):
            for one in hold.signatures:
                told = {"title": hold.point.title, "by": one.release.signer}
                yield _Entry(one.release.moment, one.release.line, one.release.by, say.signed(**told))
                if one.ended_at:
                    at = one.ended_at.astimezone(self.found.answers.zone)
                    yield _Entry(at, one.release.line, "", say.ended(**told, ended=one.ended))


def _outcome(lies: Against) -> str:
    return words().annex.stops[lies.stop.why] if lies.stop else words().annex.lies[lies.lies]


def _label(what: str) -> str:
    return kinds()[what].label if what in kinds() else capital(what)


def _value(value: float | None, unit: str) -> str:
    return "" if value is None else f"{show_number(value, 4)} {SYMBOLS.get(unit, unit)}".strip()


def _beside(one: Logged) -> Iterator[str]:
    """Yield what was read and noted beside a reading: conditions, what was joined, what was said."""
    known = {detail.id: detail for detail in (kinds()[one.what].details if one.what in kinds() else ())}
    for name, value in one.details.items():
        if name in BAND:
            continue  # it stands in a column of its own
        detail = known.get(name)
        label, unit = (detail.label, detail.unit) if detail else (name.replace("_", " "), "")
        yield words().annex.detail(name=label, value=_value(value, unit))
    if one.joined:
        yield words().annex.joined(joined=one.joined.replace("_", " "))


def _band(one: Expected) -> str:
    low, high = (None if value is None else show_number(value) for value in (one.low, one.high))
    band = span(low, high) if low and high else words().day.least(low=low) if low else ""
    stop = words().annex.stop(stop=show_number(one.stop)) if one.stop is not None else ""
    return "; ".join(filter(None, (band, stop)))
