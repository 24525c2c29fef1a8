"""What is known of a job: the journal replayed, and what each question or fact may be, given the answers.

Nothing here asks and nothing decides. An answer that was given stands for itself; what is unanswered, unknown, not
inspected or said not to apply stands for every answer it could be (absence is a choice of its own, never silence). Only
an optional measurement or look that was not taken has no value: what it would have corrected stands by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from itertools import chain
from typing import Any, Literal
from zoneinfo import ZoneInfo

from recover.conditions import Possible, holds
from recover.errors import AnswerError
from recover.journal import Event
from recover.kiln import (
    JOB,
    UNLISTED,
    Address,
    child,
    holds_address,
    is_listed,
    kind_of,
    name_of,
    within,
)
from recover.measures import read_moment, read_quantity, read_whole, show_moment, show_quantity
from recover.questions import Check, Detail, Fact, Question, Questionnaire

State = Literal["given", "unknown", "not_inspected", "not_applicable"]

STATE_WORDS: dict[State, str] = {
    "given": "answered",
    "unknown": "unknown",
    "not_inspected": "not inspected",
    "not_applicable": "not applicable",
}


@dataclass(frozen=True)
class Answer:
    """The latest answer to a question: the value in the question's unit, or a state with its reason."""

    question: str
    at: Address
    state: State
    value: Any = None
    said: str = ""
    reason: str = ""
    instrument: str = ""
    details: Mapping[str, float] = field(default_factory=dict)
    by: str = ""
    moment: datetime | None = None


@dataclass(frozen=True)
class Instrument:
    """A measuring instrument: registered once, named with each reading."""

    id: str
    what: str
    maker: str = ""
    serial: str = ""
    calibrated: str = ""


@dataclass(frozen=True)
class Photograph:
    """A picture of the job and the question it belongs to, if any."""

    id: str
    file: str
    sha256: str
    taken: datetime | None
    question: str
    bound_by: str
    printable: bool


@dataclass(frozen=True)
class Release:
    """A named person's release of a hold point."""

    hold_point: str
    at: Address
    by: str
    capacity: str
    moment: datetime


@dataclass(frozen=True)
class Issued:
    """A paper that was issued: its kind, revision, file, and the journal line it rests on."""

    paper: str
    revision: int
    file: str
    record: str
    by: str
    capacity: str
    moment: datetime


Wetness = Callable[["Answers", str, Address], Possible]
"""Judges how far water reached a component of a kind: what it may be, out of dry, damp, splashed, submerged."""

Bench = Callable[["Answers", str, Address], Possible]
"""Works out what a reading comes to beside its yardstick: a number, or a value of the fact."""

Sums = Mapping[str, Callable[[Sequence[Possible]], Possible]]
"""The sums that facts may name: each from what the answers it is made of may be to what it may come to."""


def key_of(question: str, at: Address) -> str:
    """Return the key under which the journal holds an answer: `gear.reached@kiln/1`; the bare id for the whole job."""
    return question if at == JOB else f"{question}@{at}"


def split_key(key: str) -> tuple[str, Address]:
    """Return question and component of a key."""
    question, _, at = key.partition("@")
    return question, at or JOB


