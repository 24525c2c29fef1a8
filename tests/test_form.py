"""The blank form and the interview come from the same data."""

from dataclasses import replace

import pytest

from recover.asked.compiled import questionnaire
from recover.asked.questions import Choice, Family, Question, Section
from recover.asked.told import key_of
from recover.base.addresses import JOB, child, within
from recover.base.conditions import OF_TABLE, alternatives, holds, named_values, references
from recover.interview.engine import Interview
from recover.profiles import PROFILES, profile
from recover.report import pdf
from recover.report.form import _branch, form
from tests.conftest import answers_from
from tests.printed import folded, pages_of, text_of

pytestmark = pytest.mark.quick

QUESTIONS = questionnaire().question
YES_NO = [Choice("yes", "yes"), Choice("no", "no")]


@pytest.fixture(scope="module")
def view():
    return form(questionnaire(), "A4", "registered electrician")


@pytest.fixture(scope="module")
def printed_pages(tmp_path_factory, view):
    path = pdf.write(view, tmp_path_factory.mktemp("form"), "form")[0]
    return [folded(page) for page in pages_of(path)]


@pytest.fixture(scope="module")
def printed(printed_pages):
    return " ".join(printed_pages)


def on_form(view):
    """The questions of a form by slate."""
    return {question["slate"]: question for section in view["sections"] for question in section["questions"]}


# ---------------------------------------------------------------------------------------- nothing is missing


def test_every_question_has_its_place_on_the_form_with_all_its_ticks(view):
    shown = on_form(view)

    assert list(shown) == [str(question.slate) for question in QUESTIONS]
    for question in QUESTIONS:
        assert shown[str(question.slate)]["rows"], question.id
        assert [(tick["number"], tick["label"]) for tick in shown[str(question.slate)]["choices"]] == [
            (number, choice.label) for number, choice in enumerate(question.choices, start=1)
        ]


def test_a_slate_that_was_printed_once_is_given_to_no_other_question():
    """186 asked who attends, which slate 60 says; it stands on older forms and pictures."""
    assert 186 not in {question.slate for question in QUESTIONS}


def test_every_question_is_printed_with_its_choices_and_details(printed):
    """One print for all questions: it is the slowest thing here."""
    missing = [one.id for one in QUESTIONS if not any(f"{head}{one.ask}"[:60] in printed for head in _heads(one))]
    words = [choice.label for one in QUESTIONS for choice in one.choices]
    words += [detail.ask for one in QUESTIONS for detail in one.details]
    words += [says for one in QUESTIONS for says in (one.why, one.how) if says]

    assert not missing
    assert not [said for said in words if said not in printed]


def _heads(question):
    """What stands between a slate and its question: the marks, where the question has no rows of its own."""
    return f"{question.slate} ", f"{question.slate} ? X n/a "


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.id)
def test_the_interview_reaches_every_question_with_some_answers(question):
    """Answers are looked for that make its condition hold for certain, not only such as leave it open."""
    at, answers = answers_that_ask(question)
    known = answers_from(answers)
    interview = Interview(known)

    assert holds(question.ask_if, lambda name: known.look(name, at), known.limits) is True
    assert (question.id, at) in [(item.question.id, item.at) for item in interview.items(question.section)]
    assert not interview.stop


def answers_that_ask(question):
    """Return a component and the answers by key after which the question is asked of it."""
    for table in alternatives(question.ask_if):
        answers = {}
        at = component_for(question, table, answers)
        for name, test in table.items():
            if name != "component":
                satisfy_all(name, test, at, answers)
        return at, answers
    raise AssertionError(f"{question.id} has no alternative")


def component_for(question, table, answers):
    """Return a component that the question may be asked of, with what has to be answered for it to be there."""
    wanted = named_values(table["component"])[0] if "component" in table else ""
    return place(question.per, wanted, answers)


def place(kind, wanted, answers):
    if kind == JOB:
        return JOB
    family = questionnaire().families[kind]
    parent = place(family.of, "", answers)
    name = family.members or family.count
    asking = questionnaire().questions[name]
    if not family.members:
        answers.setdefault(key_of(name, parent), 1)
        return child(parent, kind, 1)
    for table in alternatives(asking.ask_if)[:1]:
        for other, test in table.items():
            satisfy(questionnaire().questions[other], test, parent, answers)
    member = wanted or next(choice.id for choice in asking.choices if choice.id not in family.skip)
    answers.setdefault(key_of(name, parent), []).append(member)
    return child(parent, kind, member)


