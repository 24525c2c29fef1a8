"""A filled-in paper form, typed in: one short line an answer, in the order of the paper."""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from recover.asked.compiled import questionnaire
from recover.asked.told import key_of, split_key
from recover.commands.cli import verbs
from recover.interview import sittings
from recover.interview.engine import Interview
from recover.interview.script import AnswersFile, Prepared, Script
from recover.interview.session import Session
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal
from recover.judged.assessment import answers_of
from tests.terminal import Desk

SMALL_TOP_LOADER = Path(__file__).parent / "forms" / "small-top-loader.txt"
NOW = datetime(2026, 3, 10, 18, 0, tzinfo=UTC)
HEAD = ["2026-03-09 14:30", "E. Xample", "kiln repairer", ""]
TESTER = "insulation tester, own make, 123, 2026-12-01"
SOURCE = "form, filled in 2026-03-09 14:30 by E. Xample"
CALL = {"scope.fuel": "electric", "scope.kilns": "1", "scope.supplies": ["one_known"]}


@pytest.fixture
def job(tmp_path):
    return start(tmp_path / "job", Settings("job", "uk", "A4", "Europe/London"), by="A. Repairer")


class Form:
    """A form in a job, typed in by questions: `rows` holds lines by key, everything else is left blank."""

    def __init__(self, job, rows, *, head=HEAD, then=("",)):
        self.job, self.rows, self.head, self.then = job, rows, list(head), list(then)
        self.said = []
        self.asked = []

    def isatty(self):
        return True

    def readline(self):
        """Return the next line: of the head, or of the row whose prompt was just shown."""
        if self.head:
            return self.head.pop(0) + "\n"
        found = re.fullmatch(r"(\d+)(?:-(\d+))?(?: · .*)? > ", self.said[-1])
        if not found:
            return self.then.pop(0) + "\n"  # a field of a reading
        item = self._interview().by_slate(int(found[1]), int(found[2] or 0) or None)
        key = key_of(item.question.id, item.at)
        self.asked.append(key)
        lines = self.rows.get(key, [])
        return (lines.pop(0) if lines else "") + "\n"

    def _interview(self):
        return Interview(answers_of(open_job(self.job.folder)))

    def say(self, message, **_):
        self.said.append(message)

    def type_in(self):
        sittings.by_form(open_job(self.job.folder), "A. Repairer", self, say=self.say, now=NOW)
        return self

    @property
    def text(self):
        return " ".join(" ".join(self.said).split())


def answered(job, answers):
    """Answer by file, so that a form finds what it stands on."""
    script = Script(AnswersFile("A", answer=[Prepared(key, value) for key, value in answers.items()]), "file",
                    questionnaire())  # fmt: skip
    with Journal(job.journal) as journal:
        Session(job, journal, script, by="A", source="file").scripted(script)
    script.finish()
    assert not script.problems


def typed_in(job, rows, **more):
    return Form(job, {key: [lines] if isinstance(lines, str) else list(lines) for key, lines in rows.items()},
                **more).type_in()  # fmt: skip


def answers(job):
    return answers_of(open_job(job.folder))


def given(job, key):
    return answers(job).given[key]


# ---------------------------------------------------------------------------------------- what is written


def test_a_form_of_lines_gives_what_the_interview_gives(job, tmp_path):
    """Ticks by number and by word, several, a number with unit, words, a moment, the three marks."""
    typed_in(job, {
        "scope.fuel": "1", "scope.kilns": "1", "scope.connection@kiln/1": "fixed", "scope.supplies": "2 5",
        "scope.duty_holder": "the school's bursar", "safe.water_gone": "1",
        "safe.upstream@kiln/1": "Switched off, but not locked", "safe.hazards": "?",
        "event.source": "x nobody was there", "event.salt": "n/a",
        "event.water_in": "2026-03-07 18:00",
        "event.water_line@kiln/1": "17 in",
    })  # fmt: skip
    other = start(tmp_path / "other", job.settings, by="A. Repairer")
    answered(other, {
        "scope.fuel": "electric", "scope.kilns": "1", "scope.connection@kiln/1": "fixed",
        "scope.supplies": ["second_plug", "generator"], "scope.duty_holder": "the school's bursar",
        "safe.water_gone": "yes", "safe.upstream@kiln/1": "off", "event.water_in": "2026-03-07 18:00",
        "event.water_line@kiln/1": "17 in",
    })  # fmt: skip

    known = answers(job).given
    for key, answer in answers(other).given.items():
        assert (known[key].value, known[key].said, known[key].state) == (answer.value, answer.said, "given")
    assert len(known) == len(answers(other).given) + 3
    assert given(job, "safe.hazards").state == "unknown"
    assert (given(job, "event.source").state, given(job, "event.source").reason) == (
        "not_inspected",
        "nobody was there",
    )
    assert given(job, "event.salt").state == "not_applicable"


