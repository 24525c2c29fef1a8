"""Whose kiln it is, where it stands and whom to ring: on the papers that need it, and waited for by nothing."""

from dataclasses import replace
from functools import cache

import pytest

from recover.asked.compiled import questionnaire
from recover.interview.script import AnswersFile, Prepared
from recover.interview.sittings import by_file, call_is_open
from recover.job.folder import Settings, open_job, start
from recover.report import pdf
from recover.report.call_sheets import bring_list, first_days
from recover.report.handover import handover
from recover.report.recovery import recovery
from recover.report.status import COLUMNS, LINES, screen
from recover.report.status_view import status_view
from tests.conftest import NOW, answers_from, assessed
from tests.printed import folded, pages_of
from tests.status_job import at, glance, outside, through
from tests.test_assessment import READY
from tests.test_plan_papers import job, opened, sheet

SAID = {
    "scope.owner": "The potter, 00000 000001",
    "scope.place": "Shed behind the house, 1 Example Lane",
    "scope.access": "A. Neighbour, 00000 000002",
    "scope.electrician": "E. Lectrician, 00000 000003",
}
INSURED = {"claim.insured": "yes", "claim.policy": "An insurer, policy 12, claim 34"}
LABELS = {
    "scope.owner": "Owner or keeper", "scope.place": "Stands at", "scope.access": "Who lets in",
    "scope.electrician": "Electrician", "claim.policy": "Insurer, policy and claim number",
}  # fmt: skip
BY_HAND = ["Kiln repairer", "Who switched off, where, when"]


@cache
def told(*names, **more):
    """A kiln of which so much was said: by default all."""
    return assessed({**READY, **{name: SAID[name] for name in names or SAID}, **more})


def insured():
    return assessed({**READY, **SAID, **INSURED})


def lines(view):
    return {row["label"]: row["value"] for row in view["parties"]}


def all_of(*names):
    return {LABELS[name]: {**SAID, **INSURED}[name] for name in names}


def standing(found):
    """How the hold points stand and what they lack, what the rules find, and what does not fit together."""
    holds = [(hold.point.id, hold.at, hold.state, [*map(str, hold.unmet)]) for hold in found.holds]
    return holds, [(one.at, one.words) for one in found.findings], [*map(str, found.problems)]


# ---------------------------------------------------------------------------------------- the papers


def test_the_report_says_whose_it_is_where_and_who_lets_in_and_the_insurers_numbers_with_the_claim():
    view = recovery(job(), insured(), NOW)

    assert lines(view) == all_of("scope.owner", "scope.place", "scope.access")
    assert {"label": "Policy and claim", "value": INSURED["claim.policy"]} in view["claim"]
    assert lines(recovery(job(), assessed(READY), NOW)) == {}


def test_it_stands_on_the_first_page_in_print():
    view = recovery(job(), insured(), NOW)
    first = folded(pages_of(pdf.pdf(pdf.html(view)))[0])

    assert all(said in first for said in lines(view).values())


def test_the_certificate_says_whose_kiln_is_handed_over_and_where_and_of_nobodys_door():
    assert lines(handover(job(), told(), NOW)) == all_of("scope.owner", "scope.place")
    assert SAID["scope.owner"] in pdf.html(handover(job(), told(), NOW))
    assert lines(handover(job(), assessed(READY), NOW)) == {}


def test_the_bring_list_says_where_to_go_and_whom_to_ring():
    assert lines(bring_list(job(), told(), NOW)) == all_of(*SAID)
    assert SAID["scope.place"] in pdf.html(bring_list(job(), told(), NOW))


def test_on_the_first_days_sheet_a_number_that_was_said_is_printed_and_one_that_was_not_has_room():
    known, unknown = first_days(job(), insured(), NOW), first_days(job(), assessed(READY), NOW)

    assert known["blanks"] == BY_HAND
    assert lines(known) == all_of(*SAID, "claim.policy")
    assert unknown["blanks"] == [LABELS["scope.electrician"], LABELS["claim.policy"], *BY_HAND]
    assert lines(unknown) == {}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("of", [lambda: assessed(READY), insured, lambda: told("scope.owner", "scope.place")])
def test_the_first_days_stay_one_page_whatever_was_said(paper, of):
    assert len(pages_of(pdf.pdf(pdf.html(first_days(job(paper), of(), NOW))))) == 1


def test_by_the_kiln_the_electricians_number_stands_where_it_was_said_and_room_for_it_where_it_was_not():
    known = sheet("own", replace(opened(), answers=answers_from({**READY, **SAID})))

    assert {"label": "Electrician", "value": SAID["scope.electrician"]} in known["call"]
    assert {"label": "Electrician", "value": ""} in sheet("own")["call"]
    assert [row["label"] for row in known["call"]].count("Electrician") == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("kiln", ["own", "outside"])
