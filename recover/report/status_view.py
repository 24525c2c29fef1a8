"""Where a job stands as one plain document: what is next, each kiln, its last round beside its bands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from recover.base.measures import show_moment
from recover.judged.assessment import Assessment
from recover.plan.due import by_place
from recover.plan.kinds import figure, word_of
from recover.plan.log import expected_now, off_switch, wetted
from recover.plan.store import overtaken
from recover.report.acts import acts, entry_unplanned, off
from recover.report.day import FORBIDS, awaited, gate, idle, own_heat, way_of
from recover.report.paper import View, referral_line, say, share
from recover.report.parties import said
from recover.report.plan_days import dates
from recover.report.reading_words import as_read, band, logged_name, stop_line
from recover.report.today import Glance, KilnNow
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.log import Against
    from recover.plan.whole import Day, Expected, JobPlan


def look_at(
    found: Assessment, plan: JobPlan | None, now: datetime, *, changed: Sequence[str] | None = None,
    folder: Path | None = None, no_plan: str = "", call_open: bool = False,
) -> Glance:  # fmt: skip
    """Return a look at a job; what its plan rests on and has changed since is found out where it is not given."""
    if changed is None:
        changed = overtaken(found, plan) if plan else ()
    return Glance(found=found, plan=plan, changed=tuple(changed), now=now.astimezone(found.answers.zone),
                folder=folder or Path(found.job), no_plan=no_plan, call_open=call_open)  # fmt: skip


def nothing_left(look: Glance) -> str:
    """Say that nothing is left to plan, where that is so of every kiln; empty where it is not."""
    return words().plan.nothing_left if look.kilns and all(kiln.nothing_left for kiln in look.kilns) else ""


# ---------------------------------------------------------------------------------------- the view


def status_view(look: Glance) -> View:
    """Return where a job stands as one plain document."""
    return {
        "job": look.found.job, "record": look.found.head, "at": look.now.isoformat(timespec="minutes"),
        "parties": said(look.found, "parties", "contact"),
        "plan": plan_view(look), "next": [asdict(act) for act in acts(look)],
        "kilns": [kiln_view(kiln) for kiln in look.kilns],
        "cautions": [say(applied) for applied in look.found.group("caution")],
        "referral": referral_line(look.found),
    }  # fmt: skip


def plan_view(look: Glance) -> View | None:
    """Return by which plan all is told, and how many readings it has not seen; None where there is none."""
    if look.plan is None:
        return None
    made, told = datetime.fromisoformat(look.plan.made), words().status
    since = sum(kiln.since for kiln in look.kilns)
    takes_in = any(kiln.since and not kiln.nothing_left for kiln in look.kilns)
    by = told.plan(plan=look.plan.number, made=show_moment(made.astimezone(look.found.answers.zone)))
    return {
        "number": look.plan.number, "made": look.plan.made, "changed": list(look.changed), "since": since,
        "says": " ".join([by, *([told.since(number=since)] if takes_in else [])]),
    }  # fmt: skip


def kiln_view(kiln: KilnNow) -> View:
    """Return where one kiln stands; what it has not is empty."""
    plan, day = kiln.kiln, kiln.day or kiln.begun
    return {
        "component": plan.kiln, "label": plan.label, "where": _where(kiln), "state": kiln.sheet.state,
        "day": day.number if day else None, "days": len(plan.days),
        "left": _left(kiln), "fires": _fires(kiln),
        "read_on": kiln.read_day.number if kiln.read_day and not kiln.after else None,
        "read": [_reading(kiln, one) for one in kiln.round],
        "stops": [stop_line(one) for one in _stops(kiln)] if kiln.goes else [],
        "off": off(off_switch(plan, day)) if day and kiln.goes and not idle(day) else "",
    }  # fmt: skip


def _where(kiln: KilnNow) -> str:
    """Say at which day a kiln stands, and how it is dried; where something is in the way, by what was logged."""
    told, days = words().status, len(kiln.kiln.days)
    if not days:
        return told.nothing
    if kiln.past:
        return told.over(days=days)
    if kiln.stands_still:
        last = kiln.read_day
        return told.stands(day=last.number, days=days) if last else told.not_begun(days=days)
    return _at(kiln, days) if kiln.day else ""


def _at(kiln: KilnNow, days: int) -> str:
    day = kiln.day
    assert day
    phase = words().day.phase[day.phase]
    way = "" if own_heat(day) else way_of(day)
    hour = "ended" if kiln.hour == "open" and kiln.ended else kiln.hour
    says = words().status.hour[hour if kiln.day == kiln.begun else "ahead"](day=day.number, days=days)
    return ": ".join(filter(None, (f"{says}, {phase[:1].lower()}{phase[1:]}", way)))


def _left(kiln: KilnNow) -> View | None:
    """Return the water that is left by the plan: now, at the end of the day, and how many days dry the rest.

    Where the drying stands still, now is the end of the last day on which something was read; where a plan goes on by
    what was read, what that says. Where days before it were not logged nothing is known of what they left.
    """
    plan, day = kiln.kiln, kiln.day
    if wetted(plan, kiln.look.found.answers, kiln.look.now.date()):
        return {"now": None, "then": None, "days": None, "says": words().status.left_wetted}
    if not plan.days or kiln.look.changed or kiln.skipped:
        return None
    done = kiln.done_days
    learnt = plan.learnt.left if plan.learnt and done < plan.learnt.goes_on else None
    before = learnt or next((one.left for one in plan.days if one.number == done), None)
    ends = day.left if day and day.number == done + 1 else None
    days, told = 0 if kiln.handed_over else plan.days[-1].number - done, words().status
    says = [told.left(left=share(before)) if before else told.left_all]
    says += [told.left_then(left=share(ends), day=done + 1)] if ends else []
    says += [told.days_left(number=days)] if days else []
    return {
        "now": asdict(before) if before else None, "then": asdict(ends) if ends else None, "days": days,
        "says": f"{', '.join(says)}.",
    }  # fmt: skip


def _fires(kiln: KilnNow) -> View:
    """Return by when it is fired again, half of the draws and nine in ten; no date while anything is in the way."""
    path, told = kiln.kiln.path, words().status
    if path is None or path.first_firing is None:
        return {"p50": None, "p90": None, "says": told.no_end}
    if kiln.out_of_use:
        return {"p50": None, "p90": None, "says": told.out_of_use}
    if kiln.handed_over:
        return {"p50": None, "p90": None, "says": told.handed_over}
    p50, p90 = path.first_firing.p50, path.first_firing.p90
    if held_up := _held_up(kiln.look.found, kiln):
        later = told.fires_once(by=held_up[0], dates=dates(p50, p90)) if _is_ahead(kiln, held_up) else ""
        return {"p50": None, "p90": None, "says": later or told.undated(by="; ".join(held_up))}
    return {"p50": p50.isoformat(), "p90": p90.isoformat(), "says": told.fires(dates=dates(p50, p90))}


def _is_ahead(kiln: KilnNow, held_up: Sequence[str]) -> bool:
    """Whether all that is in the way of a date is own heat, for which its day has not come: of outside it goes on."""
    day, title = kiln.day, gate(kiln.look.found, kiln.kiln).point.title
    return bool(day and not own_heat(day) and not kiln.stands_still) and [*held_up] == [f"“{title}”"]


def _held_up(found: Assessment, kiln: KilnNow) -> list[str]:
    """Return what is in the way of a date: hazards, the plan that is overtaken, hold points by their titles; nothing
    where the days that are left may have dates."""
    if kiln.look.changed:
        return [words().status.act.by_change]
    if kiln.undried:
        return [words().status.act.by_days]
    slipped = [words().status.act.by_dates] if kiln.behind or kiln.skipped else []
    slipped += [words().status.act.by_stop] if kiln.barred else []
    shut = [line for day in kiln.kiln.days for line in kiln.shut(day)]
    holds = [one for day in _to_come(kiln) for one in awaited(found, kiln.kiln, day) if one.stands in FORBIDS]
    waits = any(map(own_heat, kiln.kiln.days)) and not kiln.kiln.gate_open
    lacks = [gate(found, kiln.kiln)] if waits and not entry_unplanned(kiln) else []
    entry = [words().status.act.by_entry] if entry_unplanned(kiln) else []
    titles = (f"“{one.point.title}”" for one in (*holds, *lacks))
    return [*slipped, *dict.fromkeys((*(line.rstrip(".") for line in shut), *titles)), *entry]


def _to_come(kiln: KilnNow) -> Iterator[Day]:
    """Yield the days from the one that is open or next: no hold point of a day that was worked is in the way."""
    yield from (one for one in kiln.kiln.days if kiln.day is None or one.number >= kiln.day.number)


def _reading(kiln: KilnNow, one: Against) -> View:
    """Return a reading beside its band, and how it lies to it."""
    read, expected = one.one, one.expected
    value = as_read(read.value, read.unit) if read.value is not None else ""
    limits = {end: getattr(expected, end) if expected else None for end in ("low", "mid", "high", "stop")}
    return {
        "at": kiln.clock(read.measured), "measured": read.measured.isoformat(), "what": read.what, "by": read.by,
        "place": read.place, "label": logged_name(read),
        "value": read.value, "unit": read.unit, "word": read.word, **limits,
        "says": words().day.least(low=value) if value and read.at_least else value or word_of(read) or read.said,
        "band": _band(expected), "lies": one.lies, "lies_says": words().status.lies[one.lies],
    }  # fmt: skip


def _band(one: Expected | None) -> str:
    """Print a band and its middle without the unit, which stands at what was read."""
    if one is None or one.high is None:
        return band(one) if one else ""
    span = words().span(first=figure(one.low, one.unit), last=figure(one.high, one.unit))
    return f"{span} ({figure(one.mid, one.unit)})" if one.mid is not None else span


def _stops(kiln: KilnNow) -> Iterator[Expected]:
    """Yield what ends the day, thing by thing: the figure by which a reading of this moment is judged."""
    for of in by_place(kiln.day) if kiln.day else ():
        found = expected_now(of[0], kiln.day, kiln.look.now) if kiln.day else None
        if found and found.stop is not None:
            yield found
