"""The interview loop: asks, checks, and has each answer on the disk before the next question."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from recover.asked.answers import Answers
from recover.asked.questions import Question, Questionnaire, Section, questionnaire
from recover.asked.said import beyond_range, come, read_details, read_value
from recover.asked.told import Answer, Instrument, key_of, same_person, split_key
from recover.base.addresses import Address, is_listed, kind_of
from recover.base.errors import AnswerError, JobError
from recover.base.measures import read_moment
from recover.interview.engine import Interview, Item, Progress
from recover.interview.missing import Gap, gaps, missing
from recover.interview.no_use import NoUse
from recover.interview.prompter import (
    FORM,
    AddNote,
    AddPhotograph,
    Asked,
    Back,
    Chooser,
    Clerk,
    Filled,
    Given,
    InRole,
    Leave,
    NoValue,
    Pass,
    Prompter,
    Reply,
    SaidBy,
    ToSlate,
    ToTheQuestion,
    When,
    Witness,
)
from recover.interview.script import Script
from recover.job.evidence import Picture, take_in
from recover.job.folder import Job
from recover.job.journal import Journal, utc_now
from recover.job.kept import ever, next_picture
from recover.job.writing import keep_picture, put_back
from recover.judged.admissible import good_until, is_evidence, why_not
from recover.judged.assessment import answers_of, closed_before
from recover.judged.failed import said_of
from recover.judged.holds import Hold, hold_states, to_sign
from recover.judged.outcomes import asking
from recover.profiles import profile

_SLATE = re.compile(r"(?:slate\s*)?(\d{1,3})(?:-(\d{1,2}))?", re.IGNORECASE)
_FILLED = re.compile(rf"{FORM}, filled in (\d{{4}}-\d\d-\d\d \d\d:\d\d) by (.+)")


class Session:
    """One sitting over an open journal."""

    def __init__(self, job: Job, journal: Journal, prompter: Prompter, *, by: str, source: str, who: str = "",
                 role: str = "", call: bool = False, live: bool = False, clock: Callable[[], datetime] = utc_now,
                 questions: Questionnaire | None = None) -> None:  # fmt: skip
        """Take the job, its open journal, and who answers in which role by what way.

        `live`: what is answered is seen and measured now. Otherwise each answer says when, or nobody knows. `by` writes
        it down; `who` saw it, which is another one where a paper form is typed in or a file is read.
        """
        self.job, self.journal, self.prompter = job, journal, prompter
        self.by, self.who, self.source, self.call = by, who or by, source, call
        self._begun_at = len(journal.events)
        self.role_before = self._role_spoken(by) if live else ""
        self.role, self._role_said = role or self.role_before, bool(role)
        self.live, self.clock = live, clock
        self.measured: datetime | None = None
        self._stays_stopped = False
        self._when: datetime | None = None
        self._said_by, self._said_role = "", ""
        self._country = profile(job.settings.profile)
        self._no_use = NoUse(
            self._country, lambda line: self.prompter.tell(line), live=live,
            all_in_sum=isinstance(prompter, Script),
        )  # fmt: skip
        self._at_once = not isinstance(prompter, Script)
        self.form_of: Address = ""
        self.questions = questions or questionnaire()
        self._replayed: tuple[int, Answers] | None = None
        self.unchanged = 0
        """How many answers of a file were in the journal already, word for word."""

    @property
    def interview(self) -> Interview:
        """The interview as the journal now stands; it is replayed once for each new line."""
        lines = len(self.journal.events)
        if self._replayed is None or self._replayed[0] != lines:
            job = Job(self.job.folder, self.job.settings, tuple(self.journal.events), "")
            self._replayed = lines, answers_of(job, self.questions, self.clock())
        return Interview(self._replayed[1], call=self.call, form_of=self.form_of)

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

    def _now(self) -> Answers:
        """Return what is known at this minute: what held a while ago may be out of date by now."""
        self._replayed = None
        return self.interview.answers

    def _say_role(self) -> None:
        """Say in which role somebody sits down again, where it was not said anew or is another one than before."""
        before = self.role_before
        if before and not self._role_said:
            self.prompter.tell(f"{self.by}, {self._title(before)}, as before in this job; --as ROLE changes it.")
        elif before and before != self.role:
            now = self._title(self.role)
            self.prompter.tell(f"{self.by} spoke as {self._title(before)} before; from here on as {now}.")

    def _title(self, role: str) -> str:
        """Return a role in the country's words."""
        return dict(self._every_role()).get(role, role)

    def _say_other_role(self, told: dict[str, Any]) -> None:
        """Say of somebody who spoke in this job before that it was never in the role in which they speak now."""
        who, role = str(told.get("who", "")), str(told.get("role", ""))
        before = self.interview.answers.roles_of(who) if role else []
        if before and role not in before and not (self.role_before and same_person(who, self.by)):
            spoke = ", ".join(map(self._title, before))
            self.prompter.tell(
                f"{who} spoke as {spoke} before, and now as {self._title(role)}: a slip is answered anew."
            )

    def _role_spoken(self, who: str) -> str:
        """Return the role in which somebody spoke last in this job; empty where nobody wrote it down."""
        told = (one.data for one in reversed(self.journal.events) if one.kind in ("answer", "reading"))
        return next((str(one["role"]) for one in told if one.get("role") and same_person(str(one.get("who")), who)), "")

    def _from_menu(self, to: ToSlate) -> None:
        try:
            self._detour(to, "")
        except AnswerError as error:
            self.prompter.tell(str(error))

    def _detour(self, to: ToSlate, section: str) -> type[Leave] | None:
        """Ask the question of a slate number, out of another section. Raises AnswerError where it names none."""
        item = self._of_slate(to)
        if item.question.section != section:
            self._hold_back(item.question.section)
        return self._ask_until_answered(item, [], [], detour=True)

    def _of_slate(self, to: ToSlate) -> Item:
        item = self.interview.by_slate(to.number, to.which)
        if item:
            return item
        items = self.interview.of_slate(to.number)
        if not items:
            raise AnswerError(f"slate {to.number} is not asked here: no such number, or what it asks if does not hold")
        of = ", ".join(f"{self.interview.slate(one)} {self.interview.answers.where(one.at)}" for one in items)
        raise AnswerError(f"slate {to.number} is asked of {len(items)}: {of}; say which, as slate {to.number}-1")

    def _walk(self, gap: Gap) -> None:
        """Ask what a hold point lacks, question by question; what an answer opens or fails comes in its turn."""
        seen: list[Item] = []
        while item := next((one for one in missing(self._now(), self._country, gap.hold) if one not in seen), None):
            if item.question.section not in {one.question.section for one in seen}:
                self._hold_back(item.question.section)
            seen.append(item)
            if self._ask_until_answered(item, [], seen[:-1]) is Leave or self.interview.stop:
                return
        self._say_ready(gap.hold)

    def _say_ready(self, before: Hold) -> None:
        holds = hold_states(self._now(), self.job.settings.profile)
        hold = next((one for one in holds if (one.point, one.at) == (before.point, before.at)), before)
        if hold.state == "ready for release":
            sign = to_sign(self.job.folder, hold, self._country)
            self.prompter.tell(f"“{hold.point.title}” lacks nothing but signatures: {hold.still}. Signed by: {sign}")

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
            if form := _form_of(event.source):
                filled, by = form
                return Filled(filled.replace(tzinfo=zone), by, known, self._role_in(event.source, by), ever_known)
        return Filled(now.astimezone(zone), self.by, known, self.role, ever_known)

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

    def _hold_back(self, name: str) -> None:
        """Say which hold point is closed before a section, and what may be answered all the same."""
        section = next(section for section in self.questions.section if section.id == name)
        closed = closed_before(self.interview.answers, section, self.job.settings.profile)
        for hold in [one for one in closed if is_listed(one.at)] or closed:
            missing = "; ".join(hold.missing)
            where = self.interview.answers.where(hold.at)
            title = f"{hold.point.title}, {where}" if where else hold.point.title
            self.prompter.tell(f"{title}: CLOSED. Missing: {missing}. {hold.point.until_then} {hold.point.meanwhile}")

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

    def _said(self, answers: Answers, answer: Answer) -> str:
        """Return an answer in words; at the kiln, marked where it is too old or opens nothing."""
        question, words = answers.questions.questions[answer.question], answers.in_words(answer)
        if not self.live or answer.state != "given" or not is_evidence(question):
            return words
        until = good_until(answers, question, answer)
        if until and until <= answers.now:
            return f"{words}, too old"
        opens = not question.may_open(answer.value) or not why_not(answers, question, answer, self._country)
        return words if opens else f"{words}, opens nothing"

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

    # ------------------------------------------------------------------------------------ one question

    def _ask_until_answered(
        self, item: Item, passed: list[Item], before: list[Item], *, detour: bool = False
    ) -> type[Leave] | None:
        """Ask until there is an answer or the question is passed; out of a detour `back` leads where one came from."""
        self._forget()
        reply: Reply | None = None
        while True:
            asked, in_role = self._asked(item), isinstance(reply, InRole)
            reply = self.prompter.ask(asked)
            if isinstance(reply, Leave):
                return Leave
            if isinstance(reply, Back) and in_role and asked.roles:
                self.role = ""  # which is asked for before the question
                continue
            if isinstance(reply, Back):
                if not before and detour:
                    return None
                if not before:
                    self.prompter.tell("This is the first question of this sitting; nothing stands before it.")
                    continue
                item = before.pop()
                self._forget()
                continue
            try:
                if isinstance(reply, ToSlate):
                    if self._detour(reply, item.question.section) is Leave:
                        return Leave
                    self._forget()
                    continue
                with self._endings() if self._at_once else nullcontext():
                    done = self._take(item, reply)
            except AnswerError as error:
                self.prompter.refuse(asked, str(error))
                continue
            if done:
                before.append(item)
                passed += [item] if isinstance(reply, Pass) else []
                return None

    def _forget(self) -> None:
        """Let what a word said of when and by whom end with the question at which it was said."""
        self._when, self._said_by, self._said_role = None, "", ""

    def _asked(self, item: Item) -> Asked:
        interview = self.interview
        answers = interview.answers
        items = interview.items(item.question.section)
        answer = answers.answer(item.question.id, item.at)
        return Asked(
            item,
            section=next(one.title for one in self.questions.section if one.id == item.question.section),
            where=answers.where(item.at),
            slate=interview.slate(item),
            so_far=self._said(answers, answer) if answer else "",
            finding=_finding(answers, item),
            number=items.index(item) + 1 if item in items else len(items),
            of=len(items),
            instruments=tuple(answers.instruments.values()),
            registered=answers.registered,
            check=lambda said: self._value(item.question, said),
            zone=self.job.settings.tz,
            roles=self._roles(item),
            every_role=self._every_role(),
            witness=self._witness(),
            own=not self._said_by,
            witnesses=self._witnesses(),
            row_before=_row_before(answers, item),
            reading_before=self._reading_before(answers, item),
        )

    def _reading_before(self, answers: Answers, item: Item) -> Given | None:
        """Return the last reading of this sitting that was taken with the same details, by a meter that counts."""
        details = {detail.id for detail in item.question.details}
        read = [one for told in answers.readings.values() for one in told if one.line > self._begun_at]
        for one in sorted(read, key=lambda one: one.line, reverse=True):
            meter = answers.instruments.get(one.instrument)
            if set(one.details) == details and meter and item.question.read_with(meter.what):
                given = _as_said(one)
                return given if isinstance(given, Given) else None
        return None

    def _roles(self, item: Item) -> tuple[tuple[str, str], ...]:
        attested = item.question.attested
        roles = self._country.roles_for(attested) if attested else []
        return tuple((role.id, role.title) for role in roles)

    def _every_role(self) -> tuple[tuple[str, str], ...]:
        return tuple((role.id, role.title) for role in self._country.role)

    def _witness(self) -> Witness:
        """Return who answers now, with what the words at the question said: another person, another time."""
        role = self._said_role or self._role_of(self._said_by) if self._said_by else self.role
        return Witness(self._said_by or self.who, role, self._when)

    def _role_of(self, who: str) -> str:
        """Return the role in which somebody spoke before; empty where nobody knows, or it was more than one."""
        roles = {one.role for one in self._witnesses() if same_person(one.who, who)}
        return roles.pop() if len(roles) == 1 else ""

    def _witnesses(self) -> tuple[Witness, ...]:
        """Return who has spoken in this job so far, whoever answers in this sitting first, each role of theirs.

        A role in which somebody does not speak any more, as after a slip, comes last.
        """
        told = (one for answers in self.interview.answers.history.values() for one in answers if one.who and one.role)
        own = [Witness(self.who, self.role)] if self.role else []
        spoke = dict.fromkeys([*own, *(Witness(one.who, one.role) for one in told)])
        return tuple(sorted(spoke, key=lambda one: one.role != self._speaks_as(one.who)))  # what was corrected, last

    def _speaks_as(self, who: str) -> str:
        """Return the role in which somebody spoke last; of whoever answers in this sitting, the one of the sitting."""
        if self.role and same_person(who, self.who):
            return self.role
        return next(iter(self.interview.answers.roles_of(who)), "")

    def _take(self, item: Item, reply: ToTheQuestion) -> bool:
        """Write a reply to the journal; say whether the question is answered (or passed) by it."""
        key = key_of(item.question.id, item.at)
        match reply:
            case Pass():
                return True
            case AddNote(text):
                self._note(key, text)
                self.prompter.tell("The note is kept.")
                return False
            case AddPhotograph(path):
                kept = self._photograph(key, take_in(_path(path), self.job.settings.tz), "hand")
                self.prompter.tell(f"Photograph {kept}.")
                return False
            case When(said):
                self._when = self._moment(said)
                return False
            case SaidBy(who, role):
                own = same_person(who, self.who)
                self._said_by, self._said_role = "" if own else who.strip(), role
                return False
            case InRole(role):
                self.role = role
                self.prompter.tell(f"{self.who} speaks as {self._title(role)} from here on; as: ROLE changes it.")
                return False
            case NoValue(state, reason):
                self._prove_note(key, reply.note)
                if state == "not_inspected" and not reason.strip():
                    raise AnswerError("'not inspected' needs its reason: not inspected: too dark")
                none = {"question": key, "state": state, "reason": reason, **self._told(reply.witness, "")}
                if self._stands(key, none, reply.note):
                    return True
                self._say_other_role(none)
                self._append("answer", none)
            case Given(said, instrument):
                self._prove_note(key, reply.note)
                read = self._read(item, reply) | self._told(reply.witness, reply.document)
                if self._stands(key, {"question": key, "state": "given", **read}, reply.note):
                    return True
                self._say_other_role(read)
                self._append_given(item, key, said, instrument, read)
        line = self.journal.events[-1].n
        if reply.note:
            self._note(key, reply.note)
        if self._at_once:
            self._say_misfits(item)
        self._no_use.of(self.interview.answers, key, line)
        if self._at_once:
            self._say_failed(key, line)
        return True

    def _say_failed(self, key: str, since: int) -> None:
        """Say of a reading that was written since a line, and stands, that it keeps a hold point closed."""
        answers = self.interview.answers
        read = answers.given.get(key)
        if failed := said_of(answers, read) if read and read.line >= since else "":
            self.prompter.tell(failed)

    @contextmanager
    def _endings(self) -> Iterator[None]:
        """Say which signatures end by what is written meanwhile, by what, and what their hold point lacks now."""
        before = {place: hold for place, hold in self._holds().items() if hold.signed}
        yield
        after = self._holds() if before else {}
        for place, hold in before.items():
            now = after.get(place, replace(hold, signatures=()))
            still = {one.line for one in now.signed}
            gone = [one.by for one in hold.signed if one.line not in still]
            if gone:
                where = self.interview.answers.where(hold.at)
                title = f"“{hold.point.title}”{f' ({where})' if where else ''}"
                self.prompter.tell(f"That ends {title}, signed by {' and '.join(gone)}{_why_ended(now)}")

    def _holds(self) -> dict[tuple[str, Address], Hold]:
        """Return the hold points at this minute; looked up only where anybody ever signed."""
        if not any(one.kind == "release" for one in self.journal.events):
            return {}
        return {(hold.point.id, hold.at): hold for hold in hold_states(self._now(), self.job.settings.profile)}

    @property
    def _today(self) -> date | None:
        """The day on which this is answered; None of a file, which may be read at any time."""
        if self.measured is None and not self.live:
            return None
        return (self.measured or self.clock()).astimezone(self.job.settings.tz).date()

    def _value(self, question: Question, said: str | list[str]) -> Any:
        """Read what was said to a question. Raises AnswerError."""
        zone = self.job.settings.tz
        return read_value(question, said, zone, self._today, now=self.clock())

    def _moment(self, said: str) -> datetime:
        """Read when something was seen; a clock time alone is of the day on which this is answered."""
        now, zone = self.clock(), self.job.settings.tz
        return come(read_moment(said, zone, self._today or now.astimezone(zone).date()), now)

    def _told(self, witness: Witness | None, document: str) -> dict[str, str]:
        """Return who says an answer, in which role, when it was seen, and by which paper, as the journal holds it.

        Raises AnswerError for a time that has not come.
        """
        said, own = witness or Witness(), self._witness()
        now = self.clock()
        measured = self._when or said.measured or (now if self.live else self.measured)
        measured = come(measured, now) if measured else None
        told = {
            "who": said.who or own.who, "role": said.role or ("" if said.who else own.role), "document": document,
            "measured": measured.astimezone(UTC).isoformat(timespec="seconds") if measured else "",
        }  # fmt: skip
        return {name: value for name, value in told.items() if value}

    def _read(self, item: Item, given: Given) -> dict[str, Any]:
        """Read an answer as the journal holds it. Raises AnswerError; writes nothing."""
        question = item.question
        value = self._value(question, given.said)
        if question.kind != "reading":
            return {"value": value}
        beyond = {"at_least": True} if beyond_range(str(given.said)) else {}
        name = given.instrument.id if isinstance(given.instrument, Instrument) else given.instrument
        known = self.interview.answers.instruments
        if name and isinstance(given.instrument, str) and name not in known:
            names = ", ".join(known) or "none yet"
            raise AnswerError(f"the instrument {name!r} is not registered (known: {names}); register it first")
        return {"value": value, "instrument": name, "details": read_details(question, given.details), **beyond}

    def _stands(self, key: str, told: dict[str, Any], note: str) -> bool:
        """Whether a file says of a question word for word what stands: it is read in again, and only a note is new.

        Raises AnswerError where that was said and corrected since.
        """
        if self._at_once or "measured" not in told:
            return False
        lines = [one for one in self.journal.events if one.kind in ("answer", "reading")
                 and one.data.get("question") == key]  # fmt: skip
        alike = [{name: of for name, of in one.data.items() if name != "said"} == told for one in lines]
        if not any(alike) or lines[-1].n <= self.interview.answers.unproved:
            return False
        if not alike[-1]:
            since = f"journal line {lines[-1].n} corrected it since"
            remedy = "if it is right after all, give it a `measured` of its own"
            raise AnswerError(f"this was answered before, and {since}; {remedy}")
        if note and note not in [one.text for one in self.interview.answers.notes.get(key, ())]:
            self._note(key, note)
        self.unchanged += 1
        return True

    def _append_given(self, item: Item, key: str, said: str | list[str], instrument: str | Instrument,
                      read: dict[str, Any]) -> None:  # fmt: skip
        if isinstance(instrument, Instrument):
            self.register(instrument)
        kind = "reading" if item.question.kind == "reading" else "answer"
        words = said if isinstance(said, str) else ", ".join(said)
        self._append(kind, {"question": key, "state": "given", "said": words, **read})

    def _say_misfits(self, item: Item) -> None:
        for check, at in self.interview.answers.misfits(of=[item.question.id]):
            where = self.interview.answers.label(at)
            self.prompter.tell(f"{where}: {check.say}; {check.remedy}.")

    # ------------------------------------------------------------------------------------ other events

    def register(self, instrument: Instrument) -> None:
        """Register an instrument. Raises AnswerError if its id names another one already, or did before a rescue."""
        if not instrument.id.strip() or not instrument.what.strip():
            raise AnswerError("an instrument needs an id and what it is, as in 'I1', 'insulation tester'")
        answers = self.interview.answers
        for known in answers.meters.get(instrument.id, set()) - {instrument}:
            said = f"the instrument {instrument.id!r} is registered already as {known.what} {known.serial}"
            raise AnswerError(f"{said.rstrip()}; give this one an id of its own")
        if instrument.id not in answers.instruments:
            self._append("instrument", asdict(instrument))

    def photographs(self, paths: Iterable[Path], minutes: float, tell: Callable[[str], None]) -> list[str]:
        """Take in pictures and bind each to a question by slate or time; return why some could not be taken.

        A picture that belongs to no question is kept all the same, and `tell` says so.
        """
        refused = []
        for path in paths:
            try:
                picture = take_in(path, self.job.settings.tz)
                key, how = self._bound(picture, minutes)
                name = self._photograph(key, picture, how)
            except (AnswerError, JobError) as error:
                refused.append(str(error))
                continue
            belongs = (
                f"{key} (by {how})" if key else "kept, but belongs to no question; take it in again with --question"
            )
            tell(f"{name}  {picture.name}  {belongs}")
        return refused

    def _bound(self, picture: Picture, minutes: float) -> tuple[str, str]:
        from recover.job.evidence import slate

        number = slate(picture.name)
        item = self.interview.by_slate(*number) if number else None
        if item:
            return key_of(item.question.id, item.at), "slate"
        return (self._by_time(picture, minutes), "time") if not number else ("", "")

    def _by_time(self, picture: Picture, minutes: float) -> str:
        """Return the question that was answered next after the picture was taken, if that was soon enough."""
        if picture.taken is None:
            return ""
        for event in self.journal.events:
            wait = (event.moment - picture.taken).total_seconds() / 60
            said_there = event.kind in ("answer", "reading") and not _form_of(event.source)
            if said_there and 0 <= wait <= minutes:
                return str(event.data["question"])
        return ""

    def take_photograph(self, path: Path, key: str) -> str:
        """Take in one picture for the question that is named; return the photograph's id. Raises AnswerError."""
        if found := _SLATE.fullmatch(key):
            item = self.interview.by_slate(int(found[1]), int(found[2]) if found[2] else None)
            key = key_of(item.question.id, item.at) if item else key
        name, at = split_key(key)
        question = self.questions.questions.get(name)
        if question is None or at not in self.interview.answers.instances(question):
            expected = "expected its slate number, as 22 or 22-2 for the second kiln, or a key, as gear.reached@kiln/1"
            raise AnswerError(f"no question {key!r} is asked in this job; {expected}")
        return self._photograph(key, take_in(path, self.job.settings.tz), "hand")

    def _photograph(self, key: str, picture: Picture, how: str) -> str:
        """Keep a picture for a question and say what was done in a word or two: its id, whether it was there before."""
        taken = [event for event in self.journal.events if event.kind == "photograph"]
        for event in taken:
            same = (event.data["sha256"], event.data["question"]) == (picture.sha256, key)
            if same and event.n > self.interview.answers.unproved:
                (kept,) = ever([event])
                back = put_back(self.journal, kept, picture.content, by=self.by, source=self.source)
                return f"{event.data['id']} {'put back' if back else 'was here before'}"
        name = f"P{next_picture(self.journal.events):02d}"
        about = {"id": name, "taken": picture.taken.isoformat() if picture.taken else None, "question": key,
                 "bound_by": how, "printable": picture.printable}  # fmt: skip
        keep_picture(self.journal, picture.name, picture.content, about, by=self.by, source=self.source)
        notes = "; ".join(filter(None, [picture.note, self.interview.answers.doubts_camera(picture.taken)]))
        return f"{name} ({notes})" if notes else name

    def _prove_note(self, key: str, text: str) -> None:
        """Prove that a note can be kept, before the answer is that it goes with. Raises AnswerError."""
        if text:
            self.journal.next("note", _of_note(key, text), by=self.by, source=self.source)

    def _note(self, key: str, text: str) -> None:
        self._append("note", _of_note(key, text))

    def _append(self, kind: Any, data: dict[str, Any]) -> None:
        self.journal.append(kind, data, by=self.by, source=self.source)


