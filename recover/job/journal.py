"""The journal: everything that was said about a job, one JSON line an event, never changed afterwards.

It is evidence in a claim. So a correction is a new line; each line carries the SHA-256 of the line before it, so that
an edited or removed line shows; each line is on the disk before the next question is asked; and a file that was cut
anywhere (a laptop that lost power) opens with everything but the torn line. The lock is the operating system's
advisory lock on the file itself: it dies with the program. The only door to portalocker.
"""

from __future__ import annotations

import codecs
import hashlib
import json
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from io import FileIO
from pathlib import Path
from secrets import token_hex
from types import TracebackType
from typing import Any, cast

from recover.base.errors import AnswerError, JournalError, Problem, command, listed
from recover.base.measures import as_written, is_writable
from recover.job import lines
from recover.job.lines import KINDS, LineKind

FORMAT = "recover-journal"
VERSION = 3
"""1: an issue was a line for each paper; 2: one line for all of its files, and files that were set aside; 3: what is
logged while a kiln dries."""

NOTHING_BEFORE = "0" * 64

_FIELDS = {"n": int, "at": str, "by": str, "source": str, "kind": str, "data": dict, "before": str}


@lru_cache(maxsize=8192)
def _moment(at: str) -> datetime:
    return datetime.fromisoformat(at)


@dataclass(frozen=True)
class Event:
    """One line: its number from 1, moment (ISO, UTC), who, by what way, kind, content, hash of the line before."""

    n: int
    at: str
    by: str
    source: str
    kind: LineKind
    data: dict[str, Any]
    before: str

    @property
    def moment(self) -> datetime:
        """When the line was written."""
        return _moment(self.at)

    def line(self) -> bytes:
        """Return the event as it stands in the file, without its line end."""
        return json.dumps(vars(self), ensure_ascii=False, separators=(",", ":")).encode()


@dataclass(frozen=True, kw_only=True)
class Record:
    """What a journal file holds: its events, the hash of its last whole line, and where the whole lines end.

    `torn`: what stands behind them and is no line. `lacking`: what the last line lacks of its own end.
    """

    events: tuple[Event, ...]
    head: str
    whole_bytes: int
    torn: bytes
    lacking: bytes = b""


def read(path: Path) -> Record:
    """Read a journal and prove its chain; a torn last line is left out. Raises JournalError with every problem."""
    return _sound(path, *inspect(path))


def _sound(path: Path, record: Record, problems: list[Problem]) -> Record:
    if problems:
        raise JournalError(f"{listed(problems)}\nWhat can be done: {command('check', path.parent)}")
    return record


def inspect(path: Path) -> tuple[Record, list[Problem]]:
    """Read a journal as far as it can be read, with what is wrong with it. Raises JournalError if it cannot be read."""
    try:
        content = path.read_bytes()
        record, problems = inspected(content, path.name)
        if problems and restored(content):
            what = "was saved by an editor: its line ends, empty lines or first mark; what it says is as it was"
            problems = [Problem(path.name, what, f"{command('check', path.parent)} --mend puts it back")]
        return record, problems
    except OSError as error:
        raise JournalError(f"{path}: cannot be read ({error}); check the disk and the rights") from error


def inspected(content: bytes, name: str) -> tuple[Record, list[Problem]]:
    """Read what a journal file holds, as far as it can be read, with what is wrong with it."""
    whole, _, torn = content.rpartition(b"\n")
    rows = whole.split(b"\n") if whole else []
    whole_line = torn.rstrip(b"\0")  # a file system may have filled it up
    lacking = _lacking(whole_line, rows)
    nought = len(torn) - len(whole_line) if lacking else 0
    if lacking:  # the line is whole, and no more than its end was lost
        rows, torn = [*rows, whole_line + lacking[:-1]], b""
    events: list[Event] = []
    problems: list[Problem] = []
    before = NOTHING_BEFORE
    if rows and all(line.endswith(b"\r") for line in rows):
        what = "has line ends of another system (CR LF): a program rewrote it"
        return Record(events=(), head=before, whole_bytes=len(content), torn=b""), [
            Problem(name, what, "put back the file from a copy")
        ]
    if not _begins(torn, len(rows) + 1):
        what = f"holds something behind line {len(rows)} that is no beginning of a line"
        problems.append(Problem(name, what, "put back the file as it was written, from a copy"))
        torn = b""  # and nothing of it is cut off
    number = 0
    for line in rows:
        event = _event(line, number + 1, before, name, problems)
        number = number + 1 if event is None else event.n  # lines that are gone are said once, where they were
        if event is not None:
            events.append(event)
        before = hashlib.sha256(line).hexdigest()
    problems += format_problems(events, name)
    whole_bytes = len(content) - len(torn) - nought
    return Record(events=tuple(events), head=before, whole_bytes=whole_bytes, torn=torn, lacking=lacking), problems


