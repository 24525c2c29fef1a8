"""What an answer stands for: itself; itself and all that is worse, where it was not taken as it must be."""

from datetime import UTC, datetime

import pytest

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.job.journal import Event
from recover.judged.admissible import unlisted
from recover.profiles import limits, profile
from tests.conftest import SEEN, answers_from, events_of
from tests.conftest import ZONE as LONDON
from tests.gates import answers_at, said

K1, ZONE = "kiln/1", "kiln/1/zone/1"
WATER = {"scope.kilns": 1, "event.water_in": "2026-03-07T08:00:00+00:00"}
EARLY = {"measured": "2026-03-01T09:00:00+00:00"}


def look(key, value, told=None, more=None, now=None):
    question, _, at = key.partition("@")
    given = {**WATER, **(more or {}), key: value}
    return answers_from(given, told={key: told or {}}, **({"now": now} if now else {})).look(question, at or "job")


@pytest.mark.parametrize(
    ("told", "may_be"),
    [({}, {"light"}), (EARLY, {"light", "flaking", "deep", "through"})],
)
def test_a_look_from_before_the_water_stands_for_itself_and_all_that_is_worse(told, may_be):
    found = look(f"casing.rust@{K1}/casing/shell", "light", told, {f"casing.parts@{K1}": ["shell"]})

    assert found == may_be


def test_a_choice_of_kind_from_before_the_water_stands_for_itself():
    """What a kiln is made of the water does not change."""
    assert look(f"scope.connection@{K1}", "plug", EARLY) == {"plug"}


@pytest.mark.parametrize(
    ("day", "may_be"),
    [("2031-12-31", {5.0}), ("2032-01-01", {5.0, 0})],
)  # fmt: skip
def test_an_instrument_counts_by_the_day_on_which_it_was_read_not_written_down(day, may_be):
    """The meter of these tests is calibrated until the last day of 2031; both lines were written in February 2032."""
    key = f"zone.insulation@{ZONE}"
    told = {"measured": f"{day}T09:00:00+00:00", "written": "2032-02-01T09:00:00+00:00"}

    assert look(key, 5.0, told, {f"scope.zones@{K1}": 1}, datetime(2032, 2, 1, 12, tzinfo=UTC)) == may_be


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [(f"element.ohm@{K1}/element/1", 13.354, "13.35 Ω"), (f"identity.kw@{K1}", 13.354, "13.4 kW"),
     (f"scope.zones@{K1}", 3, "3"), (f"zone.insulation@{ZONE}", 4.2, "4.2 MΩ"),
     ("safe.hazards", ["sewage", "mould"], "sewage; mould, or a musty smell")],
)  # fmt: skip
def test_a_reading_keeps_four_figures_a_number_three_and_several_choices_are_all_named(key, value, words):
    answers = answers_from({**WATER, key: value})

    assert answers.in_words(answers.given[key]).replace("\u202f", " ") == words


def test_a_reading_beyond_the_range_says_that_it_is_at_least_that():
    key = f"zone.insulation@{ZONE}"
    answers = answers_from({**WATER, key: 200}, told={key: {"at_least": True, "value": 200}})

    assert answers.in_words(answers.given[key]).startswith("at least 200")


@pytest.mark.parametrize(("minutes", "counts"), [(9, True), (10, True), (11, False)])
def test_a_date_of_the_water_that_is_to_come_beyond_what_clocks_differ_is_a_slip(minutes, counts):
    """Ten minutes are this project's own; the lines were written at nine."""
    answers = answers_from({"event.water_in": f"2026-03-10T09:{minutes:02d}:00+00:00"})

    assert (answers.latest("event.water_in") is not None) is counts


def test_every_reading_that_a_gate_rests_on_has_a_duty_and_no_other_reading():
    for question in questionnaire().question:
        if question.kind == "reading":
            assert bool(question.duty) == bool(question.holds_for or question.attested), question.id


@pytest.mark.parametrize(
    ("height", "may_be"), [(300, {"ends"}), (900, {"dry"}), (None, {"dry", "damp", "length", "ends"})]
)
def test_a_probe_whose_height_nobody_knows_may_have_stood_in_the_water_with_its_cable(height, may_be):
    given = {
        **WATER, f"scope.probes@{K1}": 1, f"event.reach@{K1}": "base", f"event.water_line@{K1}": 500,
        f"probe.cable_reached@{K1}/probe/1": "dry", f"gear.reached@{K1}": "dry", f"identity.box_bottom@{K1}": 1000,
        f"event.above@{K1}": ["none"], f"identity.probe_height@{K1}": height,
    }  # fmt: skip

    assert answers_from(given).look("cable_reached", f"{K1}/probe/1") == may_be