def _of_note(key: str, text: str) -> dict[str, str]:
    if not text.strip():
        raise AnswerError("the note is empty; write it, or leave it out")
    return {"question": key, "text": text.strip()}


def _form_of(source: str) -> tuple[datetime, str] | None:
    """Return when, by the job's clock, and by whom the form was filled in that a line came from; None of no form."""
    found = _FILLED.fullmatch(source)
    try:
        return (datetime.fromisoformat(found[1]), found[2]) if found else None
    except ValueError:  # no day: a file of such a name
        return None


def _path(typed: str) -> Path:
    """Return a path as it was typed; a shell would have put somebody's own folder for a ~."""
    try:
        return Path(typed).expanduser()
    except RuntimeError:  # of nobody who is known here, or the beginning of a name
        return Path(typed)


def _why_ended(hold: Hold) -> str:
    """Return what ended the last signature under a hold point, and what it lacks of its own now."""
    why = f": {hold.ended[-1].ended}." if hold.ended else "."
    return f"{why} It lacks now: {'; '.join(map(str, hold.unmet))}." if hold.unmet else why


def _finding(answers: Answers, item: Item) -> str:
    """Return what the findings ask of a component that a question speaks of, and why; empty where nothing is asked."""
    asks = [
        f"{found.title}: {outcome.words}. {reason.card.because}"
        for found, outcome in asking(answers, item.question.id, item.at)
        for reason in outcome.reasons[:1]
    ]
    return " ".join(dict.fromkeys(asks))


def _row_before(answers: Answers, item: Item) -> Given | NoValue | None:
    """Return what was answered of the component before this one in the same family of the same whole.

    A kiln is none: each has a form of its own.
    """
    kind = kind_of(item.at)
    whole = item.at.rpartition(f"{kind}/")[0]
    rows = [at for at in answers.instances(item.question) if kind != "kiln" and at.rpartition(f"{kind}/")[0] == whole]
    place = rows.index(item.at) if item.at in rows else 0
    answer = answers.answer(item.question.id, rows[place - 1]) if place else None
    return _as_said(answer) if answer else None


def _as_said(answer: Answer) -> Given | NoValue:
    if answer.state != "given":
        return NoValue(answer.state, answer.reason)
    said = sorted(answer.value) if isinstance(answer.value, frozenset) else answer.said
    details = {name: str(value) for name, value in answer.details.items()}
    witness = Witness(answer.who, answer.role, answer.measured)
    return Given(said, answer.instrument, details, witness=witness, document=answer.document)
