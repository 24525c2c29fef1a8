"""The files of a job: on the disk before the journal knows of them, and proved by it before anybody reads them.

Pictures, plans and the papers of an issue are written in one order: what is about to be written (`being-written.json`);
each file beside its place, synced, put there; their folders; then one line of the journal, with the length and hash of
each. Whatever stops the program, the next who writes can tell what it was doing: where all of it is there the line is
written after all, else it goes to `set-aside/`, and the journal says so. Nothing is deleted. A file that no line knows,
and that nobody was writing, was put there by hand, or its line was cut off the journal's end.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from itertools import count, takewhile
from pathlib import Path
from secrets import token_hex
from stat import S_ISREG
from typing import Any

from pydantic_core import from_json

from recover.base.errors import JobError, Problem, advice, command
from recover.base.measures import as_written, is_ahead, is_writable
from recover.job import journal as chain
from recover.job import lines
from recover.job.journal import PROGRAM, Event, Journal, sync
from recover.job.lines import LineKind

BEING_WRITTEN = "being-written.json"
ASIDE = "set-aside"
FOLDERS = ("photographs", "papers", "plans", ASIDE)
_DRAFT = re.compile(r"papers/[^/]*-draft\.(?:pdf|html)")
_PART = re.compile(r"\.recover-[0-9a-f]{8}\.part")
SITTING = re.compile(r"lines-of-a-sitting-[0-9a-f]{8}\.jsonl")
"""What a sitting had written before another program put another journal in its place."""
_OF_NO_LINE = re.compile(rf"\.recover-draft-[0-9a-f]{{8}}\.part|{SITTING.pattern}|journal(?: \(\d+\))?\.jsonl")
"""A draft takes no lock: it may be on its way while somebody else writes, and is nobody's loss. A journal as it was
found is set aside before the line that says so. What a sitting had written is said by itself."""
_OF_A_JOB = re.compile(rf"(?:{'|'.join(FOLDERS)})/(?!\.\.?$)[^/]+")
_OF_THE_SYSTEM = re.compile(r"\.DS_Store|Thumbs\.db|desktop\.ini|\._.*", re.IGNORECASE)
"""What some systems leave in every folder that is looked at."""


@dataclass(frozen=True)
class Kept:
    """A file as a line of the journal knows it: its name within the job, its hash, its length, the line."""

    file: str
    sha256: str
    length: int | None
    line: int


def listed(contents: Mapping[str, bytes]) -> dict[str, dict[str, Any]]:
    """Return what a line of the journal says of files: of each name its hash and length."""
    return {name: told_of(content) for name, content in contents.items()}


def told_of(content: bytes) -> dict[str, Any]:
    """Return what a line of the journal says of a file: its hash and length."""
    return {"sha256": _sha256(content), "length": len(content)}


def known(events: Iterable[Event]) -> dict[str, Kept]:
    """Return every file that the journal knows of and still counts on, by its name within the job."""
    found: dict[str, Kept] = {}
    for event in events:
        for name in gone(event):
            found.pop(name, None)
        found |= {one.file: one for one in _files_of(event.kind, event.data, event.n)}
    return found


def ever(events: Iterable[Event]) -> list[Kept]:
    """Return every file that any line of the journal ever told of, also what was set aside or missed since."""
    return [one for event in events for one in _files_of(event.kind, event.data, event.n)]


def rescued(events: Iterable[Event]) -> tuple[int, frozenset[int]]:
    """Return the last line of those that were chained anew, and which of them may have been altered: what they tell of
    files nothing proves. Where a clock was wrong alone, the chain proves it still."""
    told = [event for event in events if "doubtful" in event.data]
    return chain.unproved_until(told), frozenset(line for event in told for line in event.data["doubtful"])


def papers_of(event: Event) -> tuple[str, ...]:
    """Return the kinds of papers that a line issues; none for other lines. The first version issued one a line."""
    if event.kind != "issue":
        return ()
    return tuple(event.data["papers"]) if "papers" in event.data else (event.data["paper"],)


def gone(event: Event) -> list[str]:
    """Return the files that a line says are not where they were: set aside, or missed."""
    return [*event.data["files"], *event.data.get("missed", ())] if event.kind == "set_aside" else []


def _files_of(kind: str, data: Mapping[str, Any], line: int) -> Iterator[Kept]:
    """Yield the files that a line tells of; older versions wrote a paper's own file, and its prints beside it."""
    if kind in ("photograph", "issue") and "file" in data:
        yield Kept(data["file"], data["sha256"], data.get("length"), line)
        yield from (Kept(name, sha256, None, line) for name, sha256 in data.get("printed", {}).items())
    for name, of in data.get("files", {}).items() if kind in ("issue", "set_aside") else ():
        if of["sha256"]:  # a link or a pipe that was set aside has none
            yield Kept(of.get("to", name), of["sha256"], of["length"], line)
    for name, of in data.get("back", {}).items() if kind == "set_aside" else ():
        yield Kept(name, of["sha256"], of["length"], line)


