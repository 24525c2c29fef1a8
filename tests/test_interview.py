"""The interview: what is asked next, what is kept, what is refused."""

import contextlib
import json
from pathlib import Path

import pytest

from recover.asked.answers import Answers
from recover.asked.compiled import compiled, from_compiled, questionnaire
from recover.asked.told import Instrument, key_of, split_key
from recover.base.errors import AnswerError, DataError, listed
from recover.interview import sittings
from recover.interview.engine import Interview, Item
from recover.interview.prompter import AddNote, AddPhotograph, Back, Given, Leave, NoValue, Pass, Speaker, When
from recover.interview.script import AnswersFile, Prepared, Script, load_answers
from recover.interview.session import Session
from recover.interview.typed import read_paper
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal
from recover.judged.assessment import answers_of, assess
from recover.profiles import limits
from recover.report.record import _earlier
from tests.conftest import ZONE, events_of

pytestmark = pytest.mark.quick

CASES = sorted((Path(__file__).parent / "cases").glob("*.json"))
BAD = Path(__file__).parent / "bad"


@pytest.fixture(scope="module")
def other_engine_questions():
    """The questions as any other program would get them: out of the compiled document alone."""
    return from_compiled(json.loads(json.dumps(compiled(questionnaire()))))


@pytest.mark.parametrize("path", CASES, ids=[path.stem for path in CASES])
def test_the_engine_asks_what_the_case_says(path, other_engine_questions):
    case = json.loads(path.read_text("utf-8"))
    interview = Interview(Answers(other_engine_questions, limits("uk"), ZONE, events_of(case["answers"])))
    asked = {
        key_of(item.question.id, item.at): item
        for section in other_engine_questions.section
        for item in interview.items(section.id)
    }

    for section, key in case.get("next", {}).items():
        item = interview.next(section)
        assert (key_of(item.question.id, item.at) if item else None) == key
    assert set(case.get("asked", [])) <= set(asked)
    assert not set(case.get("not_asked", [])) & set(asked)
    for key, slate in case.get("slates", {}).items():
        assert interview.slate(asked[key]) == slate
    if "stop" in case:
        assert bool(interview.stop) == case["stop"]


def test_an_unknown_key_in_a_compiled_questionnaire_is_refused():
    document = compiled(questionnaire())
    document["question"][0]["colour"] = "red"

    with pytest.raises(DataError, match="the key 'colour' is not known"):
        from_compiled(document)


def test_upstream_isolation_stands_before_proving_dead_and_looking_inside():
    order = [question.id for question in questionnaire().question]

    assert order.index("safe.upstream") < order.index("safe.dead") < order.index("gear.reached")


def test_scope_is_asked_first():
    assert questionnaire().section[0].id == "scope"
    assert questionnaire().question[0].id == "scope.fuel"


def test_the_call_asks_five_to_eight_questions_and_four_that_may_be_left_out():
    asked = [question for question in questionnaire().question if question.call]

    assert 5 <= sum(not question.optional for question in asked) <= 8
    assert sum(question.optional for question in asked) == 4


# ---------------------------------------------------------------------------------------- sessions


class Person:
    """A prompter that replies from a list, and remembers what it was asked and told."""

    def __init__(self, replies):
        self.replies = list(replies)
        self.asked = []
        self.told = []
        self.refused = []

    def ask(self, asked):
        self.asked.append(key_of(asked.item.question.id, asked.item.at))
        return self.replies.pop(0) if self.replies else Leave()

    def heard(self, _words):
        pass

    def refuse(self, _asked, message):
        self.refused.append(message)

    def tell(self, message):
        self.told.append(message)


class Knowing(Person):
    """A prompter that has values for some questions, by key, and passes over the others."""

    def __init__(self, values):
        super().__init__([])
        self.values = values

    def ask(self, asked):
        key = key_of(asked.item.question.id, asked.item.at)
        return Given(self.values[key]) if key in self.values else Pass()


@pytest.fixture
def job(tmp_path):
    return start(tmp_path / "job", Settings("job", "uk", "A4", "Europe/London"), by="A. Repairer")


def sit(job, replies, section="scope", **more):
    """Run one sitting over a section and return the person; replies come as a list, or values by key."""
    person = Knowing(replies) if isinstance(replies, dict) else Person(replies)
    with Journal(job.journal) as journal:
        Session(job, journal, person, by="A. Repairer", source="test", **more)._open_items(section)
    return person


