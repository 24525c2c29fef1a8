"""The interview at a real pseudo-terminal, as the repairer sits at it."""

import signal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from recover.asked.compiled import questionnaire
from recover.asked.told import key_of, split_key
from recover.interview.engine import Item
from recover.interview.prompter import Given, NoValue
from recover.interview.script import load_answers
from recover.interview.session import Session
from recover.interview.terminal import _as_before
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Event, Journal
from tests.printed import without_pango
from tests.terminal import PROMPT, Desk, answer, interview_of

DEMO = Path(__file__).parents[1] / "examples" / "school-art-block"
MENU = "leave (everything is kept) ? Which section?"
AS = ("--as", "repairer")
SECTIONS = [section.id for section in questionnaire().section]


@pytest.fixture(scope="module")
def prepared():
    """The demo's answers by key, and its instrument."""
    call, visit = load_answers(DEMO / "call.toml"), load_answers(DEMO / "answers.toml")
    return {one.question: one for one in (*call.answer, *visit.answer)}, visit.instrument


def call_at_the_terminal(folder, prepared):
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A. Repairer", *AS)
    while True:
        item = _next(folder, call=True) if (folder / "journal.jsonl").exists() else None
        if item is None and (folder / "journal.jsonl").exists():
            break
        if item is None:
            desk.wait_for("slate 1", "What heats the kiln?")
            continue
        desk.wait_for(f"slate {item.question.slate}", item.question.ask, PROMPT)
        _answer_and_wait(desk, folder, item, prepared[key_of(item.question.id, item.at)])
    desk.wait_for("all of this at length")
    return desk.finish()


def _next(folder, *, call=False, passed=()):
    interview = interview_of(folder, call=call)
    return next((item for section in SECTIONS if (item := interview.next(section, passed))), None)


def _answer_and_wait(desk, folder, item, given, instrument=None):
    """Answer, and wait until the journal has it: only then is the next question looked up."""
    journal, line = folder / "journal.jsonl", f'"question":"{key_of(item.question.id, item.at)}"'
    before = journal.stat().st_size
    answer(desk, item, given, instrument)
    for _ in range(400):
        desk._take_in()
        if line in journal.read_bytes()[before:].decode():
            return
    raise AssertionError(f"{item} was never written:\n" + "\n".join(desk.screen.display))


def open_section(desk, folder, section):
    """Choose a section in the menu by its key."""
    menu = [progress.section.id for progress in interview_of(folder).progress()]
    desk.wait_for("Which section?", MENU)
    desk.send(f"{menu.index(section) + 1}\r")


def test_the_demo_answered_by_hand_from_start_to_end(tmp_path, prepared):
    """What the terminal writes is what the file writes: same questions, same values."""
    folder = tmp_path / "job"
    answers, instruments = prepared
    assert call_at_the_terminal(folder, answers) == 0

    desk = Desk("inspect", str(folder), *AS)
    for section in SECTIONS:
        passed = []
        interview = interview_of(folder)
        if interview.next(section) is None or section == "energise":
            continue
        open_section(desk, folder, section)
        while item := interview.next(section, passed):
            desk.wait_for(f"slate {interview.slate(item)}", item.question.ask, PROMPT)
            given = answers.get(key_of(item.question.id, item.at))
            if given is None:
                answer(desk, item, None)
                passed.append(item)
                continue
            new = None if interview.answers.registered else instruments[0]
            _answer_and_wait(desk, folder, item, given, new if item.question.kind == "reading" else None)
            interview = interview_of(folder)
    desk.wait_for("Which section?", MENU)
    desk.send("leave\r")
    assert desk.finish() == 0

    typed = interview_of(folder).answers.given
    for key, given in answers.items():
        assert typed[key].state == given.state, key
        if given.state == "given":
            assert typed[key].said in (given.value, ", ".join(given.value)), key
            assert typed[key].value, key


def test_the_question_comes_first_then_its_choices_then_what_helps_and_last_the_keys(at_the_kiln):
    question = questionnaire().questions["safe.dead"]
    desk = sits_down(at_the_kiln, *AS)
    choices = [f"{number} {choice.label}" for number, choice in enumerate(question.choices, 1)]
    in_order = [question.ask, *choices, f"Why: {question.why}", f"How: {question.how}", "A number, or:", PROMPT]
    desk.wait_for(*in_order)
    places = [desk.text.index("".join(part.split())) for part in in_order]

    assert desk.interrupt() == 130
    assert places == sorted(places)