def proved(folder: Path, one: Kept) -> bytes | Problem:
    """Return the bytes of a file if they are those that the journal knows, else what is wrong with it."""
    if link := _link_to(folder, one.file):
        return Problem(link, *_A_LINK)
    if not _within(folder, one.file):
        what = f"lies outside the job (journal line {one.line})"
        return Problem(one.file, what, "a job holds its files itself: put back the journal from a copy")
    content, taken_in = _plain_bytes(folder / one.file), one.file.startswith("photographs/")
    if content is None:
        back = f", or take it in again: {command('photo', folder, 'PICTURE')}" if taken_in else ""
        return Problem(one.file, f"is missing (journal line {one.line})", f"put it back from a copy{back}")
    if _sha256(content) != one.sha256:
        back = f"; or {command('check', folder)} --mend, then {command('photo', folder, 'PICTURE')}" if taken_in else ""
        what = f"is not the file that was taken in (journal line {one.line})"
        return Problem(one.file, what, f"put back the original from a copy{back}")
    return content


def _link_to(folder: Path, name: str) -> str:
    """Return the link by which a file's name leads to another place: its folder's or its own; empty where none does."""
    ways = (folder / name.partition("/")[0], folder / name) if _OF_A_JOB.fullmatch(name) else ()
    return next((way.relative_to(folder).as_posix() for way in ways if way.is_symlink()), "")


def _within(folder: Path, name: str) -> bool:
    return "\0" not in name and (folder / name).resolve().is_relative_to(folder.resolve())


def _is_plain(path: Path) -> bool:
    try:
        return S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def sittings(folder: Path) -> list[tuple[str, bytes]]:
    """Return the name and content of each plain file that holds what a sitting had written."""
    there = [] if (folder / ASIDE).is_symlink() else sorted((folder / ASIDE).glob("*"))
    found = [one for one in there if SITTING.fullmatch(one.name) and _is_plain(one)]
    return [(f"{ASIDE}/{one.name}", one.read_bytes()) for one in found]


def _plain_bytes(path: Path) -> bytes | None:
    """Return what a plain file holds; None where there is none: nothing, a link, a folder, a pipe."""
    try:
        return path.read_bytes() if _is_plain(path) else None
    except OSError:
        return None


def next_number(events: Iterable[Event], paper: str) -> int:
    """Return the number of the next paper of a kind: one that was set aside has used up its own."""
    named = re.compile(rf".*/{re.escape(paper)}-(\d{{1,9}})\.")
    names = {name for event in events for name in (*event.data.get("files", {}), str(event.data.get("file", "")))}
    return 1 + max((int(found[1]) for name in names if (found := named.match(name))), default=0)


PICTURE_ID = re.compile(r"\bP(\d{1,4})\b")
"""How answers and papers name a picture of the job; cameras name theirs with more digits."""


def next_picture(events: Iterable[Event]) -> int:
    """Return the number of the next picture: above all that pictures ever had here, or that an answer names."""
    named = (str(event.data.get("id" if event.kind == "photograph" else "document", "")) for event in events)
    return 1 + max((int(number) for name in named for number in PICTURE_ID.findall(name)), default=0)


# ---------------------------------------------------------------------------------------- writing


