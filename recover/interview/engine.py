"""What to ask next: pure over the compiled questions and the answers so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from recover.asked.answers import Answers
from recover.asked.questions import Question, Section, Stop
from recover.base.addresses import JOB, Address, within
from recover.base.conditions import Possible, holds, references


@dataclass(frozen=True)
class Item:
    """A question about one component."""

    question: Question
    at: Address


@dataclass(frozen=True)
class Progress:
    """How far a section is: questions that have an answer of any kind, of those that are asked now."""

    section: Section
    done: int
    asked: int


class Interview:
    """The interview at one point of the journal.

    `call` limits it to the questions of the first call, `form_of` to the paper form of one kiln (an address).
    """

    def __init__(self, answers: Answers, *, call: bool = False, form_of: Address = "") -> None:
        """Take the answers so far."""
        self.answers, self.call, self.form_of = answers, call, form_of

    @property
    def stop(self) -> Stop | None:
        """Why nothing more is to be asked; None while the interview may go on."""
        stops = self.answers.questions.stop
        return next((one for one in stops if holds(one.when, self._of_job, self.answers.limits)), None)

    def _of_job(self, name: str) -> Possible:
        return self.answers.look(name, JOB)

    def stopping(self) -> list[Item]:
        """Return the items whose answers stop the interview: what a slip of a key said is answered anew there."""
        names = references(self.stop.when) if self.stop else set()
        return [Item(one, JOB) for one in self.answers.questions.question if one.id in names]

    def items(self, section: str) -> list[Item]:
        """Return what a section asks now: of the whole loss first, then kiln by kiln, in the questions' order.

        On the form of one kiln the questions of the whole loss stand between those of the kiln, in their order.
        """
        questions = [one for one in self.answers.questions.of_section(section) if one.call or not self.call]
        found = [Item(question, at) for question in questions for at in self.answers.instances(question)]
        if self.form_of:
            return [item for item in found if within(item.at, "kiln") in (None, self.form_of)]
        kilns = self.answers.kilns
        place = {None: -1} | {kiln: number for number, kiln in enumerate(kilns)}
        return sorted(found, key=lambda item: place[within(item.at, "kiln")])

    def answered(self, item: Item) -> bool:
        """Say whether an item has an answer of any kind: given, unknown, not inspected, not applicable."""
        return self.answers.answer(item.question.id, item.at) is not None

    def next(self, section: str, passed: Sequence[Item] = ()) -> Item | None:
        """Return the next unanswered item of a section that was not passed over; None when there is none."""
        open_items = (item for item in self.items(section) if not self.answered(item) and item not in passed)
        return None if self.stop else next(open_items, None)

    def progress(self) -> list[Progress]:
        """Return how far each section is, in their order; sections that ask nothing now are left out."""
        found = []
        for section in self.answers.questions.section:
            items = self.items(section.id)
            if items:
                found.append(Progress(section, sum(map(self.answered, items)), len(items)))
        return found

    def slate(self, item: Item) -> str:
        """Return the slate number of an item: the question's, and which of its components where there are several."""
        instances = self.answers.instances(item.question)
        number = f"-{instances.index(item.at) + 1}" if len(instances) > 1 and item.at in instances else ""
        return f"{item.question.slate}{number}"

    def by_slate(self, number: int, which: int | None) -> Item | None:
        """Return the item of a slate number; None if there is none, or several and `which` does not say."""
        items = self.of_slate(number)
        place = (which or 1) - 1
        return items[place] if 0 <= place < len(items) and (which or len(items) == 1) else None

    def of_slate(self, number: int) -> list[Item]:
        """Return what is asked now under a slate number, a component each."""
        questions = (
            one for one in self.answers.questions.question if one.slate == number and (one.call or not self.call)
        )
        return [Item(question, at) for question in questions for at in self.answers.instances(question)]