def test_the_journal_says_when_and_by_whom_the_form_was_filled_in_and_who_typed(job):
    typed_in(job, {"scope.fuel": "1"})
    event = open_job(job.folder).events[-1]

    assert (event.source, event.by) == (SOURCE, "A. Repairer")


def test_enter_at_the_head_takes_now_and_who_types(job):
    typed_in(job, {"scope.fuel": "1"}, head=["", "", "", ""])

    assert open_job(job.folder).events[-1].source == "form, filled in 2026-03-10 18:00 by A. Repairer"


def test_the_paper_is_asked_in_its_order_whole_loss_and_kiln_together(job):
    form = typed_in(job, {"scope.fuel": "1", "scope.kilns": "1"})
    slates = [question.id for question in questionnaire().of_section("scope")]

    asked = [key.partition("@")[0] for key in form.asked if key.startswith("scope.")]
    assert asked == [name for name in slates if name in asked]
    assert asked.index("scope.connection") < asked.index("scope.supplies")


def test_each_kiln_has_a_form_of_its_own_and_what_holds_for_the_loss_is_asked_once(job):
    form = typed_in(job, {
        "scope.fuel": "1", "scope.kilns": "2", "scope.connection@kiln/1": "1", "scope.connection@kiln/2": "2",
    }, then=["2026-03-09 16:00", "B. Helper", "", ""])  # fmt: skip
    sources = {event.data.get("question"): event.source for event in open_job(job.folder).events}

    assert sources["scope.connection@kiln/1"] == SOURCE
    assert sources["scope.connection@kiln/2"] == "form, filled in 2026-03-09 16:00 by B. Helper"
    assert form.asked.count("scope.fuel") == 1
    assert form.asked.index("event.water_line@kiln/1") < form.asked.index("scope.connection@kiln/2")


def test_a_question_whose_condition_fails_is_skipped_as_in_the_interview(job):
    form = typed_in(job, CALL_ROWS | {"safe.upstream@kiln/1": "3"})
    assert "safe.dead@kiln/1" not in form.asked

    form = typed_in(job, {})
    assert "safe.dead@kiln/1" not in form.asked


CALL_ROWS = {"scope.fuel": "1", "scope.kilns": "1", "scope.supplies": "1"}


def test_a_gas_kiln_stops_the_form(job):
    form = typed_in(job, {"scope.fuel": "2"})

    assert form.asked == ["scope.fuel"]
    assert "Stop here. A gas or solid-fuel kiln" in form.text


# ---------------------------------------------------------------------------------------- instruments and readings


RUNS = {"wire.runs@kiln/1": "1 2"}
POWER, CONTROL = (f"wire.insulation@kiln/1/wiring/{run}" for run in ("power", "control"))
HEAD_WITH_TESTER = [*HEAD[:3], TESTER, ""]


def test_a_reading_is_one_line_and_names_its_instrument_by_its_number_on_the_form(job):
    typed_in(job, RUNS | {POWER: "0.18 Mohm; 250; 11; 78; 1"}, head=HEAD_WITH_TESTER)
    reading = given(job, POWER)

    assert reading.value == 0.18
    assert reading.details == {"test_volts": 250, "air_c": 11, "humidity_percent": 78}
    assert answers(job).instruments[reading.instrument].what == "insulation tester"


