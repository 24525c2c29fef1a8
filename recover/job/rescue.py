"""A way on where a journal does not hold together and there is no copy of it.

Nothing is made good by it. What can still be read is chained anew behind a line that says so, the second, which no cut
takes away from what it speaks of; the journal as it was found is set aside. Nothing up to the last of those lines is
evidence: what opens a hold point is looked at and measured again. An answer that stands where the journal is broken, or
to which a later one cannot be read any more, counts as unknown until it is given again. Papers that are out no longer
agree with the journal, which is right.

Where another program put another journal in the place of one that was open, what that sitting had written lies beside
it, and is taken in line by line; at a rescue with the rest, where nothing proves it.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import Any

from recover.base.counted import by_number
from recover.base.errors import AnswerError, JobError
from recover.base.measures import as_written, is_writable
from recover.job import journal as chain
from recover.job import lines
from recover.job.folder import Settings
from recover.job.journal import NOTHING_BEFORE, Event, Journal, Legible, utc_now
from recover.job.kept import PICTURE_ID, Kept, next_picture, proved, sittings, told_of
from recover.job.torn import again
from recover.job.writing import places_aside, put_aside, write_whole

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
        record, problems = chain.inspected(found, path.name)
        if not problems:
            raise JobError(f"{path}: holds together; there is nothing to chain anew")
        rows = _begun(chain.legible(found), path, settings or {})
        rows += _beside(folder, rows)
        begins, *_ = _events(rows)
        place = places_aside(folder, [path.name])[path.name]
        data = _told(rows, {path.name: {**told_of(found), "to": place}})
        data |= {"torn": as_written(record.torn.rstrip(b"\0"))} if record.torn else {}
        mark = Event(0, utc_now().isoformat(timespec="seconds"), by or begins.by, "check", "set_aside", data, "")
        first, *others = _renumbered(rows)
        anew = b"".join(line + b"\n" for line in _chained([first, mark, *others]))
        write_whole(folder / place, found)
        write_whole(path, anew)
    return [_said(path, folder / place, rows, data)]


def _beside(folder: Path, rows: list[Legible]) -> list[Legible]:
    """Return what sittings had written of this job that its broken journal does not hold: nothing proves that either.

    A word without a time is left out where the journal knows more by now, and doubtful where nobody can tell.
    """
    told, found = _events(rows), list[Legible]()
    sure = [one.event for one in rows if one.event and not one.doubtful]
    unsure = {key for one, (keys, _) in zip(rows, _hiding(rows), strict=True) if one.doubtful for key in keys}
    hides_any = _was_cut_off(rows) != "" or any(may for _, may in _hiding(rows))
    for name, content in sittings(folder):
        lines_there, _ = _sound(name, content)
        if lines_there and (lines_there[0] == told[0] or rows[0].doubtful):
            lines_there = _as_here(lines_there, told)
            since = _questions(_own(sure, lines_there))
            own = [event for event in _own(lines_there, told) if event.kind in _TAKEN_IN]
            told, sure = [*told, *own], [*sure, *own]
            for event in (one for one in own if _is_timed(one) or one.data["question"] not in since):
                here = replace(event, n=0)  # the number was that of another line here
                nobody_knows = not _is_timed(event) and (hides_any or event.data["question"] in unsure)
                found.append(Legible(b"", here, doubtful=nobody_knows))
    return found


def _begun(rows: list[Legible], path: Path, settings: Mapping[str, str]) -> list[Legible]:
    """Return the rows behind a first line that a job can be opened with. Raises JobError where there can be none."""
    starts = [one for one in rows if one.event and one.event.kind == "start"]
    if starts and (event := starts[0].event) and event.data["version"] > chain.VERSION:
        raise JobError("\n".join(map(str, chain.format_problems([event], path.name))))
    others = [one for one in rows if one not in starts]
    sound = next((one for one in starts if one.event and not chain.format_problems([one.event], path.name)), None)
    event = sound.event if sound else None
    known = {**event.data, "at": event.at, "by": event.by} if event else _letters(rows)
    said = {key: str(of) for key, of in known.items() if of}
    if sound and not _wrong(said):
        if said != {**said, **settings}:
            raise JobError(f"{path}: its first line is whole, and says {', '.join(said[key] for key in _OPENS)}")
        return [sound, *others]
    said = {"job": path.parent.resolve().name, **said, **settings}
    if wrong := _wrong(said):
        raise JobError(f"{path}: its first line {wrong}; give what it was begun with: --profile, --paper, --zone")
    left = others[1:] if others and others[0] is rows[0] and not others[0].event else others
    return [Legible(b"", _beginning(rows, said), doubtful=True), *left]


def _wrong(said: Mapping[str, str]) -> str:
    """Return why no job can be opened with what a first line says; empty where one can."""
    if lacking := [key for key in _OPENS if key not in said]:
        return f"does not say {', '.join(lacking)} any more"
    try:
        Settings(*(said[key] for key in _OPENS))
    except AnswerError as error:
        return f"cannot be right ({error})"
    return ""


def _events(rows: list[Legible]) -> list[Event]:
    """Return the lines that can be read."""
    return [one.event for one in rows if one.event]


def _letters(rows: list[Legible]) -> dict[str, str]:
    """Return what can be read of a first line of which some letters are broken."""
    text = rows[0].row.decode("utf-8", "replace") if rows else ""
    found = re.findall(r'"(at|by|job|profile|paper|zone)":"([^"\\]*)"', text)
    return {key: of for key, of in found if is_writable(of)}


def _beginning(rows: list[Legible], said: Mapping[str, str]) -> Event:
    """Return a first line made of what can be read of it, and of what was given instead."""
    later = _events(rows[1:])[:1]
    moments = (said.get("at", ""), *(one.at for one in later), utc_now().isoformat(timespec="seconds"))
    by = next((name for name in (said.get("by", ""), *(one.by for one in later)) if name), "")
    data = {"format": chain.FORMAT, "version": chain.VERSION, **{key: said[key] for key in _OPENS}}
    return Event(1, next(filter(lines.is_moment, moments)), by, "start", "start", data, NOTHING_BEFORE)


def _renumbered(rows: list[Legible]) -> Iterable[Event]:
    """Yield every line that can be read; what one says of others, by their new numbers."""
    numbers: dict[int, int] = {}
    for read, event in enumerate(_events(rows), start=1):
        numbers.setdefault(event.n, _number(read))
    for event in _events(rows):
        if "unproved" in event.data:
            until = max((new for old, new in numbers.items() if old <= event.data["unproved"]), default=1)
            of = {"unproved": until, "doubtful": [numbers[n] for n in event.data.get("doubtful", ()) if n in numbers]}
            if "unproved_from" in event.data:
                later = (new for old, new in numbers.items() if old >= event.data["unproved_from"])
                of["unproved_from"] = min(later, default=until)
            yield replace(event, data={**event.data, **of})
        elif event.kind == "withdrawal":
            taken_back = [numbers[n] for n in event.data["releases"] if n in numbers]
            yield replace(event, data={**event.data, "releases": taken_back})
        else:
            yield event


def _told(rows: list[Legible], files: dict[str, Any]) -> dict[str, Any]:
    """Return what the line says that stands before all that could be read, but for the first line.

    What can be read no more may have corrected, or doubted, all that stands before it; where its question can be read,
    what answers that. Where the line of an earlier rescue stands, it may have doubted all that stands behind it too.
    Lines that are gone at the end may have spoken of any.
    """
    doubtful: set[int] = set()
    lost: set[str] = set()
    every = range(1, len(_events(rows)) + 1)
    read, marks = 0, 1  # lines; those before which a mark would stand
    for one, (questions, may_hide_any) in zip(rows, _hiding(rows), strict=True):
        if may_hide_any:
            doubtful |= set(every if read == marks else every[:read])
        if not one.event or one.doubtful:
            lost.update(questions)
        marks += one.event is not None and read == marks and "unproved" in one.event.data
        read += bool(one.event)
        doubtful |= {read} if one.event and one.doubtful else set()
    ended = _was_cut_off(rows)
    numbers = sorted(map(_number, every if ended else doubtful))
    why = f"{WHY}; {ended}" if ended else WHY
    return {"why": why, "files": files, "unproved": _number(read), "doubtful": numbers, "lost": sorted(lost)}


def _was_cut_off(rows: list[Legible]) -> str:
    """Return that lines are gone at the end, which an earlier rescue had told of; empty where none are."""
    events = _events(rows)
    held, last = chain.unproved_until(events), max(event.n for event in events)
    return f"lines up to {held} had been there, and it ended at line {last}" if held > last else ""


def _number(read: int) -> int:
    """Return the number that a line gets: the first keeps its own, and behind it stands the line that tells."""
    return read + (read > 1)


_QUESTION = re.compile(r'"question":"([^"\\]+)"')


def _hiding(rows: list[Legible]) -> Iterable[tuple[list[str], bool]]:
    """Yield of each row the questions that it names, and whether it may have spoken of any answer before it.

    It may where it is broken and names none, or tells of an earlier rescue; or where rows are gone before it.
    """
    follows = 0  # the number of the next row
    for one in rows:
        questions = list(filter(lines.is_key, _QUESTION.findall(one.row.decode("utf-8", "replace"))))
        if one.event:
            tells = one.doubtful and "unproved" in one.event.data
            yield questions, tells or 0 < follows < one.event.n
        else:
            yield questions, not questions
        follows = one.event.n + 1 if one.event else follows and follows + 1


def _lines(number: int) -> str:
    return by_number(number, one="{number} line", other="{number} lines")


def _said(path: Path, aside: Path, rows: list[Legible], data: Mapping[str, Any]) -> str:
    read = _events(rows)
    left = len(rows) - len(read)
    said = [f"{path}: {data['why']}: {_lines(len(read))}, {left} could not be read. As it was found it is {aside}.",
            "Nothing of it opens a hold point: look and measure again."]  # fmt: skip
    if data["doubtful"] or data["lost"]:
        stand = by_number(len(data["doubtful"]), one="{number} line stands", other="{number} lines stand")
        lost = by_number(len(data["lost"]), one="{number} answer is", other="{number} answers are")
        broken = f"{stand} where it is broken, and {lost} lost"
        said.append(f"{broken}: what they speak of counts as unknown until it is given again.")
    if rows[0].doubtful:
        told = ", ".join(read[0].data[key] for key in _OPENS)
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

    What the journal does not hold, in its order, each under its own name and unchanged. What nothing proves is not
    taken in, nor a word without a time where the journal knows more by now; signatures are given again. One that was
    taken back stays so: that can only close.
    """
    done = []
    for name, content in sittings(folder):
        with Journal(folder / "journal.jsonl") as journal:
            done.append(_take_in(journal, name, content, by))
    return done


