"""Writes down what is said at a sitting: instruments, notes, and pictures, each bound to a question."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.questions import Questionnaire
from recover.asked.told import Instrument, key_of, same_person, split_key
from recover.base.addresses import Address
from recover.base.errors import AnswerError, JobError
from recover.interview.engine import Interview
from recover.interview.no_use import NoUse
from recover.interview.prompter import (
    FORM,
    Prompter,
)
from recover.interview.script import Script
from recover.job.evidence import Picture, take_in
from recover.job.folder import Job
from recover.job.journal import Journal, utc_now
from recover.job.kept import ever, next_picture
from recover.job.writing import keep_picture, put_back
from recover.judged.assessment import answers_of
from recover.profiles import profile

_SLATE = re.compile(r"(?:slate\s*)?(\d{1,3})(?:-(\d{1,2}))?", re.IGNORECASE)
_FILLED = re.compile(rf"{FORM}, filled in (\d{{4}}-\d\d-\d\d \d\d:\d\d) by (.+)")


class Scribe:
    """Who writes, over an open journal, and the interview as that stands."""

    def __init__(self, job: Job, journal: Journal, prompter: Prompter, *, by: str, source: str, who: str = "",
                 role: str = "", call: bool = False, on_the_spot: bool = False, clock: Callable[[], datetime] = utc_now,
                 questions: Questionnaire | None = None) -> None:  # fmt: skip
        """Take the job, its open journal, and who answers in which role by what way.

        `on_the_spot`: what is answered is seen and measured now. Otherwise each answer says when, or nobody knows. `by`
        writes it down; `who` saw it, which is another one where a paper form is typed in or a file is read.
        """
        self.job, self.journal, self.prompter = job, journal, prompter
        self.by, self.who, self.source, self.call = by, who or by, source, call
        self._begun_at = len(journal.events)
        self.role_before = self._role_spoken(by) if on_the_spot else ""
        self.role, self._role_said = role or self.role_before, bool(role)
        self.on_the_spot, self.clock = on_the_spot, clock
        self.measured: datetime | None = None
        self._stays_stopped = False
        self._when: datetime | None = None
        self._said_by, self._said_role = "", ""
        self._country = profile(job.settings.profile)
        self._no_use = NoUse(
            self._country, lambda line: self.prompter.tell(line), on_the_spot=on_the_spot,
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

    def _now(self) -> Answers:
        """Return what is known at this minute: what held a while ago may be out of date by now."""
        self._replayed = None
        return self.interview.answers

    def _role_spoken(self, who: str) -> str:
        """Return the role in which somebody spoke last in this job; empty where nobody wrote it down."""
        told = (one.data for one in reversed(self.journal.events) if one.kind in ("answer", "reading"))
        return next((str(one["role"]) for one in told if one.get("role") and same_person(str(one.get("who")), who)), "")

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
            said_there = event.kind in ("answer", "reading") and not form_named(event.source)
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
            if same and not self.interview.answers.is_line_unproved(event.n):
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


def form_named(source: str) -> tuple[datetime, str] | None:
    """Return when, by the job's clock, and by whom the form was filled in that a line came from; None of no form."""
    found = _FILLED.fullmatch(source)
    try:
        return (datetime.fromisoformat(found[1]), found[2]) if found else None
    except ValueError:  # no day: a file of such a name
        return None