def test_what_a_line_lacks_is_asked_for_and_a_slip_costs_only_its_field(job):
    typed_in(job, RUNS | {POWER: "0.18 Mohm; 250; cold"}, head=HEAD_WITH_TESTER, then=["11", "", "78 %", "4", "1"])

    assert given(job, POWER).details == {"test_volts": 250, "air_c": 11, "humidity_percent": 78}


def test_an_equals_sign_repeats_a_field_or_the_whole_reading_of_the_row_before(job):
    typed_in(job, RUNS | {POWER: "0.18 Mohm; 250; 11; 78; 1", CONTROL: "4 Mohm; 500; =; =; ="}, head=HEAD_WITH_TESTER)

    assert given(job, CONTROL).value == 4
    assert given(job, CONTROL).details == {"test_volts": 500, "air_c": 11, "humidity_percent": 78}
    assert given(job, CONTROL).instrument == given(job, POWER).instrument


def test_an_instrument_that_the_head_forgot_is_named_on_the_spot(job):
    typed_in(job, RUNS | {POWER: "0.18 Mohm; 250; 11; 78", CONTROL: "4 Mohm; 250; 11; 78; 1"}, then=["1", TESTER])

    assert given(job, POWER).instrument == given(job, CONTROL).instrument == "I1"
    assert answers(job).instruments["I1"].calibrated == "2026-12-01"


def test_a_second_form_finds_the_instrument_again_under_the_same_number(job):
    typed_in(job, RUNS, head=HEAD_WITH_TESTER)
    typed_in(job, {POWER: "0.18 Mohm; 250; 11; 78; 1"}, head=["", "", "", "", ""])

    assert len(answers(job).instruments) == 1
    assert open_job(job.folder).events[-1].source == SOURCE


def test_a_reading_beyond_the_range_of_the_meter_is_at_least_what_it_shows(job):
    typed_in(job, RUNS | {POWER: ">200 MΩ; 500; 11; 78; 1", CONTROL: "OL; =; =; =; ="}, head=HEAD_WITH_TESTER)

    assert (given(job, POWER).value, given(job, POWER).at_least) == (200, True)
    assert given(job, CONTROL).at_least


# ---------------------------------------------------------------------------------------- who, when, by which paper


LOCKED, DEAD, PAPERS = "safe.upstream@kiln/1", "safe.dead@kiln/1", "safe.asbestos@kiln/1"
WATER = {"event.water_in": "2026-03-07 18:00", "event.water_out": "2026-03-07 20:00"}


def told(job, key):
    """Who says it, in which role, at which local time, by which paper."""
    answer = given(job, key)
    return answer.who, answer.role, f"{answer.measured:%Y-%m-%d %H:%M}", answer.document


def test_what_a_form_says_is_of_its_date_and_of_whoever_filled_it_in(job):
    typed_in(job, CALL_ROWS | {LOCKED: "1"})

    assert told(job, LOCKED) == ("E. Xample", "repairer", "2026-03-09 14:30", "")
    assert given(job, LOCKED).by == "A. Repairer"


@pytest.mark.parametrize("typed", ["4", "kiln repairer", "Repairer"])
def test_a_role_is_its_number_or_its_words(job, typed):
    typed_in(job, CALL_ROWS | {LOCKED: "1"}, head=[*HEAD[:2], typed, ""])

    assert given(job, LOCKED).role == "repairer"


@pytest.mark.parametrize("typed", ["9", "plumber"])
def test_a_role_that_the_country_does_not_have_is_refused(job, typed):
    form = typed_in(job, CALL_ROWS, head=[*HEAD[:2], typed, "4", ""])

    assert "expected one number from 1 to 8" in form.text or "'plumber' is no role here; expected owner" in form.text


def test_another_person_and_the_paper_stand_behind_semicolons(job):
    typed_in(job, CALL_ROWS | {
        LOCKED: "1", DEAD: "1; E. Lectrician, registered electrician", PAPERS: "2; ; data sheet 12",
    })  # fmt: skip

    assert told(job, DEAD) == ("E. Lectrician", "electrician", "2026-03-09 14:30", "")
    assert told(job, PAPERS) == ("E. Xample", "repairer", "2026-03-09 14:30", "data sheet 12")


