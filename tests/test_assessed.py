"""What an assessment tells beside its outcomes: whose finding it is, what is open and why, what cannot be."""

from dataclasses import replace

import pytest

from recover.asked.compiled import questionnaire
from recover.judged.assessment import closed_before
from recover.report.plain import text_lines
from recover.rules.table import table
from tests.conftest import NOW, answers_from, assessed, events_of
from tests.gates import assessed_at, said

pytestmark = pytest.mark.quick

K1, K2 = "kiln/1", "kiln/2"
ONE = {"scope.kilns": 1}
SECTIONS = {section.id: section for section in questionnaire().section}


def labels(found, name):
    return [finding.label for finding in found.findings if finding.table.id == name]


def test_a_table_that_speaks_of_a_kiln_as_a_whole_speaks_of_its_own_matter_in_it():
    title = table("supply").title

    assert labels(assessed(ONE), "supply") == [title]
    assert labels(assessed({"scope.kilns": 2}), "supply") == [f"Kiln {kiln}, {title.lower()}" for kiln in (1, 2)]
    assert labels(assessed({**ONE, f"lining.parts@{K1}": ["wall"]}), "slab")[:1] == ["wall"]
    assert [call.label for call in assessed({"scope.kilns": 2}).calls] == ["Kiln 1", "Kiln 2"]


def test_a_kiln_that_nobody_counted_has_hold_points_and_no_findings():
    found = assessed({"scope.kilns": None})

    assert any(hold.at == "kiln/unlisted" for hold in found.holds)
    assert {finding.at.split("/")[1] for finding in found.findings if finding.at.startswith("kiln/")} == {"1"}


@pytest.mark.parametrize(("supplies", "asked"), [(["one_known"], False), (["solar"], True), (None, True)])
def test_the_electrician_is_asked_for_back_feeds_where_there_may_be_one(supplies, asked):
    lines = {line.id for line in assessed({**ONE, "scope.supplies": supplies}).referral}
    every = {line.id for line in assessed({**ONE, "scope.supplies": ["solar"]}).referral}

    assert (lines == every) is asked
    assert len(every - lines) == (0 if asked else 1)


def test_a_section_lies_behind_its_hold_point_until_that_is_released():
    answers = answers_from(ONE)

    assert [hold.point.id for hold in closed_before(answers, SECTIONS["casing"], "uk")] == ["hands_off"]
    assert [hold.point.id for hold in closed_before(answers, SECTIONS["measure"], "uk")] == ["isolated"]
    assert closed_before(answers, SECTIONS["scope"], "uk") == []


@pytest.mark.parametrize(("alloy", "said"), [("disilicide", True), ("fecral", False), (None, False)])
def test_a_notice_of_what_is_seldom_there_is_printed_only_where_it_certainly_holds(alloy, said):
    found = assessed({**ONE, f"element.alloy@{K1}": alloy})

    assert ("ca-pest" in {one.notice.id for one in found.notices}) is said


def test_a_notice_names_the_kilns_that_it_speaks_of_and_none_where_it_is_all_of_them():
    def where(*alloys):
        told = {f"element.alloy@{kiln}": alloy for kiln, alloy in zip((K1, K2), alloys, strict=True)}
        found = assessed({"scope.kilns": 2, **told})
        return next(one.where for one in found.notices if one.notice.id == "ca-pest")

    assert where("disilicide", "fecral") == ("Kiln 1",)
    assert where("disilicide", "disilicide") == ()


@pytest.mark.parametrize(
    ("first", "second", "certain"),
    [("on", "on", True), ("on", "no", True), ("on", None, True), (None, None, False)],
)
def test_a_notice_is_certain_where_it_holds_of_one_kiln_at_least(first, second, certain):
    told = {f"safe.energised@{kiln}": word for kiln, word in ((K1, first), (K2, second))}
    found = assessed({"scope.kilns": 2, **told})

    assert [one.certain for one in found.notices if one.notice.id == "ca-energised"] == [certain]


