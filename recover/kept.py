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
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from itertools import count
from pathlib import Path
from typing import Any

from recover import journal as chain
from recover.errors import JobError, Problem
from recover.journal import Event, Journal, Kind

BEING_WRITTEN = "being-written.json"
ASIDE = "set-aside"
FOLDERS = ("photographs", "papers", "plans", ASIDE)
_DRAFT = re.compile(r"papers/[^/]*-draft\.(?:pdf|html)")
_PART = re.compile(r"\..*\.part")


@dataclass(frozen=True)
class Kept:
    """A file as a line of the journal knows it: its name within the job, its hash, its length, the line."""

    file: str
    sha256: str
    length: int | None
    line: int


def listed(contents: Mapping[str, bytes]) -> dict[str, dict[str, Any]]:
    """Return what a line of the journal says of files: of each name its hash and length."""
    return {name: {"sha256": _sha256(content), "length": len(content)} for name, content in contents.items()}


def known(events: Iterable[Event]) -> dict[str, Kept]:
    """Return every file that the journal knows of and still counts on, by its name within the job."""
    found: dict[str, Kept] = {}
    for event in events:
        found |= {one.file: one for one in _files_of(event.kind, event.data, event.n)}
        for name in gone(event):
            found.pop(name, None)
    return found


def gone(event: Event) -> list[str]:
    """Return the files that a line says are not where they were: set aside, or missed."""
    return [*event.data["files"], *event.data.get("missed", ())] if event.kind == "set_aside" else []


def _files_of(kind: str, data: Mapping[str, Any], line: int) -> Iterator[Kept]:
    """Yield the files that a line tells of; older versions wrote a paper's own file, and its prints beside it."""
    if kind in ("photograph", "issue") and "file" in data:
        yield Kept(data["file"], data["sha256"], data.get("length"), line)
        yield from (Kept(name, sha256, None, line) for name, sha256 in data.get("printed", {}).items())
    for name, of in data.get("files", {}).items() if kind in ("issue", "set_aside") else ():
        yield Kept(of.get("to", name), of["sha256"], of["length"], line)


def proved(folder: Path, one: Kept) -> bytes | Problem:
    """Return the bytes of a file if they are those that the journal knows, else what is wrong with it."""
    if not _within(folder, one.file):
        what = f"lies outside the job (journal line {one.line})"
        return Problem(one.file, what, "a job holds its files itself: put back the journal from a copy")
    try:
        content = (folder / one.file).read_bytes()
    except OSError:
        return Problem(one.file, f"is missing (journal line {one.line})", "put it back from a copy")
    if _sha256(content) != one.sha256:
        what = f"is not the file that was taken in (journal line {one.line})"
        return Problem(one.file, what, "put back the original from a copy")
    return content


def _within(folder: Path, name: str) -> bool:
    return (folder / name).resolve().is_relative_to(folder.resolve())


def next_number(events: Iterable[Event], paper: str) -> int:
    """Return the number of the next paper of a kind: one that was set aside has used up its own."""
    named = re.compile(rf".*/{re.escape(paper)}-(\d+)\.")
    names = {name for event in events for name in (*event.data.get("files", {}), str(event.data.get("file", "")))}
    return 1 + max((int(found[1]) for name in names if (found := named.match(name))), default=0)


# ---------------------------------------------------------------------------------------- writing


