"""What papers share: their head, their sources and tasks, a caution's words, the sentence about the electrician.

A view is a dictionary of strings, numbers and lists: plain values only, every sentence traceable to a card, an answer
or a limit. Templates lay it out and decide nothing; an issued paper is the stored view, so it can be printed again in
ten years, whatever the rules have become.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any

import recover
from recover.asked.questions import Question
from recover.asked.told import Answer
from recover.base.addresses import JOB, Address, holds_address, is_listed
from recover.base.measures import show_hours, show_moment, show_number, show_quantity
from recover.base.sources import Citation, bibliography
from recover.job.anchor import anchor
from recover.job.folder import Job
from recover.judged.admissible import is_evidence, why_not
from recover.judged.assessment import as_signed
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.plan.of_job import HANDED_OVER
from recover.report.words import words

if TYPE_CHECKING:
    from recover.judged.assessment import Applied, Assessment, Finding
    from recover.judged.standing import Hold

View = dict[str, Any]

SHEETS = ("tag", "first-days", "bring-list")
"""What exists from the first call. A sheet is never issued: it is as good as the journal line it names."""

AS_OF = (*SHEETS, "kiln-room")
"""Kinds that are never issued: the sheets of the call, and that of the kiln room, which is of one day."""

HEDGED = ("caution",)
"""Groups whose sentences state what is so: where that is not known, the paper says that it is not excluded."""

TOO_WIDE = 30
"""How many times its low end the high end of a band may be before the figure means nothing."""

TITLES = {
    "recovery": "Recovery report",
    "record": "Record of the visit",
    "first-days": "The first days",
    "bring-list": "Bring list",
    "tag": "Do not energise",
    "kiln-room": "Kiln room",
    "handover": "Hand-over certificate",
    "annex": "Annex: log of the drying",
}


class Numbered:
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
        seen = words().seen
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
        "state": "sheet" if kind in AS_OF else "draft", "revision": None,
        "issued": None, "changed_since": _changed_since(found, kind),
        "job": found.job, "record": str(anchor(found.answers.lines, found.head)),
        "program": f"recover {recover.__version__}",
        "rules": found.rules[:12], "made": show_moment(made.astimezone(job.settings.tz)),
    }  # fmt: skip


def issued(view: View, *, revision: int, by: str, capacity: str, at: str) -> View:
    """Return a view as revision `revision`, issued by a named person."""
    head = {**view["paper"], "state": "issued", "revision": revision, "changed_since": None,
            "issued": {"by": by, "capacity": capacity, "at": at}}  # fmt: skip
    return {**view, "paper": head}


def headline(found: Assessment, *, counted: bool = True) -> View:
    """Return what stands in the black box: its title, and what is to be known before anything else; `counted`: with how
    much is to be replaced."""
    energise = [hold for hold in found.holds if hold.point.id == "energise"]
    opened = bool(energise) and all(hold.state == "released" for hold in energise)
    replaced = {finding.at for finding in found.findings if finding.words == "replace" and finding.to_do}
    released, heat = (
        " ".join(_released(found, hold) for hold in found.holds if hold.point.id == point)
        for point in ("energise", "own_heat")
    )
    title, lines = words().headline.energise_closed.title, [*words().headline.energise_closed.lines]
    if opened:
        say = words().headline.energise_released
        title, lines = say.title, say.lines(released=released, heat=heat)
    if over := _handed_over(found):
        title, lines = words().headline.handed_over.title, over
    if replaced and counted:
        lines.append(words().headline.replace(number=len(replaced)))
    lines += suspended(found)
    if found.of_journal:
        lines.append(words().headline.journal)
    return {"title": title, "lines": lines}


def _handed_over(found: Assessment) -> list[str]:
    """Return that every kiln is handed over, and by whom that was signed; nothing while one is not, or is no more."""
    holds = [hold for hold in as_signed(found, HANDED_OVER).holds if hold.point.id == HANDED_OVER]
    if not holds or any(hold.state != "released" for hold in holds):
        return []
    say = words().headline.handed_over
    return [*(say.by(title=_titled(found, hold), by=hold.signers, on=hold.signed_on) for hold in holds), *say.lines]


def suspended(found: Assessment, kiln: Address = JOB) -> list[str]:
    """Return, of each kiln or of one, that no hand goes inside although that stands released: it may be live."""
    inside = [one for one in found.holds if one.suspended and one.point.id == one.point.lifted_by]
    return [f"{_titled(found, one)}: {one.suspended}" for one in inside if holds_address(kiln, one.at)]


def _titled(found: Assessment, hold: Hold) -> str:
    """Return the title of a hold point, with its kiln where there are several."""
    where = found.answers.where(hold.at)
    return f"{hold.point.title}, {where}" if where else hold.point.title


def _released(found: Assessment, hold: Hold) -> str:
    """Say by whom a hold point is released and until when at the latest, or that it is not."""
    say, title = words().headline.energise_released, _titled(found, hold)
    if hold.state != "released":
        return say.closed(title=title)
    if hold.until is None:
        return say.kept(title=title, by=hold.signers)
    return say.until(title=title, by=hold.signers, until=show_moment(hold.until))


def summary(found: Assessment) -> list[View]:
    """Return the figures that are asked first: each with its value, or that it is not known."""
    rows = []
    for name, label in found.answers.questions.printed("summary").items():
        question = found.answers.questions.questions.get(name)
        if question is None:
            rows.append({"label": label, "value": fact_words(found, name), "note": ""})
        for at in _asked_or_told(found, question) if question else ():
            answer = found.answers.answer(name, at)
            value = _as_it_counts(found, answer) if answer else words().open["unanswered"]
            rows.append({"label": label, "value": value, "note": found.answers.where(at)})
    return rows


def _asked_or_told(found: Assessment, question: Question) -> list[Address]:
    """Return where a question is asked, and where it was answered and is asked no more: a lock gone hides nothing."""
    told = found.answers.by_question.get(question.id, ())
    asked = found.answers.instances(question)
    return [*asked, *(one.at for one in told if one.at not in asked and one.state == "given" and is_listed(one.at))]


def _as_it_counts(found: Assessment, answer: Answer) -> str:
    """Return an answer in words; of evidence by whom and of when, and that it does not count where it does not."""
    question, said = found.answers.questions.questions[answer.question], in_words(found, answer)
    if answer.state != "given" or not is_evidence(question) or not question.may_open(answer.value):
        return said
    by = ", ".join(part for part in (answer.who, show_moment(answer.measured) if answer.measured else "") if part)
    counts = "" if not why_not(found.answers, question, answer, found.profile) else words().no_longer
    return f"{said} ({by}){counts}" if by else f"{said}{counts}"


def fact_words(found: Assessment, name: str) -> str:
    """Return a fact of the whole loss in words: one value, or the ends of what it may be."""
    possible = found.answers.fact(name, JOB)
    if name == "hours_wet":
        return show_hours(next(iter(possible))) if possible else words().open["unanswered"]
    order = found.answers.questions.facts[name].values
    values = [words().fact.get(value, value) for value in order if possible is None or value in possible]
    return values[0] if len(values) == 1 else words().unsettled(span=span(values[0], values[-1]))


def say(applied: Applied) -> str:
    """Return a notice's sentence, with whom it concerns, and saying so where it is only not excluded."""
    hedge = "" if applied.certain or applied.notice.group not in HEDGED else f"{words().not_excluded} "
    return f"{'; '.join(applied.where)}: {hedge}{applied.notice.say}" if applied.where else hedge + applied.notice.say


