"""A schedule of the kiln's own elements as it is read: its first day by the clock, the later ones as ranges.

Dates stand only where these elements are what is followed and their gate is open: nobody knows the day before.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from math import isinf
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from recover.base.measures import show_hours_minutes, show_quantity
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.physics.draws import Spread
from recover.physics.figures import pans
from recover.physics.staged import Heating
from recover.plan.clock import Entry, Span, StepSpan, closing, opening, spans, timetable
from recover.report.paper import View, days_text, share, span
from recover.report.words import words
from recover.schedule.spells import LEAST_HOLD_H

if TYPE_CHECKING:
    from recover.plan.whole import Followed, JobPlan, KilnPlan
    from recover.schedule.search import Plan


HIGH_M = 300.0
"""Above this height it is said at what temperature water boils: a kelvin below what everybody knows."""


def _dated(kiln: KilnPlan) -> bool:
    """Whether the days of its own elements have dates."""
    return kiln.by_own and kiln.gate_open


# ---------------------------------------------------------------------------------------- the first day


def today(plan: JobPlan, kiln: KilnPlan) -> list[View]:
    """Return the steps of the first day: when each begins, what is done by when, water left and casing at its end."""
    of, on = kiln.shown, opening(plan.request, ZoneInfo(plan.zone), 0).date()
    entries = timetable(of, plan.request, ZoneInfo(plan.zone), 0) if of else ()
    before_degc = [of.proof.schedule.days[0].from_degc, *(one.step.to_degc for one in entries)] if of else []
    return [
        {
            "at": _clock(one.begins, on), "say": _step(one, before, on), "left": share(one.left),
            "casing": _degrees(one.casing_degc),
        }
        for one, before in zip(entries, before_degc, strict=False)
    ]  # fmt: skip


def first(plan: JobPlan, kiln: KilnPlan) -> str:
    """Name the first day, with its date where it has one."""
    name = words().plan.day(day=1)
    return f"{name}, {opens_on(plan)}" if _dated(kiln) else name


def assumed(heating: Heating) -> str:
    """Say with what pan, and at what height if it is known, a schedule was reckoned; high up, where water boils."""
    told, height_m = words().plan.assumed, heating.height_m
    pan = pans(heating.pan)[0].label if heating.pan else words().drying.any_pan
    if height_m is None:
        return told.unknown(pan=pan)
    height = show_quantity(height_m, "m")
    if height_m <= HIGH_M:
        return told.low(pan=pan, height=height)
    boils = show_quantity(round(boiling_degc(pressure_at_pa(height_m)), 1), "degC")
    return told.high(pan=pan, height=height, boils=boils)


def opens_on(plan: JobPlan) -> str:
    """Return the date of the first opening."""
    return _day_text(opening(plan.request, ZoneInfo(plan.zone), 0).date())


def _clock(moment: datetime, on: date) -> str:
    """Return a local clock time; past the midnight after this date with how many days later it is."""
    late = (moment.date() - on).days
    return f"{moment:%H:%M}" + (words().plan.clocked.late(days=late) if late else "")


def _day_text(day: date) -> str:
    """Print a date for people who are there: `Mon 30 Nov`."""
    return f"{day:%a} {day.day} {day:%b}"


def day_ends(plan: JobPlan, day: int) -> datetime:
    """Return when a day ends, the first being 0: when nobody is there any more; where somebody always is, the next."""
    zone = ZoneInfo(plan.zone)
    return closing(plan.request, zone, day) or opening(plan.request, zone, day + 1)


def there(plan: JobPlan, day: int) -> str:
    """Say from when to when somebody is there on a day, the first being 0; by the clock of the place."""
    told, zone = words().plan.clocked, ZoneInfo(plan.zone)
    opens, closes = opening(plan.request, zone, day), closing(plan.request, zone, day)
    if closes is None:
        return told.always
    return told.there(opens=f"{opens:%H:%M}", closes=_clock(closes, opens.date()), zone=f"{opens:%Z}")


def _step(entry: Entry, before_degc: float, on: date) -> str:
    told, step = words().plan.clocked, entry.step
    degc, by = show_quantity(step.to_degc, "degC"), _clock(entry.hold_from, on)
    if isinf(step.ramp_k_h):
        says = [told.at_once(degc=degc, by=by)]
    elif step.to_degc > before_degc:
        says = [told.ramp(ramp=show_quantity(step.ramp_k_h, "K/h"), degc=degc, by=by)]
    else:
        says = [told.kept(degc=degc)]
    if entry.hold_from != entry.ends:
        says.append(told.hold(ends=_clock(entry.ends, on)))
    return "".join([*says, *([told.cut(ends=_clock(entry.ends, on))] if entry.cut else [])])


def _degrees(value: Spread) -> str:
    low, mid, high = (round(one) for one in (value.p10, value.p50, value.p90))
    return f"{mid} °C ({words().span(first=str(low), last=str(high))})"


# ---------------------------------------------------------------------------------------- later days


def later(plan: JobPlan, kiln: KilnPlan) -> list[View]:
    """Return the later days, those that are alike together: steps, attended hours, what is left when they end."""
    of = kiln.shown
    return [_range(plan, kiln, of, span) for span in spans(of.proof.schedule)] if of else []


def _range(plan: JobPlan, kiln: KilnPlan, of: Plan | Followed, span: Span) -> View:
    told, last = words().plan, next(end for end in reversed(of.proof.steps) if end.day == span.last)
    return {
        "day": days_text([*range(span.first + 1, span.last + 2)]), "dates": _dates(plan, span) if _dated(kiln) else "",
        "say": told.range.then.join(_spanned(step) for step in span.steps), "left": share(last.left),
        "casing": _degrees(last.casing_degc),
    }  # fmt: skip


def _dates(plan: JobPlan, days: Span) -> str:
    begin, end = (_day_text(day) for day in days.dates(plan.request, ZoneInfo(plan.zone)))
    return span(begin, end)


def _spanned(step: StepSpan) -> str:
    told = words().plan.range
    low, high = round(step.low_degc), round(step.high_degc)
    degc = f"{high} °C" if low == high else told.degc(low=low, high=high)
    at_once = isinf(step.ramp_k_h)
    climb = told.at_once(degc=degc) if at_once else told.ramp(ramp=show_quantity(step.ramp_k_h, "K/h"), degc=degc)
    if step.shortest_h < LEAST_HOLD_H:
        return climb
    shortest, longest = show_hours_minutes(step.shortest_h), show_hours_minutes(step.longest_h)
    return climb + (
        told.hold(shortest=shortest) if shortest == longest else told.holds(shortest=shortest, longest=longest)
    )


# ---------------------------------------------------------------------------------------- no day


def why_none(plan: JobPlan) -> str:
    """Return for each kiln why no day of its own elements can be dated."""
    return " ".join(f"{kiln.label}: {' '.join(_reasons(kiln))}" for kiln in plan.kilns)


def _reasons(kiln: KilnPlan) -> Iterator[str]:
    word, way = words().way, kiln.strategy
    yield from kiln.missing
    if way and not kiln.by_own:
        yield word.external(way=way.card.title)
    elif way and kiln.shown:
        yield word.gate
    elif not kiln.missing:
        yield kiln.comparison.because if kiln.comparison and not way else word.none
        if kiln.own and kiln.own.broken:
            yield word.binds(limits=", ".join(limit.what for limit in kiln.own.broken))