# ---------------------------------------------------------------------------------------- told one after the other

NINE, TEN, ELEVEN = SEEN, "2026-03-10T10:00:00+00:00", "2026-03-10T11:00:00+00:00"
NOBODY_KNOWS = {"state": "unknown", "value": None}


def told(known, *more):
    """Return what is known after further answers, each a key, when it was seen and what is said then."""
    events = tuple(events_of({**WATER, **known}))
    written = datetime.fromisoformat(NINE)
    for key, seen, change in more:
        written = max(written, datetime.fromisoformat(seen))  # no line is written before the last one
        events = said(events, key, written, measured=seen, **change)
    return answers_at(events, datetime(2026, 3, 10, 12, tzinfo=UTC))


def test_what_was_said_of_a_zone_that_is_not_listed_stays_where_nobody_knows_how_many_there_are():
    second = "zone.insulation@kiln/1/zone/2"
    zones = {f"scope.zones@{K1}": 2, f"zone.insulation@{ZONE}": 4.2, second: 4.2}
    shorter = (f"scope.zones@{K1}", TEN, {"value": 1})
    open_again = (f"scope.zones@{K1}", ELEVEN, NOBODY_KNOWS)
    elsewhere = ("event.salt", ELEVEN, NOBODY_KNOWS)

    def strays(*more, **known):
        return [f"{one.question}@{one.at}" for one in told({**zones, "event.salt": "fresh"}, *more).strays()]

    assert strays() == []
    assert strays(shorter) == [second]
    assert strays(shorter, open_again) == [second]
    assert strays(shorter, elsewhere) == [second]  # and once


ONE, OTHER = {"who": "E. Lectrician", "role": "electrician"}, {"who": "O. Wner", "role": "owner"}
NOBODY = {"who": "", "role": ""}
GONE = ("feed.dead@feed/solar", {"state": "not_applicable", "value": None, "reason": "there is none"})


@pytest.mark.parametrize(
    ("named_by", "shortened_by", "then", "speaks"),
    [
        ([OTHER], OTHER, None, False), ([OTHER], {**OTHER, "who": "A. Second"}, None, True),
        ([OTHER], ONE, None, False), ([OTHER], {**ONE, "who": ""}, None, True),
        ([NOBODY], NOBODY, None, False), ([OTHER], NOBODY, None, True),
        ([NOBODY], OTHER, None, True), ([ONE, OTHER], OTHER, None, True),
        ([ONE], OTHER, (*GONE, ONE), False), ([ONE], OTHER, (*GONE, {**ONE, "reason": ""}), True),
        ([ONE], OTHER, (*GONE, OTHER), True), ([ONE], OTHER, ("feed.dead@feed/shared", GONE[1], ONE), True),
        ([ONE], OTHER, (GONE[0], {"state": "not_inspected", "value": None, "reason": "behind a wall"}, ONE), True),
    ],
)  # fmt: skip
def test_a_member_that_is_named_no_more_speaks_until_all_who_named_it_or_an_electrician_strike_it(
    named_by, shortened_by, then, speaks
):
    """Own limit. Where nobody put a name to a list it is theirs who wrote it down: here always the same."""
    listed = [("scope.supplies", TEN, {"value": ["solar", "shared"], **by}) for by in named_by]
    told_then = [(then[0], ELEVEN, {**then[1], **then[2]})] if then else []
    known = told({}, *listed, ("scope.supplies", TEN, {"value": ["shared"], **shortened_by}), *told_then)

    assert ([stray.at for stray in unlisted(known, profile("uk"))] == ["feed/solar"]) is speaks


def test_what_another_program_asked_of_what_is_not_there_still_speaks():
    """Nobody knows who may say that it never was."""
    asked = ("older.question@kiln/2", TEN, {"state": "given", "value": "on", **ONE})
    denied = ("older.question@kiln/2", ELEVEN, {**GONE[1], **ONE})

    assert [stray.at for stray in unlisted(told({}, asked), profile("uk"))] == ["kiln/2"]
    assert unlisted(told({}, asked, denied), profile("uk"))


def test_of_how_a_reading_was_taken_the_last_word_before_it_counts_and_every_worse_one_after():
    way = f"zone.joined@{ZONE}"
    known = {f"scope.zones@{K1}": 1, way: "reduced", f"zone.insulation@{ZONE}": 4.2}
    put_right = (way, TEN, {"value": "full"})
    read_again = (f"zone.insulation@{ZONE}", ELEVEN, {"value": 4.3})

    assert told(known, put_right).fact("joined", ZONE) == {"reduced"}
    assert told(known, put_right, read_again).fact("joined", ZONE) == {"full"}
    assert told({**known, way: "full"}, (way, TEN, {"value": "other"})).fact("joined", ZONE) == {"other"}


