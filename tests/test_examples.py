"""Each example worked from the call to the report: what its paper must say, and that nothing is cut."""

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pypdfium2 as pdfium
import pytest

from recover.asked.compiled import questionnaire
from recover.base.sources import BASIS_WORDS
from recover.interview import sittings
from recover.interview.script import load_answers
from recover.job.folder import Settings, open_job, start
from recover.job.journal import utc_now
from recover.judged.assessment import Assessment, assess
from recover.profiles import profile
from recover.report import papers
from recover.report.findings import PERHAPS_SHOWN
from recover.rules.gates import notices
from tests.command import run
from tests.printed import folded, pages_of, text_of

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = sorted(folder.name for folder in EXAMPLES.iterdir() if (folder / "call.toml").exists())


@dataclass(frozen=True)
class Printed:
    """An example with its printed report."""

    folder: Path
    found: Assessment
    file: Path
    text: str
    told: list[str]


def worked(name, folder):
    """Work an example as its reader would, and print its report as it is two hours after the visit."""
    given = EXAMPLES / name
    call, visit = load_answers(given / "call.toml"), load_answers(given / "answers.toml")
    paper = call.paper or profile(call.profile).paper
    visited = datetime.fromisoformat(visit.measured).replace(tzinfo=ZoneInfo(call.zone))
    clock = (visited + timedelta(hours=1)).replace
    start(folder, Settings(name, call.profile, paper, call.zone), by=call.by, clock=clock)
    told = []
    for file, source in ((call, "call.toml"), (visit, "answers.toml")):
        problems = sittings.by_file(open_job(folder), file, source, file.by, tell=told.append, clock=clock)
        assert [str(problem) for problem in problems] == []
    pictures = given / "photographs"
    assert sittings.photographs(open_job(folder), [pictures], None, call.by, tell=lambda _: None, clock=clock) == []
    found = assess(open_job(folder), visited + timedelta(hours=2))
    file = papers.draft(folder, found, "recovery", utc_now())[0]
    text = text_of(file)
    return Printed(folder, found, file, text, told)


@pytest.fixture(scope="module", params=NAMES)
def example(request, tmp_path_factory):
    return worked(request.param, tmp_path_factory.mktemp("example") / "job")


def test_there_are_five_examples_in_all_four_profiles():
    profiles = {load_answers(EXAMPLES / name / "call.toml").profile for name in NAMES}

    assert len(NAMES) == 5
    assert profiles == {"uk", "eu", "us", "au_nz"}


def test_every_component_has_an_outcome_a_reason_and_a_source_or_basis(example):
    for finding in example.found.findings:
        assert finding.words in example.text, finding.label
        assert finding.table.title in example.text or finding.words == "keep", finding.table.title
        certain = [reason for reason in finding.outcome.reasons if reason.certain]
        for reason in certain or finding.outcome.reasons[:PERHAPS_SHOWN]:
            assert folded(reason.card.because)[:60] in example.text, (finding.label, reason.card.id)
            assert BASIS_WORDS[reason.card.basis] in example.text, reason.card.id


def test_every_caution_that_its_facts_call_for_is_there_and_no_other(example):
    applied = {one.notice.id for one in example.found.group("caution")}

    for notice in notices():
        if notice.group == "caution":
            assert (folded(notice.say)[:60] in example.text) == (notice.id in applied), notice.id


def test_the_answers_of_an_example_fit_together(example):
    assert [str(problem) for problem in example.found.problems] == []


def test_core_within_ten_pages_then_forms_and_appendices(example):
    """The core ends with the limits of the report; a second kiln has an inspection, and pages, of its own."""
    pages = pages_of(example.file)
    core = next(number for number, text in enumerate(pages, start=1) if "Limits of this report" in text)

    assert core <= 10 + 5 * (len(example.found.answers.kilns) - 1)


def test_three_referrals_with_blanks_for_result_decline_name_and_licence(example):
    for title in ("the supply", "the kiln as repaired equipment", "the first energising"):
        assert title in example.text
    kilns = len(example.found.answers.kilns)
    for blank in ("Declined because", "Licence or registration", "Signature", "Findings"):
        assert example.text.count(blank) == 3 * kilns, blank


def test_weights_stand_on_the_first_page(example):
    first = folded(pages_of(example.file)[0])

    assert ("Before anybody lifts" in first) == any(one.held for one in dry_outs_of(example))


def dry_outs_of(example):
    from recover.judged.dryout import dry_outs

    return dry_outs(example.found)


def test_nothing_reaches_into_the_margins(example):
    """Seen on pictures of the pages: the outermost 9 mm are blank, and no picture is empty."""
    for number, page in enumerate(pdfium.PdfDocument(example.file), start=1):
        picture = page.render(scale=1, grayscale=True).to_pil()
        edge = round(9 / 25.4 * 72)
        inside = picture.crop((edge, edge, picture.width - edge, picture.height - edge))
        picture.paste(255, (edge, edge, picture.width - edge, picture.height - edge))

        assert picture.getextrema() == (255, 255), number
        assert inside.getextrema()[0] < 100, number


def test_no_line_of_words_overlaps_the_next_column(example):
    """Seen in the layout: every run of words ends within the text width of its page."""
    for number, page in enumerate(pdfium.PdfDocument(example.file), start=1):
        text = page.get_textpage()
        boxes = [text.get_rect(place) for place in range(text.count_rects())]
        width, _ = page.get_size()

        assert all(0 < left < right < width for left, _, right, _ in boxes), number


def test_what_is_printed_is_what_assess_says(example):
    document = json.loads(run("assess", example.folder, "--json").stdout)

    assert {(one["component"], one["table"]) for one in document["findings"]} == {
        (finding.at, finding.table.id) for finding in example.found.findings
    }


def test_every_question_has_a_place_in_some_example():
    """No question is so far off that no example answers it."""
    answered = set()
    for name in NAMES:
        for file in ("call.toml", "answers.toml"):
            answered |= {one.question.partition("@")[0] for one in load_answers(EXAMPLES / name / file).answer}
    later = {
        question.id for question in questionnaire().question if question.section in ("dried", "energise", "handover")
    }
    of_a_hot_kiln = {"event.hot"}  # asked only where the kiln was on

    assert set(questionnaire().questions) - answered - later == of_a_hot_kiln
