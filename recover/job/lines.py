"""What a line of the journal may hold, kind by kind: its keys and their shapes, and no others.

Whether a value suits its question is judged where answers are read: questions change, and old lines stay.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal, NotRequired, get_args

from pydantic import AfterValidator, ConfigDict, TypeAdapter, ValidationError, with_config
from typing_extensions import TypedDict

from recover.base.addresses import is_address

LineKind = Literal[
    "start", "answer", "reading", "note", "instrument", "photograph", "logged", "release", "withdrawal", "issue",
    "set_aside",
]  # fmt: skip
KINDS = frozenset(get_args(LineKind))
_exactly = with_config(ConfigDict(extra="forbid", strict=True, allow_inf_nan=False))


def is_moment(text: str) -> bool:
    """Say whether a text is a moment with its offset, of years that every calendar and zone can hold."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return False
    return moment.tzinfo is not None and 1900 <= moment.year <= 9000


def _or_empty(text: str) -> str:
    if text and not is_moment(text):
        raise ValueError("is no moment")
    return text


def _of_a_file(text: str) -> str:
    if not text or "\0" in text:
        raise ValueError("is no name of a file")
    return text


def _of_a_place(text: str) -> str:
    if not is_address(text):
        raise ValueError("is no address of a component")
    return text


def is_key(text: str) -> bool:
    """Say whether a text can name a question, with the component that it is asked of behind an @."""
    return "@" not in text or is_address(text.partition("@")[2])


def _of_a_question(text: str) -> str:
    if not is_key(text):
        raise ValueError("is no question of a component")
    return text


Moment = Annotated[str, AfterValidator(_or_empty)]
FileName = Annotated[str, AfterValidator(_of_a_file)]
Place = Annotated[str, AfterValidator(_of_a_place)]
Key = Annotated[str, AfterValidator(_of_a_question)]


@_exactly
class _File(TypedDict):
    sha256: str
    length: int


@_exactly
class _Aside(_File):
    to: FileName


@_exactly
class _Start(TypedDict):
    format: str
    version: int
    job: NotRequired[str]
    profile: NotRequired[str]
    paper: NotRequired[str]
    zone: NotRequired[str]


@_exactly
class _Answer(TypedDict):
    question: Key
    state: Literal["given", "unknown", "not_inspected", "not_applicable"]
    value: NotRequired[str | int | float | list[str] | None]
    said: NotRequired[str]
    reason: NotRequired[str]
    who: NotRequired[str]
    role: NotRequired[str]
    measured: NotRequired[Moment]
    document: NotRequired[str]
    instrument: NotRequired[str]
    details: NotRequired[dict[str, int | float]]
    at_least: NotRequired[bool]


@_exactly
class _Note(TypedDict):
    question: Key
    text: str


@_exactly
class _Instrument(TypedDict):
    id: str
    what: str
    maker: NotRequired[str]
    serial: NotRequired[str]
    calibrated: NotRequired[str]


@_exactly
class _Photograph(TypedDict):
    id: str
    file: FileName
    name: NotRequired[str]
    sha256: str
    length: NotRequired[int]
    taken: Moment | None
    question: Key
    bound_by: str
    printable: bool


@_exactly
class _Logged(TypedDict):
    """One thing that was read, seen or done while a kiln dries, at a moment; or the line of one that is taken back."""

    kiln: Place
    what: str
    measured: Moment
    place: NotRequired[str]
    value: NotRequired[int | float]
    unit: NotRequired[str]
    at_least: NotRequired[bool]
    word: NotRequired[str]
    said: NotRequired[str]
    details: NotRequired[dict[str, int | float]]
    joined: NotRequired[str]
    instrument: NotRequired[str]
    takes_back: NotRequired[int]


@_exactly
class _Release(TypedDict):
    hold_point: str
    at: Place
    capacity: NotRequired[str]
    duty: NotRequired[str]
    role: NotRequired[str]
    licence: NotRequired[str]
    rests_on: NotRequired[dict[Key, int]]
    after: NotRequired[list[int]]


@_exactly
class _Withdrawal(TypedDict):
    """Whose role it was, the lines of the signatures that end by it, and why; older versions did not ask for that."""

    role: str
    releases: list[int]
    reason: NotRequired[str]


@_exactly
class _SheetRun(TypedDict):
    """A run of own elements by the sheet of its day."""

    begins: Moment
    ends: Moment
    top_degc: int | float
    cutout_degc: NotRequired[int | float]


@_exactly
class _Issue(TypedDict):
    """What was issued; `sheets`: what those of a plan set for each run of a kiln's own elements."""

    papers: list[str]
    revision: int
    files: dict[FileName, _File]
    record: str
    rules: str
    capacity: str
    parts: NotRequired[dict[str, str]]
    sheets: NotRequired[dict[Place, list[_SheetRun]]]


@_exactly
class _Paper(TypedDict):
    """An issue as the first version wrote it: a line for each paper."""

    paper: str
    revision: int
    file: FileName
    sha256: str
    record: str
    rules: str
    capacity: str
    printed: NotRequired[dict[str, str]]


@_exactly
class _SetAside(TypedDict):
    """What was moved out of the way; what is missed; what was missed and is there again; the remains of a torn line.

    `unproved` is the last line of those that nothing proves, `unproved_from` the first; older versions wrote only the
    last, and meant all up to it.
    """

    why: str
    files: dict[FileName, _Aside]
    missed: NotRequired[list[str]]
    back: NotRequired[dict[FileName, _File]]
    torn: NotRequired[str]
    unproved: NotRequired[int]
    unproved_from: NotRequired[int]
    doubtful: NotRequired[list[int]]
    lost: NotRequired[list[str]]


_SHAPES: dict[str, TypeAdapter[Any]] = {
    "start": TypeAdapter(_Start), "answer": TypeAdapter(_Answer), "reading": TypeAdapter(_Answer),
    "note": TypeAdapter(_Note), "instrument": TypeAdapter(_Instrument), "photograph": TypeAdapter(_Photograph),
    "logged": TypeAdapter(_Logged), "release": TypeAdapter(_Release), "withdrawal": TypeAdapter(_Withdrawal),
    "issue": TypeAdapter(_Issue | _Paper), "set_aside": TypeAdapter(_SetAside),
}  # fmt: skip


def faults(kind: str, data: Any) -> list[str]:
    """Return the places where the content of a line is not as its kind has it, each once; empty if it is."""
    if kind not in KINDS:
        return ["kind"]
    try:
        _SHAPES[kind].validate_python(data)
    except ValidationError as error:
        return list(dict.fromkeys(str(fault["loc"][-1]) if fault["loc"] else "data" for fault in error.errors()))
    return []