def satisfy_all(name, test, at, answers):
    """Answer what a reference rests on so that a test of it holds: a question, or by its worst answers a rule table."""
    if not name.startswith(OF_TABLE):
        satisfy(questionnaire().questions[name], test, at, answers)
        return
    for ground, seen in ASKS[name.removeprefix(OF_TABLE)].items():
        satisfy(questionnaire().questions[ground], seen, at, answers)


ASKS = {
    "casing": {"casing.reached": "submerged"}, "controller": {"control.reached": "submerged"},
    "element": {"element.look": "broken"}, "probe": {"probe.reached": "submerged"},
    "slab": {"layer.reached": "submerged"}, "supply": {"safe.supply_reached": "submerged"},
    "switching": {"gear.place": "box", "gear.reached": "submerged"}, "vent": {"vent.reached": "submerged"},
    "wiring": {"wire.reached": "ends"},
}  # fmt: skip
"""What was seen of a component for which its table asks for more than to be kept."""


def satisfy(question, test, at, answers):
    """Answer a question so that a test of it holds, and whatever has to be answered for it to be asked."""
    where = within(at, question.per) or place(question.per, "", answers)
    for name, other in alternatives(question.ask_if)[0].items():
        if name != "component":
            satisfy_all(name, other, where, answers)
    key = key_of(question.id, where)
    if question.kind == "several":
        lacking = set(named_values(test)) if isinstance(test, dict) else set()
        chosen = [choice.id for choice in question.choices if choice.id not in lacking and choice.id in _accepted(test)]
        answers[key] = [*answers.get(key, []), chosen[0] if chosen else question.choices[0].id]
    elif question.kind == "choice":
        answers[key] = named_values(test)[0]
    else:
        answers[key] = test.get("at_least", test.get("above", test.get("below", 1) - 1) + ("above" in test))


def _accepted(test):
    return () if isinstance(test, dict) else named_values(test)


def test_the_form_carries_cautions_referral_the_stop_and_how_to_enter_it(printed):
    assert "Never switch this kiln on to find out" in printed
    assert "does not replace an electrician's inspection" in printed
    assert "Stop here. A gas or solid-fuel kiln" in printed
    assert "recover inspect JOB --from-form" in printed


def test_a_section_behind_a_hold_point_says_so_on_paper(view):
    after = {section["title"]: section["after"] for section in view["sections"]}

    assert after["Casing, base and stand"] == "Not before the hold point “Hands off” is released."
    assert after["Measurements on the dead kiln"] == "Not before the hold point “A hand inside” is released."
    assert after["Scope and sources"] == ""


def test_what_the_electrician_fills_in_begins_a_sheet_and_every_sheet_has_room_for_job_and_kiln(printed_pages):
    first, *others = printed_pages

    assert all("Job ____" in page and "X not inspected, why" in page for page in others)
    assert "Job ____" not in first
    assert any("Measurements on the dead kiln" in page and "Controller and probe" not in page for page in others)


def test_the_form_is_no_more_than_twenty_eight_sheets_of_a4(printed_pages):
    assert len(printed_pages) <= 28


def test_the_head_has_room_for_what_makes_an_answer_count(printed_pages):
    """Who, in which role, when; kind and date of each instrument."""
    for said in ("Filled in by", "In which role", "Licence or registration", "Date, time", "calibrated until"):
        assert said in printed_pages[0]


def test_who_says_so_is_asked_on_paper_where_somebody_attests_it_and_nowhere_else(view, printed):
    shown = on_form(view)

    assert {slate for slate, one in shown.items() if one["attested"]} == {
        str(one.slate) for one in QUESTIONS if one.attested and one.kind != "reading"
    }
    assert {slate for slate, one in shown.items() if one["documented"]} == {
        str(one.slate) for one in QUESTIONS if one.documented
    }
    assert printed.count(" by as ") == sum(bool(one.attested) and one.kind != "reading" for one in QUESTIONS)
    assert printed.count(" by as paper ") == sum(bool(one.documented) for one in QUESTIONS)


# ---------------------------------------------------------------------------------------- branches


@pytest.mark.parametrize(
    "question", [one for one in QUESTIONS if references(one.ask_if) - {"component"}], ids=lambda question: question.id
)
def test_every_only_if_names_the_slates_it_rests_on(question, view):
    shown = on_form(view)[str(question.slate)]
    said = " ".join([shown["only_if"], *(row["only_if"] for row in shown["rows"])])

    for name in references(question.ask_if) - {"component"}:
        if name.startswith(OF_TABLE):
            assert "the report asks to treat, repair or replace it" in said
        else:
            assert str(questionnaire().questions[name].slate) in said.split()


