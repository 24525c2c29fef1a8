"""What can be asked and judged: everything that an engine needs to ask questions, and to know what follows from them.

The folder `questionnaire` says what a job is made of and what is asked, a file to a section; `facts.toml` says what
follows. `compiled` reads both into what stands here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Any, Literal

from recover.base.conditions import MEASURED, Condition, references
from recover.base.nothing_said import says_nothing
from recover.job.lines import is_moment

QuestionKind = Literal["choice", "several", "number", "reading", "moment", "text"]
Order = Literal["scale", "kind"]
Cause = Literal["", "water", "either", "wear", "handling"]
"""What a fact says of the cause of damage: this water, this water or older, wear, or what somebody did later."""

Heading = Literal[
    "parties", "contact", "summary", "water", "claim", "identity", "heights", "reading", "order", "call", "certificate",
    "proof",
]  # fmt: skip
"""Under what papers print an answer: whose kiln it is, where, and who lets in; whom else to ring; the report's first
page, the account of the water, the claim, the kiln, the side view; beside the reading that it belongs to; the list of
parts to obtain; who is called, on the sheet by the kiln; the head of the hand-over certificate, and what it names as
proved, or not."""


@dataclass(frozen=True, kw_only=True)
class Section:
    """A part of the interview that can be taken up and left on its own; it may lie behind a hold point.

    `new_sheet`: it begins a sheet of the form, since somebody else fills it in, or at a later visit.
    """

    id: str
    title: str
    intro: str
    behind: str = ""
    new_sheet: bool = False


@dataclass(frozen=True, kw_only=True)
class Family:
    """A family of components: how many there are, or which, is the answer to a question about what holds them.

    `columns` is for how many of those that are counted the form has room.
    """

    kind: str
    label: str
    of: str
    count: str = ""
    members: str = ""
    skip: list[str] = field(default_factory=list)
    columns: int = 4

    @property
    def listed_by(self) -> str:
        """The question that says how many members there are, or which."""
        return self.count or self.members


@dataclass(frozen=True)
class Undoing:
    """What undoes evidence where it is of a later time: answers by question, any one of them; with `logged_water` also
    water that came to the kiln again, by its log."""

    id: str
    by: dict[str, list[str]]
    logged_water: bool = False


OTHER_THAN_BEFORE, HIGHER_THAN_BEFORE = "other than before", "higher than before"
NOT_FIRST, THE_FIRST = "not the first", "the first"
"""Among what undoes evidence: a later answer that is another than the one before it, or a higher figure; that the
answers beside it undo only where something was answered before; the first one that was ever given."""


@dataclass(frozen=True)
class Stop:
    """A condition under which nothing more is asked, and what is said then."""

    id: str
    when: Condition
    say: str


@dataclass(frozen=True)
class Choice:
    """One answer that can be chosen."""

    id: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Detail:
    """A number that belongs to a reading: the voltage it was taken at, the air around it."""

    id: str
    ask: str
    unit: str
    at_least: float
    at_most: float

    def takes(self, value: float) -> bool:
        """Whether a number, as a journal holds it, can be this detail of a reading."""
        return self.at_least <= value <= self.at_most


@dataclass(frozen=True)
class Must:
    """How a reading must be taken to count for anything: over its details and over other answers, and what to say."""

    say: str
    when: Condition


@dataclass(frozen=True)
class _OnPaper:
    """Where papers print an answer or a fact: under which heading, in which place there, and what it is called.

    Under `order`, of which `table` the parts need it.
    """

    under: Heading
    place: int
    label: str
    table: str = ""


_BY_TAPE = frozenset({"mm", "m", "litre"})
_BY_TEST = frozenset({"measure", "prove_dead", "test_device"})
"""The units and the duties by which a question is one that is measured."""


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question; see the head of questionnaire/scope.toml for its fields. Its file names its section."""

    id: str
    slate: int
    ask: str
    kind: QuestionKind
    section: str = ""
    per: str = "job"
    why: str = ""
    how: str = ""
    tested: bool = False
    order: Order | None = None
    call: bool = False
    optional: bool = False
    told_by: str = ""
    register: bool = False
    worse: Literal["", "less", "more"] = ""
    over_range: float | None = None
    bare_from: float = 0.0
    taken: list[Must] = field(default_factory=list)
    instruments: list[str] = field(default_factory=list)
    holds_for: str = ""
    proves: list[str] = field(default_factory=list)
    proves_of: list[str] = field(default_factory=list)
    undone_by: list[str] = field(default_factory=list)
    reserved: list[str] = field(default_factory=list)
    behind: str = ""
    mended: str = ""
    mends: list[str] = field(default_factory=list)
    happened: bool = False
    live: Literal["", "then", "before", "fired"] = ""
    live_if: Condition = field(default_factory=dict)
    year: bool = False
    attested: str = ""
    names: str = ""
    documented: list[str] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)
    alone: list[str] = field(default_factory=list)
    unit: str = ""
    whole: bool = False
    at_least: float | None = None
    at_most: float | None = None
    details: list[Detail] = field(default_factory=list)
    ask_if: Condition = field(default_factory=dict)
    printed: list[_OnPaper] = field(default_factory=list)

    @property
    def duty(self) -> str:
        """What somebody does who answers, where a gate may rest on it: attests it, or reads a meter."""
        return self.attested or ("measure" if self.kind == "reading" and self.holds_for else "")

    @property
    def measured(self) -> bool:
        """Whether an instrument, a tape, a scale or a test answers it, so that it says how that is used."""
        return self.tested or self.kind == "reading" or self.unit in _BY_TAPE or self.attested in _BY_TEST

    def read_with(self, what: str) -> bool:
        """Whether readings of this question are taken with such an instrument (`insulation tester, five ranges`)."""
        return not self.instruments or any(what.lower().startswith(kind) for kind in self.instruments)

    def takes(self, value: Any) -> bool:
        """Whether a value, as a journal holds it, can be an answer to this question: of its kind, and within bounds."""
        if self.kind in ("number", "reading"):
            number = isinstance(value, int | float) and not isinstance(value, bool)
            low = -inf if self.at_least is None else self.at_least
            high = inf if self.at_most is None else self.at_most
            return number and (low <= value <= high or value == self.over_range) and not (self.whole and value % 1)
        if self.kind == "several":
            return isinstance(value, list) and set(value) <= {choice.id for choice in self.choices}
        if self.kind == "moment":
            return isinstance(value, str) and is_moment(value)
        return isinstance(value, str) and (self.kind != "choice" or value in {choice.id for choice in self.choices})

    def is_worse(self, value: Any, than: Any) -> bool:
        """Whether one answer is worse than another, as far as the question says which is: by its scale or figures."""
        if self.kind == "several":
            return bool(set(value) - set(than) - set(self.alone))
        if self.kind == "choice":
            names = [choice.id for choice in self.choices] if self.order == "scale" or self.happened else []
            return {value, than} <= set(names) and names.index(value) > names.index(than)
        worse = self.worse or ("more" if self.happened else "")
        return bool(worse) and bool(value < than if worse == "less" else value > than)

    def label(self, choice: str) -> str:
        """Return the words of a choice."""
        return next((known.label for known in self.choices if known.id == choice), choice)

    def is_empty(self, value: Any) -> bool:
        """Whether an answer in words says nothing."""
        return self.kind == "text" and says_nothing(value)

    def may_open(self, value: Any) -> bool:
        """Whether an answer can open anything: not the worst of a scale, nor a register that names something."""
        if self.kind == "several":
            return set(value) <= set(self.alone)
        return not (self.order == "scale" and value == self.choices[-1].id)