def _take_in(journal: Journal, name: str, content: bytes, by: str) -> str:
    told, altered = _sound(name, content)
    who, torn = by or journal.events[0].by, chain.inspected(content, name)[0].torn
    if not told and (lost := _to_do_again(content, journal.events)):
        why = "it was damaged or altered: nothing of it is taken in"
        return f"{put_aside(journal, [name], why, by=who)[0]}. What to do: {'; '.join(lost)}"
    if not told or told[0] != journal.events[0]:
        return f"{put_aside(journal, [name], 'it holds no lines of this job', by=who)[0]}"
    taken, left = 0, [f"line {event.n} ({event.kind}): it is not the one that was written last" for event in altered]
    left += [f"a last line that was cut off: {again(torn)}"] if torn.rstrip(b"\0") else []
    told = _as_here(told, journal.events)
    since = _questions(_own(journal.events, told))
    for event in _own(told, journal.events):
        if why := _left_out(journal, event, since):
            left += [f"line {event.n} ({event.kind}): {why}"] if event.kind != "set_aside" else []
        else:
            journal.append(event.kind, event.data, by=event.by, source=event.source)
            taken += 1
    put_aside(journal, [name], TAKEN_IN, by=who)
    if not taken and not left:
        return f"{name}: the journal holds all of it"
    return f"{name}: {TAKEN_IN}: {_lines(taken)}{'; left out: ' if left else ''}{'; '.join(left)}"


