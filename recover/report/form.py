"""The blank form: the same questions on paper, for a place where no laptop goes.

A question that is asked of several components has a row for each whose name is known beforehand (devices, parts of the
lining), and a grid with numbered columns for those that are only counted (elements; layers, for each part).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any

import recover
from recover.asked.questions import Family, Question, Questionnaire, Section
from recover.base.addresses import JOB
from recover.base.conditions import ANSWER_TESTS, NUMBER_TESTS, OF_TABLE, Condition, alternatives, named_values
from recover.base.counted import any_of
from recover.base.fingerprint import fingerprint
from recover.base.measures import SYMBOLS, show_quantity
from recover.report.paper import View, referral
from recover.report.words import words
from recover.rules.gates import hold_points, notices


def form(questions: Questionnaire, paper: str, electrician: str) -> View:
    """Return the view of the blank form: every question once, in its section, with its slate number."""
    said = words().form
    return {
        "paper": {
            "kind": "form", "title": said.title, "subtitle": said.subtitle, "lang": "en",
            "size": paper, "state": "blank", "revision": None, "issued": None, "changed_since": None,
            "job": said.job, "record": "", "program": f"recover {recover.__version__}",
            "rules": fingerprint()[:12], "made": "",
        },
        "head": said.head,
        "universal": said.universal,
        "enter": said.enter,
        "instruments": said.instruments,
        "sheet": said.sheet,
        "marks": said.marks,
        "by": said.by, "as": said.role, "shown": said.shown, "how": said.how,
        "sections": [_section(questions, section) for section in questions.section],
        "stops": [stop.say for stop in questions.stop],
        "cautions": [{"say": one.say, "cites": []} for one in notices() if one.group == "caution" and not one.when],
        "referral_line": referral(electrician),
    }  # fmt: skip


def _section(questions: Questionnaire, section: Section) -> View:
    """Return a section with the hold point that it lies behind: on paper nobody else says so."""
    said = words().form
    title = next((point.title for point in hold_points() if point.id == section.behind), "")
    return {
        "title": section.title, "intro": section.intro,
        "after": said.after(title=title) if title else "",
        "new_sheet": section.new_sheet,
        "questions": [_question(questions, one) for one in questions.of_section(section.id)],
    }  # fmt: skip


def _question(questions: Questionnaire, question: Question) -> View:
    rows = list(_rows(questions, question))
    conditions = list(dict.fromkeys(row["only_if"] for row in rows))
    for row in rows:
        row["only_if"] = row["only_if"] if len(conditions) > 1 else ""
    across = _across(questions, question)
    return {
        "slate": str(question.slate), "ask": question.ask, "kind": question.kind,
        "why": question.why, "how": question.how,
        "choices": [{"number": number, "label": choice.label} for number, choice in enumerate(question.choices, 1)],
        "several": question.kind == "several", "unit": SYMBOLS.get(question.unit, question.unit),
        "details": [{"ask": detail.ask, "unit": SYMBOLS.get(detail.unit, detail.unit)} for detail in question.details],
        "attested": bool(question.attested) and question.kind != "reading", "documented": bool(question.documented),
        "rows": rows, "columns": _numbers(questions, across) if across else [],
        "across": across.label if across else "",
        "only_if": conditions[0] if len(conditions) == 1 else "",
        "each": words().form.once if question.per == JOB else "",
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- rows and columns


def _line_of(questions: Questionnaire, kind: str) -> list[Family]:
    """Return the families from what is one form's own (the kiln, the whole loss) down to `kind`."""
    if kind in (JOB, "kiln"):
        return []
    family = questions.families[kind]
    return [*_line_of(questions, family.of), family]


def _across(questions: Questionnaire, question: Question) -> Family | None:
    """Return the family whose members are numbered columns: the last one, where it is counted and a cell will do."""
    line = _line_of(questions, question.per)
    counted = bool(line) and not line[-1].members
    return line[-1] if counted and question.kind not in ("text", "moment") else None


def _rows(questions: Questionnaire, question: Question) -> Iterator[View]:
    """Return the rows of a question: who each is for (nobody, where it is asked once) and when it is asked."""
    line = _line_of(questions, question.per)
    down = line[:-1] if _across(questions, question) else line
    for members in product(*(_names(questions, family) for family in down)):
        name = members[-1][0] if members and down == line else ""
        asked = _where(question.ask_if, name)
        if asked:
            only_if = "" if {} in asked else _branch(questions, asked)
            yield {"who": ", ".join(label for _, label in members), "only_if": only_if}


def _names(questions: Questionnaire, family: Family) -> list[tuple[str, str]]:
    """Return name and label of each member that the paper has a row for."""
    if not family.members:
        return [(number, f"{family.label} {number}") for number in _numbers(questions, family)]
    choices = questions.questions[family.members].choices
    return [(choice.id, choice.label) for choice in choices if choice.id not in family.skip]


def _numbers(questions: Questionnaire, family: Family) -> list[str]:
    """Return the numbers of a counted family that the paper has room for."""
    most = questions.questions[family.count].at_most or family.columns
    return [str(number) for number in range(1, int(min(family.columns, most)) + 1)]


def _where(condition: Condition, name: str) -> list[dict[str, Any]]:
    """Return what is left of a condition for the component of that name: its alternatives without their component."""
    return [
        {key: test for key, test in table.items() if key != "component"}
        for table in alternatives(condition)
        if not name or "component" not in table or name in named_values(table["component"])
    ]


# ---------------------------------------------------------------------------------------- conditions in words


def _branch(questions: Questionnaire, condition: Condition) -> str:
    """Return a condition in words, by the slate numbers of the questions it looks at; empty if it always holds."""
    parts = [" and ".join(_tests(questions, table)) for table in alternatives(condition)]
    return " or ".join(dict.fromkeys(part for part in parts if part))


def _tests(questions: Questionnaire, table: dict[str, Any]) -> Iterator[str]:
    for name, test in table.items():
        if name.startswith(OF_TABLE):  # which table finds it is the report's matter: the paper speaks of the part
            yield words().form.found(outcomes=any_of(named_values(test)))
        elif name in questions.questions:
            yield _test(questions, name, test)


def _test(questions: Questionnaire, name: str, test: Any) -> str:
    question = questions.questions[name]
    if isinstance(test, dict) and "lacks" not in test:
        return " and ".join(f"{question.slate} is {_compared(questions, question, *one)}" for one in test.items())
    without = "not " if isinstance(test, dict) else ""
    return f"{question.slate} is {without}{_ticks(question, named_values(test))}"


def _ticks(question: Question, values: tuple[str, ...]) -> str:
    """Return the ticks that a test names: one with its words, several by their numbers."""
    number = {choice.id: str(place) for place, choice in enumerate(question.choices, start=1)}
    if len(values) == 1:
        return f"{number[values[0]]} “{question.label(values[0])}”"
    return any_of([number[value] for value in values])


def _compared(questions: Questionnaire, question: Question, key: str, bound: Any) -> str:
    if key in ANSWER_TESTS:
        than = str(questions.questions[bound].slate)
    elif key in NUMBER_TESTS and not isinstance(bound, str):
        than = show_quantity(bound, question.unit)
    else:
        raise ValueError(f"{question.id}: the form cannot say {key} {bound}; this is a fault of the program")
    return words().form.test[key](than=than)
