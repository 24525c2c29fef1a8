"""This project's own limits and what it asks of evidence, against explicit tables: nobody makes one milder by accident.

`tests/vectors/own_limits.csv` holds every figure of our own (own limit), `cards.csv` every card with its outcome.
`tests/vectors/evidence.csv` says of whatever a gate may rest on who may say so in the United Kingdom, for how many
hours it counts, whether it needs a paper, and what it is measured with (own limits; a proved tester and writing by the
documents of the hold points).
"""

import csv
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from recover.asked.compiled import questionnaire
from recover.asked.told import split_key
from recover.judged.admissible import is_evidence, why_not
from recover.profiles import own_earth, own_limits, profile
from recover.rules.table import table
from tests.conftest import COLD, SEEN, answers_from

VECTORS = Path(__file__).parent / "vectors"
FIGURES = list(csv.DictReader((VECTORS / "own_limits.csv").read_text("utf-8").splitlines()))
CARDS = list(csv.DictReader((VECTORS / "cards.csv").read_text("utf-8").splitlines()))
EVIDENCE = list(csv.DictReader((VECTORS / "evidence.csv").read_text("utf-8").splitlines()))
JOINED = {"wire.joined@kiln/1/wiring/power": "wiring_alone"}
LOCKS = {"safe.dead@kiln/1": "safe.upstream@kiln/1", "feed.dead@feed/solar": "feed.isolated@feed/solar"}
HUNG = {lock: {"measured": "2026-03-09T08:30:00+00:00"} for lock in LOCKS.values()}
OUT = {"event.water_out": "2026-03-09T08:00:00+00:00"}


def of_evidence(row):
    return f"{row['key']}-{row['value']}"


def value_of(row):
    question = questionnaire().questions[split_key(row["key"])[0]]
    if question.kind == "several":
        return [row["value"]]
    return float(row["value"]) if question.kind == "reading" else row["value"]


def refused(row, hours=1.0, known=JOINED, seen=SEEN, **told):
    """Say why a row's answer opens nothing, so many hours after it was seen; `told` changes what it says of itself."""
    known = known | ({LOCKS[row["key"]]: "locked"} if row["key"] in LOCKS else {})
    now, told = datetime.fromisoformat(seen) + timedelta(hours=hours), {"measured": seen, "written": seen, **told}
    said = ({"who": "A. Person", "role": row["who"]} if row["who"] else {}) | told
    answers = answers_from({**OUT, **known, row["key"]: value_of(row)}, told={**HUNG, row["key"]: said}, now=now)
    question = answers.questions.questions[split_key(row["key"])[0]]
    if row["instrument"]:
        answers.instruments["I1"] = replace(answers.instruments["I1"], what=row["instrument"])
    return " ".join(why_not(answers, question, answers.given[row["key"]], profile("uk")))


# ---------------------------------------------------------------------------------------- figures


@pytest.mark.parametrize("row", FIGURES, ids=[row["limit"] for row in FIGURES])
def test_each_figure_of_our_own_is_what_the_table_says(row):
    limit = own_limits()[row["limit"]]

    assert (f"{limit.value:g}", limit.unit, limit.stricter) == (row["value"], row["unit"], row["stricter"])


def test_no_figure_of_our_own_is_without_its_row():
    assert set(own_limits()) == {row["limit"] for row in FIGURES}


def test_our_own_rule_of_earth_is_a_tenth_of_an_ohm_and_the_conductor():
    assert (own_earth().ohm, own_earth().adds_conductor) == (0.1, True)


# ---------------------------------------------------------------------------------------- cards


@pytest.mark.parametrize("row", CARDS, ids=[f"{row['table']}-{row['card']}" for row in CARDS])
def test_each_card_stands_and_is_no_milder_than_it_was(row):
    """A card may be added or made more severe without a word here, never taken away or made milder."""
    found = table(row["table"])
    card = {card.id: card for card in found.card}[row["card"]]

    assert found.severity(card) >= found.scale.index(row["outcome"])
    assert set(row["tasks"].split()) <= set(card.tasks)


# ---------------------------------------------------------------------------------------- evidence


@pytest.mark.parametrize("row", EVIDENCE, ids=of_evidence)
def test_what_is_seen_today_by_whoever_may_and_as_asked_counts(row):
    assert refused(row) == ""


@pytest.mark.parametrize("row", EVIDENCE, ids=of_evidence)
def test_it_counts_for_its_hours_and_no_longer(row):
    hours = float(row["hours"] or 0)
    late = refused(row, hours=hours if hours else 24 * 365)

    assert hours == 0 or refused(row, hours=hours - 0.1) == ""
    assert ("look or measure again" in late) == bool(hours)


