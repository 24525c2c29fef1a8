"""A broken journal of which there is no copy: work goes on, and nothing of it opens anything."""

import os
from hashlib import sha256

import pytest
from click.testing import CliRunner

from recover.asked.replay import DOUBTFUL
from recover.asked.told import Instrument
from recover.base.errors import DataError, JobError, JournalError
from recover.commands.check_command import check
from recover.interview import meters, sittings
from recover.interview.prompter import Leave
from recover.interview.script import AnswersFile
from recover.interview.session import Session
from recover.job.anchor import against, anchor, paper
from recover.job.folder import open_job
from recover.job.journal import VERSION, Journal, inspect, locked, utc_now
from recover.job.kept import known, papers_of
from recover.job.mending import UNKNOWN, mend
from recover.job.rescue import chain_anew, take_in_sittings
from recover.job.writing import keep_picture
from recover.judged.assessment import answers_of, assess
from recover.plan import store
from recover.report.paper import headline
from recover.report.papers import issue
from recover.report.record import photographs
from recover.report.words import words
from tests import campaign
from tests.campaign import wrong
from tests.school import school


def flipped(job, at=-3):
    """Change one letter of a line, and return the lines as they were."""
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:at], lines[at].replace(b'"by":"', b'"by":"X', 1), *lines[at + 1 :]]))
    return lines


def test_a_job_goes_on_and_says_what_became_of_its_journal(job):
    out = anchor(len(open_job(job).events), open_job(job).head)
    lines = flipped(job)
    with pytest.raises(JournalError, match="does not continue line"):
        open_job(job)
    (said,) = chain_anew(job, "A. Repairer")

    assert f"{len(lines)} lines, 0 could not be read" in said
    assert wrong(job) == {}
    assert open_job(job).events[1].data["unproved"] == len(lines) + 1
    assert len((job / "set-aside" / "journal.jsonl").read_bytes().splitlines()) == len(lines)
    assert against(open_job(job), out)[1]  # papers that are out do not agree with it any more
    (problem,) = [one for one in assess(open_job(job)).problems if one.where == "journal"]
    assert "nothing proves its lines" in problem.what


def test_nothing_of_it_opens_a_hold_point(tmp_path):
    job = school(tmp_path / "job")
    assert {hold.state for hold in assess(open_job(job)).holds if hold.point.id == "own_heat"} == {"released"}
    flipped(job, at=4)
    chain_anew(job, "")
    found = assess(open_job(job))

    assert {hold.state for hold in found.holds if hold.signatures} == {"closed"}
    assert all("that nothing proves" in one.ended for hold in found.holds for one in hold.signatures)
    missing = " ".join(line for hold in found.holds if hold.point.id == "energise" for line in hold.missing)
    assert "a journal line that nothing proves; look or measure again" in missing


def test_what_a_rescue_says_of_the_lines_is_not_cut_off_with_the_last_of_them(job):
    """It stands before all that it speaks of: whoever cuts the end leaves it, and the journal says where it ended."""
    flipped(job)
    chain_anew(job, "")
    path, until = job / "journal.jsonl", len(open_job(job).events)
    for cut in (path.read_bytes()[:-120], b"".join(path.read_bytes().splitlines(keepends=True)[:-1])):
        path.write_bytes(cut)
        with pytest.raises(JournalError, match=f"and line {until} was there when it was chained anew"):
            open_job(job)
    chain_anew(job, "")
    found = answers_of(open_job(job))

    assert {found.is_unproved(key) for key in found.given} == {True}


def test_a_rescue_whose_own_line_is_taken_out_leaves_no_answer_that_is_known(job):
    """What it doubted can be told no more."""
    altered(job, b'"value":900', b'"value":9')
    chain_anew(job, "")
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([lines[0], *lines[2:]]))
    chain_anew(job, "")

    assert {one.state for one in answers_of(open_job(job)).given.values()} == {"unknown"}


def test_a_torn_line_that_said_which_lines_nothing_proves_is_taken_at_its_worst(job):
    path = job / "journal.jsonl"
    held = len(open_job(job).events)
    with Journal(path) as journal:
        why = {"why": "a clock had run ahead", "files": {}, "unproved": held - 1}
        journal.append("set_aside", why, by="A", source="check")
    path.write_bytes(path.read_bytes()[:-80])
    told(job, {"question": "event.kind", "state": "unknown"})

    assert open_job(job).events[held].data["unproved"] == held