def test_who_is_known_needs_no_role_again_and_who_is_not_is_refused_without_one(job):
    rows = {LOCKED: ["1; E. Lectrician", "1; E. Lectrician, electrician"], DEAD: "1; E. Lectrician"}
    form = typed_in(job, CALL_ROWS | rows)

    assert "'E. Lectrician' does not say who says so in which role; expected NAME, owner or" in form.text
    assert told(job, DEAD)[:2] == ("E. Lectrician", "electrician")


@pytest.mark.parametrize(
    ("behind", "time"), [("@ 2026-03-10 09:20", "2026-03-10 09:20"), ("@ 9:20", "2026-03-09 09:20")]
)
def test_a_row_may_have_a_time_of_its_own(job, behind, time):
    rows = {LOCKED: f"1 {behind}", DEAD: f"1; E. Lectrician, electrician {behind}"}
    typed_in(job, CALL_ROWS | RUNS | rows | {POWER: f"4 Mohm; 500; 11; 78; 1 {behind}"}, head=HEAD_WITH_TESTER)

    assert told(job, LOCKED)[2] == told(job, DEAD)[2] == told(job, POWER)[2] == time
    assert told(job, "scope.fuel")[2] == "2026-03-09 14:30"


def test_an_at_sign_in_words_is_no_time(job):
    typed_in(job, {"scope.duty_holder": "the bursar, rung up @ 09:20"})

    assert given(job, "scope.duty_holder").value == "the bursar, rung up @ 09:20"


def test_an_equals_sign_repeats_who_says_so_and_when(job):
    rows = {"safe.hazards": "2 3", "hazard.cleared@hazard/sewage": "1; S. Pecialist, specialist for the hazard, or"
            " laboratory; paper 7 @ 10:00", "hazard.cleared@hazard/mould": "="}  # fmt: skip
    typed_in(job, CALL_ROWS | rows)

    assert told(job, "hazard.cleared@hazard/mould") == told(job, "hazard.cleared@hazard/sewage")
    assert told(job, "hazard.cleared@hazard/mould") == ("S. Pecialist", "specialist", "2026-03-09 10:00", "paper 7")


def test_what_opens_nothing_is_said_at_its_row(job):
    answered(job, WATER)
    form = typed_in(job, CALL_ROWS | {LOCKED: "1", DEAD: "1", PAPERS: "2"})

    assert "E. Xample said so as repairer; expected competent person or registered electrician" in form.text
    assert "Kept, and it opens nothing: no paper or photograph is named that shows it." in form.text


def test_what_a_form_said_too_long_ago_is_summed_up_at_its_end(job):
    """A lock is looked at again after a day at the most: own limit."""
    answered(job, WATER)
    form = typed_in(job, CALL_ROWS | {LOCKED: "1", "safe.water_gone": "1"})

    assert "2 answers open nothing: what was seen or measured holds for a time that is over" in form.text
    assert "(slate 7, 8)" in form.text
    assert form.text.count("open nothing") + form.text.count("opens nothing:") == 1


def test_the_next_form_takes_the_role_of_the_one_before_for_the_same_person_alone(job):
    rows = CALL_ROWS | {"scope.kilns": "3", LOCKED: "1", "safe.upstream@kiln/2": "1", "safe.upstream@kiln/3": "1"}
    typed_in(job, rows, then=["", "", "", "", "", "B. Helper", "", ""])

    assert given(job, "safe.upstream@kiln/2").role == "repairer"
    assert (given(job, "safe.upstream@kiln/3").who, given(job, "safe.upstream@kiln/3").role) == ("B. Helper", "")