@pytest.mark.parametrize("seen", ["2026-10-24T12:00:00+00:00", "2027-03-27T12:00:00+00:00"])
def test_a_day_is_24_hours_also_in_the_nights_when_the_clocks_change(seen):
    """By the clock on the wall it would be 25 hours in October."""
    dead = next(row for row in EVIDENCE if row["key"] == "safe.dead@kiln/1")

    assert refused(dead, hours=23.9, seen=seen) == ""
    assert "look or measure again" in refused(dead, hours=24, seen=seen)


@pytest.mark.parametrize("row", EVIDENCE, ids=of_evidence)
def test_it_needs_a_time_after_the_water(row):
    assert "not written down" in refused(row, measured="")
    assert "before the water was out" in refused(row, measured="2026-03-09T07:59:00+00:00")
    assert refused(row, measured="2026-03-09T20:00:00+00:00") == ""


@pytest.mark.parametrize("row", [row for row in EVIDENCE if row["who"]], ids=of_evidence)
def test_it_counts_from_a_named_person_in_a_role_that_may_and_from_nobody_else(row):
    assert "nobody put a name" in refused(row, who="")
    assert "nobody put a name" in refused(row, role="")
    assert "said so as" in refused(row, role="attendant" if row["who"] == "owner" else "insurer")


@pytest.mark.parametrize("country", ["eu", "au_nz"])
@pytest.mark.parametrize(
    ("key", "value", "may"),
    [("energise.rcd_ms@kiln/1", 28, False), ("energise.rcd_ma@kiln/1", 30, False),
     ("supply.volts@kiln/1", 230, False), ("earth.ohm@kiln/1/bond/lid", 0.05, True)],
)  # fmt: skip
def test_where_electricians_alone_test_devices_a_repairer_reads_the_earth_and_no_trip_time(country, key, value, may):
    answers = answers_from({**OUT, key: value}, country, told={key: {"who": "A. Repairer", "role": "repairer"}})
    question = answers.questions.questions[split_key(key)[0]]

    assert ("said so as" not in " ".join(why_not(answers, question, answers.given[key], profile(country)))) is may


@pytest.mark.parametrize("row", [row for row in EVIDENCE if row["who"]], ids=of_evidence)
def test_it_needs_its_paper_where_one_is_asked_for(row):
    assert ("no paper" in refused(row, document="")) == bool(row["paper"])


@pytest.mark.parametrize("row", [row for row in EVIDENCE if row["instrument"]], ids=of_evidence)
def test_it_is_read_with_an_instrument_that_can_tell_and_that_is_registered(row):
    says = refused(row, instrument="I99")

    assert "names no instrument that is registered" in says
    assert row["instrument"] in says.partition("expected ")[2]


@pytest.mark.parametrize(
    ("key", "change", "known"),
    [
        ("earth.ohm@kiln/1/bond/lid", {"details": {"test_amps": 0.19}}, {}),
        ("earth.ohm@kiln/1/bond/lid", {"details": {}}, {}),
        ("wire.insulation@kiln/1/wiring/power", {"details": {"test_volts": 499}}, JOINED),
        ("wire.insulation@kiln/1/wiring/power", {}, {"wire.joined@kiln/1/wiring/power": "other"}),
        ("wire.insulation@kiln/1/wiring/power", {}, {}),
        ("zone.insulation@kiln/1/zone/1", {"details": {"test_volts": 499, "lining_c": 12}}, {}),
        ("zone.insulation@kiln/1/zone/1", {"details": {"test_volts": 500, "lining_c": 40}}, {}),
        ("zone.insulation@kiln/1/zone/1", {"details": {"test_volts": 500}}, {}),
    ],
)
def test_a_reading_taken_otherwise_than_asked_opens_nothing(key, change, known):
    """500 V (IEC 60364-6, from memory), a lining below 40 °C and 0.2 A (own limits)."""
    row = next(row for row in EVIDENCE if row["key"] == key)

    assert refused(row, known=known, **change) != ""


def test_whatever_a_gate_may_rest_on_has_its_row():
    asked = {question.id for question in questionnaire().question if is_evidence(question)}

    assert asked == {split_key(row["key"])[0] for row in EVIDENCE}


@pytest.mark.parametrize(
    ("lining_c", "said"),
    [({"lining_c": 60}, "it was read with a warm lining"), ({}, "it does not say the temperature of the lining")],
)
def test_what_a_reading_does_not_tell_of_how_it_was_taken_is_not_told_as_the_worst(lining_c, said):
    """A lining of which nobody gave the temperature is none that was warm."""
    key, details = "zone.insulation@kiln/1/zone/1", {name: COLD[name] for name in ("test_volts", "air_c")}
    answers = answers_from(
        {"scope.kilns": 1, "scope.zones@kiln/1": 1, key: 1.5}, told={key: {"details": details | lining_c}}
    )

    assert said in " ".join(answers.doubts(answers.given[key]))
