"""The papers: what they say, that nothing is fetched or lost, and that an issued one stands."""

import json
import re
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from shutil import copytree

import pytest
from pypdf import PdfReader

from recover.asked.compiled import questionnaire
from recover.interview.script import Prepared, Script, load_answers
from recover.interview.session import Session
from recover.job.anchor import anchor
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal, utc_now
from recover.job.mending import integrity
from recover.judged.assessment import assess, assess_answers
from recover.report import papers, pdf
from recover.report.call_sheets import tag
from recover.report.record import record
from recover.report.recovery import recovery
from tests.conftest import NOW
from tests.printed import folded, pages_of, text_of, without_pango

DEMO = Path(__file__).parents[1] / "examples" / "school-art-block"
GOLDEN = Path(__file__).parent / "golden"


def make_job(folder, extra=()):
    """Make the demo job on disk, as it is written in the minute before NOW, with further answers if there are any."""
    clock = (NOW - timedelta(minutes=1)).replace
    start(folder, Settings("school-art-block", "uk", "A4", "Europe/London"), by="A. Repairer", clock=clock)
    call, visit = load_answers(DEMO / "call.toml"), load_answers(DEMO / "answers.toml")
    replaced = {one.question for one in extra}
    called = [replace(one, measured=one.measured or call.measured) for one in call.answer]
    answers = [one for one in (*called, *visit.answer) if one.question not in replaced]
    script = Script(replace(visit, answer=[*answers, *extra]), "demo", questionnaire())
    with Journal(folder / "journal.jsonl", clock) as journal:
        session = Session(
            open_job(folder), journal, script, by="A. Repairer", role=visit.role, source="demo", clock=clock
        )
        for instrument in visit.instrument:
            session.register(instrument)
        session.scripted(script)
        session.photographs(sorted((DEMO / "photographs").iterdir()), 30, lambda _: None)
    script.finish()
    assert script.problems == []
    return folder


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return make_job(tmp_path_factory.mktemp("report") / "job")


@pytest.fixture(scope="module")
def issued_once(tmp_path_factory, job):
    """The demo's job with its first issue, and the files of that: to be looked at, and to be copied."""
    folder = copytree(job, tmp_path_factory.mktemp("issued") / "job")
    return folder, papers.issue(folder, assess(open_job(folder)), "A. Repairer", "kiln repairer", utc_now())


@pytest.fixture
def issued_job(tmp_path, issued_once):
    """The demo's job with its first issue, to be changed."""
    return copytree(issued_once[0], tmp_path / "job")


def recovery_report(folder):
    found = assess(open_job(folder))
    return found, papers.draft(folder, found, "recovery", utc_now())[0]


@pytest.fixture(scope="module")
def printed(job):
    """The demo's report as a draft: its assessment, the file, its words."""
    found, path = recovery_report(job)
    return found, path, text_of(path)


@pytest.fixture(scope="module")
def of_nothing(tmp_path_factory):
    """The report of a job of which nothing is known, on Letter."""
    folder = tmp_path_factory.mktemp("nothing") / "job"
    start(folder, Settings("job", "us", "Letter", "America/Chicago"), by="A. Repairer")
    return recovery_report(folder)[1]


def test_a_job_of_which_nothing_is_known_is_still_a_short_paper(of_nothing):
    assert len(PdfReader(of_nothing).pages) <= 22
    assert "more rules may apply; an answer settles which" in text_of(of_nothing)


def test_a_draft_says_so_and_names_its_journal_line(printed):
    found, _, text = printed

    assert "draft" in text.lower()
    assert str(anchor(found.answers.lines, found.head)) in text


@pytest.mark.parametrize("kind", ["first-days", "bring-list", "tag"])
def test_each_sheet_is_one_page_with_its_referral(job, kind):
    path = papers.draft(job, assess(open_job(job)), kind, utc_now())[0]

    assert path.suffix == ".pdf"
    assert len(PdfReader(path).pages) == 1
    assert "electrician" in text_of(path)


def test_papers_come_in_the_jobs_size(printed, of_nothing):
    for path, points in ((printed[1], (595, 842)), (of_nothing, (612, 792))):
        box = PdfReader(path).pages[0].mediabox
        assert (round(box.width), round(box.height)) == points


def test_the_pdf_is_tagged_titled_and_bookmarked(printed):
    reader = PdfReader(printed[1])

    assert reader.metadata.title
    assert reader.outline
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_table_headers_have_a_scope_and_pictures_have_words(job):
    document = pdf.html(papers.report(job, assess(open_job(job)), utc_now()))

    assert all("scope=" in header for header in re.findall(r"<th\b[^>]*>", document))
    visit = pdf.html(record(open_job(job), assess(open_job(job)), utc_now()))
    assert all("scope=" in header for header in re.findall(r"<th\b[^>]*>", visit))
    pictures = re.findall(r"<img\b[^>]*>", visit)
    assert len(pictures) >= 6
    assert all(re.search(r'alt="[^"]+"', picture) for picture in pictures)


EVIL = '<img src="file:///etc/passwd"><script>alert(1)</script> & {{ 7 * 7 }} <link rel=stylesheet href="http://x.invalid/a.css">'
LACKED = "窯 \U0001f525 Ω"


