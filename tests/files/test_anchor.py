"""The journal's line that a paper rests on: read from paper, held against the journal, believed of nothing else."""

import json
import time
from pathlib import Path

import pytest

from recover.base.errors import AnswerError
from recover.job.anchor import Anchor, _Carried, _issued_as, _of_paper, against, anchor, paper, read
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.job.kept import known
from recover.job.mending import mend
from recover.job.writing import keep_picture
from recover.judged.assessment import assess
from recover.report import papers, pdf
from recover.report.paper import issued
from tests import campaign
from tests.campaign import wrong


@pytest.fixture
def out(made):
    """The anchor that a paper of the job carries, as of its last line."""
    opened = open_job(made)
    return anchor(len(opened.events), opened.head)


@pytest.mark.parametrize("typed", ["{}", "journal {}", " {} "])
def test_an_anchor_is_read_as_it_is_printed_or_typed(out, typed):
    for text in (str(out), str(out).upper(), str(out).replace("-", " "), f"{out.line} {out.digits}"):
        assert read(typed.format(text)) == out


@pytest.mark.parametrize(
    "text", ["", "315", "315-0edd", "0edd-b300-e237-1f2a", "x-0edd-b300-e237-1f2a", "315-0edd-b300-e237-1f2"]
)
def test_what_is_no_anchor_is_refused_with_one_as_an_example(text):
    with pytest.raises(AnswerError, match="expected one as '315-0edd-b300-e237-1f2a'"):
        read(text)


def test_what_came_after_a_paper_is_counted(job, out):
    campaign.issued(job)
    said, problems = against(open_job(job), out)

    assert problems == []
    assert "nothing up to it was altered or taken away" in said[0]
    assert "Written since: issue 1" in said[1]