def capital(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]


def done_words(done: Answer | None) -> str:
    """Return that a finding is done, on which day and who says so; empty while it is not."""
    if done is None or done.measured is None:
        return ""
    return words().done(day=done.measured.date().isoformat(), who=done.who)


def plain_cautions(found: Assessment) -> list[View]:
    """Return every caution that applies, without sources."""
    return [{"say": say(applied), "cites": []} for applied in found.group("caution")]


def referral_line(found: Assessment) -> str:
    """Return the sentence that stands on every paper: what belongs to an electrician."""
    return referral(found.profile.terms.electrician)


def referral(electrician: str) -> str:
    """Return the sentence about the electrician, as a country calls that one."""
    return words().referral_line(work=words().referral_work(electrician=electrician))


def depends_words(found: Assessment, finding: Finding) -> str:
    """Return what an open outcome depends on; empty where it is closed."""
    facts = found.answers.questions.facts
    return ", ".join(facts[name].label or name for name in finding.outcome.depends_on)


def who_words(found: Assessment, name: str) -> str:
    """Return what somebody who acts is called: the electrician as the country calls that one."""
    return found.profile.terms.electrician if name == "electrician" else words().who[name]


def in_words(found: Assessment, answer: Answer) -> str:
    """Return an answer in words, in the units of the job's profile."""
    return found.answers.in_words(answer, imperial=found.profile.imperial)


