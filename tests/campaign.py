"""What a job outlives: campaigns of faults and of foreign data, with the table of tests/vectors/campaign.md.

    python -m tests.campaign            all of it, some minutes
    python -m tests.campaign kills ...  some of it

Each campaign is tried on a slice in the suite (test_campaign.py). What one finds becomes a test of its own.
"""

import io
import random
import shutil
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

from click.testing import CliRunner
from PIL import Image

from recover.base.errors import Problem, RecoverError
from recover.base.measures import read_quantity, units
from recover.commands.calc import calc
from recover.interview import sittings
from recover.interview.script import AnswersFile, Prepared
from recover.job.anchor import against, anchor
from recover.job.evidence import take_in
from recover.job.folder import Settings, is_begun, open_job, start
from recover.job.journal import Journal
from recover.job.kept import known, listed, next_number, proved
from recover.job.mending import UNKNOWN, integrity, mend, settle
from recover.job.writing import keep, write_whole
from recover.judged.assessment import assess
from recover.plan import store
from tests import faults

SETTINGS = Settings("j", "uk", "A4", "Europe/London")
ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)
ACCUSES = (UNKNOWN, "is missing", "is not the file", "edited, added or removed", "no journal line")
"""What is said of a job that somebody changed; never of one that was merely interrupted."""


@dataclass
class Row:
    """What came of a campaign: how often it was tried, and each thing that must not be, with an example."""

    name: str
    tried: int = 0
    faults: Counter = field(default_factory=Counter)
    examples: dict[str, str] = field(default_factory=dict)

    def found(self, what, example):
        self.faults[what] += 1
        self.examples.setdefault(what, example)

    def __str__(self):
        kinds = ("lost", "traceback", "stuck", "false alarm", "unnoticed")
        return f"| {self.name} | {self.tried} | " + " | ".join(str(self.faults[kind]) for kind in kinds) + " |"


# ---------------------------------------------------------------------------------------- what is interrupted


@cache
def picture(seed):
    """Return a picture that is like no other of another seed."""
    content = io.BytesIO()
    Image.new("RGB", (40, 30), (seed * 7 % 256, seed * 13 % 256, 99)).save(content, "JPEG")
    return content.getvalue()


def begun(folder):
    start(folder, SETTINGS, by="A. Repairer")


def answered(folder):
    told = {"scope.fuel": "electric", "scope.kilns": "1", "identity.height@kiln/1": "900 mm"}
    file = AnswersFile("A. Repairer", answer=[Prepared(key, value) for key, value in told.items()])
    sittings.by_file(open_job(folder), file, "a.toml", "A. Repairer", tell=lambda _: None)


def begun_with_camera(folder):
    """Return a job that was begun, with a folder of pictures beside it."""
    begun(folder)
    (folder.parent / "camera").mkdir()
    for seed in range(3):
        (folder.parent / "camera" / f"slate-1 {seed}.jpg").write_bytes(picture(seed))


def photographed(folder):
    camera = folder.parent / "camera"
    sittings.photographs(open_job(folder), [camera], None, "A. Repairer", tell=lambda _: None)


def photographed_again(folder):
    """Take in the pictures of another day, under the names of the first."""
    for seed, file in enumerate(sorted((folder.parent / "camera").iterdir()), start=20):
        file.write_bytes(picture(seed))
    photographed(folder)


def drafted(folder):
    """Write a draft over the one before, whole or not at all."""
    for content in (b"first" * 100, b"second" * 100):
        write_whole(folder / "papers" / "tag-draft.pdf", content)


def issued(folder):
    """Issue papers of a few words: what is in them is nothing to their keeping."""
    job = open_job(folder)
    with Journal(job.journal) as journal:
        number = next_number(journal.events, "recovery")
        kinds = [f"papers/{kind}-{number:02d}" for kind in ("recovery", "record")]
        names = [f"{kind}.{suffix}" for kind in kinds for suffix in ("pdf", "json")]
        files = {name: f"{name} of line {job.head}".encode() * 50 for name in names}
        about = {"papers": ["recovery", "record"], "revision": number, "files": listed(files), "record": job.head,
                 "rules": "", "capacity": "kiln repairer"}  # fmt: skip
        keep(journal, files, "issue", about, by="A. Repairer", source="report")


