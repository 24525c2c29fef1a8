"""The blank form and the interview come from the same data."""

import pytest
from pypdf import PdfReader

from recover.profiles import PROFILES, profile
from recover.questions import questionnaire
from recover.report import pdf
from recover.report.form import branch, form


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    view = form(questionnaire(), "A4", "registered electrician")
    path = pdf.write(view, tmp_path_factory.mktemp("form"), "form")[0]
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


@pytest.mark.parametrize("question", questionnaire().question, ids=lambda question: question.id)
def test_every_question_stands_on_the_form_with_its_choices(question, printed):
    assert f"{question.slate} {question.ask}"[:60] in printed
    for choice in question.choices:
        assert choice.label in printed
    for detail in question.details:
        assert detail.ask in printed


def test_the_form_carries_cautions_referral_and_the_stop(printed):
    assert "Never switch this kiln on to find out" in printed
    assert "does not replace an electrician's inspection" in printed
    assert "Stop here. A gas or solid-fuel kiln" in printed


def test_a_branch_is_said_by_slate_number():
    questions = questionnaire().questions

    assert (
        branch(questionnaire(), questions["safe.dead"].ask_if) == "7 is “yes: isolated, locked or key held, and tagged”"
    )


@pytest.mark.parametrize("name", PROFILES)
def test_the_form_prints_in_every_profiles_paper(name):
    chosen = profile(name)
    document = pdf.html(form(questionnaire(), chosen.paper, chosen.terms.electrician))

    assert f"size: {chosen.paper}" in document
    assert chosen.terms.electrician in document