def test_a_job_that_an_earlier_version_rescued_opens_as_it_did(job):
    """That wrote its line behind those that it speaks of."""
    held = len(open_job(job).events)
    with Journal(job / "journal.jsonl") as journal:
        why = {"why": "chained anew", "files": {}, "unproved": held, "doubtful": [], "lost": []}
        journal.append("set_aside", why, by="A", source="check")
    told(job, {"question": "event.kind", "state": "unknown"})
    found = answers_of(open_job(job))

    assert [key for key in found.given if not found.is_unproved(key)] == ["event.kind"]


def test_a_line_of_a_component_that_cannot_be_may_have_spoken_of_any(job):
    altered(job, b'"question":"scope.kilns"', b'"question":"scope.kilns@kiln"')
    assert "does not hold what a line of its kind holds (question)" in inspect(job / "journal.jsonl")[1][0].what
    chain_anew(job, "")

    assert assess(open_job(job)).problems
    assert answers_of(open_job(job)).given["scope.fuel"].reason == DOUBTFUL


def test_what_cannot_be_read_is_left_out_and_counted(job):
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:-2], b"\x00\xff not a line\n", lines[-1]]))

    assert f"{len(lines) - 1} lines, 1 could not be read" in chain_anew(job, "")[0]


def test_a_sound_journal_is_left_alone_and_one_without_a_beginning_needs_what_it_was_begun_with(job):
    with pytest.raises(JobError, match="there is nothing to chain anew"):
        chain_anew(job, "")
    settings = open_job(job).settings
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"zone":', b'"zome":', 1).replace(b"{", b"[", 1))
    with pytest.raises(JobError, match="does not say zone any more; give what it was begun with: --profile"):
        chain_anew(job, "")
    chain_anew(job, "", {"zone": settings.zone})

    assert open_job(job).settings == settings


@pytest.mark.parametrize(
    ("good", "bad"), [(b'"profile":"uk"', b'"profile":"uj"'), (b'"format":"rec', b'"format":"rek')]
)
def test_a_rescue_ends_in_a_job_that_opens_or_changes_nothing(job, good, bad):
    altered(job, good, bad)
    before = (job / "journal.jsonl").read_bytes()
    if b"profile" in good:
        with pytest.raises(JobError, match="its first line cannot be right"):
            chain_anew(job, "")
        assert (job / "journal.jsonl").read_bytes() == before
    chain_anew(job, "", {"profile": "uk"})

    assert open_job(job).settings.profile == "uk"
    assert wrong(job) == {}


def test_what_a_kiln_is_made_of_is_said_again_before_anything_opens(tmp_path):
    """A correction that was lost would leave what it corrected."""
    job = school(tmp_path / "job")
    flipped(job)
    chain_anew(job, "")
    found = assess(open_job(job))

    missing = " ".join(line for hold in found.holds if hold.point.id == "isolated" for line in hold.missing)
    assert "a journal line that nothing proves" in missing
    assert found.answers.instruments == {}
    assert {one.bound_by for one in found.answers.photographs} <= {""}


def test_letters_that_are_none_and_lines_that_stand_twice_are_left_out(job):
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    broken = lines[2].replace(b'"by":"', b'"by":"\\ud800', 1)
    path.write_bytes(b"".join([*lines[:2], broken, *lines[3:], *lines]))

    assert f"{len(lines)} lines" in chain_anew(job, "")[0]
    assert wrong(job) == {}


def told(job, data):
    with Journal(job / "journal.jsonl") as journal:
        journal.append("answer", data, by="A", source="test")


def altered(job, old, new):
    path = job / "journal.jsonl"
    assert old in path.read_bytes()
    path.write_bytes(path.read_bytes().replace(old, new))


def test_what_stands_where_it_is_broken_is_not_known_until_it_is_given_again(job):
    """What was altered decides nothing, to either side."""
    before = assess(open_job(job))
    altered(job, b'"value":900', b'"value":9')
    chain_anew(job, "")
    found = assess(open_job(job))

    doubtful = [key for key, one in found.answers.given.items() if one.reason == DOUBTFUL]
    assert "identity.height@kiln/1" in doubtful
    assert before.answers.given["identity.height@kiln/1"].value == 900
    assert all(found.answers.given[key].state == "unknown" for key in doubtful)
    assert len(doubtful) <= 2  # the line and its neighbour; the others stand
    (problem,) = [one for one in found.problems if one.where == "journal"]
    assert "not known until given again: slate" in problem.what
    assert words().headline.journal in headline(found)["lines"]


def test_an_answer_of_a_time_that_was_altered_is_given_again(job):
    """A doubtful line says of no later answer that it is of an earlier time."""
    said = {"question": "identity.height@kiln/1", "state": "given", "value": 800, "measured": "2026-03-10T09:00+00:00"}
    for value in (800, 810):
        told(job, {**said, "value": value})
    altered(job, b'"value":800,"measured":"2026', b'"value":800,"measured":"2036')
    chain_anew(job, "")
    told(job, {**said, "value": 850, "measured": utc_now().isoformat()})

    assert answers_of(open_job(job)).given[said["question"]].value == 850


