"""The blank form: the same questions on paper, for a place where no laptop goes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import recover
from recover.conditions import ANSWER_TESTS, Condition, alternatives, named_values
from recover.measures import SYMBOLS
from recover.questions import Question, Questionnaire
from recover.report.words import words
from recover.rules.sheets import notices
from recover.rules.table import fingerprint

View = dict[str, Any]


def form(questions: Questionnaire, paper: str, electrician: str) -> View:
    """Return the view of the blank form: every question once, in its section, with its slate number.

    A question of a family of components (devices, lengths of wiring) has a row of its own for each member.
    """
    return {
        "paper": {
            "kind": "form", "title": words()["form"]["title"], "subtitle": words()["form"]["subtitle"], "lang": "en",
            "size": paper, "state": "blank", "revision": None, "issued": None, "changed_since": None,
            "job": words()["form"]["job"], "record": "", "program": f"recover {recover.__version__}",
            "rules": fingerprint()[:12], "made": "",
        },
        "head": words()["form"]["head"],
        "universal": words()["form"]["universal"],
        "instruments": words()["form"]["instruments"],
        "sections": [
            {"title": section.title, "intro": section.intro,
             "questions": [_question(questions, one) for one in questions.of_section(section.id)]}
            for section in questions.section
        ],
        "stops": [stop.say for stop in questions.stop],
        "cautions": [{"say": one.say, "cites": []} for one in notices() if one.group == "caution" and not one.when],
        "referral_line": str(words()["referral_line"]).format(electrician=electrician),
    }  # fmt: skip


def _question(questions: Questionnaire, question: Question) -> View:
    members = list(_members(questions, question))
    return {
        "slate": str(question.slate), "ask": question.ask, "why": question.why, "kind": question.kind,
        "choices": [choice.label for choice in question.choices], "several": question.kind == "several",
        "unit": SYMBOLS.get(question.unit, question.unit), "members": members,
        "details": [{"ask": detail.ask, "unit": SYMBOLS.get(detail.unit, detail.unit)} for detail in question.details],
        "only_if": "" if members else branch(questions, question.ask_if),
        "each": words()["form"]["each"].get(question.per, ""),
    }  # fmt: skip


def _members(questions: Questionnaire, question: Question) -> Iterator[str]:
    """Return the components that a question is asked for, where their names are known beforehand."""
    family = questions.families.get(question.per)
    if family is None or not family.members:
        return
    tested = [named_values(table["component"]) for table in alternatives(question.ask_if) if "component" in table]
    for choice in questions.questions[family.members].choices:
        if choice.id not in family.skip and (not tested or any(choice.id in values for values in tested)):
            yield choice.label


def branch(questions: Questionnaire, condition: Condition) -> str:
    """Return a condition in words, by the slate numbers of the questions it looks at; empty if it always holds."""
    parts = [
        " and ".join(_test(questions, name, test) for name, test in table.items() if name in questions.questions)
        for table in alternatives(condition)
    ]
    return " or ".join(part for part in parts if part)


def _test(questions: Questionnaire, name: str, test: Any) -> str:
    question = questions.questions[name]
    if isinstance(test, dict) and set(test) & (ANSWER_TESTS | {"below", "at_least"}):
        raise ValueError(f"{name}: the form cannot say {test}; this is a fault of the program")
    labels = " / ".join(question.label(value) for value in named_values(test))
    without = "not " if isinstance(test, dict) else ""
    return f"{question.slate} is {without}“{labels}”"
