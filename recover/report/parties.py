"""Whose kiln it is, where it stands and whom to ring: printed where it was said, and waited for by nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recover.base.addresses import JOB
from recover.report.paper import View, in_words

if TYPE_CHECKING:
    from recover.asked.questions import Heading
    from recover.judged.assessment import Assessment


def parties(found: Assessment) -> list[View]:
    """Return whose kiln it is and where it stands, as far as that was said."""
    return _said(contacts(found, "parties"))


def whom_to_ring(found: Assessment) -> list[View]:
    """Return who lets in, the electrician and the insurer's numbers, as far as they were said."""
    return _said(contacts(found, "contact"))


def contacts(found: Assessment, under: Heading) -> list[View]:
    """Return a line for each answer that stands under a heading; empty, to be written on, where it was not said."""
    asked = found.answers.questions.printed(under)
    return [{"label": label, "value": _in_words(found, name), "note": ""} for name, label in asked.items()]


def _said(lines: list[View]) -> list[View]:
    return [line for line in lines if line["value"]]


def _in_words(found: Assessment, name: str) -> str:
    """Return what was said of the whole loss; empty where nothing was, or where the words say nothing."""
    answer, question = found.answers.answer(name, JOB), found.answers.questions.questions[name]
    told = answer is not None and answer.state == "given" and not question.is_empty(answer.value)
    return in_words(found, answer) if answer and told else ""