def test_a_first_line_that_is_broken_is_read_as_far_as_it_goes(job):
    path = job / "journal.jsonl"
    path.write_bytes(b"x" + path.read_bytes())
    (said,) = chain_anew(job, "")

    assert "It begins with: " in said
    assert open_job(job).settings.profile == campaign.SETTINGS.profile
    assert wrong(job) == {}


def test_a_first_line_of_letters_that_are_never_written_down_is_said_anew(job):
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"by":"', '"by":"\u202e'.encode(), 1))
    chain_anew(job, "")

    assert open_job(job).events[0].by == open_job(job).events[1].by
    assert wrong(job) == {}


def test_a_journal_of_a_newer_version_is_left_alone(job):
    altered(job, f'"version":{VERSION}'.encode(), b'"version":9')
    with pytest.raises(JobError, match="update recover"):
        chain_anew(job, "")


def test_an_issue_whose_line_was_torn_in_a_broken_journal_accuses_nobody_and_is_not_vouched_for(job):
    flipped(job)
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes()[:-90])
    before = {name: what for name, what in wrong(job).items() if name.startswith("papers/")}
    chain_anew(job, "")

    assert {name: wrong(job)[name] for name in before} == before
    assert set(before.values()) == {"is what an interruption left"}
    assert UNKNOWN not in " ".join(mend(job))
    assert wrong(job) == {}
    assert [event for event in open_job(job).events if "recovery" in papers_of(event)] == []


@pytest.mark.parametrize("broken", ["before it", "itself"])
def test_an_issue_of_which_a_line_that_nothing_proves_keeps_the_rest_is_not_issued_after_all(job, broken):
    """Whoever can change the line can change the paper and its hash with it."""
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes()[:-90])
    with Journal(path) as journal:
        assert "issue" in journal.events[-1].data["torn"]
    flipped(job, at=2 if broken == "before it" else -1)
    chain_anew(job, "")
    said = " ".join(mend(job))

    assert "it is written anew" not in said
    assert UNKNOWN not in said
    assert [event for event in open_job(job).events if "recovery" in papers_of(event)] == []


@pytest.fixture
def forged(job):
    """A rescued job in which a paper, a plan and a picture were changed, and their hashes in the journal with them."""
    told(job, {"question": "event.kind", "state": "unknown"})  # so that the chain shows it
    for name in FORGED:
        before = (job / name).read_bytes()
        (job / name).write_bytes(before + b" ")
        altered(job, sha256(before).hexdigest().encode(), sha256(before + b" ").hexdigest().encode())
    chain_anew(job, "")
    return job


FORGED = PAPER, PLAN, PICTURE = "papers/recovery-01.pdf", "plans/plan-01.json", "photographs/slate-1 0.jpg"


def test_a_line_that_may_have_been_altered_vouches_for_no_paper(forged):
    _, said, (problem,) = paper(open_job(forged), forged / PAPER)

    assert said == []
    assert "has it, and the journal was broken there" in problem.what


def test_a_line_that_nothing_proves_says_so_of_its_paper(job):
    flipped(job, at=2)
    chain_anew(job, "")
    _, (said,), _ = paper(open_job(job), job / PAPER)

    assert f"on a journal line that nothing proves, is {PAPER} as it was issued" in said


def test_a_plan_of_a_line_that_nothing_proves_is_made_anew(forged):
    with pytest.raises(DataError, match=r"which nothing proves; .* plan again"):
        store.newest(open_job(forged))


def test_a_photograph_of_a_line_that_may_have_been_altered_is_not_shown_and_of_the_others_it_is_said(forged, tmp_path):
    outside = tmp_path / "slate-1 0.jpg"
    outside.write_bytes((forged / PICTURE).read_bytes())
    rows = photographs(open_job(forged), assess(open_job(forged)))

    assert (rows[0]["src"], rows[0]["problem"]) == ("", words().doubtful)
    assert all(words().unproved in row["taken"] for row in rows)
    said = CliRunner().invoke(check, [str(forged)]).output
    assert " 0 files as they were taken in" in said
    assert "as journal lines have them that nothing proves" in said

    assert sittings.photographs(open_job(forged), [outside], "scope.fuel", "A", tell=lambda _: None) == []
    assert assess(open_job(forged)).answers.photographs[-1].bound_by == "hand"
    assert photographs(open_job(forged), assess(open_job(forged)))[-1]["src"]