class Answers:
    """Everything that is known, at one point of the journal. Never changed: a later journal is replayed anew."""

    def __init__(
        self,
        questions: Questionnaire,
        limits: Mapping[str, float],
        zone: ZoneInfo,
        events: Iterable[Event] = (),
        wetness: Wetness | None = None,
        bench: Bench | None = None,
        sums: Sums | None = None,
    ) -> None:
        """Replay events in their order; the last answer to a question is the one that counts.

        `wetness` judges how far water reached a component, `bench` what a reading comes to beside its yardstick, `sums`
        do the arithmetic of facts; what is judged by one that is not given stands for every value.
        """
        self._bench = bench
        self.questions, self.limits, self.zone, self._wetness = questions, limits, zone, wetness
        self._sums = sums or {}
        self.given: dict[str, Answer] = {}
        self.readings: dict[str, list[Answer]] = {}
        """Every reading of a question that was not taken back, in the order of the journal."""
        self.notes: dict[str, list[str]] = {}
        self.instruments: dict[str, Instrument] = {}
        self.photographs: list[Photograph] = []
        self.releases: list[Release] = []
        self.issued: list[Issued] = []
        self._facts: dict[tuple[str, Address], Possible] = {}
        self._instances: dict[str, list[Address]] = {}
        self.last_entry: datetime | None = None
        """When the journal's last line was written, by the job's own clock."""
        for event in events:
            self._replay(event)

    # ------------------------------------------------------------------------------------ what there is

    def components(self, kind: str = "", of: Address = JOB) -> list[Address]:
        """Return the addresses of a family (of all, if none is named) within `of`; an unnamed member is `unlisted`."""
        found = self._families.get(kind, []) if kind else self._all
        return [at for at in found if holds_address(of, at)]

    @cached_property
    def _all(self) -> list[Address]:
        """Every address there is; kept, since what is known does not change while this stands."""
        return [JOB, *self._below(JOB)]

    @cached_property
    def _families(self) -> dict[str, list[Address]]:
        found: dict[str, list[Address]] = {}
        for at in self._all:
            found.setdefault(kind_of(at), []).append(at)
        return found

    def _below(self, parent: Address) -> Iterator[Address]:
        for family in self.questions.component:
            if family.of == kind_of(parent):
                for name in self._names(family.count or family.members, parent, bool(family.members), family.skip):
                    yield child(parent, family.kind, name)
                    yield from self._below(child(parent, family.kind, name))

    def _names(self, question: str, parent: Address, by_name: bool, skip: list[str]) -> list[str]:
        possible = self._possible_answer(self.questions.questions[question], parent, asked_only=True)
        if possible is None:
            return [UNLISTED] if by_name else ["1"]
        if by_name:
            order = [choice.id for choice in self.questions.questions[question].choices]
            return [name for name in order if name in set(chain(*possible)) and name not in skip]
        return [str(number) for number in range(1, int(max(possible, default=0)) + 1)]

    def instances(self, question: Question) -> list[Address]:
        """Return the components for which a question is to be asked now."""
        if question.id not in self._instances:
            listed = [at for at in self.components(question.per) if is_listed(at)]
            self._instances[question.id] = [at for at in listed if self.asked(question, at)]
        return list(self._instances[question.id])

    def asked(self, question: Question, at: Address) -> bool:
        """Say whether a question is to be asked of a component: unless its condition certainly fails."""
        return holds(question.ask_if, lambda name: self.look(name, at), self.limits) is not False

    def label(self, at: Address) -> str:
        """Return what a component is called: `Kiln 2, contactor`; where there is one kiln, `contactor`."""
        if at == JOB:
            return "the whole loss"
        parent = at.rsplit("/", 2)[0] if at.count("/") > 1 else JOB
        if parent == JOB or (parent.count("/") == 1 and len(self.components("kiln")) == 1):
            return self.own_label(at)
        return f"{self.label(parent)}, {self.own_label(at)}"

    def label_in_kiln(self, at: Address) -> str:
        """Return what a component is called within its kiln: `Wall, layer 2`; the kiln's own label for itself."""
        words = at.split("/")
        steps = ["/".join(words[:end]) for end in range(4, len(words) + 1, 2)]
        return ", ".join(self.own_label(step) for step in steps) or self.own_label(at)

    def where(self, at: Address) -> str:
        """Return the label of a component, empty where it goes without saying: the whole loss, the only kiln."""
        alone = at == JOB or (kind_of(at) == "kiln" and len(self.components("kiln")) == 1)
        return "" if alone else self.label(at)

    def own_label(self, at: Address) -> str:
        """Return what a component is called within what holds it: `residual-current device`."""
        family = self.questions.families[kind_of(at)]
        if name_of(at) == UNLISTED:
            return f"{family.label.lower()}, not yet listed"
        return self.questions.member_label(family.kind, name_of(at))

    # ------------------------------------------------------------------------------------ what it may be

    def answer(self, question: str, at: Address) -> Answer | None:
        """Return the latest answer to a question about a component."""
        return self.given.get(key_of(question, at))

    def look(self, name: str, at: Address) -> Possible:
        """Return what an answer or a fact may be, seen from a component; of several components, all they may be.

        A question that is not asked has no value.
        """
        if name == "component":
            return None if name_of(at) == UNLISTED else frozenset({name_of(at)})
        if name in self.questions.facts:
            return self._gathered(self.questions.facts[name].per, at, lambda place: self.fact(name, place))
        question = self.questions.questions[name]
        return self._gathered(question.per, at, lambda place: self._possible_answer(question, place, asked_only=True))

    def number(self, name: str, at: Address) -> float | None:
        """Return a number that was answered, in the question's unit, seen from a component; None if it is not known."""
        possible = self.look(name, at)
        return float(next(iter(possible))) if possible and len(possible) == 1 else None

    def word(self, name: str, at: Address) -> str:
        """Return a choice that was answered, seen from a component; empty if it is not known."""
        possible = self.look(name, at)
        return str(next(iter(possible))) if possible and len(possible) == 1 else ""

    def fact(self, name: str, at: Address) -> Possible:
        """Return the values that a fact may have of the component `at` (which lies in the fact's family)."""
        if (name, at) not in self._facts:
            self._facts[name, at] = self._judge(self.questions.facts[name], at)
        return self._facts[name, at]

    def _gathered(self, per: str, at: Address, values: Any) -> Possible:
        """Collect values at the component of family `per` that holds `at`, else at all of that family within `at`."""
        own = within(at, per)
        found = [values(place) for place in ([own] if own else self.components(per, of=at))]
        return None if any(possible is None for possible in found) else frozenset(chain(*found))

    def _possible_answer(self, question: Question, at: Address, *, asked_only: bool) -> Possible:
        if asked_only and not self.asked(question, at):
            return frozenset()
        answer = self.answer(question.id, at)
        if answer and answer.state == "given":
            return frozenset({answer.value})
        return frozenset() if question.optional else None

    def _judge(self, fact: Fact, at: Address) -> Possible:
        if fact.member:
            return frozenset(fact.values if name_of(at) == UNLISTED else {name_of(at)})
        if fact.same_as:
            return self._all_of(fact, self._rests_on(fact.same_as, at))
        if fact.worst_of:
            return self._worst(fact, at)
        if fact.wet:
            return self._all_of(fact, self._wetness(self, fact.wet, at) if self._wetness else None)
        if fact.bench:
            return self._all_of(fact, self._bench(self, fact.bench, at)) if self._bench else None
        if fact.ratio_of:
            return self._ratio(*(self._rests_on(name, at) for name in fact.ratio_of))
        if fact.hours_between:
            return self._hours(*(self._rests_on(name, at) for name in fact.hours_between))
        if fact.sum:
            return self._sum(fact, [self._rests_on(name, at) for name in fact.of])
        return frozenset(self._cases(fact, at))

    def _rests_on(self, name: str, at: Address) -> Possible:
        """Look as a fact does: a recorded answer counts, and a question that is not asked is open, not empty."""
        question = self.questions.questions.get(name)
        if question is None:
            return self.look(name, at)
        if name_of(at) == UNLISTED and question.per == kind_of(at):
            return None
        return self._gathered(question.per, at, lambda place: self._possible_answer(question, place, asked_only=False))

    def _cases(self, fact: Fact, at: Address) -> Iterator[str]:
        for case in fact.cases:
            result = holds(case.when, lambda name: self._rests_on(name, at), self.limits)
            if result is not False:
                yield case.value
            if result:
                return
        yield fact.otherwise

    def _worst(self, fact: Fact, at: Address) -> Possible:
        """Return the worst over a family within `at`, in any combination of what may be; of none the mildest."""
        places = self.components(self.questions.facts[fact.worst_of].per, of=at)
        found = [self.fact(fact.worst_of, place) or frozenset(fact.values) for place in places]
        ranks = [sorted(fact.values.index(value) for value in possible) for possible in found]
        least = max((each[0] for each in ranks), default=0)
        return frozenset(fact.values[rank] for rank in {least, *chain(*ranks)} if rank >= least)

    @staticmethod
    def _all_of(fact: Fact, possible: Possible) -> Possible:
        return frozenset(fact.values) or None if possible is None else possible

    @staticmethod
    def _hours(begin: Possible, end: Possible) -> Possible:
        if not begin or not end:
            return None
        return frozenset((last - first).total_seconds() / 3600 for first in begin for last in end)

    @staticmethod
    def _ratio(part: Possible, whole: Possible) -> Possible:
        if part is None or whole is None:
            return None
        return frozenset(one / other for one in part for other in whole if other)

    def _sum(self, fact: Fact, of: Sequence[Possible]) -> Possible:
        """Return what a sum may come to; a number that is not known may be any."""
        found = self._sums[fact.sum](of) if fact.sum in self._sums else None
        return self._all_of(fact, found) if fact.values else found

    # ------------------------------------------------------------------------------------ what does not fit

    def misfits(self) -> list[tuple[Check, Address]]:
        """Return each check whose answers certainly do not fit together, with the component."""
        return [
            (check, at)
            for check in self.questions.check
            for at in self.components(check.per)
            if holds(check.when, lambda name, at=at: self.look(name, at), self.limits)  # type: ignore[misc]
        ]

    # ------------------------------------------------------------------------------------ in words

    def in_words(self, answer: Answer, *, imperial: bool = False) -> str:
        """Return an answer as a person would read it."""
        question = self.questions.questions[answer.question]
        if answer.state != "given":
            return STATE_WORDS[answer.state] + (f": {answer.reason}" if answer.reason else "")
        if question.kind == "choice":
            return question.label(answer.value)
        if question.kind == "several":
            return "; ".join(choice.label for choice in question.choices if choice.id in answer.value)
        if question.kind == "moment":
            return show_moment(answer.value)
        if question.kind in ("number", "reading"):
            plain = f"{answer.value:.0f}" if question.whole else ""
            figures = 4 if question.kind == "reading" else 3  # a reading keeps what the instrument showed
            return plain or show_quantity(answer.value, question.unit, imperial=imperial, figures=figures)
        return str(answer.value)

    # ------------------------------------------------------------------------------------ replay

    def _replay(self, event: Event) -> None:
        data, moment = event.data, event.moment.astimezone(self.zone)
        if event.kind != "issue":  # what is issued says nothing new of the kiln
            self.last_entry = moment
        if event.kind in ("answer", "reading"):
            self._replay_answer(self._replayed_answer(event))
        elif event.kind == "note":
            self.notes.setdefault(data["question"], []).append(data["text"])
        elif event.kind == "instrument":
            self.instruments[data["id"]] = Instrument(**data)
        elif event.kind == "photograph":
            taken = datetime.fromisoformat(data["taken"]).astimezone(self.zone) if data["taken"] else None
            self.photographs.append(Photograph(**{**data, "taken": taken}))
        elif event.kind == "release":
            self.releases.append(Release(data["hold_point"], data["at"], event.by, data["capacity"], moment))
        elif event.kind == "issue":
            about = {name: data[name] for name in ("paper", "revision", "file", "record", "capacity")}
            self.issued.append(Issued(**about, by=event.by, moment=moment))

    def _replay_answer(self, answer: Answer) -> None:
        key = key_of(answer.question, answer.at)
        self.given[key] = answer
        read = self.readings.setdefault(key, [])
        if answer.state == "given" and answer.instrument:
            read.append(answer)
        elif read:  # a reading that is later said to be unknown is unknown
            read.pop()

    def _replayed_answer(self, event: Event) -> Answer:
        data = dict(event.data)
        name, at = split_key(data.pop("question"))
        question = self.questions.questions.get(name)
        value = data.pop("value", None)
        if question and data["state"] == "given":
            value = decode(question, value, self.zone)
        return Answer(name, at, value=value, by=event.by, moment=event.moment.astimezone(self.zone), **data)


