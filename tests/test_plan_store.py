"""The plan document: one text for one plan, read back as it was, and refused where it is not just as it was written."""

import json
import re
from dataclasses import replace
from decimal import Decimal
from math import inf, nan
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.base.errors import DataError
from recover.base.fingerprint import fingerprint
from recover.controller.programme import ProgrammeRun
from recover.physics.wall import Step
from recover.plan import store
from recover.plan.inputs import inputs
from tests import sample_plan
from tests.conftest import assessed, cases
from tests.test_dryout import ROUND
from tests.test_wetmap import KILN

pytestmark = pytest.mark.quick

BAD = Path(__file__).parent / "bad"
SAMPLES = {name: sample_plan.job_plan(of()) for name, of in sample_plan.KILNS.items()}
SAMPLES["two kilns"] = sample_plan.job_plan(*sample_plan.two_kilns())


def written(document):
    """Return a document as canonical JSON, by the standard library alone."""
    return (json.dumps(document, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode()


def document(name="two kilns"):
    return json.loads(store.written(SAMPLES[name]))


def shapes(of):
    """Yield every object of a document, once of each set of keys."""
    seen = set()
    for one in _objects(of):
        if (keys := tuple(sorted(one))) not in seen:
            seen.add(keys)
            yield one


def _objects(of):
    if isinstance(of, dict):
        yield of
    for one in of.values() if isinstance(of, dict) else of if isinstance(of, list) else ():
        yield from _objects(one)


# ---------------------------------------------------------------------------------------- one text


@pytest.mark.parametrize("name", SAMPLES)
def test_a_plan_is_read_back_as_it_was_written(name):
    content = store.written(SAMPLES[name])
    read = store.parse(content, "plan-01.json")

    assert store.written(read) == content
    assert [[day.date for day in kiln.days] for kiln in read.kilns] == [
        [day.date for day in kiln.days] for kiln in SAMPLES[name].kilns
    ]
    for kiln, before in zip(read.kilns, SAMPLES[name].kilns, strict=True):
        for day, was in zip(kiln.days, before.days, strict=True):
            assert (day.attended_from, day.programme_ends, day.steps) == (
                was.attended_from, was.programme_ends, was.steps
            )  # fmt: skip
        assert [path.cost for path in kiln.paths] == [path.cost for path in before.paths]


def test_keys_stand_in_order_whole_numbers_without_a_point_and_nothing_is_written_for_ascii_alone():
    content = store.written(SAMPLES["outside"]).decode()

    assert content == written(json.loads(content)).decode()
    assert '"top_degc": 50,' in content
    assert "°C" in content
    assert content.endswith("}\n")


def test_moments_are_in_iso_form_with_the_offset_of_the_place_and_money_keeps_its_cents():
    (kiln,) = document("own")["kilns"]

    assert kiln["days"][0]["attended_from"] == "2026-04-14T08:00:00+01:00"
    assert kiln["paths"][0]["first_firing"] == {"p50": "2026-04-19", "p90": "2026-04-20"}
    assert kiln["paths"][0]["cost"] == 741.3
    assert store.parse(store.written(SAMPLES["own"]), "x").kilns[0].paths[0].cost == Decimal("741.30")


@pytest.mark.parametrize(("value", "kept"), [(0.1 + 0.2, 0.3), (1234567.4, 1234567), (2 / 3, 0.6666667), (-0.0, 0)])
def test_a_number_is_kept_to_its_first_figures(value, kept):
    """The last bits of a sum, which differ from one machine to another, make no other plan."""
    kiln = sample_plan.by_own()
    of = sample_plan.job_plan(replace(kiln, days=(replace(kiln.days[0], top_degc=value),)))

    assert json.loads(store.written(of))["kilns"][0]["days"][0]["top_degc"] == kept


def test_a_ramp_without_end_is_none_in_the_document_and_without_end_again_when_it_is_read():
    at_once = ProgrammeRun(1, 15.0, (Step(600.0), Step(700.0, 50.0, 1.0)))
    kiln = sample_plan.by_own()
    of = sample_plan.job_plan(replace(kiln, days=(replace(kiln.days[0], runs=(at_once,)),)))
    content = store.written(of)

    assert b"Infinity" not in content
    assert store.parse(content, "x").kilns[0].days[0].runs[0].steps == at_once.steps


@pytest.mark.parametrize("no_number", [nan, inf, -inf])
def test_what_is_no_number_is_never_written(no_number):
    kiln = sample_plan.by_own()
    day = replace(kiln.days[0], top_degc=no_number)

    with pytest.raises(ValueError, match="not JSON compliant"):
        store.written(sample_plan.job_plan(replace(kiln, days=(day,))))


@given(st.floats(allow_nan=False, allow_infinity=False))
@cases(200)
def test_rounding_what_was_rounded_changes_nothing(value):
    once = store._plain(value)

    assert store._plain(float(once)) == once


# ---------------------------------------------------------------------------------------- what the command promises


def test_the_document_has_what_other_programs_read():
    for name in SAMPLES:
        for kiln in document(name)["kilns"]:
            assert {"kiln", "recommended", "paths", "days"} <= kiln.keys()
            for path in kiln["paths"]:
                assert {
                    "id", "open", "closed_because", "first_firing", "attended_hours", "kwh", "cost", "finishes"
                } <= path.keys()  # fmt: skip
                assert path["first_firing"] is None or path["first_firing"].keys() == {"p50", "p90"}
            for day in kiln["days"]:
                assert {
                    "date", "attended_from", "attended_to", "programme_ends", "top_degc", "cutout_degc",
                    "source_of_heat", "off_switch", "readings",
                } <= day.keys()  # fmt: skip


def test_what_a_day_has_not_is_null():
    weekend = document("outside")["kilns"][0]["days"][4]

    for name in ("attended_from", "attended_to", "programme_ends", "top_degc", "cutout_degc", "source_of_heat"):
        assert weekend[name] is None


# ---------------------------------------------------------------------------------------- refused


def test_a_key_that_is_not_known_is_refused_at_every_level():
    whole = document()
    found = list(shapes(whole))

    assert len(found) > 20
    for one in found:
        one["colour"] = 1
        with pytest.raises(DataError, match=r"plan-07\.json: is not a plan as this program stores it"):
            store.parse(written(whole), "plan-07.json")
        del one["colour"]
    assert store.parse(written(whole), "plan-07.json")


def test_a_key_that_lacks_is_refused_at_every_level():
    whole = document()
    for one in shapes(whole):
        for key in [name for name in one if one is not whole["inputs"]]:
            kept = one.pop(key)
            with pytest.raises(DataError):
                store.parse(written(whole), "x")
            one[key] = kept


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda text: text.replace('"seed": 1', '"seed": NaN'), r"cannot be read \(NaN is no number\)"),
        (lambda text: text.replace('"to_h": 20', '"to_h": Infinity'), r"cannot be read \(Infinity is no number\)"),
        (lambda text: text.replace('"to_h": 20', '"to_h": 1e999'), "is not a plan as this program stores it"),
        (lambda text: text.replace('"seed": 1', '"seed": "1"'), "is not a plan as this program stores it"),
        (lambda text: text.replace('"seed": 1', '"seed": 1.0'), "is not a plan as this program stores it"),
        (lambda text: text.replace('"draws": 64,', '"draws": 63,\n "draws": 64,'), "is not a plan as this program"),
        (lambda text: text.replace("\n", "\r\n"), "is not a plan as this program stores it"),
        (lambda text: text.replace("2026-04-14T08:00:00", "2026-13-14T08:00:00"), "is not a plan as this program"),
        (lambda text: text.replace('"hold_h": ', '"hold_h": -'), "is not a plan as this program stores it"),
        (lambda text: text.replace("°", "\\u00b0"), "is not a plan as this program stores it"),
        (lambda text: text + "{}", "cannot be read"),
        (lambda text: text[:0], "cannot be read"),
    ],
)
def test_what_is_not_just_as_it_is_written_is_not_read(change, said):
    text = store.written(SAMPLES["own"]).decode()
    other = change(text)

    assert other != text
    with pytest.raises(DataError, match=said):
        store.parse(other.encode(), "plan-01.json")