def beside(job, lines):
    """Lay beside a journal what a sitting had written, under the name that the program gives it; return that."""
    name = f"set-aside/lines-of-a-sitting-{sha256(lines.splitlines()[-1]).hexdigest()[:8]}.jsonl"
    (job / "set-aside").mkdir(exist_ok=True)
    (job / name).write_bytes(lines)
    return name


HEIGHT = {"question": "identity.height@kiln/1", "state": "given", "value": 950.0}


def replaced(job, *lines):
    """Write lines in a sitting, put back the journal as it was, and lay the sitting's own beside it."""
    path = job / "journal.jsonl"
    begun = path.read_bytes()
    for kind, data in lines:
        with Journal(path) as journal:
            journal.append(kind, data, by="B", source="terminal")
    mine = path.read_bytes()
    path.write_bytes(begun)
    return beside(job, mine)


def test_a_sitting_that_was_replaced_is_taken_in_once_and_unchanged(job):
    """Two machines went on from one journal; what nobody timed stays so, and a value that was typed again counts."""
    answer = {"question": "event.kind", "state": "unknown"}
    again = {**HEIGHT, "value": 900.0}
    signed = {"hold_point": "hands_off", "at": "kiln/1"}
    replaced(job, ("note", {"question": "event.water_in", "text": "cellar"}), ("answer", HEIGHT), ("answer", again),
             ("answer", answer), ("release", signed))  # fmt: skip
    (said,) = take_in_sittings(job)

    assert "is taken in: 4 lines; left out: line 14 (release): it is signed, issued or planned anew" in said
    lines = [event for event in open_job(job).events if event.by == "B"]
    assert [event.data for event in lines][1:] == [HEIGHT, again, answer]
    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == 900
    assert take_in_sittings(job) == []
    assert wrong(job) == {}


SIGNED = {"hold_point": "energise", "at": "kiln/1", "role": "electrician", "duty": "electrical"}


def states(job, point="energise"):
    return [hold.state for hold in assess(open_job(job)).holds if hold.point.id == point]


def signature_of(job, point="energise"):
    return next(one.n for one in open_job(job).events if one.data.get("hold_point") == point)


def test_a_signature_that_was_taken_back_in_a_sitting_is_taken_back(tmp_path):
    """That can only close: nobody else knows by now why it was done."""
    job = school(tmp_path / "job")
    assert states(job) == ["released"]
    replaced(job, ("withdrawal", {"role": "electrician", "releases": [signature_of(job)]}))
    (said,) = take_in_sittings(job)

    assert "is taken in: 1 line" in said
    assert states(job) == ["ready for release"]
    assert set(states(job, "own_heat")) == {"closed"}


def test_a_signature_that_stands_on_another_line_here_is_taken_back_there(job):
    signed = ("release", SIGNED), ("withdrawal", {"role": "electrician", "releases": [10]})
    replaced(job, *signed)
    with Journal(job / "journal.jsonl") as journal:
        for kind, data in (("note", {"question": "event.kind", "text": "x"}), ("release", {**SIGNED, "licence": "7"}),
                           ("release", {**SIGNED, "at": "kiln/2"})):  # fmt: skip
            journal.append(kind, data, by="C", source="log")
    number = len(open_job(job).events)
    take_in_sittings(job)

    assert open_job(job).events[-2].data["releases"] == [number - 1]


def test_what_was_taken_back_last_before_a_line_that_was_cut_off_is_taken_back(job):
    with Journal(job / "journal.jsonl") as journal:
        number = journal.append("release", SIGNED, by="A", source="log").n
    name = replaced(job, ("withdrawal", {"role": "electrician", "releases": [number]}), ("answer", HEIGHT))
    (job / name).write_bytes((job / name).read_bytes()[:-90])
    take_in_sittings(job)

    assert [event.data["releases"] for event in open_job(job).events if event.kind == "withdrawal"] == [[number]]


def test_taking_back_what_is_not_signed_here_is_left_out(job):
    replaced(job, ("release", SIGNED), ("withdrawal", {"role": "electrician", "releases": [10]}))

    assert "(withdrawal): nothing is signed there" in take_in_sittings(job)[0]


GOOD = {"id": "I1", "what": "insulation tester", "serial": "1", "calibrated": "2031-12-31"}
OLD = {**GOOD, "serial": "2", "calibrated": "2019-12-31"}
READ = {"question": "wire.insulation@kiln/1/wiring/power", "state": "given", "value": 5.0, "instrument": "I1"}