def test_a_branch_is_said_by_slate_number():
    assert _branch(questionnaire(), questionnaire().questions["safe.key"].ask_if) == (
        "7 is 1 “yes: locked and the key held, or the plug pulled and kept; tagged”"
    )


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        ({"lid": "yes"}, "1 is 1 “yes”"),
        ({"lid": ["yes", "no"]}, "1 is 1 or 2"),
        ({"parts": {"lacks": ["lid"]}}, "2 is not 2 “lid”"),
        ({"height": {"below": 300}}, "3 is below 300 mm"),
        ({"height": {"at_least": 300, "below": 900}}, "3 is 300 mm or more and 3 is below 900 mm"),
        ({"height": {"above_answer": "other_height"}}, "3 is more than 4"),
        ({"height": {"at_most_answer": "other_height"}}, "3 is no more than 4"),
        ([{"lid": "yes"}, {"parts": "lid"}], "1 is 1 “yes” or 2 is 2 “lid”"),
        ({}, ""),
    ],
)
def test_each_kind_of_condition_is_said(condition, said):
    assert _branch(SMALL, condition) == said


# ---------------------------------------------------------------------------------------- rows and grids


def q(number, name, kind="choice", **more):
    choices = YES_NO if kind == "choice" else more.pop("choices", [])
    return Question(
        id=name, slate=number, section="all", ask=f"{name}?", kind=kind, choices=choices, order="scale", **more
    )


SMALL = replace(
    questionnaire(),
    section=[Section(id="all", title="All", intro="Everything.")],
    component=[
        Family(kind="kiln", label="Kiln", of="job", count="kilns"),
        Family(kind="part", label="Part", of="kiln", members="parts"),
        Family(kind="layer", label="Layer", of="part", count="layers"),
        Family(kind="element", label="Element", of="kiln", count="elements", columns=12),
        Family(kind="pad", label="Pad", of="kiln", count="pads"),
    ],
    question=[
        q(1, "lid", per="kiln"),
        q(2, "parts", "several", per="kiln", choices=[Choice("wall", "wall"), Choice("lid", "lid")]),
        q(3, "height", "number", per="kiln", unit="mm"),
        q(4, "other_height", "number", per="kiln", unit="mm"),
        q(5, "kilns", "number", whole=True),
        q(6, "layers", "number", per="part", whole=True),
        q(7, "elements", "number", per="kiln", whole=True),
        q(8, "pads", "number", per="kiln", whole=True, at_most=2),
        q(9, "thickness", "number", per="layer", unit="mm"),
        q(10, "broken", per="element"),
        q(11, "worn", per="pad"),
        q(12, "mark", "text", per="pad"),
        q(13, "gap", "number", per="part", unit="mm", ask_if={"component": "lid"}),
        q(14, "joint", per="part", ask_if=[{"component": "wall"}, {"component": "lid", "lid": "yes"}]),
    ],
    check=[],
    fact=[],
    stop=[],
)  # fmt: skip


@pytest.mark.parametrize(
    ("slate", "rows", "columns"),
    [
        ("1", [""], 0),
        ("6", ["wall", "lid"], 0),
        ("9", ["wall", "lid"], 4),
        ("10", [""], 12),
        ("11", [""], 2),  # no more columns than there can be members
        ("12", ["Pad 1", "Pad 2"], 0),  # words need a line, not a cell
        ("13", ["lid"], 0),
    ],
)
def test_named_members_have_rows_and_counted_ones_numbered_columns(slate, rows, columns):
    shown = on_form(form(SMALL, "A4", "electrician"))[slate]

    assert [row["who"] for row in shown["rows"]] == rows
    assert shown["columns"] == [str(number) for number in range(1, columns + 1)]


def test_a_condition_of_one_member_stands_in_its_row():
    shown = on_form(form(SMALL, "A4", "electrician"))["14"]

    assert [row["only_if"] for row in shown["rows"]] == ["", "1 is 1 “yes”"]
    assert shown["only_if"] == ""


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_grids_and_rows_print(tmp_path, paper):
    """WeasyPrint's log is an error, so whatever does not lay out as designed fails here."""
    path = pdf.write(form(SMALL, paper, "electrician"), tmp_path, "form")[0]
    text = text_of(path)

    assert "Element 1 2 3 4 5 6 7 8 9 10 11 12" in text
    assert "Layer 1 2 3 4 wall, mm lid, mm" in text


@pytest.mark.parametrize("name", PROFILES)
def test_the_form_prints_in_every_profiles_paper(name):
    chosen = profile(name)
    document = pdf.html(form(questionnaire(), chosen.paper, chosen.terms.electrician))

    assert f"size: {chosen.paper}" in document
    assert chosen.terms.electrician in document
