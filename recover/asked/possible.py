"""What each answer may be, and why one that was given counts for nothing.

An answer that was given stands for itself; what is unanswered, unknown, not inspected or said not to apply stands for
every answer it could be (absence is a choice of its own, never silence). A reading that was not taken as it must be, or
a look from before the water, counts against and never for: it stands for itself and everything worse. Only an optional
measurement or look that was not taken has no value: what it would have corrected stands by itself.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator, Mapping
from datetime import datetime
from itertools import chain
from typing import Any

from recover.asked.components import Components
from recover.asked.questions import Must, Question
from recover.asked.told import STATE_WORDS, Answer, is_of_a_time_to_come, key_of, seen_at
from recover.base.addresses import UNLISTED, Address, holds_address, is_listed, kind_of, name_of
from recover.base.conditions import MEASURED, OF_TABLE, Condition, Possible, alternatives, holds
from recover.base.measures import CLOCKS_APART, is_ahead, show_moment, show_quantity, show_span

WATER_IN, WATER_OUT = "event.water_in", "event.water_out"
"""When water reached the kiln, and when it was out again: of several that were said, the latest."""


class PossibleAnswers(Components):
    """What the answer to each question may be, of each component; of facts and tables too, for whoever looks."""

    limits: Mapping[str, float]
    """What conditions compare numbers with, by name."""
    now: datetime
    """The moment at which all this is asked; what is said to be later is in the future."""

    @abstractmethod
    def fact(self, name: str, at: Address) -> Possible:
        """Return the values that a fact may have of the component `at` (which lies in the fact's family)."""

    @abstractmethod
    def _outcome(self, name: str, at: Address) -> Possible:
        """Return the outcomes that a rule table may have, by a reference as `outcome:wiring`."""

    # ---------------------------------------------------------------------------------------------------- what is asked

    def instances(self, question: Question) -> list[Address]:
        """Return the components for which a question is to be asked now."""

        def find() -> list[Address]:
            listed = (at for at in self.components(question.per) if is_listed(at))
            return [at for at in listed if self.asked(question, at)]

        return list(self.once(("instances", question.id), find))

    def asked(self, question: Question, at: Address) -> bool:
        """Say whether a question is to be asked of a component: unless its condition certainly fails."""
        if not question.ask_if:
            return True

        return self.once(("asked", question.id, at), lambda: self.holds(question.ask_if, at) is not False)

    def holds(self, when: Condition, at: Address) -> bool | None:
        """Say whether a condition holds, seen from a component; None where it depends on what is not known."""
        return holds(when, lambda name: self.look(name, at), self.limits)

    # --------------------------------------------------------------------------------------------------- what it may be

    def look(self, name: str, at: Address) -> Possible:
        """Return what an answer or a fact may be, seen from a component; of several components, all they may be.

        A question that is not asked has no value.
        """
        return self.once(("looked", name, at), lambda: self._look(name, at))

    def _look(self, name: str, at: Address) -> Possible:
        if name.startswith(OF_TABLE):
            return self._outcome(name, at)
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

    def _gathered(self, per: str, at: Address, values: Any) -> Possible:
        """Collect values at the component of family `per` that holds `at`, else at all of that family near it.

        Near it are those within `at`, or within the nearest that holds both: the zones of the kiln of an element.
        """
        found = [values(place) for place in self.places(per, at)]
        return None if any(possible is None for possible in found) else frozenset(chain(*found))

    def _rests_on(self, name: str, at: Address) -> Possible:
        """Look as a fact does: a recorded answer counts, and a question that is not asked is open, not empty."""
        question = self.questions.questions.get(name)
        if question is None:
            return self.look(name, at)
        if name_of(at) == UNLISTED and question.per == kind_of(at):
            return None
        return self._gathered(question.per, at, lambda place: self._possible_answer(question, place, asked_only=False))

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
            return self._counted(question, self._worst_told(question, answer))
        never_said = not any(one.state == "given" for one in self.history.get(key_of(question.id, at), ()))
        return frozenset() if question.optional and never_said else None

    def _ever_found(self, question: Question, at: Address) -> frozenset[str]:
        """Return all that was ever found of a register: a later answer adds to it and takes nothing away."""
        said = [one.value for one in self.history.get(key_of(question.id, at), []) if one.state == "given"]
        return frozenset(chain(*said)) - set(question.alone)

    def _counted(self, question: Question, answer: Answer) -> Possible:
        """Return what an answer stands for: itself; not admissible, itself and all that is worse; a text that says
        nothing, no word."""
        if question.year and answer.moment and answer.value > answer.moment.year:
            return None  # a year that had not come when it was said is no year
        if not self.doubts(answer):
            return frozenset({"" if question.is_empty(answer.value) else answer.value})
        if question.kind == "choice" and question.order == "scale":
            names = [choice.id for choice in question.choices]
            return frozenset(names[names.index(answer.value) :] if answer.value in names else names)
        worst = {"less": question.at_least, "more": question.at_most}.get(question.worse)
        return None if worst is None else frozenset({answer.value, worst})

    def _worst_told(self, question: Question, answer: Answer) -> Answer:
        """Return what is said of how readings were taken: the worst of what was told with them and since.

        That another way of joining is told later makes no other reading of one that was taken before.
        """
        if question.id not in self.questions.tells_of:
            return answer
        read = [
            reading for name in self.questions.tells_of[question.id] for reading in self.by_question.get(name, ())
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

    # -------------------------------------------------------------------------------------------- why it does not count

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

    # --------------------------------------------------------------------------------------------------------- in words

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