def planned(folder):
    from tests import sample_plan

    job = open_job(folder)
    request, kilns = sample_plan.job_plan().request, (sample_plan.by_own(),)
    store.store(job, assess(job, NOW), request, kilns, made=NOW.isoformat(), by="A. Repairer")


def broken_off(folder):
    """Return a job in which an issue was stopped with half of its papers written."""
    worked(folder)
    faults.run(lambda: issued(folder), 9)
    return folder


def torn(folder):
    """Return a job of whose last line, an issue, the end was lost."""
    worked(folder)
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes()[:-300])
    return folder


def mended(folder):
    mend(folder, "A. Repairer")


def worked(folder):
    """Return a job in which every kind of file lies."""
    for work in (begun_with_camera, answered, photographed, planned, issued):
        work(folder)
    return folder


def disturbed(folder):
    """Return a job that somebody changed, so that there is something to mend."""
    worked(folder)
    (folder / "photographs" / "of nobody.jpg").write_bytes(picture(99))
    (folder / "papers" / "recovery-01.pdf").write_bytes(b"changed")
    next((folder / "plans").iterdir()).unlink()
    return folder


def nothing(folder):
    return folder


SCENES = {
    "start": (nothing, begun), "answers": (begun, answered), "photographs": (begun_with_camera, photographed),
    "photographs again": (worked, photographed_again),
    "draft": (worked, drafted), "plan": (worked, planned), "issue": (worked, issued),
    "settle": (broken_off, settle), "a torn line": (torn, settle), "mend": (disturbed, mended),
}  # fmt: skip
"""Each verb that writes: the job before it, and what it does."""


def kills(most=None, *, full=False):
    """Stop each verb at each of its operations, or fill the disk there; then go on as a user would."""
    row = Row("full disks" if full else "kills")
    for name, (before, work) in SCENES.items():
        with TemporaryDirectory() as place:
            base = Path(place) / "base"
            before(base)
            for at, share in _points(base, work, most):
                row.tried += 1
                _interrupt(row, Path(place), base, work, f"{name} at operation {at}, {share} done", at, share, full)
    return row


def _points(base, work, most):
    """Return where a work is stopped, at each operation and with each share of it done; or so many of these."""
    with TemporaryDirectory() as place:
        folder = _copy(base, Path(place))
        count = faults.run(lambda: work(folder)).operations
    every = list(product(range(1, count + 1), (0, 0.5, 1)))
    return every if most is None else random.Random(count).sample(every, min(most, len(every)))


def _copy(base, place):
    folder = place / "try" / "job"
    shutil.rmtree(folder.parent, ignore_errors=True)
    folder.parent.mkdir()
    if base.exists():
        shutil.copytree(base, folder)
    if (base.parent / "camera").exists():
        shutil.copytree(base.parent / "camera", folder.parent / "camera")
    return folder


def _interrupt(row, place, base, work, where, at, share, full):
    folder = _copy(base, place)
    ended = faults.run(lambda: work(folder), at, full=full, share=share)
    if ended.end == "traceback":
        row.found("traceback", f"{where}: {ended.said}")
    if not (folder / "journal.jsonl").exists() or not is_begun(folder):
        if ended.acknowledged:
            row.found("lost", f"{where}: all {ended.acknowledged}")
        work(folder)  # a start that was broken off is begun again
        return
    _look(row, folder, where, ended, wrong(base))
    try:
        settle(folder)
        if work is not begun:  # it has begun
            work(folder)
    except RecoverError as error:
        row.found("stuck", f"{where}: {error}")
        return
    if left := wrong(folder).items() - wrong(base).items():
        row.found("stuck", f"{where}: {left}")
    papers = [event.data for event in open_job(folder).events if "recovery" in event.data.get("papers", ())]
    numbers = [one["revision"] for one in papers]
    if len(set(numbers)) < len(numbers):
        row.found("lost", f"{where}: numbers {numbers}")