def decode(question: Question, value: Any, zone: ZoneInfo) -> Any:
    """Turn a value as the journal holds it into the value that conditions compare."""
    if question.kind == "several":
        return frozenset(value)
    return datetime.fromisoformat(value).astimezone(zone) if question.kind == "moment" else value


def read_value(question: Question, said: Any, zone: ZoneInfo) -> Any:
    """Read what a person said as the plain value that the journal holds. Raises AnswerError."""
    if question.kind == "several":
        return _several(question, [said] if isinstance(said, str) else list(said))
    text = str(said).strip()
    if not text:
        raise AnswerError("nothing was said; answer, or say unknown, not inspected, or not applicable")
    if question.kind == "choice":
        return _choice(question, text)
    if question.kind == "moment":
        return read_moment(text, zone).isoformat()
    if question.kind in ("number", "reading"):
        return _number(question, text)
    return text


def read_details(question: Question, said: Mapping[str, Any]) -> dict[str, float]:
    """Read the details of a reading, each in its unit. Raises AnswerError naming what is missing or out of bounds."""
    unknown = sorted(set(said) - {detail.id for detail in question.details})
    if unknown:
        raise AnswerError(f"{question.id} has no detail {', '.join(unknown)}; expected {_detail_names(question)}")
    missing = [detail.id for detail in question.details if not str(said.get(detail.id, "")).strip()]
    if missing:
        raise AnswerError(f"{question.id} lacks {', '.join(missing)}; a reading without them proves nothing")
    return {detail.id: read_detail(detail, str(said[detail.id])) for detail in question.details}