@pytest.mark.parametrize(
    ("day", "mark"), [("2026-99-99 99:99", "file "), ("2025-01-01 10:00", "file "), ("2026-99-99 99:99", "")]
)
def test_a_file_that_is_called_like_a_form_is_none(job, day, mark, monkeypatch):
    """Also where an older version wrote its name into the journal without a mark."""
    monkeypatch.setattr(sittings, "FILE", mark)
    name, file = f"form, filled in {day} by A", AnswersFile("A", answer=[Prepared("scope.fuel", "electric")])
    assert not sittings.by_file(job, file, name, "A", tell=lambda _: None)
    form = typed_in(job, {"scope.kilns": "1"})

    assert answers(job).given["scope.kilns"].value == 1
    assert "(Enter: 2026-03-10 18:00)" in form.text


@pytest.mark.parametrize("name", ["J\udcf6rg.toml", "A\u202eB.toml", "a\nb.toml"])
def test_a_file_whose_name_cannot_be_written_down_is_read(job, name):
    file = AnswersFile("A", answer=[Prepared("scope.fuel", "electric")])

    assert not sittings.by_file(job, file, name, "A", tell=lambda _: None)
    assert given(job, "scope.fuel").value == "electric"


def test_a_form_of_a_day_that_has_not_come_is_not_filled_in(job):
    form = typed_in(job, {"scope.fuel": "1"}, head=["2936-03-09 14:30", *HEAD])

    assert "2936-03-09 14:30 GMT has not come yet; it is" in form.text
    assert given(job, "scope.fuel").measured.year == 2026


# ---------------------------------------------------------------------------------------- marks


@pytest.mark.parametrize("line", ["2", "damp", "?", "x behind a lid", "n"])
def test_an_equals_sign_is_the_answer_of_the_row_before(job, line):
    reached = [f"wire.reached@kiln/1/wiring/{run}" for run in ("power", "control", "supply_cord")]
    typed_in(job, {"wire.runs@kiln/1": "1 2 3", reached[0]: line, reached[1]: "=", reached[2]: "="})
    first, *others = (given(job, key) for key in reached)

    for other in others:
        assert (other.state, other.value, other.reason) == (first.state, first.value, first.reason)


@pytest.mark.parametrize("key", ["scope.fuel", "wire.reached@kiln/1/wiring/power", "safe.upstream@kiln/2"])
def test_an_equals_sign_without_a_row_before_is_refused(job, key):
    """The first row, a question without rows, and another kiln's form are no row before."""
    rows = CALL_ROWS | {"scope.kilns": "2", "safe.upstream@kiln/1": "1"} | RUNS
    form = typed_in(job, rows | {key: ["=", ""]}, then=["", "", "", ""])

    assert "'=' repeats the row before, and there is none with an answer" in form.text
    assert key not in answers(job).given


ELEMENTS = {"element.count@kiln/1": "4"}
LOOKS, OHMS = ([f"element.{name}@kiln/1/element/{number}" for number in range(1, 5)] for name in ("look", "ohm"))


def test_two_equals_signs_are_the_answer_for_all_rows_of_the_question_that_follow(job):
    form = typed_in(job, ELEMENTS | {LOOKS[0]: "2", LOOKS[1]: "==", "element.tails@kiln/1/element/1": "1"})

    assert [given(job, key).value for key in LOOKS] == ["silt"] * 4
    assert LOOKS[2] not in form.asked
    assert "122-4 · Element 4 > =" in form.text
    assert "element.tails@kiln/1/element/2" not in answers(job).given  # and ends with its question


def test_two_equals_signs_never_repeat_a_reading(job):
    form = typed_in(job, ELEMENTS | {OHMS[0]: "4.2 ohm; 1", OHMS[1]: ["==", "4.3 ohm; ="]}, head=HEAD_WITH_TESTER)

    assert "'==' repeats what was seen, and never a reading" in form.text
    assert given(job, OHMS[1]).value == 4.3
    assert OHMS[2] not in answers(job).given


def test_a_row_left_blank_is_no_row_to_repeat(job):
    form = typed_in(job, RUNS | {"wire.reached@kiln/1/wiring/control": ["=", ""]})

    assert "there is none with an answer" in form.text


