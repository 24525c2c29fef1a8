"""A job: one folder that can be copied, mailed and opened in ten years.

JOB/journal.jsonl     everything that was said (see journal.py)
JOB/photographs/      pictures, byte for byte as they came
JOB/papers/           drafts, and issued papers as numbered JSON beside their PDF, never overwritten
JOB/plans/            plans of the dry-out as numbered JSON, never overwritten
JOB/set-aside/        what an interruption left, and what no line of the journal knew

How files are proved before they are read: kept.py; how they are written: writing.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from recover.base.errors import AnswerError, JobError, command
from recover.base.measures import is_writable
from recover.job import journal
from recover.job.journal import Event, Journal, utc_now
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
        if not is_writable(self.job):
            raise AnswerError("the folder's name holds letters that cannot be written down; name another folder")
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
    """An opened job: its folder, settings, events, and the hash of the journal's last line. `torn`: what is left of a
    line behind it that was cut off."""

    folder: Path
    settings: Settings
    events: tuple[Event, ...]
    head: str
    torn: bytes = b""

    @property
    def journal(self) -> Path:
        """The journal file."""
        return self.folder / "journal.jsonl"

    @property
    def papers(self) -> Path:
        """The folder of papers."""
        return self.folder / "papers"


def start(folder: Path, settings: Settings, *, by: str, clock: Callable[[], datetime] = utc_now) -> Job:
    """Make a new job, or finish one that was broken off. Raises JobError if the folder holds something else."""
    if folder.exists() and (not folder.is_dir() or not _is_blank(folder)):
        is_job = folder.is_dir() and (folder / "journal.jsonl").is_file()
        inspect = f"or go on with: {command('inspect', folder)}"
        go_on = inspect if is_job else _looks_like(folder) or "or take away what stands there"
        raise JobError(f"{folder}: exists already; name a new folder, {go_on}")
    try:
        (folder / "photographs").mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise JobError(f"{folder}: cannot be made ({error}); name a folder where you may write") from error
    with Journal(folder / "journal.jsonl", clock) as written:
        if written.events:
            raise JobError(f"{folder}: was begun by another program just now; go on with: {command('start', folder)}")
        opening = {"format": journal.FORMAT, "version": journal.VERSION, **asdict(settings)}
        written.append("start", opening, by=by, source="start")
    return open_job(folder)


def _is_blank(folder: Path) -> bool:
    """Whether a folder holds nothing, or no more than a start that was broken off before its first line was whole."""
    of_a_start = {"photographs": Path.is_dir, "journal.jsonl": Path.is_file}
    for one in folder.iterdir():
        if one.name not in of_a_start or not of_a_start[one.name](one):
            return False
    return not any((folder / "photographs").glob("*")) and not is_begun(folder)


def _looks_like(folder: Path) -> str:
    """Say of a folder without a journal what it may be, and what to do; empty where nothing tells."""
    files = [one for one in folder.glob("*") if one.is_file() and one.stat().st_size < _LONGEST_BYTES]
    if like := next((one.name for one in files if one.read_bytes().startswith(_FIRST)), ""):
        return f"and {like} looks like it: rename it back to journal.jsonl"
    if any((folder / name).is_dir() for name in ("papers", "photographs")):
        return "and papers or photographs of a job: look for the journal in a copy of the job; they prove nothing alone"
    return ""


_FIRST = b'{"n":1,"at":"'
"""How every journal begins."""
_LONGEST_BYTES = 100_000_000


def is_begun(folder: Path) -> bool:
    """Whether a folder holds a journal with a line, sound or not. Raises JournalError if it cannot be read."""
    path = folder / "journal.jsonl"
    if not path.is_file():
        return False
    record, problems = journal.inspect(path)
    return bool(record.whole_bytes or problems)


def open_job(folder: Path) -> Job:
    """Open a job. Raises JobError if the folder is none, JournalError if its journal cannot be trusted."""
    path = folder / "journal.jsonl"
    if path.is_symlink():
        raise JobError(f"{path}: is a link to another place; a job holds its journal itself")
    if not path.is_file():
        begin = f"so it is no job; begin one with: {command('start', folder)}"
        raise JobError(f"{folder}: holds no journal.jsonl, {_looks_like(folder) or begin}")
    record = journal.read(path)
    if not record.events:
        raise JobError(f"{path}: holds no whole line, so nothing was kept; begin with: {command('start', folder)}")
    opening = record.events[0].data
    missing = [name for name in ("job", "profile", "paper", "zone") if not isinstance(opening.get(name), str)]
    if missing:
        raise JobError(f"{path} line 1: lacks {', '.join(missing)}; put back the file from a copy")
    settings = Settings(opening["job"], opening["profile"], opening["paper"], opening["zone"])
    return Job(folder, settings, record.events, record.head, record.torn)
