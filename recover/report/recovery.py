"""The recovery report: what an owner, an insurer and an electrician are given. Its parts in the order of reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, get_args

from recover.asked.answers import Answers
from recover.asked.told import key_of, split_key
from recover.base.addresses import JOB, Address
from recover.base.measures import show_moment
from recover.job.folder import Job
from recover.judged.admissible import Lack, good_until, refusal
from recover.judged.assessment import Assessment, Open
from recover.judged.readings import rating
from recover.judged.standing import Hold, by_reason
from recover.report import electrical
from recover.report.day import HANDOVER_POINT
from recover.report.event import events
from recover.report.findings import basis_counts, findings, undamaged
from recover.report.lining_water import lining_water
from recover.report.measured import measured
from recover.report.paper import (
    Numbered,
    View,
    capital,
    fact_words,
    headline,
    in_words,
    paper,
    referral_line,
    runs,
    say,
    summary,
    who_words,
)
from recover.report.parties import said
from recover.report.plan_section import plan_section
from recover.report.record import feeds, gathered, hazards, instruments, photographs, signature
from recover.report.resistances import resistances
from recover.report.thermocouple import proving, thermocouple
from recover.report.words import words
from recover.rules.table import Consent, tasks

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan


def recovery(
    job: Job,
    found: Assessment,
    made: datetime,
    plan: JobPlan | None = None,
    *,
    changed: Sequence[str] = (),
    no_plan: str = "",
) -> View:
    """Return the view of the recovery report. `changed` is what the plan rests on and has changed since."""
    numbered = Numbered()
    view = {
        "paper": paper(job, found, "recovery", made),
        "headline": headline(found),
        "parties": said(found, "parties"),
        "summary": summary(found),
        "asked": _asked(found),
        "problems": [str(problem) for problem in found.problems],
        "cautions": [
            {"say": say(applied), "cites": numbered.cites(applied.notice.sources)} for applied in found.group("caution")
        ],
        "holds": _alike([_hold(found, hold, numbered) for hold in found.holds if not _far(hold)]),
        "hazards": hazards(found),
        "feeds": feeds(found),
        "interim": [] if _heats(found) else [applied.notice.say for applied in found.group("interim")],
        "events": events(found),
        "water": _water(found),
        "claim": _claim(found),
        "identity": [_identity(found, kiln) for kiln in found.answers.kilns],
        "findings": findings(found, numbered),
        "undamaged": undamaged(found, numbered),
        "readings": gathered(found),
        "instruments": instruments(found),
        "bench": _ohms(found),
        "ladder": _ladder(found),
        "measured": measured(found, numbered),
        **lining_water(found, numbered),
        "plan": plan_section(found, plan, numbered, changed=changed) if plan else None,
        "no_plan": "" if plan else no_plan or words().plan.none,
        "orders": electrical.orders(found),
        "betterment": [applied.notice.say for applied in found.group("betterment")],
        "forms": electrical.forms(found),
        "competence": _competence(found),
        "referral_line": referral_line(found),
        "unknown": [_open(found, one) for one in found.open if _is_news(one)],
        "limits": [applied.notice.say for applied in found.group("limit")],
        "proving": proving(found),
        "interest": _interest(found),
        "basis_counts": basis_counts(found),
        "photographs": photographs(job, found),
    }  # fmt: skip
    lettered = [{"letter": letter, "say": tasks()[name]} for name, letter in numbered.tasks.items()]
    return {**view, "tasks": lettered, "sources": numbered.list()}


LATER = ("dried", "energise", "handover")
"""Sections that are left open on a first visit: that they are open is no news."""


def _ohms(found: Assessment) -> list[View]:
    """Return, for each kiln, what its elements and its probe were read to be."""
    lines = (thermocouple(found, kiln) for kiln in found.answers.kilns)
    return [{**of, "lines": [*of["lines"], *more]} for of, more in zip(resistances(found), lines, strict=True)]


def _is_news(one: Open) -> bool:
    """Say whether an open question is worth a line: not what is left for later, nor a look that nothing waits for."""
    said = one.state == "not_applicable" and not one.matters
    return one.question.section not in LATER and not one.question.optional and not said


def _asked(found: Assessment) -> list[str]:
    """Return what is asked of the reader: who has to decide or act, and how many components wait for it."""
    waiting = {
        name: sum(name in one.who for one in found.findings if one.to_do)
        for name in ("repairer", "electrician", "laboratory", "builder")
    }
    lines = [
        words().asked.act(who=capital(who_words(found, name)), number=count) for name, count in waiting.items() if count
    ]
    consent = {name for one in found.findings if one.done is None for name in one.consent}
    lines = [*_to_sign_again(found), *lines]
    return lines + [words().consent[name] for name in get_args(Consent) if name in consent]


def _heats(found: Assessment) -> bool:
    """Whether every kiln is released to heat itself: what is to be left alone until then is so no longer."""
    return all(hold.state == "released" for hold in found.holds if hold.point.id == "own_heat")


def _to_sign_again(found: Assessment) -> list[str]:
    """Return the first hold point of each component that was signed and is closed now; the others wait for it."""
    ended: dict[Address, Hold] = {}
    for hold in found.holds:
        if hold.ended and hold.unmet and hold.state == "closed":
            ended.setdefault(hold.at, hold)
    return [
        words().asked.ended(
            title=hold.point.title, ended=hold.ended[-1].ended,
            where=f" ({where})" if (where := found.answers.where(hold.at)) else "",
        )
        for hold in ended.values()
    ]  # fmt: skip


def _water(found: Assessment) -> list[View]:
    """Return what the water was: category, salt, hours, each as judged."""
    return [
        {"label": label, "value": fact_words(found, name)}
        for name, label in found.answers.questions.printed("water").items()
    ]


def _claim(found: Assessment) -> list[View]:
    """Return who is answerable and what is known of the claim: the answers that were given, as said."""
    given = [(label, found.answers.given.get(name)) for name, label in found.answers.questions.printed("claim").items()]
    return [
        {"label": label, "value": in_words(found, answer)}
        for label, answer in given
        if answer and answer.state == "given"
    ]


def _identity(found: Assessment, kiln: Address) -> View:
    """Return what is known of a kiln and of its condition before: by the questions named in the words."""
    rows = []
    for name, label in found.answers.questions.printed("identity").items():
        if kiln not in found.answers.instances(found.answers.questions.questions[name]):
            continue
        answer = found.answers.given.get(key_of(name, kiln))
        value = in_words(found, answer) if answer else words().open["unanswered"]
        rows.append({"label": label, "value": value, "note": found.answers.noted(key_of(name, kiln))})
    rated = rating(found.answers, kiln)
    if rated and rated.inferred:
        rows.append({"label": words().electrical.rating, "note": words().electrical.inferred,
                     "value": f"{rated.volts:.0f} V, {rated.kw:.1f} kW"})  # fmt: skip
    return {"kiln": found.answers.label(kiln), "rows": rows}


def _competence(found: Assessment) -> list[View]:
    """Return who may do what in this country, and on whose authority."""
    return [
        {"who": one.who, "may": one.may, "clause": one.clause, "edition": one.edition}
        for one in found.profile.competence
    ]


def _ladder(found: Assessment) -> list[View]:
    """Return what the insulation of each zone permits on the ladder, with the reasons that decide."""
    return [
        {
            "zone": finding.label, "outcome": words().ladder[finding.outcome.high],
            "because": [reason.card.because for reason in finding.outcome.reasons if finding.outcome.closed
                        and reason.decides and reason.card.outcome == finding.outcome.high][:1],
            "closed": finding.outcome.closed,
        }
        for finding in found.ladder
    ]  # fmt: skip


def _hold(found: Assessment, hold: Hold, numbered: Numbered) -> View:
    needs, refused, lapsed = _evidence(found, hold)
    return {
        "title": hold.point.title, "where": found.answers.where(hold.at), "state": hold.stands,
        "opens": "" if hold.suspended else hold.point.opens, "suspended": hold.suspended,
        "until_then": hold.point.until_then,
        "released_by": hold.released_by, "because": hold.point.because,
        "cites": numbered.cites(hold.point.sources),
        "stands": {
            "missing": [*hold.waits, *needs], "refused": refused, "lapsed": lapsed,
            "until": show_moment(hold.until) if hold.until and not hold.suspended else "",
            "signatures": [signature(one) for one in hold.signatures],
        },
    }  # fmt: skip


def _evidence(found: Assessment, hold: Hold) -> tuple[list[str], list[str], list[str]]:
    """Return the needs of a hold point that are not met, what was answered and opens nothing, and what is out of date.

    What is wrong with a piece of evidence is said once for all needs that rest on it; of which only the time ran out,
    by its slate alone.
    """
    refusals = {key: refusal(found.answers, key, found.profile) for key in hold.rests_on}
    said = {lack for need in hold.unmet for lack in need.lacks}
    lapsed = {
        key: until for key, (_, whys) in refusals.items() if len(whys) == 1 and (until := _ran_out(found.answers, key))
    }
    refused = tuple(
        lack for key, (head, whys) in refusals.items() if key not in lapsed and _could_open(found.answers, key)
        for lack in (Lack(head, why) for why in whys) if lack in said
    )  # fmt: skip
    answered = {Lack(head, why) for head, whys in refusals.values() for why in whys}
    needs = [
        replace(
            need,
            lacks=tuple(lack for lack in need.lacks if lack not in answered),
            still=tuple(runs(need.still)),
            fails=(),
        )
        for need in hold.unmet
    ]
    return list(map(str, needs)), list(by_reason(refused)), _out_of_date(found, lapsed)


def _could_open(answers: Answers, key: str) -> bool:
    """Whether an answer would open something, were it admissible; that a hazard is not cleared yet opens nothing."""
    question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
    return bool(question and answer and (question.kind == "several" or question.may_open(answer.value)))


def _ran_out(answers: Answers, key: str) -> date | None:
    """Return until which day evidence was good; None where it still is."""
    question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
    until = good_until(answers, question, answer) if question and answer else None
    return until.date() if until and until <= answers.now else None


def _out_of_date(found: Assessment, lapsed: dict[str, date]) -> list[str]:
    """Return the slates of what is out of date, day by day, each once."""
    days: dict[date, set[int]] = {}
    for key, day in lapsed.items():
        days.setdefault(day, set()).add(found.answers.questions.questions[split_key(key)[0]].slate)
    told = {day: ", ".join(map(str, sorted(slates))) for day, slates in sorted(days.items())}
    return [words().lapsed(day=day.isoformat(), slates=slates) for day, slates in told.items()]


def _far(hold: Hold) -> bool:
    """Whether a hold point is of another day: the hand-over, until all before it is released; its paper tells of it."""
    return hold.point.id == HANDOVER_POINT and bool(hold.waits)


def _alike(holds: list[View]) -> list[View]:
    """Join a hold point of several kilns, so that a reader reads it once; how it stands is said kiln by kiln."""
    joined: dict[str, View] = {}
    for hold in holds:
        same = repr({**hold, "where": "", "stands": {}})
        twin = joined.setdefault(same, {**hold, "where": "", "stands": {}})
        twin["where"] = "; ".join(part for part in (twin["where"], hold["where"]) if part)
        twin["stands"].setdefault(repr(hold["stands"]), {**hold["stands"], "where": []})["where"].append(hold["where"])
    return [{**one, "stands": list(one["stands"].values())} for one in joined.values()]


def _open(found: Assessment, one: Open) -> View:
    state = words().open[one.state or "unanswered"] + (f": {one.reason}" if one.reason else "")
    return {
        "slate": str(one.question.slate), "question": one.question.ask, "state": state,
        "where": found.answers.where(one.at), "matters": len(one.matters),
    }  # fmt: skip


def _interest(found: Assessment) -> str:
    said = found.answers.word("claim.writer", JOB)
    return words().interest[said or "open"]
