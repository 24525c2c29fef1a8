"""The files of a job as its journal knows them: which there are, and the proof of each before anybody reads it."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from stat import S_ISREG
from typing import Any

from recover.base.errors import Problem, command
from recover.base.measures import as_written
from recover.job import journal as chain
from recover.job.journal import Event

ASIDE = "set-aside"
FOLDERS = ("photographs", "papers", "plans", ASIDE)
INTERRUPTED = "an interruption came while it was written"
"""Why a file was set aside that nobody was told of."""
SITTING = re.compile(r"lines-of-a-sitting-[0-9a-f]{8}\.jsonl")
"""What a sitting had written before another program put another journal in its place."""
OF_A_JOB = re.compile(rf"(?:{'|'.join(FOLDERS)})/(?!\.\.?$)[^/]+")
A_LINK = "is a link to another place", "a job holds its files itself: put what it leads to in its place"


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
    return {"sha256": sha256_of(content), "length": len(content)}


def known(events: Iterable[Event]) -> dict[str, Kept]:
    """Return every file that the journal knows of and still counts on, by its name within the job."""
    found: dict[str, Kept] = {}
    for event in events:
        for name in gone(event):
            found.pop(name, None)
        found |= {one.file: one for one in files_of(event.kind, event.data, event.n)}
    return found


def ever(events: Iterable[Event]) -> list[Kept]:
    """Return every file that any line of the journal ever told of, also what was set aside or missed since."""
    return [one for event in events for one in files_of(event.kind, event.data, event.n)]


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


def files_of(kind: str, data: Mapping[str, Any], line: int) -> Iterator[Kept]:
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
    if link := link_to(folder, one.file):
        return Problem(link, *A_LINK)
    if not is_within(folder, one.file):
        what = f"lies outside the job (journal line {one.line})"
        return Problem(one.file, what, "a job holds its files itself: put back the journal from a copy")
    content, taken_in = plain_bytes(folder / one.file), one.file.startswith("photographs/")
    if content is None:
        back = f", or take it in again: {command('photo', folder, 'PICTURE')}" if taken_in else ""
        return Problem(one.file, f"is missing (journal line {one.line})", f"put it back from a copy{back}")
    if sha256_of(content) != one.sha256:
        back = f"; or {command('check', folder)} --mend, then {command('photo', folder, 'PICTURE')}" if taken_in else ""
        what = f"is not the file that was taken in (journal line {one.line})"
        return Problem(one.file, what, f"put back the original from a copy{back}")
    return content


def unproved(folder: Path, events: Iterable[Event]) -> list[Problem]:
    """Return what is wrong with the files that the journal knows of: missing, or not what was taken in; once each."""
    files = known(events).values()
    found = (proved(folder, one) for one in files)
    return list(dict.fromkeys(_exchanged(folder, one, files) for one in found if isinstance(one, Problem)))


def _exchanged(folder: Path, found: Problem, files: Iterable[Kept]) -> Problem:
    """Say of a file that is another one of the job which that is: nothing but its name is wrong."""
    sha256 = sha256_of(plain_bytes(folder / found.where) or b"")
    other = next((one for one in files if one.sha256 == sha256 and one.file != found.where), None)
    if other is None:
        return found
    what = f"is not the file that was taken in: it is {other.file} as that was (journal line {other.line})"
    return Problem(found.where, what, "names were exchanged: give each file its own again")


def link_to(folder: Path, name: str) -> str:
    """Return the link by which a file's name leads to another place: its folder's or its own; empty where none does."""
    ways = (folder / name.partition("/")[0], folder / name) if OF_A_JOB.fullmatch(name) else ()
    return next((way.relative_to(folder).as_posix() for way in ways if way.is_symlink()), "")


def is_within(folder: Path, name: str) -> bool:
    """Say whether a name leads to a place within a folder, also by links."""
    return "\0" not in name and (folder / name).resolve().is_relative_to(folder.resolve())


def is_plain(path: Path) -> bool:
    """Say whether a plain file is there: no link, no folder, no pipe."""
    try:
        return S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def plain_bytes(path: Path) -> bytes | None:
    """Return what a plain file holds; None where there is none: nothing, a link, a folder, a pipe."""
    try:
        return path.read_bytes() if is_plain(path) else None
    except OSError:
        return None


def sittings(folder: Path) -> list[tuple[str, bytes]]:
    """Return the name and content of each plain file that holds what a sitting had written."""
    there = [] if (folder / ASIDE).is_symlink() else sorted((folder / ASIDE).glob("*"))
    found = [one for one in there if SITTING.fullmatch(one.name) and is_plain(one)]
    return [(f"{ASIDE}/{one.name}", one.read_bytes()) for one in found]


def left_beside(folder: Path) -> list[Problem]:
    """Return what is wrong where lines lie beside the journal that a sitting had written, and was told are kept."""
    what = "holds what a sitting had written when another program put another journal in the place of its own"
    taken_in = f"{command('check', folder)} --mend takes it in"
    remedy = f"{taken_in}; it is a copy of the job's lines up to then, for a journal that does not hold together"
    return [Problem(name, what, remedy) for name, _ in sittings(folder)]


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


def sha256_of(content: bytes) -> str:
    """Return the hash by which the journal knows a file."""
    return hashlib.sha256(content).hexdigest()


def writable(name: str) -> str:
    """Return a file's name as it can be written down."""
    return as_written(os.fsencode(name))