def test_a_question_whose_line_has_run_off_a_small_screen_stands_where_the_answer_is_typed(at_the_kiln):
    question = questionnaire().questions["safe.hazards"]
    desk = Desk("inspect", str(at_the_kiln), *AS, lines=16)
    types(desk, ("Which section?", f"slate {question.slate}"))
    desk.wait_for(f"help ? {question.ask}")

    assert desk.interrupt() == 130


def test_help_says_of_each_word_what_it_does(tmp_path):
    folder = tmp_path / "job"
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A")
    desk.wait_for("What heats the kiln?", PROMPT)
    desk.send("help\r")
    desk.wait_for("pass open for now; it comes again", "as: ROLE you speak in another role")

    assert desk.interrupt() == 130


def test_the_details_of_the_reading_before_are_shown_as_people_write_them():
    """62 °F is 16.67 °C (computed)."""
    before = Given("30 Mohm", "I1", {"test_volts": "500.0", "lining_c": str((62 - 32) / 1.8)})
    shown = _as_before(questionnaire().questions["zone.insulation"], before)

    assert shown == "I1, 500 V, 16.7 °C"


def test_enter_alone_answers_nothing(tmp_path):
    folder = tmp_path / "job"
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A")
    desk.wait_for("What heats the kiln?", PROMPT)
    desk.send("\r")
    desk.wait_for("Nothing is preselected here", "? Answer:")

    assert len(open_job(folder).events) == 1
    assert desk.interrupt() == 130


@pytest.mark.parametrize("ask", ["What heats the kiln?", "How many kilns"])
def test_an_interrupt_that_comes_as_a_signal_is_not_lost(tmp_path, ask):
    """Between two prompts, or from outside, Ctrl-C is a signal and not a key."""
    folder = tmp_path / "job"
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A")
    desk.wait_for("What heats the kiln?", PROMPT)
    if ask != "What heats the kiln?":
        desk.send("1\r")
        desk.wait_for(ask, PROMPT)
    desk.child.kill(signal.SIGINT)

    assert desk.finish() == 130
    assert "All that was answered is kept" in " ".join(desk.screen.display)


def test_a_colour_in_pasted_text_is_left_out_and_the_answer_stands(tmp_path):
    folder = tmp_path / "job"
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A")
    desk.wait_for("What heats the kiln?", PROMPT)
    desk.send("\x1b[31m1\x1b[0m\r")
    desk.wait_for("How many kilns", PROMPT)

    assert "Traceback" not in desk.text
    assert desk.interrupt() == 130
    assert interview_of(folder).answers.given["scope.fuel"].value == "electric"


def test_a_word_that_is_no_number_is_refused_and_asked_again(tmp_path):
    folder = tmp_path / "job"
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A")
    desk.wait_for("What heats the kiln?", "electricity only", PROMPT)
    desk.send("1\r")
    desk.wait_for("How many kilns", PROMPT)
    desk.send("a few\r")
    desk.wait_for("! 'a few' is not a whole number", "? Answer:")
    desk.send("1\r")
    desk.wait_for("Which supplies")

    assert desk.interrupt() == 130
    assert open_job(folder).events[-1].data["value"] == 1


def test_an_answer_of_a_finished_section_is_corrected_and_the_first_one_stays_in_the_journal(tmp_path, prepared):
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared)
    rows = [item.question.id for item in interview_of(folder).items("scope")]
    desk = Desk("inspect", str(folder))
    open_section(desk, folder, "scope")
    desk.wait_for("Who is the duty holder", "? Which answer is to be corrected?")
    desk.send(f"{rows.index('scope.zones') + 1}\r")
    desk.wait_for("So far: 1", "How many heating zones")
    desk.send("back\r")
    desk.wait_for("This is the first question of this sitting", "How many heating zones")
    desk.send("3\r")
    desk.wait_for("Which section?", MENU)
    desk.send("leave\r")

    assert desk.finish() == 0
    events = open_job(folder).events
    assert [one.data["said"] for one in events if one.data.get("question") == "scope.zones@kiln/1"] == ["1", "3"]


# One question of each kind; test_interview.py interrupts at every question there is.
OF_EACH_KIND = {
    "choice": "safe.dead@kiln/1",
    "several": "safe.hazards",
    "number": "identity.height@kiln/1",
    "moment": "event.water_in",
    "text": "scope.authority",
    "reading": "wire.insulation@kiln/1/wiring/power",
}