def look(job, replies, section="safe", role="electrician"):
    """Run one sitting at the kiln: what is answered is seen there and then, after the water."""
    known = {"event.water_in": "2026-03-07 18:00", "event.water_out": "2026-03-07 20:00"}
    sit(job, {name: said for name, said in known.items() if answer(job, name) is None}, "event")
    return sit(job, replies, section, role=role, on_the_spot=True)


def answer(job, question, at="job"):
    return answers_of(open_job(job.folder)).answer(question, at)


ISOLATED = {
    "safe.upstream@kiln/1": "locked", "safe.isolation@kiln/1": "isolator", "safe.water_gone": "yes",
    "safe.hazards": ["none"], "safe.supply_reached@kiln/1": "dry", "safe.dead@kiln/1": "proven",
}  # fmt: skip


def test_every_answer_is_on_the_disk_before_the_next_question(job):
    seen = []

    class Watcher(Person):
        def ask(self, asked):
            seen.append(len(open_job(job.folder).events))
            return super().ask(asked)

    person = Watcher([Given("electric"), Given("1"), Given(["one_known"])])
    with Journal(job.journal) as journal:
        Session(job, journal, person, by="A", source="test")._open_items("scope")

    assert seen == [1, 2, 3, 4]


def test_the_journal_is_replayed_once_for_each_new_line(job, monkeypatch):
    """An answer waits for one replay, however often the session looks at what is known."""
    replays = []
    monkeypatch.setattr("recover.interview.scribe.answers_of", lambda *job: replays.append(job) or answers_of(*job))
    sit(job, [Given("electric"), Given("1"), Given(["one_known"]), Pass(), Leave()])

    assert len(replays) == len(open_job(job.folder).events) == 4


def test_unknown_not_inspected_and_not_applicable_stay_three_answers(job):
    sit(job, [NoValue("unknown"), NoValue("not_inspected", "locked room"), NoValue("not_applicable")])

    assert answer(job, "scope.fuel").state == "unknown"
    assert (answer(job, "scope.kilns").state, answer(job, "scope.kilns").reason) == ("not_inspected", "locked room")
    assert answer(job, "scope.supplies").state == "not_applicable"


def test_not_inspected_needs_a_reason(job):
    person = sit(job, [NoValue("not_inspected", " ")])

    assert person.refused == ["'not inspected' needs its reason: not inspected: too dark"]


def through(job, replies):
    """Run one sitting over everything and return the person."""
    person = Person(replies)
    with Journal(job.journal) as journal:
        Session(job, journal, person, by="A. Repairer", source="test").straight_through()
    return person


def test_a_gas_kiln_ends_the_interview_and_a_slip_of_a_key_does_not_end_the_job(job):
    person = through(job, [Given("gas"), Given("gas")])
    assert person.asked == ["scope.fuel", "scope.fuel"]  # asked once more, and then nothing
    assert any(line.startswith("Stop here.") for line in person.told)

    assert through(job, [Leave()]).asked == ["scope.fuel"]
    assert through(job, [Given("electric"), Given("1"), Leave()]).asked[:2] == ["scope.fuel", "scope.kilns"]


def test_back_asks_the_question_before_again_and_the_correction_is_a_new_line(job):
    other = start(job.folder.parent / "other", job.settings, by="A")
    person = sit(other, [Given("electric"), Back(), Given("electric"), Given("2")])
    assert person.asked[:4] == ["scope.fuel", "scope.kilns", "scope.fuel", "scope.kilns"]
    assert [event.data["question"] for event in open_job(other.folder).events[1:]] == [
        "scope.fuel",
        "scope.fuel",
        "scope.kilns",
    ]


def test_a_note_and_a_photograph_go_with_any_question(job, tmp_path):
    from PIL import Image

    Image.new("RGB", (40, 30), "white").save(tmp_path / "plate.png")
    sit(job, [AddNote("told by the caretaker"), AddPhotograph(str(tmp_path / "plate.png")), Given("electric")])
    answers = answers_of(open_job(job.folder))

    assert answers.noted("scope.fuel") == "told by the caretaker"
    assert [(photo.id, photo.question, photo.bound_by) for photo in answers.photographs] == [
        ("P01", "scope.fuel", "hand")
    ]
    assert (job.folder / answers.photographs[0].file).read_bytes() == (tmp_path / "plate.png").read_bytes()


