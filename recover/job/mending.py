"""A job after an interruption, or after somebody's hand: what does not agree in it, and how work goes on.

Where all that was being written is there its line is written after all, else it goes to `set-aside/`, and the journal
says so. Nothing is deleted. A file that no line knows, and that nobody was writing, was put there by hand, or its line
was cut off the journal's end.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from pydantic_core import from_json

from recover.base.errors import JobError, Problem, command
from recover.base.measures import is_ahead, is_writable
from recover.job import journal as chain
from recover.job import lines
from recover.job.journal import PROGRAM, Event, Journal
from recover.job.kept import (
    A_LINK,
    ASIDE,
    FOLDERS,
    INTERRUPTED,
    OF_A_JOB,
    SITTING,
    Kept,
    ever,
    is_plain,
    is_within,
    known,
    left_beside,
    link_to,
    listed,
    plain_bytes,
    proved,
    rescued,
    sha256_of,
    told_of,
    unproved,
    writable,
)
from recover.job.torn import again, cut_off, heads, is_of_line, remains_of, written_last
from recover.job.writing import (
    BEING_WRITTEN,
    DRAFT,
    Begun,
    move,
    places_aside,
    put_aside,
    write_whole,
)

UNKNOWN = "no line of the journal knows it: it was put there by hand, or lines were cut off the journal's end"
_PART = re.compile(r"\.recover-[0-9a-f]{8}\.part")
_OF_NO_LINE = re.compile(rf"\.recover-draft-[0-9a-f]{{8}}\.part|{SITTING.pattern}|journal(?: \(\d+\))?\.jsonl")
"""A draft takes no lock: it may be on its way while somebody else writes, and is nobody's loss. A journal as it was
found is set aside before the line that says so. What a sitting had written is said by itself."""
_OF_THE_SYSTEM = re.compile(r"\.DS_Store|Thumbs\.db|desktop\.ini|\._.*", re.IGNORECASE)
"""What some systems leave in every folder that is looked at."""


def settle(folder: Path) -> list[str]:
    """Finish what an interruption left, or set it aside, and say in sentences what was done; nothing where all is well.

    Papers and plans that no line knows, whose names the next ones may need, are set aside as well. It comes before all
    that writes: raises JobError or JournalError where nothing can be written.
    """
    if not os.access(folder, os.W_OK):
        raise JobError(f"{folder}: cannot be written to; see to the rights of the folder, and do it again")
    with Journal(folder / "journal.jsonl") as journal:
        lost, lines_then = (
            journal.torn if not Begun.of(journal.folder, journal.events, journal.head) else b"",
            len(journal.events),
        )
        done = _settle(journal, PROGRAM)
        if lost and not any(event.kind == "issue" for event in journal.events[lines_then:]):
            done.insert(0, f"{journal.path}: {chain.CUT_OFF}. What to do: {again(lost)}")
        return done


def _settle(journal: Journal, by: str) -> list[str]:
    begun, done = _begun_in(journal), []
    if begun:
        begun.move(journal.folder)
        if begun.is_whole(journal):
            begun.end(journal)
            done.append(f"{', '.join(begun.names)}: an interruption came before the journal knew; it is all kept")
    else:
        done += [line for left in remains_of(journal.events, journal.torn) for line in _issued_after_all(journal, left)]
    done += _taken_back(journal, by)
    strays = _strays(journal.folder, journal.events)
    last = written_last(journal.events, journal.torn)
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


def _begun_in(journal: Journal) -> Begun | None:
    return Begun.of(journal.folder, journal.events, journal.head)


def _issued_after_all(journal: Journal, remains: bytes) -> list[str]:
    """Write anew the line of an issue that was cut off after it was written: its papers may be in other hands.

    What is left of the line names them with their hashes; those that are as it says were issued.
    """
    try:
        left = from_json(remains.rstrip(b"\0"), allow_partial=True)
        said, by = left["data"], left["by"]
        named = {name: of["sha256"] for name, of in said["files"].items() if "sha256" in of}
        kept = [Kept(name, sha256, None, 0) for name, sha256 in named.items() if OF_A_JOB.fullmatch(name)]
        there = listed({one.file: of for one in kept if isinstance(of := proved(journal.folder, one), bytes)})
        lost = {"record": heads(journal.events, journal.head)[-1], "rules": "", "capacity": CUT_SHORT}
        data = {**lost, **said, "files": there}
        data.pop("parts", None)  # they end the line: not all of them are left
    except (ValueError, KeyError, TypeError, AttributeError):
        return []
    again = not known(journal.events).keys().isdisjoint(there)
    if left.get("kind") != "issue" or not there or again or lines.faults("issue", data):
        return []
    begun = Begun("issue", data, by, "journal", journal.head)
    begun.note(journal)
    begun.end(journal)
    return [f"{', '.join(there)}: issued, and the journal's line of that was cut off; it is written anew"]


CUT_SHORT = "not known: the line that said it was cut off"
"""In what capacity papers were issued whose line was cut off."""


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
        move(journal.folder, name, of.file, of.sha256)
        if not isinstance(proved(journal.folder, of), bytes):
            continue
        done.append(f"{writable(name)}: is {of.file} as it was taken in (journal line {of.line}); it is kept again")
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
    files = [one for one in sure if is_within(folder, one.file) and not one.file.startswith(f"{ASIDE}/")]
    lacking = {one.file: one for one in files if not os.path.lexists(folder / one.file)}
    own = {(one.file, one.sha256): one for one in files}
    found: dict[str, Kept] = {}
    for name in _strays(folder, told):
        sha256 = sha256_of(plain_bytes(folder / name) or b"")
        one = own.get((name, sha256)) or next((one for one in lacking.values() if one.sha256 == sha256), None)
        if one:
            found[name] = one
            lacking.pop(one.file, None)  # two pictures may be alike: each takes one place
    return found


def _mend(journal: Journal, by: str) -> list[str]:
    done = put_aside(journal, _strays(journal.folder, journal.events), UNKNOWN, by=by)
    done += _clock_ran_ahead(journal, by)
    there = (one for one in known(journal.events).values() if link_to(journal.folder, one.file) not in FOLDERS)
    bad = [one.file for one in there if isinstance(proved(journal.folder, one), Problem)]
    inside = [name for name in bad if link_to(journal.folder, name) == name or is_within(journal.folder, name)]
    here = [name for name in inside if os.path.lexists(journal.folder / name)]
    done += put_aside(journal, here, "it is not the file that was taken in", by=by)
    if missed := [name for name in bad if name not in here]:
        why = "it is missing from the job"
        journal.append("set_aside", {"why": why, "files": {}, "missed": missed}, by=by, source="check")
        done.append(f"{', '.join(missed)}: {why}; nothing counts on it until it is put back")
    return done


def _clock_ran_ahead(journal: Journal, by: str) -> list[str]:
    """Say of lines of a time that has not come that a clock was wrong; then nothing from the first of them to the last
    is evidence."""
    told = {line for event in journal.events for line in chain.unproved_lines(event.data)}
    ahead = [event.n for event in journal.events if is_ahead(event.moment, chain.utc_now()) and event.n not in told]
    if not ahead:
        return []
    why = "a computer's clock had run ahead: a line is of a time that has not come"
    data = {"why": why, "files": {}, "unproved": ahead[-1], "unproved_from": ahead[0]}
    journal.append("set_aside", data, by=by, source="check")
    of = f"on line {ahead[0]}" if ahead[0] == ahead[-1] else f"from line {ahead[0]} to line {ahead[-1]}"
    return [f"journal.jsonl: {why}; nothing {of} opens a hold point: look and measure again"]


def _strays(folder: Path, events: Iterable[Event]) -> list[str]:
    """Return what lies in a job's folders and no line of the journal knows: files, links, folders, anything.

    Drafts come and go, and systems leave files of their own.
    """
    there = [one for name in FOLDERS if not (folder / name).is_symlink() for one in (folder / name).glob("*")]
    names = sorted(one.relative_to(folder).as_posix() for one in there if not _OF_THE_SYSTEM.fullmatch(one.name))
    told = list(events)
    aside = {of["to"] for one in told if one.kind == "set_aside" for of in one.data["files"].values()}
    expected = known(told).keys() | aside
    plain = [name for name in names if _OF_NO_LINE.fullmatch(Path(name).name) and is_plain(folder / name)]
    drafts = [*plain, *(name for name in names if DRAFT.fullmatch(name))]
    return [name for name in names if name not in expected and name not in drafts]


def _was_interrupted(name: str, begun: Begun | None, remains: Iterable[bytes]) -> bool:
    """Whether a file was being written when the program was stopped: by the note, its name, or a torn last line."""
    noted = begun is not None and name in begun.names
    return noted or bool(_PART.fullmatch(Path(name).name)) or any(is_of_line(left, name) for left in remains)


def integrity(folder: Path) -> list[Problem]:
    """Find what does not agree in a job: the journal's chain, the hash of each file, files that no line knows."""
    record, problems = chain.inspect(folder / "journal.jsonl")
    problems += cut_off(record.torn)
    begun, mended = Begun.of(folder, record.events, record.head), f"{command('check', folder)} --mend"
    names = begun.names if begun else []
    problems += [one for one in unproved(folder, record.events) if one.where not in names]
    if os.path.lexists(folder / BEING_WRITTEN):
        what = f"an interruption came while {', '.join(names) or 'something'} was written"
        problems.append(Problem(BEING_WRITTEN, what, f"{mended} finishes it or sets it aside; no line was lost by it"))
    problems += left_beside(folder)
    problems += [one for one in _no_folders(folder) if one not in problems]
    returned = _returned(folder, record.events)
    for name in _strays(folder, record.events):
        if _was_interrupted(name, begun, written_last(record.events, record.torn)):
            remedy = f"{mended} finishes it or sets it aside"
            problems.append(Problem(writable(name), "is what an interruption left", remedy))
        elif name in returned:
            what = f"is {returned[name].file} as it was taken in (journal line {returned[name].line})"
            problems.append(Problem(writable(name), what, f"{mended} takes it back"))
        else:
            problems.append(Problem(writable(name), UNKNOWN, _remedy(folder, name)))
    return problems


_NO_FOLDER = "is no folder of the job", "take it away: a job holds its files itself, in a folder of that name"


def _no_folders(folder: Path) -> list[Problem]:
    """Return what is wrong where a link or a file stands in the place of a job's folder, known files in it or not."""
    there = [name for name in FOLDERS if os.path.lexists(folder / name)]
    links = [name for name in there if (folder / name).is_symlink()]
    others = [name for name in there if name not in links and not (folder / name).is_dir()]
    return [*(Problem(name, *A_LINK) for name in links), *(Problem(name, *_NO_FOLDER) for name in others)]


def _remedy(folder: Path, name: str) -> str:
    """Return what to do about a file that no line knows."""
    aside = f"{command('check', folder)} --mend sets it aside"
    if name.startswith("photographs/") and not is_writable(name):
        return f"give it a name of plain letters, and take it in with {command('photo', folder, 'FILE')}; or {aside}"
    if name.startswith("photographs/"):
        return f"{command('photo', folder, folder / name)} takes it in, or {aside}"
    return f"look for a newer copy of the job first (a paper that is out tells: --against); {aside}"