@pytest.mark.parametrize(("kind", "key"), OF_EACH_KIND.items(), ids=OF_EACH_KIND)
def test_ctrl_c_at_a_question_of_each_kind_and_resuming_loses_nothing(tmp_path, prepared, kind, key):
    """Ctrl-C, look at the disk, come back, answer, Ctrl-C again."""
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared, key)
    question = questionnaire().questions[key.partition("@")[0]]
    assert question.kind == kind
    before = (folder / "journal.jsonl").read_bytes()

    desk = Desk("inspect", str(folder), *AS)
    open_section(desk, folder, question.section)
    desk.wait_for(question.ask, PROMPT)
    assert desk.interrupt() == 130
    assert (folder / "journal.jsonl").read_bytes() == before

    desk = Desk("inspect", str(folder), *AS)
    open_section(desk, folder, question.section)
    item = interview_of(folder).next(question.section)
    desk.wait_for(f"slate {interview_of(folder).slate(item)}", question.ask, PROMPT)
    _answer_and_wait(desk, folder, item, prepared[0][key])
    assert desk.interrupt() == 130
    assert (folder / "journal.jsonl").read_bytes().startswith(before)


class Demo:
    """Answers what the demo answers, and says of everything else that it is unknown."""

    def __init__(self, answers):
        self.answers = answers

    def ask(self, asked):
        key = key_of(asked.item.question.id, asked.item.at)
        if key not in self.answers:
            return NoValue("unknown")
        one = self.answers[key]
        given = Given(one.value, one.instrument, {name: str(said) for name, said in one.details.items()})
        return given if one.state == "given" else NoValue(one.state, one.reason)

    def heard(self, words):
        pass

    def refuse(self, asked, message):
        raise AssertionError(f"{asked.item}: {message}")

    def tell(self, message):
        pass


def _answer_all_but(folder, prepared, left=""):
    """Start a job in which every question is answered, but the one that is left open."""
    answers, instruments = prepared
    if not ANSWERED:
        with TemporaryDirectory() as place:
            job = start(Path(place) / "job", SETTINGS, by="A. Repairer")
            with Journal(job.journal) as journal:
                session = Session(job, journal, Demo(answers), by="A", source="test")
                for instrument in instruments:
                    session.register(instrument)
                session.straight_through()
                ANSWERED.extend(journal.events[1:])
    with Journal(start(folder, SETTINGS, by="A. Repairer").journal) as journal:
        for event in ANSWERED:
            if event.data.get("question") != left:
                journal.append(event.kind, event.data, by=event.by, source=event.source)


SETTINGS = Settings("job", "uk", "A4", "Europe/London")
ANSWERED: list[Event] = []
"""What such a job holds, answered once: the lines after its first."""


@pytest.mark.parametrize("word", ["leave", "pass", "back", "clear", "0", "9", "1 2"])
def test_a_word_typed_at_a_list_of_choices_never_becomes_an_answer(tmp_path, word):
    """The same words work at every question; what is neither one of them nor a number of the list is refused."""
    folder = tmp_path / "job"
    start(folder, SETTINGS, by="A. Repairer")
    desk = Desk("inspect", str(folder))
    open_section(desk, folder, "scope")
    desk.wait_for("What heats the kiln?", PROMPT)
    desk.send(f"{word}\r")
    expected = {"leave": MENU, "pass": "How many kilns", "back": "This is the first question of this sitting"}
    desk.wait_for(expected.get(word, f"! '{word}' is none of these lines; expected one number from 1 to 3"))

    assert len(open_job(folder).events) == 1
    assert desk.interrupt() == 130


WIRING = ("Insulation resistance of the wiring alone", PROMPT)


def reading_at_the_terminal(tmp_path, prepared, *turns):
    """Return the line that a reading left in the journal, typed field by field: what is shown, what is typed then."""
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared, OF_EACH_KIND["reading"])
    desk = Desk("inspect", str(folder))
    open_section(desk, folder, "measure")
    types(desk, *turns)
    desk.wait_for("Which section?", MENU)
    reading = open_job(folder).events[-1]
    assert desk.interrupt() == 130
    return reading


