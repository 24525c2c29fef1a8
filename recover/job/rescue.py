"""A way on where a journal does not hold together and there is no copy of it.

Nothing is made good by it. What can still be read is chained anew, behind it stands a line that says so, and the
journal as it was found is set aside. No answer up to that line is evidence: what opens a hold point is looked at and
measured again. An answer that stands where the journal is broken, or to which a later one cannot be read any more,
counts as unknown until it is given again. Papers that are out no longer agree with the journal, which is right.

Where another program put another journal in the place of one that was open, what that sitting had written lies beside
it, and is taken in line by line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from hashlib import sha256
from itertools import takewhile
from pathlib import Path
from typing import Any

from recover.base.errors import AnswerError, JobError, RecoverError, command
from recover.job import journal as chain
from recover.job import lines
from recover.job.folder import Settings
from recover.job.journal import NOTHING_BEFORE, Event, Journal, Legible, utc_now
from recover.job.kept import places_aside, put_aside, sittings, told_of, write_whole

WHY = "the journal did not hold together and there was no copy of it; what could be read is chained anew"
TAKEN_IN = "what a sitting had written is taken in"
_OPENS = ("job", "profile", "paper", "zone")


def chain_anew(folder: Path, by: str, settings: Mapping[str, str] | None = None) -> list[str]:
    """Chain anew what can be read of a broken journal, and say what was done.

    `settings` stand for what its first line does not say any more. Raises JobError where it is not broken, or where its
    beginning can neither be read nor made.
    """
    path = folder / "journal.jsonl"
    with chain.locked(path) as found:
        if not chain.inspected(found, path.name)[1]:
            raise JobError(f"{path}: holds together; there is nothing to chain anew")
        rows = _begun(chain.legible(found), path, settings or {})
        read = [(one.event, one.doubtful) for one in rows if one.event]
        place = places_aside(folder, [path.name])[path.name]
        data = _told(rows, {path.name: {**told_of(found), "to": place}})
        last = Event(0, utc_now().isoformat(timespec="seconds"), by or read[0][0].by, "check", "set_aside", data, "")
        anew = b"".join(line + b"\n" for line in _chained([*_renumbered(rows), last]))
        write_whole(folder / place, found)
        write_whole(path, anew)
    return [_said(path, folder / place, rows, data)]


def _begun(rows: list[Legible], path: Path, settings: Mapping[str, str]) -> list[Legible]:
    """Return the rows with a first line that a job can be opened with. Raises JobError where there can be none."""
    first = rows[0].event if rows else None
    if first and first.kind == "start" and first.data["version"] > chain.VERSION:
        raise JobError("\n".join(map(str, chain.format_problems([first], path.name))))
    sound = first and first.kind == "start" and not chain.format_problems([first], path.name)
    said = {**first.data, "at": first.at, "by": first.by} if first and sound else _letters(rows)
    said = {"job": path.parent.resolve().name, **{key: of for key, of in {**said, **settings}.items() if of}}
    _check(path, said)
    if first and sound and all(first.data.get(key) == said[key] for key in _OPENS):
        begins = rows[0]
    else:
        begins = Legible(b"", _beginning(rows, said), doubtful=True)
    return [begins, *(one for one in rows[1:] if not (one.event and one.event.kind == "start"))]


def _letters(rows: list[Legible]) -> dict[str, str]:
    """Return what can be read of a first line of which some letters are broken."""
    text = rows[0].row.decode("utf-8", "replace") if rows else ""
    return dict(re.findall(r'"(at|by|job|profile|paper|zone)":"([^"\\]*)"', text))


def _check(path: Path, said: Mapping[str, str]) -> None:
    """Refuse to begin with what no job can be opened with. Raises JobError that says how to give it."""
    lacking = [key for key in _OPENS if key not in said]
    options = "give what it was begun with: --profile, --paper, --zone"
    if lacking:
        raise JobError(f"{path}: its first line does not say {', '.join(lacking)} any more; {options}")
    try:
        Settings(*(said[key] for key in _OPENS))
    except AnswerError as error:
        raise JobError(f"{path}: its first line cannot be right ({error}); {options}") from error


def _beginning(rows: list[Legible], said: Mapping[str, str]) -> Event:
    """Return a first line made of what can be read of it, and of what was given instead."""
    later = next((one.event for one in rows[1:] if one.event), None)
    at = next((one for one in (said.get("at", ""), later.at if later else "") if lines.is_moment(one)), "")
    by = said.get("by", "") or (later.by if later else "")
    data = {"format": chain.FORMAT, "version": chain.VERSION, **{key: said[key] for key in _OPENS}}
    now = utc_now().isoformat(timespec="seconds")
    return Event(1, at or now, by, "start", "start", data, NOTHING_BEFORE)


def _numbers(rows: list[Legible]) -> dict[int, int]:
    """Return the new number of each line that can be read by its old one."""
    return {one.n: number for number, one in enumerate((row.event for row in rows if row.event), start=1)}


def _renumbered(rows: list[Legible]) -> Iterable[Event]:
    """Yield every line that can be read; what one says of lines that nothing proves, by their new numbers."""
    numbers = _numbers(rows)
    for event in (row.event for row in rows if row.event):
        if "unproved" in event.data:
            until = max((new for old, new in numbers.items() if old <= event.data["unproved"]), default=1)
            of = {"unproved": until, "doubtful": [numbers[n] for n in event.data.get("doubtful", ()) if n in numbers]}
            yield replace(event, data={**event.data, **of})
        else:
            yield event


def _told(rows: list[Legible], files: dict[str, Any]) -> dict[str, Any]:
    """Return what the line says that is written behind all that could be read."""
    read = [one for one in rows if one.event]
    doubtful = {number for number, one in enumerate(read, start=1) if one.doubtful}
    lost: set[str] = set()
    for at, one in enumerate(rows):
        if not one.event:
            lost.update(_QUESTION.findall(text := one.row.decode("utf-8", "replace")))
            lost.update(key for listed in _LOST.findall(text) for key in re.findall(r'"([^"]+)"', listed))
            doubtful |= _doubted_by(one.row, rows[:at], _numbers(rows))
    return {"why": WHY, "files": files, "unproved": len(read), "doubtful": sorted(doubtful), "lost": sorted(lost)}


_QUESTION = re.compile(r'"question":"([^"\\]+)"')
_LOST = re.compile(r'"lost":\[([^]]*)')


def _doubted_by(row: bytes, before: list[Legible], numbers: Mapping[int, int]) -> set[int]:
    """Return what a line doubted that cannot be read any more and tells of an earlier rescue; all, if that is lost."""
    if b"chained anew" not in row and b'"unproved"' not in row:
        return set()
    named = re.search(rb'"unproved":\d+,"doubtful":\[([\d,]*)\]', row)
    if named:
        return {numbers[int(one)] for one in named[1].split(b",") if one and int(one) in numbers}
    return {numbers[one.event.n] for one in before if one.event}


def _said(path: Path, aside: Path, rows: list[Legible], data: Mapping[str, Any]) -> str:
    read = [one for one in rows if one.event]
    left = len(rows) - len(read)
    said = [f"{path}: {WHY}: {len(read)} lines, {left} could not be read. As it was found it is {aside}.",
            "Nothing of it opens a hold point: look and measure again."]  # fmt: skip
    if data["doubtful"] or data["lost"]:
        broken = f"{len(data['doubtful'])} lines stand where it is broken, and {len(data['lost'])} answers are lost"
        said.append(f"{broken}: what they speak of counts as unknown until it is given again.")
    if read[0].doubtful and read[0].event:
        told = ", ".join(read[0].event.data[key] for key in _OPENS)
        said += [f"It begins with: {told}. If that is not so, begin a new job."]
    return " ".join(said)


def _chained(events: Iterable[Event]) -> Iterable[bytes]:
    before = NOTHING_BEFORE
    for number, event in enumerate(events, start=1):
        line = replace(event, n=number, before=before).line()
        before = sha256(line).hexdigest()
        yield line


# ---------------------------------------------------------------------------------------- lines of a sitting


def take_in_sittings(folder: Path, by: str = "") -> list[str]:
    """Write into a journal what sittings had written that another program replaced while they were open.

    What follows the last line that both have, in its order, each under its own name and unchanged; signatures are given
    again. What nothing proves there is not taken in.
    """
    done = []
    for name, content in sittings(folder):
        with Journal(folder / "journal.jsonl") as journal:
            done.append(_take_in(journal, name, content, by))
    return done


def _take_in(journal: Journal, name: str, content: bytes, by: str) -> str:
    record, problems = chain.inspected(content, name)
    who = by or journal.events[0].by
    if problems or not record.events or record.events[0] != journal.events[0]:
        return f"{put_aside(journal, [name], 'it holds no lines of this job', by=who)[0]}"
    alike = takewhile(lambda pair: pair[0] == pair[1], zip(record.events, journal.events, strict=False))
    own = record.events[sum(1 for _ in alike) :]
    unproved = [number for number, event in enumerate(own, start=1) if "unproved" in event.data]
    kept, refused = 0, []
    for event in own[max(unproved, default=0) :]:
        if event.kind in _TAKEN_IN:
            try:
                journal.append(event.kind, event.data, by=event.by, source=event.source)
                kept += 1
            except RecoverError:
                refused.append(event.n)
    left = f"; lines {refused} could not be written" if refused else ""
    put_aside(journal, [name], TAKEN_IN, by=who)
    return f"{name}: {TAKEN_IN}: {kept} lines{left}. Signatures are given again: {command('log', journal.folder)}"


_TAKEN_IN = ("answer", "reading", "note", "instrument")