def read_detail(detail: Detail, said: str) -> float:
    """Read one detail of a reading in its unit. Raises AnswerError."""
    value = read_quantity(said, detail.unit)
    _bounded(value, detail.at_least, detail.at_most, detail.unit)
    return value


def _detail_names(question: Question) -> str:
    return ", ".join(detail.id for detail in question.details) or "none"


def _choice(question: Question, text: str) -> str:
    if text in {choice.id for choice in question.choices}:
        return text
    raise AnswerError(f"{text!r} is no choice of {question.id}; expected one of {_choice_names(question)}")


def _several(question: Question, names: list[str]) -> list[str]:
    if not names:
        raise AnswerError(f"{question.id} names nothing; expected at least one of {_choice_names(question)}")
    for name in names:
        _choice(question, name)
    alone = [name for name in names if name in question.alone]
    if alone and len(set(names)) > 1:
        raise AnswerError(f"{question.label(alone[0])!r} cannot stand beside another choice; take one or the other")
    return [choice.id for choice in question.choices if choice.id in names]


def _number(question: Question, text: str) -> float:
    if question.whole:
        number: float = read_whole(text)
    else:
        number = read_quantity(text, question.unit, unit_needed=question.kind == "reading")
    _bounded(number, question.at_least, question.at_most, question.unit)
    return number


def _bounded(number: float, at_least: float | None, at_most: float | None, unit: str) -> None:
    low, high = (float("-inf") if at_least is None else at_least), (float("inf") if at_most is None else at_most)
    if not low <= number <= high:
        bounds = f"{show_quantity(low, unit)} to {show_quantity(high, unit)}"
        raise AnswerError(f"{show_quantity(number, unit)} cannot be right here; expected {bounds}")


def _choice_names(question: Question) -> str:
    return ", ".join(choice.id for choice in question.choices)
