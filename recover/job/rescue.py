"""A way on where a journal does not hold together and there is no copy of it.

Nothing is made good by it. What can still be read is chained anew, behind it stands a line that says so, and the
journal as it was found is set aside. No answer up to that line is evidence: what opens a hold point is looked at and
measured again, and papers that are out no longer agree with the journal, which is right.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from recover.base.errors import JobError
from recover.job import journal as chain
from recover.job.journal import NOTHING_BEFORE, Event, utc_now
from recover.job.kept import places_aside, told_of, write_whole

WHY = "the journal did not hold together and there was no copy of it; what could be read is chained anew"


def chain_anew(folder: Path, by: str) -> list[str]:
    """Chain anew what can be read of a broken journal, and say what was done. Raises JobError where it is not broken,
    or where nothing can be read."""
    path = folder / "journal.jsonl"
    found = path.read_bytes()
    if not chain.inspect(path)[1]:
        raise JobError(f"{path}: holds together; there is nothing to chain anew")
    events = chain.legible(found)
    if not events:
        raise JobError(f"{path}: not even its beginning can be read; begin a new job, and answer anew from the papers")
    place = places_aside(folder, [path.name])[path.name]
    data = {"why": WHY, "files": {path.name: {**told_of(found), "to": place}}, "unproved": len(events)}
    at = utc_now().isoformat(timespec="seconds")
    last = Event(0, at, by or events[0].by, "check", "set_aside", data, "")
    anew = b"".join(line + b"\n" for line in _chained([*events, last]))
    write_whole(folder / place, found)
    write_whole(path, anew)
    lost = len(chain.rows_of(found)) - len(events)
    return [f"{path}: {WHY}: {len(events)} lines, {lost} could not be read. As it was found it is {folder / place}. "
            "Nothing of it opens a hold point: look and measure again."]  # fmt: skip


def _chained(events: Iterable[Event]) -> Iterable[bytes]:
    before = NOTHING_BEFORE
    for number, event in enumerate(events, start=1):
        line = replace(event, n=number, before=before).line()
        before = sha256(line).hexdigest()
        yield line
