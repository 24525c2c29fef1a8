"""What was replaced reads as done, on which day and by whom, and is not counted or ordered again."""

from dataclasses import replace

import pytest

from recover.base.conditions import OF_TABLE, SINCE, references
from recover.job.folder import open_job
from recover.judged.assessment import assess, assess_answers
from recover.report import electrical
from recover.report.findings import findings
from recover.report.paper import Numbered, headline
from recover.report.plain import as_json, text_lines
from recover.report.recovery import _asked
from recover.rules.gates import hold_points
from recover.rules.table import TABLES, table
from tests.school import school


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    folder = tmp_path_factory.mktemp("done") / "job"
    return open_job(school(folder))


@pytest.fixture(scope="module")
def found(job):
    return assess(job)


@pytest.fixture
def said_otherwise(found):
    """Assess the same answers, with the line of the register on the breaker changed."""
    given = found.answers.given
    key = next(key for key in given if key.startswith("gear.replaced@") and key.endswith("/breaker"))
    kept = given[key]

    def assessed(**change):
        given[key] = replace(kept, **change)
        return assess_answers(found.answers, found.job, found.profile.id, found.head)

    yield assessed
    given[key] = kept


def breaker(found):
    return next(one for one in found.findings if one.table.id == "switching" and one.at.endswith("/breaker"))


def test_what_was_replaced_keeps_its_finding_and_says_when_and_by_whom(found):
    assert breaker(found).words == "replace"
    assert breaker(found).done.who == "E. Lectrician"
    assert not breaker(found).to_do


def test_what_is_kept_has_nothing_to_be_done(found):
    kept = [one for one in found.findings if one.words == "keep"]
    assert kept
    assert not any(one.to_do or one.done for one in kept)


@pytest.mark.parametrize("change", [{"value": "no"}, {"state": "unknown", "value": None}, {"who": "", "role": ""},
                                    {"measured": None}, {"role": "owner"}])  # fmt: skip
def test_what_is_not_said_by_whoever_may_is_not_done(said_otherwise, change):
    assert breaker(said_otherwise(**change)).done is None


def test_the_plain_document_has_day_and_name_or_nothing(found):
    rows = {(one["table"], one["component"]): one["done"] for one in as_json(found)["findings"]}
    day = breaker(found).done.measured.date().isoformat()
    assert rows["switching", breaker(found).at] == {"date": day, "by": "E. Lectrician"}
    assert None in rows.values()


def test_the_terminal_says_it_behind_the_finding(found):
    line = next(line for line in text_lines(found) if " circuit breaker (" in line)
    assert line.endswith(f"; done {breaker(found).done.measured.date().isoformat()} by E. Lectrician")


def test_page_one_counts_nothing_that_was_replaced(found):
    assert not any("To be replaced" in line for line in headline(found)["lines"])


def test_only_what_is_open_is_asked_of_somebody(found):
    waiting = sum("repairer" in one.who and one.to_do for one in found.findings)
    assert waiting < 5
    assert not any("electrician" in line.lower() for line in _asked(found))


def test_what_was_fitted_is_not_ordered_again_nor_asked_of_the_electrician(found):
    assert all(one["table"] not in ("Switching and protective devices", "Heating elements", "Lining, layer by layer")
               for one in electrical.orders(found))  # fmt: skip
    assert [form["items"] for form in electrical.forms(found)] == [[]] * len(electrical.forms(found))


def test_what_is_not_done_is_counted_and_ordered(said_otherwise):
    again = said_otherwise(value="no")
    assert any("1 of the components" in line for line in headline(again)["lines"])
    assert any("circuit breaker" in str(one["components"]).lower() for one in electrical.orders(again))
    assert any("circuit breaker: replace" in item for form in electrical.forms(again) for item in form["items"])


def test_a_finding_prints_the_mark(found):
    rows = [row for kiln in findings(found, Numbered()) for one in kiln["tables"] for row in one["rows"]]
    assert any(row["done"].endswith("by E. Lectrician") for row in rows)


def test_gate_and_report_agree_on_what_tells_that_a_table_is_done():
    ties = {name.removeprefix(OF_TABLE) for point in hold_points() for need in point.needs
            for name in references(need.when) if SINCE in name}  # fmt: skip
    assert ties == {f"{name}{SINCE}{question}" for name in TABLES for question in table(name).done_by}