def wrong(folder):
    """Return what is wrong with a job: where, and what."""
    return {one.where: one.what for one in integrity(folder)} if (folder / "journal.jsonl").exists() else {}


def _look(row, folder, where, ended, before):
    """Look at a job as the interruption left it: every line that was acknowledged is there, and nobody is accused."""
    lines = {event.n for event in open_job(folder).events}
    if not set(ended.acknowledged) <= lines:
        row.found("lost", f"{where}: lines {ended.acknowledged} of {max(lines)}")
    for problem in wrong(folder).items() - before.items():
        if any(word in problem[1] for word in ACCUSES):
            row.found("false alarm", f"{where}: {problem}")


# ---------------------------------------------------------------------------------------- what is changed


def changes(content, draw):
    """Yield a file's bytes changed: a bit turned over, cut, added to, emptied, a part of it doubled."""
    place = draw.randrange(len(content))
    yield content[:place] + bytes([content[place] ^ 1 << draw.randrange(8)]) + content[place + 1 :]
    yield content[:place]
    yield content + content[: draw.randrange(1, 40)]
    yield content[:place] + content[place : place + 20] * 2 + content[place + 20 :]
    yield b""


def tampering(most=5000):
    """Change one file of a job in one way: it shows, in itself or by a paper that is out, and ends nothing."""
    row, draw = Row("changed files"), random.Random(1)
    with TemporaryDirectory() as place:
        folder = worked(Path(place) / "job")
        job = open_job(folder)
        files = sorted(file for file in folder.rglob("*") if file.is_file())
        while row.tried < most:
            file = draw.choice(files)
            content = file.read_bytes()
            for changed in changes(content, draw):
                if changed != content:
                    row.tried += 1
                    file.write_bytes(changed)
                    _noticed(row, folder, job, file.relative_to(folder))
            file.write_bytes(content)
    return row


def _noticed(row, folder, before, name):
    """What was changed shows; but for the end of a last line, which is known, so that every line is as it was."""
    out = anchor(len(before.events), before.head)
    try:
        problems = integrity(folder)
        job = open_job(folder) if not any("journal.jsonl line" in one.where for one in problems) else None
        if job:
            problems += against(job, out)[1]
            shown = [proved(folder, one) for one in known(job.events).values()]
            problems += [one for one in shown if isinstance(one, Problem)]
    except RecoverError as error:
        problems = [error]
    except Exception as error:  # noqa: BLE001 - whatever it is, it is what is looked for
        row.found("traceback", f"{name}: {error!r}")
        return
    if not problems and (name.name != "journal.jsonl" or job.events != before.events):
        row.found("unnoticed", str(name))


# ---------------------------------------------------------------------------------------- what is typed


PIECES = (*"0123456789.,'\"/-+*()^=<>?!%&|;: ", "e9", "**", "1/2", "½", "Ω", "°", "about", "over", "OL", "mΩ", "°C",
          "\t", "[", "{", "__", "nan", "inf", "10 9**9", "٣", "−", "ft", "in")  # fmt: skip
LETTERS = "ab .-_'\"$;&é窯%\n"


def typed(most=20_000):
    """Type anything where a quantity is asked: a number, or a sentence that says what was expected, at once."""
    row, draw = Row("typed entries"), random.Random(2)
    asked = ("mm", "degC", "Mohm", "kW", "hour", "ohm", "kg")
    words = (*PIECES, *(name for unit in units().values() for name in unit.written))
    while row.tried < most:
        text = "".join(draw.choice(words) + draw.choice(("", " ")) for _ in range(draw.randrange(1, 8)))
        row.tried += 1
        began = time.perf_counter()
        try:
            value = read_quantity(text, draw.choice(asked))
            if not isinstance(value, float | int) or value != value or abs(value) == float("inf"):
                row.found("traceback", f"{text!r} is {value}")
        except RecoverError as error:
            if "\n" in str(error) or len(str(error)) > 300:
                row.found("traceback", f"{text!r}: {error}")
        except Exception as error:  # noqa: BLE001
            row.found("traceback", f"{text!r}: {error!r}")
        if time.perf_counter() - began > 1:
            row.found("stuck", repr(text))
    return row


