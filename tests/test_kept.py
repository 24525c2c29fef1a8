"""The files of a job: proved before they are read, finished or set aside after an interruption, never written over."""

import json
from shutil import copytree

import pytest

from recover.anchor import Anchor, against, anchor, of_paper, read
from recover.assessment import assess
from recover.errors import AnswerError, DataError, JobError
from recover.job import open_job, start
from recover.journal import Journal
from recover.kept import BEING_WRITTEN, UNKNOWN, integrity, keep, keep_picture, known, listed, mend, next_number, settle
from recover.plan import store
from recover.report import papers
from recover.report.record import photographs
from tests import campaign, faults
from tests.campaign import SETTINGS


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A job with answers, photographs, a plan and an issue."""
    return campaign.worked(tmp_path_factory.mktemp("kept") / "job")


@pytest.fixture
def job(made, tmp_path):
    """A copy of it, to be changed."""
    return copytree(made, tmp_path / "job")


def wrong(folder):
    return {one.where: one.what for one in integrity(folder)}


# ---------------------------------------------------------------------------------------- what is read is proved


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda file: file.write_bytes(file.read_bytes()[:-1]), "is not the file that was taken in (journal line"),
        (lambda file: file.write_bytes(b""), "is not the file that was taken in (journal line"),
        (lambda file: file.unlink(), "is missing (journal line"),
    ],
)
@pytest.mark.parametrize("name", ["photographs/slate-1 0.jpg", "papers/recovery-01.pdf", "plans/plan-01.json"])
def test_a_file_that_was_changed_emptied_or_is_missing_is_named_with_its_line(job, name, change, said):
    change(job / name)

    assert list(wrong(job)) == [name]
    assert wrong(job)[name].startswith(said)


def test_ramps_that_were_written_into_a_stored_plan_are_printed_nowhere(job):
    plan = job / "plans" / "plan-01.json"
    stored = plan.read_text("utf-8")
    plan.write_text(stored.replace('"ramp_k_h": 60', '"ramp_k_h": 300'), "utf-8")

    assert plan.read_text("utf-8") != stored
    with pytest.raises(DataError, match=r"plan-01.json: is not the file that was taken in .*plan again: recover plan"):
        store.newest(open_job(job))
    view = papers.report(job, assess(open_job(job)), campaign.NOW)
    assert view["plan"] is None
    assert "is not the file that was taken in" in view["no_plan"]


def test_photographs_that_were_swapped_are_not_shown_and_the_paper_says_so(job):
    one, other = (job / "photographs" / f"slate-1 {number}.jpg" for number in (0, 1))
    first = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(first)
    shown = photographs(open_job(job), assess(open_job(job)))

    assert [bool(row["src"]) for row in shown] == [False, False, True]
    assert ["is not the file" in row["problem"] for row in shown] == [True, True, False]


@pytest.mark.parametrize("name", ["photographs/slate-1 0.jpg", "papers/record-01.pdf", "plans/plan-01.json"])
def test_nothing_is_issued_on_a_job_with_a_file_that_does_not_match(job, name):
    (job / name).write_bytes(b"another")

    with pytest.raises(DataError, match=rf"{name}: is not the file.*\n.*nothing was issued; recover check"):
        papers.issue(job, assess(open_job(job)), "A. Repairer", "kiln repairer", campaign.NOW)
    assert next_number(open_job(job).events, "recovery") == 2


def test_what_is_past_mending_is_set_aside_by_name_and_work_goes_on(job):
    """A lost photograph must not stop a claim for ever; that it is lost stays written."""
    (job / "photographs" / "slate-1 0.jpg").unlink()
    (job / "plans" / "plan-01.json").write_bytes(b"{}")
    mend(job, "M. Ender")
    line = open_job(job).events[-1]

    assert wrong(job) == {}
    assert (line.kind, line.by, line.data["missed"]) == ("set_aside", "M. Ender", ["photographs/slate-1 0.jpg"])
    assert (job / "set-aside" / "plan-01.json").read_bytes() == b"{}"
    assert store.newest(open_job(job)) is None
    assert next_number(open_job(job).events, "plan") == 2
    row = photographs(open_job(job), assess(open_job(job)))[0]
    assert (row["src"], "was set aside, or was missing" in row["problem"]) == ("", True)


def test_a_name_is_not_given_to_another_picture_after_the_first_was_set_aside(job):
    name, about = "slate-1 0.jpg", {"id": "P09", "taken": None, "question": "", "bound_by": "", "printable": True}
    (job / "photographs" / name).write_bytes(b"changed")
    mend(job, "M. Ender")
    with Journal(job / "journal.jsonl") as journal:
        other = keep_picture(journal, name, campaign.picture(50), about, by="A", source="photo")
        same = keep_picture(journal, name, campaign.picture(0), {**about, "id": "P10"}, by="A", source="photo")

    assert (other.data["file"], same.data["file"]) == ("photographs/slate-1 0 (2).jpg", f"photographs/{name}")
    first, *_, of_other, again = photographs(open_job(job), assess(open_job(job)))
    assert (first["src"] == again["src"], bool(of_other["src"])) == (True, True)
    assert wrong(job) == {}


# ---------------------------------------------------------------------------------------- interruptions


def test_an_issue_that_was_stopped_half_way_is_set_aside_and_its_number_is_not_given_again(job):
    at = next(at for at in range(1, 60) if _left(job, at) == ["recovery-02.pdf"])
    faults.run(lambda: campaign.issued(job), at)
    assert all("interruption" in what for what in wrong(job).values())
    told = settle(job)
    campaign.issued(job)

    assert "an interruption came while it was written; set aside in" in told[0]
    assert (job / "set-aside" / "recovery-02.pdf").exists()
    assert (job / "papers" / "recovery-03.pdf").exists()
    assert wrong(job) == {}


def test_an_issue_that_was_stopped_before_its_line_is_finished(job):
    """All of it is on the disk as it was to be written: nothing is lost, and the number is used."""
    lines = len(open_job(job).events)
    last = max(at for at in range(1, 60) if _still_unknown(job, at, lines))
    faults.run(lambda: campaign.issued(job), last)
    told = settle(job)

    assert "it is all kept" in told[0]
    assert open_job(job).events[-1].data["revision"] == 2
    assert wrong(job) == {}


def _left(job, at):
    """Return which papers of an issue lie in their place when it is stopped at an operation."""
    trial = copytree(job, job.parent / f"left-{at}")
    faults.run(lambda: campaign.issued(trial), at)
    return sorted(file.name for file in (trial / "papers").glob("*-02.*"))


def _still_unknown(job, at, lines):
    trial = copytree(job, job.parent / f"try-{at}")
    ended = faults.run(lambda: campaign.issued(trial), at, share=0)
    return ended.end == "killed" and len(open_job(trial).events) == lines


def test_a_paper_that_no_line_knows_is_told_from_an_interruption(job):
    """Its line was cut off, or it was put there: nothing says that it was being written."""
    lines = (job / "journal.jsonl").read_bytes().splitlines(keepends=True)
    (job / "journal.jsonl").write_bytes(b"".join(lines[:-1]))

    assert set(wrong(job).values()) == {UNKNOWN}
    assert UNKNOWN in settle(job)[0]
    assert next_number(open_job(job).events, "recovery") == 2


def test_a_forged_note_of_what_was_being_written_moves_nothing_out_of_the_job(job, tmp_path):
    outside = tmp_path / "mine.txt"
    outside.write_text("mine")
    of = {"sha256": "0" * 64, "length": 4, "to": "set-aside/mine.txt"}
    data = {"why": "", "files": {"../mine.txt": of, "papers/../../mine.txt": of}}
    note = {"kind": "set_aside", "data": data, "by": "A", "source": "check", "head": open_job(job).head}
    (job / BEING_WRITTEN).write_text(json.dumps(note))
    settle(job)

    assert outside.read_text() == "mine"
    assert wrong(job) == {}


@pytest.mark.parametrize("content", [b"", b"[]", b"{}", b"\xff", b"[" * 100_000, b'{"kind": 1}'])
def test_a_note_that_cannot_be_read_stops_nobody(job, content):
    (job / BEING_WRITTEN).write_bytes(content)

    assert list(wrong(job)) == [BEING_WRITTEN]
    assert settle(job) == []
    assert wrong(job) == {}


def test_a_start_that_was_broken_off_is_begun_again(tmp_path):
    """Before its first line was whole: neither verb sends the user to the other."""
    folder = tmp_path / "job"
    (folder / "photographs").mkdir(parents=True)
    (folder / "journal.jsonl").write_bytes(b'{"n":1,"at":"2026')

    with pytest.raises(JobError, match="begin with: recover start"):
        open_job(folder)
    assert len(start(folder, SETTINGS, by="A").events) == 1


def test_nothing_is_written_over_and_nothing_through_a_link(job, tmp_path):
    def kept_over(name):
        about = {"papers": ["recovery"], "revision": 1, "files": listed({name: b"{}"})}
        with Journal(job / "journal.jsonl") as journal:
            keep(journal, {name: b"{}"}, "issue", about, by="A", source="report")

    with pytest.raises(JobError, match="nothing is ever overwritten"):
        kept_over("papers/recovery-01.json")
    (tmp_path / "elsewhere").mkdir()
    (job / "plans").rename(tmp_path / "plans")
    (job / "plans").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(JobError, match="is a link to another place"):
        kept_over("plans/plan-09.json")
    assert list((tmp_path / "elsewhere").iterdir()) == []


# ---------------------------------------------------------------------------------------- an anchor outside


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
        assert of_paper(file) == anchor(found.answers.lines, found.head)
    with pytest.raises(AnswerError, match="type the code that is printed on it"):
        of_paper(job / "photographs" / "slate-1 0.jpg")


def test_the_journal_knows_every_file_by_hash_and_length(job):
    for one in known(open_job(job).events).values():
        assert one.length == (job / one.file).stat().st_size
