"""A broken journal of which there is no copy: work goes on, and nothing of it opens anything."""

import pytest

from examples.story import tell
from recover.base.errors import JobError, JournalError
from recover.job.anchor import against, anchor
from recover.job.folder import open_job
from recover.job.journal import utc_now
from recover.job.rescue import chain_anew
from recover.judged.assessment import assess
from tests.campaign import wrong


def flipped(job, at=-3):
    """Change one letter of a line, and return the lines as they were."""
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:at], lines[at].replace(b'"by":"', b'"by":"X', 1), *lines[at + 1 :]]))
    return lines


def test_a_job_goes_on_and_says_what_became_of_its_journal(job):
    out = anchor(len(open_job(job).events), open_job(job).head)
    lines = flipped(job)
    with pytest.raises(JournalError, match="does not continue the line before it"):
        open_job(job)
    (said,) = chain_anew(job, "A. Repairer")

    assert f"{len(lines)} lines, 0 could not be read" in said
    assert wrong(job) == {}
    assert open_job(job).events[-1].data["unproved"] == len(lines)
    assert len((job / "set-aside" / "journal.jsonl").read_bytes().splitlines()) == len(lines)
    assert against(open_job(job), out)[1]  # papers that are out do not agree with it any more
    (problem,) = [one for one in assess(open_job(job)).problems if one.where == "journal"]
    assert "nothing proves its lines" in problem.what


def test_nothing_of_it_opens_a_hold_point(tmp_path):
    job = tmp_path / "job"
    list(tell(job, utc_now()))
    assert {hold.state for hold in assess(open_job(job)).holds if hold.point.id == "own_heat"} == {"released"}
    flipped(job, at=4)
    chain_anew(job, "")
    found = assess(open_job(job))

    assert {hold.state for hold in found.holds if hold.signatures} == {"closed"}
    assert all("broken journal" in one.ended for hold in found.holds for one in hold.signatures)
    missing = " ".join(line for hold in found.holds if hold.point.id == "energise" for line in hold.missing)
    assert "a broken journal, which nothing proves; look or measure again" in missing


def test_what_cannot_be_read_is_left_out_and_counted(job):
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:-2], b"\x00\xff not a line\n", lines[-1]]))

    assert f"{len(lines) - 1} lines, 1 could not be read" in chain_anew(job, "")[0]


def test_a_sound_journal_is_left_alone_and_one_without_a_beginning_is_refused(job):
    with pytest.raises(JobError, match="there is nothing to chain anew"):
        chain_anew(job, "")
    path = job / "journal.jsonl"
    path.write_bytes(b"x" + path.read_bytes())
    with pytest.raises(JobError, match="not even its beginning can be read"):
        chain_anew(job, "")


def test_what_a_kiln_is_made_of_is_said_again_before_anything_opens(tmp_path):
    """A correction that was lost would leave what it corrected."""
    job = tmp_path / "job"
    list(tell(job, utc_now()))
    flipped(job)
    chain_anew(job, "")
    found = assess(open_job(job))

    missing = " ".join(line for hold in found.holds if hold.point.id == "isolated" for line in hold.missing)
    assert "a broken journal, which nothing proves" in missing
    assert found.answers.instruments == {}
    assert {one.bound_by for one in found.answers.photographs} <= {""}


def test_letters_that_are_none_and_lines_that_stand_twice_are_left_out(job):
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    broken = lines[2].replace(b'"by":"', b'"by":"\\ud800', 1)
    path.write_bytes(b"".join([*lines[:2], broken, *lines[3:], *lines]))

    assert f"{len(lines)} lines" in chain_anew(job, "")[0]
    assert wrong(job) == {}