def restored(content: bytes) -> bytes | None:
    """Return a journal as it was before an editor saved it, if only line ends, empty lines and a mark are its doing.

    None where that makes no sound journal of it, or where nothing is to be undone.
    """
    if not inspected(content, "")[1]:
        return None
    rows = _rows_of(content)
    torn = rows and not _WHOLE.search(rows[-1]) and _begins(rows[-1], len(rows))  # before the editor ended it
    tail = rows.pop() if torn else b""
    whole = b"".join(row + b"\n" for row in rows) + tail
    record, problems = inspected(whole, "")
    return None if problems or not record.events else whole


def _rows_of(content: bytes) -> list[bytes]:
    """Return the rows of a journal that are not empty, whatever system or editor ended them and however it wrote
    letters."""
    if content[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        content = content.decode("utf-16", "replace").encode()
    return [row for row in re.split(rb"[\r\n]+", content.removeprefix(codecs.BOM_UTF8)) if row.strip()]


@dataclass(frozen=True)
class Legible:
    """A row of a broken journal with its line, None where it cannot be read.

    `doubtful`: it and a line beside it do not continue one another, so one of the two was altered, or something between
    them is gone.
    """

    row: bytes
    event: Event | None
    doubtful: bool


def legible(content: bytes) -> list[Legible]:
    """Return the rows of a broken journal in their order, one that was copied once."""
    rows = list(dict.fromkeys(_rows_of(content)))
    events = [_event(row, 0, "", "", []) for row in rows]
    joined = [_is_joined(*pair) for pair in zip([None, *rows], [None, *events], events, strict=False)]
    doubtful = [not (before and after) for before, after in zip(joined, [*joined[1:], True], strict=True)]
    return [Legible(*one) for one in zip(rows, events, doubtful, strict=True)]


def _is_joined(row: bytes | None, before: Event | None, event: Event | None) -> bool:
    """Whether a line carries the hash of the line before it, as that stands there or as the program writes it."""
    if event is None or (row and before is None):
        return False
    hashes = {hashlib.sha256(one).hexdigest() for one in (row, before and before.line()) if one}
    return event.before in (hashes or {NOTHING_BEFORE})


_WHOLE = re.compile(rb'"before":"[0-9a-f]{64}"\}')
"""How every line ends: where it stands, no line was torn."""


def _begins(tail: bytes, number: int) -> bool:
    """Whether what stands behind the last line end is the beginning of the next line, and no more; or nothing.

    A file system may have filled it up with nought where the power failed.
    """
    text, begins = tail.rstrip(b"\0"), f'{{"n":{number},"at":"'.encode()
    return (begins.startswith(text) or text.startswith(begins)) and not _WHOLE.search(text)


def _lacking(line: bytes, rows: list[bytes]) -> bytes:
    """Return what a last line lacks of its end, where that is no more than what every line ends with: the hash of the
    line before it, which is known. Empty where more is lacking, or nothing stands there."""
    head = hashlib.sha256(rows[-1]).hexdigest() if rows else NOTHING_BEFORE
    end = f',"before":"{head}"}}\n'.encode()
    for have in range(len(end) - 1, -1, -1) if line else ():
        problems: list[Problem] = []
        if line.endswith(end[:have]) and _event(line + end[have:-1], len(rows) + 1, head, "", problems):
            return b"" if problems else end[have:]
    return b""


def _event(line: bytes, number: int, before: str, name: str, problems: list[Problem]) -> Event | None:
    where = f"{name} line {number}"
    try:
        found = json.loads(line, parse_constant=_no_number)
        faults = [key for key, kind in _FIELDS.items() if not isinstance(found.get(key), kind)]
        faults += [] if faults or lines.is_moment(found["at"]) else ["at"]
    except (ValueError, AttributeError, RecursionError):
        problems.append(Problem(where, "is no journal line", "put back the file as it was written, from a copy"))
        return None
    if faults or set(found) != set(_FIELDS):
        odd = ", ".join(sorted({*faults, *(set(found) ^ set(_FIELDS))}))
        problems.append(Problem(where, f"its fields are not as written ({odd})", "put back the file from a copy"))
        return None
    if found["kind"] not in KINDS:
        problems.append(Problem(where, f"the kind {found['kind']!r} is not known", f"expected one of {sorted(KINDS)}"))
        return None
    if wrong := lines.faults(found["kind"], found["data"]):
        what = f"does not hold what a line of its kind holds ({', '.join(wrong)})"
        problems.append(Problem(where, what, "put back the file as it was written, from a copy"))
        return None
    if not _is_plain(line) and any(_unwritable([found["by"], found["source"], found["data"]])):
        what = "holds letters that are never written down"
        problems.append(Problem(where, what, "put back the file as it was written, from a copy"))
        return None
    if found["before"] != before or found["n"] != number:
        what = f"does not continue line {number - 1}: one of the two was edited, or lines there were added or removed"
        problems.append(Problem(where, what, "put back the file as it was written, from a copy"))
    return Event(**found)


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number of JSON")


def format_problems(events: list[Event], name: str) -> list[Problem]:
    """Return what is wrong with how a journal begins: it must be one, once, and of no newer version."""
    if not events:
        return []
    if again := [event.n for event in events[1:] if event.kind == "start"]:
        return [Problem(f"{name} line {again[0]}", "begins the journal a second time", "put back the file from a copy")]
    held = unproved_until(events)
    if held > events[-1].n:
        what = f"ends at line {events[-1].n}, and line {held} was there when it was chained anew: its end was cut off"
        return [Problem(name, what, "put back the file as it was written, from a copy")]
    first = events[0].data if events[0].kind == "start" else {}
    if first.get("format") != FORMAT:
        return [Problem(f"{name} line 1", "does not begin a journal", f"expected its format to be {FORMAT!r}")]
    if not isinstance(first.get("version"), int) or first["version"] > VERSION:
        what = f"was written by a newer version ({first.get('version')}, this program knows up to {VERSION})"
        return [Problem(f"{name} line 1", what, "update recover; the file is left as it is")]
    return []


def unproved_until(events: Iterable[Event]) -> int:
    """Return the last line of those that nothing proves, by what lines say of others; 0 where all is proved."""
    return max((event.data.get("unproved", 0) for event in events), default=0)


def unproved_lines(data: Mapping[str, Any]) -> range:
    """Return the lines that a line says nothing proves: from its first to its last; none where it speaks of none."""
    return range(data.get("unproved_from", 1), data.get("unproved", 0) + 1)


PROGRAM = "recover"
"""Who sets aside what an interruption left."""

CUT_OFF = "the journal's last line was cut off: an interruption came while it was written, or a copy was cut short"


def _remains(record: Record) -> dict[str, Any]:
    """Return what a line says that keeps what is left of a torn one.

    Which lines nothing proves, and which of them may have been altered, can be read no more where that was being said.
    """
    left, every = record.torn.rstrip(b"\0"), [event.n for event in record.events]
    data: dict[str, Any] = {"why": CUT_OFF, "files": {}, "torn": as_written(left)}
    data |= {"unproved": every[-1]} if b'"unproved":' in left else {}
    return data | ({"doubtful": every} if b'"doubtful":' in left else {})


def sync(folder: Path) -> None:
    """Wait until the names in a folder are on the disk; Windows knows no such thing."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def utc_now() -> datetime:
    """Return the clock's moment. The journal's stamps are the only readings of the clock."""
    return datetime.now(UTC)


def _readable(event: Event) -> bytes:
    """Return an event as it stands in the file, read as every reader will. Raises AnswerError for what none would."""
    if words := next(_unwritable([event.by, event.source, event.data]), ""):
        raise AnswerError(f"{words!r} holds letters that cannot be written down; write it without them")
    problems: list[Problem] = []
    try:
        line = event.line()
        _event(line, event.n, event.before, "what was answered", problems)
    except (ValueError, OverflowError) as error:
        raise AnswerError("a number in it is longer than any that is measured; write it again") from error
    if problems:
        raise AnswerError(f"nothing was kept: what was answered {problems[0].what}; write it again")
    return line


def _unwritable(content: Any) -> Iterator[str]:
    """Yield every text in plain data that cannot be written down, but for the ends of its lines and its columns."""
    return (text for text in _texts(content) if not is_writable(text.replace("\n", " ").replace("\t", " ")))


def _is_plain(line: bytes) -> bool:
    """Say whether a line is printable ASCII without an escape, as most are: every text in it can be written down."""
    return line.isascii() and b"\\" not in line and line.decode().isprintable()


def _texts(content: Any) -> Iterator[str]:
    """Yield every text in plain data."""
    if isinstance(content, str):
        yield content
    elif isinstance(content, dict | list | tuple):
        for one in content.items() if isinstance(content, dict) else content:
            yield from _texts(one)


def _no_link(path: Path) -> None:
    if path.is_symlink():
        raise JournalError(f"{path}: is a link to another place; a job holds its journal itself")


@contextmanager
def locked(path: Path) -> Iterator[bytes]:
    """Hold a journal against every writer, sound or not, and give what it holds. Raises JournalError."""
    _no_link(path)
    if os.name == "nt":  # a file that is open is not replaced there
        yield path.read_bytes()
        return
    with path.open("r+b", buffering=0) as file:
        _lock(file, path)
        yield file.read()


def _lock(file: FileIO, path: Path) -> None:
    import portalocker

    try:
        portalocker.lock(file, portalocker.LockFlags.EXCLUSIVE | portalocker.LockFlags.NON_BLOCKING)
    except portalocker.LockException as error:
        raise JournalError(f"{path}: another program is writing to it; close that one first") from error


class Journal:
    """A journal that is open for writing, locked against a second writer. Use it in a `with` statement."""

    def __init__(self, path: Path, clock: Callable[[], datetime] = utc_now) -> None:
        """Name the file; nothing is touched before the `with` statement enters."""
        self.path = path
        self._clock = clock
        self._file: FileIO | None = None
        self._end = 0
        self._head = NOTHING_BEFORE
        self.events: list[Event] = []
        self.torn = b""
        """What stood behind its last whole line when it was opened; its own line keeps it."""

    def __enter__(self) -> Journal:
        """Lock, read and prove the file; in the place of a torn last line comes one that keeps its remains."""
        _no_link(self.path)
        try:
            record = self._opened()
            self.torn = record.torn
            if record.events and self.torn.rstrip(b"\0"):
                self._keep_remains(record)
                record = self._opened()
            cast(FileIO, self._file).truncate(record.whole_bytes)
            self._end = record.whole_bytes
            if record.lacking:
                self._write(record.lacking)
        except JournalError:
            self.__exit__(None, None, None)
            raise
        self.events, self._head = list(record.events), record.head
        return self

    def _opened(self) -> Record:
        """Lock and read the file. Raises JournalError."""
        self.__exit__(None, None, None)
        self._file = self.path.open("a+b", buffering=0)  # what a full disk refused must not come after all
        _lock(self._file, self.path)
        self._file.seek(0)  # read through the handle that holds the lock: some systems let no other one read
        return _sound(self.path, *inspected(self._file.read(), self.path.name))

    def _keep_remains(self, record: Record) -> None:
        """Put a journal in this one's place that keeps what is left of a torn line in a line of its own.

        Whole or not at all: before it is there nothing is cut off. Raises JournalError.
        """
        file = cast(FileIO, self._file)
        file.seek(0)
        line = _readable(self._after(record.events, record.head, "set_aside", _remains(record), PROGRAM, "journal"))
        beside = self.folder / f".recover-{token_hex(4)}.part"
        try:
            with beside.open("xb") as written:
                written.write(file.read(record.whole_bytes) + line + b"\n")
                written.flush()
                os.fsync(written.fileno())
            if os.name == "nt":  # a file that is open is not replaced there
                file.close()
            beside.replace(self.path)
            sync(self.folder)
        except OSError as error:
            with suppress(OSError):
                beside.unlink(missing_ok=True)
            what = f"its last line was cut off, and what is left of it cannot be kept ({error.strerror or error})"
            raise JournalError(f"{self.path}: {what}; it is left as it is: free some space, and go on") from error

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file, which frees the lock."""
        if self._file:
            self._file.close()
            self._file = None

    @property
    def folder(self) -> Path:
        """The folder of the job."""
        return self.path.parent

    def _write(self, content: bytes) -> None:
        """Write at the end and wait until it is on the disk; all of it or nothing. Raises JournalError."""
        file = cast(FileIO, self._file)
        end = file.seek(0, os.SEEK_END)
        self._own(file, end)
        try:
            while content:
                content = content[file.write(content) :]
            os.fsync(file.fileno())
        except OSError as error:
            with suppress(OSError):
                file.truncate(end)
            why = error.strerror or error
            what = f"cannot be written ({why}); nothing more is kept from here on: free some space, and go on"
            raise JournalError(f"{self.path}: {what}") from error
        self._end = file.tell()
        self._own(file, self._end)

    def _own(self, file: FileIO, end: int) -> None:
        """Find out whether another program put another file in its place, or wrote to it. Raises JournalError.

        A folder that is kept alike on several machines does that, and a copy that is put back meanwhile. What this
        sitting has written is kept beside it then.
        """
        try:
            there, own = self.path.stat(), os.fstat(file.fileno())
            if (there.st_dev, there.st_ino, end) == (own.st_dev, own.st_ino, self._end):
                return
        except OSError:
            pass
        raise JournalError(
            f"{self.path}: another program changed it or put another file in its place while it was open (a folder "
            f"kept alike on several machines?); the answer after line {len(self.events)} is not kept. "
            f"{self._kept_beside()} Keep the job where no other program writes, and go on with: "
            f"{command('check', self.folder)} --mend"
        )

    def _kept_beside(self) -> str:
        """Keep all lines of this sitting in a file of their own and say where it is."""
        name = f"lines-of-a-sitting-{self._head[:8]}.jsonl"
        try:
            (self.folder / "set-aside").mkdir(exist_ok=True)
            with (self.folder / "set-aside" / name).open("xb") as beside:
                beside.write(b"".join(one.line() + b"\n" for one in self.events))
                beside.flush()
                os.fsync(beside.fileno())
        except FileExistsError:
            pass  # it was said before, and they are the same lines
        except OSError:
            return "What this sitting had written may be gone: write it down from the screen."
        return f"What was written up to then is in set-aside/{name}."

    def _after(
        self, events: Sequence[Event], head: str, kind: LineKind, data: dict[str, Any], by: str, source: str
    ) -> Event:
        """Return the event that comes after others."""
        at = self._clock().astimezone(UTC).isoformat(timespec="seconds")
        return Event(len(events) + 1, at, by, source, kind, data, head)

    @property
    def head(self) -> str:
        """The hash of its last line, while it is open."""
        return self._head

    def next(self, kind: LineKind, data: dict[str, Any], *, by: str, source: str) -> tuple[Event, bytes]:
        """Return the next event and its line; nothing is written. Raises AnswerError for what no line may hold."""
        event = self._after(self.events, self._head, kind, data, by, source)
        return event, _readable(event)

    def append(self, kind: LineKind, data: dict[str, Any], *, by: str, source: str) -> Event:
        """Write one event and wait until it is on the disk.

        Raises AnswerError for what no line may hold, JournalError where it cannot be written; then nothing is.
        """
        return self.append_all(kind, [data], by=by, source=source)[0]

    def append_all(self, kind: LineKind, contents: Iterable[dict[str, Any]], *, by: str, source: str) -> list[Event]:
        """Write events of one kind at once, and wait until they are on the disk: all of them or none.

        Where the program is ended meanwhile the first of them are there, whole. Raises as `append` does.
        """
        if self._file is None:
            raise JournalError(f"{self.path}: is not open for writing; this is a fault of the program")
        events, content, head = [*self.events], bytearray(), self._head
        for data in contents:
            events.append(self._after(events, head, kind, data, by, source))
            line = _readable(events[-1])
            content += line + b"\n"
            head = hashlib.sha256(line).hexdigest()
        self._write(bytes(content))
        written = events[len(self.events) :]
        self.events += written
        self._head = head
        return written