def test_a_meter_of_a_sitting_takes_no_other_meters_id(job):
    """Else a reading by a meter that was out of date would be one by another that was in date."""
    replaced(job, ("instrument", GOOD), ("reading", {**READ, "value": 9.0, "measured": "2026-03-10T09:00+00:00"}))
    with Journal(job / "journal.jsonl") as journal:
        journal.append("instrument", OLD, by="C", source="terminal")
        journal.append("reading", READ, by="C", source="terminal")
    take_in_sittings(job)
    found = answers_of(open_job(job))

    assert [(one.value, found.instruments[one.instrument].serial) for one in found.history[READ["question"]]] == [
        (5, "2"), (9, "1"),
    ]  # fmt: skip


@pytest.mark.parametrize("others", [0, 1, 2])
def test_a_meter_of_a_sitting_keeps_its_id_where_that_is_its_own_or_free(job, others):
    """A take-in that was stopped half way goes on with the id that it gave."""
    replaced(job, ("instrument", GOOD), ("reading", READ))
    with Journal(job / "journal.jsonl") as journal:
        for data in (OLD, {**GOOD, "id": "I1 (2)"})[:others]:
            journal.append("instrument", data, by="B", source="terminal")
    take_in_sittings(job)

    of = {one.id: one.serial for one in answers_of(open_job(job)).instruments.values()}
    assert of == ({"I1": "2", "I1 (2)": "1"} if others else {"I1": "1"})
    assert [event.kind for event in open_job(job).events].count("instrument") == len(of)


def pictured(job, name, number, by):
    with Journal(job / "journal.jsonl") as journal:
        about = {"id": name, "taken": None, "question": "", "bound_by": "", "printable": True}
        keep_picture(journal, f"{number}.jpg", campaign.picture(number), about, by=by, source="photo")


def test_a_picture_of_a_sitting_takes_no_other_pictures_number(job):
    """What its answers name as their document goes with it."""
    path = job / "journal.jsonl"
    good = path.read_bytes()
    pictured(job, "P07", 77, "B")
    told(job, {**HEIGHT, "document": "P07, page 2"})
    mine = path.read_bytes()
    path.write_bytes(good)
    pictured(job, "P07", 78, "C")
    beside(job, mine)
    take_in_sittings(job)
    found = answers_of(open_job(job))

    assert [(one.id, one.file) for one in found.photographs][-2:] == [
        ("P07", "photographs/78.jpg"), ("P08", "photographs/77.jpg"),
    ]  # fmt: skip
    assert found.given[HEIGHT["question"]].document == "P08, page 2"


def test_a_number_of_a_picture_is_never_given_again(job, tmp_path):
    """One is lost with its line, another is named by an answer alone."""
    new = tmp_path / "new.jpg"
    for number in (70, 71, 72):
        new.write_bytes(campaign.picture(number))
        sittings.photographs(open_job(job), [new], "scope.fuel", "A", tell=lambda _: None)
    *_, middle, last = [one.id for one in answers_of(open_job(job)).photographs]
    altered(job, b'"id":"%s"' % middle.encode(), b'"od":"%s"' % middle.encode())
    chain_anew(job, "")
    new.write_bytes(campaign.picture(73))
    sittings.photographs(open_job(job), [new], "scope.fuel", "A", tell=lambda _: None)
    told(job, {**HEIGHT, "document": "P41"})
    new.write_bytes(campaign.picture(74))
    sittings.photographs(open_job(job), [new], "scope.fuel", "A", tell=lambda _: None)

    numbers = [one.id for one in answers_of(open_job(job)).photographs]
    assert numbers[-3:] == [last, f"P{int(last[1:]) + 1:02d}", "P42"]


def test_an_id_that_was_given_to_two_meters_names_none(job):
    """An older journal may hold that: the readings count against, never for."""
    with Journal(job / "journal.jsonl") as journal:
        for kind, data in (("instrument", OLD), ("reading", READ), ("instrument", GOOD)):
            journal.append(kind, data, by="B", source="terminal")

    assert answers_of(open_job(job)).instruments == {}


def test_what_a_sitting_had_written_is_said_wherever_the_job_is_looked_at_until_it_is_taken_in(job):
    name = replaced(job, ("answer", HEIGHT))
    what = "holds what a sitting had written when another program put another journal in the place of its own"

    assert wrong(job) == {name: what}
    assert [one.what for one in assess(open_job(job)).of_files] == [what]
    with pytest.raises(DataError, match=rf"{what}.*\n.*nothing was issued"):
        issue(job, assess(open_job(job)), "A. Repairer", "kiln repairer", campaign.NOW)
    take_in_sittings(job)
    assert wrong(job) == {}
    assert assess(open_job(job)).of_files == []