def test_a_slip_in_the_last_field_of_a_reading_costs_only_that_field(tmp_path, prepared):
    reading = reading_at_the_terminal(
        tmp_path, prepared,
        (WIRING, "clear"),
        ("! 'clear' is not a number that can be read", "0.18"),
        ("! '0.18' has no unit; expected a number and a unit, as in '0.4 Mohm'", "0.18 Mohm"),
        ("? With which instrument?", "1"),
        ("? Test voltage (V)", "250"),
        ("? Air temperature (°C)", "60 s"),
        ("! 's' is not a unit of this question (°C)", "11"),
        ("? Relative humidity of the air (%)", "damp"),
        ("! 'damp' is not a number", "78"),
    )  # fmt: skip

    assert reading.data["value"] == 0.18
    assert reading.data["details"] == {"test_volts": 250.0, "air_c": 11.0, "humidity_percent": 78.0}


def test_a_bad_reading_is_kept_whatever_is_not_known_of_how_it_was_taken(tmp_path, prepared):
    """At a voltage that nobody knows: it closes as any bad one does, and a good one would open nothing."""
    reading = reading_at_the_terminal(
        tmp_path, prepared,
        (WIRING, "0,18 Mohm"), ("? With which instrument?", "1"),
        ("? Test voltage (V)", "unknown"), ("? Air temperature (°C)", "pass"),
    )  # fmt: skip

    assert (reading.kind, reading.data["value"], reading.data["details"]) == ("reading", 0.18, {})


def test_back_leads_to_what_was_answered_in_an_earlier_sitting(tmp_path, prepared):
    """Isolation changes while one is there: it is corrected before the section is finished."""
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared, "safe.supply_reached@kiln/1")
    desk = Desk("inspect", str(folder), *AS)
    open_section(desk, folder, "safe")
    desk.wait_for("Did water reach the socket", PROMPT)
    desk.send("back\r")
    desk.wait_for("Who holds the only key, or the pulled plug?", PROMPT)
    desk.send("back\r")
    desk.wait_for("How is it isolated?", PROMPT)
    desk.send("back\r")
    signed = "Signed as A. Repairer, kiln repairer; by: NAME or as: ROLE changes it."
    desk.wait_for("So far: yes: locked and the key held", signed, "Is the kiln isolated", PROMPT)
    desk.send("2\r")
    desk.wait_for("Did water reach the socket", PROMPT)

    assert open_job(folder).events[-1].data["value"] == "off"
    assert desk.interrupt() == 130


# ---------------------------------------------------------------------------------------- who says so, what shows it


@pytest.fixture
def at_the_kiln(tmp_path, prepared):
    """A job in which all is answered but whether the kiln is proven dead; the water came and went long ago."""
    _answer_all_but(tmp_path / "job", prepared, DEAD)
    return tmp_path / "job"


DEAD, PAPERS = "safe.dead@kiln/1", "safe.asbestos@kiln/1"
PROVEN = ("Is the kiln proven dead", PROMPT)


def sits_down(folder, *more):
    desk = Desk("inspect", str(folder), "--by", "A. Repairer", *more)
    open_section(desk, folder, "safe")
    return desk


def sees(desk, shown):
    desk.wait_for(*([shown] if isinstance(shown, str) else shown))


def types(desk, *lines):
    for shown, typed in lines:
        sees(desk, shown)
        desk.send(f"{typed}\r")


def told(folder, key):
    answer = interview_of(folder).answers.given[key]
    return answer.who, answer.role


def test_whoever_proved_it_dead_is_named_with_a_role_that_may(at_the_kiln):
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "1"), ("? Who says so?", "new"), ("? Name?", "E. Lectrician"),
          ("? E. Lectrician, in which role?", "8"), ("expected one number from 1 to 2", "2"),
          ("Which section?", "leave"))  # fmt: skip

    assert desk.finish() == 0
    assert told(at_the_kiln, DEAD) == ("E. Lectrician", "electrician")


def somebody_proves_another(folder):
    """The electrician has spoken in this job before."""
    answered(folder, "safe.water_gone", Given("yes"), by="E. Lectrician", role="electrician")


def answered(folder, key, given, *, by="A. Repairer", role="repairer"):
    """Answer one question at the kiln, without a terminal; return what was said to the person."""
    name, at = split_key(key)
    job, person = open_job(folder), OneAnswer(given)
    with Journal(job.journal) as journal:
        session = Session(job, journal, person, by=by, source="test", role=role, on_the_spot=True)
        session._ask_until_answered(Item(questionnaire().questions[name], at), [], [])
    return person.told