@pytest.mark.parametrize(
    ("key", "wrong", "why"),
    [
        ("scope.fuel", "4", "expected one number from 1 to 3"),
        ("scope.fuel", "steam", "'steam' is none of these lines"),
        ("scope.fuel", "1 2", "expected one number from 1 to 3"),
        ("scope.supplies", "1 2", "cannot stand beside another choice"),
        ("scope.kilns", "two", "'two' is not a whole number"),
        ("event.water_line@kiln/1", "17 kg", "'kg' is not a unit of this question (mm)"),
        ("event.water_in", "2026-03-07", "has no clock time"),
        ("safe.hazards", "x", "'x' needs its reason"),
        ("scope.fuel", "note", "the note is empty"),
        ("scope.duty_holder", "bur\x1b[Dsar", "a key that writes nothing"),
    ],
)
def test_a_line_that_cannot_be_read_is_refused_with_the_reason_and_asked_again(job, key, wrong, why):
    form = typed_in(job, {key: [wrong, "?"]})

    assert why in form.text
    assert form.asked.count(key) == 2
    assert given(job, key).state == "unknown"


def test_a_letter_that_is_a_tick_and_a_mark_is_not_guessed(job):
    """A probe may be of letter N, and n is 'not applicable'."""
    rows = CALL_ROWS | {"scope.control@kiln/1": "1"}
    form = typed_in(job, rows | {"control.probe_type@kiln/1": ["n", "2"]})

    assert "'n' may be the tick 2 or the mark; expected 2, or n/a" in form.text
    assert given(job, "control.probe_type@kiln/1").value == "N"


def test_a_note_goes_with_the_row_and_the_row_is_asked_again(job):
    form = typed_in(job, {"scope.fuel": ["note told by the caretaker", "1"]})

    assert answers(job).noted("scope.fuel") == "told by the caretaker"
    assert form.asked[:2] == ["scope.fuel", "scope.fuel"]


@pytest.mark.parametrize("word", ["/", "back"])
def test_back_asks_the_row_before_again_and_the_correction_is_a_new_line(job, word):
    form = typed_in(job, {"scope.fuel": ["1", "2"], "scope.kilns": [word]})

    assert form.asked == ["scope.fuel", "scope.kilns", "scope.fuel"]
    assert [event.data["said"] for event in open_job(job.folder).events[1:]] == ["electric", "gas"]


def test_end_leaves_the_rest_of_a_section_blank(job):
    form = typed_in(job, CALL_ROWS | {"scope.fuel": "1", "scope.kilns": "end"})

    assert form.asked[2].startswith("safe.")
    assert "scope.kilns" not in answers(job).given


def test_end_on_one_form_says_nothing_of_the_next(job):
    rows = CALL_ROWS | {"scope.kilns": "2", "safe.upstream@kiln/1": "end"}
    form = typed_in(job, rows, then=["", "", "", ""])

    assert "safe.supply_reached@kiln/1" not in form.asked
    assert "safe.supply_reached@kiln/2" in form.asked


def test_a_section_ends_with_what_was_answered_left_blank_and_does_not_fit(job):
    form = typed_in(job, {"event.water_in": "2026-03-09 08:00", "event.water_out": "2026-03-07 18:00"})
    asked = sum(key.startswith("event.") for key in form.asked)

    assert "the water was out before it was in" in form.text
    assert f"The water: 2 answered, {asked - 2} left blank; 1 that does not fit, see above" in form.text


# ---------------------------------------------------------------------------------------- leaving, going on


def test_q_keeps_everything_and_a_second_run_goes_on(job):
    first = typed_in(job, {"scope.fuel": "1", "scope.kilns": "q"})
    second = typed_in(job, {"scope.kilns": "1"})

    assert first.asked == ["scope.fuel", "scope.kilns"]
    assert second.asked[0] == "scope.kilns"
    assert "scope.fuel" not in second.asked


def test_an_interrupt_keeps_everything(job):
    class Cut(Form):
        def readline(self):
            line = super().readline()
            if len(self.asked) == 3:
                raise KeyboardInterrupt
            return line

    with pytest.raises(KeyboardInterrupt):
        Cut(job, {"scope.fuel": ["1"], "scope.kilns": ["1"]}).type_in()

    assert set(answers(job).given) == {"scope.fuel", "scope.kilns"}
    assert "scope.fuel" not in typed_in(job, {}).asked


