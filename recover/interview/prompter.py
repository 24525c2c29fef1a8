"""What a session says to a person and what a person may reply. A terminal and a prepared file both speak this."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Protocol
from zoneinfo import ZoneInfo

from recover.asked.questions import Section
from recover.asked.told import Instrument
from recover.interview.engine import Item, Progress

if TYPE_CHECKING:
    from recover.interview.missing import Gap


@dataclass(frozen=True)
class Speaker:
    """Who saw, measured or says it, in which role, and when. `measured` is None where nobody wrote it down.

    As a reply: whose answer comes next, where it is not the sitting's own, in the role in which they spoke before where
    none is named; the question is asked again.
    """

    who: str = ""
    role: str = ""
    measured: datetime | None = None


@dataclass(frozen=True)
class Given:
    """An answer, as it was said; a reading names its instrument (by id, or a new one) and its details.

    Its `speaker` is that of the sitting where it names no other; `document` is the paper that shows it.
    """

    said: str | list[str]
    instrument: str | Instrument = ""
    details: Mapping[str, str] = field(default_factory=dict)
    note: str = ""
    speaker: Speaker | None = None
    document: str = ""


@dataclass(frozen=True)
class NoValue:
    """An answer without a value: `unknown`, `not_inspected` (with its reason) or `not_applicable`."""

    state: str
    reason: str = ""
    note: str = ""
    speaker: Speaker | None = None


@dataclass(frozen=True)
class When:
    """When the answer to the question was seen or measured; the question is then asked again."""

    said: str


@dataclass(frozen=True)
class InRole:
    """In which role the sitting's own person is here; the question is then asked again."""

    role: str


@dataclass(frozen=True)
class AddNote:
    """A note on the question, which is then asked again."""

    text: str


@dataclass(frozen=True)
class AddPhotograph:
    """A picture file for the question, which is then asked again."""

    path: str


@dataclass(frozen=True)
class Pass:
    """Leave the question open for now."""


@dataclass(frozen=True)
class Back:
    """Ask the question before this one again."""


@dataclass(frozen=True)
class Leave:
    """Leave the section; everything answered is kept."""


@dataclass(frozen=True)
class ToSlate:
    """Go to the question of a slate number, and of which component where there are several; then come back."""

    number: int
    which: int | None = None


ToTheQuestion = Given | NoValue | AddNote | AddPhotograph | When | Speaker | InRole | Pass
Reply = ToTheQuestion | ToSlate | Back | Leave


@dataclass(frozen=True, kw_only=True)
class Asked:
    """An item with what a person needs to answer it, and a check that raises AnswerError on a value that fails."""

    item: Item
    section: str
    where: str
    slate: str
    so_far: str
    finding: str
    """What the findings ask of the component, where the question is whether that was done."""
    number: int
    of: int
    instruments: Sequence[Instrument]
    registered: Sequence[Instrument]
    """Every instrument that was ever registered: none of their ids is free."""
    check: Callable[[str | list[str]], object]
    zone: ZoneInfo
    roles: Sequence[tuple[str, str]] = ()
    """The roles that may attest this answer here (id, title); none where it needs no attestation."""
    every_role: Sequence[tuple[str, str]] = ()
    """All roles of the country (id, title)."""
    speaker: Speaker = field(default_factory=Speaker)
    """Who answers, in which role, and of when: the sitting's own person, now, where no word said otherwise."""
    own: bool = True
    """Whether that is the sitting's own person."""
    speakers: Sequence[Speaker] = ()
    """Who has attested or measured anything in this job so far, the sitting's own first."""
    row_before: Given | NoValue | None = None
    """What was answered of the component before this one, where the same is asked of several."""
    reading_before: Given | None = None
    """The last reading of this sitting whose details are those of this one, and whose instrument counts here."""


@dataclass(frozen=True, kw_only=True)
class Filled:
    """The head of a paper form: when and by whom it was filled in, and its instruments in their order."""

    moment: datetime
    by: str
    instruments: tuple[Instrument, ...] = ()
    role: str = ""
    registered: Sequence[Instrument] = ()
    """Every instrument that the job ever knew: none of their ids is free."""

    @property
    def source(self) -> str:
        """How the journal names the form as the way by which an answer came."""
        return f"{FORM}, filled in {self.moment:%Y-%m-%d %H:%M} by {self.by}"


FORM = "form"
"""How the source of every answer that was taken from a paper form begins."""


class Prompter(Protocol):
    """Somebody, or something, that answers."""

    def ask(self, asked: Asked) -> Reply:
        """Return the reply to a question."""
        ...

    def refuse(self, asked: Asked, message: str, /) -> None:
        """Say why a reply cannot be taken; the question is asked again."""
        ...

    def heard(self, words: str) -> None:
        """Say how an answer was understood, now that it is kept."""
        ...

    def tell(self, message: str) -> None:
        """Say something that needs no reply."""
        ...


class Chooser(Protocol):
    """Somebody who chooses where to go."""

    def choose_section(self, menu: Sequence[Progress], gaps: Sequence[Gap]) -> str | ToSlate | Gap | None:
        """Return the id of the section to go to, one question, or what a hold point lacks; None to leave."""
        ...

    def choose_item(self, rows: Sequence[tuple[Item, str]]) -> Item | None:
        """Return an item of a finished section to answer again, out of (item, its line); None to go back."""
        ...


class Clerk(Protocol):
    """Somebody who copies a filled-in paper form."""

    def head(
        self, form: str, before: Filled, zone: ZoneInfo, roles: Sequence[tuple[str, str]], now: datetime
    ) -> Filled | None:
        """Return the head of a form of before `now`; `before` holds what Enter alone stands for. None to leave."""
        ...

    def open_section(self, section: Section) -> None:
        """Say which section of the form comes now."""
        ...

    def close_section(self, progress: Progress, misfits: int) -> None:
        """Say what came of a section, and how many of its checks do not hold."""
        ...
