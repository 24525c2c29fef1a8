"""A person at a real pseudo-terminal: pexpect holds the keyboard, pyte is the screen."""

import os
import sys
import time

import pexpect
import pyte

from recover.interview.engine import Interview
from recover.job.folder import open_job
from recover.judged.assessment import answers_of
from recover.profiles import profile

COLUMNS, LINES = 110, 60
PATIENCE_S = 20
PROMPT = "help ? Answer:"
"""The line for an answer to a question, below what helps with it."""
_NO_SPACE = {ord(space): None for space in " \u00a0\t\n"}


class Desk:
    """One run of `recover` at a terminal."""

    def __init__(self, *words, lines=LINES):
        environment = {
            **os.environ,
            "PROMPT_TOOLKIT_NO_CPR": "1",
            "TERM": "xterm",
            "COLUMNS": str(COLUMNS),
            "LINES": str(lines),
        }
        self.screen = pyte.Screen(COLUMNS, lines)
        self.stream = pyte.ByteStream(self.screen)
        self.child = pexpect.spawn(
            sys.executable, ["-m", "recover", *words], env=environment, dimensions=(lines, COLUMNS), timeout=PATIENCE_S
        )
        self.child.delaybeforesend = None  # a prompt that is to be seen already takes keys

    @property
    def text(self):
        """What the screen shows now, without white space, so that wrapping does not matter."""
        rows = (self.screen.buffer[number] for number in range(self.screen.lines))
        return "".join("".join(row[column].data for column in sorted(row)) for row in rows).translate(_NO_SPACE)

    def _take_in(self):
        """Take in what the program says, until it pauses; return whether it is still there."""
        pause_s = 0.05
        while True:
            try:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=pause_s))
            except pexpect.TIMEOUT:
                return True
            except pexpect.EOF:
                return False
            pause_s = 0.005  # a prompt comes in many pieces

    def wait_for(self, *texts):
        """Wait until the screen shows every text; wrapping does not matter."""
        wanted = ["".join(text.split()) for text in texts]
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            alive = self._take_in()
            shown = self.text
            if all(text in shown for text in wanted):
                return
            if not alive:
                break
        raise AssertionError(f"the screen never showed {texts}:\n" + "\n".join(self.screen.display).rstrip())

    def send(self, keys):
        """Clear the screen's memory of the question and press keys."""
        self.screen.reset()
        self.child.send(keys)

    def finish(self):
        """Read to the end and return the exit status."""
        end = time.monotonic() + PATIENCE_S
        while self._take_in():
            assert time.monotonic() < end, "the program never ended:\n" + "\n".join(self.screen.display).rstrip()
        self.child.close()
        return self.child.exitstatus

    def interrupt(self):
        """Press Ctrl-C and return the exit status."""
        self.child.sendcontrol("c")
        return self.finish()


def interview_of(folder, *, call=False):
    """Return the interview as the job on the disk now stands: the tests' own knowledge of what must be asked."""
    return Interview(answers_of(open_job(folder)), call=call)


def answer(desk, item, prepared, instrument=None):
    """Answer a question on the screen as the prepared answer says."""
    question = item.question
    if prepared is None or prepared.state != "given":
        word = "pass" if prepared is None else prepared.state.replace("_", " ")
        desk.send(f"{word}: {prepared.reason}\r" if prepared and prepared.reason else f"{word}\r")
    elif question.choices:
        names = [choice.id for choice in question.choices]
        said = prepared.value if question.kind == "several" else [prepared.value]
        desk.send(" ".join(str(names.index(name) + 1) for name in said) + "\r")
        if question.attested and question.may_open(prepared.value):
            _shown(desk, prepared, question.attested, prepared.value in question.documented)
    else:
        desk.send(f"{prepared.value}\r")
        if question.kind == "reading":
            _reading(desk, question, prepared, instrument)


def _shown(desk, prepared, attested, documented):
    """Name a new person where a repairer may not say so; and the paper, where one is asked for."""
    if "repairer" not in {role.id for role in profile("uk").roles_for(attested)}:
        desk.wait_for("Who says so?")
        desk.send(f"new: {prepared.who or 'S. Omebody'}\r")
        desk.wait_for("in which role?")
        desk.send("1\r")
    if documented:
        desk.wait_for("Which paper or photograph shows it?")
        desk.send(f"{prepared.document or 'none'}\r")


def _reading(desk, question, prepared, instrument):
    if instrument is None:
        desk.wait_for("With which instrument?")
        desk.send("1\r")
    else:
        for prompt, said in (
            ("What is it?", instrument.what),
            ("Maker and model?", instrument.maker),
            ("Serial number?", instrument.serial),
            ("Calibrated until?", instrument.calibrated),
        ):
            desk.wait_for(prompt)
            desk.send(f"{said}\r")
    for detail in question.details:
        desk.wait_for(detail.ask)
        desk.send(f"{prepared.details[detail.id]}\r")
