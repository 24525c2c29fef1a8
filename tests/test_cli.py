"""The command line: exit statuses, what is printed where, and what is never imported for nothing."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from examples.story import tell
from recover.base.fingerprint import parts
from recover.commands.cli import verbs
from recover.job.folder import Settings, open_job, start
from recover.job.journal import utc_now
from recover.report.verdict import LINES
from recover.rules.table import TABLES
from tests.command import run

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "school-art-block"
BAD = Path(__file__).parent / "bad"
PICTURE = DEMO / "photographs" / "room.jpg"


def process(*words, **options):
    """Run `recover` in a process of its own, without a terminal."""
    return subprocess.run(
        [sys.executable, "-m", "recover", *map(str, words)],
        capture_output=True, text=True, encoding="utf-8", stdin=subprocess.DEVNULL, **options,
    )  # fmt: skip


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """The demo job, made as the demo makes it."""
    folder = tmp_path_factory.mktemp("cli") / "school kiln"
    for words in (
        ("start", folder, "--answers", DEMO / "call.toml"),
        ("inspect", folder, "--answers", DEMO / "answers.toml"),
        ("photo", folder, DEMO / "photographs"),
    ):
        done = process(*words)
        assert done.returncode == 0, done.stderr
    return folder


def test_importing_the_command_line_loads_nothing_heavy():
    """Measured in a fresh interpreter, by sys.modules."""
    heavy = {"weasyprint", "numpy", "numba", "questionary", "pydantic", "pint", "jinja2", "PIL", "rich"}
    code = f"import sys, recover.commands.cli; print(sorted(set(sys.modules) & {heavy}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


def test_help_names_the_verbs_in_the_order_of_the_work():
    shown = run("--help").stdout.partition("Commands:")[2]
    order = ("start", "inspect", "photo", "assess", "plan", "log", "report", "check")
    places = [shown.index(f"  {verb} ") for verb in order]
    assert places == sorted(places)


def test_the_call_writes_three_papers(job):
    assert {"first-days-draft", "bring-list-draft", "tag-draft"} <= {
        path.stem for path in (job / "papers").glob("*.pdf")
    }


def test_a_gas_kiln_stops_the_call(tmp_path, without_pdf):
    (tmp_path / "gas.toml").write_text(
        'format = "recover-answers"\nversion = 1\nby = "B"\nprofile = "eu"\nzone = "UTC"\n'
        '[[answer]]\nquestion = "scope.fuel"\nvalue = "gas"\n'
    )
    done = run("start", tmp_path / "j", "--answers", tmp_path / "gas.toml")

    assert done.returncode == 0
    assert "Stop: a competent gas engineer first." in done.stdout
    assert "Next, on site" not in done.stdout
    assert "Stop here." in done.stderr


def test_a_water_line_above_the_kilns_top_is_said_at_once_and_until_it_is_mended(tmp_path, without_pdf):
    wanted = {
        "scope.fuel": "electric", "scope.kilns": "1", "event.reach@kiln/1": "over",
        "event.water_line@kiln/1": "70 in", "identity.height@kiln/1": "60 in",
    }  # fmt: skip
    lines = [f'[[answer]]\nquestion = "{key}"\nvalue = "{value}"' for key, value in wanted.items()]
    head = 'format = "recover-answers"\nversion = 1\nby = "B"\nprofile = "us"\nzone = "America/Chicago"'
    (tmp_path / "a.toml").write_text("\n".join([head, *lines]))
    said = run("start", tmp_path / "j", "--answers", tmp_path / "a.toml")
    done = run("assess", tmp_path / "j")

    assert said.returncode == 0
    assert "the water line stands above the top of the kiln; measure both again" in said.stderr
    assert done.returncode == 1
    assert "slate 22: 1\u202f778 mm" in done.stdout
    issued = run("report", tmp_path / "j", "--issue", "--by", "B", "--as", "kiln repairer")
    assert issued.returncode == 0
    assert "issued with what does not fit: kiln 1" in issued.stderr.lower()


def test_the_sheets_of_the_call_can_be_made_anew(job, without_pdf):
    (job / "papers" / "tag-draft.html").unlink()

    assert run("report", job, "--sheets").returncode == 0
    assert (job / "papers" / "tag-draft.html").exists()


def test_assess_prints_one_json_document_and_nothing_else(job):
    done = run("assess", job, "--json")
    document = json.loads(done.stdout)

    assert done.stderr == ""
    assert {hold["id"]: hold["state"] for hold in document["holds"]}["energise"] == "closed"
    assert document["findings"]
    assert document["cautions"]
    assert "electrician" in document["referral"]


def test_assess_in_words_carries_cautions_and_referral(job):
    shown = run("assess", job, "--all").stdout

    assert "caution " in shown
    assert "its lower edge is at" in shown
    assert "does not replace an electrician's inspection" in shown


def test_assess_ends_in_one_screen_and_with_all_of_it_before_that_where_asked(job):
    short, whole = run("assess", job).stdout.splitlines(), run("assess", job, "--all").stdout.splitlines()

    assert len(short) <= LINES
    assert whole[-len(short) + 1 :] == short[1:]  # the head has the minute
    assert len(whole) > 4 * LINES


def test_a_release_is_refused_while_anything_is_missing(job):
    done = run("log", job, "--release", "energise", "--by", "E. Lectrician", "--as", "electrician", "--licence", "E 1")

    assert done.returncode == 1
    assert "stays closed; missing:" in done.stderr


@pytest.fixture(scope="module")
def dead(tmp_path_factory):
    """The school's job on the electrician's day: isolated, locked and proven dead, and not yet signed for."""
    folder = tmp_path_factory.mktemp("dead") / "job"
    for step, _ in tell(folder, utc_now()):
        if step.answers == "2-dead-for-parts.toml":
            break
    return folder


@pytest.fixture
def locked(dead, tmp_path):
    """A copy of it."""
    return Path(shutil.copytree(dead, tmp_path / "job"))


ELECTRICIAN = ("--by", "E. Lectrician", "--as", "electrician", "--licence", "0001-demo")


def test_a_release_is_recorded_with_name_role_licence_and_what_it_rests_on(locked):
    done = run("log", locked, "--release", "hands_off", *ELECTRICIAN)
    last = open_job(locked).events[-1]

    assert done.returncode == 0, done.stderr
    assert "released: Hands off" in done.stdout
    assert "by E. Lectrician, electrician, 0001-demo; it ends when anything that it rests on changes" in done.stdout
    assert (last.kind, last.by) == ("release", "E. Lectrician")
    assert [last.data[name] for name in ("duty", "role", "licence")] == ["hold_key", "electrician", "0001-demo"]
    assert last.data["rests_on"]["safe.upstream@kiln/1"] > 0


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (ELECTRICIAN[:4], "signs with a licence or registration number; give it with --licence"),
        ((*ELECTRICIAN[:4], "--licence", "-"), "signs with a licence or registration number; give it with --licence"),
        ((*ELECTRICIAN[:3], "attendant"), "does not sign for Hands off here; expected whoever holds the key"),
        ((*ELECTRICIAN[:3], "caretaker"), "'caretaker' is no role that signs here; expected one of"),
    ],
)
def test_a_release_in_a_role_that_may_not_sign_or_without_its_licence_is_refused(locked, words, message):
    done = run("log", locked, "--release", "hands_off", *words)

    assert done.returncode == 1
    assert message in done.stderr
    assert open_job(locked).events[-1].kind != "release"


def test_a_signature_is_taken_back_by_name_and_the_log_says_so(locked):
    run("log", locked, "--release", "hands_off", *ELECTRICIAN)
    without = run("log", locked, "--withdraw", "hands_off", *ELECTRICIAN[:4])
    done = run("log", locked, "--withdraw", "hands_off", *ELECTRICIAN[:4], "--reason", "The padlock is another's")
    after = run("log", locked).stdout
    again = run("log", locked, "--release", "hands_off", *ELECTRICIAN).stdout

    assert without.returncode == 2
    assert "--reason WHY" in without.stderr
    assert open_job(locked).events[-2].data["reason"] == "The padlock is another's"
    assert "): The padlock is another's; look at that first" in after
    assert "--release hands_off" not in after
    assert "Before that it was taken back by E. Lectrician, electrician (journal line " in again
    assert "The padlock is another's" in again
    assert done.returncode == 0, done.stderr
    assert "taken back: Hands off" in done.stdout
    assert "ended: taken back by E. Lectrician, electrician (journal line " in run("log", locked).stdout
    assert run("log", locked, "--withdraw", "hands_off", "--release", "hands_off", *ELECTRICIAN).returncode == 2


def test_a_release_needs_a_person(job):
    assert run("log", job, "--release", "hands_off").returncode == 2


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("log", "--by", "A", "--as", "owner"), "--by, --as: only together with --release or --withdraw"),
        (("log", "--component", "kiln/1"), "--component: only together with --release or --withdraw"),
        (("log", "--licence", "1"), "--licence: only together with --release"),
        (
            ("log", "--withdraw", "lift", "--by", "A", "--as", "owner", "--licence", "1"),
            "--licence: only together with --release;",
        ),
        (("report", "--by", "A", "--as", "owner"), "--by, --as: only together with --issue"),
        (("check", "--by", "A"), "--by: only together with --mend"),
        (("check", "--mend", "--zone", "UTC"), "--zone: only together with --without-copy"),
    ],
)
def test_an_option_that_belongs_to_another_is_not_passed_over_in_silence(words, message):
    """Whoever signs and forgets --release would take the list for a signature."""
    done = CliRunner().invoke(verbs, [words[0], "j", *words[1:]])

    assert done.exit_code == 2
    assert message in " ".join(done.output.split())


def test_a_hold_point_that_does_not_exist_is_refused(job):
    done = run("log", job, "--release", "everything", "--by", "A", "--as", "b")

    assert done.returncode == 1
    assert "there is no hold point 'everything'; expected one of hands_off" in done.stderr


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        (("inspect", "nowhere"), 1, "holds no journal.jsonl, so it is no job"),
        (("inspect",), 2, "Missing argument"),
        (("fire",), 2, "No such command"),
        (("start", "j", "--profile", "mars"), 2, "Invalid value"),
        (
            ("start", "j", "--by", "A", "--profile", "uk", "--zone", "Mars/Base"),
            1,
            "the time zone 'Mars/Base' is not known",
        ),
        (("start", "j", "--by", "A", "--profile", "uk"), 2, "give the answers with --answers FILE"),
        (
            ("start", "j", "--profile", "uk", "--answers", BAD / "answers-unknown-key.toml"),
            1,
            "the key 'colour' is not known",
        ),
        (("start", "j", "--answers", BAD / "answers-deep.toml"), 1, "is nested too deeply to be read"),
        (("start", "j", "--answers", BAD / "answers-deep-by-dots.toml"), 1, "is nested too deeply to be read"),
        (("simulate", BAD / "answers-deep-by-dots.toml"), 1, "is nested too deeply to be read"),
        (("check", "--table", BAD / "answers-deep-by-dots.toml"), 1, "is nested too deeply to be read"),
        (("start", "j", "--answers", BAD / "answers-number-too-long.toml"), 1, "number longer than TOML knows"),
        (
            ("start", "j", "--answers", BAD / "answers-number-of-another-base-too-long.toml"),
            1,
            "number longer than TOML knows",
        ),
        (("calc", "bank", "--connection", "single", "--volts", "230", "--kw", "1", "--strings", "9" * 400), 2, "range"),
        (("start", "j", "--answers", "/dev/zero"), 1, "is no plain file of at most 10 MB"),
        (("check", "--table", "/dev/zero"), 1, "is no plain file of at most 10 MB"),
        (("simulate", "/dev/zero"), 1, "is no plain file of at most 10 MB"),
        (("check", "--table", BAD / "rules-gap.toml"), 1, "rules-gap.toml: has a gap"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(words, status, message, tmp_path, monkeypatch, without_pdf):
    monkeypatch.chdir(tmp_path)
    done = run(*words)

    assert done.returncode == status
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_wrong_answers_are_all_named_at_once_and_the_right_ones_are_kept(tmp_path, without_pdf):
    done = run("start", tmp_path / "j", "--answers", BAD / "answers-wrong.toml")

    assert done.returncode == 1
    assert done.stderr.count("answers-wrong.toml [") == 9
    assert (tmp_path / "j" / "papers" / "first-days-draft.html").exists()
    kept = [event for event in open_job(tmp_path / "j").events if event.kind == "reading"]
    assert [one.data["question"] for one in kept] == ["wire.insulation@kiln/1/wiring/power"]  # by no meter


def test_a_picture_that_is_none_is_named_and_the_others_are_taken(job, tmp_path):
    (tmp_path / "slate-22.jpg").write_bytes(b"not a picture")

    done = run("photo", job, tmp_path)

    assert done.returncode == 1
    assert "is no picture that can be opened" in done.stderr


def test_a_picture_for_a_question_that_is_not_asked_is_refused(job):
    picture = DEMO / "photographs" / "room.jpg"
    done = run("photo", job, picture, "--question", "gear.reached@kiln/9")

    assert done.returncode == 1
    assert "no question 'gear.reached@kiln/9' is asked in this job" in done.stderr
    assert run("photo", job, picture, "--question", "event.reach@kiln/1").returncode == 0


def test_a_folder_without_pictures_is_named(job, tmp_path):
    assert "no picture in" in run("photo", job, tmp_path).stderr


def test_check_proves_the_tables_and_counts_them():
    done = run("check")

    assert done.returncode == 0, done.stderr
    for table in ("call", "switching", "wiring", "controller"):
        assert table in done.stdout
    assert "own limit" in done.stdout or "own_limit" in done.stdout


def test_the_grid_is_there_to_read_and_sign():
    shown = run("check", "--grid").stdout

    assert shown.count("Read and agreed:") == len(TABLES)
    assert "## Hold points" in shown
    assert "## Limits" in shown


def test_the_compiled_questions_are_one_json_document():
    document = json.loads(run("check", "--questions").stdout)

    assert (document["format"], document["version"]) == ("recover-questionnaire", 1)


def test_check_of_a_job_finds_an_edited_journal_line(job, tmp_path):
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(job, copy)
    assert run("check", copy).returncode == 0

    journal = copy / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"electric"', b'"gas"', 1))
    done = run("check", copy)

    assert done.returncode == 1
    assert "one of the two was edited, or lines there were added or removed" in done.stderr


def test_check_of_a_job_says_what_decides_otherwise_than_when_its_papers_were_issued(job, tmp_path):
    """A job that was issued by other limits, and one of an older version, which did not write the parts down."""
    import shutil

    from recover.job.folder import open_job
    from recover.job.journal import Journal

    for name, told, says in (("other", {"parts": {**parts(), "profiles": "0" * 64}}, "other than now: the limits."),
                             ("same", {"parts": parts()}, ""), ("old", {}, "was not written down then")):  # fmt: skip
        copy = shutil.copytree(job, tmp_path / name)
        about = {"papers": ["recovery"], "revision": 1, "files": {}, "record": "", "rules": "", "capacity": "owner"}
        with Journal(open_job(copy).journal) as journal:
            journal.append("issue", {**about, **told}, by="A", source="test")
        done = run("check", copy)

        assert done.returncode == 0
        assert says in done.stdout
        assert ("Since recovery 1 was made" in done.stdout) is bool(says)


def test_check_of_a_job_finds_a_changed_photograph(job, tmp_path):
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(job, copy)
    picture = next((copy / "photographs").iterdir())
    picture.write_bytes(picture.read_bytes() + b" ")

    assert "is not the file that was taken in" in run("check", copy).stderr


def test_nothing_that_another_hand_wrote_commands_the_terminal(job, tmp_path):
    """In a journal, in the note of what is being written, in the name of a file."""
    copy, steers = tmp_path / "copy", "\x1b]0;owned\x07\u202e"
    shutil.copytree(job, copy)
    (copy / "being-written.json").write_text(json.dumps(steers), "utf-8")
    (copy / "photographs" / f"stray{steers}.jpg").write_bytes(b"a stray")
    (copy / f"pictures{steers}.txt").write_text("no picture")
    first, *lines = (copy / "journal.jsonl").read_text("utf-8").splitlines(keepends=True)
    for written in (first, first.replace('"kind"', f'"ki{steers}nd"'), first[:-1] + steers + "\n"):
        (copy / "journal.jsonl").write_text("".join([written, *lines]), "utf-8")
        for words in (("check", copy), ("photo", copy, copy / f"pictures{steers}.txt"), ("check", copy, "--mend")):
            done = run(*words)
            assert not set(done.stdout + done.stderr) & set("\x1b\x07\u202e")
            assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("text", "shown"),
    [("12\u00a0mm, 1\u202f000 \u03a9\n\tzwj\u200d", "12\u00a0mm, 1\u202f000 \u03a9\n\tzwj\u200d"),
     ("\x1b[2J\r\x85", r"\x1b[2J\r\x85"), ("a\u202eb\u2066\udcf6", r"a\u202eb\u2066\udcf6")],
)  # fmt: skip
def test_what_is_printed_keeps_its_blanks_and_shows_commands_by_their_number(text, shown):
    from recover.base.measures import as_shown

    assert as_shown(text) == shown


@pytest.mark.parametrize("verb", [("report", "--sheets")])
def test_a_folder_that_cannot_be_written_to_is_a_sentence(job, tmp_path, without_pdf, verb):
    """A file stands where the papers go, as on a full or a read-only disk something else would."""
    (tmp_path / "copy").mkdir()
    shutil.copy(job / "journal.jsonl", tmp_path / "copy")
    (tmp_path / "copy" / "papers").write_text("a file")
    done = run(verb[0], tmp_path / "copy", *verb[1:])

    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "cannot be written (File exists); nothing of it was kept" in done.stderr


@pytest.mark.parametrize("way", [("-m", "recover"), ("-c", "from recover.__main__ import main; main()")])
def test_ctrl_c_while_the_program_is_still_being_read_in_ends_quietly(tmp_path, way):
    (tmp_path / "click.py").write_text("raise KeyboardInterrupt")
    first = os.pathsep.join([str(tmp_path), str(Path(__file__).parent.parent)])
    done = subprocess.run([sys.executable, *way, "check"], capture_output=True, text=True, check=False,
                          env={**os.environ, "PYTHONPATH": first})  # fmt: skip

    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
    assert 'recover = "recover.__main__:main"' in (Path(__file__).parent.parent / "pyproject.toml").read_text("utf-8")


def test_a_call_that_nobody_can_answer_makes_no_job(tmp_path):
    done = run("start", tmp_path / "j", "--by", "A", "--profile", "uk", "--zone", "Europe/London")

    assert (done.returncode, "give the answers with --answers FILE" in done.stderr) == (2, True)
    assert not (tmp_path / "j").exists()


LONG = "x" * 5000
CALL = Path(__file__).parent.parent / "examples" / "school-art-block" / "call.toml"


@pytest.mark.parametrize("words", [("log", LONG), ("check", "J", "--against", LONG), ("photo", "J", LONG),
                                   ("start", LONG, "--answers", CALL), ("assess", LONG)])  # fmt: skip
def test_a_name_that_no_system_holds_is_called_too_long_and_space_has_nothing_to_do_with_it(job, words):
    done = run(*(job if word == "J" else word for word in words))

    assert done.returncode == 1
    assert "File name too long; give it a shorter name" in done.stderr
    assert "space" not in done.stderr
    assert len(done.stderr) < 500


@pytest.mark.parametrize("name", ["photographs", "journal.jsonl"])
@pytest.mark.parametrize("kind", ["file", "folder", "pipe"])
def test_a_folder_in_which_something_stands_in_the_place_of_a_job_is_left_alone(tmp_path, without_pdf, name, kind):
    (tmp_path / "j").mkdir()
    {"file": Path.touch, "folder": Path.mkdir, "pipe": os.mkfifo}[kind](tmp_path / "j" / name)
    begins = (name, kind) in (("photographs", "folder"), ("journal.jsonl", "file"))  # as of a start that was broken off
    done = run("start", tmp_path / "j", "--answers", CALL)

    assert done.returncode == (0 if begins else 1)
    assert begins or "exists already; name a new folder, or take away what stands there" in done.stderr
    assert begins or [one.name for one in (tmp_path / "j").iterdir()] == [name]


def test_output_that_nobody_reads_any_more_ends_quietly(job):
    """`recover log JOB | head -1`."""
    piped = f"'{sys.executable}' -m recover log '{job}' | head -1"
    done = subprocess.run(piped, shell=True, capture_output=True, text=True, check=False)

    assert "Traceback" not in done.stderr
    assert len(done.stdout.splitlines()) == 1


@pytest.mark.parametrize("name", ["J\udcf6rg", "A\x1b]0;owned\x07", "A\u202eB"])
def test_a_name_that_cannot_be_written_down_or_turns_a_line_round_is_refused(job, name):
    done = run("check", job, "--mend", "--by", name)

    assert done.returncode == 2
    assert "holds letters that cannot be written down" in done.stderr


def test_without_a_locale_names_and_pictures_keep_their_letters(job, tmp_path):
    """Python takes the locale C for a world of ASCII."""
    bare = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    folder = tmp_path / "jöb"
    shutil.copytree(job, folder)
    shutil.copy(PICTURE, tmp_path / "größe-窯.jpg")
    done = process("photo", folder, tmp_path / "größe-窯.jpg", "--by", "Jörg", "--question", "22", env=bare)

    assert (done.returncode, done.stderr) == (0, "")
    assert open_job(folder).events[-1].by == "Jörg"
    assert open_job(folder).events[-1].data["file"] == "photographs/größe-窯.jpg"


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-"])
def test_a_stream_that_is_closed_ends_nothing_in_a_traceback(job, closed):
    piped = f"'{sys.executable}' -m recover log '{job}' {closed}"
    done = subprocess.run(piped, shell=True, capture_output=True, text=True, check=False)

    assert done.returncode == 0
    assert "Traceback" not in done.stderr


def test_a_picture_is_bound_by_the_slate_that_a_repairer_sees(job, tmp_path):
    shutil.copytree(job, tmp_path / "job")
    shutil.copy(PICTURE, tmp_path / "a.jpg")

    assert run("photo", tmp_path / "job", tmp_path / "a.jpg", "--question", "22").returncode == 0
    assert open_job(tmp_path / "job").events[-1].data["question"] == "event.water_line@kiln/1"
    refused = run("photo", tmp_path / "job", tmp_path / "a.jpg", "--question", "999")
    assert "expected its slate number, as 22 or 22-2" in refused.stderr


def test_a_journal_is_held_against_a_paper_by_its_name_or_by_its_code(tmp_path):
    start(tmp_path / "job", Settings("job", "uk", "A4", "Europe/London"), by="A")  # little is printed of it
    issued = run("report", tmp_path / "job", "--issue", "--by", "A", "--as", "kiln repairer")
    code = issued.stdout.rsplit("journal ", 1)[1].strip()

    for paper in ("record-01.pdf", code, f"journal {code}."):
        done = run("check", tmp_path / "job", "--against", paper)
        assert (done.returncode, done.stderr) == (0, "")
        assert "nothing up to it was altered or taken away" in done.stdout
    assert "there is no such file" in run("check", tmp_path / "job", "--against", "recovery-09.pdf").stderr
    assert "or the code was mistyped" in run("check", tmp_path / "job", "--against", f"1{code}").stderr