@dataclass(frozen=True, kw_only=True)
class Check:
    """Answers that do not fit together: said while the repairer is still there, and printed until they do.

    Judged at each component of a family; with `paired`, at each pair of one and a component of that family near
    it. It keeps closed what reads one of its `questions`, or with `closes` one of those; none with `closes = []`: where
    a worse answer would make them fit, what rests on them must count the worse by itself already, lest a worse answer
    open anything.
    """

    id: str
    when: Condition
    questions: list[str]
    say: str
    remedy: str
    per: str = "job"
    paired: str = ""
    closes: list[str] | None = None

    @property
    def closing(self) -> list[str]:
        """Those of its questions whose hold points it keeps closed."""
        return self.questions if self.closes is None else self.closes


@dataclass(frozen=True)
class Case:
    """A value that a fact takes where the condition holds."""

    value: str
    when: Condition


@dataclass(frozen=True, kw_only=True)
class Fact:
    """What rules test: a value out of a closed list, judged from answers.

    Exactly one of: `cases` with `otherwise`; `same_as` a question's choice; how it stands with one `hazard` of the
    register, which other answers may have `seen` as well, or a fact that certainly says yes (`seen_by`), or a detail of
    any reading that lies below a number (`seen_below`: what lies above says nothing, and nothing rests on it); the
    component's own name (`member`); the worst that another fact comes to over its family (`worst_of`); how far
    water reached it (`wet`, a kind of wetmap.py, with the questions it rests on as `of`); a number of hours
    (`hours_between` two moments); a number that is the ratio of two answers (`ratio_of`); what a `sum` of
    engineering/sums.py makes `of` answers; what a component comes to beside its plate and its neighbours
    (`reckoned`, by readings.py, with the questions it rests on as `of`).

    `cause` says what caused damage that it speaks of; where that hangs on answers, `cause_by` names the fact that says.
    """

    id: str
    per: str = "job"
    label: str = ""
    cause: Cause = ""
    cause_by: str = ""
    order: Order | None = None
    values: list[str] = field(default_factory=list)
    cases: list[Case] = field(default_factory=list)
    otherwise: str = ""
    same_as: str = ""
    member: bool = False
    worst_of: str = ""
    wet: str = ""
    hours_between: list[str] = field(default_factory=list)
    ratio_of: list[str] = field(default_factory=list)
    reckoned: str = ""
    sum: str = ""
    of: list[str] = field(default_factory=list)
    hazard: str = ""
    seen: dict[str, list[str]] = field(default_factory=dict)
    seen_by: str = ""
    seen_below: dict[str, float] = field(default_factory=dict)
    printed: list[_OnPaper] = field(default_factory=list)

    @property
    def rests_on(self) -> set[str]:
        """The questions and facts that this fact is judged from."""
        if self.hazard:
            return {"safe.hazards", "hazard.cleared", *self.seen, self.seen_by} - {""}
        named = {self.same_as, self.worst_of, *self.hours_between, *self.ratio_of, *self.of} - {""}
        return named.union(*(references(case.when) for case in self.cases))