@pytest.mark.parametrize("typed", ["~nosuchuser/x.jpg", "~", "no\0name.jpg", "x" * 5000])
def test_a_photograph_that_is_not_there_is_refused_and_the_question_asked_again(job, typed):
    person = sit(job, [AddPhotograph(typed), Given("electric")])

    assert person.refused
    assert answers_of(open_job(job.folder)).photographs == []


def test_a_name_that_begins_with_a_tilde_is_a_name(job, tmp_path, monkeypatch):
    from PIL import Image

    monkeypatch.chdir(tmp_path)
    Image.new("RGB", (40, 30), "white").save("~plate.png")
    sit(job, [AddPhotograph("~plate.png"), Given("electric")])

    assert len(answers_of(open_job(job.folder)).photographs) == 1


def test_a_section_behind_a_closed_hold_point_says_what_is_missing_before_a_hand_goes_in(job):
    person = sit(job, [], "gear")

    assert len(person.told) == 1
    assert "A hand inside: CLOSED. Missing:" in person.told[0]
    assert "proven dead at its own terminals" in person.told[0]
    assert "Answer only what was seen without opening or touching" in person.told[0]

    sit(job, {"scope.fuel": "electric", "scope.kilns": "1", "scope.supplies": ["one_known"]})
    assert look(job, ISOLATED).told == []
    (told,) = sit(job, [], "gear").told
    assert "“Hands off”, is not released" in told
    assert "proven dead" not in told


def test_passing_leaves_a_question_open_and_goes_on(job):
    person = sit(job, [Pass(), Given("1")])

    assert person.asked[:2] == ["scope.fuel", "scope.kilns"]
    assert answer(job, "scope.fuel") is None


def test_what_does_not_fit_is_said_while_the_repairer_is_there(job):
    person = sit(job, {"event.water_in": "2026-03-09 08:00", "event.water_out": "2026-03-07 18:00"}, "event")

    assert any("the water was out before it was in; correct the two dates" in told for told in person.told)


def test_a_file_of_wrong_answers_is_refused_with_every_fault_at_once(job):
    file = load_answers(BAD / "answers-wrong.toml")
    script = Script(file, "answers-wrong.toml", questionnaire())
    with Journal(job.journal) as journal:
        session = Session(job, journal, script, by="A", source="script")
        for instrument in file.instrument:
            session.register(instrument)
        session.scripted(script)
    script.finish()
    found = "\n".join(str(problem) for problem in script.problems)

    for message in (
        "[scope.colour]: there is no such question",
        "[scope.kilns]: 'one' is not a whole number",
        "[wire.insulation@kiln/1/wiring/control]: '0.4' has no unit; expected a number and a unit",
        "[wire.insulation@kiln/1/wiring/supply_cord]: '5 V': 'V' is not a unit of this question (MΩ)".replace(
            "'5 V': ", ""
        ),
        "[identity.kw@kiln/1]: 9\u202f000 kW cannot be right here; expected 0.3 kW to 400 kW",
        "[event.water_in]: '2026-03-09' has no clock time",
        "[identity.plate@kiln/1]: 'not inspected' needs its reason",
        "[scope.supplies]: 'one supply, its switch is known, nothing else' cannot stand beside another choice",
        "[gear.reached@kiln/7]: was not asked",
    ):
        assert message in found


def test_of_many_faults_of_a_file_twenty_are_shown_and_then_their_number(tmp_path):
    rows = "".join(f'[[answer]]\nquestion = "q"\ncolour{number} = 1\n' for number in range(30))
    (tmp_path / "a.toml").write_text(f'format = "recover-answers"\nversion = 1\nby = "A"\n{rows}')
    faults = load_answers(tmp_path / "a.toml").faults

    lines = listed(faults).splitlines()
    assert len(faults) == 30
    assert (len(lines), lines[-1]) == (21, "and 10 more")


def test_an_unknown_key_in_an_answer_is_named_and_hides_no_other_answer():
    file = load_answers(BAD / "answers-unknown-key.toml")

    assert [str(one).partition(";")[0] for one in file.faults] == [
        "answers-unknown-key.toml [scope.fuel] [colour]: the key 'colour' is not known"
    ]


