"""Draws the photographs of four of the examples: plain line drawings, so that nobody takes them for real kilns.

python examples/drawing.py     writes them into each example's photographs/, dated as a phone would date them
"""

from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

HERE = Path(__file__).parent
FONTS = HERE.parent / "recover" / "report" / "fonts"
SIZE, INK, PALE, WET, FLOOR = (1200, 900), "#111", "#f4f4f0", "#c9d3d8", 790


@dataclass(frozen=True)
class Kiln:
    """What a picture of a kiln shows: heights in mm from the floor."""

    top: int
    line: int
    stand: int
    box: tuple[int, int]


def font(size, bold=False):
    """Return the papers' own typeface."""
    return ImageFont.truetype(str(FONTS / f"IBMPlexSans-{'SemiBold' if bold else 'Regular'}.woff"), size)


def sheet(caption):
    """Return a blank picture with its caption panel, and a pen."""
    image = Image.new("RGB", SIZE, PALE)
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 830, 1200, 900), fill=INK)
    pen.text((24, 845), f"{caption}  ·  drawn for the example", font=font(28), fill="white")
    return image, pen


def save(image, example, name, taken):
    """Write a picture with the moment that a phone would write (Exif DateTimeOriginal)."""
    folder = HERE / example / "photographs"
    folder.mkdir(exist_ok=True)
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = taken.replace("-", ":") + ":00"
    image.save(folder / name, quality=80, exif=exif)


def line_picture(kiln):
    """Return the kiln from the front with the water line and a tape in millimetres, the whole height in 700 pixels."""
    scale = 700 / max(kiln.top, kiln.line, 1)
    image, pen = sheet("Water line with tape, front")

    def y(height):
        return FLOOR - height * scale

    pen.rectangle((0, y(kiln.line), 1200, FLOOR), fill=WET)
    pen.rectangle((300, y(kiln.top), 760, y(kiln.stand)), outline=INK, width=5)
    pen.rectangle((760, y(kiln.box[1]), 890, y(kiln.box[0])), outline=INK, width=5)
    for x in (330, 700):
        pen.rectangle((x, y(kiln.stand), x + 30, FLOOR), outline=INK, width=4)
    pen.line((0, FLOOR, 1200, FLOOR), fill=INK, width=6)
    pen.line((60, y(kiln.line), 1140, y(kiln.line)), fill=INK, width=3)
    pen.rectangle((1010, y(kiln.top), 1060, FLOOR), outline=INK, width=3, fill="white")
    for height in range(0, kiln.top, 50):
        pen.line((1010, y(height), 1030 if height % 250 else 1060, y(height)), fill=INK, width=3)
        if height % 250 == 0 and height:
            pen.text((1070, y(height) - 20), str(height), font=font(30), fill=INK)
    pen.text((70, y(kiln.line) - 50), f"{kiln.line} mm", font=font(38, bold=True), fill=INK)
    return image


def words_picture(caption, rows):
    """Return a panel with rows of large words: a plate, a label, a meter."""
    image, pen = sheet(caption)
    pen.rectangle((140, 140, 1060, 700), outline=INK, width=8, fill="white")
    for number, row in enumerate(rows):
        pen.text((200, 185 + number * 98), row, font=font(56, bold=number == 0), fill=INK)
    return image


def coil_picture(caption, spots):
    """Return an element in its groove; `spots` of the turns are marked."""
    image, pen = sheet(caption)
    pen.rectangle((60, 330, 1140, 560), outline=INK, width=5, fill="white")
    for turn in range(24):
        x = 90 + turn * 43
        pen.ellipse((x, 370, x + 60, 520), outline=INK, width=6)
        if turn < spots:
            pen.ellipse((x + 20, 420, x + 44, 446), fill=INK)
    return image


PICTURES = {
    "harbour-studio": [
        ("slate-22-line.jpg", "2026-02-09 10:05", line_picture(Kiln(1780, 520, 220, (430, 1250)))),
        ("slate-23-plate.jpg", "2026-02-09 10:11", words_picture("Data plate", (
            "EXAMPLE FURNACES", "Model  Side Two", "No.  77-demo      1998", "400 V  3 ~  18 kW  26 A",
            "max 1320 °C"))),
        ("slate-68-meter.jpg", "2026-02-09 10:20", words_picture("Meter in the bucket", (
            "CONDUCTIVITY", "47.8 mS/cm", "15 °C"))),
        ("slate-33-box.jpg", "2026-02-09 10:31", words_picture("Control box, cover off", (
            "silt on its floor", "white on the terminals", "line 90 mm above its edge"))),
        ("slate-111-7-door-board.jpg", "2026-02-09 10:48", words_picture("Door panel off: back-up board", (
            "wet to 850 mm", "soft at the foot", "white bloom, heavy"))),
        ("slate-123-1-green.jpg", "2026-02-09 11:02", coil_picture("Lowest element, spots on the wire", 3)),
    ],
    "roof-leak-fibre": [
        ("slate-66-roof.jpg", "2026-04-21 09:30", words_picture("Lid joint, seen from above", (
            "drip marks", "front edge, 8 in", "back edge, 3 in"))),
        ("slate-111-3-roof-module.jpg", "2026-04-21 09:52", words_picture("Roof module, sagging", (
            "hangs 1 1/4 in", "at the middle anchor"))),
    ],
    "garden-room-splash": [
        ("slate-22-line.jpg", "2026-06-21 10:00", line_picture(Kiln(780, 40, 180, (280, 600)))),
        ("slate-33-box.jpg", "2026-06-21 10:12", words_picture("Control box, cover off", (
            "dust, dry", "no mark of water", "terminals bright"))),
    ],
    "two-kilns-cellar": [
        ("slate-22-1-line.jpg", "2026-05-18 13:10", line_picture(Kiln(880, 880, 60, (100, 300)))),
        ("slate-22-2-line.jpg", "2026-05-18 13:40", line_picture(Kiln(1120, 900, 220, (420, 880)))),
        ("slate-73-1-no-plate.jpg", "2026-05-18 13:15", words_picture("Where the plate was", (
            "four rivet holes", "no plate"))),
    ],
}  # fmt: skip

if __name__ == "__main__":
    for example, pictures in PICTURES.items():
        for name, taken, image in pictures:
            save(image, example, name, taken)
