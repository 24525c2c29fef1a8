"""Photographs: taken in byte for byte, hashed, dated by their own record, bound to a question by slate number or time.

A slate is a number held up (or written) in front of the lens; here it is read from the picture's file name:
`slate-22.jpg`, `s22-2 water line.jpg`. `22-2` is question 22 for the second of several components.
The only door to Pillow.
"""

from __future__ import annotations

import hashlib
import os
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from recover.base.errors import AnswerError

if TYPE_CHECKING:
    from PIL.Image import Image

PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".gif", ".bmp", ".heic", ".heif")
_SLATE = re.compile(r"(?:^|[^a-z0-9])s(?:late)?[ _-]?0*(\d{1,3})(?:[-_.](\d{1,2}))?(?![0-9a-z])", re.IGNORECASE)
_EXIF_BLOCK, _TAKEN, _OFFSET = 0x8769, 0x9003, 0x9011
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP")
"""What is opened, by its content and not its name: none of these starts another program."""

_REDUCED_PX, _MOST_PIXELS, _LARGEST_BYTES = 900, 200_000_000, 400_000_000

_YEARS = range(1990, 2100)
_LEAST_BYTES = 4096
"""Less of a picture shows nothing."""
_HEIC = "it cannot be shown on paper; save it as JPEG as well"

_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"mif1", b"heim", b"heis", b"msf1")


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A picture file as it came: its bytes, their SHA-256, when it says it was taken, what is to be said of it."""

    name: str
    content: bytes
    sha256: str
    taken: datetime | None
    printable: bool = True
    note: str = ""


def take_in(path: Path, zone: ZoneInfo) -> Picture:
    """Read a picture file. A time without an offset is local to the job's zone. Raises AnswerError if it is none."""
    expected = "expected a picture (JPEG, PNG, WebP, TIFF, HEIC); check that the file came over whole"
    content = _read(path)
    sha256 = hashlib.sha256(content).hexdigest()
    if content[4:8] == b"ftyp" and content[8:12] in _HEIF_BRANDS:
        return Picture(name=_name(path), content=content, sha256=sha256, taken=None, printable=False, note=_HEIC)
    from PIL.Image import DecompressionBombError

    try:
        exif, note = _looked_at(content)
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError, DecompressionBombError) as error:
        raise AnswerError(f"{_shown(path)}: is no picture that can be opened; {expected}") from error
    return Picture(name=_name(path), content=content, sha256=sha256, taken=_taken(exif, zone), note=note)


def _looked_at(content: bytes) -> tuple[dict[int, object], str]:
    """Decode a picture; return its camera's record and what is to be said of it. Raises what Pillow raises.

    Of one whose end is missing the beginning may be all there is.
    """
    try:
        return _decoded(content, whole=True), ""
    except OSError as error:
        if "truncated" not in str(error) or len(content) < _LEAST_BYTES:
            raise
    return _decoded(content, whole=False), "its end is missing; take it in again if there is a whole one"


def _decoded(content: bytes, *, whole: bool) -> dict[int, object]:
    """Decode a picture and return its camera's record. Raises what Pillow raises."""
    with _opened(content, _REDUCED_PX, whole=whole) as image:
        exif = _exif(image)
        image.load()
    return exif


@contextmanager
def _opened(content: bytes, least_px: int, *, whole: bool = False) -> Iterator[Image]:
    """Open a picture of a format that is taken; a large JPEG at a fraction of its size, not below `least_px`.

    Raises ValueError, before anything is decoded, for more pixels than any camera has.
    """
    from PIL import Image, ImageFile

    Image.init()
    ImageFile.LOAD_TRUNCATED_IMAGES = not whole
    Image.MAX_IMAGE_PIXELS = None  # ours is the limit
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(BytesIO(content), formats=FORMATS) as image:
            if image.width * image.height > _MOST_PIXELS:
                raise ValueError(f"{image.width} by {image.height} pixels")
            image.draft("RGB", (least_px, least_px))
            yield image


def _read(path: Path) -> bytes:
    """Read a plain file of a size that a picture has. Raises AnswerError for a pipe, a device, a link to nowhere."""
    try:
        found = path.stat()
        if not S_ISREG(found.st_mode):
            raise AnswerError(f"{_shown(path)}: is no plain file; name the picture itself")
        if found.st_size > _LARGEST_BYTES:
            raise AnswerError(f"{_shown(path)}: is larger than {_LARGEST_BYTES // 10**6} MB; no camera writes that")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise AnswerError(f"{_shown(path)}: cannot be read ({why}); check the name") from error


def _shown(path: Path) -> str:
    """Return a path as it can be printed: a name in another encoding has letters that cannot."""
    return os.fsencode(path).decode("utf-8", "replace")


def _name(path: Path) -> str:
    """Return a picture's name as it is kept: of another encoding byte for byte as Latin-1, no control characters."""
    name = os.fsencode(path.name)
    try:
        written = name.decode("utf-8")
    except UnicodeDecodeError:
        written = name.decode("latin-1")
    return "".join(letter if letter.isprintable() else "_" for letter in written)


def _exif(image: Image) -> dict[int, object]:
    """Return what a picture says of itself; nothing where that is damaged: the picture is none the worse."""
    try:
        return dict(image.getexif().get_ifd(_EXIF_BLOCK))
    except Exception:  # noqa: BLE001 - the record of a camera is foreign data: whatever it does, the picture stands
        return {}


def _taken(exif: dict[int, object], zone: ZoneInfo) -> datetime | None:
    stamp, offset = str(exif.get(_TAKEN, "")).strip("\0 "), str(exif.get(_OFFSET, "")).strip("\0 ")
    for text, form in ((stamp + offset, "%Y:%m:%d %H:%M:%S%z"), (stamp, "%Y:%m:%d %H:%M:%S")):
        try:
            moment = datetime.strptime(text, form)  # noqa: DTZ007 - the zone follows in the next line
        except ValueError:
            continue
        if moment.year not in _YEARS:
            return None  # a clock that nobody set
        with suppress(OverflowError):
            return (moment if moment.tzinfo else moment.replace(tzinfo=zone)).astimezone(zone)
    return None


def slate(name: str) -> tuple[int, int | None] | None:
    """Read the slate number from a picture's file name: question and, if given, which of its components.

    >>> slate("slate-22-water-line.jpg"), slate("S022-2.JPG"), slate("IMG_4711.jpg")
    ((22, None), (22, 2), None)
    """
    found = _SLATE.search(Path(name).stem)
    return (int(found[1]), int(found[2]) if found[2] else None) if found else None


def pictures_in(path: Path) -> tuple[list[Path], list[Path]]:
    """Return the pictures of a folder and the folders in it, by name, and what else lies there; a file as itself."""
    if not path.is_dir():
        return [path], []
    files = sorted(file for file in path.rglob("*") if not file.is_dir() and not file.name.startswith("."))
    pictures = [file for file in files if file.suffix.lower() in PICTURES]
    return pictures, [file for file in files if file not in pictures]


def reduced_copy(content: bytes, longest_px: int = _REDUCED_PX) -> bytes:
    """Return a smaller JPEG of a picture, upright, for print; the original is not touched."""
    from PIL import ImageOps

    with _opened(content, 2 * longest_px) as image:
        upright = ImageOps.exif_transpose(image).convert("RGB")
        upright.thumbnail((longest_px, longest_px))
        small = BytesIO()
        upright.save(small, "JPEG", quality=82)
    return small.getvalue()
