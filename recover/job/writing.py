"""How files come into a job: on the disk before the journal knows of them.

Pictures, plans and the papers of an issue are written in one order: what is about to be written (`being-written.json`);
each file beside its place, synced, put there; their folders; then one line of the journal, with the length and hash of
each. Whatever stops the program, the next who writes can tell what it was doing.
"""

from __future__ import annotations

import json
import os
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from itertools import count
from pathlib import Path
from secrets import token_hex
from typing import Any

from recover.base.errors import JobError, advice, command
from recover.job import lines
from recover.job.journal import Event, Journal, sync
from recover.job.kept import (
    ASIDE,
    FOLDERS,
    OF_A_JOB,
    Kept,
    ever,
    files_of,
    is_within,
    known,
    plain_bytes,
    proved,
    sha256_of,
    told_of,
    writable,
)
from recover.job.lines import LineKind
from recover.job.torn import heads

BEING_WRITTEN = "being-written.json"
DRAFT = re.compile(r"papers/[^/]*-draft\.(?:pdf|html)")


def keep(
    journal: Journal, contents: Mapping[str, bytes], kind: LineKind, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Write files and then the line that knows of them; both are on the disk when this returns.

    Raises JobError, and keeps nothing, where a name is taken or a file cannot be written.
    """
    _free(journal, contents)
    begun = Begun(kind, dict(data), by, source, journal.head)
    try:
        begun.note(journal)
        for name, of in contents.items():
            write_whole(journal.folder / name, of)
    except JobError:
        for name in (*contents, BEING_WRITTEN):  # nobody was told that any of it is kept
            with suppress(OSError):
                (journal.folder / name).unlink(missing_ok=True)
        raise
    return begun.end(journal)


def keep_picture(
    journal: Journal, name: str, content: bytes, data: Mapping[str, Any], *, by: str, source: str
) -> Event:
    """Keep a picture as it came, under its name or that with a number; where it lies there already, add the line alone.

    A name is never given to another picture, not even after the first one was set aside. Raises JobError, and keeps
    nothing, where it cannot be written.
    """
    stem, suffix, sha256 = *_portable(name), sha256_of(content)
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


def _free(journal: Journal, names: Iterable[str]) -> None:
    """Refuse to write over anything, or beside what an interruption left. Raises JobError."""
    for name in (BEING_WRITTEN, *names):
        if os.path.lexists(journal.folder / name):
            remedy = f"{command('check', journal.folder)} --mend sets it aside, and says so in the journal"
            raise JobError(f"{journal.folder / name}: is there already, and nothing is ever overwritten; {remedy}")


def _is_free_for(path: Path, content: bytes) -> bool:
    return not os.path.lexists(path) or plain_bytes(path) == content


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


def put_aside(journal: Journal, names: list[str], why: str, *, by: str) -> list[str]:
    """Move files to where nothing reads them, with a line that says so; return that in a sentence."""
    if not names:
        return []
    places = places_aside(journal.folder, names)
    files = {}
    for name in names:
        content = plain_bytes(journal.folder / name)
        of = {"sha256": "", "length": 0} if content is None else told_of(content)
        files[writable(name)] = {**of, "to": places[name]}
    begun = Begun("set_aside", {"why": why, "files": files}, by, "check", journal.head)
    begun.note(journal)
    for name in names:
        move(journal.folder, name, places[name])
    begun.end(journal)
    return [f"{', '.join(files)}: {why}; set aside in {journal.folder / ASIDE}"]


def places_aside(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """Return where files go that are set aside: under their own name, or that with a number."""
    places: dict[str, str] = {}
    for name in names:
        stem, suffix = _portable(writable(name.rsplit("/", 1)[-1]).lstrip("."))
        tries = (f"{ASIDE}/{stem}{f' ({number})' if number else ''}{suffix}" for number in count())
        places[name] = next(one for one in tries if one not in places.values() and not os.path.lexists(folder / one))
    return places


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


@dataclass(frozen=True)
class Begun:
    """The line that is going to be written, once all its files are where it says; `head`: the journal's last before."""

    kind: LineKind
    data: dict[str, Any]
    by: str
    source: str
    head: str

    @staticmethod
    def of(folder: Path, events: Sequence[Event], head: str) -> Begun | None:
        """Return what was begun when the program was stopped; None where nothing was, or nobody can tell.

        Once a line has come after the last one that it names (`head`), it is of the past; but for a line that keeps
        what is left of its own.
        """
        try:
            begun = Begun(**json.loads(plain_bytes(folder / BEING_WRITTEN) or b""))
            told = all(isinstance(one, str) for one in (begun.by, begun.source, begun.head))
            kinds = ("photograph", "issue", "set_aside")
            sound = told and begun.kind in kinds and not lines.faults(begun.kind, begun.data)
            inside = sound and all(OF_A_JOB.fullmatch(name) and is_within(folder, name) for name in begun.names)
        except (OSError, ValueError, TypeError, AttributeError, KeyError, RecursionError):
            return None
        return begun if inside and begun.names and begun.head in heads(events, head) else None

    @property
    def files(self) -> dict[str, Kept]:
        """The files that the line will know, by name."""
        return {one.file: one for one in files_of(self.kind, self.data, 0)}

    @property
    def names(self) -> list[str]:
        """The names of its files; of those that are set aside, also those that they had."""
        return list(dict.fromkeys([*self.files, *self.data.get("files", {})]))

    def is_whole(self, journal: Journal) -> bool:
        """Whether every file is there as it was to be written."""
        return all(isinstance(proved(journal.folder, one), bytes) for one in self.files.values())

    def note(self, journal: Journal) -> None:
        """Write down which line is going to be written, and so which files. Raises AnswerError for what no line may
        hold: before anything is written or moved for it."""
        journal.next(self.kind, self.data, by=self.by, source=self.source)
        write_whole(journal.folder / BEING_WRITTEN, json.dumps(asdict(self), ensure_ascii=False).encode())

    def move(self, folder: Path) -> None:
        """Finish setting files aside."""
        for name, of in self.data["files"].items() if self.kind == "set_aside" else ():
            move(folder, name, of["to"], of["sha256"])

    def end(self, journal: Journal) -> Event:
        """Write the line that was begun."""
        event = journal.append(self.kind, self.data, by=self.by, source=self.source)
        (journal.folder / BEING_WRITTEN).unlink()
        return event


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: beside its place, synced, then put there. Raises JobError.

    The passing name is new and is nobody else's, so that no link leads the bytes to another place.
    """
    folder = path.parent
    _own(folder)
    draft = "draft-" if DRAFT.fullmatch(f"{folder.name}/{path.name}") else ""
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


def move(folder: Path, name: str, to: str, sha256: str = "") -> None:
    """Move a file within a job, if it has not been moved yet and is the one meant, and wait until that is on the disk.

    Nothing is moved over another file.
    """
    source, target = folder / name, folder / to
    if name == to or not os.path.lexists(source) or os.path.lexists(target):
        return
    if sha256 and sha256_of(plain_bytes(source) or b"") != sha256:
        return
    _own(target.parent)
    try:
        target.parent.mkdir(exist_ok=True)
    except FileExistsError as error:
        raise JobError(f"{target.parent}: is no folder; take it away, and do it again") from error
    source.rename(target)
    sync(source.parent)
    sync(target.parent)