def band(value: Band, unit: str, *, imperial: bool = False) -> str:
    """Print a band: likeliest, and in brackets its span. `34 kg (22 to 65)`; in other units the likeliest as well.

    A span of more than `TOO_WIDE` times says that something must be known first.
    """
    likeliest = show_quantity(value.mid, unit)
    if value.low == value.high:
        return likeliest
    if value.low <= 0 or value.high / value.low > TOO_WIDE:
        return words().drying.too_wide
    other = f"; {show_quantity(value.mid, unit, imperial=True).split(' (')[0]}" if imperial else ""
    return f"{likeliest} ({words().span(first=show_number(value.low), last=show_number(value.high))}){other}"


def drawn(value: Spread, unit: str) -> str:
    """Print what was reckoned by draws: the median, and in brackets the tenth and the ninetieth percentile."""
    return band(Band(value.p10, value.p50, value.p90), unit)


def share(left: Spread) -> str:
    """Print a share of the water by draws, in per cent: the median, and the tenth and the ninetieth percentile."""
    low, mid, high = (show_number(round(100 * one)) for one in (left.p10, left.p50, left.p90))
    return f"{mid} % ({words().span(first=low, last=high)})"


def percent(part: float) -> str:
    """Print a share in per cent, as people write it."""
    return f"{show_number(100 * part, 2)} %"


def runs(labels: Iterable[str]) -> list[str]:
    """Join numbered neighbours: Element 1, Element 2, Element 3 become Element 1 to 3."""
    return [text for text, _ in counted_runs(labels)]


def counted_runs(labels: Iterable[str]) -> list[tuple[str, int]]:
    """Join numbered neighbours, each run with how many there are in it."""
    found: list[tuple[str, int, int]] = []
    for label in labels:
        stem, number = re.fullmatch(r"(.*?)(\d*)", label).groups()  # type: ignore[union-attr]
        if number and found and found[-1][0] == stem and found[-1][2] + 1 == int(number):
            found[-1] = (stem, found[-1][1], int(number))
        else:
            found.append((stem, int(number or -1), int(number or -1)))
    return [
        (stem, 1) if first < 0 else (stem + span(str(first), str(last)), last - first + 1)
        for stem, first, last in found
    ]


def days_text(days: list[int]) -> str:
    """Name days, those that follow one another as a range: `Days 2, 4 to 6`."""
    if len(days) == 1:
        return words().plan.day(day=days[0])
    return words().plan.days(days=", ".join(runs(map(str, days))))


def span(first: str, last: str) -> str:
    """Return two ends as a range: `4 to 6`, `dry to damp`; what is the same at both ends once."""
    return first if first == last else words().span(first=first, last=last)


def _subtitle(found: Assessment) -> str:
    kilns = found.answers.kilns
    return f"{words().kilns(number=len(kilns))} · {found.profile.title}"


def _changed_since(found: Assessment, kind: str) -> str | None:
    papers = [one for one in found.answers.issued if kind in one.papers]
    if not papers:
        return None
    last = papers[-1]
    return words().changed_since(revision=last.revision, moment=show_moment(last.moment), by=last.by)
