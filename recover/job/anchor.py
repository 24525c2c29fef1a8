"""What of a journal stands outside it: the number of its last line with the beginning of that line's hash, on paper.

A chain of hashes shows that a line was changed, as long as the lines after it are left alone. Whoever holds the folder
can write the whole of it anew, or cut off its end, and the chain holds again. What they cannot do is to change a paper
that is in other hands: its anchor names a line, and that line must still be there.
"""

from __future__ import annotations

import hashlib
import json
import re
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from recover.base.errors import AnswerError, Problem
from recover.job.folder import Job
from recover.job.journal import Event
from recover.job.kept import INTERRUPTED, Kept, ever, papers_of, rescued

DIGITS = 16
"""How much of a hash is printed: 64 bits, which nobody finds another journal for by trying."""

_ANCHOR = re.compile(r"(\d{1,7})((?:[ -]?[0-9a-f]{4}){4})", re.IGNORECASE)
_CODE = rb"journal (\d{1,7}(?:-[0-9a-f]{4}){4}), (?:revision (\d{1,6})|not issued)"
_IN_HTML = re.compile(rb'<meta name="keywords" content="' + _CODE + rb'">')
_IN_PDF = re.compile(rb'(?:<pdf:Keywords>|pdf:Keywords=")' + _CODE + rb'["<]')
_LARGEST_BYTES, _MOST_UNPACKED, _MOST_STREAMS = 200_000_000, 100_000, 5_000


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


@dataclass(frozen=True)
class _Carried:
    """What a paper says of itself: the anchor that it carries, and its revision; None where it is not issued."""

    anchor: Anchor
    revision: int | None


def read(text: str) -> Anchor:
    """Read an anchor as it is printed or typed, with or without its hyphens. Raises AnswerError."""
    found = _ANCHOR.fullmatch(text.strip().removeprefix("journal ").rstrip(".,; "))
    if not found:
        raise AnswerError(f"{text!r} is no code of a journal; expected one as '315-0edd-b300-e237-1f2a', from a paper")
    return Anchor(int(found[1]), re.sub("[ -]", "", found[2]).lower())


def _of_paper(content: bytes, name: str) -> _Carried:
    """Read what a paper says of itself, in the field that holds nothing else: of its PDF, HTML or JSON.

    Raises AnswerError where there is none, or where there are several.
    """
    told = {found.groups() for found in _IN_HTML.finditer(content)} if content.lstrip()[:1] == b"<" else set()
    told |= {found.groups() for part in _unpacked(content) for found in _IN_PDF.finditer(part)}
    told |= _of_json(content)
    if len(told) != 1:
        what = "carries several codes of a journal, so none can be trusted" if told else "carries no code of a journal"
        raise AnswerError(f"{name}: {what}; type the code that is printed on the paper")
    code, revision = told.pop()
    return _Carried(read(code.decode()), int(revision) if revision else None)


def _of_json(content: bytes) -> set[tuple[bytes, bytes | None]]:
    try:
        paper = json.loads(content)["paper"]
        revision = None if paper["revision"] is None else str(int(paper["revision"])).encode()
        return {(str(paper["record"]).encode("ascii"), revision)}
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return set()


def _unpacked(content: bytes) -> Iterator[bytes]:
    """Yield the beginning of each stream of a PDF, unpacked: what it says of itself stands in a short one."""
    whole = memoryview(content)
    for begins in islice(re.finditer(rb"stream\r?\n", content), _MOST_STREAMS) if content[:5] == b"%PDF-" else ():
        with suppress(zlib.error):
            yield zlib.decompressobj().decompress(whole[begins.end() :], _MOST_UNPACKED)


def against(job: Job, of: Anchor) -> tuple[list[str], list[Problem]]:
    """Compare a journal with an anchor: what came after it, in sentences; or what is missing or was altered."""
    where = f"journal {of}"
    if of.line > len(job.events):
        what = f"the paper rests on line {of.line}, and the journal ends at line {len(job.events)}"
        return [], [Problem(where, what, f"its end was cut off, or this is an older copy of the job, {_SLIP}")]
    if of.line < 1 or not _hash_of(job, of.line).startswith(of.digits):
        what = f"line {of.line} is not the line that the paper rests on"
        remedy = "a line up to there was altered, or two copies of the job went on apart, or it is of another job"
        return [], [Problem(where, what, f"{remedy}, {_SLIP}")]
    return [
        f"Line {of.line} is the line that the paper rests on: nothing up to it was altered or taken away.",
        _since(job.events[of.line :]),
    ], []


