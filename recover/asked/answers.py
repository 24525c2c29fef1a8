"""What is known of a job: the journal replayed, and what each question or fact may be, given the answers.

Nothing here asks and nothing decides. Each class knows more than the one it stands on: `Replay` what was told,
`Components` of whom, `PossibleAnswers` what that may mean, `Facts` what follows; `Answers` also what was known earlier,
and what does not fit together.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property
from typing import Self
from zoneinfo import ZoneInfo

from recover.asked.facts import Facts
from recover.asked.questions import Check, Family, Questionnaire
from recover.asked.told import Answer, Logged, Photograph, key_of, seen_at, split_key
from recover.base.addresses import Address, child, holder_of, holds_address, kind_of, name_of
from recover.base.conditions import MEASURED, Possible, certain
from recover.base.measures import is_ahead
from recover.job.journal import Event
from recover.job.kept import Kept, known

Judge = Callable[["Answers", str, Address], Possible]
"""Works out by other rooms' arithmetic what may be so of a component: how wet it is, what a reading comes to beside its
yardstick, the outcomes of a rule table; by the name of what is to be judged. None for anything."""

Sums = Mapping[str, Callable[[Sequence[Possible]], Possible]]
"""The sums that facts may name: each from what the answers it is made of may be to what it may come to."""


class Answers(Facts):
    """Everything that is known, at one point of the journal. Never changed: a later journal is replayed anew."""

    def __init__(
        self,
        questions: Questionnaire,
        limits: Mapping[str, float],
        zone: ZoneInfo,
        events: Iterable[Event] = (),
        wetness: Judge | None = None,
        reckoning: Judge | None = None,
        sums: Sums | None = None,
        now: datetime | None = None,
        outcomes: Judge | None = None,
        is_there: Callable[[Kept], bool] | None = None,
    ) -> None:
        """Replay events in their order; the last answer to a question is the one that counts.

        `wetness` judges how far water reached a component, `reckoning` what a reading comes to beside its yardstick,
        `sums` do the arithmetic of facts, `outcomes` tell what a rule table makes of a component; what is judged by one
        that is not given stands for every value. `is_there` proves the files of pictures as they are now; without it a
        picture is as the journal says. `now` is the moment at which all this is asked: what is said to be later is
        in the future. Without it, that of the last line.
        """
        super().__init__(questions, zone, events)
        self.limits, self._wetness, self._reckoning, self._outcomes = limits, wetness, reckoning, outcomes
        self._sums, self._is_there = sums or {}, is_there
        self._then: dict[int, Self] = {}
        self.now = (now or self.last_entry or datetime(9000, 1, 1, tzinfo=zone)).astimezone(zone)
        since = [event.moment for event in self._events if not self.is_line_unproved(event.n)]
        self.judged_at = max([self.now, *since])
        """When evidence and signatures must still hold: no earlier than any line was written, whatever the clock says
        now. A clock that is set back gives nothing its life again."""

    @property
    def ahead(self) -> datetime | None:
        """The latest moment of any line, where it has not come yet: a clock was set back, or another ran ahead."""
        return self.judged_at if is_ahead(self.judged_at, self.now) else None

    def _wet(self, kind: str, at: Address) -> Possible:
        return self._wetness(self, kind, at) if self._wetness else None

    def _reckoned(self, what: str, at: Address) -> Possible:
        return self._reckoning(self, what, at) if self._reckoning else None

    def _outcome(self, name: str, at: Address) -> Possible:
        return self._outcomes(self, name, at) if self._outcomes else None

    def _summed(self, name: str, of: Sequence[Possible]) -> Possible:
        return self._sums[name](of) if name in self._sums else None

    # -------------------------------------------------------------------------------------------------- of another time

    def at_line(self, line: int) -> Self:
        """Return what was known when a line had just been written; kept, since every hold point asks for it.

        Of the last line that is what is known, where nothing is asked of a later moment or of the files.
        """
        if line not in self._then:
            kept = [event for event in self._events if event.n <= line]
            is_now = len(kept) == len(self._events) and kept[-1].moment == self.now and not self._is_there
            self._then[line] = self if is_now else self._replayed(kept, kept[-1].moment)
        return self._then[line]

    def before(self, answer: Answer) -> Self:
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
    def log_by_kiln(self) -> dict[Address, tuple[Logged, ...]]:
        """What was logged of each kiln, in the order of its moments; what nothing proves any more is left out."""
        found: dict[Address, list[Logged]] = {}
        for one in sorted(self.logged, key=lambda one: (one.measured.timestamp(), one.line)):
            if not self.is_line_unproved(one.line):
                found.setdefault(one.kiln, []).append(one)
        return {kiln: tuple(log) for kiln, log in found.items()}

    @cached_property
    def _files(self) -> Mapping[str, Kept]:
        return known(self._events)

    def _replayed(self, events: Iterable[Event], now: datetime | None = None) -> Self:
        """Return what other lines of the same journal tell, as of the same moment or another, of files as well."""
        judges = (self._wetness, self._reckoning, self._sums, now or self.now, self._outcomes)
        return type(self)(self.questions, self.limits, self.zone, events, *judges)

    # ------------------------------------------------------------------------------------------------ what does not fit

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
    def as_last_given(self) -> Self | None:
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
        return self.near(check.paired, at) if check.paired else [at]

    def _misfit(self, check: Check, at: Address, other: Address) -> bool:
        """Say whether answers certainly do not fit; what is asked of the family `paired` is looked at from `other`."""

        def look(name: str) -> Possible:
            return self.look(name, other if check.paired and self._per(name) == check.paired else at)

        return certain(check.when, look, self.limits)

    def _per(self, name: str) -> str:
        """Return the family that a reference speaks of; empty for the component itself."""
        known = self.questions.facts.get(name) or self.questions.questions.get(name.removeprefix(MEASURED))
        return known.per if known else ""

    def speaks_of(self, check: Check, at: Address) -> list[tuple[str, Address]]:
        """Return each question that a check speaks of, with every component that it was asked of, seen from one."""
        asked = ((name, self.questions.questions[name].per) for name in check.questions)
        return [(name, place) for name, per in asked for place in self.places(per, at)]

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

    def naming(self, named: Answer) -> tuple[list[Answer], list[Answer]]:
        """Return who ever named a member that a stray list names, and the later ones that do not."""
        question, kind, name = named.question, kind_of(named.at), name_of(named.at)
        (family,) = (one for one in self.questions.listed[question] if one.kind == kind)
        told = [one for one in self.history[key_of(question, holder_of(named.at))] if one.state == "given"]
        naming = [one for one in told if name in self._members_of(family, one)]
        return naming, [one for one in told if one.line > naming[-1].line]
