"""The questionnaire read, checked and compiled: from the folder `questionnaire` and `facts.toml` to one document.

Plain data (`compiled`) that another program, in another language, can run; `from_compiled` reads that document back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from functools import cache
from typing import Any, get_args

from recover.asked.questions import (
    HIGHER_THAN_BEFORE,
    NOT_FIRST,
    OTHER_THAN_BEFORE,
    THE_FIRST,
    Cause,
    Check,
    Fact,
    Family,
    Heading,
    Question,
    Questionnaire,
    Section,
    Stop,
    Undoing,
)
from recover.base.conditions import (
    MEASURED,
    OF_TABLE,
    Condition,
    alternatives,
    malformed,
    named_values,
    references,
    timed_wrongly,
)
from recover.base.datafile import check_format, load, shaped
from recover.base.errors import DataError, Problem

FORMAT = "recover-questionnaire"
VERSION = 1


@dataclass(frozen=True, kw_only=True)
class _Components:
    retired_slates: list[int]
    component: list[Family]
    undoing: list[Undoing]
    stop: list[Stop]
    section: list[Section]


@dataclass(frozen=True)
class _Questions:
    question: list[Question]


@dataclass(frozen=True)
class _Facts:
    check: list[Check]
    fact: list[Fact]


@cache
def questionnaire() -> Questionnaire:
    """Read, check and return the program's own questions. Raises DataError with every problem."""
    made = load("asked/questionnaire/components.toml", "recover-components", _Components)
    judged = load("asked/facts.toml", "recover-facts", _Facts)
    asked = [question for section in made.section for question in _section(section.id)]
    whole = Questionnaire(**vars(made), question=asked, **vars(judged))
    problems = list(_problems_of(whole))
    if problems:
        raise DataError(problems)
    return whole


def _section(name: str) -> list[Question]:
    found = load(f"asked/questionnaire/{name}.toml", "recover-questions", _Questions).question
    return [replace(question, section=name) for question in found]


def compiled(whole: Questionnaire) -> dict[str, Any]:
    """Return the questionnaire as plain data with its format and version."""
    return {"format": FORMAT, "version": VERSION, **asdict(whole)}


def from_compiled(document: dict[str, Any]) -> Questionnaire:
    """Read a compiled questionnaire. Raises DataError on another format, a newer version, an unknown key."""
    check_format(document, "questionnaire", FORMAT, VERSION)
    content = {key: value for key, value in document.items() if key not in ("format", "version")}
    return shaped(content, "questionnaire", Questionnaire)


def _problems_of(whole: Questionnaire) -> Iterator[Problem]:
    """Find what is wrong with the questions and facts themselves: names, order, choices, slates."""
    yield from _repeated([question.id for question in whole.question], "questionnaire", "id")
    slates = [*whole.retired_slates, *(question.slate for question in whole.question)]
    yield from _repeated([str(slate) for slate in slates], "questionnaire", "slate")
    yield from _repeated([fact.id for fact in whole.fact], "facts.toml", "id")
    known = {"component"}
    for question in whole.question:
        yield from _question_problems(whole, question, known)
        known.add(question.id)
    for fact in whole.fact:
        yield from _fact_problems(whole, fact)
    yield from _repeated([check.id for check in whole.check], "facts.toml", "check")
    for check in whole.check:
        yield from _check_problems(whole, check, f"facts.toml [{check.id}]")
    for undoing in whole.undoing:
        yield from _undoing_problems(whole, undoing)
    for stop in whole.stop:
        yield from _condition_problems(whole, stop.when, f"questionnaire [{stop.id}]")
    yield from _paper_problems(whole)


def _paper_problems(whole: Questionnaire) -> Iterator[Problem]:
    """Find two answers in one place of a paper; what is needed to order parts of no table, and a table elsewhere."""
    taken: dict[tuple[Heading, str, int], str] = {}
    for card in whole.cards:
        for one in card.printed:
            twin = taken.setdefault((one.under, one.table, one.place), card.id)
            if twin != card.id:
                what = f"stands where {twin!r} stands: {one.under} {one.table} {one.place}"
                yield Problem(f"questionnaire [{card.id}]", what, "give it a place of its own")
            if (one.under == "order") != bool(one.table):
                what = f"stands under {one.under!r} with the table {one.table!r}"
                yield Problem(f"questionnaire [{card.id}]", what, "name a table for `order`, and for nothing else")


def _undoing_problems(whole: Questionnaire, undoing: Undoing) -> Iterator[Problem]:
    for name, values in undoing.by.items():
        choices = {choice.id for choice in whole.questions[name].choices} if name in whole.questions else set()
        for value in sorted(set(values) - choices - {OTHER_THAN_BEFORE, HIGHER_THAN_BEFORE, NOT_FIRST, THE_FIRST}):
            what = f"{value!r} of {name!r} is no such answer"
            yield Problem(f"questionnaire [{undoing.id}]", what, "name a choice of it")


