"""Photographs: kept as they came, dated by themselves, bound by slate or by time."""

import hashlib
import os
import subprocess
import sys
from datetime import datetime
from io import BytesIO
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from PIL import Image

from recover.asked.compiled import questionnaire
from recover.asked.told import key_of
from recover.base.errors import AnswerError
from recover.interview.engine import Item
from recover.interview.prompter import Given
from recover.interview.session import Session
from recover.job.evidence import pictures_in, reduced_copy, slate, take_in
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal
from recover.judged.assessment import assess
from recover.report.record import photographs

pytestmark = pytest.mark.quick

LONDON = ZoneInfo("Europe/London")


def picture(path, taken=None, size=(60, 40), colour="white"):
    """Draw a picture, with the moment that a phone would write (Exif 2.32, tag 0x9003 DateTimeOriginal)."""
    image, exif = Image.new("RGB", size, colour), Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    image.save(path, exif=exif)
    return path


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("slate-22.jpg", (22, None)),
        ("Slate 7 water line.JPG", (7, None)),
        ("s22-2.jpg", (22, 2)),
        ("2026-03-10_slate022.jpeg", (22, None)),
        ("IMG_4711.jpg", None),
        ("kilns2.jpg", None),
        ("glass12.jpg", None),
    ],
)
def test_a_slate_number_is_read_from_the_name(name, expected):
    assert slate(name) == expected


def test_a_picture_is_taken_in_byte_for_byte(tmp_path):
    path = picture(tmp_path / "a.jpg", "2026:03:10 09:30:00")

    taken = take_in(path, LONDON)

    assert taken.content == path.read_bytes()
    assert taken.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert taken.taken == datetime(2026, 3, 10, 9, 30, tzinfo=LONDON)


