"""What the certificate tells of how a kiln was dried: how hot it ever was, what water is left, what was not run.

It is told by the log and by the newest plan that was made before the kiln was signed for.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from recover.base.addresses import holds_address
from recover.base.measures import show_moment
from recover.judged.dry import hottest
from recover.judged.fired import shown_by_heat, unshown
from recover.judged.stops import told_ever
from recover.plan import store
from recover.plan.cards import cards
from recover.plan.kinds import COLUMNS
from recover.plan.log import day_at, log_of
from recover.report.day import way_title
from recover.report.paper import View, days_text, done_words, share
from recover.report.reading_words import logged_figure, typed_late
from recover.report.words import words

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.job.folder import Job
    from recover.judged.assessment import Assessment
    from recover.judged.dry import Heat
    from recover.plan.cards import FiringCard
    from recover.plan.whole import Day, JobPlan, KilnPlan


def planned(job: Job, found: Assessment) -> JobPlan | None:
    """Return the newest plan that was made by the moment at which a job is spoken of; None where there is none."""
    made = (plan for plan in store.every(job) if datetime.fromisoformat(plan.made) <= found.answers.now)
    return next(made, None)


def dried(found: Assessment, kiln: Address, plan: JobPlan | None) -> list[View]:
    """Return how hot a kiln ever was in the log, and how much water is reckoned to be left, each with its label."""
    say, heat = words().handover, hottest(found.answers, kiln, found.profile)
    values = {"hottest": _hottest(heat) if heat else say.no_heat, "left": _left(plan, kiln) or say.no_left,
              "stops": "; ".join(told_ever(found.answers, kiln)) or say.no_stops}  # fmt: skip
    rows = [{"label": label, "value": values[name]} for name, label in say.dried.items()]
    return [*rows, *_fired(found, kiln, plan)]


def _fired(found: Assessment, kiln: Address, plan: JobPlan | None) -> Iterator[View]:
    """Yield each firing of the proof with the heating in the log that stands for it."""
    shown = shown_by_heat(found.answers, kiln, found.profile)
    for card in _proof_firings(plan, kiln):
        if card.id in shown:
            yield {"label": words().handover.firings[card.id], "value": _hottest(shown[card.id])}


def _hottest(heat: Heat) -> str:
    """Print how hot a kiln was, when, and by which line; with when that was typed, where it was long after."""
    one, top = heat.one, logged_figure(heat.degc, "degC")
    late = typed_late(one.measured, one.written, by_logger=one.by_logger)
    at = ", ".join(filter(None, (show_moment(one.measured), late)))
    return words().handover.hottest(top=top, at=at, line=one.line)


def by_the_log(found: Assessment, kiln: Address, plan: JobPlan | None) -> str:
    """Say how a kiln was dried by its log: on how many days, in which ways, how hot; empty where nothing was logged."""
    own, log = _of(plan, kiln), [one for one in log_of(found.answers, kiln) if one.what != COLUMNS]
    if not log:
        return ""
    days = [day for one in log if own and (day := day_at(own, one))]
    ways = dict.fromkeys(way_title(day.way) or words().day.phase[day.phase] for day in days)
    heat = hottest(found.answers, kiln, found.profile)
    say = words().handover
    return say.by_the_log(
        days=words().annex.days(number=len({one.measured.date() for one in log})),
        ways=", ".join(ways) or say.no_ways, top=logged_figure(heat.degc, "degC") if heat else say.no_heat,
    )  # fmt: skip


def still_open(found: Assessment, kiln: Address) -> Iterator[View]:
    """Yield each outcome of the report that stayed a range, or asks for what nobody has said is done; each with its
    components, and with what was said to be done of them."""
    say, of = words().handover, dict[str, list[str]]()
    for one in found.findings:
        if holds_address(kiln, one.at) and (one.to_do or not one.outcome.closed):
            done = done_words(one.done)
            of.setdefault(one.words, []).append(f"{one.label} ({done})" if done else one.label)
    for outcome, labels in of.items():
        yield _unproved(say.outcome(outcome=outcome), say.outcomes, "; ".join(dict.fromkeys(labels)))


def not_run(found: Assessment, kiln: Address, plan: JobPlan | None) -> Iterator[View]:
    """Yield what was planned or is part of the proof and stands nowhere in the log: water that nothing reckoned, what
    lies behind readings that shut the plan, days, firings."""
    say = words().handover
    if not _left(plan, kiln):
        yield _unproved(say.dried["left"], say.dried["left"], say.no_left)
    own = _of(plan, kiln)
    if plan and own and own.learnt and own.learnt.shut:
        told = say.shut(plan=plan.number, misfits=" ".join(own.learnt.misfits))
        yield _unproved(say.unexplained, say.unexplained, told)
    if plan and (days := _unlogged(found, plan, kiln)):
        first, last = (f"{day.date:%Y-%m-%d}" for day in (days[0], days[-1]))
        told = say.not_run(days=days_text([day.number for day in days]), plan=plan.number, first=first, last=last)
        yield _unproved(say.planned_days, say.planned_days, told)
    for card in not_fired(found, kiln, plan):
        yield _unproved(card.title, say.firings[card.id], say.not_fired(top=logged_figure(_top(card), "degC")))


def _unproved(label: str, short: str, why: str) -> View:
    """Return a row of what was not proved that is no answer of anybody."""
    return {"label": label, "short": short, "where": "", "value": "", "held": "", "read": False, "not": why}


def _of(plan: JobPlan | None, kiln: Address) -> KilnPlan | None:
    return next((one for one in plan.kilns if one.kiln == kiln), None) if plan else None


def _left(plan: JobPlan | None, kiln: Address) -> str:
    """Say how much water a plan reckoned to be left by what was read; empty where none did."""
    own = _of(plan, kiln)
    if plan is None or own is None or own.learnt is None:
        return ""
    return words().handover.left(left=share(own.learnt.left), plan=plan.number, day=own.learnt.goes_on)


def _unlogged(found: Assessment, plan: JobPlan, kiln: Address) -> list[Day]:
    """Return the days of a plan on which somebody was to read something, and of which nothing was logged."""
    own = _of(plan, kiln)
    days = own.days if own else ()
    read = [one for one in log_of(found.answers, kiln) if one.what != COLUMNS]
    logged = {day.number for one in read if own and (day := day_at(own, one))}
    return [day for day in days if day.attended_from and day.readings and day.number not in logged]


def not_fired(found: Assessment, kiln: Address, plan: JobPlan | None) -> list[FiringCard]:
    """Return each firing of the proof to whose top no heat in the log came, and of which no answer tells."""
    missing = unshown(found.answers, kiln, found.profile)
    return [card for card in _proof_firings(plan, kiln) if card.id in missing]


def _proof_firings(plan: JobPlan | None, kiln: Address) -> list[FiringCard]:
    own, of = _of(plan, kiln), words().handover.firings
    fired = [one.card for one in own.after] if own else cards()
    return [card for card in fired if card.id in of]


def _top(card: FiringCard) -> float:
    return max((step.to_degc for step in card.steps), default=0.0)
