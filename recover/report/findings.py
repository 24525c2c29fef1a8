"""Findings as a report prints them: outcome or range, cause, reason, tasks, who acts, sources, evidence."""

from __future__ import annotations

from collections import Counter

from recover.asked.told import Answer, split_key
from recover.base.addresses import JOB, Address, kind_of, within
from recover.base.sources import BASIS_WORDS, Citation
from recover.judged.assessment import Assessment, Finding
from recover.report.paper import Numbered, View, capital, done_words, in_words, runs, who_words
from recover.report.words import words
from recover.rules.table import Card, Contrary, Reason

CERTAIN_SHOWN, PERHAPS_SHOWN = 2, 2
"""Reasons printed beside a finding: of those that certainly decide, the most particular; of those that may apply, the
most severe. Further certain ones stand in the appendix. Further possible ones are counted: an answer settles them."""

EVIDENCE = ("components", "photographs", "readings", "notes")
"""What is gathered where several components have the same finding."""

KEPT = "keep"
"""The outcome that says that a component is undamaged, as far as anybody saw and measured."""


def findings(found: Assessment, numbered: Numbered) -> list[View]:
    """Return, kiln by kiln and table by table, what is to be done with every component that is not simply kept."""
    return [
        {"kiln": found.answers.label(kiln), "tables": _tables(found, kiln, numbered)} for kiln in found.answers.kilns
    ]


def undamaged(found: Assessment, numbered: Numbered) -> list[View]:
    """Return, kiln by kiln, the components that are kept as they are, each with its reason."""
    return [
        {"kiln": found.answers.label(kiln), "rows": _alike([
            {**_finding(found, one, numbered), "table": one.table.title} for one in _of(found, kiln) if _kept(one)
        ])}
        for kiln in found.answers.kilns
    ]  # fmt: skip


def basis_counts(found: Assessment) -> list[View]:
    """Return how many of the cited rules rest on what: published, from memory, common practice, our own limit."""
    cards: dict[str, Card] = {
        f"{one.table.id}/{reason.card.id}": reason.card for one in found.findings for reason in one.outcome.reasons
    }
    counts = Counter(card.basis for card in cards.values())
    return [{"basis": BASIS_WORDS[basis], "count": count} for basis, count in counts.most_common()]


def _of(found: Assessment, kiln: Address) -> list[Finding]:
    return [finding for finding in found.findings if within(finding.at, "kiln") == kiln]


def _kept(finding: Finding) -> bool:
    return finding.words == KEPT


def _tables(found: Assessment, kiln: Address, numbered: Numbered) -> list[View]:
    grouped: dict[str, list[Finding]] = {}
    for finding in _of(found, kiln):
        if not _kept(finding):
            grouped.setdefault(finding.table.title, []).append(finding)
    return [
        {"title": title, "rows": _alike([_finding(found, finding, numbered) for finding in findings])}
        for title, findings in grouped.items()
    ]


def _alike(rows: list[View]) -> list[View]:
    """Join rows that say the same of several components, so that a reader reads it once."""
    joined: dict[str, View] = {}
    for row in rows:
        same = repr({name: value for name, value in row.items() if name not in EVIDENCE})
        twin = joined.setdefault(same, {**row, **{name: [] for name in EVIDENCE}})
        for name in EVIDENCE:
            twin[name] += [value for value in row[name] if value not in twin[name]]
    return [{**row, "components": runs(row["components"])} for row in joined.values()]


def _finding(found: Assessment, finding: Finding, numbered: Numbered) -> View:
    outcome, facts = finding.outcome, found.answers.questions.facts
    certain = sorted(
        (reason for reason in outcome.reasons if reason.certain),
        key=lambda one: (finding.table.severity(one.card), _weight(one)),
        reverse=True,
    )
    deciding = [reason for reason in certain if reason.card.outcome == outcome.high] or certain
    perhaps = [reason for reason in outcome.reasons if not reason.certain]
    if outcome.closed and certain:  # what else may apply changes nothing
        perhaps = []
    shown = deciding[:CERTAIN_SHOWN] + perhaps[:PERHAPS_SHOWN]
    tasks = dict.fromkeys(name for reason in shown if reason.decides for name in reason.card.tasks)
    return {
        "components": [_component(found, finding)],
        "outcome": finding.words, "low": outcome.low, "high": outcome.high, "closed": outcome.closed,
        "depends_on": [facts[name].label or name for name in outcome.depends_on],
        "done": done_words(finding.done),
        "cause": words().cause[_cause(found, finding)],
        "who": [who_words(found, name) for name in finding.who],
        "consent": [words().who[name] for name in finding.consent if name != "insurer" or not _uninsured(found)],
        "tasks": numbered.letters(tasks),
        "reasons": [_reason(reason, numbered) for reason in shown],
        "also": [_reason(reason, numbered) for reason in certain if reason not in shown],
        "more": len(perhaps[PERHAPS_SHOWN:]),
        "contrary": _contrary([row for reason in shown for row in reason.card.contrary], numbered),
        "photographs": _photographs(found, finding), "notes": _notes(found, finding),
        "readings": [_reading(found, answer) for answer in _readings(found, finding)],
    }  # fmt: skip