def test_a_slip_in_one_answer_of_a_file_costs_that_answer_and_the_next_reading_of_it_no_line(job, tmp_path):
    head = 'format = "recover-answers"\nversion = 1\nby = "A"\nmeasured = "2026-03-10 09:00"\n'
    rows = ('[[answer]]\nquestion = "scope.fuel"\nvalue = "electric"\n',
            '[[answer]]\nquestion = "event.watr_out"\nvalue = "x"\n',
            '[[answer]]\nquestion = "scope.kilns"\nvlaue = "1"\n')  # fmt: skip
    (tmp_path / "a.toml").write_text(head + "".join(rows))
    told = []
    problems = sittings.by_file(job, load_answers(tmp_path / "a.toml"), "a.toml", "A", tell=told.append)

    said = " ".join(map(str, problems))
    assert "[scope.kilns] [vlaue]: the key 'vlaue' is not known" in said
    assert "is it event.water_out?" in said
    assert told[-1].startswith("Kept 1 of 3 answers. Correct")
    lines = len(open_job(job.folder).events)
    sittings.by_file(open_job(job.folder), load_answers(tmp_path / "a.toml"), "a.toml", "A", tell=told.append)
    assert len(open_job(job.folder).events) == lines
    assert "Kept 0 of 3 answers, 1 more was here before." in told[-1]


def test_an_answer_that_no_longer_applies_stays_in_the_journal_inactive(job):
    sit(job, ISOLATED, "safe")
    key, at = split_key("safe.upstream@kiln/1")
    with Journal(job.journal) as journal:
        session = Session(job, journal, Person([Given("no")]), by="A", source="test")
        session._ask_until_answered(Item(questionnaire().questions[key], at), [], [])
    answers = answers_of(open_job(job.folder))
    question = questionnaire().questions["safe.dead"]

    assert not answers.asked(question, "kiln/1")
    assert answers.look("safe.dead", "kiln/1") == frozenset()
    assert len(open_job(job.folder).events) >= 6


# ---------------------------------------------------------------------------------------- who, when, by which paper


LOCKED = "safe.upstream@kiln/1"


@pytest.fixture
def counted(job):
    """A job with one kiln of one known supply."""
    sit(job, {"scope.fuel": "electric", "scope.kilns": "1", "scope.supplies": ["one_known"]})
    return job


def told_of(job, key):
    return answers_of(open_job(job.folder)).given[key]


def test_what_is_answered_at_the_kiln_is_seen_now_by_whoever_answers(counted):
    look(counted, {LOCKED: "locked"}, role="repairer")
    told = told_of(counted, LOCKED)

    assert (told.who, told.role, told.by) == ("A. Repairer", "repairer", "A. Repairer")
    assert told.measured == told.moment


def test_when_and_by_hold_for_the_question_at_which_they_are_said_and_for_no_other(counted):
    replies = [Speaker("E. Lectrician"), When("2026-03-10 09:20"), Given("locked"), Given("isolator")]
    person = look(counted, [Pass(), Pass(), Pass(), *replies])
    first, second = told_of(counted, LOCKED), told_of(counted, "safe.isolation@kiln/1")

    assert person.asked[3:7] == [LOCKED] * 3 + ["safe.isolation@kiln/1"]
    assert (first.who, f"{first.measured:%Y-%m-%d %H:%M}") == ("E. Lectrician", "2026-03-10 09:20")
    assert (second.who, second.measured) == ("A. Repairer", second.moment)


def test_passing_or_going_back_takes_when_and_by_back(counted):
    words = [Speaker("E. Lectrician"), When("2026-03-10 09:20")]
    look(counted, [Given("yes"), *words, Back(), Given("no"), *words, Pass(), Given(["gloves"])])
    known = answers_of(open_job(counted.folder)).given

    assert known["safe.water_gone"].value == "no"
    assert {one.who for one in known.values()} == {"A. Repairer"}


def test_a_time_that_cannot_be_read_is_refused_and_the_question_stands(counted):
    person = look(counted, [When("yesterday"), Leave()])

    assert "yesterday" in person.refused[0]
    assert person.asked[0] == person.asked[1]


