"""What is answered anew: by its slate, out of what a hold point lacks; and what is said at once of it."""

import re
import shutil
from datetime import UTC, datetime, timedelta

import pytest

from recover.asked.compiled import questionnaire
from recover.asked.told import Instrument, split_key
from recover.base.errors import AnswerError
from recover.interview import meters
from recover.interview.engine import Interview
from recover.interview.missing import gaps, missing
from recover.interview.prompter import Back, Given, InRole, Leave, NoValue, Pass, ToSlate
from recover.interview.script import AnswersFile, Prepared
from recover.interview.session import Session
from recover.interview.sittings import by_file, call_is_open
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal, utc_now
from recover.judged.assessment import answers_of, assess
from recover.judged.failed import because_of, cards, cold_readings, fallen_from, said_of
from recover.judged.holds import hold_states
from recover.profiles import profile
from tests.conftest import answers_from, events_of, told_of
from tests.gates import answers_at
from tests.gates import said as said_then
from tests.school import school

NINE = datetime(2026, 3, 28, 9, tzinfo=UTC)
ZONE_READING = "zone.insulation@kiln/1/zone/1"
DEAD_SLATE = questionnaire().questions["safe.dead"].slate
COLD = {"test_volts": "500", "air_c": "12", "humidity_percent": "60", "lining_c": "12"}


class Person:
    """Answers by key or passes, goes where it is told to from the menu, and remembers what was asked and said."""

    def __init__(self, replies, goes=()):
        self.replies, self.goes = dict(replies), list(goes)
        self.asked, self.told, self.refused, self.offered, self.menus = [], [], [], [], []
        self.understood = []

    def ask(self, asked):
        key = f"{asked.item.question.id}@{asked.item.at}".removesuffix("@job")
        self.asked.append(asked.slate)
        self.offered.append(asked)
        reply = self.replies.get(key, Pass())
        if isinstance(reply, list):
            return reply.pop(0) if reply else Leave()
        return reply

    def heard(self, words):
        self.understood.append(words)

    def refuse(self, _asked, message):
        self.refused.append(message)

    def tell(self, message):
        self.told.append(message)

    def choose_section(self, _menu, gaps):
        self.menus.append(gaps)
        if not self.goes:
            return None
        to = self.goes.pop(0)
        return next(gap for gap in gaps if gap.hold.point.id == to) if isinstance(to, str) else to

    def choose_item(self, rows):
        self.rows = rows


def sit(folder, person, *, by="E. Lectrician", role="electrician", clock=utc_now):
    job = open_job(folder)
    with Journal(job.journal, clock) as journal:
        Session(job, journal, person, by=by, source="test", role=role, on_the_spot=True, clock=clock).run(person)
    return person


def now_known(folder, at=None):
    return answers_of(open_job(folder), questionnaire(), at or utc_now())


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """The school's job, released up to its own heat a minute ago."""
    folder = tmp_path_factory.mktemp("told") / "job"
    return school(folder)


@pytest.fixture
def released(told, tmp_path):
    return shutil.copytree(told, tmp_path / "job")


@pytest.fixture
def new(tmp_path):
    folder = tmp_path / "new"
    start(folder, Settings("new", "uk", "A4", "Europe/London"), by="A. Repairer")
    return folder


def test_an_answer_is_said_as_it_was_understood_in_words(new):
    slate = questionnaire().questions["scope.control"].slate
    person = sit(
        new,
        Person(
            {"scope.fuel": Given("electric"), "scope.control@kiln/1": NoValue("unknown")}, [ToSlate(1), ToSlate(slate)]
        ),
    )

    assert person.understood[:2] == ["electricity only", "unknown"]


# ---------------------------------------------------------------------------------------- what a hold point lacks


@pytest.mark.parametrize("days", [2, 10, 40, 120])
def test_every_slate_that_is_said_to_be_measured_again_is_walked(told, days):
    """The readings of a day are over after two, a week's after ten, and so on."""
    later = utc_now() + timedelta(days=days)
    answers = now_known(told, later)
    said = {hold.point.id: " ".join(hold.missing) for hold in hold_states(answers, "uk")}
    found = gaps(answers, "uk")

    assert found
    for gap in found:
        slates = set(re.findall(r"slate (\d+)", said[gap.hold.point.id]))
        assert slates <= {str(item.question.slate) for item in gap.items}