def keep(
    journal: Journal, contents: Mapping[str, bytes], kind: Kind, data: Mapping[str, Any], *, by: str, source: str
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
            (journal.folder / name).unlink(missing_ok=True)
        raise
    return _end(journal, begun)


def keep_picture(
    journal: Journal, name: str, content: bytes, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Keep a picture as it came, under its name or that with a number; where it is kept already, only the line is new.

    A name is never given to another picture, not even after the first one was set aside. Raises JobError, and keeps
    nothing, where it cannot be written.
    """
    stem, suffix, sha256 = Path(name).stem, Path(name).suffix, _sha256(content)
    had = {one.file: one.sha256 for event in journal.events for one in _files_of(event.kind, event.data, event.n)}
    tries = (f"photographs/{stem}{f' ({number})' if number > 1 else ''}{suffix}" for number in count(1))
    ours = (one for one in tries if had.get(one, sha256) == sha256)
    file = next(one for one in ours if _is_free_for(journal.folder / one, content))
    of = {**data, "file": file, "sha256": sha256, "length": len(content)}
    if file in known(journal.events):
        return journal.append("photograph", of, by=by, source=source)
    if (journal.folder / file).exists():  # put there by hand: from now on it is the job's own
        write_whole(journal.folder / file, content)
        return journal.append("photograph", of, by=by, source=source)
    return keep(journal, {file: content}, "photograph", of, by=by, source=source)


def _is_free_for(path: Path, content: bytes) -> bool:
    return not path.is_symlink() and (not path.exists() or path.read_bytes() == content)


def _free(journal: Journal, names: Iterable[str]) -> None:
    """Refuse to write over anything, or beside what an interruption left. Raises JobError."""
    for name in (BEING_WRITTEN, *names):
        place = journal.folder / name
        if place.parent.is_symlink():
            raise JobError(f"{place.parent}: is a link to another place; a job holds its files itself")
        if place.exists() or place.is_symlink():
            remedy = f"recover check {journal.folder} --mend sets it aside, and says so in the journal"
            raise JobError(f"{place}: is there already, and nothing is ever overwritten; {remedy}")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: beside its place, synced, then put there. Raises JobError."""
    beside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(exist_ok=True)
        with beside.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        _sync(path.parent)
    except OSError as error:
        beside.unlink(missing_ok=True)
        what = f"cannot be written ({error.strerror or error}); nothing of it was kept: free some space, or its rights"
        raise JobError(f"{path}: {what}, and do it again") from error


def _sync(folder: Path) -> None:
    """Wait until the names in a folder are on the disk; Windows knows no such thing."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


# ---------------------------------------------------------------------------------------- after an interruption


def settle(folder: Path) -> list[str]:
    """Finish what an interruption left, or set it aside, and say in sentences what was done; nothing where all is well.

    Papers and plans that no line knows, whose names the next ones may need, are set aside as well. It comes before all
    that writes: raises JobError or JournalError where nothing can be written.
    """
    if not os.access(folder, os.W_OK):
        raise JobError(f"{folder}: cannot be written to; see to the rights of the folder, and do it again")
    with Journal(folder / "journal.jsonl") as journal:
        return _settle(journal, PROGRAM)


def _settle(journal: Journal, by: str) -> list[str]:
    begun, done = _begun(journal.folder), []
    if begun:
        begun.move(journal.folder)
        if begun.is_news_to(journal) and begun.is_whole(journal):
            _end(journal, begun)
            done.append(f"{', '.join(begun.names)}: an interruption came before the journal knew; it is all kept")
    strays = _strays(journal.folder, journal.events)
    interrupted = [name for name in strays if (begun and name in begun.names) or _PART.fullmatch(Path(name).name)]
    in_the_way = [name for name in strays if name not in interrupted and name.startswith(("papers/", "plans/"))]
    for note in (BEING_WRITTEN, f".{BEING_WRITTEN}.part"):
        (journal.folder / note).unlink(missing_ok=True)
    done += _put_aside(journal, interrupted, INTERRUPTED, by=by)
    done += _put_aside(journal, in_the_way, UNKNOWN, by=by)
    return done


def mend(folder: Path, by: str = "") -> list[str]:
    """Settle, and set aside all that does not agree with the journal, so that work can go on; say what was done.

    Nothing is made good by it: what was changed or is missing stays so, and the journal and later papers say it.
    """
    with Journal(folder / "journal.jsonl") as journal:
        who = by or journal.events[0].by
        return [*_settle(journal, who), *_mend(journal, who)]


def _mend(journal: Journal, by: str) -> list[str]:
    done = _put_aside(journal, _strays(journal.folder, journal.events), UNKNOWN, by=by)
    bad = [one.file for one in known(journal.events).values() if isinstance(proved(journal.folder, one), Problem)]
    here = [name for name in bad if _within(journal.folder, name) and (journal.folder / name).is_file()]
    done += _put_aside(journal, here, "it is not the file that was taken in", by=by)
    if missed := [name for name in bad if name not in here]:
        why = "it is missing from the job"
        journal.append("set_aside", {"why": why, "files": {}, "missed": missed}, by=by, source="check")
        done.append(f"{', '.join(missed)}: {why}; nothing counts on it any more")
    return done


PROGRAM = "recover"
"""Who sets aside what an interruption left."""

INTERRUPTED = "an interruption came while it was written"
UNKNOWN = "no line of the journal knows it: it was put there by hand, or lines were cut off the journal's end"


@dataclass(frozen=True)
class _Begun:
    """The line that is going to be written, once all its files are where it says; `head`: the journal's last before."""

    kind: Kind
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

    def is_news_to(self, journal: Journal) -> bool:
        """Whether its line was not written."""
        return self.head == journal.head

    def is_whole(self, journal: Journal) -> bool:
        """Whether every file is there as it was to be written."""
        return all(isinstance(proved(journal.folder, one), bytes) for one in self.files.values())

    def move(self, folder: Path) -> None:
        """Finish setting files aside."""
        for name, of in self.data["files"].items() if self.kind == "set_aside" else ():
            _move(folder, name, of["to"])


def _begin(journal: Journal, begun: _Begun) -> None:
    """Write down which line is going to be written, and so which files."""
    write_whole(journal.folder / BEING_WRITTEN, json.dumps(asdict(begun), ensure_ascii=False).encode())


def _end(journal: Journal, begun: _Begun) -> Event:
    """Write the line that was begun."""
    event = journal.append(begun.kind, begun.data, by=begun.by, source=begun.source)
    (journal.folder / BEING_WRITTEN).unlink()
    return event


def _begun(folder: Path) -> _Begun | None:
    """Return what was begun when the program was stopped; None where nothing was, or nobody can tell."""
    try:
        begun = _Begun(**json.loads((folder / BEING_WRITTEN).read_bytes()))
        told = all(isinstance(one, str) for one in (begun.by, begun.source, begun.head))
        sound = told and not chain.lacks(begun.kind, begun.data)
        inside = sound and all(name.partition("/")[0] in FOLDERS and _within(folder, name) for name in begun.names)
    except (OSError, ValueError, TypeError, AttributeError, KeyError, RecursionError):
        return None
    return begun if inside else None


def _strays(folder: Path, events: Iterable[Event]) -> list[str]:
    """Return the files in a job's folders that no line of the journal knows; drafts come and go."""
    there = [file for name in FOLDERS for file in (folder / name).glob("*") if file.is_file() or file.is_symlink()]
    names = sorted(file.relative_to(folder).as_posix() for file in there)
    expected = known(events)
    return [name for name in names if name not in expected and not _DRAFT.fullmatch(name)]


def _put_aside(journal: Journal, names: list[str], why: str, *, by: str) -> list[str]:
    """Move files to where nothing reads them, with a line that says so; return that in a sentence."""
    if not names:
        return []
    places = _places_aside(journal.folder, names)
    contents = {name: (journal.folder / name).read_bytes() for name in names}
    files = {name: {**of, "to": places[name]} for name, of in listed(contents).items()}
    begun = _Begun("set_aside", {"why": why, "files": files}, by, "check", journal.head)
    _begin(journal, begun)
    begun.move(journal.folder)
    _end(journal, begun)
    return [f"{', '.join(names)}: {why}; set aside in {journal.folder / ASIDE}"]


def _move(folder: Path, name: str, to: str) -> None:
    """Move a file within a job, if it has not been moved yet, and wait until that is on the disk."""
    if name != to and (folder / name).exists():
        (folder / to).parent.mkdir(exist_ok=True)
        (folder / name).replace(folder / to)
        _sync((folder / name).parent)
        _sync((folder / to).parent)


def _places_aside(folder: Path, names: Iterable[str]) -> dict[str, str]:
    places: dict[str, str] = {}
    for name in names:
        path = Path(name.lstrip("."))
        tries = (f"{ASIDE}/{path.stem}{f' ({number})' if number else ''}{path.suffix}" for number in count())
        places[name] = next(one for one in tries if one not in places.values() and not (folder / one).exists())
    return places


# ---------------------------------------------------------------------------------------- integrity


def unproved(folder: Path, events: Iterable[Event]) -> list[Problem]:
    """Return what is wrong with the files that the journal knows of: missing, or not what was taken in."""
    return [found for one in known(events).values() if isinstance(found := proved(folder, one), Problem)]


def integrity(folder: Path) -> list[Problem]:
    """Find what does not agree in a job: the journal's chain, the hash of each file, files that no line knows."""
    record, problems = chain.inspect(folder / "journal.jsonl")
    if record.torn:
        what = "its last line was cut off while it was written"
        problems.append(Problem("journal.jsonl", what, "nothing else is lost; the line goes at the next answer"))
    begun = _begun(folder)
    names = begun.names if begun else []
    problems += [one for one in unproved(folder, record.events) if one.where not in names]
    mend = f"recover check {folder} --mend"
    if (folder / BEING_WRITTEN).exists():
        what = f"an interruption came while {', '.join(names) or 'something'} was written"
        problems.append(Problem(BEING_WRITTEN, what, f"{mend} finishes it or sets it aside; no line was lost by it"))
    for name in _strays(folder, record.events):
        if name in names or _PART.fullmatch(Path(name).name):
            problems.append(Problem(name, "is what an interruption left", f"{mend} finishes it or sets it aside"))
        else:
            problems.append(Problem(name, UNKNOWN, f"{mend} sets it aside; a paper that is out tells which: --against"))
    return problems


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
