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
from dataclasses import dataclass
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
    content = {"kind": kind, "data": data, "by": by, "source": source, "head": journal.head}
    begun = journal.folder / BEING_WRITTEN
    write_whole(begun, json.dumps(content, ensure_ascii=False).encode())
    written: list[Path] = []
    try:
        for name, of in contents.items():
            write_whole(journal.folder / name, of)
            written.append(journal.folder / name)
    except JobError:
        for path in (*written, begun):  # nobody was told that any of it is kept
            path.unlink(missing_ok=True)
        raise
    event = journal.append(kind, dict(data), by=by, source=source)
    begun.unlink()
    return event


def keep_picture(
    journal: Journal, name: str, content: bytes, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Keep a picture as it came, under its name or that with a number; where it is kept already, only the line is new.

    Raises JobError, and keeps nothing, where it cannot be written.
    """
    stem, suffix = Path(name).stem, Path(name).suffix
    tries = (f"photographs/{stem}{f' ({number})' if number > 1 else ''}{suffix}" for number in count(1))
    file = next(one for one in tries if _is_free_for(journal.folder / one, content))
    of = {**data, "file": file, "sha256": _sha256(content), "length": len(content)}
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
        return _settle(journal)


def _settle(journal: Journal) -> list[str]:
    begun = _begun(journal.folder)
    files = {one.file: one for one in _files_of(begun["kind"], begun["data"], 0)} if begun else {}
    done = []
    if files and not set(files) <= set(known(journal.events)) and _is_whole(journal, begun, files.values()):
        journal.append(begun["kind"], begun["data"], by=begun["by"], source=begun["source"])
        done.append(f"{', '.join(files)}: written whole before an interruption; the journal knows it now")
    strays = _strays(journal.folder, journal.events)
    interrupted = [name for name in strays if name in files or _PART.fullmatch(Path(name).name)]
    in_the_way = [name for name in strays if name not in interrupted and name.startswith(("papers/", "plans/"))]
    done += _put_aside(journal, interrupted, "an interruption came while it was written", by=PROGRAM)
    done += _put_aside(journal, in_the_way, UNKNOWN, by=PROGRAM)
    (journal.folder / BEING_WRITTEN).unlink(missing_ok=True)
    return done


def mend(folder: Path, by: str = "") -> list[str]:
    """Settle, and set aside all that does not agree with the journal, so that work can go on; say what was done.

    Nothing is made good by it: what was changed or is missing stays so, and the journal and later papers say it.
    """
    with Journal(folder / "journal.jsonl") as journal:
        return [*_settle(journal), *_mend(journal, by or journal.events[0].by)]


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


UNKNOWN = "no line of the journal knows it: it was put there by hand, or lines were cut off the journal's end"


def _begun(folder: Path) -> dict[str, Any]:
    """Return what was being written when the program was stopped; empty where nothing was, or nobody can tell."""
    try:
        found = json.loads((folder / BEING_WRITTEN).read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    whole = isinstance(found, dict) and {"kind", "data", "by", "source", "head"} == set(found)
    return found if whole and not chain.lacks(found["kind"], found["data"]) else {}


def _is_whole(journal: Journal, begun: Mapping[str, Any], files: Iterable[Kept]) -> bool:
    """Whether all that was being written is there, and nothing was written to the journal since."""
    same = begun["head"] == journal.head
    return same and all(isinstance(proved(journal.folder, one), bytes) for one in files)


def _strays(folder: Path, events: Iterable[Event]) -> list[str]:
    """Return the files in a job's folders that no line of the journal knows; drafts come and go."""
    there = [file for name in FOLDERS for file in (folder / name).glob("*") if file.is_file() or file.is_symlink()]
    names = sorted(file.relative_to(folder).as_posix() for file in there)
    names += [file.name for file in folder.glob(".*.part")]
    expected = known(events)
    return [name for name in names if name not in expected and not _DRAFT.fullmatch(name)]


def _put_aside(journal: Journal, names: list[str], why: str, *, by: str) -> list[str]:
    """Move files to where nothing reads them, with a line that says so; return that in a sentence."""
    if not names:
        return []
    places = _places_aside(journal.folder, names)
    contents = {name: (journal.folder / name).read_bytes() for name in names}
    files = {name: {**of, "to": places[name]} for name, of in listed(contents).items()}
    journal.append("set_aside", {"why": why, "files": files}, by=by, source="check")
    for name in names:
        (journal.folder / places[name]).parent.mkdir(exist_ok=True)
        (journal.folder / name).replace(journal.folder / places[name])
    _sync(journal.folder / ASIDE)
    return [f"{', '.join(names)}: {why}; set aside in {journal.folder / ASIDE}"]


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
    problems += unproved(folder, record.events)
    mend = f"recover check {folder} --mend"
    begun = _begun(folder)
    files = {one.file for one in _files_of(begun["kind"], begun["data"], 0)} if begun else set()
    if (folder / BEING_WRITTEN).exists():
        what = f"an interruption came while {', '.join(sorted(files)) or 'something'} was written"
        problems.append(Problem(BEING_WRITTEN, what, f"{mend} finishes it or sets it aside; no line was lost by it"))
    for name in _strays(folder, record.events):
        if _PART.fullmatch(Path(name).name) or name in files:
            problems.append(Problem(name, "is what an interruption left", f"{mend} finishes it or sets it aside"))
        else:
            problems.append(Problem(name, UNKNOWN, f"{mend} sets it aside; a paper that is out tells which: --against"))
    return problems


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
