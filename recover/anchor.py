"""What of a journal stands outside it: the number of its last line with the beginning of that line's hash, on paper.

A chain of hashes shows that a line was changed, as long as the lines after it are left alone. Whoever holds the folder
can write the whole of it anew, or cut off its end, and the chain holds again. What they cannot do is to change a paper
that is in other hands: its anchor names a line, and that line must still be there.
"""

from __future__ import annotations

import hashlib
import re
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from recover.errors import AnswerError, Problem
from recover.job import Job
from recover.journal import Event
from recover.kept import known

NOT_ISSUED = "is not a file that the job knows of: a draft or a sheet of the day, or one that was altered"

DIGITS = 16
"""How much of a hash is printed: 64 bits, which nobody finds another journal for by trying."""

_ANCHOR = re.compile(r"\b(\d{1,7})((?:[ -]?[0-9a-f]{4}){4})\b", re.IGNORECASE)
_IN_A_FILE = re.compile(rb"journal (\d{1,7}(?:-[0-9a-f]{4}){4})")
_LARGEST_BYTES, _MOST_UNPACKED = 200_000_000, 100_000


@dataclass(frozen=True)
class Anchor:
    """A line of a journal by its number, and the first digits of its hash."""

    line: int
    digits: str

    def __str__(self) -> str:
        return "-".join([str(self.line), *(self.digits[at : at + 4] for at in range(0, DIGITS, 4))])


def anchor(line: int, head: str) -> Anchor:
    """Return the anchor of a journal whose last line has this number and hash."""
    return Anchor(line, head[:DIGITS])


def read(text: str) -> Anchor:
    """Read an anchor as it is printed or typed, with or without its hyphens. Raises AnswerError."""
    found = _ANCHOR.fullmatch(text.strip().removeprefix("journal "))
    if not found:
        raise AnswerError(f"{text!r} is no code of a journal; expected one as '315-0edd-b300-e237-1f2a', from a paper")
    return Anchor(int(found[1]), re.sub("[ -]", "", found[2]).lower())


def of_paper(path: Path) -> Anchor:
    """Read the anchor that a paper carries (its PDF, HTML or JSON). Raises AnswerError where there is none."""
    with path.open("rb") as file:
        content = file.read(_LARGEST_BYTES)
    found = next((found for part in (content, *_unpacked(content)) if (found := _IN_A_FILE.search(part))), None)
    if not found:
        raise AnswerError(f"{path}: carries no code of a journal that can be read; type the code that is printed on it")
    return read(found[1].decode())


def _unpacked(content: bytes) -> Iterator[bytes]:
    """Yield the beginning of each compressed stream of a PDF: what it says of itself stands in a short one."""
    for begins in re.finditer(rb"stream\r?\n", content):
        with suppress(zlib.error):
            yield zlib.decompressobj().decompress(content[begins.end() :], _MOST_UNPACKED)


def against(job: Job, of: Anchor) -> tuple[list[str], list[Problem]]:
    """Compare a journal with an anchor: what came after it, in sentences; or what is missing or was altered."""
    where = f"journal {of}"
    if of.line > len(job.events):
        what = f"the paper rests on line {of.line}, and the journal ends at line {len(job.events)}"
        return [], [Problem(where, what, "lines were cut off its end, or it is an older copy: look for a newer one")]
    if of.line < 1 or not _hash_of(job, of.line).startswith(of.digits):
        what = f"line {of.line} is not the line that the paper rests on"
        return [], [Problem(where, what, "a line up to there was altered, or the paper is of another job")]
    return [
        f"Line {of.line} is the line that the paper rests on: nothing up to it was altered or taken away.",
        _since(job.events[of.line :]),
    ], []


def _hash_of(job: Job, line: int) -> str:
    return job.events[line].before if line < len(job.events) else job.head


def _since(events: Sequence[Event]) -> str:
    if not events:
        return "Nothing was written since."
    kinds = Counter(event.kind.replace("_", " ") for event in events)
    counted = ", ".join(f"{kind} {number}" for kind, number in kinds.items())
    return f"Written since: {counted}; the last at {events[-1].at}. They rest on this copy of the journal alone."


def paper_of(job: Job, path: Path) -> str:
    """Say which file of a job a paper is, by its hash; empty where it is none."""
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    same = [one for one in known(job.events).values() if one.sha256 == sha256]
    return f"{same[0].file} (journal line {same[0].line})" if same else ""