def _to_do_again(content: bytes, there: Sequence[Event]) -> list[str]:
    """Return what somebody does again of a sitting that does not hold together, as far as its lines can be read.

    Nothing of a sitting of another job.
    """
    rows = chain.legible(content)
    of_the_job = any(one.event in there for one in rows)
    own = {one.n for one in _own(_events(rows), there)}
    lost = [one.row for one in rows if not one.event or (one.event.n in own and one.event.kind != "set_aside")]
    return list(dict.fromkeys(map(again, lost))) if of_the_job else []


def _sound(name: str, content: bytes) -> tuple[list[Event], list[Event]]:
    """Return the lines of a sitting that its chain proves, and the last one where that is not what its name has the
    hash of; nothing where it does not hold together. A signature that is taken back last needs no proof: that can only
    close."""
    record, problems = chain.inspected(content, name)
    told = [] if problems else list(record.events)
    closes = [event.kind for event in told[-1:]] == ["withdrawal"]
    return (told, []) if closes or record.head[:8] in name else (told[:-1], told[-1:])


_TAKEN_IN = ("answer", "reading", "note", "instrument", "photograph", "logged", "withdrawal")


def _as_here(told: Sequence[Event], there: Sequence[Event]) -> list[Event]:
    """Return the lines of a sitting as they would stand in a journal: what they name is named as it is there.

    A meter or a picture gets another id where the journal has given its own to another one.
    """
    meters: dict[str, list[dict[str, Any]]] = {}
    for one in (one.data for one in there if one.kind == "instrument"):
        meters.setdefault(one["id"], []).append(_but_id(one))
    named, shown, here = dict[str, str](), _pictures_here(told, there), list[Event]()
    for event in told:
        data = dict(event.data)
        if event.kind == "instrument":
            named[data["id"]] = data["id"] = _id_here(data, meters)
        elif event.kind == "withdrawal":
            data["releases"] = _signatures_meant(event, told, there)
        elif event.kind == "photograph":
            data["id"] = shown[data["id"]]
        if data.get("instrument"):
            data["instrument"] = named.get(data["instrument"], data["instrument"])
        if data.get("document"):
            data["document"] = PICTURE_ID.sub(lambda found: shown.get(found[0], found[0]), data["document"])
        here.append(replace(event, data=data))
    return here


