"""Rule tables: what the checker catches, how a range comes about, and what the tables decide."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from recover.asked.compiled import _problems_of
from recover.base.errors import DataError
from recover.base.sources import bibliography
from recover.profiles import PROFILES, limits, own_limits, profile
from recover.rules.check import check_everything, check_table
from recover.rules.gates import hold_points, notices, referral
from recover.rules.table import TABLES, evaluate, load_table, table

pytestmark = pytest.mark.quick

BAD = Path(__file__).parent / "bad"
VECTORS = (Path(__file__).parent / "vectors" / "outcomes.csv").read_text("utf-8")
OUTCOMES = list(csv.DictReader(VECTORS.splitlines()))


@pytest.mark.parametrize("name", TABLES)
def test_every_combination_of_answers_has_a_card_and_every_card_can_decide(name, questions):
    report = check_table(table(name), questions.facts)

    assert [str(problem) for problem in report.problems] == []
    assert report.combinations > 0


def test_a_limit_that_one_country_lacks_is_found_before_a_job_there_dies_of_it(questions, monkeypatch):
    lacks = {one: dict(limits(one)) for one in PROFILES}
    del lacks["eu"]["asbestos_usa_year"]
    monkeypatch.setattr("recover.rules.check.limits", lacks.__getitem__)
    problems = [str(one) for one in check_everything(questions)[1]]

    assert problems
    assert all("names the limit 'asbestos_usa_year', which profiles/eu.toml lacks" in one for one in problems)


def test_every_material_has_its_class(questions):
    """A new one that nobody classed would be judged as another without a word."""
    named = {one for case in questions.facts["lining_class"].cases for one in _listed(case.when["layer.material"])}

    assert {choice.id for choice in questions.questions["layer.material"].choices} - {"unknown"} == named


def _listed(values):
    return values if isinstance(values, list) else [values]


def test_the_programs_own_data_has_no_problem(questions):
    _, problems = check_everything(questions)

    assert [str(problem) for problem in problems] == []


@pytest.mark.parametrize(
    ("file", "messages"),
    [
        ("rules-gap", ["rules-gap.toml: has a gap: no card for control_reached = damp"]),
        ("rules-contradiction", ["rules-contradiction.toml [wet-again]: contradicts wet"]),
        ("rules-dead-card", ["rules-dead-card.toml [sea]: can never decide"]),
        ("rules-not-monotone", ["rules-not-monotone.toml [splashed]: is not monotone: control_reached = submerged"]),
        (
            "rules-unknown-words",
            [
                "[words]: the outcome 'bin' is not known",
                "[words]: tests control_reached = 'drowned', which cannot be",
                "[words]: the task 'sing' is not known",
                "[words]: the source 'nobody-1900' is not known",
                "[words]: says it is published and names no clause",
                "[words]: gives no reason",
            ],
        ),
    ],
)
def test_a_seeded_fault_is_caught_with_file_and_card(file, messages, questions):
    found = [str(problem) for problem in check_table(load_table(BAD / f"{file}.toml"), questions.facts).problems]

    for message in messages:
        assert any(message in problem for problem in found), (message, found)


@pytest.mark.parametrize(
    ("file", "message"),
    [
        ("rules-unknown-key", r"rules-unknown-key.toml \[card rest verdict\]: the key 'verdict' is not known"),
        ("rules-newer", r"newer version \(file version 99"),
        ("rules-other-format", r"its format is 'shopping-list'; expected 'recover-rules'"),
    ],
)
def test_a_file_that_is_no_table_of_this_version_is_refused(file, message):
    with pytest.raises(DataError, match=message):
        load_table(BAD / f"{file}.toml")


# ---------------------------------------------------------------------------------------- published rows


@pytest.mark.parametrize("row", OUTCOMES, ids=[f"{n}-{row['origin_note']}" for n, row in enumerate(OUTCOMES, start=2)])
def test_published_rows_and_boundaries_come_out_as_recorded(row, questions):
    """Each row names its source, clause and basis; a milder published row is printed as contrary."""
    found = table(row["table"])
    stated = dict(pair.split("=") for pair in row["facts"].split(";"))
    possible = {name: [stated[name]] if name in stated else questions.facts[name].values for name in found.inputs}

    outcome = evaluate(found, possible)

    assert (outcome.low, outcome.high) == (row["outcome"], row["outcome"])
    if row["contrary"]:
        printed = {
            (contrary.outcome, contrary.source) for reason in outcome.reasons for contrary in reason.card.contrary
        }
        assert (row["contrary"], row["source"]) in printed


def test_every_published_row_names_its_source():
    for row in OUTCOMES:
        assert row["basis"] in ("document", "from_memory", "common_practice", "own_limit")
        if row["basis"] == "document":
            assert row["source"] in bibliography()
            assert row["clause"]
        if row["basis"] == "common_practice":
            assert row["source"] == ""


@pytest.mark.parametrize("name", TABLES)
def test_each_table_has_boundary_pairs(name):
    pairs = [row for row in OUTCOMES if row["table"] == name and row["origin_note"].startswith("boundary")]

    assert len(pairs) >= 4
    assert len({row["outcome"] for row in pairs}) > 1


# ---------------------------------------------------------------------------------------- ranges


def test_an_unknown_makes_a_range_and_names_what_it_depends_on(questions):
    found = table("controller")
    possible = {name: questions.facts[name].values[:1] for name in found.inputs}
    possible["control_reached"] = questions.facts["control_reached"].values

    outcome = evaluate(found, possible)

    assert (outcome.low, outcome.high) == ("keep", "replace")
    assert outcome.depends_on == ("control_reached",)
    assert not outcome.closed


def test_a_range_that_no_single_unknown_settles_depends_on_all_of_them(questions):
    """Rinsed or not, salt or none, splashed or under water, live or not: one of them known, it may still be either."""
    found = table("element")
    possible = {name: questions.facts[name].values for name in found.inputs}
    known = {"element_reached": ["splashed", "submerged"], "element_look": ["flat"], "element_ohms": ["within"]}
    outcome = evaluate(found, {**possible, **known})

    assert (outcome.low, outcome.high) == ("repair", "replace")
    assert outcome.depends_on == ("element_reached", "mounting", "water", "chloride", "rinsed", "energised_wet")


@pytest.mark.parametrize("name", TABLES)
def test_with_nothing_known_the_range_reaches_the_worst(name, questions):
    found = table(name)

    outcome = evaluate(found, {fact: questions.facts[fact].values for fact in found.inputs})

    assert outcome.high == found.scale[-1]
    assert outcome.low == found.scale[0]


# ---------------------------------------------------------------------------------------- sheets and profiles


def test_every_hold_point_says_what_it_opens_what_it_needs_and_who_signs():
    for point in hold_points():
        assert point.needs, point.id
        assert point.opens, point.id
        assert point.signatures, point.id
        assert point.because, point.id


def test_energising_needs_the_probe_to_suit_and_what_is_read_to_be_within_its_limits():
    energise = next(point for point in hold_points() if point.id == "energise")
    tested = {name for need in energise.needs for name in str(need.when).split("'")}

    read = {"wiring_insulation", "element_insulation", "earth", "supply_fit", "power_fit", "rcd_time", "element_ohms"}
    assert read | {"probe_match", "energise.rcd", "energise.supply", "energise.cuts"} <= tested


def test_no_sentence_judges_anything_to_be_free_of_danger():
    sentences = [card.because for name in TABLES for card in table(name).card]
    sentences += [notice.say + notice.because for notice in notices()] + [line.say for line in referral().line]
    sentences += [f"{point.title} {point.opens} {point.until_then} {point.because}" for point in hold_points()]

    for sentence in sentences:
        words = {word.strip(".,:;()").lower() for word in sentence.split()}
        assert not words & {"safe", "safely", "safer"}, sentence


@pytest.mark.parametrize("name", PROFILES)
def test_each_profile_states_its_wiring_limit_with_authority(name):
    limit = next(limit for limit in profile(name).limit if limit.id == "wiring_insulation_megohm")

    assert limit.unit == "Mohm"
    assert limit.source in bibliography() or limit.basis == "common_practice"
    assert limits(name)["wiring_insulation_megohm"] >= own_limits()["wiring_insulation_megohm"].value


def test_a_number_that_papers_have_printed_is_given_to_no_other_question(questions):
    """Slate 186 asked who attends."""
    first, *others = questions.question
    again = replace(questions, question=[replace(first, slate=186), *others])

    assert list(_problems_of(questions)) == []
    assert any("186" in str(problem) for problem in _problems_of(again))
    assert questions.next_slate == 1 + max(question.slate for question in questions.question)