def keep(
    journal: Journal, contents: Mapping[str, bytes], kind: LineKind, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Write files and then the line that knows of them; both are on the disk when this returns.

    Raises JobError, and keeps nothing, where a name is taken or a file cannot be written.
    """
    _free(journal, contents)
    begun = _Begun(kind, dict(data), by, source, journal.head)
    try:
        _begin(journal, begun)
        for name, of in contents.items():
            write_whole(journal.folder / name, of)
    except JobError:
        for name in (*contents, BEING_WRITTEN):  # nobody was told that any of it is kept
            with suppress(OSError):
                (journal.folder / name).unlink(missing_ok=True)
        raise
    return _end(journal, begun)


def keep_picture(
    journal: Journal, name: str, content: bytes, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Keep a picture as it came, under its name or that with a number; where it lies there already, add the line alone.

    A name is never given to another picture, not even after the first one was set aside. Raises JobError, and keeps
    nothing, where it cannot be written.
    """
    stem, suffix, sha256 = *_portable(name), _sha256(content)
    had = {_folded(one.file): one for one in ever(journal.events)}
    tries = (f"photographs/{stem}{f' ({number})' if number > 1 else ''}{suffix}" for number in count(1))
    ours = (one for one in tries if _folded(one) not in had or had[_folded(one)].sha256 == sha256)
    named = (had[_folded(one)].file if _folded(one) in had else one for one in ours)
    file = next(one for one in named if _is_free_for(journal.folder / one, content))
    of = {**data, "file": file, "sha256": sha256, "length": len(content)}
    of |= {} if Path(file).name == name else {"name": name}
    if not (journal.folder / file).exists():  # also one that is kept already, and missing
        return keep(journal, {file: content}, "photograph", of, by=by, source=source)
    if file not in known(journal.events):  # put there by hand: from now on it is the job's own
        write_whole(journal.folder / file, content)
    return journal.append("photograph", of, by=by, source=source)


def _portable(name: str) -> tuple[str, str]:
    """Return the stem and suffix of a name that every system can hold: a job is copied from one to another.

    None of the signs and names that one of them keeps for itself; composed letters; not too long.
    """
    plain = unicodedata.normalize("NFC", _NOT_EVERYWHERE.sub("_", name)).rstrip(". ") or "_"
    stem, suffix = Path(plain).stem, Path(plain).suffix[:_SUFFIX_LETTERS]
    stem = f"_{stem}" if _A_DEVICE.fullmatch(stem) else stem
    return stem.encode()[:_NAME_BYTES].decode("utf-8", "ignore"), suffix


def _folded(name: str) -> str:
    """Return a name as a system sees it that knows no difference of small letters and capitals."""
    return unicodedata.normalize("NFC", name).casefold()


_NOT_EVERYWHERE = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
_A_DEVICE = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?", re.IGNORECASE)
_NAME_BYTES, _SUFFIX_LETTERS = 120, 10


def put_back(journal: Journal, one: Kept, content: bytes, *, by: str, source: str) -> bool:
    """Put a file that is missing back as it was taken in, and say whether it was. Raises JobError where another is."""
    if isinstance(proved(journal.folder, one), bytes) and one.file in known(journal.events):
        return False
    if not _is_free_for(journal.folder / one.file, content):
        remedy = f"{command('check', journal.folder)} --mend sets it aside; then take the picture in again"
        raise JobError(f"{journal.folder / one.file}: is not the file that was taken in: {remedy}")
    write_whole(journal.folder / one.file, content)
    data = {"why": "it is put back", "files": {}, "back": {one.file: told_of(content)}}
    journal.append("set_aside", data, by=by, source=source)
    return True


def _is_free_for(path: Path, content: bytes) -> bool:
    return not os.path.lexists(path) or _plain_bytes(path) == content


def _free(journal: Journal, names: Iterable[str]) -> None:
    """Refuse to write over anything, or beside what an interruption left. Raises JobError."""
    for name in (BEING_WRITTEN, *names):
        if os.path.lexists(journal.folder / name):
            remedy = f"{command('check', journal.folder)} --mend sets it aside, and says so in the journal"
            raise JobError(f"{journal.folder / name}: is there already, and nothing is ever overwritten; {remedy}")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: beside its place, synced, then put there. Raises JobError.

    The passing name is new and is nobody else's, so that no link leads the bytes to another place.
    """
    folder = path.parent
    _own(folder)
    draft = "draft-" if _DRAFT.fullmatch(f"{folder.name}/{path.name}") else ""
    beside = folder / f".recover-{draft}{token_hex(4)}.part"
    try:
        if not folder.is_dir():
            folder.mkdir()
            sync(folder.parent)
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        sync(folder)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        what = f"cannot be written ({error.strerror or error}); nothing of it was kept"
        raise JobError(f"{path}: {what}: {advice(error)}, and do it again") from error


def _own(folder: Path) -> None:
    """Refuse a folder of a job that is a link: what is written or moved there would lie elsewhere. Raises JobError."""
    if folder.name in FOLDERS and folder.is_symlink():
        raise JobError(f"{folder}: is a link to another place; a job holds its files itself: take the link away")


# ---------------------------------------------------------------------------------------- after an interruption


INTERRUPTED = "an interruption came while it was written"
UNKNOWN = "no line of the journal knows it: it was put there by hand, or lines were cut off the journal's end"


def settle(folder: Path) -> list[str]:
    """Finish what an interruption left, or set it aside, and say in sentences what was done; nothing where all is well.

    Papers and plans that no line knows, whose names the next ones may need, are set aside as well. It comes before all
    that writes: raises JobError or JournalError where nothing can be written.
    """
    if not os.access(folder, os.W_OK):
        raise JobError(f"{folder}: cannot be written to; see to the rights of the folder, and do it again")
    with Journal(folder / "journal.jsonl") as journal:
        lost, lines_then = journal.torn if not _begun_in(journal) else b"", len(journal.events)
        done = _settle(journal, PROGRAM)
        if lost and not any(event.kind == "issue" for event in journal.events[lines_then:]):
            done.insert(0, f"{journal.path}: {chain.CUT_OFF}. What to do: {again(lost)}")
        return done


def _settle(journal: Journal, by: str) -> list[str]:
    begun, done = _begun_in(journal), []
    if begun:
        begun.move(journal.folder)
        if begun.is_whole(journal):
            _end(journal, begun)
            done.append(f"{', '.join(begun.names)}: an interruption came before the journal knew; it is all kept")
    else:
        done += [line for left in _remains(journal.events, journal.torn) for line in _issued_after_all(journal, left)]
    done += _taken_back(journal, by)
    strays = _strays(journal.folder, journal.events)
    last = _written_last(journal.events, journal.torn)
    interrupted = [name for name in strays if _was_interrupted(name, begun, last)]
    in_the_way = [name for name in strays if name not in interrupted and name.startswith(("papers/", "plans/"))]
    done += put_aside(journal, interrupted, INTERRUPTED, by=by)  # its note takes the place of the one before
    done += put_aside(journal, in_the_way, UNKNOWN, by=by)
    if (journal.folder / BEING_WRITTEN).is_dir():
        raise JobError(f"{journal.folder / BEING_WRITTEN}: is a folder; take it away, and do it again")
    for note in (journal.folder / BEING_WRITTEN, *journal.folder.glob(".recover-*.part")):
        if os.path.lexists(note):
            note.unlink()
    return done


def _remains(events: Sequence[Event], torn: bytes) -> list[bytes]:
    """Return what is left of torn last lines, the oldest first: as it was found, and as the last lines keep it, since
    whoever wrote those may have been stopped before anything came of it. What nothing proves is left out."""
    until, _ = rescued(events)
    ours = takewhile(lambda event: event.kind == "set_aside" or event.source == "journal", reversed(events))
    proved_ones = (event for event in ours if event.n > until and "doubtful" not in event.data)
    kept = [event.data["torn"].encode() for event in proved_ones if "torn" in event.data]
    return [_innermost(left) for left in [*reversed(kept), torn] if left]


def _written_last(events: Sequence[Event], torn: bytes) -> list[bytes]:
    """Return what is left of lines whose files an interruption may have left: also of those that a rescue kept, of
    which nothing is issued after all."""
    until, _ = rescued(events)
    of_rescues = (one.data for one in events if one.n <= until or "doubtful" in one.data)
    return [*_remains(events, torn), *(one["torn"].encode() for one in of_rescues if "torn" in one)]


def _innermost(left: bytes) -> bytes:
    """Return what is left of a line; of one that kept the rest of another, what it kept."""
    while isinstance(within := _partly(left).get("torn"), str):
        left = within.encode()
    return left


def _read(left: bytes) -> dict[str, Any]:
    """Return what can be read of a line, of which this is left."""
    try:
        read = from_json(left.rstrip(b"\0"), allow_partial="trailing-strings")
    except ValueError:
        return {}
    return read if isinstance(read, dict) else {}


def _partly(left: bytes) -> dict[str, Any]:
    """Return what can be read of the content of a line, of which this is left."""
    data = _read(left).get("data")
    return data if isinstance(data, dict) else {}


def _issued_after_all(journal: Journal, remains: bytes) -> list[str]:
    """Write anew the line of an issue that was cut off after it was written: its papers may be in other hands.

    What is left of the line names them with their hashes; those that are as it says were issued.
    """
    try:
        left = from_json(remains.rstrip(b"\0"), allow_partial=True)
        said, by = left["data"], left["by"]
        named = {name: of["sha256"] for name, of in said["files"].items() if "sha256" in of}
        kept = [Kept(name, sha256, None, 0) for name, sha256 in named.items() if _OF_A_JOB.fullmatch(name)]
        there = listed({one.file: of for one in kept if isinstance(of := proved(journal.folder, one), bytes)})
        lost = {"record": _heads(journal.events, journal.head)[-1], "rules": "", "capacity": CUT_SHORT}
        data = {**lost, **said, "files": there}
        data.pop("parts", None)  # they end the line: not all of them are left
    except (ValueError, KeyError, TypeError, AttributeError):
        return []
    again = not known(journal.events).keys().isdisjoint(there)
    if left.get("kind") != "issue" or not there or again or lines.faults("issue", data):
        return []
    begun = _Begun("issue", data, by, "journal", journal.head)
    _begin(journal, begun)
    _end(journal, begun)
    return [f"{', '.join(there)}: issued, and the journal's line of that was cut off; it is written anew"]


CUT_SHORT = "not known: the line that said it was cut off"
"""In what capacity papers were issued whose line was cut off."""


def _was_interrupted(name: str, begun: _Begun | None, remains: Iterable[bytes]) -> bool:
    """Whether a file was being written when the program was stopped: by the note, its name, or a torn last line."""
    noted = begun is not None and name in begun.names
    return noted or bool(_PART.fullmatch(Path(name).name)) or any(_is_of(left, name) for left in remains)


def _is_of(torn: bytes, name: str) -> bool:
    """Whether what is left of a line names a file, or the issue that a file's number is of."""
    issue = re.search(rb'"kind":"issue","data":\{"papers":\[([^]]*)\],"revision":(\d{1,9}),', torn)
    numbered = re.fullmatch(r"(?:papers|plans)/(.+)-0*(\d{1,9})\.[^/]+", name)
    if issue and numbered and f'"{numbered[1]}"'.encode() in issue[1] and int(issue[2]) == int(numbered[2]):
        return True
    return f'"{_writable(name)}"'.encode() in torn


def mend(folder: Path, by: str = "") -> list[str]:
    """Settle, take back what was missing and is there again, and set aside all else that does not agree.

    So work can go on. Nothing is made good by it: what was changed or is missing stays so, and the journal and later
    papers say it. What an editor did to the journal without touching what it says is undone.
    """
    done = undo_editor(folder)
    with Journal(folder / "journal.jsonl") as journal:
        if not journal.events:
            raise JobError(f"{journal.path}: holds no whole line, so there is nothing to mend")
        if journal.torn:
            done.append(f"journal.jsonl: {chain.CUT_OFF}; line {journal.events[-1].n} keeps what is left of it")
        who = by or journal.events[0].by
        return [*done, *_settle(journal, who), *_mend(journal, who)]


def undo_editor(folder: Path) -> list[str]:
    """Undo what an editor did to a journal: line ends, empty lines, a mark at its beginning. A copy is set aside."""
    path = folder / "journal.jsonl"
    with chain.locked(path) as found:
        whole = chain.restored(found)
        if whole is None:
            return []
        place = places_aside(folder, ["journal.jsonl"])["journal.jsonl"]
        write_whole(folder / place, found)
        write_whole(path, whole)
    with Journal(path) as journal:
        copy = {path.name: {**told_of(found), "to": place}}
        data = {"why": "it was as an editor had saved the journal", "files": copy}
        journal.append("set_aside", data, by=PROGRAM, source="check")
    return [f"journal.jsonl: put back as it was written, before an editor saved it; that copy is {folder / place}"]


def _taken_back(journal: Journal, by: str) -> list[str]:
    """Count again on files that were missed, or that lie under another name, and are as they were taken in."""
    done = []
    for name, of in _returned(journal.folder, journal.events).items():
        _move(journal.folder, name, of.file, of.sha256)
        if not isinstance(proved(journal.folder, of), bytes):
            continue
        done.append(f"{_writable(name)}: is {of.file} as it was taken in (journal line {of.line}); it is kept again")
        if of.file not in known(journal.events):
            back = {of.file: {"sha256": of.sha256, "length": (journal.folder / of.file).stat().st_size}}
            data = {"why": "it is there again as it was taken in", "files": {}, "back": back}
            journal.append("set_aside", data, by=by, source="check")
    return done


def _returned(folder: Path, events: Iterable[Event]) -> dict[str, Kept]:
    """Return the files that no line counts on, and that are as another one was taken in that is not in its place."""
    told = list(events)
    _, doubtful = rescued(told)
    sure = (one for one in ever(told) if one.line not in doubtful)
    files = [one for one in sure if _within(folder, one.file) and not one.file.startswith(f"{ASIDE}/")]
    lacking = {one.file: one for one in files if not os.path.lexists(folder / one.file)}
    own = {(one.file, one.sha256): one for one in files}
    found: dict[str, Kept] = {}
    for name in _strays(folder, told):
        sha256 = _sha256(_plain_bytes(folder / name) or b"")
        one = own.get((name, sha256)) or next((one for one in lacking.values() if one.sha256 == sha256), None)
        if one:
            found[name] = one
            lacking.pop(one.file, None)  # two pictures may be alike: each takes one place
    return found


def _mend(journal: Journal, by: str) -> list[str]:
    done = put_aside(journal, _strays(journal.folder, journal.events), UNKNOWN, by=by)
    done += _clock_ran_ahead(journal, by)
    there = (one for one in known(journal.events).values() if _link_to(journal.folder, one.file) not in FOLDERS)
    bad = [one.file for one in there if isinstance(proved(journal.folder, one), Problem)]
    inside = [name for name in bad if _link_to(journal.folder, name) == name or _within(journal.folder, name)]
    here = [name for name in inside if os.path.lexists(journal.folder / name)]
    done += put_aside(journal, here, "it is not the file that was taken in", by=by)
    if missed := [name for name in bad if name not in here]:
        why = "it is missing from the job"
        journal.append("set_aside", {"why": why, "files": {}, "missed": missed}, by=by, source="check")
        done.append(f"{', '.join(missed)}: {why}; nothing counts on it until it is put back")
    return done


def _clock_ran_ahead(journal: Journal, by: str) -> list[str]:
    """Say of lines of a time that has not come that a clock was wrong; then nothing up to them is evidence."""
    ahead = [event.n for event in journal.events if is_ahead(event.moment, chain.utc_now())]
    if not ahead or chain.unproved_until(journal.events) >= max(ahead):
        return []
    why = "a computer's clock had run ahead: a line is of a time that has not come"
    journal.append("set_aside", {"why": why, "files": {}, "unproved": max(ahead)}, by=by, source="check")
    return [f"journal.jsonl: {why}; nothing up to line {max(ahead)} opens a hold point: look and measure again"]


@dataclass(frozen=True)
class _Begun:
    """The line that is going to be written, once all its files are where it says; `head`: the journal's last before."""

    kind: LineKind
    data: dict[str, Any]
    by: str
    source: str
    head: str

    @property
    def files(self) -> dict[str, Kept]:
        """The files that the line will know, by name."""
        return {one.file: one for one in _files_of(self.kind, self.data, 0)}

    @property
    def names(self) -> list[str]:
        """The names of its files; of those that are set aside, also those that they had."""
        return list(dict.fromkeys([*self.files, *self.data.get("files", {})]))

    def is_whole(self, journal: Journal) -> bool:
        """Whether every file is there as it was to be written."""
        return all(isinstance(proved(journal.folder, one), bytes) for one in self.files.values())

    def move(self, folder: Path) -> None:
        """Finish setting files aside."""
        for name, of in self.data["files"].items() if self.kind == "set_aside" else ():
            _move(folder, name, of["to"], of["sha256"])


def _begin(journal: Journal, begun: _Begun) -> None:
    """Write down which line is going to be written, and so which files. Raises AnswerError for what no line may hold:
    before anything is written or moved for it."""
    journal.next(begun.kind, begun.data, by=begun.by, source=begun.source)
    write_whole(journal.folder / BEING_WRITTEN, json.dumps(asdict(begun), ensure_ascii=False).encode())


def _end(journal: Journal, begun: _Begun) -> Event:
    """Write the line that was begun."""
    event = journal.append(begun.kind, begun.data, by=begun.by, source=begun.source)
    (journal.folder / BEING_WRITTEN).unlink()
    return event


def _begun_in(journal: Journal) -> _Begun | None:
    return _begun(journal.folder, journal.events, journal.head)


def _begun(folder: Path, events: Sequence[Event], head: str) -> _Begun | None:
    """Return what was begun when the program was stopped; None where nothing was, or nobody can tell.

    Once a line has come after the last one that it names (`head`), it is of the past; but for a line that keeps what is
    left of its own.
    """
    try:
        begun = _Begun(**json.loads(_plain_bytes(folder / BEING_WRITTEN) or b""))
        told = all(isinstance(one, str) for one in (begun.by, begun.source, begun.head))
        sound = told and begun.kind in ("photograph", "issue", "set_aside") and not lines.faults(begun.kind, begun.data)
        inside = sound and all(_OF_A_JOB.fullmatch(name) and _within(folder, name) for name in begun.names)
    except (OSError, ValueError, TypeError, AttributeError, KeyError, RecursionError):
        return None
    return begun if inside and begun.names and begun.head in _heads(events, head) else None


def _heads(events: Sequence[Event], head: str) -> list[str]:
    """Return the hash of the last line, and that before each line at the end that keeps what is left of a torn one."""
    return [head, *(event.before for event in takewhile(lambda event: "torn" in event.data, reversed(events)))]


def _strays(folder: Path, events: Iterable[Event]) -> list[str]:
    """Return what lies in a job's folders and no line of the journal knows: files, links, folders, anything.

    Drafts come and go, and systems leave files of their own.
    """
    there = [one for name in FOLDERS if not (folder / name).is_symlink() for one in (folder / name).glob("*")]
    names = sorted(one.relative_to(folder).as_posix() for one in there if not _OF_THE_SYSTEM.fullmatch(one.name))
    told = list(events)
    aside = {of["to"] for one in told if one.kind == "set_aside" for of in one.data["files"].values()}
    expected = known(told).keys() | aside
    plain = [name for name in names if _OF_NO_LINE.fullmatch(Path(name).name) and _is_plain(folder / name)]
    drafts = [*plain, *(name for name in names if _DRAFT.fullmatch(name))]
    return [name for name in names if name not in expected and name not in drafts]


def put_aside(journal: Journal, names: list[str], why: str, *, by: str) -> list[str]:
    """Move files to where nothing reads them, with a line that says so; return that in a sentence."""
    if not names:
        return []
    places = places_aside(journal.folder, names)
    files = {}
    for name in names:
        content = _plain_bytes(journal.folder / name)
        of = {"sha256": "", "length": 0} if content is None else told_of(content)
        files[_writable(name)] = {**of, "to": places[name]}
    begun = _Begun("set_aside", {"why": why, "files": files}, by, "check", journal.head)
    _begin(journal, begun)
    for name in names:
        _move(journal.folder, name, places[name])
    _end(journal, begun)
    return [f"{', '.join(files)}: {why}; set aside in {journal.folder / ASIDE}"]


def _writable(name: str) -> str:
    """Return a name as it can be written down."""
    return as_written(os.fsencode(name))


def _move(folder: Path, name: str, to: str, sha256: str = "") -> None:
    """Move a file within a job, if it has not been moved yet and is the one meant, and wait until that is on the disk.

    Nothing is moved over another file.
    """
    source, target = folder / name, folder / to
    if name == to or not os.path.lexists(source) or os.path.lexists(target):
        return
    if sha256 and _sha256(_plain_bytes(source) or b"") != sha256:
        return
    _own(target.parent)
    try:
        target.parent.mkdir(exist_ok=True)
    except FileExistsError as error:
        raise JobError(f"{target.parent}: is no folder; take it away, and do it again") from error
    source.rename(target)
    sync(source.parent)
    sync(target.parent)


def places_aside(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """Return where files go that are set aside: under their own name, or that with a number."""
    places: dict[str, str] = {}
    for name in names:
        stem, suffix = _portable(_writable(name.rsplit("/", 1)[-1]).lstrip("."))
        tries = (f"{ASIDE}/{stem}{f' ({number})' if number else ''}{suffix}" for number in count())
        places[name] = next(one for one in tries if one not in places.values() and not os.path.lexists(folder / one))
    return places


# ---------------------------------------------------------------------------------------- integrity


def unproved(folder: Path, events: Iterable[Event]) -> list[Problem]:
    """Return what is wrong with the files that the journal knows of: missing, or not what was taken in; once each."""
    files = known(events).values()
    found = (proved(folder, one) for one in files)
    return list(dict.fromkeys(_exchanged(folder, one, files) for one in found if isinstance(one, Problem)))


def _exchanged(folder: Path, found: Problem, files: Iterable[Kept]) -> Problem:
    """Say of a file that is another one of the job which that is: nothing but its name is wrong."""
    sha256 = _sha256(_plain_bytes(folder / found.where) or b"")
    other = next((one for one in files if one.sha256 == sha256 and one.file != found.where), None)
    if other is None:
        return found
    what = f"is not the file that was taken in: it is {other.file} as that was (journal line {other.line})"
    return Problem(found.where, what, "names were exchanged: give each file its own again")


def integrity(folder: Path) -> list[Problem]:
    """Find what does not agree in a job: the journal's chain, the hash of each file, files that no line knows."""
    record, problems = chain.inspect(folder / "journal.jsonl")
    problems += cut_off(record.torn)
    begun, mended = _begun(folder, record.events, record.head), f"{command('check', folder)} --mend"
    names = begun.names if begun else []
    problems += [one for one in unproved(folder, record.events) if one.where not in names]
    if os.path.lexists(folder / BEING_WRITTEN):
        what = f"an interruption came while {', '.join(names) or 'something'} was written"
        problems.append(Problem(BEING_WRITTEN, what, f"{mended} finishes it or sets it aside; no line was lost by it"))
    problems += left_beside(folder)
    problems += [one for one in _no_folders(folder) if one not in problems]
    returned = _returned(folder, record.events)
    for name in _strays(folder, record.events):
        if _was_interrupted(name, begun, _written_last(record.events, record.torn)):
            remedy = f"{mended} finishes it or sets it aside"
            problems.append(Problem(_writable(name), "is what an interruption left", remedy))
        elif name in returned:
            what = f"is {returned[name].file} as it was taken in (journal line {returned[name].line})"
            problems.append(Problem(_writable(name), what, f"{mended} takes it back"))
        else:
            problems.append(Problem(_writable(name), UNKNOWN, _remedy(folder, name)))
    return problems


def left_beside(folder: Path) -> list[Problem]:
    """Return what is wrong where lines lie beside the journal that a sitting had written, and was told are kept."""
    what = "holds what a sitting had written when another program put another journal in the place of its own"
    taken_in = f"{command('check', folder)} --mend takes it in"
    remedy = f"{taken_in}; it is a copy of the job's lines up to then, for a journal that does not hold together"
    return [Problem(name, what, remedy) for name, _ in sittings(folder)]


_A_LINK = "is a link to another place", "a job holds its files itself: put what it leads to in its place"
_NO_FOLDER = "is no folder of the job", "take it away: a job holds its files itself, in a folder of that name"


def _no_folders(folder: Path) -> list[Problem]:
    """Return what is wrong where a link or a file stands in the place of a job's folder, known files in it or not."""
    there = [name for name in FOLDERS if os.path.lexists(folder / name)]
    links = [name for name in there if (folder / name).is_symlink()]
    others = [name for name in there if name not in links and not (folder / name).is_dir()]
    return [*(Problem(name, *_A_LINK) for name in links), *(Problem(name, *_NO_FOLDER) for name in others)]


def cut_off(torn: bytes) -> list[Problem]:
    """Return what is wrong with a journal whose last line was cut off, of which this is left, if any."""
    if not torn.rstrip(b"\0"):
        return []
    remedy = f"the next line that is written keeps what is left; {again(torn)}"
    return [Problem("journal.jsonl", chain.CUT_OFF.removeprefix("the journal's "), remedy)]


def again(torn: bytes) -> str:
    """Return what somebody does again whose line was cut off, as far as that can be read."""
    left = _read(torn)
    said, by = _partly(torn), left.get("by", "")
    if left.get("kind") == "withdrawal":  # its hold point stands in other lines alone
        return as_written(f"take the signature back again{f' ({by})' if by else ''}".encode())
    key = next((key for key in _AGAIN if key in said), "")
    named = str(said.get(key, ""))
    title = named.replace("_", " ").capitalize() if key == "hold_point" else named
    return as_written(f"{_AGAIN[key].format(title)}{f' ({by})' if by else ''}".encode())


_AGAIN = {
    "hold_point": "sign {} again", "file": "take in {} again", "text": "note “{}” again",
    "question": "answer {} again", "serial": "register the instrument again", "papers": "issue them again",
    "": "do again what came last",
}  # fmt: skip
"""What is done again, by what a line names."""


def _remedy(folder: Path, name: str) -> str:
    """Return what to do about a file that no line knows."""
    aside = f"{command('check', folder)} --mend sets it aside"
    if name.startswith("photographs/") and not is_writable(name):
        return f"give it a name of plain letters, and take it in with {command('photo', folder, 'FILE')}; or {aside}"
    if name.startswith("photographs/"):
        return f"{command('photo', folder, folder / name)} takes it in, or {aside}"
    return f"look for a newer copy of the job first (a paper that is out tells: --against); {aside}"


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