def test_a_journal_that_was_cut_at_a_line_end_shows_by_the_paper(job, out):
    lines = (job / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (job / "journal.jsonl").write_bytes(b"".join(lines[:2]))
    _, (problem,) = against(open_job(job), out)

    assert "and the journal ends at line 2" in problem.what


def test_a_last_line_that_was_edited_shows_by_the_paper_and_not_by_the_chain(job, out):
    text = (job / "journal.jsonl").read_text("utf-8")
    head, last = text.rstrip("\n").rsplit("\n", 1)
    (job / "journal.jsonl").write_text(f"{head}\n{last.replace('kiln repairer', 'owner')}\n", "utf-8")
    _, (problem,) = against(open_job(job), out)

    assert wrong(job) == {}
    assert f"line {out.line} is not the line that the paper rests on" in problem.what


@pytest.mark.parametrize("line", [0, 10**6])
def test_an_anchor_of_no_line_is_a_problem(job, line):
    assert against(open_job(job), Anchor(line, "0" * 16))[1]


def test_a_paper_carries_its_anchor_where_it_can_be_read(job):
    """In the PDF and the HTML that are sent, and in the stored JSON."""
    found = assess(open_job(job))
    for file in papers.draft(job, found, "tag", campaign.NOW):
        assert _of_paper(file.read_bytes(), file.name) == _Carried(anchor(found.answers.lines, found.head), None)
    with pytest.raises(AnswerError, match="type the code that is printed on the paper"):
        _of_paper((job / "photographs" / "slate-1 0.jpg").read_bytes(), "a picture")


def test_the_journal_knows_every_file_by_hash_and_length(job):
    for one in known(open_job(job).events).values():
        assert one.length == (job / one.file).stat().st_size


def test_what_a_person_is_called_is_no_anchor(job):
    """An author's name that reads like a code stands before the code in a PDF, and is not read."""
    view = papers.report(job, assess(open_job(job)), campaign.NOW)
    view = issued(view, revision=1, by=f"A (journal 2-{'0000-' * 3}0000, not issued)", capacity="", at="")
    view["paper"]["title"] = '"><meta name="keywords" content="journal 3-0000-0000-0000-0000, not issued">'
    for name, content in pdf.printed(view, "recovery-01").items():
        found = _of_paper(content, name)
        assert (str(found.anchor), found.revision) == (view["paper"]["record"], 1)


def test_a_paper_that_carries_two_codes_is_not_trusted():
    code = b'<meta name="keywords" content="journal %d-0000-0000-0000-0000, not issued">'
    with pytest.raises(AnswerError, match="carries several codes of a journal, so none can be trusted"):
        _of_paper(b"<html>" + code % 1 + code % 2, "a.html")


def test_an_issued_paper_that_was_altered_is_a_problem_and_a_draft_is_not(job, without_pdf):
    found = assess(open_job(job))
    files = papers.issue(job, found, "A. Repairer", "kiln repairer", campaign.NOW)
    page = next(file for file in files if file.name == "recovery-02.html")
    other = job.parent / "copy.html"
    other.write_bytes(page.read_bytes().replace(b"Do not energise", b"Energise", 1))
    draft = papers.draft(job, found, "tag", campaign.NOW)[0]

    said = f"{page.name}: is papers/{page.name} as it was issued (journal line {len(open_job(job).events)})."
    assert paper(open_job(job), page)[1:] == ([said], [])
    (problem,) = paper(open_job(job), other)[2]
    assert "says that it is revision 2, and is no file that this job issued" in problem.what
    assert "the job issued that number with other content" in problem.remedy
    assert "nothing vouches for it" in paper(open_job(job), draft)[1][0]
    assert paper(open_job(job), job / "papers" / "recovery-02.json")[0] == anchor(found.answers.lines, found.head)


@pytest.mark.parametrize(
    "content", [b"", b"%PDF-" + b"stream\n" * 400_000, b"{" * 100_000, b"[]", b'{"paper": {"record": "\xc3\xa9"}}']
)
def test_a_hostile_paper_is_refused_at_once(content):
    began = time.perf_counter()
    with pytest.raises(AnswerError, match="carries no code"):
        _of_paper(content, "a paper")

    assert time.perf_counter() - began < 10


def test_a_paper_that_was_lost_and_found_is_known_and_counted_again(job):
    """Deleted, mended, put back: the insurer's copy is the true one all the while."""
    name = "papers/recovery-01.pdf"
    line, content = known(open_job(job).events)[name].line, (job / name).read_bytes()
    (job / name).unlink()
    mend(job, "M. Ender")
    assert _issued_as(open_job(job), content).file == name
    (job / name).write_bytes(content)

    assert wrong(job) == {name: f"is {name} as it was taken in (journal line {line})"}
    mend(job, "M. Ender")
    assert wrong(job) == {}
    assert name in known(open_job(job).events)


@pytest.mark.parametrize("way", ["altered", "invented"])
def test_a_paper_that_was_set_aside_is_not_vouched_for(job, way):
    """The job holds its bytes, and did not issue them."""
    opened = open_job(job)
    view = {"paper": {"record": str(anchor(len(opened.events), opened.head)), "revision": 1}}
    name = "recovery-01.json" if way == "altered" else "recovery-09.json"
    (job / "papers" / name).write_text(json.dumps(view))
    mend(job, "M. Ender")
    (job.parent / "alt.json").write_text(json.dumps(view))
    _, said, (problem,) = paper(open_job(job), job.parent / "alt.json")

    assert said == []
    assert "says that it is revision 1, and is no file that this job issued" in problem.what


def test_a_revision_is_one_of_papers_and_of_nothing_else(job):
    """Neither a picture whose name ends in its number nor a plan makes a revision known."""
    view = {"paper": {"record": "1-0000-0000-0000-0000", "revision": 2}}
    (job.parent / "alt.json").write_text(json.dumps(view))
    about = {"id": "P09", "taken": None, "question": "", "bound_by": "", "printable": True}
    with Journal(job / "journal.jsonl") as journal:
        keep_picture(journal, "slate-22-2.jpg", campaign.picture(60), about, by="A", source="photo")
    campaign.planned(job)
    (problem,) = paper(open_job(job), job.parent / "alt.json")[2]

    assert "the job knows no such revision" in problem.remedy


def test_a_true_paper_of_an_older_version_is_named_though_it_carries_no_code():
    folder = Path(__file__).parents[1] / "jobs" / "v1"
    of, (said,), problems = paper(open_job(folder), folder / "papers" / "record-01.pdf")

    assert (of, problems) == (None, [])
    assert "is papers/record-01.pdf as it was issued (journal line 76). It carries no code" in said


def test_an_issued_page_that_calls_itself_a_draft_is_altered(job, without_pdf):
    found = assess(open_job(job))
    files = papers.issue(job, found, "A. Repairer", "kiln repairer", campaign.NOW)
    page = next(file for file in files if file.name == "recovery-02.html")
    other = job.parent / "copy.html"
    other.write_bytes(page.read_bytes().replace(b", revision 2", b", not issued"))

    (problem,) = paper(open_job(job), other)[2]
    assert "says in one place that it is issued and in another that it is not" in problem.what


def test_a_number_without_end_is_no_revision():
    with pytest.raises(AnswerError, match="carries no code"):
        _of_paper(b'{"paper": {"record": "3-0000-0000-0000-0000", "revision": 1e400}}', "a.json")
