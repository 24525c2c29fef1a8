"""The views that papers print: plain values only, every sentence traceable to a card, an answer or a limit.

A view is a dictionary of strings, numbers and lists. Templates lay it out and decide nothing; an issued paper is the
stored view, so it can be printed again in ten years, whatever the rules have become.
"""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

import recover
from recover.answers import Answer, Release, key_of, split_key
from recover.assessment import Applied, Assessment, Finding, Hold, Open
from recover.evidence import reduced_copy
from recover.job import Job
from recover.kiln import JOB, Address, within
from recover.measures import show_hours, show_moment, show_quantity
from recover.questions import Question
from recover.report.words import words
from recover.rules.table import Card, Contrary, tasks
from recover.sources import BASIS_WORDS, Citation, bibliography

View = dict[str, Any]

SHEETS = ("first-days", "bring-list", "tag")
"""What exists from the first call. A sheet is never issued: it is as good as the journal line it names."""

PERHAPS_SHOWN = 4
"""Reasons printed of a range: every one that is certain, and of those that only may apply the most severe up to
this many. The others are counted; an answer settles them."""

TAG_CAUTIONS = 3
"""As many as the back of the tag holds at a size that is read standing; the first hold for every kiln."""

HEDGED = ("caution",)
"""Groups whose sentences state what is so: where that is not known, the paper says that it is not excluded."""

TITLES = {
    "first-look": "First look report",
    "record": "Record of the visit",
    "first-days": "The first days",
    "bring-list": "Bring list",
    "tag": "Do not energise",
}


class _Numbered:
    """Numbers the sources and letters the tasks of one paper in the order in which they are first named."""

    def __init__(self) -> None:
        self.order: dict[str, int] = {}
        self.clauses: dict[str, dict[str, None]] = {}
        self.tasks: dict[str, str] = {}

    def letters(self, names: Iterable[str]) -> list[str]:
        """Return the letters of tasks: a to z, then aa, ab, and on."""
        for name in names:
            if name not in self.tasks:
                tens, ones = divmod(len(self.tasks), 26)
                self.tasks[name] = ("" if not tens else chr(96 + tens)) + chr(97 + ones)
        return sorted((self.tasks[name] for name in names), key=lambda letter: (len(letter), letter))

    def cites(self, citations: Iterable[Citation]) -> list[int]:
        """Return the numbers of the cited sources."""
        numbers = []
        for citation in citations:
            numbers.append(self.order.setdefault(citation.source, len(self.order) + 1))
            self.clauses.setdefault(citation.source, {})[citation.clause] = None
        return list(dict.fromkeys(numbers))

    def list(self) -> list[View]:
        """Return the cited sources in order."""
        seen = words()["seen"]
        return [
            {
                "number": number,
                "text": str(bibliography()[name]),
                "seen": seen[bibliography()[name].seen],
                "clauses": list(self.clauses[name]),
            }
            for name, number in self.order.items()
        ]


def paper(job: Job, found: Assessment, kind: str, made: datetime) -> View:
    """Return what every paper says of itself. A report is a draft until it is issued (see `issued`)."""
    return {
        "kind": kind, "title": TITLES[kind], "subtitle": _subtitle(found), "lang": "en", "size": job.settings.paper,
        "state": "sheet" if kind in SHEETS else "draft", "revision": None,
        "issued": None, "changed_since": _changed_since(found, kind),
        "job": found.job, "record": found.head[:12], "program": f"recover {recover.__version__}",
        "rules": found.rules[:12], "made": show_moment(made.astimezone(job.settings.tz)),
    }  # fmt: skip


def issued(view: View, *, revision: int, by: str, capacity: str, at: str) -> View:
    """Return a view as revision `revision`, issued by a named person."""
    head = {**view["paper"], "state": "issued", "revision": revision, "changed_since": None,
            "issued": {"by": by, "capacity": capacity, "at": at}}  # fmt: skip
    return {**view, "paper": head}