def pictures(most=500):
    """Take in pictures that were damaged, in every format and under any name: taken or refused, in a sentence."""
    row, draw = Row("pictures"), random.Random(3)
    made = {}
    for kind in ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP"):
        content = io.BytesIO()
        exif = Image.Exif()
        exif[0x0132] = "2026:03:10 09:00:00"
        Image.new("RGB", (64, 48), (120, 90, 60)).save(content, kind, **({"exif": exif} if kind != "BMP" else {}))
        made[kind] = content.getvalue()
    with TemporaryDirectory() as place:
        while row.tried < most:
            content = made[draw.choice(list(made))]
            for changed in changes(content, draw):
                name = "".join(draw.choices(LETTERS, k=8)) + draw.choice((".jpg", ".png", ".eps", ""))
                path = Path(place) / f"x{name}"
                path.write_bytes(changed)
                row.tried += 1
                ended = faults.run(lambda path=path: take_in(path, ZONE))
                if ended.end == "traceback":
                    row.found("traceback", f"{name!r}: {ended.said}")
                if any(event.startswith(("socket", "subprocess", "os.")) for event, _ in ended.touched):
                    row.found("traceback", f"{name!r} starts {ended.touched}")
                path.unlink()
    return row


EXTREMES = ("0", "-1", "1e308", "-1e308", "nan", "inf", "-inf", "1e-308", "1", "20", "1000", "1e6", "0.001", "x")


def sums(most=7600):
    """Give the small sums of the workshop anything: a result without nan, or a sentence."""
    row, draw, runner = Row("small sums"), random.Random(4), CliRunner()
    for name, command in calc.commands.items():
        for _ in range(most // len(calc.commands)):
            row.tried += 1
            words = [word for option in command.params for word in _given(option, draw)]
            done = runner.invoke(calc, [name, *words])
            if not isinstance(done.exception, None | SystemExit | RecoverError):
                row.found("traceback", f"{name} {' '.join(words)}: {done.exception!r}")
            elif done.exception is None and "nan" in done.output.replace(",", " ").split():
                row.found("traceback", f"{name} {' '.join(words)}: nan")
    return row


def _given(option, draw):
    """Return an option with a value of its kind, seldom left out."""
    if option.is_flag or (not option.required and draw.random() < 0.4):
        return [option.opts[0]] if option.is_flag and draw.random() < 0.3 and option.name != "help" else []
    values = {"choice": lambda: list(option.type.choices), "text": lambda: ["K", "R", "fecral_22_58", "x"],
              "integer": lambda: ["0", "1", "-1", "6", "100000"]}.get(option.type.name, lambda: EXTREMES)()  # fmt: skip
    times = draw.randrange(1, 4) if option.multiple else 1
    each = max(option.nargs, 1)
    return [word for _ in range(times) for word in (option.opts[0], *(str(draw.choice(values)) for _ in range(each)))]


CAMPAIGNS = {
    "kills": kills, "disks": lambda most=None: kills(most, full=True), "tampering": tampering, "typed": typed,
    "pictures": pictures, "sums": sums,
}  # fmt: skip


if __name__ == "__main__":
    say = sys.stdout.write
    say("| campaign | tried | lost | tracebacks | stuck | false alarms | unnoticed |\n| --- |" + " ---: |" * 6 + "\n")
    worst = 0
    for name in sys.argv[1:] or CAMPAIGNS:
        came = CAMPAIGNS[name]()
        say(f"{came}\n")
        sys.stdout.flush()
        worst |= bool(came.faults)
        for example in came.examples.values():
            sys.stderr.write(f"{example}\n")
    sys.exit(worst)