@pytest.mark.parametrize(("minute", "way"), [(10, "full"), (11, "reduced")])
def test_what_is_told_within_what_clocks_differ_is_told_with_the_reading(minute, way):
    """Ten minutes are this project's own; of two words of one minute the last counts."""
    key, then = f"zone.joined@{ZONE}", f"2026-03-10T09:{minute}:00+00:00"
    known = told({f"scope.zones@{K1}": 1, key: "full", f"zone.insulation@{ZONE}": 4.2},
                 (key, then, {"value": "reduced"}), (key, then, {"value": "full"}))  # fmt: skip

    assert known.fact("joined", ZONE) == {way}


def test_where_nobody_counted_the_zones_there_are_as_many_as_anything_was_said_of_and_more():
    known = answers_from({**WATER, "zone.insulation@kiln/1/zone/3": 4.2})

    assert known.components("zone", of=K1) == [f"{K1}/zone/{name}" for name in ("1", "2", "3", "unlisted")]
    assert known.components("kiln") == [K1]


@pytest.mark.parametrize(
    ("notes", "earlier", "stands"),
    [((2,), "two", "none"), ((3,), "none", "three"), ((2, 3), "two", "three"), ((5,), "none", "five"),
     ((5, 6), "none", "five / six"), ((), "none", "none")],
)  # fmt: skip
def test_a_note_belongs_to_the_answer_it_follows_else_to_the_one_after_it(notes, earlier, stands):
    """Answers on the first and the fourth line, notes between them and after."""
    salt, words = "event.salt", {2: "two", 3: "three", 5: "five", 6: "six"}
    rows = {1: ("answer", "fresh"), 4: ("answer", "sea"), **{line: ("note", words[line]) for line in notes}}
    events = tuple(
        Event(line, NINE, "A. Repairer", "test", kind, {"question": salt, **(
            {"text": what} if kind == "note" else {"state": "given", "value": what, "measured": NINE})}, "")
        for line, (kind, what) in sorted(rows.items())
    )  # fmt: skip
    known = answers_at(events)

    assert (known.noted(salt, known.history[salt][0]) or "none") == earlier
    assert (known.noted(salt) or "none") == stands


@pytest.mark.parametrize(
    ("green", "fluxes", "may_be"),
    [("submerged", "dry", {"no"}), ("dry", "splashed", {"yes"}), ("dry", None, {"no", "yes"}), (None, "dry", {"no"})],
)
def test_of_what_lies_in_a_kiln_the_worst_counts(green, fluxes, may_be):
    """Borax, soda and salt dissolve; unfired ware that lies beside them takes nothing of that away."""
    reached = {f"contents.reached@{K1}/contents/green": green, f"contents.reached@{K1}/contents/fluxes": fluxes}
    known = {**WATER, f"contents.kinds@{K1}": ["green", "fluxes"], f"contents.on_lining@{K1}": "no", **reached}

    assert answers_from(known).fact("fluxes_dissolved", K1) == may_be


@pytest.mark.parametrize(("later", "earlier"), [("dry", "submerged"), ("submerged", "dry")])
def test_of_what_happened_the_worse_look_counts_though_it_is_told_after_a_later_one(later, earlier):
    box = f"gear.reached@{K1}"
    known = told({}, (box, TEN, {"value": later}), (box, NINE, {"value": earlier}))

    assert known.given[box].value == "submerged"


def test_what_was_known_at_an_answer_is_what_stood_before_it_and_was_written_by_then():
    known = told({}, ("event.salt", NINE, {"value": "fresh"}), (f"event.silt@{K1}", ELEVEN, {"value": "none"}),
                 (f"event.mould@{K1}", TEN, {"value": "none"}), (f"event.inside@{K1}", TEN, {"value": 0}))  # fmt: skip
    then = known.before(known.given[f"event.mould@{K1}"])

    assert {"scope.kilns", "event.salt"} <= set(then.given)
    assert not {f"event.{name}@{K1}" for name in ("silt", "mould", "inside")} & set(then.given)


def test_where_nothing_is_written_and_nobody_says_what_time_it_is_nothing_is_still_to_come():
    """The first day of the year 9000 stands for a time that never comes."""
    nothing = Answers(questionnaire(), limits("uk"), LONDON)

    assert nothing.now == datetime(9000, 1, 1, tzinfo=LONDON)
