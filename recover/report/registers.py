"""The registers as papers print them: hazards, supplies and back-feeds, and who signed what and what ended it."""

from __future__ import annotations

from typing import Literal

from recover.asked.answers import CLEARED
from recover.asked.questions import Fact
from recover.asked.told import Answer, key_of
from recover.base.addresses import JOB, Address, child, is_listed
from recover.base.measures import show_moment
from recover.judged.assessment import Assessment
from recover.judged.signatures import Signature
from recover.report.paper import View, capital, in_words
from recover.report.words import words


def hazards(found: Assessment) -> list[View]:
    """Return each hazard that was ever found: who found it first, what was noted, who cleared it by which paper."""
    facts = (fact for fact in found.answers.questions.fact if fact.hazard)
    return [_hazard(found, fact, seen) for fact in facts if (seen := found.answers.sightings(fact))]


def _hazard(found: Assessment, fact: Fact, seen: list[Answer]) -> View:
    answers, at = found.answers, child(JOB, "hazard", fact.hazard)
    state: Literal["open", "cleared"] = "cleared" if answers.fact(fact.id, JOB) == frozenset({"cleared"}) else "open"
    cleared = answers.given.get(key_of(CLEARED, at)) if state == "cleared" else None
    notes = dict.fromkeys(filter(None, (answers.noted(key_of(one.question, one.at)) for one in seen)))
    return {
        "hazard": capital(fact.label), "state": words().registers.hazard[state], "found": by_whom(found, seen[0]),
        "cleared": by_whom(found, cleared) if cleared else "", "paper": cleared.document if cleared else "",
        "note": " / ".join(notes),
    }  # fmt: skip


def feeds(found: Assessment) -> list[View]:
    """Return each supply or back-feed: where it is isolated, and whether every kiln was proven dead with it present."""
    return [
        {"feed": capital(found.answers.own_label(at)),
         **{name: _told(found, f"feed.{name}", at) for name in ("isolated", "point", "dead")}}
        for at in found.answers.components("feed") if is_listed(at)
    ]  # fmt: skip


def signatures(found: Assessment) -> list[View]:
    """Return every signature under a hold point, in the order in which they were given, with what ended it."""
    rows = [(one.release.line, hold, one) for hold in found.holds for one in hold.signatures]
    return [
        {"title": hold.point.title, "where": found.answers.where(hold.at), **signature(one)}
        for _, hold, one in sorted(rows, key=lambda row: row[0])
    ]


def signature(one: Signature) -> View:
    """Return a signature under a hold point: by whom, when, what ended it."""
    return {"by": one.release.signer, "at": show_moment(one.release.moment), "ended": one.ended}


def earlier(found: Assessment) -> list[View]:
    """Return each answer whose place another has taken since, or that came too late to take it, as it was given."""
    rows = []
    for key, told in found.answers.history.items():
        question = found.answers.questions.questions.get(told[0].question)
        for one in told if question else ():
            if question and one is not found.answers.given.get(key):
                rows.append({"line": one.line, "slate": str(question.slate), "where": found.answers.where(one.at),
                             "answer": in_words(found, one), "note": found.answers.noted(key, one),
                             "by": by_whom(found, one, slate=False)})  # fmt: skip
    return sorted(rows, key=lambda row: int(str(row["line"])))


def _told(found: Assessment, question: str, at: Address) -> str:
    """Return an answer in words, with who said so and when; that it is not answered, where it is not."""
    answer = found.answers.given.get(key_of(question, at))
    if answer is None:
        return words().open["unanswered"]
    return f"{in_words(found, answer)} ({by_whom(found, answer)})"


def by_whom(found: Assessment, answer: Answer, *, slate: bool = True) -> str:
    """Return who said something, in which role, and of when it is: not who typed it, nor when."""
    number = found.answers.questions.questions[answer.question].slate
    role = answer.role.replace("_", " ")
    moment = answer.measured or answer.moment
    said = ", ".join(part for part in (answer.who or answer.by, role, show_moment(moment) if moment else "") if part)
    return f"slate {number}: {said}" if slate else said