def test_by_the_kiln_stands_where_help_is_sent_and_it_stays_one_page(kiln, paper):
    view = sheet(kiln, replace(opened(), answers=answers_from({**READY, **SAID})), paper)
    pages = pages_of(pdf.pdf(pdf.html(pdf.fitted(view))))

    assert lines(view) == all_of("scope.owner", "scope.place", "scope.access")
    assert len(pages) == 1
    assert all(said in folded(pages[0]) for said in SAID.values())
    assert lines(sheet(kiln)) == {}


@pytest.mark.parametrize("nothing", ["-", "none", " . "])
def test_words_that_say_nothing_are_printed_nowhere(nothing):
    found = assessed({**READY, "scope.owner": nothing, "scope.electrician": nothing})

    assert lines(recovery(job(), found, NOW)) == {}
    assert LABELS["scope.electrician"] in first_days(job(), found, NOW)["blanks"]


def test_what_somebody_wrote_is_text_on_a_paper_and_no_markup():
    found = assessed({**READY, "scope.owner": "<b>Clay & Co</b>"})

    for view in (recovery, handover, bring_list, first_days):
        printed = pdf.html(view(job(), found, NOW))
        assert "&lt;b&gt;Clay &amp; Co&lt;/b&gt;" in printed
        assert "<b>Clay" not in printed


@pytest.mark.parametrize("make", [recovery, handover])
def test_a_paper_that_was_issued_before_this_was_asked_prints_as_it_was(make):
    view = make(job(), assessed(READY), NOW)
    del view["parties"]

    assert "Owner or keeper" not in pdf.html(view)


# ---------------------------------------------------------------------------------------- the screen


def test_where_a_job_stands_says_in_one_line_whose_it_is_and_where_and_no_line_where_it_was_not_said():
    look = glance(replace(opened(), answers=answers_from({**READY, **SAID})), outside(), at(3, 14.1), *through(3))
    shown = [line for line in screen(look) if line.startswith("whose")]

    assert len(shown) == 1
    assert shown[0].startswith("whose    The potter, 00000 000001; Shed behind the house")
    assert len(shown[0]) <= COLUMNS
    assert len(screen(look)) <= LINES
    assert lines(status_view(look)) == all_of(*SAID)
    silent = screen(glance(opened(), outside(), at(3, 14.1), *through(3)))
    assert not any(line.startswith("whose") for line in silent)


# ---------------------------------------------------------------------------------------- nothing waits


def test_nothing_is_found_opened_or_closed_by_it():
    assert standing(told()) == standing(assessed(READY))
    assert standing(assessed({**READY, "safe.water_gone": "no"})) != standing(assessed(READY))


def test_it_may_be_left_out_and_nothing_that_is_open_matters_for_it():
    open_now = {one.question.id: one for one in assessed(READY).open if one.question.id in SAID}

    assert all(questionnaire().questions[name].optional for name in SAID)
    assert all(not one.matters for one in open_now.values())
    assert set(open_now) == set(SAID)


CALL = {
    "scope.fuel": "electric", "scope.kilns": "1", "scope.connection@kiln/1": "plug", "scope.supplies": ["one_known"],
    "safe.water_gone": "yes", "safe.upstream@kiln/1": "locked", "event.source": "mains", "event.reach@kiln/1": "base",
}  # fmt: skip


def call(folder, given):
    """A job whose call was answered so far, and whose sheets were written."""
    start(folder, Settings("job", "uk", "A4", "Europe/London"), by="A. Repairer")
    answers = [Prepared(name, value) for name, value in given.items()]
    problems = by_file(open_job(folder), AnswersFile("A", answer=answers), "f", "A", tell=lambda _: None)
    (folder / "papers").mkdir()
    (folder / "papers" / "first-days-draft.html").touch()
    return open_job(folder), problems


def test_a_call_on_which_nobody_said_whose_it_is_is_over(tmp_path):
    asked = {question.id for question in questionnaire().question if question.call}
    assert asked == {name.partition("@")[0] for name in CALL} | set(SAID)

    over, problems = call(tmp_path / "over", CALL)
    assert problems == ()
    assert not call_is_open(over)


def test_a_call_on_which_nobody_said_whether_it_is_isolated_goes_on(tmp_path):
    less = {name: value for name, value in CALL.items() if not name.startswith("safe.upstream")}

    assert call_is_open(call(tmp_path / "less", {**less, **SAID})[0])


def test_each_says_why_it_is_asked():
    assert all(questionnaire().questions[name].why for name in (*SAID, "claim.policy"))