def test_two_days_later_energising_lacks_the_readings_of_the_day_and_nothing_that_keeps(told):
    answers = now_known(told, utc_now() + timedelta(days=2))
    energise = next(hold for hold in hold_states(answers, "uk") if hold.point.id == "energise")
    named = {item.question.id for item in missing(answers, profile("uk"), energise)}

    assert "zone.insulation" in named
    assert {questionnaire().questions[name].holds_for for name in named} <= {"day_hours"}


def test_walking_what_is_missing_asks_exactly_that_and_the_menu_counts_it(released):
    later = utc_now() + timedelta(days=2)
    expected = gaps(now_known(released, later), "uk")[0]
    interview = Interview(now_known(released, later))
    person = sit(released, Person({}, [expected.hold.point.id]), clock=lambda: later)

    assert person.asked == [interview.slate(item) for item in expected.items]
    assert all("too old" in one.so_far for one in person.offered)


def test_what_was_never_answered_is_missing_as_well(new):
    (gap,) = [one for one in gaps(now_known(new), "uk") if one.hold.point.id == "hazards"]
    assert {"safe.hazards"} <= {item.question.id for item in gap.items}


def test_a_reading_that_failed_is_what_is_missing(released):
    sit(released, Person({ZONE_READING: Given("0.4 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))
    (gap,) = [one for one in gaps(now_known(released), "uk") if one.hold.point.id == "energise"]

    assert ZONE_READING in {f"{item.question.id}@{item.at}" for item in gap.items}


def test_a_casing_that_was_too_hot_is_what_is_said_until_its_cause_is_mended_and_that_is_asked_first(released):
    """A cooler reading afterwards shows nothing: 120 degC is the limit, an own one."""
    meter = Instrument("I99", "infrared thermometer", "", "", "2099-12-31")
    for degc in (190, 60):
        sit(released, Person({"dried.hottest@kiln/1": Given(f"{degc} degC", meter)}, [ToSlate(187)]))
    own_heat = next(hold for hold in assess(open_job(released)).holds if hold.point.id == "own_heat")
    (gap,) = [one for one in gaps(now_known(released), "uk") if one.hold.point.id == "own_heat"]

    assert "a heating showed 190 °C, above 120 °C, the limit" in " ".join(own_heat.missing)
    assert [item.question.id for item in gap.items][:2] == ["dried.mended", "dried.hottest"]


def test_a_question_that_back_leaves_open_comes_again_in_what_is_missing(new):
    person = Person({"claim.insured": Given("yes"), "claim.consent": [Back(), Leave()]}, ["consent"])
    sit(new, person, by="A. Repairer", role="repairer")

    assert person.asked == ["49", "50", "49", "50"]


# ---------------------------------------------------------------------------------------- a slate number


def test_a_slate_number_leads_to_an_answered_question_from_the_menu(released):
    assert sit(released, Person({}, [ToSlate(159)])).asked == ["159"]


def test_one_of_several_components_must_be_said(released):
    person = sit(released, Person({}, [ToSlate(152), ToSlate(152, 2), ToSlate(9999)]))

    assert person.asked == ["152-2"]
    of_several, unknown = (line for line in person.told if line.startswith("slate "))
    assert "slate 152 is asked of" in of_several
    assert "152-2" in of_several
    assert "slate 9999 is not asked here" in unknown


def test_a_slate_number_at_a_question_leads_there_and_back(new):
    person = Person({"scope.kilns": [ToSlate(1), Leave()], "scope.fuel": [Pass(), Given("electric")]})
    with Journal(open_job(new).journal) as journal:
        Session(open_job(new), journal, person, by="A", source="test")._open_items("scope")
    assert person.asked == ["1", "2", "1", "2"]


def test_the_correction_list_has_slates_and_marks_what_is_too_old(released):
    later = utc_now() + timedelta(days=200)
    with Journal(open_job(released).journal) as journal:
        person = Person({})
        session = Session(
            open_job(released), journal, person, by="A", source="test", on_the_spot=True, clock=lambda: later
        )
        session._correction("measure", person)
    lines = [line for _, line in person.rows]

    assert all(line.startswith("slate ") for line in lines)
    assert any(line.startswith("slate 154 · ") and line.endswith(", too old") for line in lines)


# ---------------------------------------------------------------------------------------- said at once


def test_what_ends_a_signature_says_so_at_once(released):
    person = sit(released, Person({ZONE_READING: Given("300 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))

    ended = next(line for line in person.told if line.startswith("That ends “Energising”, signed by E. Lectrician"))
    assert ": slate 154 was answered anew: 300 MΩ (journal line " in ended
    assert any("First heating" in line and "A. Tendant" in line for line in person.told)


def test_what_ends_no_signature_says_nothing_of_one(released):
    person = sit(released, Person({"claim.reference": Given("12")}, [ToSlate(99999)]))
    assert not any("That ends" in line for line in person.told)


def test_a_file_says_once_what_it_ended(released):
    answers = [Prepared(ZONE_READING, "300 Mohm", instrument="I7", details=COLD)]
    lines = []
    by_file(
        open_job(released), AnswersFile("E. Lectrician", "electrician", answer=answers), "f", "E", tell=lines.append
    )

    assert sum("That ends “Energising”" in line for line in lines) == 1


def test_what_a_released_hold_point_lacks_by_a_new_reading_is_said_with_the_limit_that_it_misses(released):
    person = sit(released, Person({ZONE_READING: Given("0.2 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))
    ended = next(line for line in person.told if line.startswith("That ends “Energising”"))

    assert "It lacks now: insulation resistance of the elements at the entry" in ended
    assert "(0.2 MΩ: below 1 MΩ, the entry" in ended


def test_a_file_says_of_a_reading_that_fails_what_the_interview_says(released):
    answers = [Prepared(ZONE_READING, "0.2 Mohm", instrument="I7", details=COLD)]
    lines = []
    by_file(
        open_job(released), AnswersFile("E. Lectrician", "electrician", answer=answers), "f", "E", tell=lines.append
    )

    (failed,) = (line for line in lines if "0.2 MΩ: below 1 MΩ, the entry" in line and not line.startswith("That ends"))
    assert failed.startswith("slate 154, Zone 1: 0.2 MΩ")


def test_a_reading_at_the_entry_that_has_fallen_says_from_what(released):
    """More than 30 per cent below a reading of the day: own limit."""
    person = sit(released, Person({ZONE_READING: Given("35 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))
    assert not any("fallen" in line for line in person.told)

    person = sit(released, Person({ZONE_READING: Given("1.4 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))
    (fallen,) = (line for line in person.told if line.startswith("1.4 MΩ: fallen from 35 MΩ at "))
    assert "An entry is not taken on the way down." in fallen
    energise = next(hold for hold in assess(open_job(released)).holds if hold.point.id == "energise")
    assert "(1.4 MΩ: fallen from 35 MΩ at " in " ".join(energise.missing)


def test_a_reading_that_fails_is_named_with_its_limit_and_what_comes_next(released):
    """1 megohm is the entry: own limit."""
    person = sit(released, Person({ZONE_READING: Given("0.4 Mohm", "I7", COLD)}, [ToSlate(154, 1)]))

    (failed,) = (line for line in person.told if line.startswith("0.4 MΩ: "))
    assert failed.startswith("0.4 MΩ: below 1 MΩ, the entry. Dry from outside, read again.")
    assert "fallen from 1.4 MΩ at " in failed


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("zone.insulation@kiln/1/zone/1", 0.05, "0.05 MΩ: below 0.1 MΩ, the floor"),
        ("wire.insulation@kiln/1/wiring/power", 0.2, "below 1 MΩ, the limit"),
        ("earth.ohm@kiln/1/bond/shell", 5.0, "5 Ω: above "),
        ("energise.leakage@kiln/1", 90.0, "90 mA: above "),
        ("energise.rcd_ma@kiln/1", 300.0, "300 mA: above 30 mA"),
        ("energise.rcd_ms@kiln/1", 900.0, "900 ms: above 300 ms"),
        ("zone.ohm@kiln/1/zone/1", 4.0, "4 Ω: not what papers or plate call for"),
        ("dried.hottest@kiln/1", 190.0, "a heating showed 190 °C, above 120 °C, the limit"),
        ("dried.insulation@kiln/1/zone/1", 0.3, "0.3 MΩ after a heating, below 1 MΩ, the entry"),
        ("dried.amps@kiln/1", 30.0, "a heating drew 30 A, more than the plate allows"),
    ],
)
def test_each_reading_that_keeps_a_gate_closed_is_named(key, value, said):
    """Limits of the United Kingdom, and own ones."""
    given = {
        "scope.fuel": "electric", "scope.kilns": 1, "scope.zones@kiln/1": 1, "wire.list@kiln/1": {"power"},
        "earth.points@kiln/1": {"shell"}, "energise.rcd@kiln/1": "yes",
        "energise.rcd_ma@kiln/1": 30, "wire.joined@kiln/1/wiring/power": "wiring_alone", "identity.kw@kiln/1": 3.6,
        "identity.volts@kiln/1": 230, "identity.phases@kiln/1": "single", "identity.amps@kiln/1": 16,
        "element.alloy@kiln/1": "fecral", "element.connection@kiln/1": "single",
    }  # fmt: skip
    known = {name: one for name, one in given.items() if split_key(name)[0] in questionnaire().questions}
    answers = answers_from({**known, key: value})

    assert said in said_of(answers, answers.given[key])


@pytest.mark.parametrize(
    ("megohm", "said"),
    [(0.05, "0.05 MΩ: below 0.1 MΩ, the floor. The lining is soaked"), (0.4, "0.4 MΩ: below 1 MΩ, the entry. Dry"),
     (None, ""), (4.2, "")],
)  # fmt: skip
def test_of_the_limits_that_a_reading_misses_the_lowest_is_said_and_none_of_what_was_not_read(megohm, said):
    answers = read_at((0, megohm))
    found = said_of(answers, answers.given[ZONE_READING])

    assert found.startswith(said)
    assert found.count("MΩ, the") == bool(said)
    assert bool(found) is bool(said)


@pytest.mark.parametrize(("country", "said"), [("eu", "90 mA: above 3.5 mA"), ("uk", "90 mA: above 5 mA")])
def test_of_a_limit_that_hangs_on_a_power_which_nobody_knows_the_least_is_said(country, said):
    """3.5 mA, more with the power (EN 60335-1, from memory), never more than our own 5 mA."""
    key = "energise.leakage@kiln/1"
    answers = answers_from({"scope.fuel": "electric", "scope.kilns": 1, key: 90.0}, profile=country)

    assert said_of(answers, answers.given[key]).startswith(said)


def read_at(*told):
    """Return answers after readings of the only zone, each hours after nine in the morning of its visit and Mohm.

    None stands for unknown. Of one hour the later is written later.
    """
    events = tuple(events_of({"scope.fuel": "electric", "scope.kilns": 1, "scope.zones@kiln/1": 1}))
    for number, (hours, megohm) in enumerate(told):
        seen, state = NINE + timedelta(hours=hours), "unknown" if megohm is None else "given"
        how = told_of(questionnaire().questions["zone.insulation"], megohm) if megohm is not None else {}
        events = said_then(events, ZONE_READING, seen + timedelta(seconds=number),
                           **{**how, "state": state, "value": megohm, "measured": seen.isoformat()})  # fmt: skip
    return answers_at(events, NINE + timedelta(hours=30))


@pytest.mark.parametrize(
    ("told", "highest"),
    [
        (((0, 8), (2, 1.1)), 8), (((0, 8), (1, 6), (2, 1.1)), 8), (((0, 1.5), (2, 1.1)), None), (((2, 1.1),), None),
        (((0, 8), (24, 1.1)), 8), (((0, 8), (25, 1.1)), None), (((0, 1.2), (2, 8)), None),
        (((0, 8), (2, 1.1), (2, 7.9)), 8), (((0, 8), (2, 7.9), (2, 1.1)), 8), (((0, 8), (2, None)), None),
        (((0, 8), (2, 1.1), (1, 9)), 9), ((), None),
    ],
)  # fmt: skip
def test_the_last_reading_of_a_zone_has_fallen_from_the_highest_of_the_day_before_it(told, highest):
    """By more than 30 per cent (own limit), a day to the minute; of two of the last minute the lower counts."""
    found = fallen_from(read_at(*told), "kiln/1/zone/1")

    assert (found.value if found else None) == highest


def test_a_fall_is_said_of_the_reading_that_fell_and_until_when_the_higher_one_counts():
    """A day, also over the night in which the clocks go forward: nine in the morning is ten."""
    answers = read_at((0, 8), (2, 1.1))
    said = said_of(answers, answers.given[ZONE_READING])

    assert said.startswith("1.1 MΩ: fallen from 8 MΩ at 2026-03-28 09:00 GMT, which counts until 2026-03-29 10:00 BST.")
    low = read_at((0, 8), (2, 0.4))
    assert because_of(low, low.given[ZONE_READING]).startswith("below 1 MΩ, the entry, fallen from 8 MΩ at ")
    assert because_of(low, low.given["scope.zones@kiln/1"]) == ""


def test_a_reading_whose_meter_was_out_of_date_has_not_fallen_and_none_has_fallen_from_it():
    answers = read_at((0, 8), (2, 1.1))
    (first, last) = cold_readings(answers, "kiln/1/zone/1")

    assert (first.value, last.value) == (8, 1.1)
    events = tuple(one for one in events_of({"scope.kilns": 1}) if one.kind != "instrument")
    for hours, megohm in ((0, 8), (2, 1.1)):
        seen = NINE + timedelta(hours=hours)
        how = told_of(questionnaire().questions["zone.insulation"], megohm)
        events = said_then(events, ZONE_READING, seen, **{**how, "value": megohm, "measured": seen.isoformat()})
    assert cold_readings(answers_at(events, NINE + timedelta(hours=3)), "kiln/1/zone/1") == []


def test_every_card_names_a_question_and_a_limit_that_exist():
    answers = answers_from({})
    for card in cards():
        assert card.question in questionnaire().questions
        if card.limit:
            assert card.limit.removeprefix("@") in (answers.limits if card.limit[0] == "@" else questionnaire().facts)
        assert bool(card.limit) == ("{limit}" in card.because)
        assert bool(card.shown) == ("{shown}" in card.because)
        assert card.fall == ("{before}" in card.because)
        assert not card.shown or card.shown in questionnaire().facts
        assert card.do


# ---------------------------------------------------------------------------------------- instruments


def test_every_kind_that_a_question_names_can_be_chosen():
    kinds = {one.kind for one in meters.kinds()}
    assert {kind for question in questionnaire().question for kind in question.instruments} <= kinds


def test_no_word_of_the_trade_stands_for_two_kinds():
    words = [word.lower() for one in meters.kinds() for word in (one.kind, *one.also)]
    assert sorted(words) == sorted(set(words))


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("MFT", "multifunction tester"), ("insulation resistance tester", "insulation tester"), ("dmm", "multimeter"),
        ("Voltmeter", "voltmeter"), ("clamp meter", "clamp meter"),
        ("low-ohm meter, four-wire", "low-ohm meter, four-wire"),
        ("pen tester", ""),
    ],
)  # fmt: skip
def test_the_words_of_the_trade_lead_to_their_kind(typed, kind):
    assert meters.kind_of(typed) == kind


def test_a_voltmeter_reads_the_supply_and_a_clamp_reads_no_leakage():
    volts, leakage = (questionnaire().questions[name] for name in ("supply.volts", "energise.leakage"))

    assert volts.read_with("voltmeter")
    assert not leakage.read_with("clamp meter")


@pytest.mark.parametrize("known", [[], ["I1"], ["I2"], ["I1", "I2", "I3", "I5", "I7"], ["I2", "I3"], ["meter"]])
def test_a_new_instrument_gets_a_number_that_is_free(known):
    number = meters.free_number([Instrument(name, "multimeter") for name in known])

    assert re.fullmatch(r"I\d+", number)
    assert number not in known


@pytest.mark.parametrize(
    ("typed", "read"), [("2026-12-01", "2026-12-01"), ("1.12.2026", "2026-12-01"), ("?", "not known")]
)
def test_the_date_of_calibration_is_a_date_or_not_known(typed, read):
    assert meters.read_calibrated(typed) == read
    with pytest.raises(AnswerError, match="is not a date; expected one as '2026-12-01', or 'not known'"):
        meters.read_calibrated("next winter")


# ---------------------------------------------------------------------------------------- the sitting


def test_a_reading_is_offered_what_the_one_before_it_in_this_sitting_was_taken_with(released):
    first, second = "zone.insulation@kiln/1/zone/1", "zone.insulation@kiln/1/zone/2"
    wanted = [ToSlate(154, 1), ToSlate(154, 2)]
    if second not in now_known(released).given:
        wanted[1] = ToSlate(154, 1)
    person = sit(released, Person({first: Given("300 Mohm", "I7", COLD)}, wanted))

    assert person.offered[0].reading_before is None
    assert person.offered[1].reading_before.instrument == "I7"
    assert float(person.offered[1].reading_before.details["test_volts"]) == 500


def test_a_reading_with_other_details_or_for_another_meter_is_not_offered_them(released):
    person = sit(released, Person({ZONE_READING: Given("300 Mohm", "I7", COLD)}, [ToSlate(154, 1), ToSlate(148, 1)]))
    assert person.offered[1].reading_before is None


def test_the_role_of_before_is_remembered_and_another_one_is_remarked(released):
    again = sit(released, Person({}), role="")
    other = sit(released, Person({}), role="owner")

    assert again.told == ["E. Lectrician, registered electrician, as before in this job; --as ROLE changes it."]
    assert other.told == ["E. Lectrician spoke as registered electrician before; from here on as owner."]


def test_a_corrected_role_is_offered_before_the_slip_and_the_slip_last(new):
    kilns = [ToSlate(questionnaire().questions["scope.kilns"].slate)]
    slip = Person({"scope.kilns": [InRole("owner"), Given("1")]}, kilns)
    sit(new, slip, by="K. Brandt", role="")
    right = Person({"scope.kilns": [InRole("repairer"), Given("1")]}, kilns)
    sit(new, right, by="K. Brandt", role="owner")
    other = sit(new, Person({}, kilns), by="E. Petersen", role="electrician")

    assert "K. Brandt speaks as kiln repairer from here on; as: ROLE changes it." in right.told
    assert [(one.who, one.role) for one in other.offered[0].speakers] == [
        ("E. Petersen", "electrician"), ("K. Brandt", "repairer"), ("K. Brandt", "owner"),
    ]  # fmt: skip


def test_back_from_the_first_question_in_a_role_leads_to_the_role_again(released):
    replies = [InRole("owner"), Back(), InRole("electrician"), Given("proven")]
    person = sit(released, Person({"safe.dead@kiln/1": replies}, [ToSlate(DEAD_SLATE)]), by="N. Ew", role="")

    assert [one.speaker.role for one in person.offered[:4]] == ["", "owner", "", "electrician"]
    assert len(set(person.asked[:4])) == 1


def test_a_known_person_in_another_role_is_remarked_once_in_a_file(released):
    lines = []
    file = AnswersFile("E. Lectrician", "owner", answer=[Prepared("scope.kilns", "1")])
    by_file(open_job(released), file, "f", "E. Lectrician", tell=lines.append)
    by_file(open_job(released), file, "f", "E. Lectrician", tell=lines.append)

    spoke = [line for line in lines if "spoke as registered electrician before, and now as owner" in line]
    assert spoke == ["E. Lectrician spoke as registered electrician before, and now as owner: a slip is answered anew."]


def test_a_call_that_was_broken_off_is_open_until_its_sheets_are_written(new):
    assert call_is_open(open_job(new))


def test_a_file_with_faults_says_how_many_answers_were_kept(new):
    lines = []
    answers = [Prepared("scope.fuel", "electric"), Prepared("scope.kilns", "many")]
    problems = by_file(open_job(new), AnswersFile("A", answer=answers), "f", "A", tell=lines.append)

    assert len(problems) == 1
    assert lines[-1].startswith("Kept 1 of 2 answers.")