@pytest.fixture(scope="module")
def odd(tmp_path_factory):
    """The record of a job with markup, with characters that the fonts lack and with long words: its PDF and HTML."""
    plate = Prepared("identity.plate@kiln/1", f"{EVIL} {LACKED} {'W' * 300}", note=f"{EVIL} {'M' * 300}")
    folder = make_job(tmp_path_factory.mktemp("odd") / "job", extra=[plate])
    return papers.draft(folder, assess(open_job(folder)), "record", utc_now())


def test_markup_in_answers_comes_out_as_text_and_fetches_nothing(odd):
    assert "alert(1)" in text_of(odd[0])
    assert "{{ 7 * 7 }}" in text_of(odd[0])
    assert "<script>" not in odd[1].read_text("utf-8")


@pytest.mark.parametrize("address", ["http://x.invalid/a.png", "file:///etc/hostname"])
def test_an_address_from_outside_is_refused_when_printing(job, address):
    from recover.base.errors import PaperError

    document = pdf.html(tag(open_job(job), assess(open_job(job)), utc_now()))
    assert pdf.pdf(document).startswith(b"%PDF")

    with pytest.raises(PaperError, match=r"could not be laid out as designed: .*disallowed protocol"):
        pdf.pdf(document.replace("</body>", f'<img alt="x" src="{address}"></body>'))


def test_a_character_that_the_fonts_lack_is_printed_as_its_code_and_kept_in_the_html(odd):
    assert "[U+7AAF] [U+1F525] Ω" in text_of(odd[0])
    assert LACKED in odd[1].read_text("utf-8")


def test_long_words_do_not_run_off_the_page(odd):
    text = "".join(pages_of(odd[0])).replace("\n", "")

    assert text.count("W") >= 300
    assert text.count("M") >= 300  # the note


# ---------------------------------------------------------------------------------------- issuing


def test_an_issued_report_is_numbered_recorded_and_never_overwritten(issued_once, issued_job, monkeypatch):
    folder, files = issued_job, issued_once[1]
    event = open_job(folder).events[-1]
    stored = json.loads((folder / "papers" / "recovery-01.json").read_text("utf-8"))

    names = {f"{kind}-01.{suffix}" for kind in ("recovery", "record") for suffix in ("pdf", "html", "json")}
    assert {file.name for file in files} == names
    assert (event.kind, event.data["revision"], event.by, event.data["capacity"]) == (
        "issue",
        1,
        "A. Repairer",
        "kiln repairer",
    )
    assert stored["paper"]["issued"] == {
        "by": "A. Repairer",
        "capacity": "kiln repairer",
        "at": stored["paper"]["issued"]["at"],
    }
    assert "draft" not in text_of(files[0]).lower()

    monkeypatch.setattr(pdf, "pdf", lambda _: b"%PDF")  # of the second is asked what it is called
    again = papers.issue(folder, assess(open_job(folder)), "A. Repairer", "kiln repairer", utc_now())
    assert again[0].name == "recovery-02.pdf"
    assert integrity(folder) == []


def test_a_draft_after_an_issue_says_that_the_answers_may_have_changed(issued_job):
    view = papers.report(issued_job, assess(open_job(issued_job)), utc_now())

    assert "Revision 1 was issued on" in folded(pdf.html(view))


def test_a_changed_issued_paper_shows(issued_job):
    folder = issued_job
    stored = folder / "papers" / "recovery-01.json"
    stored.write_text(stored.read_text("utf-8").replace("replace", "keep"), "utf-8")

    assert [problem.where for problem in integrity(folder)] == ["papers/recovery-01.json"]


def test_a_stored_view_prints_again_as_it_was(issued_once):
    folder = issued_once[0]
    stored = json.loads((folder / "papers" / "recovery-01.json").read_text("utf-8"))

    assert pdf.html(stored) == (folder / "papers" / "recovery-01.html").read_text("utf-8")


# ---------------------------------------------------------------------------------------- without Pango


def test_without_pango_the_html_is_written_and_what_to_install_is_said(job, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "recover", "report", str(job), "--sheets"], env=without_pango(tmp_path),
        capture_output=True, text=True, stdin=subprocess.DEVNULL,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert "tag-draft.html" in done.stdout
    assert "tag-draft.pdf" not in done.stdout
    assert "PDF needs the Pango library" in done.stderr


# ---------------------------------------------------------------------------------------- golden view


def test_the_view_of_the_demo_is_as_it_was_last_read_by_a_person(job):
    """After a wanted change: read the difference, then write the new file with RECOVER_GOLDEN=1."""
    import os

    found = assess(open_job(job), NOW)
    plain = recovery(open_job(job), assess_answers(found.answers, found.job, "uk", "0" * 64), utc_now())
    plain["paper"] |= {"made": "", "rules": "", "program": ""}
    for kiln in plain["dryings"]:
        kiln["curves"] = len(kiln["curves"])  # drawn to the last digit of a processor; tests/test_plots.py reads them
    text = json.dumps(plain, ensure_ascii=False, indent=1) + "\n"
    golden = GOLDEN / "recovery.json"
    if os.environ.get("RECOVER_GOLDEN"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(text, "utf-8")

    assert json.loads(text) == json.loads(golden.read_text("utf-8"))
