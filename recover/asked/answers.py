"""What is known of a job: the journal replayed, and what each question or fact may be, given the answers.

Nothing here asks and nothing decides. An answer that was given stands for itself; what is unanswered, unknown, not
inspected or said not to apply stands for every answer it could be (absence is a choice of its own, never silence). A
reading that was not taken as it must be, or a look from before the water, counts against and never for: it stands for
itself and everything worse. Only an optional measurement or look that was not taken has no value: what it would have
corrected stands by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from functools import cached_property
from itertools import chain
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from recover.asked.questions import Check, Fact, Family, Must, Question, Questionnaire
from recover.asked.replay import Replay
from recover.asked.told import (
    STATE_WORDS,
    Answer,
    Photograph,
    is_of_a_time_to_come,
    key_of,
    known_at,
    known_order,
    seen_at,
    seen_since,
    split_key,
    to_the_minute,
)
from recover.base.addresses import (
    JOB,
    UNLISTED,
    Address,
    child,
    holder_of,
    holds_address,
    is_listed,
    kind_of,
    name_of,
    within,
)
from recover.base.conditions import MEASURED, OF_TABLE, Condition, Possible, alternatives, certain, holds
from recover.base.measures import CLOCKS_APART, is_ahead, show_moment, show_quantity, show_span
from recover.job.journal import Event
from recover.job.kept import Kept, known

RENEWED = frozenset({"yes", "fitted"})
"""The answers by which a part was renewed, or mended as its finding asks."""

WATER_IN, WATER_OUT = "event.water_in", "event.water_out"
"""When water reached the kiln, and when it was out again: of several that were said, the latest."""

HAZARDS, CLEARED = "safe.hazards", "hazard.cleared"
"""The register of hazards, and whether one of them was cleared."""

_Key = TypeVar("_Key")
_Value = TypeVar("_Value")

Wetness = Callable[["Answers", str, Address], Possible]
"""Judges how far water reached a component of a kind: what it may be, out of dry, damp, splashed, submerged."""

Bench = Callable[["Answers", str, Address], Possible]
"""Works out what a reading comes to beside its yardstick: a number, or a value of the fact."""

Outcomes = Callable[["Answers", str, Address], Possible]
"""Tells what a rule table makes of a component, by a reference as `outcome:wiring`: the outcomes that are possible."""

IsThere = Callable[[Kept], bool]
"""Says whether a file of the job is there as it was taken in."""

Sums = Mapping[str, Callable[[Sequence[Possible]], Possible]]
"""The sums that facts may name: each from what the answers it is made of may be to what it may come to."""


class Answers(Replay):
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
        now: datetime | None = None,
        outcomes: Outcomes | None = None,
        is_there: IsThere | None = None,
    ) -> None:
        """Replay events in their order; the last answer to a question is the one that counts.

        `wetness` judges how far water reached a component, `bench` what a reading comes to beside its yardstick, `sums`
        do the arithmetic of facts, `outcomes` tell what a rule table makes of a component; what is judged by one that
        is not given stands for every value. `is_there` proves the files of pictures as they are now; without it a
        picture is as the journal says. `now` is the moment at which all this is asked: what is said to be later is
        in the future. Without it, that of the last line.
        """
        super().__init__(questions, zone, events)
        self.limits, self._wetness, self._bench, self._outcomes = limits, wetness, bench, outcomes
        self._sums, self._is_there = sums or {}, is_there
        self._facts: dict[tuple[str, Address], tuple[Possible, frozenset[str]]] = {}
        self._looked: dict[tuple[str, Address], tuple[Possible, frozenset[str]]] = {}
        self._asked: dict[tuple[str, Address], tuple[bool, frozenset[str]]] = {}
        self._found: dict[Any, tuple[Any, frozenset[str]]] = {}
        self._read: set[str] = set()
        self._instances: dict[str, list[Address]] = {}
        self._then: dict[int, Answers] = {}
        self.now = (now or self.last_entry or datetime(9000, 1, 1, tzinfo=zone)).astimezone(zone)
        since = [event.moment for event in self._events if event.n > self.unproved]
        self.judged_at = max([self.now, *since])
        """When evidence and signatures must still hold: no earlier than any line was written, whatever the clock says
        now. A clock that is set back gives nothing its life again."""

    # ------------------------------------------------------------------------------------ what there is

    def components(self, kind: str = "", of: Address = JOB) -> list[Address]:
        """Return the addresses of a family (of all, if none is named) within `of`; an unnamed member is `unlisted`."""
        if kind in self.questions.families:
            self._read |= self._listed_by(kind, of)
        found = self._families.get(kind, []) if kind else self._all
        return [at for at in found if holds_address(of, at)]

    @property
    def kilns(self) -> list[Address]:
        """The kilns that somebody counted; how many there are may not be known. For labels and papers."""
        return [kiln for kiln in self._families.get("kiln", []) if is_listed(kiln)]

    @contextmanager
    def reading(self) -> Iterator[set[str]]:
        """Collect the keys of every answer that is looked at meanwhile, whether it was given or not."""
        outer, self._read = self._read, set()
        try:
            yield self._read
        finally:
            outer |= self._read
            self._read = outer

    def _listed_by(self, kind: str, of: Address) -> set[str]:
        """Return the keys of the answers that say which members of a family there are."""
        keys: set[str] = set()
        while kind in self.questions.families:
            family = self.questions.families[kind]
            holders = [JOB] if family.of == JOB else self._families.get(family.of, [])
            near = [at for at in holders if holds_address(of, at) or holds_address(at, of)]
            keys |= {key_of(family.listed_by, at) for at in near}
            kind = family.of
        return keys

    @cached_property
    def _all(self) -> list[Address]:
        """Every address there is; kept, since what is known does not change while this stands.

        Whoever asks for the members of a family has looked at what lists them; whoever asks first, at no more.
        """
        outer, self._read = self._read, set()
        try:
            return [JOB, *self._below(JOB)]
        finally:
            self._read = outer

    @cached_property
    def _families(self) -> dict[str, list[Address]]:
        found: dict[str, list[Address]] = {}
        for at in self._all:
            found.setdefault(kind_of(at), []).append(at)
        return found

    def _below(self, parent: Address) -> Iterator[Address]:
        for family in self.questions.component:
            if family.of == kind_of(parent):
                for name in self._names(family, parent):
                    yield child(parent, family.kind, name)
                    yield from self._below(child(parent, family.kind, name))

    def _names(self, family: Family, parent: Address) -> list[str]:
        """Return who belongs to a family: who is listed; of an unknown list all that was ever said, and more."""
        question = self.questions.questions[family.listed_by]
        possible = self._possible_answer(question, parent, asked_only=True)
        before = self._ever_named(family, question, parent)
        if family.members:
            groups = before if possible is None else possible
            named = {name for group in groups for name in group} - set(family.skip)
            listed = [choice.id for choice in question.choices if choice.id in named]
        else:
            most = max((int(count) for count in (before if possible is None else possible)), default=0)
            listed = [str(number) for number in range(1, most + 1)]
        return [*listed, UNLISTED] if possible is None else listed

    def _ever_named(self, family: Family, question: Question, parent: Address) -> list[Any]:
        """Return every count or list that was ever given, and what answers about members tell; one at the least."""
        said = [one.value for one in self.history.get(key_of(question.id, parent), []) if one.state == "given"]
        about = self._answered_members.get((parent, family.kind), set()) - {UNLISTED}
        if family.members:
            return [*said, frozenset(about)]
        numbers = [int(name) for name in about if name.isdecimal()]
        return [1, *said, *filter(question.takes, numbers)]

    @cached_property
    def _answered_members(self) -> Mapping[tuple[Address, str], set[str]]:
        """The names of a family's members that anything was ever said of, by what holds them and their kind."""
        found: dict[tuple[Address, str], set[str]] = {}
        for place in {split_key(key)[1] for key in self.history} - {JOB}:
            steps = place.split("/")
            for at in range(0, len(steps), 2):
                found.setdefault(("/".join(steps[:at]) or JOB, steps[at]), set()).add(steps[at + 1])
        return found

    def strays(self) -> list[Answer]:
        """Return the answers about components that are not there: the list was shortened, and they still speak.

        That nobody looked speaks too; of a member of which nothing else speaks, the list that last named it. One that
        was shortened and is unknown now is still the shortened one.
        """
        there = set(self._all)
        now = [one for one in self.given.values() if one.state != "not_applicable" and one.at not in there]
        now += self._named_once(there, {one.at for one in now})
        before = self.as_last_given.strays() if self.as_last_given else []
        return [*now, *(one for one in before if one not in now)]

    def _named_once(self, there: Collection[Address], spoken: Collection[Address]) -> list[Answer]:
        """Return each list, or count, that last named a member which is not there, as of that member, unless something
        else still speaks of it."""
        found: dict[Address, Answer] = {}
        for family, one in self._ever_listed():
            for name in self._members_of(family, one) if one.at in there else ():
                at = child(one.at, family.kind, name)
                if at not in there and not any(holds_address(at, place) for place in spoken):
                    found[at] = replace(one, at=at)
        return list(found.values())

    def _ever_listed(self) -> Iterator[tuple[Family, Answer]]:
        """Yield every list or count that was ever given of a family, in the order of the lines."""
        for key, told in self.history.items():
            for family in self.questions.listed.get(split_key(key)[0], ()):
                yield from ((family, one) for one in told if one.state == "given")

    @staticmethod
    def _members_of(family: Family, listed: Answer) -> list[str]:
        """Return the names of the members that a list names, or a count counts."""
        if family.members:
            return sorted(listed.value - set(family.skip))
        return [str(number) for number in range(1, int(listed.value) + 1)]

    def naming(self, named: Answer) -> tuple[list[Answer], list[Answer]]:
        """Return who ever named a member that a stray list names, and the later ones that do not."""
        question, kind, name = named.question, kind_of(named.at), name_of(named.at)
        (family,) = (one for one in self.questions.listed[question] if one.kind == kind)
        told = [one for one in self.history[key_of(question, holder_of(named.at))] if one.state == "given"]
        naming = [one for one in told if name in self._members_of(family, one)]
        return naming, [one for one in told if one.line > naming[-1].line]

    def instances(self, question: Question) -> list[Address]:
        """Return the components for which a question is to be asked now."""
        if question.id not in self._instances:
            listed = [at for at in self.components(question.per) if is_listed(at)]
            self._instances[question.id] = [at for at in listed if self.asked(question, at)]
        return list(self._instances[question.id])

    def asked(self, question: Question, at: Address) -> bool:
        """Say whether a question is to be asked of a component: unless its condition certainly fails."""
        if not question.ask_if:
            return True

        return self._once(self._asked, (question.id, at), lambda: self.holds(question.ask_if, at) is not False)

    def holds(self, when: Condition, at: Address) -> bool | None:
        """Say whether a condition holds, seen from a component; None where it depends on what is not known."""
        return holds(when, lambda name: self.look(name, at), self.limits)

    def label(self, at: Address) -> str:
        """Return what a component is called: `Kiln 2, contactor`; where there is one kiln, `contactor`."""
        if at == JOB:
            return "the whole loss"
        parent = holder_of(at)
        if parent == JOB or (parent.count("/") == 1 and len(self.kilns) == 1):
            return self.own_label(at)
        return f"{self.label(parent)}, {self.own_label(at)}"

    def label_in_kiln(self, at: Address) -> str:
        """Return what a component is called within its kiln: `Wall, layer 2`; the kiln's own label for itself."""
        words = at.split("/")
        steps = ["/".join(words[:end]) for end in range(4, len(words) + 1, 2)]
        return ", ".join(self.own_label(step) for step in steps) or self.own_label(at)

    def by_clock(self, moment: datetime) -> str:
        """Return a moment as it is printed: by the job's own clock, whatever zone it was reckoned in."""
        return show_moment(moment.astimezone(self.zone))

    def where(self, at: Address) -> str:
        """Return the label of a component, empty where it goes without saying: the whole loss, the only kiln."""
        alone = at == JOB or (kind_of(at) == "kiln" and len(self.kilns) == 1)
        return "" if alone else self.label(at)

    def slate_of(self, question: str, at: Address) -> str:
        """Return which answer it is, as people find it again: `slate 148, lid`."""
        where = self.where(at)
        return f"slate {self.questions.questions[question].slate}{f', {where}' if where else ''}"

    def own_label(self, at: Address) -> str:
        """Return what a component is called within what holds it: `residual-current device`."""
        family = self.questions.families[kind_of(at)]
        if name_of(at) == UNLISTED:
            return f"{family.label.lower()}, not yet listed"
        return self.questions.member_label(family.kind, name_of(at))

    # ------------------------------------------------------------------------------------ what it may be

    def answer(self, question: str, at: Address) -> Answer | None:
        """Return the latest answer to a question about a component."""
        self._read.add(key_of(question, at))
        return self.given.get(key_of(question, at))

    def look(self, name: str, at: Address) -> Possible:
        """Return what an answer or a fact may be, seen from a component; of several components, all they may be.

        A question that is not asked has no value.
        """
        return self._once(self._looked, (name, at), lambda: self._look(name, at))

    def _look(self, name: str, at: Address) -> Possible:
        if name.startswith(OF_TABLE):
            return self._outcomes(self, name, at) if self._outcomes else None
        if name == "component":
            return None if name_of(at) == UNLISTED else frozenset({name_of(at)})
        if name.startswith(MEASURED):
            question = self.questions.questions[name.removeprefix(MEASURED)]
            return self._gathered(question.per, at, lambda place: self._moment_of(question, place))
        if name in self.questions.facts:
            return self._gathered(self.questions.facts[name].per, at, lambda place: self.fact(name, place))
        question = self.questions.questions[name]
        return self._gathered(question.per, at, lambda place: self._possible_answer(question, place, asked_only=True))

    def _moment_of(self, question: Question, at: Address) -> Possible:
        """Return when the answer that stands was seen or measured; None where nobody wrote that down."""
        answer = self.answer(question.id, at)
        told = answer.measured if answer and answer.state == "given" else None
        return None if told is None else frozenset({told})

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
        return self._once(self._facts, (name, at), lambda: self._judge(self.questions.facts[name], at))

    def _once(self, known: dict[_Key, tuple[_Value, frozenset[str]]], key: _Key, find: Callable[[], _Value]) -> _Value:
        """Return what is found under a key, the first time by looking, and count as read what that looked at."""
        if key not in known:
            outer, self._read = self._read, set()
            try:
                known[key] = find(), frozenset(self._read)
            finally:
                self._read = outer
        value, keys = known[key]
        self._read |= keys
        return value

    def once(self, key: Hashable, find: Callable[[], _Value]) -> _Value:
        """Return what somebody works out of these answers, worked out once; what that looked at counts as read."""
        found: _Value = self._once(self._found, key, find)
        return found

    def _gathered(self, per: str, at: Address, values: Any) -> Possible:
        """Collect values at the component of family `per` that holds `at`, else at all of that family beside it.

        Beside it are those within `at`, or within the nearest that holds both: the zones of the kiln of an element.
        """
        found = [values(place) for place in self.places(per, at)]
        return None if any(possible is None for possible in found) else frozenset(chain(*found))

    def places(self, per: str, at: Address) -> list[Address]:
        """Return the component of a family that holds `at` (or is it), else all of that family beside it."""
        own = within(at, per)
        return [own] if own else self.beside(per, at)

    def beside(self, per: str, at: Address) -> list[Address]:
        """Return the members of a family within `at`, or within the nearest that holds both."""
        return self.components(per, of=self._around(at, per))

    def each(self, per: str, at: Address) -> list[Address]:
        """Return where a thing must hold for a component: of each of a family beside it; where none is named, there."""
        return self.beside(per, at) if per else [at]

    def _around(self, at: Address, per: str) -> Address:
        """Return the nearest component that holds `at` and may hold members of a family; `at` itself if it may."""
        holders: set[str] = {JOB}
        kind = per
        while kind in self.questions.families:
            kind = self.questions.families[kind].of
            holders.add(kind)
        steps = at.split("/")
        places = ["/".join(steps[:end]) for end in range(len(steps), 0, -2)] if at != JOB else []
        return next((place for place in places if kind_of(place) in holders), JOB)

    def latest(self, question: str) -> datetime | None:
        """Return the latest moment that was ever said of the whole loss: a date moved back makes nothing count again.

        What was still to come when it was written is a slip, and is not counted.
        """
        self._read.add(question)
        told = [one for one in self.history.get(question, ()) if one.state == "given" and one.moment]
        said = [one.value for one in told if one.moment and not is_ahead(one.value, one.moment)]
        return max(said, default=None)

    def recorded(self, question: str, at: Address) -> Any:
        """Return what was answered and counts as said, also where it is no longer asked; None if that is not known."""
        possible = self._possible_answer(self.questions.questions[question], at, asked_only=False)
        return next(iter(possible)) if possible and len(possible) == 1 else None

    def _possible_answer(self, question: Question, at: Address, *, asked_only: bool) -> Possible:
        if asked_only and not self.asked(question, at):
            return frozenset()
        answer = self.answer(question.id, at)
        if question.register and (ever := self._ever_found(question, at)):
            return frozenset({ever}) if answer and answer.state == "given" else None
        if answer and answer.state == "given":
            return self._counted(question, self._worst_beside(question, answer))
        never_said = not any(one.state == "given" for one in self.history.get(key_of(question.id, at), ()))
        return frozenset() if question.optional and never_said else None

    def _ever_found(self, question: Question, at: Address) -> frozenset[str]:
        """Return all that was ever found of a register: a later answer adds to it and takes nothing away."""
        said = [one.value for one in self.history.get(key_of(question.id, at), []) if one.state == "given"]
        return frozenset(chain(*said)) - set(question.alone)

    def _counted(self, question: Question, answer: Answer) -> Possible:
        """Return what an answer stands for: itself; not admissible, itself and all that is worse."""
        if question.year and answer.moment and answer.value > answer.moment.year:
            return None  # a year that had not come when it was said is no year
        if not self.doubts(answer):
            return frozenset({answer.value})
        if question.kind == "choice" and question.order == "scale":
            names = [choice.id for choice in question.choices]
            return frozenset(names[names.index(answer.value) :] if answer.value in names else names)
        worst = {"less": question.at_least, "more": question.at_most}.get(question.worse)
        return None if worst is None else frozenset({answer.value, worst})

    def _worst_beside(self, question: Question, answer: Answer) -> Answer:
        """Return what is said of how readings were taken: the worst of what was told with them and since.

        That another way of joining is told later makes no other reading of one that was taken before.
        """
        if question.id not in self.questions.told_beside:
            return answer
        read = [
            reading for name in self.questions.told_beside[question.id] for reading in self.by_question.get(name, ())
            if reading.state == "given" and holds_address(answer.at, reading.at)
        ]  # fmt: skip
        until = min(map(seen_at, read), default=seen_at(answer)) + CLOCKS_APART
        history = self.history[key_of(question.id, answer.at)]
        told = sorted((one for one in history if one.state == "given"), key=seen_at)
        with_it = [one for one in told if seen_at(one) <= until][-1:]
        worst = answer
        for one in (*with_it, *(one for one in told if seen_at(one) > until)):
            worst = one if question.is_worse(one.value, worst.value) else worst
        return worst

    def doubts(self, answer: Answer) -> list[str]:
        """Say why an answer does not count for anything: not taken as it must be, or from before the water."""
        question = self.questions.questions[answer.question]
        return [*self._of_another_time(question, answer), *self._not_as_asked(question, answer)]

    def _of_another_time(self, question: Question, answer: Answer) -> Iterator[str]:
        """Find a look or a reading that is older than the water, or that is said to be of a time to come."""
        looked = question.kind == "reading" or question.order == "scale" or question.attested
        if answer.measured is None or not looked:
            return
        yield from self.before_the_water(answer)
        if is_of_a_time_to_come(answer):
            yield f"it was said to be of {show_moment(answer.measured)} before that had come; say again when it was"

    def before_the_water(self, answer: Answer) -> Iterator[str]:
        """Say of what was seen or measured before the water came that it was."""
        came = self.latest(WATER_IN)
        if came and answer.measured and answer.measured < came:
            yield f"it is of {show_moment(answer.measured)}, before the water came"

    def doubts_camera(self, taken: datetime | None) -> str:
        """Say of a picture whose camera dates it before the water came, or after today, that it does; else nothing."""
        came, right = self.latest(WATER_IN), "is the camera's clock right?"
        if taken and is_ahead(taken, self.now):
            return f"taken on a day that has not come yet: {right}"
        if taken and came and is_ahead(came, taken):
            return f"taken {show_span(came - taken)} before the water came: {right}"
        return ""

    def _not_as_asked(self, question: Question, answer: Answer) -> Iterator[str]:
        """Find what is wrong with how a reading was taken: its conditions, and its instrument."""
        for must in question.taken:
            result = holds(must.when, lambda name: self._taken_with(question, answer, name), self.limits)
            if result is None and (unsaid := self._unsaid(question, answer, must)):
                yield f"it does not say {' or '.join(unsaid)}"
            elif result is not True:
                yield must.say
        if question.instruments:
            yield from self._wrong_instrument(question, answer)

    @staticmethod
    def _unsaid(question: Question, answer: Answer, must: Must) -> list[str]:
        """Return what a reading does not tell of how it was taken, of that which must be so, in words."""
        asked = {detail.id: detail.ask[0].lower() + detail.ask[1:] for detail in question.details}
        names = {name for way in alternatives(must.when) for name in way}
        return [f"the {ask}" for name, ask in asked.items() if name in names - answer.details.keys()]

    def _taken_with(self, question: Question, answer: Answer, name: str) -> Possible:
        """Look at a detail of the reading itself, or at another answer."""
        if name in {detail.id for detail in question.details}:
            return frozenset({answer.details[name]}) if name in answer.details else None
        return self._rests_on(name, answer.at)

    def _wrong_instrument(self, question: Question, answer: Answer) -> Iterator[str]:
        instrument = self.instruments.get(answer.instrument)
        if instrument is None or not question.read_with(instrument.what):
            what = f"was read with {instrument.what}" if instrument else "names no instrument that is registered"
            yield f"it {what}; expected {' or '.join(question.instruments)}"
        elif not instrument.in_date((answer.measured or answer.moment or self.now).date()):
            until = instrument.calibrated or "an unknown date"
            yield f"instrument {instrument.id}, calibrated until {until}, was not in date"

    def _judge(self, fact: Fact, at: Address) -> Possible:
        if fact.member:
            return frozenset(fact.values if name_of(at) == UNLISTED else {name_of(at)})
        if fact.hazard:
            return self._hazard(fact)
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
        """Yield what a fact may be by its cases. All are looked at, also behind the one that decides: which evidence a
        fact rests on must not hang on what the evidence says."""
        results = [holds(case.when, lambda name: self._rests_on(name, at), self.limits) for case in fact.cases]
        for case, result in zip(fact.cases, results, strict=True):
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

    def _hazard(self, fact: Fact) -> Possible:
        """Return how it stands with a hazard of the register: none, cleared by somebody since it was found, or open."""
        found = self._possible_answer(self.questions.questions[HAZARDS], JOB, asked_only=True)
        seen = self.sightings(fact)
        if not seen:
            return None if found is None else frozenset({"none"})
        at = child(JOB, "hazard", fact.hazard)
        if self._possible_answer(self.questions.questions[CLEARED], at, asked_only=False) != frozenset({"cleared"}):
            return frozenset({"open"})
        cleared = self.given[key_of(CLEARED, at)]
        cleared_at = to_the_minute(min(known_at(cleared), seen_since(cleared))), cleared.line
        later = any(known_order(one) > cleared_at for one in seen)
        return frozenset({"open" if later else "cleared"})

    def sightings(self, fact: Fact) -> list[Answer]:
        """Return every answer that ever found a hazard, each once, in the order of the journal."""
        return sorted({one.line: one for one in self._seen(fact)}.values(), key=lambda one: one.line)

    def _seen(self, fact: Fact) -> Iterator[Answer]:
        """Yield every answer that ever found a hazard: on the register, or where somebody looked for its signs."""
        for key, told in self.history.items():
            name = split_key(key)[0]
            signs = {fact.hazard} if name == HAZARDS else set(fact.seen.get(name, ()))
            if signs:
                self._read.add(key)
                given = (one for one in told if one.state == "given")
                yield from (one for one in given if signs & (one.value if name == HAZARDS else {one.value}))
        for name in fact.seen:
            self._read |= {key_of(name, at) for at in self.components(self.questions.questions[name].per)}
        if fact.seen_by:
            yield from self._seen_by(fact.seen_by)

    def _seen_by(self, name: str) -> Iterator[Answer]:
        """Yield the answers by which a fact certainly says yes of a component, or did before one was changed."""
        for then in (self, *self._before_each_change(name)):
            yield from then._seen_now(name)

    def _seen_now(self, name: str) -> Iterator[Answer]:
        for at in self.components(self.questions.facts[name].per):
            if self.fact(name, at) == frozenset({"yes"}):
                grounds = (self.by_question.get(ground, ()) for ground in self.questions.grounds(name))
                yield from (one for one in chain(*grounds) if holds_address(one.at, at))

    def _before_each_change(self, name: str) -> Iterator[Answers]:
        """Yield what was known each time before an answer was changed that a fact is judged from, or that lists what
        it is judged of."""
        grounds = self.questions.grounds(name) | self.questions.listing(self.questions.facts[name].per)
        told: set[str] = set()
        for number, event in enumerate(self._events):
            key = event.data["question"] if event.kind in ("answer", "reading") else ""
            if split_key(key)[0] in grounds:
                if key in told:
                    yield self._replayed(self._events[:number])
                told.add(key)
                if event.n not in self.stood:  # told late, of an earlier time: as if it had been told then
                    of_key = (one for one in self._events[:number] if one.data.get("question") != key)
                    yield self._replayed([*of_key, event])

    def at_line(self, line: int) -> Answers:
        """Return what was known when a line had just been written; kept, since every hold point asks for it.

        Of the last line that is what is known, where nothing is asked of a later moment or of the files.
        """
        if line not in self._then:
            kept = [event for event in self._events if event.n <= line]
            is_now = len(kept) == len(self._events) and kept[-1].moment == self.now and not self._is_there
            self._then[line] = self if is_now else self._replayed(kept, kept[-1].moment)
        return self._then[line]

    def before(self, answer: Answer) -> Answers:
        """Return what was known when an answer is from: of the lines before it, those that were written by then."""
        then = seen_at(answer)
        kept = [event for event in self._events if event.n < answer.line and event.moment <= then]
        return self._replayed(kept, then)

    def is_kept(self, picture: Photograph) -> bool:
        """Say whether a picture can be looked at: no line says that it is gone, and its file is as it was taken in."""
        kept = self._files.get(picture.file)
        ours = kept is not None and kept.sha256 == picture.sha256
        return bool(kept and ours and (self._is_there is None or self._is_there(kept)))

    @cached_property
    def _files(self) -> Mapping[str, Kept]:
        return known(self._events)

    def _replayed(self, events: Iterable[Event], now: datetime | None = None) -> Answers:
        """Return what other lines of the same journal tell, as of the same moment or another, of files as well."""
        judges = (self._wetness, self._bench, self._sums, now or self.now, self._outcomes)
        return Answers(self.questions, self.limits, self.zone, events, *judges)

    @staticmethod
    def _hours(begin: Possible, end: Possible) -> Possible:
        if not begin or not end:
            return None
        return frozenset((last.astimezone(UTC) - first).total_seconds() / 3600 for first in begin for last in end)

    @staticmethod
    def _ratio(part: Possible, whole: Possible) -> Possible:
        if part == frozenset():  # an optional reading that was not taken: whatever it would lie beside
            return part
        if part is None or whole is None:
            return None
        return frozenset(one / other for one in part for other in whole if other)

    def _sum(self, fact: Fact, of: Sequence[Possible]) -> Possible:
        """Return what a sum may come to; a number that is not known may be any."""
        found = self._sums[fact.sum](of) if fact.sum in self._sums else None
        return self._all_of(fact, found) if fact.values else found

    # ------------------------------------------------------------------------------------ what does not fit

    def misfits(self, of: Collection[str] = ()) -> list[tuple[Check, Address]]:
        """Return each check whose answers certainly do not fit together, with the component.

        Where questions are named, only the checks that speak `of` one of them are looked at: one answer is told of at
        once.
        """
        named = (check for check in self.questions.check if {*of} & {*check.questions})
        return self._unfitting(list(named)) if of else self._misfits

    @cached_property
    def _misfits(self) -> list[tuple[Check, Address]]:
        """What does not fit, looked for once: hold points, problems and papers all ask for it."""
        return self._unfitting(self.questions.check)

    def _unfitting(self, checks: Sequence[Check]) -> list[tuple[Check, Address]]:
        now = self._failing(checks)
        before = self.as_last_given._failing(checks) if self.as_last_given else []
        return [*now, *(one for one in before if one not in now)]

    @cached_property
    def as_last_given(self) -> Answers | None:
        """The same with what was taken back still said; None where nothing was.

        Two answers that do not fit are not made to fit by saying nothing: one of them is given anew.
        """
        kept = [event for event in self._events if not self._takes_back(event)]
        if len(kept) == len(self._events):
            return None
        return self._replayed(kept)

    def _takes_back(self, event: Event) -> bool:
        """Say whether an event says nothing where something was said before."""
        if event.kind not in ("answer", "reading") or event.data["state"] == "given":
            return False
        key = event.data["question"]
        return self.given[key].state != "given" and self.last_given(key) is not None

    def _failing(self, checks: Iterable[Check]) -> list[tuple[Check, Address]]:
        return [
            (check, at)
            for check in checks
            for at in self.components(check.per)
            if any(self._misfit(check, at, other) for other in self._others(check, at))
        ]

    def _others(self, check: Check, at: Address) -> list[Address]:
        return self.beside(check.beside, at) if check.beside else [at]

    def _misfit(self, check: Check, at: Address, other: Address) -> bool:
        """Say whether answers certainly do not fit; what is asked of the family `beside` is looked at from `other`."""

        def look(name: str) -> Possible:
            return self.look(name, other if check.beside and self._per(name) == check.beside else at)

        return certain(check.when, look, self.limits)

    def _per(self, name: str) -> str:
        """Return the family that a reference speaks of; empty for the component itself."""
        known = self.questions.facts.get(name) or self.questions.questions.get(name.removeprefix(MEASURED))
        return known.per if known else ""

    def speaks_of(self, check: Check, at: Address) -> list[tuple[str, Address]]:
        """Return each question that a check speaks of, with every component that it was asked of, seen from one."""
        asked = ((name, self.questions.questions[name].per) for name in check.questions)
        return [(name, place) for name, per in asked for place in self.places(per, at)]

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
            shown = plain or show_quantity(answer.value, question.unit, imperial=imperial, figures=figures)
            return f"at least {shown}" if answer.at_least and question.worse == "less" else shown
        return str(answer.value)