def test_what_a_sitting_had_written_is_not_lost_where_the_other_journal_is_broken(job):
    """It is named as the copy that it is; who goes on without it has its answers, which nothing proves."""
    name = replaced(job, ("answer", HEIGHT), ("answer", {"question": "scope.fuel", "state": "unknown"}))
    altered(job, b'"value":900', b'"value":9')
    assert name in wrong(job)
    chain_anew(job, "")
    (said,) = take_in_sittings(job)
    found = answers_of(open_job(job))

    assert said == f"{name}: the journal holds all of it"
    assert found.given["scope.fuel"].state == "unknown"
    assert HEIGHT in [event.data for event in open_job(job).events]
    assert all(found.is_unproved(key) for key in found.given)
    assert wrong(job) == {}


def test_the_last_line_of_a_sitting_is_proved_by_the_name_of_its_file(job):
    name = replaced(job, ("note", {"question": "event.water_in", "text": "cellar"}), ("answer", HEIGHT))
    (job / name).write_bytes((job / name).read_bytes().replace(b"950.0", b"750.0"))
    (said,) = take_in_sittings(job)

    assert "taken in: 1 line; left out: line 11 (answer): it is not the one that was written last" in said
    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == 900


def test_what_nothing_proved_in_a_sitting_is_not_taken_in(job):
    """A journal that had been chained anew was open when a copy of the good one came back."""
    good = (job / "journal.jsonl").read_bytes()
    altered(job, b'"value":900', b'"value":9')
    chain_anew(job, "")
    told(job, {"question": "event.kind", "state": "unknown"})
    mine = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(good)
    beside(job, mine)
    take_in_sittings(job)

    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == 900
    assert [event.data["question"] for event in open_job(job).events if event.by == "A"] == ["event.kind"]


def test_lines_of_another_job_are_set_aside(job):
    other = (job / "journal.jsonl").read_bytes().splitlines(keepends=True)[0].replace(b'"by":"', b'"by":"X', 1)
    beside(job, other)

    assert "it holds no lines of this job" in take_in_sittings(job)[0]
    assert take_in_sittings(job) == []
    assert wrong(job) == {}


def test_of_a_sitting_that_was_damaged_what_can_be_read_is_named_to_be_done_again(job):
    """Nothing proves what it says; nobody may believe that it was kept."""
    name = replaced(job, ("answer", HEIGHT), ("note", {"question": "event.water_in", "text": "cellar"}),
                    ("withdrawal", {"role": "electrician", "releases": [3]}))  # fmt: skip
    (job / name).write_bytes((job / name).read_bytes().replace(b"950.0", b"750.0"))
    (said,) = take_in_sittings(job)

    assert "it was damaged or altered: nothing of it is taken in; set aside in" in said
    assert said.endswith("What to do: answer identity.height@kiln/1 again (B); note “cellar” again (B); "
                         "take the signature back again (B)")  # fmt: skip
    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == 900
    assert wrong(job) == {}


def test_a_sitting_whose_first_line_is_damaged_is_of_the_job(job):
    name = replaced(job, ("answer", HEIGHT))
    (job / name).write_bytes(b"x" + (job / name).read_bytes())

    assert "answer identity.height@kiln/1 again (B)" in take_in_sittings(job)[0]


def test_a_last_line_of_a_sitting_that_was_cut_off_is_named(job):
    name = replaced(job, ("note", {"question": "event.water_in", "text": "cellar"}), ("answer", HEIGHT))
    (job / name).write_bytes((job / name).read_bytes()[:-90])
    (said,) = take_in_sittings(job)

    assert "a last line that was cut off: answer identity.height@kiln/1 again (B)" in said


@pytest.mark.parametrize("kind", ["pipe", "link", "folder"])
def test_what_only_has_the_name_of_a_sitting_is_neither_read_nor_overlooked(job, kind, tmp_path):
    (job / "set-aside").mkdir(exist_ok=True)
    name, outside = job / "set-aside" / "lines-of-a-sitting-0123abcd.jsonl", tmp_path / "outside.jsonl"
    outside.write_bytes((job / "journal.jsonl").read_bytes())
    make = {"pipe": lambda: os.mkfifo(name), "link": lambda: name.symlink_to(outside), "folder": name.mkdir}
    make[kind]()

    assert take_in_sittings(job) == []
    assert f"set-aside/{name.name}" in wrong(job)


# ---------------------------------------------------------------------------------------- what is lost, and twice


def test_where_a_correction_can_be_read_no_more_what_it_corrected_does_not_count(job):
    told(job, {**HEIGHT, "value": 120.0})
    told(job, {"question": "event.kind", "state": "unknown"})
    told(job, {"question": "event.salt", "state": "unknown"})
    altered(job, b'"value":120.0', b'"valu":120.0')
    chain_anew(job, "")

    assert answers_of(open_job(job)).given[HEIGHT["question"]].state == "unknown"