def first_look(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the first-look report."""
    numbered = _Numbered()
    view = {
        "paper": paper(job, found, "first-look", made),
        "headline": headline(found),
        "summary": _summary(found),
        "holds": [_hold(found, hold, numbered) for hold in found.holds],
        "findings": _findings(found, numbered),
        "not_assessed": list(found.not_assessed),
        "unknown": [_open(found, one) for one in found.open if one.question.section != "energise"],
        "cautions": [_caution(applied, numbered) for applied in found.group("caution")],
        "interim": [applied.notice.say for applied in found.group("interim")],
        "referral": _referral(found),
        "referral_line": referral_line(found),
        "problems": [str(problem) for problem in found.problems],
        "limits": [applied.notice.say for applied in found.group("limit")],
        "basis_counts": _basis_counts(found),
    }  # fmt: skip
    lettered = [{"letter": letter, "say": tasks()[name]} for name, letter in numbered.tasks.items()]
    return {**view, "tasks": lettered, "sources": numbered.list()}


def record(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the record: every answer, reading, instrument and photograph behind the report."""
    return {
        "paper": paper(job, found, "record", made),
        "known": _known(found),
        "readings": _readings(found),
        "instruments": [
            {"id": one.id, "what": ", ".join(part for part in (one.what, one.maker) if part),
             "serial": one.serial or "not noted", "calibrated": one.calibrated or "not noted"}
            for one in found.answers.instruments.values()
        ],
        "photographs": _photographs(job, found),
        "limits": [applied.notice.say for applied in found.group("limit")],
        "cautions": [{"say": say(applied), "cites": []} for applied in found.group("caution")],
        "referral_line": referral_line(found),
    }  # fmt: skip


def first_days(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the owner's first-days sheet."""
    return {
        "paper": paper(job, found, "first-days", made),
        "groups": _groups(found, ("do", "dont", "photograph", "keep", "write_down")),
        "cautions": [{"say": say(applied), "cites": []} for applied in found.group("caution") if applied.certain],
        "contact_lines": words()["contact_lines"],
        "referral_line": referral_line(found),
    }


def bring_list(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the bring list: what to do after the call, and what to take along."""
    return {
        "paper": paper(job, found, "bring-list", made),
        "decision": decision(found),
        "scope": [row for row in _summary(found) if row["value"] != words()["open"]["None"]],
        "groups": _groups(found, ("instrument", "part", "protection")),
        "cautions": [{"say": say(applied), "cites": []} for applied in found.group("caution")],
        "referral_line": referral_line(found),
    }


def tag(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the do-not-energise tag."""
    return {
        "paper": paper(job, found, "tag", made),
        "lines": [applied.notice.say for applied in found.group("tag")],
        "blanks": words()["tag_blanks"],
        "cautions": [{"say": applied.notice.say, "cites": []} for applied in found.group("caution")][:TAG_CAUTIONS],
        "referral_line": referral_line(found),
    }


def decision(found: Assessment) -> View:
    """Return what the call table says: the worst outcome over all kilns, as words, and why."""
    scale = found.calls[0].table.scale
    worst = max(found.calls, key=lambda call: scale.index(call.outcome.high))
    reasons = [
        reason.card for reason in worst.outcome.reasons if reason.decides and reason.card.outcome == worst.outcome.high
    ]
    inspect = worst.outcome.high != scale[-1]
    return {
        "outcome": words()["call"][worst.outcome.high],
        "say": [card.because for card in reasons],
        "inspect": inspect,
    }


# ---------------------------------------------------------------------------------------- page one


def _subtitle(found: Assessment) -> str:
    kilns = found.answers.components("kiln")
    return f"{len(kilns)} kiln{'s' if len(kilns) != 1 else ''} · {found.profile.title}"


def _changed_since(found: Assessment, kind: str) -> str | None:
    papers = [one for one in found.answers.issued if one.paper == kind]
    if not papers:
        return None
    last = papers[-1]
    return str(words()["changed_since"]).format(revision=last.revision, moment=show_moment(last.moment), by=last.by)


def headline(found: Assessment) -> View:
    """Return what stands in the black box: its title, and what is to be known before anything else."""
    energise = [hold for hold in found.holds if hold.point.id == "energise"]
    name = "energise_released" if energise and all(hold.state == "released" for hold in energise) else "energise_closed"
    replaced = [finding.label for finding in found.findings if finding.words == "replace"]
    lines = list(words()["headline"][name]["lines"])
    if replaced:
        lines.append(words()["headline"]["replace"].format(number=len(replaced)))
    return {"title": words()["headline"][name]["title"], "lines": lines}


def _summary(found: Assessment) -> list[View]:
    """Return the figures that are asked first: each with its value, or that it is not known."""
    rows = []
    for name, label in words()["summary"].items():
        question = found.answers.questions.questions.get(name)
        if question is None:
            rows.append({"label": label, "value": _fact_words(found, name), "note": ""})
        for at in found.answers.instances(question) if question else ():
            answer = found.answers.answer(name, at)
            rows.append({"label": label, "value": _in_words(found, answer) if answer else words()["open"]["None"],
                         "note": found.answers.where(at)})  # fmt: skip
    return rows


def _fact_words(found: Assessment, name: str) -> str:
    possible = found.answers.fact(name, JOB)
    if name == "hours_wet":
        return show_hours(next(iter(possible))) if possible else words()["open"]["None"]
    order = found.answers.questions.facts[name].values
    values = [words()["fact"].get(value, value) for value in order if possible is None or value in possible]
    return values[0] if len(values) == 1 else f"{values[0]} to {values[-1]}, not settled"


def _hold(found: Assessment, hold: Hold, numbered: _Numbered) -> View:
    release = hold.release
    return {
        "title": hold.point.title, "where": found.answers.where(hold.at), "state": hold.state,
        "opens": hold.point.opens, "until_then": hold.point.until_then, "missing": list(hold.missing),
        "released_by": hold.point.released_by, "because": hold.point.because,
        "cites": numbered.cites(hold.point.sources),
        "released": _release(release) if release else None,
    }  # fmt: skip


def _release(release: Release) -> View:
    return {"by": release.by, "capacity": release.capacity, "at": show_moment(release.moment)}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# ---------------------------------------------------------------------------------------- findings


def _findings(found: Assessment, numbered: _Numbered) -> list[View]:
    return [
        {"kiln": found.answers.label(kiln), "tables": _tables(found, kiln, numbered)}
        for kiln in found.answers.components("kiln")
    ]


def _tables(found: Assessment, kiln: Address, numbered: _Numbered) -> list[View]:
    grouped: dict[str, list[Finding]] = {}
    for finding in found.findings:
        if within(finding.at, "kiln") == kiln:
            grouped.setdefault(finding.table.title, []).append(finding)
    return [
        {"title": title, "rows": _alike([_finding(found, finding, numbered) for finding in findings])}
        for title, findings in grouped.items()
    ]


def _alike(rows: list[View]) -> list[View]:
    """Join rows that say the same of several components, so that a reader reads it once."""
    joined: list[View] = []
    for row in rows:
        twin = next((one for one in joined if {**one, "components": []} == {**row, "components": []}), None)
        if twin:
            twin["components"] += row["components"]
        else:
            joined.append(row)
    return joined


def _finding(found: Assessment, finding: Finding, numbered: _Numbered) -> View:
    outcome = finding.outcome
    facts = found.answers.questions.facts
    shown = [reason for reason in outcome.reasons if reason.certain]
    perhaps = [reason for reason in outcome.reasons if not reason.certain]
    shown += perhaps[: max(PERHAPS_SHOWN - len(shown), 1)]
    tasks_shown = dict.fromkeys(name for reason in shown if reason.decides for name in reason.card.tasks)
    return {
        "components": [_capital(found.answers.own_label(finding.at))],
        "outcome": finding.words, "low": outcome.low, "high": outcome.high, "closed": outcome.closed,
        "depends_on": [facts[name].label or name for name in outcome.depends_on],
        "who": [words()["who"][name] for name in finding.who],
        "consent": [words()["who"][name] for name in finding.consent if name != "insurer" or not _uninsured(found)],
        "tasks": numbered.letters(tasks_shown),
        "reasons": [
            {"because": reason.card.because, "basis": BASIS_WORDS[reason.card.basis], "certain": reason.certain,
             "cites": numbered.cites(reason.card.sources), "outcome": reason.card.outcome}
            for reason in shown
        ],
        "more": len(outcome.reasons) - len(shown),
        "contrary": _contrary([row for reason in shown for row in reason.card.contrary], numbered),
    }  # fmt: skip


def _uninsured(found: Assessment) -> bool:
    return found.answers.look("claim.insured", JOB) == frozenset({"no"})


def _contrary(rows: list[Contrary], numbered: _Numbered) -> list[View]:
    """Return milder published rows, those that say the same joined with all their sources."""
    joined: dict[tuple[str, str], dict[int, None]] = {}
    for row in rows:
        cited = joined.setdefault((row.outcome, row.says), {})
        cited.update(dict.fromkeys(numbered.cites([Citation(row.source, row.clause)])))
    return [{"outcome": outcome, "says": says, "cites": list(cited)} for (outcome, says), cited in joined.items()]


def _open(found: Assessment, one: Open) -> View:
    state = words()["open"][str(one.state)] + (f": {one.reason}" if one.reason else "")
    return {
        "slate": str(one.question.slate), "question": one.question.ask, "state": state,
        "where": found.answers.where(one.at), "matters": "; ".join(one.matters),
    }  # fmt: skip


def _basis_counts(found: Assessment) -> list[View]:
    cards: dict[str, Card] = {reason.card.id: reason.card for one in found.findings for reason in one.outcome.reasons}
    counts = Counter(card.basis for card in cards.values())
    return [{"basis": BASIS_WORDS[basis], "count": count} for basis, count in counts.most_common()]


# ---------------------------------------------------------------------------------------- cautions, referral


def say(applied: Applied) -> str:
    """Return a notice's sentence, with whom it concerns, and saying so where it is only not excluded."""
    hedge = "" if applied.certain or applied.notice.group not in HEDGED else f"{words()['not_excluded']} "
    return f"{'; '.join(applied.where)}: {hedge}{applied.notice.say}" if applied.where else hedge + applied.notice.say


def _caution(applied: Applied, numbered: _Numbered) -> View:
    return {"say": say(applied), "cites": numbered.cites(applied.notice.sources)}


def _groups(found: Assessment, names: Iterable[str]) -> list[View]:
    return [
        {
            "title": words()["group"][name],
            "rows": [{"say": say(one), "because": one.notice.because} for one in found.group(name)],
        }
        for name in names
        if found.group(name)
    ]


def _referral(found: Assessment) -> View:
    theirs = [f"{finding.label}: {finding.words}" for finding in found.findings if "electrician" in finding.who]
    return {"to": found.profile.terms.electrician, "requests": list(found.referral), "items": theirs,
            "blanks": words()["referral_blanks"]}  # fmt: skip


def referral_line(found: Assessment) -> str:
    """Return the sentence that stands on every paper: what belongs to an electrician."""
    return str(words()["referral_line"]).format(electrician=found.profile.terms.electrician)


# ---------------------------------------------------------------------------------------- answers, evidence


def _in_words(found: Assessment, answer: Answer) -> str:
    return found.answers.in_words(answer, imperial=found.profile.imperial)


def _known(found: Assessment) -> list[View]:
    sections = []
    for section in found.answers.questions.section:
        rows = [
            _known_row(found, question, at)
            for question in found.answers.questions.of_section(section.id)
            for at in found.answers.instances(question)
            if (answer := found.answers.answer(question.id, at)) and answer.state == "given"
        ]
        if rows:
            sections.append({"section": section.title, "rows": rows})
    return sections


def _known_row(found: Assessment, question: Question, at: Address) -> View:
    answers, key = found.answers, key_of(question.id, at)
    answer = answers.given[key]
    return {
        "slate": str(question.slate), "question": question.ask, "where": answers.where(at),
        "answer": _in_words(found, answer), "note": " / ".join(answers.notes.get(key, [])),
        "photos": [photo.id for photo in answers.photographs if photo.question == key],
        "by": answer.by, "at": show_moment(answer.moment) if answer.moment else "",
    }  # fmt: skip


def _readings(found: Assessment) -> list[View]:
    rows, imperial = [], found.profile.imperial
    for answer in found.answers.given.values():
        question = found.answers.questions.questions.get(answer.question)
        if question and question.kind == "reading" and answer.state == "given":
            conditions = [
                f"{detail.ask.lower()} {show_quantity(answer.details[detail.id], detail.unit, imperial=imperial)}"
                for detail in question.details
            ]
            rows.append({
                "where": found.answers.label(answer.at), "what": question.ask, "value": _in_words(found, answer),
                "conditions": ", ".join(conditions), "instrument": answer.instrument, "by": answer.by,
                "at": show_moment(answer.moment) if answer.moment else "",
            })  # fmt: skip
    return rows


def _photographs(job: Job, found: Assessment) -> list[View]:
    return [
        {
            "id": photo.id, "caption": _caption(found, photo.question),
            "alt": f"Photograph {photo.id}: {_caption(found, photo.question)} ({Path(photo.file).name})",
            "src": _source(job.folder / photo.file) if photo.printable else "", "sha256": photo.sha256[:12],
            "taken": show_moment(photo.taken) if photo.taken else words()["no_time"],
        }
        for photo in found.answers.photographs
    ]  # fmt: skip


def _caption(found: Assessment, key: str) -> str:
    name, at = split_key(key)
    question = found.answers.questions.questions.get(name)
    if question is None:
        return str(words()["unbound"])
    where = "" if at == JOB else f"{found.answers.label(at)}: "
    answer = found.answers.given.get(key)
    said = f" {_in_words(found, answer)}" if answer else ""
    return f"{where}{question.ask}{said}"


def _source(path: Path) -> str:
    """Return a reduced copy as a data address, so that a paper is one file; empty where the picture is gone."""
    try:
        return "data:image/jpeg;base64," + base64.b64encode(reduced_copy(path.read_bytes())).decode()
    except OSError:
        return ""