@pytest.mark.parametrize(
    ("height", "printed"),
    [(800, ["slate 22: 900 mm, slate 29: 800 mm"]), (950, []),
     (None, ["slate 22: 900 mm, slate 29: unknown, was: 800 mm"])],
)  # fmt: skip
def test_a_problem_names_each_answer_with_its_slate_and_of_one_that_was_taken_back_what_it_was(height, printed):
    """The water line above the top of the kiln."""
    top = f"identity.height@{K1}"
    events = tuple(events_of({**ONE, f"event.reach@{K1}": "over", f"event.water_line@{K1}": 900, top: height or 800}))
    if height is None:
        events = said(events, top, state="unknown", value=None)
    found = assessed_at(events)

    assert [one.where for one in found.problems if "above the top of the kiln" in one.what] == [
        f"Kiln 1 ({answers})" for answers in printed
    ]


def test_what_has_no_value_is_open_with_its_state_and_what_hangs_on_it():
    found = assessed({**ONE, f"control.reached@{K1}/controller/electronic": None, f"scope.control@{K1}": ["electronic"],
                      f"casing.parts@{K1}": ["shell"]})  # fmt: skip
    open_now = {(one.question.id, one.at): one for one in found.open}
    controller = open_now["control.reached", f"{K1}/controller/electronic"]
    casing = open_now["casing.reached", f"{K1}/casing/shell"]

    assert ("scope.control", K1) not in open_now
    assert (controller.state, casing.state) == ("unknown", None)
    assert [one.startswith("casing: jacket or panels") for one in casing.matters] == [True]
    assert all("controller" in one for one in controller.matters)
    assert controller.matters


@pytest.mark.parametrize(("minute", "said"), [(9, False), (10, False), (11, True)])
def test_what_is_said_to_be_of_a_time_to_come_is_a_problem_beyond_what_two_clocks_may_differ(minute, said):
    """Ten minutes are this project's own."""
    told = {"safe.water_gone": {"measured": NOW.replace(minute=minute).isoformat()}}
    problems = assessed({"safe.water_gone": "yes"}, told=told).problems

    assert any("which has not come yet" in problem.what for problem in problems) is said


@pytest.mark.parametrize(("hour", "said"), [(7, True), (8, False), (9, False)])
def test_what_was_seen_before_the_water_came_is_a_problem(hour, said):
    told = {"safe.water_gone": {"measured": f"2026-03-07T{hour:02d}:00:00+00:00"}}
    given = {"event.water_in": "2026-03-07T08:00:00+00:00", "safe.water_gone": "yes"}

    assert any("before the water came" in problem.what for problem in assessed(given, told=told).problems) is said


@pytest.mark.parametrize(("day", "said"), [("2031-12-31", False), ("2032-01-01", True)])
def test_an_instrument_that_was_out_of_date_when_it_was_read_is_a_problem(day, said):
    """The meter of these tests is calibrated until the last day of 2031."""
    key = f"zone.insulation@{K1}/zone/1"
    told = {key: {"measured": f"{day}T09:00:00+00:00"}}
    problems = assessed({**ONE, f"scope.zones@{K1}": 1, key: 5.0}, told=told).problems

    assert any(problem.what.startswith("calibrated until 2031-12-31") for problem in problems) is said


def test_two_findings_on_one_component_say_which_matter_each_speaks_of():
    lines = text_lines(assessed({**ONE, f"element.count@{K1}": 1}))
    element = [line.split(" (")[0] for line in lines if "Element 1" in line and " (repairer" in line]

    assert len(element) >= 2
    assert len(set(element)) == len(element)


@pytest.mark.parametrize(
    ("of", "named"), [("zone.insulation", "slate 154"), ("zone.colour", "zone.colour")], ids=["asked", "no longer"]
)
def test_an_answer_about_what_is_not_listed_is_named_by_its_slate_or_by_what_it_was_called(of, named):
    """A question that an older version asked, and this one does not, has no slate."""
    events = tuple(events_of({**ONE, f"scope.zones@{K1}": 1, f"zone.insulation@{K1}/zone/2": 4.2}))
    told = tuple(replace(one, data={**one.data, "question": f"{of}@{K1}/zone/2"})
                 if one.data.get("question", "").startswith("zone.") else one for one in events)  # fmt: skip
    found = assessed_at(told)

    assert [one.what for one in found.problems if "is not listed" in one.what] == [
        f"was answered about ({named}), and is not listed"
    ]
