"""Whatever is done to a job in any order: nothing acknowledged is lost, nothing opens unsigned, no number repeats."""

import hashlib
from contextlib import suppress
from datetime import timedelta
from functools import cache
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from examples.story import SCHOOL, Story
from recover.base.datafile import load
from recover.base.errors import RecoverError
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.job.kept import ASIDE, known
from recover.job.mending import integrity, mend, settle
from recover.job.writing import keep_picture
from recover.judged.assessment import answers_of, assess
from recover.judged.release import release
from recover.report.record import photographs
from tests import campaign, faults
from tests.campaign import ACCUSES
from tests.conftest import cases
from tests.gates import ENDS, last, said, worsened
from tests.school import school

SIGNED = [step for step in load("story.toml", "recover-story", Story, SCHOOL).step if step.sign == "own_heat"]
VERBS = {"issue": campaign.issued, "plan": campaign.planned}


@cache
def story():
    """Return the folder of the school's job, completed to a released own heat; it goes with the process."""
    place = TemporaryDirectory()
    school(Path(place.name) / "job", ENDS)
    return place


class Job(RuleBasedStateMachine):
    """A job that is answered, photographed, planned, issued, signed, left lying, interrupted and mended."""

    def __init__(self):
        super().__init__()
        self.place = TemporaryDirectory()
        self.folder = Path(copytree(Path(story().name) / "job", Path(self.place.name) / "job"))
        self.now = ENDS + timedelta(minutes=5)
        self.lines = (self.folder / "journal.jsonl").read_bytes().splitlines()
        self.state, self.signed, self.interrupted = "released", False, False

    def teardown(self):
        self.place.cleanup()

    def clock(self):
        return self.now

    @property
    def events(self):
        return open_job(self.folder).events

    def write(self, event):
        with Journal(self.folder / "journal.jsonl", self.clock) as journal:
            journal.append(event.kind, event.data, by=event.by, source=event.source)

    # ------------------------------------------------------------------------------------ what is done

    @rule(place=st.integers(0, 10_000), way=st.integers(0, 100))
    def answer_worse(self, place, way):
        told = [one for one in self.events if one.kind in ("answer", "reading")]
        key = told[place % len(told)].data["question"]
        ways = list(worsened(self.events, key, at=self.now))
        if ways:
            self.write(ways[way % len(ways)].events[-1])

    @rule(place=st.integers(0, 10_000))
    def answer_as_before(self, place):
        told = [one for one in self.events if one.kind in ("answer", "reading") and one.data["state"] == "given"]
        key = told[place % len(told)].data["question"]
        first = next(one for one in told if one.data["question"] == key)
        self.write(said(self.events, key, self.now, **{**last(self.events, key).data, **first.data})[-1])

    @rule(hours=st.sampled_from([1, 6, 30]))
    def time_passes(self, hours):
        self.now += timedelta(hours=hours)

    @rule(seed=st.integers(0, 4))
    def photograph(self, seed):
        name, about = f"P{len(answers_of(open_job(self.folder)).photographs) + 1:02d}", {"question": "event.water_in"}
        about |= {"id": name, "taken": None, "bound_by": "hand", "printable": True}
        with Journal(self.folder / "journal.jsonl", self.clock) as journal, suppress(RecoverError):
            keep_picture(journal, "same name.jpg", campaign.picture(seed), about, by="A. Repairer", source="photo")

    @rule(verb=st.sampled_from(sorted(VERBS)))
    def write_papers(self, verb):
        with suppress(RecoverError):  # an interruption is to be settled first
            VERBS[verb](self.folder)

    @rule(verb=st.sampled_from(sorted(VERBS)), at=st.integers(1, 40), share=st.sampled_from([0, 0.5, 1]))
    def stopped(self, verb, at, share):
        ended = faults.run(lambda: VERBS[verb](self.folder), at, share=share)
        assert ended.end != "traceback", ended.said
        self.interrupted |= ended.end == "killed"

    @rule()
    def settled(self):
        settle(self.folder)
        self.interrupted = False

    @rule(file=st.integers(0, 100))
    def changed_and_mended(self, file):
        files = sorted(one for one in known(self.events) if not one.startswith(ASIDE))
        if files:
            (self.folder / files[file % len(files)]).write_bytes(b"changed")
            assert integrity(self.folder)
            mend(self.folder, "M. Ender")
            self.interrupted = False

    @precondition(lambda self: self.state != "released")
    @rule()
    def sign(self):
        for step in SIGNED:
            with suppress(RecoverError):
                release(self.folder, step.sign, step.component, by=step.by, role=step.role, licence=step.licence,
                        clock=self.clock)  # fmt: skip
                self.signed = True

    # ------------------------------------------------------------------------------------ what is so

    @invariant()
    def no_line_is_lost_or_altered(self):
        lines = (self.folder / "journal.jsonl").read_bytes().splitlines()
        assert lines[: len(self.lines)] == self.lines
        self.lines = lines[: len(open_job(self.folder).events)]

    @invariant()
    def nothing_opens_without_a_new_signature_and_every_printed_hash_is_that_of_the_picture_beside_it(self):
        """Both of one assessment, which takes longest."""
        job = open_job(self.folder)
        found = assess(job, self.now)
        state = next(hold.state for hold in found.holds if hold.point.id == "own_heat")
        assert state != "released" or self.state == "released" or self.signed
        self.state, self.signed = state, False

        for row, photo in zip(photographs(job, found), found.answers.photographs, strict=True):
            if row["src"]:
                assert hashlib.sha256((self.folder / photo.file).read_bytes()).hexdigest().startswith(row["sha256"])

    @invariant()
    def nobody_is_accused_and_only_an_interruption_leaves_anything(self):
        problems = integrity(self.folder)
        assert not [one for one in problems if any(word in one.what for word in ACCUSES)]
        assert not problems or self.interrupted

    @invariant()
    def numbers_never_repeat(self):
        told = [(one.data["papers"][0], one.data["revision"]) for one in self.events if one.kind == "issue"]
        assert len(set(told)) == len(told)
        assert told == sorted(told, key=lambda pair: pair[1]) or len({kind for kind, _ in told}) > 1


TestJob = Job.TestCase
TestJob.settings = settings(cases(4), stateful_step_count=15)
