"""A way on where a journal does not hold together and there is no copy of it.

Nothing is made good by it. What can still be read is chained anew, behind it stands a line that says so, and the
journal as it was found is set aside. No answer up to that line is evidence: what opens a hold point is looked at and
measured again. An answer that stands where the journal is broken counts as unknown until it is given again. Papers that
are out no longer agree with the journal, which is right.

Where another program put another journal in the place of one that was open, what that sitting had written lies beside
it, and is taken in line by line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from recover.base.errors import JobError
from recover.job import journal as chain
from recover.job import lines
from recover.job.journal import NOTHING_BEFORE, Event, Journal, Legible, utc_now
from recover.job.kept import ASIDE, SITTINGS, places_aside, told_of, write_whole

WHY = "the journal did not hold together and there was no copy of it; what could be read is chained anew"


def chain_anew(folder: Path, by: str) -> list[str]:
    """Chain anew what can be read of a broken journal, and say what was done. Raises JobError where it is not broken,
    or where nothing can be read."""
    path = folder / "journal.jsonl"
    with chain.locked(path) as found:
        if not chain.inspect(path)[1]:
            raise JobError(f"{path}: holds together; there is nothing to chain anew")
        read = _readable(found, path)
        place = places_aside(folder, [path.name])[path.name]
        data = _told(read, {path.name: {**told_of(found), "to": place}})
        last = Event(0, utc_now().isoformat(timespec="seconds"), by or read[0].event.by, "check", "set_aside", data, "")
        anew = b"".join(line + b"\n" for line in _chained([*(one.event for one in read), last]))
        write_whole(folder / place, found)
        write_whole(path, anew)
    return _said(path, folder / place, read, lost=len(chain.rows_of(found)) - len(read))


def _readable(found: bytes, path: Path) -> list[Legible]:
    """Return what can be read of a journal from its beginning. Raises JobError where there is none."""
    read = chain.legible(found)
    if not read or read[0].event.kind != "start":
        first = next(iter(chain.rows_of(found)), b"")
        begins = _beginning(first.decode("utf-8", "replace"))
        read = [Legible(begins, doubtful=True), *read] if begins else []
    if not read:
        raise JobError(f"{path}: not even its beginning can be read; begin a new job, and answer anew from the papers")
    if problems := chain.format_problems([read[0].event], path.name):
        raise JobError("\n".join(map(str, problems)))
    return read


def _beginning(text: str) -> Event | None:
    """Return a first line of which some letters are broken, if all that a job is opened with can be read in it."""
    said = dict(re.findall(r'"(at|by|job|profile|paper|zone)":"([^"\\]*)"', text))
    data = {"format": chain.FORMAT, "version": chain.VERSION, **{key: said.get(key, "") for key in _OPENS}}
    if not all(data.values()) or not lines.is_moment(said.get("at", "")):
        return None
    return Event(1, said["at"], said.get("by", ""), "start", "start", data, NOTHING_BEFORE)


_OPENS = ("job", "profile", "paper", "zone")


def _told(read: list[Legible], files: dict[str, Any]) -> dict[str, Any]:
    """Return what the line says that is written behind all that could be read."""
    doubtful = [number for number, one in enumerate(read, start=1) if one.doubtful]
    return {"why": WHY, "files": files, "unproved": len(read), "doubtful": doubtful}


def _said(path: Path, aside: Path, read: list[Legible], lost: int) -> list[str]:
    doubtful = sum(one.doubtful for one in read)
    said = [f"{path}: {WHY}: {len(read)} lines, {lost} could not be read. As it was found it is {aside}.",
            "Nothing of it opens a hold point: look and measure again."]  # fmt: skip
    if doubtful:
        said += [f"{doubtful} lines stand where it is broken: what they answer counts as unknown until it is given "
                 "again."]  # fmt: skip
    if read[0].doubtful:
        told = read[0].event.data
        said += [f"It begins with: {', '.join(told[key] for key in _OPENS if key in told)}. If that is not so, begin a "
                 "new job."]  # fmt: skip
    return [" ".join(said)]


def _chained(events: Iterable[Event]) -> Iterable[bytes]:
    before = NOTHING_BEFORE
    for number, event in enumerate(events, start=1):
        line = replace(event, n=number, before=before).line()
        before = sha256(line).hexdigest()
        yield line


# ---------------------------------------------------------------------------------------- lines of a sitting


def take_in_sittings(folder: Path) -> list[str]:
    """Write into a journal what sittings had written that another program replaced while they were open.

    Answers, notes and instruments, each under its own name and of its own time; signatures are given again.
    """
    with Journal(folder / "journal.jsonl") as journal:
        return [said for path in sorted((folder / ASIDE).glob(SITTINGS)) if (said := _take_in(journal, path))]


def _take_in(journal: Journal, path: Path) -> str:
    record, problems = chain.inspect(path)
    if problems or not record.events or record.events[0] != journal.events[0]:
        return f"{path}: holds no lines of this job; it is left as it is"
    there = [(event.kind, event.data) for event in journal.events]
    new = [event for event in record.events if event.kind in _TAKEN_IN]
    new = [event for event in new if (event.kind, event.data) not in there and (event.kind, _timed(event)) not in there]
    for event in new:
        journal.append(event.kind, _timed(event), by=event.by, source=event.source)
    return f"{path}: {len(new)} lines of it were not in the journal and are now" if new else ""


_TAKEN_IN = ("answer", "reading", "note", "instrument")


def _timed(event: Event) -> dict[str, Any]:
    """Return what a line holds; of an answer without a time of its own, with when it was written."""
    if event.kind in ("note", "instrument") or event.data.get("measured"):
        return event.data
    return {**event.data, "measured": event.at}
