"""The last line of a journal that was cut off: what can be read of what is left of it, and what to do again."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import takewhile
from typing import Any

from pydantic_core import from_json

from recover.base.errors import Problem
from recover.base.measures import as_written
from recover.job import journal as chain
from recover.job.journal import Event
from recover.job.kept import rescued, writable


def remains_of(events: Sequence[Event], torn: bytes) -> list[bytes]:
    """Return what is left of torn last lines, the oldest first: as it was found, and as the last lines keep it, since
    whoever wrote those may have been stopped before anything came of it. What nothing proves is left out."""
    until, _ = rescued(events)
    ours = takewhile(lambda event: event.kind == "set_aside" or event.source == "journal", reversed(events))
    proved_ones = (event for event in ours if event.n > until and "doubtful" not in event.data)
    kept = [event.data["torn"].encode() for event in proved_ones if "torn" in event.data]
    return [_innermost(left) for left in [*reversed(kept), torn] if left]


def written_last(events: Sequence[Event], torn: bytes) -> list[bytes]:
    """Return what is left of lines whose files an interruption may have left: also of those that a rescue kept, of
    which nothing is issued after all."""
    until, _ = rescued(events)
    of_rescues = (one.data for one in events if one.n <= until or "doubtful" in one.data)
    return [*remains_of(events, torn), *(one["torn"].encode() for one in of_rescues if "torn" in one)]


def _innermost(left: bytes) -> bytes:
    """Return what is left of a line; of one that kept the rest of another, what it kept."""
    while isinstance(within := _partly(left).get("torn"), str):
        left = within.encode()
    return left


def is_of_line(torn: bytes, name: str) -> bool:
    """Whether what is left of a line names a file, or the issue that a file's number is of."""
    issue = re.search(rb'"kind":"issue","data":\{"papers":\[([^]]*)\],"revision":(\d{1,9}),', torn)
    numbered = re.fullmatch(r"(?:papers|plans)/(.+)-0*(\d{1,9})\.[^/]+", name)
    if issue and numbered and f'"{numbered[1]}"'.encode() in issue[1] and int(issue[2]) == int(numbered[2]):
        return True
    return f'"{writable(name)}"'.encode() in torn


def heads(events: Sequence[Event], head: str) -> list[str]:
    """Return the hash of the last line, and that before each line at the end that keeps what is left of a torn one."""
    return [head, *(event.before for event in takewhile(lambda event: "torn" in event.data, reversed(events)))]


def _partly(left: bytes) -> dict[str, Any]:
    """Return what can be read of the content of a line, of which this is left."""
    data = _read(left).get("data")
    return data if isinstance(data, dict) else {}


def _read(left: bytes) -> dict[str, Any]:
    """Return what can be read of a line, of which this is left."""
    try:
        read = from_json(left.rstrip(b"\0"), allow_partial="trailing-strings")
    except ValueError:
        return {}
    return read if isinstance(read, dict) else {}


def cut_off(torn: bytes) -> list[Problem]:
    """Return what is wrong with a journal whose last line was cut off, of which this is left, if any."""
    if not torn.rstrip(b"\0"):
        return []
    remedy = f"the next line that is written keeps what is left; {again(torn)}"
    return [Problem("journal.jsonl", chain.CUT_OFF.removeprefix("the journal's "), remedy)]


def again(torn: bytes) -> str:
    """Return what somebody does again whose line was cut off, as far as that can be read."""
    left = _read(torn)
    said, by = _partly(torn), left.get("by", "")
    if left.get("kind") == "withdrawal":  # its hold point stands in other lines alone
        return as_written(f"take the signature back again{f' ({by})' if by else ''}".encode())
    key = next((key for key in _AGAIN if key in said), "")
    named = str(said.get(key, ""))
    title = named.replace("_", " ").capitalize() if key == "hold_point" else named
    return as_written(f"{_AGAIN[key].format(title)}{f' ({by})' if by else ''}".encode())


_AGAIN = {
    "hold_point": "sign {} again", "file": "take in {} again", "text": "note “{}” again",
    "question": "answer {} again", "serial": "register the instrument again", "papers": "issue them again",
    "": "do again what came last",
}  # fmt: skip
"""What is done again, by what a line names."""
