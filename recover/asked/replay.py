"""The journal replayed: what was told, what of it stands, and what nothing proves. Nothing here asks or decides."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cached_property, reduce
from hashlib import sha256
from itertools import dropwhile
from typing import Any
from zoneinfo import ZoneInfo

from recover.asked.questions import Questionnaire
from recover.asked.told import (
    BY_LOG,
    NEEDS_REASON,
    Answer,
    Instrument,
    Issued,
    Logged,
    Note,
    Photograph,
    Release,
    SheetRun,
    TakenBack,
    Withdrawal,
    decode,
    is_of_a_time_to_come,
    key_of,
    known_at,
    logs_water,
    same_person,
    seen_at,
    seen_since,
    split_key,
    to_the_minute,
)
from recover.base.addresses import Address
from recover.base.measures import CLOCKS_APART
from recover.base.nothing_said import says_nothing
from recover.job.journal import Event, unproved_lines
from recover.job.kept import papers_of

SHEETS, BY_SHEET = "sheets", "energise.cutout_set"
"""What the line of a plan tells of the sheets of its days, and the question that is held against them."""

ISSUED = "issue"
"""The kind of a line by which papers were issued, plans among them."""

DOUBTFUL = "the journal is broken there; give it again"
"""What is said of an answer that stands where nobody can tell what was altered."""


class Replay:
    """What was told up to one point of the journal. Never changed: a later journal is replayed anew."""

    def __init__(self, questions: Questionnaire, zone: ZoneInfo, events: Iterable[Event]) -> None:
        """Replay events in their order; of two answers to a question the one of the later time counts."""
        self.questions, self.zone = questions, zone
        self.given: dict[str, Answer] = {}
        self.history: dict[str, list[Answer]] = {}
        """Every answer that was ever written to a key, in the order of the journal."""
        self._latest: dict[str, Answer] = {}
        """The answer to a key that is of the latest time: what is written down later of an earlier time is past."""
        self._clock: datetime | None = None
        """The latest moment of any line so far."""
        self.stood: set[int] = set()
        """The lines of the answers that counted when they were written, whether others took their place or not."""
        self.readings: dict[str, list[Answer]] = {}
        """Every reading of a question that was not taken back, in the order of the journal."""
        self.notes: dict[str, list[Note]] = {}
        self.instruments: dict[str, Instrument] = {}
        self.meters: dict[str, set[Instrument]] = {}
        """Every meter that an id was ever given to; one that was given to two is no meter's."""
        self.photographs: list[Photograph] = []
        self.logged: list[Logged] = []
        self.unlogged: list[Logged] = []
        """What was logged and taken back: nobody knows better by that, until it is read again."""
        self.struck: dict[int, str] = {}
        """Why lines of the log were taken back, by their numbers, where somebody said why."""
        self.releases: list[Release] = []
        self.withdrawn: dict[int, Withdrawal] = {}
        """By the line of a signature, who took it back first."""
        self.issued: list[Issued] = []
        self.sheets: dict[Address, tuple[SheetRun, ...]] = {}
        """The runs of each kiln's own elements by the sheets of the newest plan, in their order."""
        self.unproved: tuple[range, ...] = ()
        """The lines that nothing proves, and why: the journal was broken, or a clock ran ahead."""
        self.unproved_why = ""
        self._doubtful: set[int] = set()
        """The lines of answers that tell nothing: they may have been altered, or a later one can be read no more."""
        self.last_entry: datetime | None = None
        """When the journal's last line was written, by the job's own clock."""
        self._events = tuple(events)
        self._written_by = dict(_least_since(self._events))
        self._disowning: list[Event] = []
        """The lines that say of others up to which nothing is evidence, and have not been reached by these yet."""
        for event in self._events:
            self._replay(event)
            self._disown(event.n)
        self._disown()

    def is_unproved(self, key: str) -> bool:
        """Whether what stands is of a line that nothing proves."""
        return key in self.given and self.is_line_unproved(self.given[key].line)

    def is_line_unproved(self, line: int) -> bool:
        """Whether nothing proves what a line of the journal tells."""
        return any(line in lines for lines in self.unproved)

    @property
    def registered(self) -> tuple[Instrument, ...]:
        """Every meter that was ever registered, also where nothing proves that any more."""
        return tuple(one for meters in self.meters.values() for one in meters)

    @property
    def lines(self) -> int:
        """How many lines of the journal this is known from."""
        return len(self._events)

    @property
    def last_told(self) -> int:
        """The last line of the journal that says anything of the job; papers that were issued say nothing new of it."""
        return max((one.n for one in self._events if one.kind != ISSUED), default=0)

    @cached_property
    def by_question(self) -> Mapping[str, list[Answer]]:
        """The answers that stand, by question: what was said of each of its components."""
        found: dict[str, list[Answer]] = {}
        for answer in self.given.values():
            found.setdefault(answer.question, []).append(answer)
        return found

    def noted(self, key: str, earlier: Answer | None = None) -> str:
        """Return the notes that belong to the answer that stands, or to an earlier one.

        A note belongs to the answer that it follows on the next line, else to the one that is given after it.
        """
        told, stands = [one.line for one in self.history.get(key, ())], earlier or self.given.get(key)

        def of_line(note: Note) -> int:
            after = min((line for line in told if line > note.line), default=0)
            return note.line - 1 if note.line - 1 in told else after

        of = {note: of_line(note) for note in self.notes.get(key, ())}
        ours = [note.text for note, line in of.items() if (stands and line == stands.line) or not (line or earlier)]
        return " / ".join(ours)

    def lines_since(self, line: int, questions: Collection[str]) -> Iterator[int]:
        """Yield each line after another that may change what a need was found to be.

        It answers one of some questions, or takes a member out; it is no answer and changes what answers are worth (a
        picture, what was set aside); or it shows that a clock was wrong, and so what is later than what.
        """
        latest: datetime | None = None
        for event in self._events:
            latest = max(event.moment, latest or event.moment)
            is_behind = event.moment < latest - CLOCKS_APART
            if event.n > line and (is_behind or _may_change(event, questions)):
                yield event.n

    def hash_at(self, line: int) -> str:
        """Return a hash over every line up to one."""
        return self._hashes[line]

    @cached_property
    def _hashes(self) -> dict[int, str]:
        found, running = {}, sha256()
        for event in self._events:
            running.update(event.line())
            found[event.n] = running.hexdigest()
        return found

    def moment_of(self, line: int) -> datetime:
        """Return when a line was written."""
        return next(event.moment for event in self._events if event.n == line)

    def roles_of(self, who: str) -> list[str]:
        """Return the roles in which somebody has spoken or signed, the last one first."""
        told = (one for answers in self.history.values() for one in answers if same_person(one.who, who))
        spoken = [(one.line, one.role) for one in told if one.role]
        spoken += [(one.line, one.role) for one in self.releases if same_person(one.by, who)]
        return list(dict.fromkeys(role for _, role in sorted(spoken, reverse=True)))

    def last_given(self, key: str) -> Answer | None:
        """Return what was last given to a key, also where it was taken back since; None where nothing ever was."""
        return next((one for one in reversed(self.history.get(key, ())) if one.state == "given"), None)

    # ------------------------------------------------------------------------------------ line by line

    def _replay(self, event: Event) -> None:
        data, moment = event.data, event.moment.astimezone(self.zone)
        if data.get("unproved"):  # written after the lines that it speaks of, wherever it stands
            self._disowning.append(event)
            return
        self._clock = max(event.moment, self._clock or event.moment)
        if event.kind != ISSUED:  # what is issued says nothing new of the kiln
            self.last_entry = moment
        if event.kind in ("answer", "reading"):
            self._replay_answer(self._replayed_answer(event))
        elif event.kind == "note":
            self.notes.setdefault(data["question"], []).append(Note(event.n, data["text"]))
        elif event.kind == "instrument":
            self._register(Instrument(**data))
        elif event.kind == "photograph":
            taken = datetime.fromisoformat(data["taken"]).astimezone(self.zone) if data["taken"] else None
            self.photographs.append(Photograph(**{**data, "taken": taken}))
        elif event.kind == "logged":
            self._replay_logged(event)
        elif event.kind == "release":
            self.releases.append(_release_of(event, moment))
        elif event.kind == "withdrawal":
            for line in data["releases"]:
                why = data.get("reason", "")
                self.withdrawn.setdefault(
                    line, Withdrawal(by=event.by, role=data["role"], moment=moment, line=event.n, reason=why)
                )
        elif event.kind == ISSUED:
            about = {name: data[name] for name in ("revision", "record", "capacity")}
            self.issued.append(Issued(papers=papers_of(event), **about, by=event.by, moment=moment))
            if SHEETS in data:
                self.sheets = {kiln: tuple(map(_sheet_run, runs)) for kiln, runs in data[SHEETS].items()}

    def _replay_logged(self, event: Event) -> None:
        data = dict(event.data)
        why = str(data.get("said", "")).strip() if "takes_back" in data else ""
        why = "" if says_nothing(why) else why
        gone = [one for one in self.logged if one.line == data.get("takes_back")]
        gone = [one for one in gone if why or one.what not in NEEDS_REASON]
        back = TakenBack(by=event.by, moment=event.moment.astimezone(self.zone), line=event.n, why=why)
        self.unlogged += [replace(one, taken_back=back) for one in gone]
        self.logged = [one for one in self.logged if one not in gone]
        if why:
            self.struck[data["takes_back"]] = why
        if "takes_back" not in data:
            data["measured"] = datetime.fromisoformat(data["measured"]).astimezone(self.zone)
            written = event.moment.astimezone(self.zone)
            self.logged.append(Logged(line=event.n, by=event.by, written=written, source=event.source, **data))

    def _register(self, instrument: Instrument) -> None:
        """Register a meter; where its id was another one's, nobody can tell any more which of them read what."""
        self.meters.setdefault(instrument.id, set()).add(instrument)
        self.instruments[instrument.id] = instrument
        if len(self.meters[instrument.id]) > 1:
            del self.instruments[instrument.id]

    def _disown(self, reached: int | None = None) -> None:
        """Let what is said of lines that nothing proves hold once the last of them is replayed, or all are."""
        due = [one for one in self._disowning if reached is None or one.data["unproved"] <= reached]
        for event in due:
            self._disowning.remove(event)
            moment = self.last_entry = event.moment.astimezone(self.zone)
            self._unprove(unproved_lines(event.data), event.data.get("doubtful", ()), moment)
            self._lose(event.data.get("lost", ()))
            self.unproved_why = event.data["why"]

    def _unprove(self, lines: range, doubtful: Collection[int], moment: datetime) -> None:
        """Let nothing of some lines count as evidence: their meters are registered anew, their pictures show what they
        show, and what they take back of the log before them stands.

        What doubtful lines answer is not known, and none of those lines is of a later time than this.
        """
        self.unproved, self._clock = (*self.unproved, lines), moment
        self._doubtful.update(doubtful)
        proved = {(event.kind, event.data["id"]) for event in self._events
                  if event.kind in ("instrument", "photograph") and event.n not in lines}  # fmt: skip
        self.instruments = {name: one for name, one in self.instruments.items() if ("instrument", name) in proved}
        self.photographs = [
            one if ("photograph", one.id) in proved else replace(one, bound_by="") for one in self.photographs
        ]
        self._put_back(lines)
        for answers in (self.history, self.readings):
            for key, told in answers.items():
                answers[key] = [_no_later_than(moment, one) for one in told]
        for key, told in self.history.items():
            stands = _no_later_than(moment, self.given[key])
            is_doubtful = stands.line in doubtful
            self.given[key] = replace(stands, state="unknown", value=None, reason=DOUBTFUL) if is_doubtful else stands
            self._latest.pop(key, None)
            for one in told:
                self._tell_time(key, one)

    def _put_back(self, lines: range) -> None:
        """Let what was logged before some lines, and taken back on one of them, stand again."""
        gone = [one for one in self.unlogged if one.taken_back and one.taken_back.line in lines]
        back = [one for one in gone if one.line < lines.start]
        self.unlogged = [one for one in self.unlogged if one not in back]
        self.struck = {line: why for line, why in self.struck.items() if line not in {one.line for one in back}}
        stand = [*self.logged, *(replace(one, taken_back=None) for one in back)]
        self.logged = sorted(stand, key=lambda one: one.line)

    def _lose(self, keys: Iterable[str]) -> None:
        """Let what was answered to a key be unknown: a later answer to it can be read no more."""
        for key in keys:
            self._latest.pop(key, None)
            self._doubtful.update(one.line for one in self.history.get(key, ()))
            if key in self.given:
                self.given[key] = replace(self.given[key], state="unknown", value=None, reason=DOUBTFUL)

    def _replay_answer(self, answer: Answer) -> None:
        key = key_of(answer.question, answer.at)
        untimed = self._latest[key] if self._times(key, answer) else None
        if not self._is_past(key, answer):
            self.given[key] = answer
        else:
            self.given[key] = self._with(self.given[key], answer)
        self.history.setdefault(key, []).append(answer)
        self._tell_time(key, answer)
        if untimed:  # what was said otherwise since stands now, whether it stood before or not
            both, told = (untimed, self._latest[key]), filter(self._tells, self.history[key])
            self.given[key] = reduce(self._with, dropwhile(lambda one: one not in both, told), self._latest[key])
        self.stood.add(self.given[key].line)
        read, question = self.readings.setdefault(key, []), self.questions.questions.get(answer.question)
        if question and question.kind == "reading" and answer.state == "given":
            read.append(answer)
            read.sort(key=seen_at)
        elif read and self.given[key].line == answer.line:  # a reading that is later said to be unknown is unknown
            read.pop()

    def _is_past(self, key: str, answer: Answer) -> bool:
        """Say whether what is written down now is of an earlier time than what stands.

        Where clocks contradict the order of the lines nobody knows, nor where what stands was said to be of a time to
        come; and what is worse stands.
        """
        latest = self._latest.get(key)
        if latest is None or answer.measured is None or seen_since(answer) >= known_at(latest):
            return False
        dated = self._latest_dated(key)
        then = min(seen_since(dated), known_at(dated)) if dated else seen_at(answer)
        certainly = to_the_minute(seen_at(answer)) < to_the_minute(then)
        return certainly or not self._may_be_worse(answer, self.given[key])

    def _latest_dated(self, key: str) -> Answer | None:
        """Return the answer of the latest time, of those that were not said to be of a time to come."""
        latest = self._latest[key]
        if not is_of_a_time_to_come(latest):
            return latest
        told = (one for one in self.history[key] if self._tells(one) and not is_of_a_time_to_come(one))
        return max(told, key=known_at, default=None)

    def _times(self, key: str, answer: Answer) -> bool:
        """Say whether somebody adds the time to what was said without one: that says nothing else."""
        latest = self._latest.get(key)
        return bool(latest and latest.measured is None and answer.measured and _says_the_same(latest, answer))

    def _may_be_worse(self, answer: Answer, than: Answer) -> bool:
        """Say whether an answer is worse than another, or neither is known to be."""
        question = self.questions.questions.get(answer.question)
        if question is None or not answer.state == than.state == "given":
            return answer.state != "given"
        return not question.is_worse(than.value, answer.value)

    def _tells(self, answer: Answer) -> bool:
        """Say whether an answer tells how it was: also that nobody knows, of evidence or of a reading."""
        if answer.line in self._doubtful:
            return False
        question = self.questions.questions.get(answer.question)
        measures = bool(question and (question.holds_for or question.attested or question.kind == "reading"))
        return answer.state == "given" or (answer.state == "unknown" and measures)

    def _tell_time(self, key: str, answer: Answer) -> None:
        """Keep which answer to a key is of the latest time. Whoever knows no more of evidence or of a reading is not
        overruled by what was known before."""
        if not self._tells(answer):
            return
        latest = self._latest.get(key)
        if self._times(key, answer):  # its own time counts now, and that of whatever else was said
            told = filter(self._tells, self.history[key])
            timed = (one for one in told if one.measured or not _says_the_same(one, answer))
            self._latest[key] = max(timed, key=known_at)
        elif latest is None or self._is_now(answer, latest):
            self._latest[key] = answer

    def _is_now(self, answer: Answer, latest: Answer) -> bool:
        """Say whether an answer is of the latest time from now on; what was said to be of a time to come gives way."""
        stands = self.given[key_of(answer.question, answer.at)] is answer
        return known_at(answer) >= known_at(latest) or (stands and is_of_a_time_to_come(latest))

    def _with(self, stands: Answer, earlier: Answer) -> Answer:
        """Return what stands, or one of an earlier time that tells worse of what happened; of several choices, both."""
        question = self.questions.questions.get(earlier.question)
        given = earlier.state == stands.state == "given"
        if not (question and question.happened and given and question.is_worse(earlier.value, stands.value)):
            return stands
        several = isinstance(earlier.value, frozenset)
        return replace(earlier, value=(earlier.value | stands.value) - set(question.alone)) if several else earlier

    def _replayed_answer(self, event: Event) -> Answer:
        data = dict(event.data)
        name, at = split_key(data.pop("question"))
        question = self.questions.questions.get(name)
        value = data.pop("value", None)
        if question and data["state"] == "given":
            if question.takes(value):
                value = decode(question, value, self.zone)
            else:  # of another program, or by another hand: nothing that can be known
                value, data["state"] = None, "unknown"
        if question and "details" in data:
            may = {detail.id: detail for detail in question.details}
            data["details"] = {key: of for key, of in data["details"].items() if key in may and may[key].takes(of)}
        measured = datetime.fromisoformat(data.pop("measured")).astimezone(self.zone) if data.get("measured") else None
        data.pop("measured", None)
        moment = event.moment.astimezone(self.zone)
        behind = max(timedelta(), (self._clock or event.moment) - event.moment)
        ahead = event.moment - self._written_by[event.n]
        ahead = ahead if ahead > CLOCKS_APART else timedelta()  # of two machines a few minutes apart each is right
        return Answer(
            question=name,
            at=at,
            value=value,
            measured=measured,
            by=event.by,
            moment=moment,
            line=event.n,
            behind=behind,
            ahead=ahead,
            **data,
        )


