"""Says at once which of the answers just given can open nothing, and why: while one can still look again.

Of a file of answers, and of what cannot be mended at a row of a form that is typed in later, the sum is said at the
end: a line for each reason.
"""

from __future__ import annotations

from collections.abc import Callable

from recover.asked.answers import Answers
from recover.asked.possible import WATER_OUT
from recover.asked.questions import Question
from recover.asked.told import Answer, is_of_a_time_to_come, key_of, split_key
from recover.base.counted import by_number
from recover.base.measures import show_moment
from recover.base.nothing_said import why_nothing
from recover.judged.admissible import NO_TIME, NO_WATER_OUT, good_until, is_evidence, why_not
from recover.judged.holds import no_release, what_to_do, when_released, without_release
from recover.judged.live import HEATED
from recover.profiles import Profile
from recover.rules.gates import needed

_OLD = "what was seen or measured holds for a time that is over; look or measure again"
_IN_SUM = {NO_TIME: 'no time is written for them; add measured = "…", when it was seen and measured'}


class NoUse:
    """What of one sitting opens nothing."""

    def __init__(self, country: Profile, tell: Callable[[str], None], *, on_the_spot: bool, all_in_sum: bool) -> None:
        """Take by whose rules, and how to say it. `all_in_sum`: nothing is said before the sum."""
        self._country, self._tell, self._on_the_spot, self._all_in_sum = country, tell, on_the_spot, all_in_sum
        self._said_of_water = False
        self._in_sum: list[str] = []

    def of(self, answers: Answers, key: str, line: int) -> None:
        """Say it of the answer that was just written as a line of the journal, or keep it for the sum."""
        question, answer = answers.questions.questions[split_key(key)[0]], answers.given[key]
        if question.id == HEATED:
            self._of_heating(answers, key, line)
        if answer.line != line:
            stands = f"{_of_when(answer)} is later, and stands (slate {question.slate})"
            if question.id != HEATED:
                self._tell(f"Kept, and it changes nothing: {stands}.")
            return
        whys = self._why_not(answers, question, answer)
        if whys and (self._all_in_sum or (not self._on_the_spot and self._may_wait(answers, question, answer, whys))):
            self._in_sum.append(key)
        elif fresh := self._fresh(whys):
            water_out = answers.questions.questions[WATER_OUT].slate
            until = f"Kept. It opens nothing until it is known when the water was out (slate {water_out})."
            self._tell(until if fresh == [NO_WATER_OUT] else f"Kept, and it opens nothing: {'; '.join(fresh)}.")

    def _of_heating(self, answers: Answers, key: str, line: int) -> None:
        """Say of a heating that no release stood then, and when one did: its hour may be a slip."""
        for one in without_release(answers, self._country.id):
            if (key_of(one.question, one.at), one.line) == (key, line):
                stood = when_released(answers, one.at, self._country.id)
                self._tell(f"Kept: {no_release(answers, one)}; {stood}. What to do: {what_to_do(answers, one)}.")

    def _why_not(self, answers: Answers, question: Question, answer: Answer) -> tuple[str, ...]:
        if answer.state == "given" and question.id in needed() and question.is_empty(answer.value):
            return (why_nothing(),)
        evidence = answer.state == "given" and is_evidence(question) and question.may_open(answer.value)
        return why_not(answers, question, answer, self._country) if evidence else ()

    @staticmethod
    def _may_wait(answers: Answers, question: Question, answer: Answer, whys: tuple[str, ...]) -> bool:
        """Whether nobody can mend it at this row of a form: it is long ago, or the water stands further down."""
        return whys == (NO_WATER_OUT,) or _out_of_date(answers, question, answer)

    def _fresh(self, whys: tuple[str, ...]) -> list[str]:
        """Leave out what is said once a sitting: that nobody has yet told when the water was out."""
        fresh = [why for why in whys if why != NO_WATER_OUT or (self._on_the_spot and not self._said_of_water)]
        self._said_of_water = self._said_of_water or NO_WATER_OUT in whys
        return fresh

    def sum_up(self, answers: Answers) -> None:
        """Say of how many answers it was kept back, a line for each reason, as things stand now."""
        slates: dict[str, list[str]] = {}
        for key in dict.fromkeys(self._in_sum):
            question, answer = answers.questions.questions[split_key(key)[0]], answers.given[key]
            old = _out_of_date(answers, question, answer)
            for why in (_OLD,) if old else self._why_not(answers, question, answer):
                slates.setdefault(why, []).append(str(question.slate))
        self._in_sum = []
        for why, of in slates.items():
            self._tell(_sum_of(why, of))


def _sum_of(why: str, slates: list[str]) -> str:
    opens = by_number(len(slates), one="{number} answer opens", other="{number} answers open")
    where = "" if why == NO_TIME else f" (slate {', '.join(dict.fromkeys(slates))})"
    return f"{opens} nothing: {_IN_SUM.get(why, why)}{where}."


def _of_when(answer: Answer) -> str:
    if answer.moment and is_of_a_time_to_come(answer):
        return f"what was written on {show_moment(answer.moment)}"
    return f"what was seen on {show_moment(answer.measured)}" if answer.measured else "what was written"


def _out_of_date(answers: Answers, question: Question, answer: Answer) -> bool:
    until = good_until(answers, question, answer)
    return until is not None and until <= answers.now
