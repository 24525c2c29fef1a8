"""The interview: the ways through the questions, at a menu, straight through, by the paper form, by a file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from recover.asked.answers import Answers
from recover.asked.questions import Section
from recover.asked.told import key_of
from recover.base.addresses import Address
from recover.base.errors import AnswerError
from recover.interview.asking import Asking
from recover.interview.engine import Item, Progress
from recover.interview.missing import Gap, gaps, missing
from recover.interview.prompter import (
    Chooser,
    Clerk,
    Filled,
    Leave,
    ToSlate,
)
from recover.interview.scribe import form_named
from recover.interview.script import Script
from recover.judged.holds import hold_states
from recover.judged.standing import Hold, to_sign


class Session(Asking):
    """One sitting over an open journal."""

    def run(self, chooser: Chooser) -> None:
        """Let a person choose where to go until they leave or nothing more may be asked."""
        self._say_role()
        while not self._stopped_for_good():
            answers = self._now()
            chosen = chooser.choose_section(self.interview.progress(), gaps(answers, self.job.settings.profile))
            match chosen:
                case None:
                    return
                case ToSlate():
                    self._from_menu(chosen)
                case Gap():
                    self._walk(chosen)
                case _ if self.interview.next(chosen):
                    self._open_items(chosen)
                case _:
                    self._correction(chosen, chooser)

    def _from_menu(self, to: ToSlate) -> None:
        try:
            self._detour(to, "")
        except AnswerError as error:
            self.prompter.tell(str(error))

    def _walk(self, gap: Gap) -> None:
        """Ask what a hold point lacks, question by question; what an answer opens or fails comes in its turn."""
        done: list[Item] = []  # which `back` takes from: what was asked and is not answered comes again
        while item := next((one for one in missing(self._now(), self._country, gap.hold) if one not in done), None):
            if item.question.section not in {one.question.section for one in done}:
                self._hold_back(item.question.section)
            if self._ask_until_answered(item, [], done) is Leave or self.interview.stop:
                return
        self._say_ready(gap.hold)

    def _say_ready(self, before: Hold) -> None:
        holds = hold_states(self._now(), self.job.settings.profile)
        hold = next((one for one in holds if (one.point, one.at) == (before.point, before.at)), before)
        if hold.state == "ready for release":
            sign = to_sign(self.job.folder, hold, self._country)
            how = f"The last one was {sign}" if hold.taken_back else f"Signed by: {sign}"
            self.prompter.tell(f"“{hold.point.title}” lacks nothing but signatures: {hold.still}. {how}")

    def straight_through(self) -> None:
        """Ask every section in its order, without a menu."""
        self._say_role()
        for section in self.questions.section:
            if self._section_through(section.id) is Leave:
                return

    def _section_through(self, section: str) -> type[Leave] | None:
        """Ask a section to its end; where an answer in it stops the interview and was a slip, go on with it."""
        while self._open_items(section) is not Leave:
            if not self.interview.stop:
                return None
            if self._stopped_for_good():
                break
        return Leave

    def forms(self, clerk: Clerk, now: datetime) -> None:
        """Take in the paper forms, one for each kiln, each in the order of the paper, until a person leaves."""
        done: set[Address] = set()
        while (kiln := self._next_form(done)) and not self._stopped():
            self.form_of = kiln
            if self._form(clerk, now) is Leave:
                return
            done.add(kiln)

    def _next_form(self, done: set[Address]) -> Address | None:
        """Return the next kiln; how many there are may be known only once the first form is in."""
        return next((kiln for kiln in self.interview.answers.kilns if kiln not in done), None)

    def _form(self, clerk: Clerk, now: datetime) -> type[Leave] | None:
        open_sections = [one for one in self.questions.section if self.interview.next(one.id)]
        if not open_sections:
            return None
        label, roles = self.interview.answers.label(self.form_of), self._every_role()
        head = clerk.head(label, self._last_head(now), self.job.settings.tz, roles, self.clock())
        if head is None:
            return Leave
        for instrument in head.instruments:
            self.register(instrument)
        self.source, self.measured = head.source, head.moment
        self.who, self.role = head.by, head.role
        left = self._form_sections(clerk)
        self._no_use.sum_up(self.interview.answers)
        return left

    def _form_sections(self, clerk: Clerk) -> type[Leave] | None:
        for section in self.questions.section:
            if not self.interview.next(section.id):
                continue
            clerk.open_section(section)
            if self._open_items(section.id) is Leave or self._stopped():
                return Leave
            clerk.close_section(*self._came_of(section))
        return None

    def _came_of(self, section: Section) -> tuple[Progress, int]:
        """Return how far a section is, and how many of the checks that look at it do not hold."""
        interview = self.interview
        asked = {question.id for question in self.questions.of_section(section.id)}
        progress = next(one for one in interview.progress() if one.section == section)
        return progress, sum(bool(asked & set(check.questions)) for check, _ in interview.answers.misfits())

    def _last_head(self, now: datetime) -> Filled:
        """Return the head of the form that was typed in last; now and who types, where there was none."""
        answers, zone = self.interview.answers, self.job.settings.tz
        known, ever_known = tuple(answers.instruments.values()), answers.registered
        for event in reversed(self.journal.events):
            if form := form_named(event.source):
                filled, by = form
                return Filled(
                    moment=filled.replace(tzinfo=zone),
                    by=by,
                    instruments=known,
                    role=self._role_in(event.source, by),
                    registered=ever_known,
                )
        return Filled(moment=now.astimezone(zone), by=self.by, instruments=known, role=self.role, registered=ever_known)

    def _role_in(self, source: str, who: str) -> str:
        """Return the role in which somebody last answered by a form; empty where nobody wrote it down."""
        told = (one.data for one in reversed(self.journal.events) if one.source == source)
        return next((str(data["role"]) for data in told if data.get("who") == who and data.get("role")), "")

    def scripted(self, script: Script) -> None:
        """Ask whatever the script has an answer to, in the questions' order, whether it was answered before or not."""
        asked: list[Item] = []
        with self._endings():
            while item := self._wanted(script):
                self._ask_until_answered(item, [], [])
                asked.append(item)
        for item in asked:  # two answers that are corrected together are judged together
            self._say_misfits(item)
            self._say_failed(key_of(item.question.id, item.at), self._begun_at + 1)
        self._stopped()
        self._no_use.sum_up(self.interview.answers)

    def _wanted(self, script: Script) -> Item | None:
        interview = self.interview
        items = (item for section in self.questions.section for item in interview.items(section.id))
        wanted = (one for one in (interview.stopping() if interview.stop else items) if script.wants(one))
        return next(wanted, None) or next(self._withdrawn(script), None)

    def _withdrawn(self, script: Script) -> Iterator[Item]:
        """Yield what a file says was never there, of what was answered about a component that is not listed."""
        for stray in self.interview.answers.strays():
            question = self.questions.questions.get(stray.question)
            if question and script.withdraws(item := Item(question, stray.at)):
                yield item

    def _open_items(self, section: str) -> type[Leave] | None:
        passed: list[Item] = []
        before = self._answered_before(section)
        if self.interview.next(section):
            self._hold_back(section)
        while item := self.interview.next(section, passed):
            if self._ask_until_answered(item, passed, before) is Leave:
                return Leave
        return None

    def _answered_before(self, section: str) -> list[Item]:
        """Return the answered items before the first open one, which `back` leads to; in one run, of all sections."""
        interview = self.interview
        one_run = self.call or self.form_of
        sections = [one.id for one in self.questions.section] if one_run else [section]
        items = [item for name in sections for item in interview.items(name)]
        first = interview.next(section)
        return [item for item in items[: items.index(first) if first else 0] if interview.answered(item)]

    def _correction(self, section: str, chooser: Chooser) -> None:
        interview = self.interview
        item = chooser.choose_item([(item, self._line(interview.answers, item)) for item in interview.items(section)])
        if item is not None:
            self._ask_until_answered(item, [], [])

    def _line(self, answers: Answers, item: Item) -> str:
        answer = answers.answer(item.question.id, item.at)
        said = self._said(answers, answer) if answer else "not answered"
        where = ": ".join(part for part in (answers.where(item.at), f"{item.question.ask} — {said}") if part)
        return f"slate {self.interview.slate(item)} · {where}"

    def _stopped(self) -> bool:
        """Say what ends the interview, where something does."""
        stop = self.interview.stop
        if stop:
            self.prompter.tell(stop.say)
        return stop is not None

    def _stopped_for_good(self) -> bool:
        """Say what ends the interview and ask once more what says so: a slip of a key ends no job."""
        if self._stopped() and not self._stays_stopped:
            for item in self.interview.stopping():
                self._ask_until_answered(item, [], [])
            self._stays_stopped = self.interview.stop is not None
        return self.interview.stop is not None
