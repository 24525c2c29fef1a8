"""A job: one folder that can be copied, mailed and opened in ten years.

JOB/journal.jsonl     everything that was said (see journal.py)
JOB/photographs/      pictures, byte for byte as they came
JOB/papers/           drafts, and issued papers as numbered JSON beside their PDF, never overwritten
JOB/plans/            plans of the dry-out as numbered JSON, never overwritten
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from recover import journal
from recover.errors import AnswerError, JobError, Problem
from recover.evidence import Picture
from recover.journal import Event, Journal, utc_now
from recover.profiles import PROFILES

PAPER_SIZES = ("A4", "Letter")


@dataclass(frozen=True)
class Settings:
    """What holds for the whole job: its name, country profile, paper size and time zone."""

    job: str
    profile: str
    paper: str
    zone: str

    def __post_init__(self) -> None:
        """Refuse what no other part could work with. Raises AnswerError."""
        if self.profile not in PROFILES:
            raise AnswerError(f"the profile {self.profile!r} is not known; expected one of {', '.join(PROFILES)}")
        if self.paper not in PAPER_SIZES:
            raise AnswerError(f"the paper size {self.paper!r} is not known; expected one of {', '.join(PAPER_SIZES)}")
        try:
            ZoneInfo(self.zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise AnswerError(f"the time zone {self.zone!r} is not known; expected one as 'Europe/Berlin'") from error

    @property
    def tz(self) -> ZoneInfo:
        """The job's time zone: clock times are local to it."""
        return ZoneInfo(self.zone)


@dataclass(frozen=True)
class Job:
    """An opened job: its folder, settings, events, and the hash of the journal's last line."""

    folder: Path
    settings: Settings
    events: tuple[Event, ...]
    head: str

    @property
    def journal(self) -> Path:
        """The journal file."""
        return self.folder / "journal.jsonl"

    @property
    def papers(self) -> Path:
        """The folder of papers, made when it is first needed."""
        (self.folder / "papers").mkdir(exist_ok=True)
        return self.folder / "papers"


def start(folder: Path, settings: Settings, *, by: str, clock: Callable[[], datetime] = utc_now) -> Job:
    """Make a new job. Raises JobError if the folder holds something already."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise JobError(f"{folder}: exists already; name a new folder, or go on with: recover inspect {folder}")
    try:
        (folder / "photographs").mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise JobError(f"{folder}: cannot be made ({error}); name a folder where you may write") from error
    with Journal(folder / "journal.jsonl", clock) as written:
        opening = {"format": journal.FORMAT, "version": journal.VERSION, **asdict(settings)}
        written.append("start", opening, by=by, source="start")
    return open_job(folder)


def open_job(folder: Path) -> Job:
    """Open a job. Raises JobError if the folder is none, JournalError if its journal cannot be trusted."""
    path = folder / "journal.jsonl"
    if not path.is_file():
        raise JobError(f"{folder}: holds no journal.jsonl, so it is no job; begin one with: recover start {folder}")
    record = journal.read(path)
    if not record.events:
        raise JobError(f"{path}: holds no whole line, so nothing was kept; begin again in a new folder")
    opening = record.events[0].data
    missing = [name for name in ("job", "profile", "paper", "zone") if not isinstance(opening.get(name), str)]
    if missing:
        raise JobError(f"{path} line 1: lacks {', '.join(missing)}; put back the file from a copy")
    settings = Settings(opening["job"], opening["profile"], opening["paper"], opening["zone"])
    return Job(folder, settings, record.events, record.head)


def store_picture(folder: Path, picture: Picture) -> str:
    """Store a picture as it came and return its path within the job; a name that is taken gets a number.

    It is on the disk when this returns. Raises JobError, and keeps nothing, where it cannot be written.
    """
    place = folder / "photographs"
    if place.is_symlink():
        raise JobError(f"{place}: is a link to another place; a job holds its photographs itself")
    place.mkdir(exist_ok=True)
    stem, suffix = Path(picture.name).stem, Path(picture.name).suffix
    target, number = place / picture.name, 1
    while target.exists() and target.read_bytes() != picture.content:
        number += 1
        target = place / f"{stem} ({number}){suffix}"
    if not target.exists():
        _keep(target, picture.content)
    return f"photographs/{target.name}"


def _keep(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: beside its place, synced, then put there. Raises JobError."""
    beside = path.with_name(f".{path.name}.part")
    try:
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


def store_paper(folder: Path, kind: str, revision: int, content: dict[str, Any]) -> tuple[Path, str]:
    """Store an issued paper as numbered JSON and return its path and SHA-256. Raises JobError if it is there."""
    path = folder / f"{kind}-{revision:02d}.json"
    text = json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError as error:
        raise JobError(f"{path}: is there already, and an issued paper is never overwritten; move it away") from error
    return path, hashlib.sha256(text.encode()).hexdigest()


def integrity(job_folder: Path) -> list[Problem]:
    """Find what does not agree in a job: the journal's chain, the hash of each picture, issued paper and plan."""
    record, problems = journal.inspect(job_folder / "journal.jsonl")
    if record.torn:
        what = "its last line was cut off while it was written"
        problems.append(Problem("journal.jsonl", what, "nothing else is lost; the line goes at the next answer"))
    known = {event.data["file"]: event for event in record.events if event.kind in ("photograph", "issue")}
    problems += [problem for event in known.values() for problem in _file_problems(job_folder, event)]
    kept = [file for kind in ("photographs/*", "papers/*.json", "plans/*") for file in job_folder.glob(kind)]
    for name in sorted(file.relative_to(job_folder).as_posix() for file in kept):
        if name not in known:  # the chain cannot show that its own end was cut off; a file without its line can
            what = "lies in the job, and the journal does not know of it: lines may have been removed from its end"
            problems.append(Problem(name, what, "put back the journal from a copy, or take the file away"))
    return problems


def _file_problems(folder: Path, event: Event) -> list[Problem]:
    name = event.data["file"]
    place = (folder / name).resolve()
    if not place.is_relative_to(folder.resolve()):
        what = f"lies outside the job (journal line {event.n})"
        return [Problem(name, what, "a job holds its files itself: put back the journal from a copy")]
    try:
        found = hashlib.sha256((folder / name).read_bytes()).hexdigest()
    except OSError:
        return [Problem(name, f"is missing (journal line {event.n})", "put it back from a copy")]
    if found != event.data["sha256"]:
        what = f"is not the file that was taken in (journal line {event.n})"
        return [Problem(name, what, "put back the original from a copy")]
    return []
