"""What each fact may be: judged by its cases in `facts.toml`, from what the answers may be; and hazards once found."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC
from itertools import chain
from typing import Self

from recover.asked.possible import PossibleAnswers
from recover.asked.questions import Fact
from recover.asked.told import Answer, key_of, known_at, known_order, seen_since, split_key, to_the_minute
from recover.base.addresses import JOB, UNLISTED, Address, child, holds_address, name_of
from recover.base.conditions import Possible, holds
from recover.job.journal import Event

HAZARDS, CLEARED = "safe.hazards", "hazard.cleared"
"""The register of hazards, and whether one of them was cleared."""


class Facts(PossibleAnswers):
    """What each fact may be of each component. What needs other rooms' arithmetic is handed in, by `Answers`."""

    @abstractmethod
    def _wet(self, kind: str, at: Address) -> Possible:
        """Return how far water may have reached a component of a kind."""

    @abstractmethod
    def _reckoned(self, what: str, at: Address) -> Possible:
        """Return what a reading comes to beside its yardstick."""

    @abstractmethod
    def _summed(self, name: str, of: Sequence[Possible]) -> Possible:
        """Return what a sum of numbers that may be several comes to."""

    @abstractmethod
    def _replayed(self, events: Iterable[Event]) -> Self:
        """Return what other lines of the same journal tell."""

    def fact(self, name: str, at: Address) -> Possible:
        """Return the values that a fact may have of the component `at` (which lies in the fact's family)."""
        return self.once(("fact", name, at), lambda: self._judge(self.questions.facts[name], at))

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
            return self._all_of(fact, self._wet(fact.wet, at))
        if fact.reckoned:
            return self._all_of(fact, self._reckoned(fact.reckoned, at))
        if fact.ratio_of:
            return self._ratio(*(self._rests_on(name, at) for name in fact.ratio_of))
        if fact.hours_between:
            return self._hours(*(self._rests_on(name, at) for name in fact.hours_between))
        if fact.sum:
            return self._sum(fact, [self._rests_on(name, at) for name in fact.of])
        return frozenset(self._cases(fact, at))

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
        for name in self.questions.signs[fact.id]:
            yield from (one for one in self._ever_told(name) if self.below(fact, one))

    def _ever_told(self, name: str) -> Iterator[Answer]:
        """Yield all that was ever said to a question, of any component."""
        yield from chain(*(told for key, told in self.history.items() if split_key(key)[0] == name))

    @staticmethod
    def below(fact: Fact, answer: Answer) -> list[str]:
        """Return the details of a reading by which it is a sign of a hazard."""
        return [one for one, least in fact.seen_below.items() if answer.details.get(one, least) < least]

    def _seen_by(self, name: str) -> Iterator[Answer]:
        """Yield the answers by which a fact certainly says yes of a component, or did before one was changed."""
        for then in (self, *self._before_each_change(name)):
            yield from then._seen_now(name)

    def _seen_now(self, name: str) -> Iterator[Answer]:
        for at in self.components(self.questions.facts[name].per):
            if self.fact(name, at) == frozenset({"yes"}):
                grounds = (self.by_question.get(ground, ()) for ground in self.questions.grounds(name))
                yield from (one for one in chain(*grounds) if holds_address(one.at, at))

    def _before_each_change(self, name: str) -> Iterator[Self]:
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
        found = self._summed(fact.sum, of)
        return self._all_of(fact, found) if fact.values else found
