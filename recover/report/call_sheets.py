"""The sheets of the first call: the owner's first days, the bring list, the tag."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from recover.base.addresses import Address
from recover.job.folder import Job
from recover.judged.assessment import Assessment, Finding
from recover.report.paper import View, paper, referral_line, say, summary, who_words
from recover.report.parties import said, unsaid
from recover.report.words import words
from recover.rules.table import Reason

TAG_CAUTIONS = 3
"""As many as the back of the tag holds at a size that is read standing; the first hold for every kiln."""


def first_days(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the owner's first-days sheet."""
    return {
        "paper": paper(job, found, "first-days", made),
        "groups": _groups(found, ("do", "dont", "photograph", "keep", "write_down")),
        "cautions": [
            {"say": say(applied), "cites": []}
            for applied in found.group("caution")
            if applied.certain and applied.notice.per != "zone"  # what was measured is no word for the owner's wall
        ],
        "parties": said(found, "parties", "contact"),
        "blanks": [*unsaid(found, "contact"), *words().contact_lines],
        "referral_line": referral_line(found),
    }


def bring_list(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the bring list: what to do after the call, and what to take along."""
    return {
        "paper": paper(job, found, "bring-list", made),
        "decision": decision(found),
        "parties": said(found, "parties", "contact"),
        "scope": [row for row in summary(found) if row["value"] != words().open["unanswered"]],
        "groups": _groups(found, ("instrument", "part", "protection")),
        "cautions": [{"say": say(applied), "cites": []} for applied in found.group("caution")],
        "referral_line": referral_line(found),
    }


def tag(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the do-not-energise tag."""
    return {
        "paper": paper(job, found, "tag", made),
        "lines": [applied.notice.say for applied in found.group("tag")],
        "blanks": words().tag_blanks,
        "cautions": [{"say": applied.notice.say, "cites": []} for applied in found.group("caution")][:TAG_CAUTIONS],
        "referral_line": referral_line(found),
    }


def decision(found: Assessment) -> View:
    """Return what the call table says: the worst outcome over all kilns, as words, and why."""
    worst, scale = worst_call(found), found.calls[0].table.scale
    reasons = _deciding(worst)
    return {
        "outcome": words().call[worst.outcome.high],
        "say": [*(one.card.because for one in reasons if one.certain), *_unsaid(found, worst.at, reasons)],
        "inspect": worst.outcome.high != scale[-1],
    }


def worst_call(found: Assessment) -> Finding:
    """Return what the call table says of the kiln of which it says the worst."""
    scale = found.calls[0].table.scale
    return max(found.calls, key=lambda call: scale.index(call.outcome.high))


def who_goes(found: Assessment) -> str:
    """Name who goes to a kiln first, as the call table has it."""
    who = dict.fromkeys(name for one in _deciding(worst_call(found)) for name in one.card.who)
    return ", ".join(who_words(found, name) for name in who)


def _deciding(call: Finding) -> list[Reason]:
    return [one for one in call.outcome.reasons if one.decides and one.card.outcome == call.outcome.high]


def _unsaid(found: Assessment, at: Address, reasons: Iterable[Reason]) -> list[str]:
    """Say what nobody has said yet and may be so: a reason that may not hold is no word about the kiln."""
    tested = dict.fromkeys(name for one in reasons if not one.certain for name in one.card.when)
    not_said = [name for name in tested if len(found.answers.look(name, at) or ()) != 1]
    facts = found.answers.questions.facts
    labels = [facts[name].label or name for name in not_said]
    return [words().unsaid(facts="; ".join(labels))] if labels else []


def _groups(found: Assessment, names: Iterable[str]) -> list[View]:
    return [
        {
            "title": words().group[name],
            "rows": [{"say": say(one), "because": one.notice.because} for one in found.group(name)],
        }
        for name in names
        if found.group(name)
    ]