def test_what_somebody_says_in_a_role_that_may_not_is_kept_and_said_to_open_nothing(counted):
    person = look(counted, {LOCKED: "locked", "safe.dead@kiln/1": "proven"}, role="owner")

    assert person.told == [
        "Kept, and it opens nothing: A. Repairer said so as owner; expected competent person or registered electrician."
    ]
    assert told_of(counted, "safe.dead@kiln/1").value == "proven"


def test_the_worse_answer_opens_nothing_anyway_and_nothing_is_said_of_it(counted):
    assert look(counted, {LOCKED: "locked", "safe.dead@kiln/1": "no"}, role="owner").told == []


def test_a_documented_answer_without_its_paper_is_said_to_open_nothing(counted):
    replies = {"safe.asbestos@kiln/1": "papers"}
    (told,) = look(counted, replies).told

    assert told == "Kept, and it opens nothing: no paper or photograph is named that shows it."


def test_limits_on_use_that_say_nothing_are_said_at_once_to_open_nothing(counted):
    (told,) = sit(counted, {"handover.limits@kiln/1": "-"}, "handover", on_the_spot=True).told

    assert told.startswith("Kept, and it opens nothing: it says nothing; write it as a sentence")


def test_what_is_older_than_what_stands_is_kept_and_said_to_change_nothing(counted):
    look(counted, {LOCKED: "locked"})
    with Journal(counted.journal) as journal:
        person = Person([When("2026-03-10 09:20"), Given("off")])
        session = Session(counted, journal, person, by="A", source="test", role="electrician", on_the_spot=True)
        session._ask_until_answered(Item(questionnaire().questions["safe.upstream"], "kiln/1"), [], [])

    assert person.told[0].startswith("Kept, and it changes nothing: what was seen on ")
    assert told_of(counted, LOCKED).value == "locked"


def test_that_the_water_has_no_end_yet_is_said_once_a_sitting(counted):
    person = sit(counted, ISOLATED, "safe", role="electrician", on_the_spot=True)

    assert person.told == ["Kept. It opens nothing until it is known when the water was out (slate 21)."]


def test_a_reading_with_too_little_test_voltage_is_said_to_open_nothing(counted):
    """The wiring of a mains circuit is read with no less than 500 V: common practice."""
    meter = Instrument("I1", "insulation tester", "own make", "1", "2099-12-31")
    details = {"test_volts": "100", "air_c": "12", "humidity_percent": "60"}
    look(counted, {})
    with Journal(counted.journal) as journal:
        person = Person([Given("300 Mohm", meter, details)])
        session = Session(counted, journal, person, by="A", source="test", role="electrician", on_the_spot=True)
        session._ask_until_answered(Item(questionnaire().questions["wire.insulation"], "kiln/1/wiring/power"), [], [])

    assert person.told[0].startswith("Kept, and it opens nothing: ")
    assert "it was read at less than the test voltage of its circuit" in person.told[0]


def scripted(job, answers, **file):
    """Answer from a file and return what is said of it."""
    script = Script(AnswersFile("A", answer=answers, **file), "file", questionnaire())
    with Journal(job.journal) as journal:
        Session(job, journal, script, by="A", source="file", role=file.get("role", "")).scripted(script)
    return script.told


def test_of_a_file_the_sum_is_said_what_has_no_time_in_one_line(counted):
    answers = [Prepared(key, value) for key, value in ISOLATED.items()]
    told = scripted(counted, answers, role="electrician")

    assert told[0] == (
        '4 answers open nothing: no time is written for them; add measured = "…", when it was seen and measured.'
    )
    assert len(told) == 1


def test_a_note_stays_on_the_record_beside_the_answer_that_was_corrected(counted):
    """What was noted of the first answer is not of the second, and is not lost."""
    scripted(counted, [Prepared("event.water_in", "2026-03-07 18:00", note="the clock had stopped at six")])
    scripted(counted, [Prepared("event.water_in", "2026-03-07 17:00", note="the caretaker was there")])
    found = assess(open_job(counted.folder))
    (before,) = [row for row in _earlier(found) if row["slate"] == "20"]

    assert before["note"] == "the clock had stopped at six"
    assert found.answers.noted("event.water_in") == "the caretaker was there"