@pytest.mark.parametrize("content", [b"\xff\xfe", b"\x00", b"null", b"1", b'"plan"', b"[" * 30000])
def test_bytes_that_are_no_document_are_refused_in_a_sentence(content):
    with pytest.raises(DataError, match=r"plan-01\.json: "):
        store.parse(content, "plan-01.json")


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("plan-newer.json", r"was written by a newer version \(file version 4, this program knows up to 3\); update"),
        ("plan-older.json", "was made by an older version; plan again: recover plan JOB"),
        ("plan-other-format.json", "its format is 'recover-journal'; expected 'recover-plan'"),
        ("plan-lacks.json", r"is not a plan as this program stores it \(.*is missing\); plan again: recover plan JOB"),
        ("plan-cut.json", "cannot be read .*; put back the file from a copy"),
        ("plan-list.json", "has no format; expected 'recover-plan'"),
        ("plan-deep.json", "cannot be read .*; put back the file from a copy"),
    ],
)
def test_another_format_another_version_and_a_broken_file_are_told_apart(file, said):
    with pytest.raises(DataError, match=f"{file}: {said}"):
        store.parse((BAD / file).read_bytes(), file)


# ---------------------------------------------------------------------------------------- what has changed since


GIVEN = {**ROUND, "plan.supply_kw": 3.0, "plan.exhaust": 250.0}


