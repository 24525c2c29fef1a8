"""A prompter for a person at a terminal. The only door to questionary.

Made for cold hands, and one way for everything: a number answers a choice, numbers answer a multiple choice, and the
same few words work at every question. Nothing is preselected: Enter alone never answers anything. Every line is
checked where it is typed, so that a slip in the last of several fields does not cost the fields before it. Who says it
and by which paper is asked only where an answer could open something; `when:` and `by:` say it of any other one.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from string import ascii_lowercase
from types import MappingProxyType
from typing import Any, TextIO

import questionary
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.keys import Keys
from questionary import Style

from recover.asked.questions import Detail, Question
from recover.asked.said import read_detail
from recover.asked.told import Instrument, same_person
from recover.base.errors import AnswerError
from recover.base.measures import DONT_KNOW, SYMBOLS, show_moment, show_quantity
from recover.interview import meters
from recover.interview.engine import Item, Progress
from recover.interview.missing import Gap
from recover.interview.prompter import (
    AddNote,
    AddPhotograph,
    Asked,
    Back,
    Given,
    InRole,
    Leave,
    NoValue,
    Pass,
    Reply,
    Speaker,
    ToSlate,
    When,
)
from recover.interview.typed import (
    Read,
    Turned,
    broken,
    by_word,
    places,
    read_paper,
    read_person,
    read_role,
    rows_of_screen,
    slate_in,
    until_it_fits,
)

_STYLE = Style([("qmark", "bold"), ("question", "bold"), ("answer", "bold")])
_WORDS = (
    "unknown", "not inspected", "not applicable", "note", "photograph", "when", "by", "as", "pass", "back", "leave",
)  # fmt: skip
_SHORT = {"photo": "photograph", "n/a": "not applicable"} | dict.fromkeys(DONT_KNOW, "unknown")
_OR = "unknown or ? · not inspected: why · pass · back · leave · help"
_HELP = (
    "unknown, or ?        nobody knows it",
    "not inspected: why   nobody could look or measure, and why",
    "not applicable       there is none of it here",
    "note: …              a note beside the answer; the question stays",
    "photograph: FILE     a picture of it; the question stays",
    "when: DATE TIME      seen or measured at another time than now",
    "by: NAME             seen or measured by somebody else; your own name asks for your role again",
    "as: ROLE             you speak in another role",
    "slate 154            to that question, and back here",
    "pass                 open for now; it comes again",
    "back                 to the question before",
    "leave                out of here; everything answered is kept",
)
"""What `help` says of each word; the most used ones stand on the screen once a sitting."""
_TURNS = ("back", "pass", "leave")
_HOW = {
    "choice": "A number",
    "several": "Numbers, as 1 3",
    "moment": "Date and time, as 2026-03-07 18:00, 7 March 6 pm, yesterday 18:00; 18:00 is today",
    "text": "Your words",
}


def forget_typed(stream: TextIO) -> None:
    """Throw away what was typed ahead at a terminal and nobody read: what was meant for a row is no command. Where the
    system has no such call, it stays."""
    with suppress(ImportError):
        import termios

        if stream.isatty():
            termios.tcflush(stream, termios.TCIFLUSH)


class Terminal:
    """Speaks with a person through questionary; `say` writes a line to the screen."""

    def __init__(self, say: Callable[[str], None]) -> None:
        """Take the way to write a line."""
        self._screen, self._rows = say, 0
        self._interrupted = self._legend_shown = False

    def __enter__(self) -> Terminal:
        """Take note of Ctrl-C that comes between two prompts; Python may lose an exception raised just anywhere."""
        self._handler = signal.signal(signal.SIGINT, self._note_interrupt)
        return self

    def __exit__(self, *_: object) -> None:
        """Give the signal back."""
        signal.signal(signal.SIGINT, self._handler)

    def _note_interrupt(self, *_: object) -> None:
        self._interrupted = True

    def say(self, text: str) -> None:
        """Write lines, broken between words."""
        for line in text.split("\n"):
            self._write(broken(line))

    def _write(self, lines: str) -> None:
        self._rows += lines.count("\n") + 1
        self._screen(lines)

    # ------------------------------------------------------------------------------------ where to go

    def choose_section(self, menu: Sequence[Progress], gaps: Sequence[Gap]) -> str | ToSlate | Gap | None:
        """Show what the next hold points lack, each with a letter, and the sections with their progress."""
        self.say("")
        lacks = dict(zip(ascii_lowercase, gaps, strict=False))
        for letter, gap in lacks.items():
            self._write(broken(f"{letter:>4}  {_lacks(gap, gaps)}", hanging=6))
        self._list([f"{entry.section.title}  ({entry.done} of {entry.asked})" for entry in menu])
        letters = "A letter or a number" if lacks else "A number"
        self.say(f"  {letters}, or: slate 154 (that question, also to answer it anew) · leave (everything is kept)")

        def chosen(typed: str) -> str | ToSlate | Gap | None:
            if typed.lower() == "leave":
                return None
            bare = slate_in(f"slate {typed}")
            beyond = bare if bare and (bare.which or bare.number > len(menu)) else None
            special = slate_in(typed) or beyond or lacks.get(typed.lower())
            return special or menu[_line_of(typed, len(menu))].section.id

        to = chosen(self._line("Which section?", chosen))
        for entry in (one for one in menu if one.section.id == to):
            self.say(f"\n{entry.section.title}\n{entry.section.intro}")
        return to

    def choose_item(self, rows: Sequence[tuple[Item, str]]) -> Item | None:
        """Show the answers of a finished section."""
        place = self._pick("Which answer is to be corrected?", [line for _, line in rows], "back", "none of them")
        return None if place is None else rows[place][0]

    def _pick(self, text: str, rows: Sequence[str], word: str, says: str) -> int | None:
        """Show numbered lines and return the place of the one that was chosen; None for the word."""
        self._list(rows)
        self.say(f"  A number, or: {word} ({says})")
        typed = self._line(text, lambda typed: typed.lower() == word or places(typed, len(rows), several=False))
        return None if typed.lower() == word else places(typed, len(rows), several=False)[0]

    def _list(self, rows: Sequence[str]) -> None:
        for number, row in enumerate(rows, start=1):
            self._write(broken(f"{number:4}  {row}", hanging=6))

    # ------------------------------------------------------------------------------------ one question

    def ask(self, asked: Asked) -> Reply:
        """Ask one question: the question first, its choices, what helps, and a line for the answer or a word."""
        if asked.roles and asked.own and not asked.speaker.role:
            return self._own_role(asked)
        self._head(asked)
        self._list([choice.label for choice in asked.item.question.choices])
        self._beside(asked)
        typed = self._first_line(asked)
        try:
            word = _reply_in(typed)
            if word and word[0] in ("by", "as"):
                return self._speaker(asked, *word)
            return slate_in(typed) or (self._no_answer(*word) if word else self._answer(asked, typed))
        except Turned as turned:
            return self.ask(asked) if isinstance(turned.reply, Back) else turned.reply

    def _first_line(self, asked: Asked) -> str:
        """Take the line that is the answer or a word; a few are listed once a sitting, all explained for `help`."""
        question = asked.item.question

        def fits(typed: str) -> object:
            word = typed.lower() == "help" or slate_in(typed) or _reply_in(typed)
            if isinstance(word, tuple) and word[0] == "as" and word[1]:
                read_role(word[1], asked.every_role)
            return word or asked.check(by_word(question, typed))

        self.say(f"  {_how(question)}, or: {'help' if self._legend_shown else _OR}")
        self._legend_shown = True
        # Where its own line has run off the top of a small screen, the question stands where the answer is typed.
        prompt = "Answer:" if self._rows < rows_of_screen() else question.ask
        while (typed := self._line(prompt, fits)).lower() == "help":
            self.say("\n".join(f"  {line}" for line in (_how(question), *_HELP)))
        return typed

    def _answer(self, asked: Asked, typed: str) -> Given:
        """Return an answer with what belongs to it; where that is broken off, say that the answer was not kept."""
        try:
            return self._reading(asked, typed) if asked.item.question.kind == "reading" else self._said(asked, typed)
        except (KeyboardInterrupt, Turned) as broken_off:
            if not (isinstance(broken_off, Turned) and isinstance(broken_off.reply, Back)):
                self.say(f"\n  ! Not kept: slate {asked.slate}, {_in_words(asked, typed)}. The rest was not said.")
            raise

    def refuse(self, _asked: Asked, message: str) -> None:
        """Say what is wrong with an answer."""
        self.say(f"  ! {message}")

    def heard(self, words: str) -> None:
        """Show an answer as it was understood."""
        self.say(f"  = {words}")

    def tell(self, message: str) -> None:
        """Say something, set off from the questions."""
        self.say(f"\n  ! {message}\n")

    def _head(self, asked: Asked) -> None:
        where = f" · {asked.where}" if asked.where else ""
        self.say(f"\n{asked.section} · {asked.number} of {asked.of}{where} · slate {asked.slate}")
        self._rows = 0
        questionary.print(broken(asked.item.question.ask), style="bold")
        if asked.finding:
            self.say(f"The finding: {asked.finding}")

    def _beside(self, asked: Asked) -> None:
        """Say what helps with the answer, below the choices: why it is asked, how it is measured, what is known."""
        for word, says in (("Why", asked.item.question.why), ("How", asked.item.question.how)):
            if says:
                self._write(broken(f"{word}: {says}", hanging=5))
        if asked.so_far:
            self.say(f"So far: {asked.so_far}")
        of = f"of {show_moment(asked.speaker.measured.astimezone(asked.zone))}" if asked.speaker.measured else ""
        by = "" if asked.own else f"by {asked.speaker.who}"
        if of or by:
            self.say(f"The answer is {', '.join(filter(None, (by, of)))}.")
        if asked.own and asked.speaker.role in dict(asked.roles):
            who = f"{asked.speaker.who}, {dict(asked.roles)[asked.speaker.role]}"
            self.say(f"Signed as {who}; by: NAME or as: ROLE changes it.")

    def _no_answer(self, word: str, rest: str) -> Reply:
        """Return the reply that a word stands for, asking for what it still needs."""
        match word:
            case "unknown":
                return NoValue("unknown")
            case "not applicable":
                return NoValue("not_applicable")
            case "not inspected":
                return NoValue("not_inspected", rest or self._field("Not inspected, because?"))
            case "note":
                return AddNote(rest or self._field("Note"))
            case "photograph":
                return AddPhotograph(rest or self._field("Which picture file?"))
            case "when":
                return When(rest or self._field("Seen or measured when? (as 2026-03-10 09:20; today: 09:20)"))
            case "pass":
                return Pass()
            case "back":
                return Back()
            case _:
                return Leave()

    # ------------------------------------------------------------------------------------ who says it, what shows it

    def _speaker(self, asked: Asked, word: str, rest: str) -> Reply:
        """Return who speaks: another person, or the sitting's own in another role, which is asked for anew."""
        who, role = asked.speaker.who, rest
        if word == "by":
            who, role = read_person(rest or self._field("Seen or measured by whom?"), asked.every_role)
            if not (asked.own and same_person(who, asked.speaker.who)):
                return Speaker(who, role)
        elif role:
            role = read_role(role, asked.every_role)
        if not role:
            return self._own_role(asked)
        return InRole(role) if asked.own else Speaker(who, role)

    def _own_role(self, asked: Asked) -> Reply:
        """Ask once in which role the sitting's own person is here."""
        self.say("")
        try:
            return InRole(self._role(f"{asked.speaker.who}, in which role are you here?", asked.every_role))
        except Turned as turned:
            return turned.reply

    def _said(self, asked: Asked, typed: str) -> Given:
        """Return an answer; where it could open something, with who says so and the paper that shows it."""
        question, said = asked.item.question, by_word(asked.item.question, typed)
        if not asked.roles or not question.may_open(said):
            return Given(said)
        own = asked.own and asked.speaker.role not in dict(asked.roles)
        speaker = self._who(asked) if own else self._named(asked, asked.speaker.who)
        return Given(said, speaker=speaker, document=self._paper() if said in question.documented else "")

    def _who(self, asked: Asked) -> Speaker:
        """Ask who says so, out of those in this job whose role may; or a new name."""
        titles = dict(asked.roles)
        may = [one for one in asked.speakers if one.role in titles]
        if not may:
            word, _, rest = (typed := self._field("Who says so? (a name)")).partition(":")
            new = word.strip().lower() == "new"
            return self._named(asked, (rest.strip() or self._field("Name?")) if new else typed)
        rows = [f"{one.who}, {titles[one.role]}" for one in may]
        known = {one.who.casefold(): place for place, one in reversed(list(enumerate(may)))}
        place, _, rest = self._choose("Who says so?", rows, {"new": "somebody else; or new: NAME"}, known)
        if place is not None:
            return may[place]
        return self._named(asked, rest or self._field("Name?"))

    def _named(self, asked: Asked, who: str) -> Speaker:
        """Return who was named, in the role in which they spoke before, if it may; else the role is asked for."""
        if asked.speaker.who == who and asked.speaker.role in dict(asked.roles):
            return Speaker(who, asked.speaker.role)
        return Speaker(who, self._role(f"{who}, in which role?", asked.roles))

    def _role(self, text: str, roles: Sequence[tuple[str, str]]) -> str:
        self._list([title for _, title in roles])
        self.say(f"  A number or the role, or: {' · '.join(_TURNS)}")
        return read_role(self._field(text, lambda typed: read_role(typed, roles)), roles)

    def _paper(self) -> str:
        """Ask for the paper that shows it; without one it is kept, and opens nothing."""
        return read_paper(self._field("Which paper or photograph shows it? (its name or number, or: none)", read_paper))

    def _choose(
        self, text: str, rows: Sequence[str], words: Mapping[str, str], names: Mapping[str, int] = MappingProxyType({})
    ) -> tuple[int | None, str, str]:
        """Ask for a line of a list within a question, or for one of the words: place, or word and what is behind it.

        A line may also be typed, or what it is called in `names`.
        """
        self._list(rows)
        self.say(f"  A number, or: {' · '.join([*(f'{word} ({says})' for word, says in words.items()), *_TURNS])}")

        def chosen(typed: str) -> tuple[int | None, str, str]:
            first, _, rest = typed.partition(":")
            word = first.strip().lower()
            if word in words:
                return None, word, rest.strip()
            named = {row.casefold(): place for place, row in enumerate(rows)} | dict(names)
            place = named.get(typed.strip().casefold())
            return (_line_of(typed, len(rows)) if place is None else place), "", ""

        return chosen(self._field(text, chosen))

    # ------------------------------------------------------------------------------------ a reading

    def _reading(self, asked: Asked, typed: str) -> Given:
        """Return a reading with its instrument and details; `same` takes those of the reading before.

        Whoever passes at one of them leaves it out: a bad value is bad by whatever meter, and a good one opens nothing.
        """
        details: dict[str, str] = {}
        instrument: str | Instrument | None = ""
        try:
            instrument, same = self._instrument(asked), asked.reading_before
            if instrument is None and same:
                return Given(typed, same.instrument, same.details)
            for detail in asked.item.question.details:
                details[detail.id] = self._detail(detail)
        except Turned as turned:
            if not isinstance(turned.reply, Pass):
                raise
        return Given(typed, instrument or "", details)

    def _detail(self, detail: Detail) -> str:
        """Ask for one detail; empty where nobody knows it."""
        text = f"{detail.ask} ({SYMBOLS.get(detail.unit, detail.unit)})"
        typed = self._field(text, lambda typed: typed.lower() == "unknown" or read_detail(detail, typed))
        return "" if typed.lower() == "unknown" else typed

    def _instrument(self, asked: Asked) -> str | Instrument | None:
        """Ask by which instrument; None for `same`: all as at the reading before."""
        question, known = asked.item.question, asked.instruments
        if known:
            rows = [_row_of(one, counts=question.read_with(one.what)) for one in known]
            same = {"same": _as_before(question, asked.reading_before)} if asked.reading_before else {}
            words = same | {"new": "another one, or one that was registered wrongly; to be registered now"}
            place, word, _ = self._choose("With which instrument?", rows, words)
            if place is not None:
                return known[place].id
            if word == "same":
                return None
        return self._registered(question, asked.registered)

    def _registered(self, question: Question, ever: Sequence[Instrument]) -> Instrument:
        number = meters.free_number(ever)
        self.say(f"Register instrument {number}, once. Its kind and its date decide whether a reading counts.")
        what, maker, serial = self._kind(question), self._field("Maker and model?"), self._field("Serial number?")
        until = self._field("Calibrated until? (as 2026-12-01, or not known)", meters.read_calibrated)
        return Instrument(number, what, maker, serial, meters.read_calibrated(until))

    def _kind(self, question: Question) -> str:
        """Ask for the kind: a line of the list, a word of the trade for one, or another in one's own words."""
        kinds = [one.kind for one in meters.kinds()]
        counts = set(question.instruments)
        self._list([f"{kind} · counts for this reading" if kind in counts else kind for kind in kinds])
        self.say(f"  A number or the trade's word, or: another (in your words) · {' · '.join(_TURNS)}")

        def chosen(typed: str) -> str:
            return "" if typed.lower() == "another" else meters.kind_of(typed) or kinds[_line_of(typed, len(kinds))]

        kind = chosen(self._field("What is it?", lambda typed: chosen(typed) or True))
        return kind or self._field("What is it, in your words? (it counts where no kind is asked for)")

    # ------------------------------------------------------------------------------------ one line

    def row(self, text: str, read: Callable[[str], Read]) -> Read:
        """Ask for one row of a round until it can be read; Enter alone is an empty one, Ctrl-D is `leave`."""
        try:
            return until_it_fits(lambda: self._typed(text), read, lambda message: self.say(f"  ! {message}"))
        except EOFError:
            return read("leave")

    def _field(self, text: str, check: Callable[[str], object] = bool) -> str:
        """Ask for one of several fields; `back` begins the question again, `pass` and `leave` leave it."""
        typed = self._line(text, lambda typed: typed.lower() in _TURNS or check(typed))
        if typed.lower() in _TURNS:
            raise Turned(self._no_answer(typed.lower(), ""))
        return typed.removeprefix("not inspected:").strip() or typed

    def _line(self, text: str, check: Callable[[str], object]) -> str:
        """Ask for a line until it passes `check`, which raises AnswerError; an end of input (Ctrl-D) is `leave`."""

        def checked(typed: str) -> str:
            if not typed:
                raise AnswerError("Nothing is preselected here, and Enter alone answers nothing.")
            check(typed)
            return typed

        try:
            return until_it_fits(lambda: self._typed(text), checked, lambda message: self.say(f"  ! {message}"))
        except EOFError:
            return "leave"

    def _typed(self, text: str) -> str:
        return str(self._answer_to(questionary.text(broken(text), qmark="?", style=_STYLE))).strip()

    def _answer_to(self, prompt: questionary.Question) -> Any:
        """Ask. Ctrl-C interrupts as a key, as a signal to the prompt, and where it came before the prompt stood.

        A mouse does nothing here, and a colour in pasted text, which reads as one, is left out.
        """
        application = prompt.application
        bindings = KeyBindings()

        @bindings.add(Keys.SIGINT)
        def _interrupt(event: KeyPressEvent) -> None:
            event.app.exit(exception=KeyboardInterrupt)

        @bindings.add(Keys.Vt100MouseEvent)
        def _mouse_or_colour(_event: KeyPressEvent) -> None:
            """Do nothing: the library's own way with it breaks off at a colour."""

        def _came_before() -> None:
            if self._interrupted:
                application.exit(exception=KeyboardInterrupt)

        application.key_bindings = merge_key_bindings([bindings, application.key_bindings or KeyBindings()])
        application.pre_run_callables.append(_came_before)
        return prompt.unsafe_ask()