def _weight(reason: Reason) -> int:
    """Return how much a card asks for: of equally severe ones the more particular is the better reason."""
    return len(reason.card.when)


def _component(found: Assessment, finding: Finding) -> str:
    whole = kind_of(finding.at) == "kiln"
    return finding.table.title if whole else capital(found.answers.label_in_kiln(finding.at))


def _reason(reason: Reason, numbered: Numbered) -> View:
    card = reason.card
    return {"because": card.because, "basis": BASIS_WORDS[card.basis], "certain": reason.certain,
            "cites": numbered.cites(card.sources), "outcome": card.outcome}  # fmt: skip


def _cause(found: Assessment, finding: Finding) -> str:
    """Return the cause class: what the facts of the cards that certainly decide speak of, the first in this order."""
    if _kept(finding):
        return "none"
    if not finding.outcome.closed:
        return "open"
    deciding = [reason.card for reason in finding.outcome.reasons if reason.decides and reason.certain]
    named = {_cause_by(found, name, finding.at) for card in deciding for name in card.when}
    return next((cause for cause in ("wear", "either", "open", "handling", "water") if cause in named), "open")


def _cause_by(found: Assessment, name: str, at: Address) -> str:
    """Return the cause of what a fact speaks of: its own, or what the answers say of it where it hangs on them."""
    fact = found.answers.questions.facts[name]
    said = (found.answers.look(fact.cause_by, at) or ["open", ""]) if fact.cause_by else [fact.cause]
    return next(iter(said)) if len(said) == 1 else "open"


def _evident(found: Assessment, finding: Finding, question: str, at: Address) -> bool:
    """Say whether a question about a component is ground for a finding: its table rests on it, and it lies there."""
    asked = {name for fact in finding.table.inputs for name in found.answers.questions.grounds(fact)}
    return question in asked and at != JOB and within(finding.at, kind_of(at)) == at


def _photographs(found: Assessment, finding: Finding) -> list[str]:
    return [
        photo.id for photo in found.answers.photographs
        if photo.question and _evident(found, finding, *split_key(photo.question))
    ]  # fmt: skip


def _notes(found: Assessment, finding: Finding) -> list[str]:
    """Return what was noted of the component itself; a note on the whole kiln stands in the record."""
    noted = [(split_key(key), [text]) for key in found.answers.notes if (text := found.answers.noted(key))]
    return [
        text for (name, at), texts in noted if at == finding.at and _evident(found, finding, name, at) for text in texts
    ]


def _readings(found: Assessment, finding: Finding) -> list[Answer]:
    return [
        answer for answer in found.answers.given.values()
        if answer.instrument and answer.state == "given" and _evident(found, finding, answer.question, answer.at)
    ]  # fmt: skip


def _reading(found: Assessment, answer: Answer) -> str:
    return f"{in_words(found, answer)} ({answer.instrument})"


def _uninsured(found: Assessment) -> bool:
    return found.answers.look("claim.insured", JOB) == frozenset({"no"})


def _contrary(rows: list[Contrary], numbered: Numbered) -> list[View]:
    """Return milder published rows, those that say the same joined with all their sources."""
    joined: dict[tuple[str, str], dict[int, None]] = {}
    for row in rows:
        cited = joined.setdefault((row.outcome, row.says), {})
        cited.update(dict.fromkeys(numbered.cites([Citation(row.source, row.clause)])))
    return [{"outcome": outcome, "says": says, "cites": list(cited)} for (outcome, says), cited in joined.items()]
