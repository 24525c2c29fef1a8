"""Whose kiln it is, where it stands and whom to ring: printed where it was said, and waited for by nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from recover.base.addresses import JOB
from recover.report.paper import View, in_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from recover.asked.questions import Heading
    from recover.judged.assessment import Assessment


def said(found: Assessment, *under: Heading) -> list[View]:
    """Return a line for each answer under some headings that was given and says something."""
    lines = ({"label": label, "value": _in_words(found, name)} for name, label in _asked(found, under))
    return [line for line in lines if line["value"]]


def unsaid(found: Assessment, *under: Heading) -> list[str]:
    """Return what is asked under some headings and was not said: a paper has room to write it down."""
    return [label for name, label in _asked(found, under) if not _in_words(found, name)]


def _asked(found: Assessment, under: Iterable[Heading]) -> Iterator[tuple[str, str]]:
    for heading in under:
        yield from found.answers.questions.printed(heading).items()


def _in_words(found: Assessment, name: str) -> str:
    """Return what was said of the whole loss; empty where nothing was, or where the words say nothing."""
    answer, question = found.answers.answer(name, JOB), found.answers.questions.questions[name]
    told = answer is not None and answer.state == "given" and not question.is_empty(answer.value)
    return in_words(found, answer) if answer and told else ""