def _says_the_same(one: Answer, other: Answer) -> bool:
    return (one.state, one.value) == (other.state, other.value)


def _least_since(events: Sequence[Event]) -> Iterator[tuple[int, datetime]]:
    """Yield each line with the least moment of it and of any after it: by then it was written."""
    least: datetime | None = None
    for event in reversed(events):
        least = min(event.moment, least or event.moment)
        yield event.n, least


def _may_change(event: Event, questions: Collection[str]) -> bool:
    if event.kind in ("answer", "reading"):
        return split_key(event.data["question"])[0] in questions or event.data["state"] == "not_applicable"
    if event.kind == "logged":
        water = logs_water(event.data["what"], event.data.get("word", ""))
        return water or not BY_LOG.isdisjoint(questions)
    return event.kind in ("instrument", "photograph", "set_aside") or (SHEETS in event.data and BY_SHEET in questions)


def _sheet_run(of: Mapping[str, Any]) -> SheetRun:
    begins, ends = (datetime.fromisoformat(of[name]) for name in ("begins", "ends"))
    return SheetRun(begins=begins, ends=ends, top_degc=of["top_degc"], cutout_degc=of.get("cutout_degc"))


def _no_later_than(moment: datetime, answer: Answer) -> Answer:
    """Return an answer as being of no later time than a moment, whatever clock wrote it."""
    surplus = seen_at(answer) - moment
    return replace(answer, behind=answer.behind - surplus) if surplus > timedelta() else answer


def _release_of(event: Event, moment: datetime) -> Release:
    """Return a release as written; of older versions the capacity is its role, and what it rests on is not known."""
    data = event.data
    return Release(
        hold_point=data["hold_point"],
        at=data["at"],
        by=event.by,
        duty=data.get("duty", ""),
        role=data.get("role", data.get("capacity", "")),
        licence=data.get("licence", ""),
        moment=moment,
        line=event.n,
        rests_on=data.get("rests_on"),
        after=tuple(data.get("after", ())),
    )