def _in_words(asked: Asked, typed: str) -> str:
    said = by_word(asked.item.question, typed)
    return "; ".join(map(asked.item.question.label, [said] if isinstance(said, str) else said))


def _line_of(typed: str, count: int) -> int:
    """Read the number of one line as a place from 0. Raises AnswerError."""
    return places(typed, count, several=False)[0]


def _lacks(gap: Gap, gaps: Sequence[Gap]) -> str:
    """Return the line of the menu for what a hold point lacks; with its component where there are several of it."""
    several = sum(one.hold.point == gap.hold.point for one in gaps) > 1
    where = f", {gap.hold.label}" if several else ""
    return f"What is missing for “{gap.hold.point.title}”{where} ({len(gap.items)})"


def _row_of(instrument: Instrument, *, counts: bool) -> str:
    named = f"{instrument.id}: {instrument.what} {instrument.maker} {instrument.serial}".strip()
    return named if counts else f"{named} · does not count for this reading"


def _as_before(question: Question, before: Given) -> str:
    """Return what `same` stands for: the instrument, and each detail with its unit."""
    units = {detail.id: detail.unit for detail in question.details}
    details = (show_quantity(float(value), units.get(name, "")) for name, value in before.details.items())
    return ", ".join([str(before.instrument), *details])


def _how(question: Question) -> str:
    """Return how an answer is written; a reading may be beyond the range of the meter."""
    unit = SYMBOLS.get(question.unit, question.unit)
    beyond = f" (beyond the meter's range: >200 {unit}, or OL)" if question.over_range is not None else ""
    other = ", or with its unit: 43 cm, 17 in" if question.bare_from else ""
    return _HOW.get(question.kind) or f"{unit or 'A number'}{other}{beyond}"


def _reply_in(text: str) -> tuple[str, str] | None:
    """Find one of the words that are no answer at the start of what was typed, and what follows it."""
    word, _, rest = text.partition(":")
    name = _SHORT.get(word.strip().lower(), word.strip().lower())
    return (name, rest.strip()) if name in _WORDS else None
