"""Lines of a journal that another hand wrote: refused in a sentence, or known to say nothing."""

import json
from pathlib import Path

import pytest

from recover.job.journal import Event, inspect
from recover.job.kept import next_number
from recover.job.lines import KINDS, faults
from tests.conftest import SEEN, answers_from

JOBS = Path(__file__).parent / "jobs"
PHOTO = {"id": "P01", "file": "photographs/a.jpg", "sha256": "0", "question": "", "taken": None, "bound_by": "",
         "printable": True}  # fmt: skip
ISSUE = {"papers": ["recovery"], "revision": 1, "files": {}, "record": "", "rules": "", "capacity": ""}
ANSWER = {"question": "event.water_in", "state": "given", "value": "2026-03-07T18:00:00+00:00"}
READING = {"question": "dried.insulation@kiln/1", "state": "given", "value": 1.0, "details": {"test_volts": 500}}


def test_what_every_version_wrote_is_as_its_kind_has_it():
    for journal in JOBS.glob("*/journal.jsonl"):
        for line in journal.read_text("utf-8").splitlines():
            event = json.loads(line)
            assert faults(event["kind"], event["data"]) == [], line


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("photograph", {name: value for name, value in PHOTO.items() if name != "taken"}),
        ("photograph", PHOTO | {"taken": "2026-02-30T09:00:00+00:00"}), ("photograph", PHOTO | {"file": "a\0b"}),
        ("photograph", PHOTO | {"printable": "yes"}), ("photograph", PHOTO | {"colour": 1}),
        ("issue", {name: value for name, value in ISSUE.items() if name != "record"}),
        ("issue", ISSUE | {"revision": "1"}), ("issue", ISSUE | {"files": []}),
        ("issue", ISSUE | {"files": {"papers/a": {"sha256": "0"}}}), ("issue", ISSUE | {"printed": ["papers/a"]}),
        ("set_aside", {"why": "", "files": {}, "missed": 5}),
        ("set_aside", {"why": "", "files": {"a": {"sha256": "0", "length": 1}}}),
        ("answer", ANSWER | {"measured": "2026-02-30T09:00:00+00:00"}),
        ("answer", ANSWER | {"measured": "9999-12-31T23:00:00+00:00"}),
        ("answer", ANSWER | {"state": "perhaps"}), ("answer", ANSWER | {"value": {"a": 1}}),
        ("reading", READING | {"details": {"test_volts": "500"}}), ("reading", READING | {"value": float("nan")}),
        ("answer", ANSWER | {"question": 'scope.kilns@kiln"'}), ("reading", READING | {"question": "element.look@"}),
        ("note", {"question": "scope.kilns@kiln/1/device", "text": "x"}),
        ("photograph", PHOTO | {"question": "identity.plate@kiln//1"}),
        ("release", {"hold_point": "hands_off", "at": "kiln"}),
        ("release", {"hold_point": "hands_off", "at": "job", "rests_on": {"gear.reached@1": 3}}),
        ("note", {"question": "x"}), ("instrument", {"id": "I1", "what": "meter", "price": 3}), ("tale", {}),
    ],
)  # fmt: skip
def test_a_line_with_another_shape_is_refused_by_its_place(kind, data):
    assert faults(kind, data)
    assert kind not in KINDS or faults(kind, data) != ["kind"]


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_a_number_that_json_does_not_have_is_no_journal_line(tmp_path, value):
    first = (JOBS / "v1" / "journal.jsonl").read_text("utf-8").splitlines()[0]
    (tmp_path / "journal.jsonl").write_text(first.replace('"version":1', f'"version":{value}') + "\n", "utf-8")
    _, problems = inspect(tmp_path / "journal.jsonl")

    assert "is no journal line" in problems[0].what


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("scope.kilns", 10**9), ("scope.kilns", "abc"), ("scope.kilns", 1.5), ("scope.kilns", True),
        ("event.water_in", "yesterday"), ("event.water_in", 5), ("event.salt", "sweet"), ("event.salt", 1),
        ("safe.hazards", ["dragons"]), ("safe.hazards", "none"), ("identity.height@kiln/1", 10**12),
    ],
)  # fmt: skip
def test_a_value_that_its_question_cannot_have_is_not_known(key, value):
    """Of another program, or by another hand: it stands for everything, and makes no thousand million kilns."""
    answers = answers_from({"scope.kilns": 1} | {key: 1}, told={key: {"value": value}})

    assert answers.given[key].state == "unknown"
    assert len(answers.components()) < 1000


@pytest.mark.parametrize("at", ["kiln/1", "kiln/1000000", f"kiln/{'9' * 40}", "device/rcd", "kiln/1/kiln/2"])
def test_an_answer_about_a_component_that_no_job_can_have_makes_none(at):
    """By another hand: where nobody knows how many kilns there are, it makes no million of them."""
    answers = answers_from({"scope.kilns": None, f"gear.reached@{at}": "dry"})

    assert len(answers.components()) < 1000


@pytest.mark.parametrize(
    ("detail", "value"), [("test_volts", 1e9), ("lining_c", -400), ("humidity_percent", 900), ("x", 1)]
)
def test_a_detail_that_no_reading_can_have_is_left_out(detail, value):
    """Typed it is refused; from a journal it makes no reading admissible."""
    key = "dried.insulation@kiln/1"
    answers = answers_from({"scope.kilns": 1, key: 1.0}, told={key: {"details": {detail: value, "air_c": 12}}})

    assert answers.given[key].details == {"air_c": 12}


def test_a_paper_of_a_number_that_nobody_issued_takes_no_number():
    """By another hand: as long as the name of no file is."""
    data = {"papers": ["recovery"], "files": {f"papers/recovery-{'9' * 5000}.pdf": {"sha256": "0", "length": 1}}}

    assert next_number([Event(1, SEEN, "A", "test", "issue", data, "")], "recovery") == 1
