"""A prompter for a person at a terminal. The only door to questionary.

Made for cold hands: one key and Enter answers a choice, a written word does the rest. Nothing is preselected: the
pointer begins on a line that is no answer, so that Enter alone never answers anything.
"""

from __future__ import annotations

import shutil
import signal
import textwrap
from collections.abc import Callable, Sequence
from typing import Any

import questionary
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent, merge_key_bindings
from prompt_toolkit.keys import Keys
from questionary import Choice, Style

from recover.answers import Instrument
from recover.errors import AnswerError
from recover.interview.engine import Item, Progress
from recover.interview.prompter import AddNote, AddPhotograph, Asked, Back, Given, Leave, NoValue, Pass, Reply
from recover.measures import SYMBOLS

_STYLE = Style([("qmark", "bold"), ("question", "bold"), ("pointer", "bold"), ("highlighted", "bold"),
                ("selected", "noinherit"), ("instruction", "noinherit"), ("answer", "bold")])  # fmt: skip
_NOTHING = "nothing yet"
_KEYS = "123456789cdefghijklorstvwyz"

# What every question takes besides its answers: key, words in a list, first word of what is typed.
_EXTRAS = (
    ("u", "I do not know", "unknown"),
    ("x", "not inspected, because …", "not inspected"),
    ("a", "not applicable", "not applicable"),
    ("n", "write a note first", "note"),
    ("p", "add a photograph first", "photograph"),
    ("m", "pass for now", "pass"),
    ("b", "back to the question before", "back"),
    ("q", "leave this section", "leave"),
)
_TYPED = "or type: unknown · not inspected: why · not applicable · note: … · photograph: FILE · pass · back · leave"


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
            self._write(_broken(line))

    # ------------------------------------------------------------------------------------ where to go

    def choose_section(self, menu: Sequence[Progress]) -> str | None:
        """Show the sections with their progress."""
        self.say("")
        rows = [(entry.section.id, f"{entry.section.title}  ({entry.done} of {entry.asked})") for entry in menu]
        chosen = self._one("Which section?", rows, [("q", "leave; everything is kept", "leave")])
        if chosen == "leave":
            return None
        section = next(entry.section for entry in menu if entry.section.id == chosen)
        self.say(f"\n{section.title}\n{section.intro}\n")
        return section.id

    def choose_item(self, rows: Sequence[tuple[Item, str]]) -> Item | None:
        """Show the answers of a finished section."""
        lines = [(str(number), _shortened(line)) for number, (_, line) in enumerate(rows)]
        chosen = self._one("All answered. Which answer is to be corrected?", lines, [("b", "none; back", "back")])
        return None if chosen == "back" else rows[int(chosen)][0]

    # ------------------------------------------------------------------------------------ one question

    def ask(self, asked: Asked) -> Reply:
        """Ask one question in the way of its kind."""
        self._head(asked)
        kind = asked.item.question.kind
        if kind == "choice":
            return self._reply(self._one(asked.item.question.ask, self._choices(asked), _EXTRAS))
        if kind == "several":
            return self._several(asked)
        return self._typed(asked)

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

    def _choices(self, asked: Asked) -> list[tuple[str, str]]:
        return [(choice.id, choice.label) for choice in asked.item.question.choices]

    def _one(self, text: str, rows: Sequence[tuple[str, str]], extras: Sequence[tuple[str, str, str]]) -> str:
        """Show a list and return the id of the line that was chosen; the first line is no answer and is asked again."""
        choices: list[Any] = [Choice("choose: press the key of a line, then Enter", _NOTHING, shortcut_key="0")]
        choices += [Choice(words, name, shortcut_key=key) for key, (name, words) in zip(_KEYS, rows, strict=False)]
        choices.append(questionary.Separator(" "))
        choices += [Choice(words, name, shortcut_key=key) for key, words, name in extras]
        prompt = questionary.select(
            _broken(text), choices, qmark="?", instruction=" ", style=_STYLE, use_shortcuts=True, use_arrow_keys=True
        )
        while (chosen := self._answer_to(prompt)) == _NOTHING:
            self.say("  ! Nothing is preselected here: press the key of a line, then Enter.")
        return str(chosen)

    def _several(self, asked: Asked) -> Reply:
        choices: list[Any] = [Choice(words, name) for name, words in self._choices(asked)]
        choices.append(questionary.Separator(" "))
        choices += [Choice(words, f"·{name}") for _, words, name in _EXTRAS]
        instruction = "(space marks, Enter takes)"

        def fits(marked: list[str]) -> bool | str:
            extras = [name for name in marked if name.startswith("·")]
            if not marked:
                return "Nothing is marked: mark with the space bar, then press Enter."
            if extras:
                return len(marked) == 1 or "Mark that line alone, or your answers alone."
            return _checked(asked, Given(marked))

        marked = self._answer_to(
            questionary.checkbox(
                _broken(asked.item.question.ask),
                choices,
                qmark="?",
                instruction=instruction,
                style=_STYLE,
                validate=fits,
            )
        )
        return self._reply(marked[0][1:]) if marked[0].startswith("·") else Given(marked)

    def _typed(self, asked: Asked) -> Reply:
        question = asked.item.question
        form = {"moment": "date and time, as 2026-03-07 18:00", "text": ""}.get(
            question.kind, SYMBOLS.get(question.unit, question.unit)
        )
        self.say(f"{f'({form}) ' if form else ''}{_TYPED}")
        text = self._text(question.ask)
        reply = _reply_in(text)
        if reply is not None:
            return self._reply(*reply)
        return self._reading(asked, text) if question.kind == "reading" else Given(text)

    def _reading(self, asked: Asked, text: str) -> Reply:
        question = asked.item.question
        details = {}
        instrument = self._instrument(asked)
        for detail in question.details:
            details[detail.id] = self._text(f"{detail.ask} ({SYMBOLS.get(detail.unit, detail.unit)})")
        return Given(text, instrument, details)

    def _instrument(self, asked: Asked) -> str | Instrument:
        rows = [(one.id, f"{one.id}: {one.what} {one.maker} {one.serial}".strip()) for one in asked.instruments]
        if rows:
            chosen = self._one("With which instrument?", rows, [("n", "another one, to be registered now", "new")])
            if chosen != "new":
                return chosen
        number = len(asked.instruments) + 1
        self.say("Register the instrument; this is asked once.")
        return Instrument(
            f"I{number}", self._text("What is it? (as insulation tester)"), self._text("Maker and model?"),
            self._text("Serial number?"), self._text("Calibrated until? (date, or unknown)"),
        )  # fmt: skip

    def _reply(self, name: str, rest: str = "") -> Reply:
        """Turn a chosen line or a typed word into a reply, asking for what it still needs."""
        match name:
            case "unknown":
                return NoValue("unknown")
            case "not applicable":
                return NoValue("not_applicable")
            case "not inspected":
                return NoValue("not_inspected", rest or self._text("Not inspected, because?"))
            case "note":
                return AddNote(rest or self._text("Note"))
            case "photograph":
                return AddPhotograph(rest or self._text("Which picture file?"))
            case "pass":
                return Pass()
            case "back":
                return Back()
            case "leave":
                return Leave()
            case _:
                return Given(name)

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

    def _text(self, text: str) -> str:
        """Ask for a line of text; an end of input (Ctrl-D) leaves the section."""
        try:
            said = self._answer_to(questionary.text(_broken(text), qmark="?", style=_STYLE, validate=_not_empty))
        except EOFError:
            return "leave"
        return str(said).strip()


def _not_empty(typed: str) -> bool | str:
    return bool(typed.strip()) or "Write something, or one of the words above."


def _reply_in(text: str) -> tuple[str, str] | None:
    """Find one of the words that are no answer at the start of what was typed, and what follows it."""
    word, _, rest = text.partition(":")
    known = {name for _, _, name in _EXTRAS}
    name = {"photo": "photograph", "n/a": "not applicable"}.get(word.strip().lower(), word.strip().lower())
    return (name, rest.strip()) if name in known else None


def _checked(asked: Asked, given: Given) -> bool | str:
    try:
        asked.check(given)
    except AnswerError as error:
        return str(error)
    return True


def _broken(text: str) -> str:
    """Break a line between words at the width of the terminal, a little inside it for a prompt's mark."""
    width = max(40, shutil.get_terminal_size().columns - 4)
    return "\n".join(textwrap.wrap(text, width)) if text.strip() else text


def _shortened(line: str, longest: int = 100) -> str:
    return line if len(line) <= longest else line[: longest - 1] + "…"