def test_a_picture_of_a_kind_that_cannot_be_printed_is_still_evidence(tmp_path):
    path = tmp_path / "phone.heic"
    path.write_bytes(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")

    assert not take_in(path, LONDON).printable


@pytest.mark.parametrize("content", [b"", b"not a picture", b"\xff\xd8\xff\xe0 torn"])
def test_what_is_no_picture_is_refused(tmp_path, content):
    (tmp_path / "x.jpg").write_bytes(content)

    with pytest.raises(AnswerError, match="is no picture that can be opened; expected a picture"):
        take_in(tmp_path / "x.jpg", LONDON)


def test_the_printed_copy_is_small_and_the_original_untouched(tmp_path):
    path = picture(tmp_path / "big.png", size=(3000, 2000))
    before = path.read_bytes()

    small = reduced_copy(before)

    assert len(small) < len(before) * 10
    assert path.read_bytes() == before


@pytest.fixture
def session(tmp_path):
    job = start(tmp_path / "job", Settings("job", "uk", "A4", "Europe/London"), by="A")
    moments = iter([datetime(2026, 3, 10, 9, minute, tzinfo=LONDON) for minute in range(10, 60)])

    class Nobody:
        def heard(self, words):
            pass

        def tell(self, message):
            pass

    with Journal(job.journal, clock=lambda: next(moments)) as journal:
        yield Session(job, journal, Nobody(), by="A", source="test")


def bound(session, path):
    """Take a picture in and return the question it was bound to."""
    session.photographs([path], 30, lambda _: None)
    return session.journal.events[-1].data["question"]


def give(session, question, value, at="job"):
    session._take(Item(questionnaire().questions[question], at), Given(value))


def test_a_slate_binds_a_picture_to_its_question(session, tmp_path):
    assert bound(session, picture(tmp_path / "slate-1.jpg")) == "scope.fuel"


def test_a_slate_without_its_component_binds_nothing_where_there_are_two(session, tmp_path):
    give(session, "scope.kilns", "2")

    assert bound(session, picture(tmp_path / "slate-3.jpg")) == ""
    assert bound(session, picture(tmp_path / "slate-3-2.jpg")) == key_of("scope.connection", "kiln/2")


def test_a_time_binds_a_picture_to_the_question_answered_next(session, tmp_path):
    give(session, "scope.fuel", "electric")  # 09:10
    give(session, "scope.kilns", "1")  # 09:11

    assert bound(session, picture(tmp_path / "IMG_1.jpg", "2026:03:10 09:10:30")) == "scope.kilns"
    assert bound(session, picture(tmp_path / "IMG_2.jpg", "2026:03:10 09:30:00", colour="red")) == ""
    assert bound(session, picture(tmp_path / "IMG_3.jpg", "2026:03:10 08:00:00", colour="blue")) == ""


def test_the_same_picture_is_not_taken_in_twice(session, tmp_path):
    path = picture(tmp_path / "slate-1.jpg")
    session.photographs([path, path], 30, lambda _: None)

    assert sum(event.kind == "photograph" for event in session.journal.events) == 1


def test_a_folder_is_taken_in_with_its_folders_and_what_is_left_is_said(session, tmp_path):
    camera = tmp_path / "card" / "DCIM"
    camera.mkdir(parents=True)
    picture(tmp_path / "card" / "slate-1.jpg")
    picture(camera / "IMG_9.jpg", colour="red")
    (tmp_path / "card" / "x.dng").write_bytes(b"raw")

    assert pictures_in(tmp_path / "card") == (
        [camera / "IMG_9.jpg", tmp_path / "card" / "slate-1.jpg"], [tmp_path / "card" / "x.dng"]
    )  # fmt: skip


def test_the_beginning_of_a_picture_is_kept_and_said_to_be_that(session, tmp_path):
    """A card that was pulled out: its top half may be all there is."""
    from PIL import Image

    noise = Image.effect_noise((400, 400), 90).convert("RGB")
    noise.save(tmp_path / "slate-1.jpg")
    half = (tmp_path / "slate-1.jpg").read_bytes()
    (tmp_path / "slate-1.jpg").write_bytes(half[: len(half) // 2])
    told = []

    assert session.photographs([tmp_path / "slate-1.jpg"], 30, told.append) == []
    assert told[0].startswith("P01 (its end is missing; take it in again if there is a whole one)")


@pytest.mark.parametrize(
    ("taken", "says"),
    [
        ("2025:07:09 09:10:30", "taken 8 months before the water came: is the camera's clock right?"),
        ("2026:03:06 18:00:00", "taken 24 h before the water came: is the camera's clock right?"),
        ("2099:03:10 09:10:30", "taken on a day that has not come yet: is the camera's clock right?"),
        ("2026:03:07 17:55:00", ""), ("2026:03:10 09:10:30", ""), (None, ""),
    ],
)  # fmt: skip
def test_a_picture_that_is_older_than_the_water_is_said_at_once_and_on_paper(session, tmp_path, taken, says):
    told = []
    give(session, "event.water_in", "2026-03-07 18:00")
    session.photographs([picture(tmp_path / "slate-1.jpg", taken)], 30, told.append)
    (row,) = photographs(open_job(session.job.folder), assess(open_job(session.job.folder)))

    assert told[0].startswith(f"P01 ({says})  slate-1.jpg" if says else "P01  slate-1.jpg")
    assert row["taken"].endswith(f"({says})") if says else "clock" not in row["taken"]


@pytest.mark.parametrize("year", ["0001", "0206", "1899", "9999"])
def test_a_camera_whose_clock_nobody_set_tells_no_time(session, tmp_path, year):
    told = []
    session.photographs([picture(tmp_path / "IMG.jpg", f"{year}:03:10 09:20:00")], 30, told.append)

    assert "P01" in told[0]
    assert open_job(session.job.folder).events[-1].data["taken"] is None


def test_another_picture_of_the_same_name_gets_a_number(session, tmp_path):
    (tmp_path / "two").mkdir()
    session.photographs(
        [picture(tmp_path / "slate-1.jpg"), picture(tmp_path / "two" / "slate-1.jpg", colour="red")], 30, lambda _: None
    )

    stored = sorted(path.name for path in (open_job(session.job.folder).folder / "photographs").iterdir())
    assert stored == ["slate-1 (2).jpg", "slate-1.jpg"]


# ---------------------------------------------------------------------------------------- hostile files


def test_a_drawing_language_in_a_picture_s_clothes_starts_no_program(tmp_path, monkeypatch):
    """An EPS file would be handed to an interpreter; what is opened is told by its content, from a list."""

    def started(*_words, **_more):
        raise AssertionError("a process was started")

    monkeypatch.setattr("subprocess.Popen.__init__", started)
    monkeypatch.setattr("os.posix_spawn", started)
    (tmp_path / "slate-22.jpg").write_bytes(
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n%%EndComments\nshowpage\n%%EOF\n"
    )

    with pytest.raises(AnswerError, match="is no picture that can be opened"):
        take_in(tmp_path / "slate-22.jpg", LONDON)


@pytest.mark.parametrize("at", range(20, 120, 7))
def test_a_good_picture_with_a_damaged_record_of_the_camera_is_a_picture(tmp_path, at):
    path = picture(tmp_path / "a.jpg", "2026:03:10 09:30:00")
    content = bytearray(path.read_bytes())
    begins = content.index(b"Exif")
    content[begins + 6 + at % 40] ^= 0xFF
    path.write_bytes(content)

    assert take_in(path, LONDON).sha256 == hashlib.sha256(content).hexdigest()


def test_a_picture_of_more_than_a_hundred_megapixels_is_taken_and_printed_small(tmp_path):
    path = tmp_path / "stitched.jpg"
    Image.new("L", (12_000, 9_000), 128).save(path, quality=20)

    taken = take_in(path, LONDON)

    assert taken.printable
    assert Image.open(BytesIO(reduced_copy(taken.content))).size == (900, 675)


def test_the_largest_picture_that_is_taken_is_printed_as_well(tmp_path):
    """In another process than took it: a report is written on another day."""
    path = tmp_path / "panorama.jpg"
    Image.new("L", (19_000, 10_000), 128).save(path, quality=10)
    code = (
        "import sys; from pathlib import Path; from recover.job.evidence import reduced_copy;"
        "print(len(reduced_copy(Path(sys.argv[1]).read_bytes())))"
    )
    done = subprocess.run([sys.executable, "-c", code, path], capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 0


def test_more_pixels_than_any_camera_has_are_refused_before_they_are_decoded(tmp_path):
    path = tmp_path / "bomb.png"
    Image.new("1", (20_000, 20_000)).save(path)

    with pytest.raises(AnswerError, match="is no picture that can be opened"):
        take_in(path, LONDON)


@pytest.mark.parametrize("name", ["pipe", "folder", "device", "nowhere"])
def test_what_is_no_plain_file_is_refused_and_never_waited_for(tmp_path, name):
    path = tmp_path / f"{name}.jpg"
    if name == "pipe":
        os.mkfifo(path)
    elif name == "folder":
        path.mkdir()
    elif name == "device":
        path.symlink_to("/dev/zero")
    else:
        path.symlink_to(tmp_path / "not-there")

    with pytest.raises(AnswerError, match=r"is no plain file|cannot be read"):
        take_in(path, LONDON)


@pytest.mark.parametrize(
    ("name", "kept_as"),
    [(b"k\xf6ln.jpg", "köln.jpg"), ("köln.jpg".encode(), "köln.jpg"), (b"a\nb\x1b[2J.jpg", "a_b_[2J.jpg")],
)
def test_a_picture_is_kept_under_a_name_that_can_be_written_and_printed(tmp_path, name, kept_as):
    """A name in another encoding keeps its letters as Latin-1 has them; what would move a cursor is a stroke."""
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name))
    picture(tmp_path / "a.jpg").rename(path)

    assert take_in(path, LONDON).name == kept_as


def test_a_name_in_another_encoding_is_printed_as_far_as_it_can_be(tmp_path):
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/k\xf6ln.jpg"))
    path.write_bytes(b"no picture")

    with pytest.raises(AnswerError) as refused:
        take_in(path, LONDON)

    assert str(refused.value).encode("utf-8")