@pytest.mark.parametrize("how", ["the line that says so is damaged", "a line before it is lost"])
def test_a_second_rescue_takes_nothing_of_the_first_back(job, how):
    altered(job, b'"value":900', b'"value":9')
    chain_anew(job, "")
    told(job, {"question": "event.kind", "state": "unknown"})
    told(job, {"question": "event.salt", "state": "unknown"})
    if how.startswith("the line"):
        altered(job, b'"doubtful":', b'"doubtfu":')
    else:
        path = job / "journal.jsonl"
        lines = path.read_bytes().splitlines(keepends=True)
        path.write_bytes(b"".join([lines[0], *lines[2:]]))
    chain_anew(job, "")

    assert answers_of(open_job(job)).given[HEIGHT["question"]].reason == DOUBTFUL


def test_a_journal_whose_end_was_cut_off_after_a_rescue_gives_no_earlier_value_back(job):
    """The lines that are gone may have corrected any; that they are gone stays said."""
    told(job, {**HEIGHT, "value": 600.0})
    told(job, {"question": "event.kind", "state": "unknown"})
    flipped(job, at=6)
    chain_anew(job, "")
    path = job / "journal.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-2]))
    (said,) = chain_anew(job, "")
    found = answers_of(open_job(job))

    assert "lines up to 12 had been there, and it ended at line 10" in said
    assert "lines up to 12 had been there" in open_job(job).events[1].data["why"]
    assert {one.state for one in found.given.values()} == {"unknown"}


@pytest.mark.parametrize("lost", [False, True])
def test_at_a_rescue_an_older_word_of_a_sitting_does_not_take_the_place_of_what_was_answered_since(job, lost):
    """Where a line can be read no more that may have been the answer, nobody knows."""
    replaced(job, ("answer", {**HEIGHT, "value": 700.0}))
    told(job, {**HEIGHT, "value": 600.0})
    told(job, {"question": "event.kind", "state": "unknown"})
    if lost:
        altered(job, b'"data":{"question":"identity.height@kiln/1","state":"given","value":600.0}', b'"data":{}')
    else:
        flipped(job, at=6)
    chain_anew(job, "")

    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == (None if lost else 600)


def test_a_rescue_that_was_stopped_half_way_accuses_nobody(job):
    flipped(job)
    (job / "set-aside").mkdir(exist_ok=True)
    (job / "set-aside" / "journal.jsonl").write_bytes((job / "journal.jsonl").read_bytes())
    chain_anew(job, "")

    assert wrong(job) == {}


def test_a_rescue_waits_for_nobody_who_writes(job):
    flipped(job)
    with locked(job / "journal.jsonl"), pytest.raises(JournalError, match="another program is writing"):
        chain_anew(job, "")


def test_a_last_line_that_is_cut_off_is_said_wherever_the_job_is_looked_at(job):
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes()[:-200])
    found = assess(open_job(job))

    assert any("last line was cut off" in problem.what for problem in found.problems)
    assert words().headline.journal in headline(found)["lines"]


def test_a_rescue_is_not_undone_by_a_sitting_that_was_open_before(job):
    """The sitting holds the lines that nothing proves now, and one of its own from before the rescue."""
    replaced(job, ("note", {"question": "event.water_in", "text": "cellar"}))
    flipped(job, at=4)
    chain_anew(job, "")
    (said,) = take_in_sittings(job)
    found = answers_of(open_job(job))

    assert "the journal holds all of it" in said
    assert all(found.is_unproved(key) for key in found.given)


def test_what_was_answered_since_is_not_undone_by_an_older_word_without_a_time(job):
    replaced(job, ("answer", {**HEIGHT, "value": 700.0}))
    told(job, {**HEIGHT, "value": 600.0})
    (said,) = take_in_sittings(job)

    assert "it was answered since" in said
    assert answers_of(open_job(job)).given[HEIGHT["question"]].value == 600


def test_a_take_in_that_was_stopped_half_way_doubles_nothing(job):
    """The first line was written before the program was stopped."""
    lines = [{**HEIGHT, "value": value} for value in (700.0, 600.0)]
    replaced(job, *(("answer", data) for data in lines))
    with Journal(job / "journal.jsonl") as journal:
        journal.append("answer", lines[0], by="B", source="terminal")
    take_in_sittings(job)

    assert [event.data for event in open_job(job).events if event.by == "B"][:2] == lines


