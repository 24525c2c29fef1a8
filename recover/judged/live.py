"""What can only be read on a kiln that is on, or was: a lock and a proof of death of before say nothing since."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from recover.asked.answers import Answers
from recover.asked.questions import Question
from recover.asked.told import Answer, known_order, may_be_after, seen_at, seen_since, split_key
from recover.base.addresses import holds_address, within
from recover.base.conditions import holds

SWITCHED_ON, HEATED = "switched_on", "dried.heated"
"""What undoes evidence of a kiln that is off; and the question after each heating under a release, with its time."""


def shown_on(answers: Answers, question: Question, evidence: Answer) -> Iterator[Answer]:
    """Yield each reading by which a kiln was on after a piece of evidence that this undoes, whoever released it.

    What is read while it is on says so of its own time. What is read afterwards says that it was on before: since the
    evidence, unless somebody told of an earlier heating, or no firing and its cooling could lie between.
    """
    if SWITCHED_ON not in question.undone_by:
        return
    for one in signs(answers):
        kiln = within(evidence.at, "kiln")  # what is said of a supply is said of every kiln
        of_it = kiln is None or holds_address(kiln, one.at)
        if of_it and may_be_after(one, evidence) and not _was_before(answers, one, evidence):
            yield one


def signs(answers: Answers) -> tuple[Answer, ...]:
    """Return each reading that was ever written down and says that a kiln is on, or was."""
    return answers.once(signs, lambda: tuple(_signs(answers)))


def heatings(answers: Answers) -> Iterator[Answer]:
    """Yield each answer that ever said that a kiln was heated under a release."""
    told = (one for key, all_of in answers.history.items() if split_key(key)[0] == HEATED for one in all_of)
    return (one for one in told if one.value == "yes")


def _signs(answers: Answers) -> Iterator[Answer]:
    for key, told in answers.history.items():
        question = answers.questions.questions.get(split_key(key)[0])
        if question and question.live:
            yield from (one for one in told if one.state == "given" and _is_live(answers, question, one))


def _is_live(answers: Answers, question: Question, reading: Answer) -> bool:
    """Whether a reading is one of a kiln that is or was on, by what was noted with it."""
    details = {name: frozenset({value}) for name, value in reading.details.items()}
    return holds(question.live_if, lambda name: details.get(name, frozenset()), answers.limits) is True


def _was_before(answers: Answers, sign: Answer, evidence: Answer) -> bool:
    """Whether a reading of afterwards is of a heating of before the evidence: one was told that is not long ago, or no
    other could be. What was heated days before is not hot for it, and is fired again."""
    live = answers.questions.questions[sign.question].live
    if live == "then":
        return False
    if live == "fired" and seen_at(sign) - seen_since(evidence) <= timedelta(hours=answers.limits["fired_hours"]):
        return True
    heated = [*heatings(answers)]
    heated += [one for one in signs(answers) if answers.questions.questions[one.question].live == "then"]
    kiln, since = within(sign.at, "kiln"), seen_at(sign) - timedelta(hours=answers.limits["explained_hours"])
    of_it = [one for one in heated if within(one.at, "kiln") == kiln and seen_at(one) >= since]
    return any(known_order(one) < known_order(evidence) for one in of_it)
