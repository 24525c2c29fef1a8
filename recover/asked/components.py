"""Which components there are, what they are called, and which answers somebody looked at on the way."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from functools import cached_property
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from recover.asked.questions import Family, Question, Questionnaire
from recover.asked.replay import Replay
from recover.asked.told import Answer, key_of, split_key
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
from recover.base.conditions import Possible
from recover.base.measures import show_moment
from recover.job.journal import Event

_Value = TypeVar("_Value")


class Components(Replay, ABC):
    """What was told, of the components that it speaks of: whoever is listed, and of an unknown list whoever may be."""

    def __init__(self, questions: Questionnaire, zone: ZoneInfo, events: Iterable[Event]) -> None:
        """Replay events; nothing has been looked at yet."""
        super().__init__(questions, zone, events)
        self._found: dict[Hashable, tuple[Any, frozenset[str]]] = {}
        """What was worked out, by what it is called, with the keys of the answers that were looked at for it."""
        self._read: set[str] = set()

    @abstractmethod
    def _possible_answer(self, question: Question, at: Address, *, asked_only: bool) -> Possible:
        """Return what the answer to a question of a component may be; None for anything."""

    # ---------------------------------------------------------------------------------------------------- what there is

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

    @staticmethod
    def _members_of(family: Family, listed: Answer) -> list[str]:
        """Return the names of the members that a list names, or a count counts."""
        if family.members:
            return sorted(listed.value - set(family.skip))
        return [str(number) for number in range(1, int(listed.value) + 1)]

    # -------------------------------------------------------------------------------------------------- where it stands

    def places(self, per: str, at: Address) -> list[Address]:
        """Return the component of a family that holds `at` (or is it), else all of that family near it."""
        own = within(at, per)
        return [own] if own else self.near(per, at)

    def near(self, per: str, at: Address) -> list[Address]:
        """Return the members of a family within `at`, or within the nearest that holds both."""
        return self.components(per, of=self._around(at, per))

    def each(self, per: str, at: Address) -> list[Address]:
        """Return where a thing must hold for a component: of each of a family near it; where none is named, there."""
        return self.near(per, at) if per else [at]

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

    # ------------------------------------------------------------------------------------------------ what it is called

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

    # ----------------------------------------------------------------------------------------------- what was looked at

    def answer(self, question: str, at: Address) -> Answer | None:
        """Return the latest answer to a question about a component."""
        self._read.add(key_of(question, at))
        return self.given.get(key_of(question, at))

    @contextmanager
    def reading(self) -> Iterator[set[str]]:
        """Collect the keys of every answer that is looked at meanwhile, whether it was given or not."""
        outer, self._read = self._read, set()
        try:
            yield self._read
        finally:
            outer |= self._read
            self._read = outer

    def once(self, key: Hashable, find: Callable[[], _Value]) -> _Value:
        """Return what somebody works out of these answers, worked out once; what that looked at counts as read."""
        if key not in self._found:
            outer, self._read = self._read, set()
            try:
                self._found[key] = find(), frozenset(self._read)
            finally:
                self._read = outer
        value, keys = self._found[key]
        self._read |= keys
        found: _Value = value
        return found