def test_a_picture_does_not_belong_to_what_was_typed_in_after_it_was_taken(job):
    """The lines of a form say when they were typed, and not when somebody stood there."""
    typed_in(job, {"scope.fuel": "1"})
    journal = open_job(job.folder)

    class Taken:
        taken = journal.events[-1].moment

    session = Session(journal, journal, Script(AnswersFile("A"), "none", questionnaire()), by="A", source="photographs")
    assert session._by_time(Taken, 30) == ""
    answered(job, {"scope.kilns": "1"})
    session = Session(job, open_job(job.folder), session.prompter, by="A", source="photographs")
    assert session._by_time(Taken, 30) == "scope.kilns"


# ---------------------------------------------------------------------------------------- the command


def run(job, lines, *options):
    return CliRunner().invoke(verbs, ["inspect", str(job.folder), *options], input="\n".join(lines))


def test_lines_from_standard_input_and_their_end_are_enough(job):
    result = run(job, [*HEAD, "1", "1"], "--from-form")

    assert result.exit_code == 0
    assert "1 > 1" in result.output  # a piped line is shown behind its prompt
    assert set(answers(job).given) == {"scope.fuel", "scope.kilns"}


def test_a_form_and_a_file_at_once_are_refused(job, tmp_path):
    (tmp_path / "file.toml").write_text("", "utf-8")
    result = run(job, [], "--from-form", "--answers", str(tmp_path / "file.toml"))

    assert result.exit_code == 2
    assert "give --from-form or --answers, not both" in result.output


def test_no_line_at_all_changes_nothing(job):
    assert run(job, [], "--from-form").exit_code == 0
    assert len(open_job(job.folder).events) == 1


def test_a_form_at_a_real_terminal_until_ctrl_c(job):
    desk = Desk("inspect", str(job.folder), "--from-form")
    for shown, typed in (
        ("Filled in, date and time (Enter:", "2026-03-09 14:30"),
        ("Filled in by (Enter: A. Repairer) >", "E. Xample"),
        ("In which role (Enter: left blank, and what needs a role opens nothing) >", "4"),
        ("Instrument 1:", ""),
        ("1 electricity only · 2 gas, or gas and electricity", "9"),
        ("! '9' is none of these lines; expected one number from 1 to 3", "1"),
        ("How many kilns were reached by this water?", "1"),
    ):
        desk.wait_for(shown)
        desk.send(f"{typed}\r")
    desk.wait_for("How is the kiln connected to its supply?", "3 >")

    assert desk.interrupt() == 130
    assert "All is kept. Go on with: recover inspect" in " ".join(desk.screen.display)
    assert set(answers(job).given) == {"scope.fuel", "scope.kilns"}
    assert {event.source for event in open_job(job.folder).events[1:]} == {SOURCE}


def test_a_small_kiln_is_copied_in_some_hundred_and_fifty_short_lines(job):
    """A top-loader splashed by clean water, everything but the later visits: see forms/small-top-loader.txt."""
    lines = SMALL_TOP_LOADER.read_text("utf-8").splitlines()
    result = run(job, lines, "--from-form")
    left = {question for question, _ in map(split_key, _unanswered(job))}

    said = [line for line in result.output.splitlines() if line.startswith("  ! ")]

    assert result.exit_code == 0
    assert not [line for line in said if "CLOSED" not in line and "open nothing" not in line]
    sections = {"event", "lining", "supply", "plan", "dried", "energise", "handover"}
    assert {questionnaire().questions[name].section for name in left} == sections
    assert "Elements, tails and terminals: 22 answered, 0 left blank" in result.output
    assert len(lines) <= 180
    assert sum(len(line) + 1 for line in lines) <= 1000  # keys, with Enter


def _unanswered(job):
    known = Interview(answers(job))
    items = [item for section in questionnaire().section for item in known.items(section.id)]
    return [key_of(item.question.id, item.at) for item in items if not known.answered(item)]
