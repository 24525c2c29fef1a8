"""The ways to sit down with a job: at a terminal, with a paper form, a file of answers, a folder of photographs."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import TextIO

from recover.asked.compiled import questionnaire
from recover.asked.told import FILE, same_person
from recover.base.counted import by_number
from recover.base.errors import AnswerError, DataError, JournalError, Problem
from recover.base.measures import as_written
from recover.interview.engine import Interview
from recover.interview.from_form import Paper, Say
from recover.interview.prompter import FORM
from recover.interview.script import AnswersFile, Script
from recover.interview.session import Session
from recover.interview.typed import read_role
from recover.job.evidence import pictures_in
from recover.job.folder import Job
from recover.job.journal import Journal, utc_now
from recover.judged.assessment import answers_of
from recover.profiles import limits, profile

Clock = Callable[[], datetime]


def call_is_open(job: Job) -> bool:
    """Whether a call was broken off: a question of it is open, or its sheets were never written."""
    return call_asks(job) or not any((job.folder / "papers").glob("first-days*"))


def call_asks(job: Job) -> bool:
    """Whether a question of the call is still open; what may be left out keeps no call open."""
    call = Interview(answers_of(job), call=True)
    items = [item for section in call.answers.questions.section for item in call.items(section.id)]
    return call.stop is None and any(not (item.question.optional or call.answered(item)) for item in items)


def _role(job: Job, said: str) -> str:
    """Return the id of a role that was given with the command, by id or title. Raises AnswerError for none of them."""
    return read_role(said, [(role.id, role.title) for role in profile(job.settings.profile).role]) if said else ""


def at_terminal(
    job: Job, by: str, role: str = "", *, say: Callable[[str], None], call: bool, clock: Clock = utc_now
) -> None:
    """Ask a person: the call straight through, a visit by sections. Raises KeyboardInterrupt; all answers are kept."""
    from recover.interview.terminal import Terminal

    role = _role(job, role)
    with Journal(job.journal, clock) as journal, Terminal(say) as terminal:
        session = Session(
            job, journal, terminal, by=by, role=role, source="interview", call=call, on_the_spot=True, clock=clock
        )
        session.straight_through() if call else session.run(terminal)


def by_form(
    job: Job, by: str, lines: TextIO, role: str = "", *, say: Say, now: datetime, clock: Clock = utc_now
) -> None:
    """Type in filled-in paper forms, one line an answer. Raises KeyboardInterrupt; all answers are kept."""
    role = _role(job, role)
    with Journal(job.journal, clock) as journal, Paper(lines, say) as paper:
        Session(job, journal, paper, by=by, role=role, source=FORM, clock=clock).forms(paper, now)


def by_file(
    job: Job, file: AnswersFile, name: str, by: str, *, role: str = "", tell: Callable[[str], None],
    clock: Clock = utc_now,
) -> tuple[Problem, ...]:  # fmt: skip
    """Answer from a file and return everything in it that did not fit; what fits is kept.

    `by` writes it down. Who saw it is who the file names, in the role that it names: raises AnswerError where `role`
    would put another one to that name, DataError for an instrument that cannot be registered.
    """
    script, (who, role) = Script(file, name, questionnaire()), _who_speaks(file, by, role)
    with Journal(job.journal, clock) as journal:
        source = FILE + as_written(os.fsencode(name))  # a name in another encoding has letters that cannot be written
        session = Session(job, journal, script, by=by, who=who, role=role, source=source, clock=clock)
        try:
            _register(session, file, name)
            session.scripted(script)
        except JournalError as error:
            all_of = by_number(len(file.answer), one="{number} answer", other="{number} answers")
            some = f"Kept {_answers_in(journal, job)} of {all_of}"
            raise JournalError(f"{error}. {some}; read the file in again then") from error
        kept = _answers_in(journal, job)
    for line in dict.fromkeys(script.told):
        tell(line)
    script.finish()
    more = by_number(session.unchanged, one="{number} more was", other="{number} more were")
    before = f", {more} here before" if session.unchanged else ""
    if script.problems or before:
        go_on = " Correct the others in the file and read it in again." if script.problems else ""
        all_of = by_number(len(file.answer) + len(file.faults), one="{number} answer", other="{number} answers")
        tell(f"Kept {kept} of {all_of}{before}.{go_on}")
    return tuple(script.problems)


def _register(session: Session, file: AnswersFile, name: str) -> None:
    """Register the instruments of a file. Raises DataError: no reading may be put down to another one."""
    problems = []
    for instrument in file.instrument:
        try:
            session.register(instrument)
        except AnswerError as error:
            remedy = "correct it in the file; no answer of it was read"
            problems.append(Problem(f"{name} [instrument {instrument.id}]", str(error), remedy))
    if problems:
        raise DataError(problems)


def _who_speaks(file: AnswersFile, by: str, role: str) -> tuple[str, str]:
    """Return who saw what stands in a file, and in which role: name and role are of one person."""
    if not file.by:
        return by, role or file.role
    if role and role != file.role and (file.role or not same_person(by, file.by)):
        said = f"{file.by}{f', {file.role}' if file.role else ''}"
        raise AnswerError(f"the file is by {said}; {role!r} would be another role for that name: put it into the file")
    return file.by, file.role or role


def _answers_in(journal: Journal, before: Job) -> int:
    """Return how many answers were written since a job was opened."""
    return sum(one.kind in ("answer", "reading") for one in journal.events[len(before.events) :])


def photographs(job: Job, files: Iterable[Path], question: str | None, by: str, *,
                tell: Callable[[str], None], clock: Clock = utc_now) -> list[str]:  # fmt: skip
    """Take in pictures, for one question or each for its own; return why some could not be taken.

    What lies among them and is no picture is said, and left where it is.
    """
    found = [pictures_in(file) for file in files]
    paths = [picture for pictures, _ in found for picture in pictures]
    if others := [other.name for _, others in found for other in others]:
        tell(f"Left where they are, no pictures of a kind that is taken in: {', '.join(others)}. Of a raw picture or a "
             "film keep the file, and take in a JPEG.")  # fmt: skip
    if not paths:
        return [f"no picture in {', '.join(map(str, files))}; name a folder that holds some"]
    nobody = Script(AnswersFile(by), "photographs", questionnaire())
    with Journal(job.journal, clock) as journal:
        session = Session(job, journal, nobody, by=by, source="photographs", clock=clock)
        if question is None:
            return session.photographs(paths, limits(job.settings.profile)["photo_minutes"], tell)
        for path in paths:
            tell(f"{session.take_photograph(path, question)}  {path.name}  {question}")
        return []