class OneAnswer:
    """Says one thing and remembers what it is told."""

    def __init__(self, given):
        self.given, self.told = given, []

    def ask(self, _asked):
        return self.given

    def heard(self, words):
        pass

    def refuse(self, _asked, message):
        raise AssertionError(message)

    def tell(self, message):
        self.told.append(message)


def test_who_is_known_is_a_number_and_enter_alone_names_nobody(at_the_kiln):
    somebody_proves_another(at_the_kiln)
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "1"), ("1 E. Lectrician, registered electrician A number, or: new", ""),
          ("! Nothing is preselected here", "1"), ("Which section?", "leave"))  # fmt: skip

    assert desk.finish() == 0
    assert told(at_the_kiln, DEAD) == ("E. Lectrician", "electrician")


@pytest.mark.parametrize(("word", "shown"), [("back", PROVEN), ("pass", "Which section?"), ("leave", "Which section?")])
def test_back_pass_and_leave_work_where_somebody_is_to_be_named(at_the_kiln, word, shown):
    before = (at_the_kiln / "journal.jsonl").read_bytes()
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "1"), ("? Who says so?", word))
    sees(desk, shown)

    assert desk.interrupt() == 130
    assert (at_the_kiln / "journal.jsonl").read_bytes() == before


def test_the_worse_answer_asks_for_nobody(at_the_kiln):
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "2"), ("Which section?", "leave"))

    assert desk.finish() == 0
    assert told(at_the_kiln, DEAD) == ("A. Repairer", "repairer")


def test_without_a_role_it_is_asked_once_at_the_first_question_that_needs_it(at_the_kiln):
    desk = sits_down(at_the_kiln)
    types(desk, ("? A. Repairer, in which role are you here?", "electrician"),
          (PROVEN, "1"))  # fmt: skip
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    assert told(at_the_kiln, DEAD) == ("A. Repairer", "electrician")


def test_a_slip_in_ones_own_role_is_mended_at_the_question(at_the_kiln):
    desk = sits_down(at_the_kiln)
    types(desk, ("? A. Repairer, in which role are you here?", "owner"), (PROVEN, "as: caretaker"),
          ("! 'caretaker' is no role here; expected", "by: A. Repairer"),
          ("? A. Repairer, in which role are you here?", "repairer"), (PROVEN, "as: electrician"),
          ("Signed as A. Repairer, registered electrician; by: NAME or as: ROLE changes it.", "1"))  # fmt: skip
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    assert told(at_the_kiln, DEAD) == ("A. Repairer", "electrician")


def test_a_role_behind_a_name_is_a_role_and_no_part_of_the_name(at_the_kiln):
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "by: E. Lectrician, electrician"), ("The answer is by E. Lectrician.", "1"))
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    assert told(at_the_kiln, DEAD) == ("E. Lectrician", "electrician")


def test_somebody_known_is_named_by_typing_the_name(at_the_kiln):
    somebody_proves_another(at_the_kiln)
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "1"), ("1 E. Lectrician, registered electrician A number, or: new", "E. Lectrician"))
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    assert told(at_the_kiln, DEAD) == ("E. Lectrician", "electrician")


def test_by_and_when_are_said_at_the_question_and_shown(at_the_kiln):
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "by: E. Lectrician"), ("The answer is by E. Lectrician.", "when: 2026-03-10 09:20"),
          ("The answer is by E. Lectrician, of 2026-03-10 09:20 GMT.", "1"),
          ("? E. Lectrician, in which role?", "2"))  # fmt: skip
    desk.wait_for("! Kept, and it opens nothing: it is of 2026-03-10 09:20 GMT and holds for", "Which section?")

    assert desk.interrupt() == 130
    assert told(at_the_kiln, DEAD) == ("E. Lectrician", "electrician")


@pytest.mark.parametrize(("typed", "paper"), [("data sheet 12", "data sheet 12"), ("none", "")])
def test_a_documented_answer_asks_for_its_paper_and_without_one_opens_nothing(tmp_path, prepared, typed, paper):
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared, PAPERS)
    desk = sits_down(folder, *AS)
    types(desk, (("Could rope, board", PROMPT), "2"),
          ("? Which paper or photograph shows it?", typed))  # fmt: skip
    desk.wait_for("Which section?", *([] if paper else ["opens nothing: no paper or photograph is named"]))

    assert desk.interrupt() == 130
    assert interview_of(folder).answers.given[PAPERS].document == paper