@dataclass(frozen=True, kw_only=True)
class Questionnaire:
    """All sections, families, questions, checks and facts, each in its order."""

    section: list[Section]
    component: list[Family]
    undoing: list[Undoing]
    stop: list[Stop]
    question: list[Question]
    check: list[Check]
    fact: list[Fact]
    retired_slates: list[int] = field(default_factory=list)

    @cached_property
    def next_slate(self) -> int:
        """The number for the next question: above all that papers may ever have printed."""
        return 1 + max([*self.retired_slates, *(question.slate for question in self.question)])

    @cached_property
    def questions(self) -> Mapping[str, Question]:
        """Questions by id."""
        return {question.id: question for question in self.question}

    @cached_property
    def facts(self) -> Mapping[str, Fact]:
        """Facts by id."""
        return {fact.id: fact for fact in self.fact}

    @cached_property
    def families(self) -> Mapping[str, Family]:
        """Families of components by kind."""
        return {family.kind: family for family in self.component}

    @property
    def cards(self) -> list[Question | Fact]:
        """Questions and facts: what papers may print."""
        return [*self.question, *self.fact]

    def printed(self, under: Heading, table: str = "") -> dict[str, str]:
        """Return what stands under a heading, in its order: questions and facts, each with what it is called there."""
        here = [
            (one.place, card.id, one.label)
            for card in self.cards for one in card.printed if (one.under, one.table) == (under, table)
        ]  # fmt: skip
        return {name: label for _, name, label in sorted(here)}

    def grounds(self, name: str) -> frozenset[str]:
        """Return every question and fact that a name is judged from, through the facts between, and itself.

        Of a reading also what says how it was taken.
        """
        name = name.removeprefix(MEASURED)
        if name not in self._grounds:
            fact = self.facts.get(name)
            below = fact.rests_on | self._listing(fact.worst_of) if fact else self._told_of_how(name)
            self._grounds[name] = frozenset({name}).union(*map(self.grounds, below))
        return self._grounds[name]

    def _told_of_how(self, name: str) -> set[str]:
        """Return the questions that say how a reading was taken."""
        question = self.questions.get(name)
        named = {other for must in question.taken for other in references(must.when)} if question else set()
        return named & set(self.questions)

    @cached_property
    def _grounds(self) -> dict[str, frozenset[str]]:
        """What was found for each name so far: data that never change are asked again and again."""
        return {}

    @cached_property
    def signs(self) -> Mapping[str, list[str]]:
        """The readings of which a detail may be a sign of a hazard, by the hazard's fact."""
        return {
            fact.id: [one.id for one in self.question if any(detail.id in fact.seen_below for detail in one.details)]
            for fact in self.fact
        }

    def listing(self, kind: str) -> frozenset[str]:
        """Return the questions that say which members of a family there are, and which of the families that hold it."""
        found = set()
        while kind in self.families:
            family = self.families[kind]
            found.add(family.listed_by)
            kind = family.of
        return frozenset(found)

    def undoes(self, question: Question) -> list[tuple[str, list[str]]]:
        """Return what undoes evidence where it is of a later time: questions, each with such answers to it."""
        return [about for undoing in self.undoing if undoing.id in question.undone_by for about in undoing.by.items()]

    def undone_by_water(self, question: Question) -> bool:
        """Whether water that is logged undoes evidence of before."""
        return any(undoing.logged_water for undoing in self.undoing if undoing.id in question.undone_by)

    @cached_property
    def listed(self) -> Mapping[str, list[Family]]:
        """The families that a question lists, or counts, the members of."""
        found: dict[str, list[Family]] = {}
        for family in self.component:
            found.setdefault(family.listed_by, []).append(family)
        return found

    @cached_property
    def tells_of(self) -> dict[str, list[str]]:
        """The questions of how readings are taken, each with the readings that it speaks of."""
        found: dict[str, list[str]] = {}
        for question in self.question:
            if question.told_by:
                found.setdefault(question.told_by, []).append(question.id)
        return found

    def _listing(self, fact: str) -> set[str]:
        """Return the question that lists the family whose worst is looked for: whom nobody listed may be the worst."""
        if not fact:
            return set()
        return {self.families[self.facts[fact].per].listed_by}

    def of_section(self, section: str) -> list[Question]:
        """Return the questions of a section in the order in which they are asked."""
        return [question for question in self.question if question.section == section]

    def member_label(self, kind: str, member: str) -> str:
        """Return what a member of a family is called: the words of the choice that named it."""
        family = self.families[kind]
        return self.questions[family.members].label(member) if family.members else f"{family.label} {member}"
