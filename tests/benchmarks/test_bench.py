"""Benchmarks: how fast, as ratios and seconds in one run. Not a test of the suite; run `pytest tests/benchmarks -s`.

What we aim at: `recover --help` within 0.25 s of user time of bare Python; the report of the largest example in 5 s.
"""

import resource
import subprocess
import sys
import time

from pypdf import PdfReader

from recover.job.folder import open_job
from recover.job.journal import utc_now
from recover.judged.assessment import assess, assess_answers
from recover.report import papers
from tests.test_examples import NAMES, worked
from tests.test_report import make_job

RUNS = 20


def user_seconds(*words):
    """Return the mean user time of several runs of a command."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    for _ in range(RUNS):
        subprocess.run(words, check=True, capture_output=True)
    return (resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before) / RUNS


def test_help_is_instant():
    bare = user_seconds(sys.executable, "-c", "pass")
    shown = user_seconds(sys.executable, "-m", "recover", "--help")

    print(f"\nuser time: bare Python {bare:.3f} s, --help {shown:.3f} s; {shown - bare:.3f} s more (aim 0.25)")
    assert shown > 0


def test_the_report_of_each_example(tmp_path):
    for name in NAMES:
        folder = worked(name, tmp_path / name).folder
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-m", "recover", "report", str(folder)], check=True, capture_output=True)
        took, pages = time.perf_counter() - begin, len(PdfReader(folder / "papers" / "recovery-draft.pdf").pages)

        print(f"\nrecover report, whole process, {name}, {pages} pages: {took:.2f} s (aim 5)")
        assert pages > 5


def test_assessing_is_not_what_takes_the_time(tmp_path):
    folder = make_job(tmp_path / "job")
    job = open_job(folder)
    begin = time.perf_counter()
    found = assess(job)
    assessed = time.perf_counter() - begin
    begin = time.perf_counter()
    assess_answers(
        type(found.answers)(found.answers.questions, found.answers.limits, job.settings.tz), "nothing", "uk", ""
    )
    nothing_known = time.perf_counter() - begin
    begin = time.perf_counter()
    papers.draft(folder, found, "recovery", utc_now())
    printed = time.perf_counter() - begin

    print(f"\nassess {assessed:.3f} s, with nothing known {nothing_known:.3f} s, print {printed:.2f} s; "
          f"print takes {printed / assessed:.0f} times as long")  # fmt: skip
    assert printed > 0