def test_pictures_that_a_sitting_had_taken_in_are_its_own(job):
    good = (job / "journal.jsonl").read_bytes()
    with Journal(job / "journal.jsonl") as journal:
        about = {"id": "P9", "taken": None, "question": "", "bound_by": "", "printable": True}
        keep_picture(journal, "late.jpg", campaign.picture(77), about, by="B", source="photo")
    mine = (job / "journal.jsonl").read_bytes()
    (job / "journal.jsonl").write_bytes(good)
    beside(job, mine)
    take_in_sittings(job)

    assert wrong(job) == {}
    assert "photographs/late.jpg" in known(open_job(job).events)


@pytest.mark.parametrize("how", ["moved to the top", "its beginning stands further down", "copied further up"])
def test_a_line_that_was_moved_costs_no_other_line(job, how):
    path = job / "journal.jsonl"
    told(job, {**HEIGHT, "value": 120.0})
    told(job, {"question": "event.kind", "state": "unknown"})
    lines = path.read_bytes().splitlines(keepends=True)
    moved = {"moved to the top": [lines[-2], *lines[:-2], lines[-1]],
             "its beginning stands further down": [lines[1], lines[0], *lines[2:]],
             "copied further up": [lines[0], lines[-2], *lines[1:]]}[how]  # fmt: skip
    path.write_bytes(b"".join(moved))
    chain_anew(job, "")
    found = answers_of(open_job(job))

    assert found.given["scope.fuel"].state in ("given", "unknown")
    assert len(open_job(job).events) == len(lines) + 1
    assert found.given[HEIGHT["question"]].value in (120, None)


@pytest.mark.parametrize("bad", [b'"doubtful":[9', b'"losu":', b"erased"])
def test_no_second_fault_takes_the_doubt_of_the_first_away(job, bad):
    altered(job, b'"value":900', b'"value":9')
    chain_anew(job, "")
    told(job, {"question": "event.kind", "state": "unknown"})
    path = job / "journal.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    at = next(number for number, line in enumerate(lines) if b'"doubtful"' in line)
    if bad == b"erased":
        del lines[at]
    else:
        old = b'"doubtful":[' if bad.startswith(b'"doubtful"') else b'"lost":'
        lines[at] = lines[at].replace(old, bad)
    path.write_bytes(b"".join(lines))
    chain_anew(job, "")

    assert answers_of(open_job(job)).given[HEIGHT["question"]].state == "unknown"


def test_a_whole_first_line_is_not_written_over(job):
    flipped(job)
    with pytest.raises(JobError, match="its first line is whole, and says"):
        chain_anew(job, "", {"profile": "us"})


def test_a_last_line_whose_end_was_filled_up_is_whole(job):
    path = job / "journal.jsonl"
    before = path.read_bytes()
    path.write_bytes(before[:-1] + b"\0" * 64)
    told(job, {"question": "event.kind", "state": "unknown"})

    assert path.read_bytes().startswith(before)
    assert wrong(job) == {}


def test_an_id_that_a_meter_had_before_a_rescue_is_no_other_meters(job):
    """Older readings say by which meter they were taken; the same one is registered again under its own."""
    with Journal(job / "journal.jsonl") as journal:
        journal.append("instrument", OLD, by="B", source="terminal")
        journal.append("reading", READ, by="B", source="terminal")
    flipped(job)
    chain_anew(job, "")
    found = answers_of(open_job(job))

    assert found.instruments == {}
    assert meters.free_number(found.registered) == "I2"
    of_a_file = [AnswersFile("A", instrument=[Instrument(**one)]) for one in (GOOD, OLD)]
    with pytest.raises(DataError, match="is registered already as insulation tester 2; give this one an id of its own"):
        sittings.by_file(open_job(job), of_a_file[0], "b", "A", tell=lambda _: None)
    sittings.by_file(open_job(job), of_a_file[1], "b", "A", tell=lambda _: None)
    assert [one.serial for one in answers_of(open_job(job)).instruments.values()] == ["2"]


class Looks:
    """Looks at what is put before whoever answers, and leaves."""

    def head(self, _, before, *__):
        self.seen = before

    def ask(self, asked):
        self.seen = asked
        return Leave()

    def __getattr__(self, _):
        return lambda *_, **__: None


@pytest.mark.parametrize("way", ["a form", "questions"])
def test_whoever_registers_a_meter_after_a_rescue_is_told_which_ids_are_taken(job, way):
    with Journal(job / "journal.jsonl") as journal:
        journal.append("instrument", OLD, by="B", source="terminal")
    flipped(job)
    chain_anew(job, "")
    looks = Looks()
    with Journal(job / "journal.jsonl") as journal:
        session = Session(open_job(job), journal, looks, by="A", source="terminal")
        session.forms(looks, utc_now()) if way == "a form" else session.straight_through()

    assert [one.id for one in looks.seen.registered] == ["I1"]
    assert list(looks.seen.instruments) == []