def test_two_dates_that_are_corrected_by_a_file_are_judged_together(counted):
    """Between the two corrections the water was out before it came in."""
    sit(counted, {"event.water_in": "2026-03-07 18:00", "event.water_out": "2026-03-07 20:00"}, "event")
    later = [Prepared("event.water_in", "2026-03-08 18:00"), Prepared("event.water_out", "2026-03-08 20:00")]
    wrong = [Prepared("event.water_in", "2026-03-08 19:00"), Prepared("event.water_out", "2026-03-08 18:00")]

    assert not [line for line in scripted(counted, later) if "before it was in" in line]
    assert [line for line in scripted(counted, wrong) if "before it was in" in line]


def test_of_a_file_that_is_read_in_later_the_sum_says_what_is_out_of_date(counted):
    sit(counted, {"event.water_in": "2026-03-07 18:00", "event.water_out": "2026-03-07 20:00"}, "event")
    answers = [Prepared(key, value) for key, value in ISOLATED.items()]
    told = scripted(counted, answers, role="electrician", measured="2026-03-10 09:00")

    assert told == [
        "3 answers open nothing: what was seen or measured holds for a time that is over; look or measure again"
        " (slate 8, 7, 16)."
    ]


# ---------------------------------------------------------------------------------------- every question


class Cut(Person):
    """A prompter that is interrupted at the first question."""

    def ask(self, asked):
        super().ask(asked)
        raise KeyboardInterrupt


class Once(Person):
    """A prompter that answers one question, so that much is asked afterwards, and leaves."""

    def ask(self, asked):
        question = asked.item.question
        super().ask(asked)
        if len(self.asked) > 1:
            return Leave()
        several = [choice.id for choice in question.choices if choice.id not in question.alone][:2]
        if question.kind in ("choice", "several"):
            return Given(several if question.kind == "several" else question.choices[0].id)
        return Given(str(int(question.at_least or 1))) if question.whole else NoValue("unknown")


def straight_through(job, person):
    with Journal(job.journal) as journal:
        Session(job, journal, person, by="A", source="test").straight_through()
    return person.asked


def test_an_interrupt_at_any_question_loses_nothing(job):
    """At each question of each section: interrupted, the journal is as it was, and the same question comes again."""
    seen = []
    while True:
        before, cut = job.journal.read_bytes(), Cut([])
        with contextlib.suppress(KeyboardInterrupt):
            straight_through(job, cut)
        assert job.journal.read_bytes() == before
        if not cut.asked:
            break
        assert straight_through(job, Once([]))[0] == cut.asked[0]
        assert job.journal.read_bytes().startswith(before)
        seen += cut.asked

    assert len(seen) == len(set(seen))
    assert {key.partition(".")[0] for key in seen} >= {"scope", "casing", "lining", "element", "gear", "handover"}


def test_back_leads_to_the_answered_question_before_a_gap_and_not_to_one_behind_it(job):
    sit(job, ISOLATED, "safe")
    person = sit(job, [Back()], "safe")

    assert person.asked == ["safe.ppe", "safe.hazards"]


@pytest.mark.parametrize("typed", ["yesterday 17:00", "new: O. Bricken", "when: 09:20", "2026-03-10 09:20", "by: A"])
def test_what_was_meant_for_another_question_is_no_paper(typed):
    with pytest.raises(AnswerError, match="names no paper; expected its name or number"):
        read_paper(typed)


@pytest.mark.parametrize(("typed", "paper"), [("certificate 12", "certificate 12"), ("12345", "12345"), ("None", "")])
def test_a_paper_is_its_name_or_number(typed, paper):
    assert read_paper(typed) == paper


def read_in(job, tmp_path, measured, *answers):
    """Read a file of answers in and return what it says does not fit."""
    rows = "".join(f"[[answer]]\n{one}\n" for one in answers)
    head = f'format = "recover-answers"\nversion = 1\nby = "A"\nmeasured = "{measured}"\n'
    (tmp_path / "a.toml").write_text(head + rows)
    return sittings.by_file(job, load_answers(tmp_path / "a.toml"), "a.toml", "A", tell=lambda _: None)