def made_from(found):
    return replace(sample_plan.job_plan(), inputs=inputs(found), fingerprint=fingerprint())


def test_a_plan_that_still_holds_has_nothing_that_changed():
    assert store.changed(assessed(GIVEN), made_from(assessed(GIVEN))) == []


@pytest.mark.parametrize(
    ("since", "told"),
    [
        ({"plan.supply_kw": 1.5}, "kiln/1, supply [kW]: 3 → 1.5"),
        ({f"plan.lead_days{KILN}": 10.0}, "kiln/1, time until parts are there [days]: not known → 10"),
        ({"plan.rate_hour": 18.0}, "kiln/1, price of an hour's attendance: not known → 18"),
        ({f"plan.workshop{KILN}": "yes"}, "kiln/1, workshop: no → yes"),
        ({f"plan.isolator{KILN}": "By the door."}, "kiln/1, isolator: not known → By the door."),
    ],
)
def test_what_changed_is_told_by_name_with_what_it_was_and_what_it_is(since, told):
    found = assessed({**GIVEN, **since})

    assert told in store.changed(found, made_from(assessed(GIVEN)))
    assert told in store.overtaken(found, made_from(assessed(GIVEN)))


def test_the_firing_that_was_agreed_at_the_hand_over_makes_another_plan_and_overtakes_none():
    found, plan = assessed({**GIVEN, f"handover.recheck{KILN}": 10.0}), made_from(assessed(GIVEN))

    assert store.changed(found, plan) == ["kiln/1, looks after firings: not known → 10"]
    assert store.overtaken(found, plan) == []


def best_and_worst(question):
    if question.choices:
        return question.choices[0].id, question.choices[-1].id
    return ("as agreed",) if question.kind == "text" else (question.at_least, question.at_most)


@pytest.mark.parametrize("section", ["handover", "dried"])
def test_nothing_that_is_asked_after_the_drying_overtakes_its_plan(section):
    """Each answered as well as can be, and as badly: own heat may open or shut by it, and no wall is another."""
    asked = [one for one in questionnaire().question if one.section == section]

    assert asked
    for question in asked:
        where = KILN if question.per == "kiln" else f"{KILN}/{question.per}/1"
        for value in best_and_worst(question):
            found = assessed({**GIVEN, f"{question.id}{where}": value})

            assert store.overtaken(found, made_from(assessed(GIVEN))) == [], question.id


def test_that_the_entry_to_own_elements_opens_or_shuts_overtakes_no_plan():
    """Its hold point says at every moment how it stands; what a plan expects of it is a date."""
    plan, gate = made_from(assessed(GIVEN)), "kiln/1, own elements may be released"
    other = {"yes": "no", "no": "yes"}[plan.inputs[gate]]
    before = replace(plan, inputs={**plan.inputs, gate: other})

    assert store.changed(assessed(GIVEN), before) == [f"{gate}: {other} → {plan.inputs[gate]}"]
    assert store.overtaken(assessed(GIVEN), before) == []


def test_a_log_of_the_drying_alone_overtakes_no_plan():
    """A reading counts where it opens or shuts the gate to own elements, or tells of the lining."""
    read = {"zone.insulation@kiln/1/zone/1": 0.3}

    assert store.changed(assessed({**GIVEN, **read}), made_from(assessed(GIVEN))) == []


@pytest.mark.parametrize("part", ["physics", "kernel", "plan", "schedule", "profiles", "program"])
def test_other_rules_another_kernel_and_another_version_are_told(part, monkeypatch):
    from recover.base import fingerprint as of

    before, now = made_from(assessed(GIVEN)), of.parts()
    monkeypatch.setattr(of, "parts", lambda: {**now, part: "another"})
    monkeypatch.setattr(store, "fingerprint", fingerprint.__wrapped__)

    assert store.changed(assessed(GIVEN), before) == ["rules or program"]
    assert store.overtaken(assessed(GIVEN), before) == ["rules or program"]


def test_every_input_has_a_name_of_its_own_that_a_person_can_read():
    found = inputs(assessed(GIVEN))

    assert found["profile"] == "uk"
    assert found["kiln/1, heating, lining, stack wall, layer 1, thickness [mm]"]
    for name, value in found.items():
        assert "_degc" not in name
        assert not re.search(r"\w\(|[<>{}=]", f"{name}{value}")
        assert value
