"""One question: put, until there is an answer, and what that answer means said at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from recover.asked.answers import Answers
from recover.asked.questions import Question
from recover.asked.said import beyond_range, come, read_details, read_value
from recover.asked.told import Answer, Instrument, key_of, same_person, split_key
from recover.base.addresses import Address, is_listed, kind_of
from recover.base.errors import AnswerError
from recover.base.measures import read_moment
from recover.interview.engine import Item
from recover.interview.prompter import (
    AddNote,
    AddPhotograph,
    Asked,
    Back,
    Given,
    InRole,
    Leave,
    NoValue,
    Pass,
    Reply,
    Speaker,
    ToSlate,
    ToTheQuestion,
    When,
)
from recover.interview.scribe import Scribe
from recover.job.evidence import take_in
from recover.judged.admissible import good_until, is_evidence, why_not
from recover.judged.assessment import closed_before
from recover.judged.failed import said_of
from recover.judged.holds import hold_states
from recover.judged.outcomes import asking
from recover.judged.standing import Hold


class Asking(Scribe):
    """Puts a question, and has its answer on the disk before the next."""

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

    def _hold_back(self, name: str) -> None:
        """Say which hold point is closed before a section, and what may be answered all the same."""
        section = next(section for section in self.questions.section if section.id == name)
        closed = closed_before(self.interview.answers, section, self.job.settings.profile)
        for hold in [one for one in closed if is_listed(one.at)] or closed:
            where = self.interview.answers.where(hold.at)
            title = f"{hold.point.title}, {where}" if where else hold.point.title
            closed_by = f"{hold.point.until_then} {hold.point.meanwhile}"
            closed_by = f"CLOSED. Missing: {'; '.join(hold.missing)}. {closed_by}"
            self.prompter.tell(f"{title}: {hold.suspended or closed_by}")

    def _said(self, answers: Answers, answer: Answer) -> str:
        """Return an answer in words; at the kiln, marked where it is too old or opens nothing."""
        question, words = answers.questions.questions[answer.question], answers.in_words(answer)
        if not self.on_the_spot or answer.state != "given" or not is_evidence(question):
            return words
        until = good_until(answers, question, answer)
        if until and until <= answers.now:
            return f"{words}, too old"
        opens = not question.may_open(answer.value) or not why_not(answers, question, answer, self._country)
        return words if opens else f"{words}, opens nothing"

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
            item=item,
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
            speaker=self._speaker(),
            own=not self._said_by,
            speakers=self._speakers(),
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

    def _speaker(self) -> Speaker:
        """Return who answers now, with what the words at the question said: another person, another time."""
        role = self._said_role or self._role_of(self._said_by) if self._said_by else self.role
        return Speaker(self._said_by or self.who, role, self._when)

    def _role_of(self, who: str) -> str:
        """Return the role in which somebody spoke before; empty where nobody knows, or it was more than one."""
        roles = {one.role for one in self._speakers() if same_person(one.who, who)}
        return roles.pop() if len(roles) == 1 else ""

    def _speakers(self) -> tuple[Speaker, ...]:
        """Return who has spoken in this job so far, whoever answers in this sitting first, each role of theirs.

        A role in which somebody does not speak any more, as after a slip, comes last.
        """
        told = (one for answers in self.interview.answers.history.values() for one in answers if one.who and one.role)
        own = [Speaker(self.who, self.role)] if self.role else []
        spoke = dict.fromkeys([*own, *(Speaker(one.who, one.role) for one in told)])
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
            case Speaker(who, role):
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
                none = {"question": key, "state": state, "reason": reason, **self._told(reply.speaker, "")}
                if self._stands(key, none, reply.note):
                    return True
                self._say_other_role(none)
                self._append("answer", none)
            case Given(said, instrument):
                self._prove_note(key, reply.note)
                read = self._read(item, reply) | self._told(reply.speaker, reply.document)
                if self._stands(key, {"question": key, "state": "given", **read}, reply.note):
                    return True
                self._say_other_role(read)
                self._append_given(item, key, said, instrument, read)
        line = self.journal.events[-1].n
        if reply.note:
            self._note(key, reply.note)
        if self._at_once:
            self._say_heard(item)
            self._say_misfits(item)
        self._no_use.of(self.interview.answers, key, line)
        if self._at_once:
            self._say_failed(key, line)
        return True

    def _say_heard(self, item: Item) -> None:
        """Say how what was just kept was understood."""
        answers = self.interview.answers
        if answer := answers.answer(item.question.id, item.at):
            self.prompter.heard(self._said(answers, answer))

    def _say_failed(self, key: str, since: int) -> None:
        """Say of a reading that was written since a line, and stands, that it keeps a hold point closed."""
        answers = self.interview.answers
        read = answers.given.get(key)
        if failed := said_of(answers, read) if read and read.line >= since else "":
            self.prompter.tell(failed if self._at_once else f"{answers.slate_of(*split_key(key))}: {failed}")

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
        if self.measured is None and not self.on_the_spot:
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

    def _told(self, speaker: Speaker | None, document: str) -> dict[str, str]:
        """Return who says an answer, in which role, when it was seen, and by which paper, as the journal holds it.

        Raises AnswerError for a time that has not come.
        """
        said, own = speaker or Speaker(), self._speaker()
        now = self.clock()
        measured = self._when or said.measured or (now if self.on_the_spot else self.measured)
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
        if not any(alike) or self.interview.answers.is_line_unproved(lines[-1].n):
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
    speaker = Speaker(answer.who, answer.role, answer.measured)
    return Given(said, answer.instrument, details, speaker=speaker, document=answer.document)