def test_a_reading_beyond_the_range_of_the_meter_is_kept_as_at_least_that(tmp_path, prepared):
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared, OF_EACH_KIND["reading"])
    desk = Desk("inspect", str(folder), *AS)
    open_section(desk, folder, "measure")
    types(desk, ("beyond the meter's range: >200 MΩ, or OL", ">200 Mohm"), ("? With which instrument?", "back"),
          (WIRING, "OL"), ("? With which instrument?", "1"),
          ("? Test voltage (V)", "500"), ("? Air temperature (°C)", "11"), ("? Relative humidity", "78"))  # fmt: skip
    desk.wait_for("Which section?", MENU)

    assert desk.interrupt() == 130
    assert interview_of(folder).answers.given[OF_EACH_KIND["reading"]].at_least


# ---------------------------------------------------------------------------------------- broken off, taken up, again


def test_a_call_that_was_broken_off_goes_on_where_it_was_left_and_writes_its_sheets(tmp_path, monkeypatch):
    folder = tmp_path / "job"
    monkeypatch.setenv("PYTHONPATH", without_pango(tmp_path)["PYTHONPATH"])
    desk = Desk("start", str(folder), "--profile", "uk", "--zone", "Europe/London", "--by", "A. Repairer")
    types(desk, (("What heats the kiln?", PROMPT), "1"))
    desk.wait_for("How many kilns", PROMPT)
    assert desk.interrupt() == 130
    assert f"Go on with: recover start {folder}".replace(" ", "") in desk.text

    desk = Desk("start", str(folder))
    types(desk, (("How many kilns", PROMPT), "1"), (("Which supplies", PROMPT), "leave"))
    desk.wait_for("The call is not finished")
    assert desk.finish() == 0
    assert list((folder / "papers").glob("tag-draft*"))
    assert [event.kind for event in open_job(folder).events].count("start") == 1


def test_what_was_typed_before_who_says_so_is_said_not_to_be_kept(at_the_kiln):
    before = (at_the_kiln / "journal.jsonl").read_bytes()
    desk = sits_down(at_the_kiln, *AS)
    types(desk, (PROVEN, "1"))
    desk.wait_for("? Who says so?")

    assert desk.interrupt() == 130
    assert "Notkept:slate16," in desk.text
    assert (at_the_kiln / "journal.jsonl").read_bytes() == before


def test_the_words_are_listed_once_a_sitting_and_on_help(at_the_kiln):
    desk = sits_down(at_the_kiln, *AS)
    types(desk, ("not inspected: why", "slate 8"), (("Is the standing water gone", PROMPT), "help"),
          ("not inspected: why", "?"), (PROVEN, "leave"))  # fmt: skip
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    assert interview_of(at_the_kiln).answers.given["safe.water_gone"].state == "unknown"


def test_a_meter_is_registered_by_the_words_of_the_trade_and_the_next_reading_is_taken_with_the_same(
    tmp_path, prepared
):
    folder = tmp_path / "job"
    _answer_all_but(folder, prepared)
    known = set(interview_of(folder).answers.instruments)
    desk = Desk("inspect", str(folder), *AS)
    types(desk, ("Which section?", "40-1"), (WIRING, "300 Mohm"),
          ("? With which instrument?", "new"), ("counts for this reading", "pen tester"),
          ("! 'pen tester' is none of these lines", "MFT"), ("? Maker and model?", "own make"),
          ("? Serial number?", "77"), ("? Calibrated until?", "next winter"),
          ("! 'next winter' is not a date", "1.12.2099"), ("? Test voltage (V)", "500"), ("? Air temperature", "11"),
          ("? Relative humidity", "101"), ("expected 0 % to 100 %", "62"),
          ("Which section?", "s 40-2"), (WIRING, "500 Mohm"),
          ("500 V, 11 °C, 62 %", "same"))  # fmt: skip
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
    answers = interview_of(folder).answers
    (new,) = set(answers.instruments) - known
    assert (answers.instruments[new].what, answers.instruments[new].calibrated) == (
        "multifunction tester",
        "2099-12-01",
    )
    last = open_job(folder).events[-1].data
    assert (last["instrument"], last["value"]) == (new, 500)
    assert last["details"] == {"test_volts": 500.0, "air_c": 11.0, "humidity_percent": 62.0}


def test_what_is_missing_stands_first_in_the_menu(at_the_kiln):
    desk = Desk("inspect", str(at_the_kiln), *AS)
    types(desk, ("a What is missing for “Hands off”", "a"), ("So far:", "leave"))
    desk.wait_for("Which section?")

    assert desk.interrupt() == 130
