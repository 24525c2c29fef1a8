"""A prompter that answers from a prepared file, over the same engine and the same checks as a person."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Any, get_args

from recover.asked.questions import Questionnaire
from recover.asked.told import AnswerState, Instrument, key_of, split_key
from recover.base.datafile import read_own, shaped
from recover.base.errors import AnswerError, DataError, Problem
from recover.base.measures import read_moment
from recover.interview.engine import Item
from recover.interview.prompter import Asked, Given, NoValue, Pass, Reply, Speaker

STATES = get_args(AnswerState)


@dataclass(frozen=True)
class Prepared:
    """One prepared answer; the value as a person would write it. A truth value stays one: it is no number.

    `who`, `role` and `measured` where they differ from those of the file; `document` names the paper that shows it.
    """

    question: str
    value: str | list[str] | bool | int | float = ""
    state: str = "given"
    reason: str = ""
    instrument: str = ""
    details: dict[str, Any] = field(default_factory=dict)
    note: str = ""
    who: str = ""
    role: str = ""
    measured: str = ""
    document: str = ""


@dataclass(frozen=True)
class _Head:
    """What a file of prepared answers says once: who answers, in which role, when it was seen and measured; settings.

    Without `measured` nobody knows when: such an answer is kept, and opens nothing.
    """

    by: str
    role: str = ""
    measured: str = ""
    profile: str = ""
    paper: str = ""
    zone: str = ""
    instrument: list[Instrument] = field(default_factory=list)


@dataclass(frozen=True)
class _Written(_Head):
    """The file as it is written: each answer is read by itself, so that one slip hides no other."""

    answer: list[dict[str, Any]] = field(default_factory=list)


@dataclass(frozen=True)
class AnswersFile(_Head):
    """A file of prepared answers, as far as they could be read, and what could not."""

    answer: list[Prepared] = field(default_factory=list)
    faults: list[Problem] = field(default_factory=list)


def load_answers(path: Path) -> AnswersFile:
    """Read a file of prepared answers. Raises DataError where it is none; a slip in an answer is one of its faults."""
    written = read_own(path, "recover-answers", _Written)
    answers: list[Prepared] = []
    faults: list[Problem] = []
    for entry in written.answer:
        try:
            answers.append(shaped(entry, f"{path.name} [{entry.get('question', 'no question')}]", Prepared))
        except DataError as error:
            faults += error.problems
    about = {name: getattr(written, name) for name in ("by", "role", "measured", "profile", "paper", "zone")}
    return AnswersFile(**about, instrument=written.instrument, answer=answers, faults=faults)


class Script:
    """Answers each question that the file knows and passes over the others; `problems` holds what did not fit."""

    def __init__(self, file: AnswersFile, name: str, questions: Questionnaire) -> None:
        """Take the answers; refuse questions that do not exist and states that are none."""
        self.name, self._measured = name, file.measured
        self.told: list[str] = []
        self.problems: list[Problem] = list(file.faults)
        self._left: dict[str, Prepared] = {}
        for prepared in file.answer:
            self._sort_in(prepared, questions)

    def _sort_in(self, prepared: Prepared, questions: Questionnaire) -> None:
        name = split_key(prepared.question)[0]
        if name not in questions.questions:
            like = get_close_matches(name, questions.questions, n=1)
            meant = f"is it {like[0]}? " if like else ""
            self._fault(prepared.question, "there is no such question", f"{meant}recover check --questions lists them")
        elif prepared.state not in STATES:
            self._fault(prepared.question, f"the state {prepared.state!r} is not known", f"expected one of {STATES}")
        elif prepared.question in self._left:
            self._fault(prepared.question, "is answered twice", "keep one of the two")
        else:
            self._left[prepared.question] = prepared

    def finish(self) -> None:
        """Count every answer that was never asked for as a problem."""
        for key in self._left:
            self._fault(key, "was not asked", "its component does not exist, or its condition does not hold")
        self._left = {}

    def wants(self, item: Item) -> bool:
        """Say whether the file has an answer to an item that was not used yet."""
        return key_of(item.question.id, item.at) in self._left

    def withdraws(self, item: Item) -> bool:
        """Say whether the file says, with a reason, that an item was never there."""
        prepared = self._left.get(key_of(item.question.id, item.at))
        return prepared is not None and prepared.state == "not_applicable" and bool(prepared.reason)

    def ask(self, asked: Asked) -> Reply:
        """Reply from the file, or pass: also an answer of which it cannot be read when it was seen."""
        prepared = self._left.pop(key_of(asked.item.question.id, asked.item.at), None)
        if prepared is None:
            return Pass()
        try:
            speaker = Speaker(prepared.who, prepared.role, self._moment(asked, prepared))
        except AnswerError as error:
            self.refuse(asked, str(error))
            return Pass()
        if prepared.state != "given":
            return NoValue(prepared.state, prepared.reason, prepared.note, speaker)
        value = prepared.value if isinstance(prepared.value, str | list) else str(prepared.value)
        details = {name: str(said) for name, said in prepared.details.items()}
        return Given(value, prepared.instrument, details, prepared.note, speaker, prepared.document)

    def _moment(self, asked: Asked, prepared: Prepared) -> datetime | None:
        """Read when an answer is from: its own time, or that of the file. Raises AnswerError."""
        said = prepared.measured or self._measured
        return read_moment(said, asked.zone) if said else None

    def refuse(self, asked: Asked, message: str) -> None:
        """Keep the refusal as a problem; the question is then passed."""
        self._fault(key_of(asked.item.question.id, asked.item.at), message, "correct it in the file")

    def heard(self, words: str) -> None:
        """Say nothing: nobody looks on."""

    def tell(self, message: str) -> None:
        """Keep what was said, for whoever ran the script."""
        self.told.append(message)

    def _fault(self, key: str, what: str, remedy: str) -> None:
        self.problems.append(Problem(f"{self.name} [{key}]", what, remedy))