def _pictures_here(told: Sequence[Event], there: Sequence[Event]) -> dict[str, str]:
    """Return the id that each picture of a sitting has in a journal: its own, or the next that nobody had."""
    have = {one.data["id"]: _but_id(one.data) for one in there if one.kind == "photograph"}
    following, shown = count(next_picture([*there, *told])), dict[str, str]()
    for data in (one.data for one in told if one.kind == "photograph"):
        own, alike = data["id"], next((name for name, of in have.items() if of == _but_id(data)), "")
        shown[own] = own if have.get(own, _but_id(data)) == _but_id(data) else alike or f"P{next(following):02d}"
    return shown


def _but_id(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a line says of a meter or a picture beside the id that it gives it."""
    return {name: of for name, of in data.items() if name != "id"}


def _id_here(data: Mapping[str, Any], meters: dict[str, list[dict[str, Any]]]) -> str:
    """Return the id of a meter in a journal: its own, or that with a number where it is another meter's there."""
    tries = (f"{data['id']}{f' ({number})' if number > 1 else ''}" for number in count(1))
    found = next(one for one in tries if all(of == _but_id(data) for of in meters.get(one, ())))
    meters.setdefault(found, []).append(_but_id(data))
    return found


def _signatures_meant(event: Event, told: Sequence[Event], there: Sequence[Event]) -> list[int]:
    """Return the numbers that the signatures have in a journal which a withdrawal takes back.

    Where one of them is not there, all are taken back under its hold point: nobody can tell which was meant.
    """
    signed = [one for one in there if one.kind == "release"]
    found: set[int] = set()
    for meant in (one for one in told if one.kind == "release" and one.n in event.data["releases"]):
        same = {one.n for one in signed if _content(one) == _content(meant)}
        found |= same or {one.n for one in signed if _place(one) == _place(meant)}
    return sorted(found)


def _place(signature: Event) -> tuple[str, str]:
    return signature.data["hold_point"], signature.data["at"]


def _own(told: Sequence[Event], there: Sequence[Event]) -> list[Event]:
    """Return the lines that a journal does not hold; a line that was said twice is held where it stands twice.

    Of a sitting that had been chained anew itself, those that were written since.
    """
    proved_from = max((max(event.n, event.data["unproved"]) for event in told if "unproved" in event.data), default=0)
    have = Counter(map(_content, there))
    own = []
    for event in told:
        if have[_content(event)]:
            have[_content(event)] -= 1
        elif event.n > proved_from:
            own.append(event)
    return own


def _content(event: Event) -> str:
    return json.dumps([event.kind, event.by, event.source, event.data], sort_keys=True)


def _left_out(journal: Journal, event: Event, since: Collection[str]) -> str:
    """Return why a line of a sitting is not taken in; empty where it is. `since`: what the journal alone was told."""
    if event.kind not in _TAKEN_IN:
        return "it is signed, issued or planned anew"
    if event.kind == "withdrawal":
        return "" if event.data["releases"] else "nothing is signed there"
    rescued = [one.moment for one in journal.events if one.data.get("unproved")]
    if rescued and event.moment <= max(rescued):
        return "nothing proves it"
    if event.kind == "photograph":
        file = Kept(event.data["file"], event.data["sha256"], event.data.get("length"), event.n)
        return "" if isinstance(proved(journal.folder, file), bytes) else "its file is not there as it was taken in"
    return "it was answered since" if event.data.get("question") in since and not _is_timed(event) else ""


def _questions(events: Iterable[Event]) -> set[str]:
    """Return every question that lines speak of."""
    return {event.data.get("question", "") for event in events}


def _is_timed(event: Event) -> bool:
    """Whether a line is no answer, or says itself of when it is."""
    return event.kind not in ("answer", "reading") or bool(event.data.get("measured"))