def _question_problems(whole: Questionnaire, question: Question, known: set[str]) -> Iterator[Problem]:
    where = f"questionnaire [{question.id}]"
    if question.section not in {section.id for section in whole.section}:
        yield Problem(where, f"the section {question.section!r} does not exist", "name one that does")
    if question.per != "job" and question.per not in whole.families:
        yield Problem(where, f"the family {question.per!r} does not exist", "name one that does")
    if question.kind in ("choice", "several") and not question.choices:
        yield Problem(where, "has no choices", "a choice needs at least two")
    if question.kind == "choice" and question.order is None:
        yield Problem(where, "does not say whether its choices are a scale", 'add order = "scale" or "kind"')
    if question.told_by and question.told_by not in known:
        yield Problem(where, f"is told by {question.told_by!r}, which is no earlier question", "name one")
    for name in sorted(set(question.undone_by) - {one.id for one in whole.undoing}):
        yield Problem(where, f"is undone by {name!r}, which does not exist", "name one that does")
    devices = {choice.id for choice in whole.questions[whole.families["device"].members].choices}
    for name in sorted(set(question.proves_of) - devices):
        yield Problem(where, f"proves {name!r}, which is no device", "name one of the list of devices")
    for name in sorted(set(question.mends) - known):
        yield Problem(where, f"mends what {name!r} showed, which is no earlier question", "name one")
    if question.mended and question.mended != question.choices[-1].id:
        yield Problem(where, f"is mended after {question.mended!r}, which is not its worst answer", "name that one")
    if question.kind == "reading" and not question.unit:
        yield Problem(where, "is a reading without a unit", "add one")
    asked = {name.removeprefix(MEASURED) for name in references(question.ask_if) if not name.startswith(OF_TABLE)}
    for name in asked - known:
        yield Problem(where, f"asks if {name!r}, which is no earlier question", "name an earlier one")
    yield from _condition_problems(whole, question.ask_if, where)


def _fact_problems(whole: Questionnaire, fact: Fact) -> Iterator[Problem]:
    where = f"facts.toml [{fact.id}]"
    results = {case.value for case in fact.cases} | ({fact.otherwise} if fact.otherwise else set())
    for value in sorted(results - set(fact.values)):
        yield Problem(where, f"the value {value!r} is not among its values", f"expected one of {fact.values}")
    if fact.same_as and [choice.id for choice in whole.questions[fact.same_as].choices] != fact.values:
        yield Problem(where, f"its values differ from the choices of {fact.same_as}", "make them the same")
    if fact.worst_of and [one.values for one in whole.fact if one.id == fact.worst_of] != [fact.values]:
        yield Problem(where, f"its values differ from those of {fact.worst_of}", "make them the same")
    for name in sorted(set(fact.of if fact.reckoned else ()) - set(whole.questions)):
        yield Problem(where, f"rests on {name!r}, which is no question", "name one that exists")
    if fact.cause_by and not set(whole.facts[fact.cause_by].values) <= set(get_args(Cause)):
        yield Problem(where, f"{fact.cause_by!r} has values that are no causes", f"expected some of {get_args(Cause)}")
    if fact.wet and fact.id != f"{fact.wet}_reached":
        yield Problem(where, f"says how wet a {fact.wet} is", f"call it {fact.wet}_reached, or name its own kind")
    if fact.cases and not fact.otherwise:
        yield Problem(where, "has cases and no otherwise", "add one, so that there is no gap")
    for case in fact.cases:
        yield from _condition_problems(whole, case.when, where)


def _check_problems(whole: Questionnaire, check: Check, where: str) -> Iterator[Problem]:
    for kind in sorted({check.per, check.paired} - {"", "job"} - set(whole.families)):
        yield Problem(where, f"the family {kind!r} does not exist", "name one that does")
    for name in sorted(set(check.questions) - set(whole.questions)):
        yield Problem(where, f"speaks of {name!r}, which is no question", "name one that exists")
    yield from _condition_problems(whole, check.when, where)


def condition_problems(whole: Questionnaire, condition: Condition, where: str) -> list[Problem]:
    """Find names and values in a condition that no question or fact knows."""
    return list(_condition_problems(whole, condition, where))


def _condition_problems(whole: Questionnaire, condition: Condition, where: str) -> Iterator[Problem]:
    for fault in malformed(condition):
        yield Problem(where, fault, "see conditions.py for the tests there are")
    named = {one for one in references(condition) if not one.startswith(OF_TABLE)}
    moments = {MEASURED + name for name in whole.questions}
    for name in sorted(named - {"component"} - set(whole.questions) - set(whole.facts) - moments):
        yield Problem(where, f"there is no question or fact {name!r}", "name one that exists")
    for name in timed_wrongly(condition):
        yield Problem(where, f"{name!r} is compared with no answer", "use above_answer or at_most_answer")
    for table in alternatives(condition):
        for name, test in table.items():
            known = _values(whole, name)
            for value in named_values(test):
                if known and value not in known:
                    yield Problem(where, f"{value!r} is no value of {name!r}", f"expected one of {sorted(known)}")


def _values(whole: Questionnaire, name: str) -> set[str]:
    if name == "component":
        return {choice.id for family in whole.component if family.members
                for choice in whole.questions[family.members].choices}  # fmt: skip
    if name in whole.questions:
        return {choice.id for choice in whole.questions[name].choices}
    return set(whole.facts[name].values) if name in whole.facts else set()


def _repeated(names: list[str], file: str, what: str) -> Iterator[Problem]:
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Problem(file, f"the {what} {name!r} stands more than once", "give each its own")