_LOOKS_ISSUED = re.compile(rb'<p class="state issued">|data-state="Revision |"state": ?"issued"')
"""How a page of its own says that it is issued."""

_SLIP = "or the code was mistyped: read it again"


def _hash_of(job: Job, line: int) -> str:
    return job.events[line].before if line < len(job.events) else job.head


def _since(events: Sequence[Event]) -> str:
    if not events:
        return "Nothing was written since."
    kinds = Counter(event.kind.replace("_", " ") for event in events)
    counted = ", ".join(f"{kind} {number}" for kind, number in kinds.items())
    return f"Written since: {counted}; the last at {events[-1].at}. They rest on this copy of the journal alone."


def _issued_as(job: Job, content: bytes) -> Kept | None:
    """Return the file that a job issued with these very bytes, also one that was set aside or missed since."""
    sha256 = hashlib.sha256(content).hexdigest()
    issued = ever(event for event in job.events if papers_of(event))
    return next((one for one in issued if one.sha256 == sha256), None)


def _interrupted_as(job: Job, content: bytes) -> Kept | None:
    """Return the file with these very bytes that lies set aside because its own line was cut off or never came."""
    left = [event for event in job.events if event.kind == "set_aside" and event.data["why"] == INTERRUPTED]
    return next((one for one in ever(left) if one.sha256 == hashlib.sha256(content).hexdigest()), None)


def _not_issued(job: Job, name: str, of: Anchor) -> str:
    """Say of a draft that nothing vouches for it, and which revision, for which it could pass, is of the same line."""
    told = f"{name}: says that it is not issued: a draft or a sheet; nothing vouches for it."
    also = [f" Revision {one.data['revision']} rests on the same line: a page that calls itself that is no draft."
            for one in job.events[of.line : of.line + 1] if papers_of(one)]  # fmt: skip
    return told + "".join(also)


def paper(job: Job, path: Path) -> tuple[Anchor | None, list[str], list[Problem]]:
    """Read a paper: its anchor, and which paper of the job it is; or what is wrong with it.

    A paper of an older version carries no anchor. Raises AnswerError for what is no paper of the job and has none.
    """
    with path.open("rb") as file:
        content = file.read(_LARGEST_BYTES)
    kept = _issued_as(job, content)
    until, doubtful = rescued(job.events)
    if kept and kept.line in doubtful:
        what = f"is {kept.file} as journal line {kept.line} has it, and the journal was broken there"
        return None, [], [Problem(path.name, what, "paper and line may have been altered: rely on nothing of it")]
    if kept:
        proved = "is" if kept.line > until else "on a journal line that nothing proves, is"
        said = f"{path.name}: {proved} {kept.file} as it was issued (journal line {kept.line})."
        try:
            return _of_paper(content, path.name).anchor, [said], []
        except AnswerError:
            return None, [f"{said} It carries no code, so it tells nothing of the lines before that."], []
    carried = _of_paper(content, path.name)
    if aside := _interrupted_as(job, content):
        said = f"{path.name}: is {aside.file} as it was set aside (journal line {aside.line})"
        told = f"{said}: its own line was cut off or never written, so the journal cannot tell whether it was issued."
        return carried.anchor, [told], []
    if carried.revision is None:
        if _LOOKS_ISSUED.search(content):
            what = "says in one place that it is issued and in another that it is not"
            return carried.anchor, [], [Problem(path.name, what, "it was altered: rely on nothing of it")]
        return carried.anchor, [_not_issued(job, path.name, carried.anchor)], []
    issues = (event for event in job.events if set(papers_of(event)) - {"plan"})
    same = any(event.data["revision"] == carried.revision for event in issues)
    what = f"says that it is revision {carried.revision}, and is no file that this job issued"
    knows = "the job issued that number with other content" if same else "the job knows no such revision"
    problem = Problem(path.name, what, f"{knows}: it was altered, or comes of another copy of the job")
    return carried.anchor, [], [problem]