@pytest.mark.parametrize(
    ("measured", "says"),
    [
        ("2036-11-29 10:00", "2036-11-29 10:00 GMT has not come yet; it is"),
        ("9999-12-31 10:00", "has not come yet; it is"),
        ("0206-03-10 09:20", "cannot be right here; expected a day since"),
        ("2026-02-30 12:00", "'2026-02-30 12:00' is not a moment; expected a date and a clock time"),
        ("2026-03-10", "has no clock time"),
    ],
)
def test_an_answer_of_a_time_that_cannot_be_is_refused_whole_in_a_file_as_at_the_terminal(
    job, tmp_path, measured, says
):
    of_file = read_in(job, tmp_path, measured, 'question = "scope.fuel"\nvalue = "electric"')
    of_answer = read_in(
        job, tmp_path, "2026-03-10 09:00", f'question = "scope.fuel"\nvalue = "electric"\nmeasured = "{measured}"'
    )

    for (problem,) in (of_file, of_answer):
        assert (problem.where, says in problem.what) == ("a.toml [scope.fuel]", True)
    assert "scope.fuel" not in answers_of(open_job(job.folder)).given


def test_a_truth_value_is_no_number_in_a_file_of_answers(job, tmp_path):
    lines = ('question = "scope.fuel"\nvalue = "electric"', 'question = "scope.kilns"\nvalue = true')
    (problem,) = read_in(job, tmp_path, "2026-03-10 09:00", *lines)

    assert (problem.where, problem.what) == (
        "a.toml [scope.kilns]",
        "'True' is not a whole number; expected one in figures, as in '2'",
    )
    assert "scope.kilns" not in answers_of(open_job(job.folder)).given


@pytest.mark.parametrize("note", ["a\u202eb", "   "])
def test_an_answer_with_a_note_that_cannot_be_kept_is_refused_whole(job, tmp_path, note):
    """Else the sentence reads as if the answer were refused, and it is kept."""
    lines = len(job.events)
    (problem,) = read_in(
        job, tmp_path, "2026-03-10 09:00", f'question = "scope.fuel"\nvalue = "electric"\nnote = "{note}"'
    )

    assert problem.where == "a.toml [scope.fuel]"
    assert len(open_job(job.folder).events) == lines


def test_every_instrument_that_cannot_be_registered_is_named_with_the_file(job, tmp_path):
    sittings.by_file(job, AnswersFile("A", instrument=[Instrument("I1", "pyrometer")]), "b", "A", tell=lambda _: None)
    before = answers_of(open_job(job.folder)).history
    rows = "".join(f'[[instrument]]\nid = "{one}"\nwhat = "{what}"\n'
                   for one, what in (("I1", "insulation tester"), ("I2", ""), ("I3", "a\u202eb")))  # fmt: skip
    with pytest.raises(DataError) as refused:
        read_in(job, tmp_path, "2026-03-10 09:00", 'question = "scope.fuel"\nvalue = "gas"\n' + rows)

    said = [str(one) for one in refused.value.problems]
    assert [one.partition(":")[0] for one in said] == [f"a.toml [instrument I{number}]" for number in (1, 2, 3)]
    assert "is registered already as pyrometer" in said[0]
    assert answers_of(open_job(job.folder)).history == before


def test_a_file_of_before_takes_nothing_back_when_it_is_read_in_again(job, tmp_path):
    """What was not looked at in the morning was looked at in the afternoon."""
    morning = 'question = "scope.authority"\nstate = "not_inspected"\nreason = "too dark"'
    read_in(job, tmp_path, "2026-03-10 09:00", morning)
    read_in(job, tmp_path, "2026-03-10 15:00", 'question = "scope.authority"\nvalue = "A. Owner"')
    problems = read_in(open_job(job.folder), tmp_path, "2026-03-10 09:00", morning)

    assert answers_of(open_job(job.folder)).answer("scope.authority", "job").value == "A. Owner"
    assert "corrected it since" in str(problems[0])
    read_in(open_job(job.folder), tmp_path, "2026-03-10 10:00", morning)
    assert answers_of(open_job(job.folder)).answer("scope.authority", "job").value == "A. Owner"


def test_a_note_that_is_new_in_a_file_is_kept_and_one_that_is_there_is_not_written_twice(job, tmp_path):
    said = 'question = "scope.authority"\nvalue = "A. Owner"'
    for note in ("", '\nnote = "smell of gas"', '\nnote = "smell of gas"'):
        read_in(open_job(job.folder), tmp_path, "2026-03-10 09:00", said + note)

    kinds = [one.kind for one in open_job(job.folder).events]
    assert (kinds.count("answer"), kinds.count("note")) == (1, 1)
