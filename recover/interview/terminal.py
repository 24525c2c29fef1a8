"""A prompter for a person at a terminal. The only door to questionary.

Made for cold hands, and one way for everything: a number answers a choice, numbers answer a multiple choice, and the
same few words work at every question. Nothing is preselected: Enter alone never answers anything. Every line is
checked where it is typed, so that a slip in the last of several fields does not cost the fields before it. Who says it
and by which paper is asked only where an answer could open something; `when:` and `by:` say it of any other one.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Sequence
from typing import Any

import questionary
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.keys import Keys
from questionary import Style

from recover.answers import Instrument, read_detail
from recover.errors import AnswerError
from recover.interview.engine import Item, Progress
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
    SaidBy,
    When,
    Witness,
)
from recover.interview.typed import Turned, broken, by_number, places, until_it_fits
from recover.measures import SYMBOLS, show_moment
from recover.questions import Detail, Question

_STYLE = Style([("qmark", "bold"), ("question", "bold"), ("answer", "bold")])
_WORDS = ("unknown", "not inspected", "not applicable", "note", "photograph", "when", "by", "pass", "back", "leave")
_SHORT = {"photo": "photograph", "n/a": "not applicable"}
_OR = (
    "unknown · not inspected: why · not applicable · note: … · photograph: FILE"
    " · when: DATE TIME · by: NAME · pass · back · leave"
)
_TURNS = ("back", "pass", "leave")
_HOW = {
    "choice": "A number",
    "several": "Numbers, as 1 3",
    "moment": "Date and time, as 2026-03-07 18:00",
    "text": "Your words",
}


class Terminal:
    """Speaks with a person through questionary; `say` writes a line to the screen."""

    def __init__(self, say: Callable[[str], None]) -> None:
        """Take the way to write a line."""
        self._write = say
        self._interrupted = False

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

    # ------------------------------------------------------------------------------------ where to go

    def choose_section(self, menu: Sequence[Progress]) -> str | None:
        """Show the sections with their progress."""
        self.say("")
        rows = [f"{entry.section.title}  ({entry.done} of {entry.asked})" for entry in menu]
        place = self._pick("Which section?", rows, "leave", "everything is kept")
        if place is None:
            return None
        self.say(f"\n{menu[place].section.title}\n{menu[place].section.intro}")
        return menu[place].section.id

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
        """Ask one question: its head, its choices, and a line for the answer or one of the words."""
        if asked.roles and asked.own and not asked.witness.role:
            return self._own_role(asked)
        question = asked.item.question
        self._head(asked)
        self._list([choice.label for choice in question.choices])
        self.say(f"  {_how(question)}, or: {_OR}")
        try:
            typed = self._line(question.ask, lambda typed: _reply_in(typed) or asked.check(by_number(question, typed)))
            word = _reply_in(typed)
            if word:
                return self._no_answer(*word)
            return self._reading(asked, typed) if question.kind == "reading" else self._said(asked, typed)
        except Turned as turned:
            return self.ask(asked) if isinstance(turned.reply, Back) else turned.reply

    def refuse(self, _asked: Asked, message: str) -> None:
        """Say what is wrong with an answer."""
        self.say(f"  ! {message}")

    def tell(self, message: str) -> None:
        """Say something, set off from the questions."""
        self.say(f"\n  ! {message}\n")

    def _head(self, asked: Asked) -> None:
        where = f" · {asked.where}" if asked.where else ""
        self.say(f"\n{asked.section} · {asked.number} of {asked.of}{where} · slate {asked.slate}")
        if asked.item.question.why:
            self.say(asked.item.question.why)
        if asked.so_far:
            self.say(f"So far: {asked.so_far}")
        of = f"of {show_moment(asked.witness.measured.astimezone(asked.zone))}" if asked.witness.measured else ""
        by = "" if asked.own else f"by {asked.witness.who}"
        if of or by:
            self.say(f"The answer is {', '.join(filter(None, (by, of)))}.")

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
            case "by":
                return SaidBy(rest or self._field("Seen or measured by whom?"))
            case "pass":
                return Pass()
            case "back":
                return Back()
            case _:
                return Leave()

    # ------------------------------------------------------------------------------------ who says it, what shows it

    def _own_role(self, asked: Asked) -> Reply:
        """Ask once in which role the sitting's own person is here."""
        self.say("")
        try:
            return InRole(self._role(f"{asked.witness.who}, in which role are you here?", asked.every_role))
        except Turned as turned:
            return turned.reply

    def _said(self, asked: Asked, typed: str) -> Given:
        """Return an answer; where it could open something, with who says so and the paper that shows it."""
        question, said = asked.item.question, by_number(asked.item.question, typed)
        if not asked.roles or not question.may_open(said):
            return Given(said)
        witness = self._who(asked) if asked.own else self._named(asked, asked.witness.who)
        return Given(said, witness=witness, document=self._paper() if said in question.documented else "")

    def _who(self, asked: Asked) -> Witness:
        """Ask who says so, out of those in this job whose role may; or a new name."""
        titles = dict(asked.roles)
        may = [one for one in asked.witnesses if one.role in titles]
        rows = [f"{one.who}, {titles[one.role]}" for one in may]
        place, rest = self._choose("Who says so?", rows, "new", "somebody else; or new: NAME")
        if place is not None:
            return may[place]
        return self._named(asked, rest or self._field("Name?"))

    def _named(self, asked: Asked, who: str) -> Witness:
        """Return who was named, in the role in which they spoke before, if it may; else the role is asked for."""
        if asked.witness.who == who and asked.witness.role in dict(asked.roles):
            return Witness(who, asked.witness.role)
        return Witness(who, self._role(f"{who}, in which role?", asked.roles))

    def _role(self, text: str, roles: Sequence[tuple[str, str]]) -> str:
        place, _ = self._choose(text, [title for _, title in roles])
        return roles[place or 0][0]

    def _paper(self) -> str:
        """Ask for the paper that shows it; without one it is kept, and opens nothing."""
        typed = self._field("Which paper or photograph shows it? (its name or number, or: none)")
        return "" if typed.lower() == "none" else typed

    def _choose(self, text: str, rows: Sequence[str], word: str = "", says: str = "") -> tuple[int | None, str]:
        """Ask for a line of a list within a question; or for the word, with what stands behind it."""
        self._list(rows)
        self.say(f"  A number, or: {f'{word} ({says}) · ' if word else ''}{' · '.join(_TURNS)}")

        def after_word(typed: str) -> str | None:
            first, _, rest = typed.partition(":")
            return rest.strip() if word and first.strip().lower() == word else None

        def place(typed: str) -> int:
            return places(typed, len(rows), several=False)[0]

        typed = self._field(text, lambda typed: after_word(typed) is not None or place(typed) + 1)
        rest = after_word(typed)
        return (place(typed), "") if rest is None else (None, rest)

    # ------------------------------------------------------------------------------------ a reading

    def _reading(self, asked: Asked, typed: str) -> Reply:
        instrument = self._instrument(asked)
        details = {detail.id: self._detail(detail) for detail in asked.item.question.details}
        return Given(typed, instrument, details)

    def _detail(self, detail: Detail) -> str:
        return self._field(
            f"{detail.ask} ({SYMBOLS.get(detail.unit, detail.unit)})", lambda typed: read_detail(detail, typed)
        )

    def _instrument(self, asked: Asked) -> str | Instrument:
        known = asked.instruments
        if known:
            rows = [f"{one.id}: {one.what} {one.maker} {one.serial}".strip() for one in known]
            place, _ = self._choose("With which instrument?", rows, "new", "another one, to be registered now")
            if place is not None:
                return known[place].id
        self.say("Register the instrument; this is asked once. Its kind and its date decide whether a reading counts.")
        kinds = " or ".join(asked.item.question.instruments) or "insulation tester"
        return Instrument(
            f"I{len(known) + 1}", self._field(f"What is it? (as {kinds})"), self._field("Maker and model?"),
            self._field("Serial number?"), self._field("Calibrated until? (as 2026-12-01, or not known)"),
        )  # fmt: skip

    # ------------------------------------------------------------------------------------ one line

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
        """Ask. Ctrl-C interrupts as a key, as a signal to the prompt, and where it came before the prompt stood."""
        application = prompt.application
        bindings = KeyBindings()

        @bindings.add(Keys.SIGINT)
        def _interrupt(event: KeyPressEvent) -> None:
            event.app.exit(exception=KeyboardInterrupt)

        def _came_before() -> None:
            if self._interrupted:
                application.exit(exception=KeyboardInterrupt)

        application.key_bindings = merge_key_bindings([bindings, application.key_bindings or KeyBindings()])
        application.pre_run_callables.append(_came_before)
        return prompt.unsafe_ask()


def _how(question: Question) -> str:
    """Return how an answer is written; a reading may be beyond the range of the meter."""
    unit = SYMBOLS.get(question.unit, question.unit)
    beyond = f" (beyond the meter's range: >200 {unit}, or OL)" if question.over_range is not None else ""
    return _HOW.get(question.kind) or f"{unit or 'A number'}{beyond}"


def _reply_in(text: str) -> tuple[str, str] | None:
    """Find one of the words that are no answer at the start of what was typed, and what follows it."""
    word, _, rest = text.partition(":")
    name = _SHORT.get(word.strip().lower(), word.strip().lower())
    return (name, rest.strip()) if name in _WORDS else None
