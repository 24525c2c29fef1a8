"""Whether the questions help whoever is asked: which say why and how, and how easily all that is said is read.

The only door to textstat. Its grade counts letters and words (automated readability index), and no syllables: those it
would look up in a dictionary that it fetches from the network. Who has no test libraries is told no grade.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from statistics import fmean

from recover.asked.questions import Questionnaire
from recover.base.errors import Problem

WORST = 10
HIGHEST_GRADE = 8
"""The school grade that texts have at most, on average: read once, with cold hands."""


@dataclass(frozen=True)
class Text:
    """Something that a person reads: what it belongs to (a question, a section, a stop), as what, and its grade."""

    of: str
    part: str
    says: str
    grade: float


@dataclass(frozen=True, kw_only=True)
class Helps:
    """How far the questions help: what lacks why or how, and the grades of all texts, where they can be taken."""

    sections: dict[str, int]
    measured: int
    without_why: list[str]
    without_how: list[str]
    grade: float | None
    worst: list[Text]

    @property
    def problems(self) -> Iterator[Problem]:
        """What must be set right before anybody is asked."""
        for name in self.without_why:
            yield Problem(f"questionnaire [{name}]", "does not say why it is asked", "add `why`, one plain sentence")
        for name in self.without_how:
            yield Problem(f"questionnaire [{name}]", "is measured and does not say how", "add `how`; see scope.toml")
        if self.grade is not None and self.grade > HIGHEST_GRADE:
            what = f"its texts are read at grade {self.grade:.1f} on average"
            yield Problem("questionnaire", what, f"write shorter words and sentences: {HIGHEST_GRADE} or lower")


def helps(questions: Questionnaire) -> Helps:
    """Judge how far questions help whoever is asked."""
    texts = sorted(_graded(questions), key=lambda one: -one.grade) if find_spec("textstat") else []
    asked = questions.question
    return Helps(
        sections={one.id: len(questions.of_section(one.id)) for one in questions.section},
        measured=sum(one.measured for one in asked),
        without_why=[one.id for one in asked if not one.why],
        without_how=[one.id for one in asked if one.measured and not one.how],
        grade=fmean(one.grade for one in texts) if texts else None,
        worst=texts[:WORST],
    )


def _graded(questions: Questionnaire) -> Iterator[Text]:
    from textstat import automated_readability_index

    for of, part, says in _said(questions):
        if says:
            yield Text(of, part, says, automated_readability_index(says))


def _said(questions: Questionnaire) -> Iterator[tuple[str, str, str]]:
    for section in questions.section:
        yield section.id, "intro", section.intro
    for stop in questions.stop:
        yield stop.id, "say", stop.say
    for one in questions.question:
        yield from ((one.id, part, says) for part, says in (("ask", one.ask), ("why", one.why), ("how", one.how)))
