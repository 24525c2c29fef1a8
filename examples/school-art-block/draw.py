"""Draws the example's photographs: plain line drawings, so that nobody takes them for a real kiln.

python examples/school-art-block/draw.py     writes them into photographs/, dated as a phone would date them
"""

import sys
from pathlib import Path

from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))

from drawing import INK, WET, font, sheet

FOLDER = Path(__file__).parent / "photographs"


def box(pen, area, width=5, fill=None):
    """Draw a rectangle."""
    pen.rectangle(area, outline=INK, width=width, fill=fill)


def save(image, name, taken):
    """Write a picture with the moment that a phone would write (Exif DateTimeOriginal)."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = f"2026:03:10 {taken}:00"
    image.save(FOLDER / name, quality=80, exif=exif)


def water_line():
    """The kiln from the front, the water line, and a tape measure in millimetres: 3 mm a pixel, floor at y = 790."""
    image, pen = sheet("Water line with tape, front")
    pen.rectangle((0, 790 - 640 // 3, 1200, 790), fill=WET)
    box(pen, (300, 790 - 1720 // 3, 760, 790 - 320 // 3))
    box(pen, (340, 790 - 1430 // 3, 720, 790 - 530 // 3), 4)
    box(pen, (760, 790 - 1290 // 3, 900, 790 - 590 // 3), 5)
    for x in (330, 700):
        box(pen, (x, 790 - 320 // 3, x + 40, 790), 4)
    pen.line((0, 790, 1200, 790), fill=INK, width=6)
    pen.line((60, 790 - 640 // 3, 1140, 790 - 640 // 3), fill=INK, width=3)
    box(pen, (1010, 200, 1060, 790), 3, "white")
    for height in range(0, 1800, 100):
        y = 790 - height // 3
        pen.line((1010, y, 1030 if height % 500 else 1060, y), fill=INK, width=3)
        if height % 500 == 0 and height:
            pen.text((1070, y - 20), str(height), font=font(30), fill=INK)
    pen.text((70, 790 - 640 // 3 - 50), "640 mm", font=font(38, bold=True), fill=INK)
    save(image, "slate-22-water-line.jpg", "09:32")


def plate():
    """The data plate."""
    image, pen = sheet("Data plate, left side")
    box(pen, (140, 140, 1060, 700), 8, "white")
    rows = (
        "EXAMPLE KILNS",
        "Model  Front One",
        "No.  1234-demo      2011",
        "400 V  3 ~      15 kW      22 A",
        "max 1300 °C",
    )
    for number, row in enumerate(rows):
        pen.text((200, 185 + number * 98), row, font=font(56, bold=number == 0), fill=INK)
    for x, y in ((165, 165), (1035, 165), (165, 675), (1035, 675)):
        pen.ellipse((x - 12, y - 12, x + 12, y + 12), outline=INK, width=4)
    save(image, "slate-23-plate.jpg", "09:35")


def control_box():
    """The opened control box: contactors in the wet, the drip on the door."""
    image, pen = sheet("Control box, cover off, lower edge wet")
    pen.rectangle((300, 640, 900, 780), fill=WET)
    box(pen, (300, 60, 900, 780), 7)
    box(pen, (350, 110, 850, 250), 4, "white")
    pen.text((380, 150), "controller", font=font(40), fill=INK)
    for x, name in ((360, "heating"), (630, "safety")):
        box(pen, (x, 560, x + 220, 690), 5, "white")
        pen.text((x + 20, 600), name, font=font(38), fill=INK)
    box(pen, (360, 715, 850, 755), 4, "white")
    for x in range(390, 850, 60):
        pen.ellipse((x, 725, x + 20, 745), outline=INK, width=3)
    for x in (410, 470, 700, 780):
        pen.line((x, 250, x - 20, 420, x + 10, 560), fill=INK, width=6, joint="curve")
    for x, y in ((250, 120), (220, 200), (260, 300)):
        pen.ellipse((x, y, x + 18, y + 30), outline=INK, width=3)
    save(image, "slate-33-control-box.jpg", "09:41")


def isolator():
    """The isolator, locked and tagged."""
    image, pen = sheet("Plant-room isolator, locked and tagged")
    box(pen, (380, 80, 820, 640), 7, "white")
    pen.ellipse((480, 200, 720, 440), outline=INK, width=7)
    pen.line((490, 320, 710, 320), fill=INK, width=34)
    pen.text((450, 110), "I", font=font(60, bold=True), fill=INK)
    pen.text((560, 500), "O", font=font(80, bold=True), fill=INK)
    pen.arc((690, 290, 790, 420), 180, 360, fill=INK, width=12)
    box(pen, (680, 355, 800, 460), 7, "#ddd")
    box(pen, (850, 380, 1170, 600), 5, "white")
    pen.line((790, 420, 860, 440), fill=INK, width=4)
    pen.text((875, 405), "DO NOT", font=font(50, bold=True), fill=INK)
    pen.text((875, 470), "ENERGISE", font=font(50, bold=True), fill=INK)
    save(image, "slate-7-isolator.jpg", "09:18")


def film():
    """What the water left on the floor of the control box."""
    image, pen = sheet("Film of plaster dust, floor of the control box")
    box(pen, (120, 160, 1080, 740), 6, "white")
    for number in range(260):
        x, y = 140 + (number * 197) % 920, 200 + (number * 331) % 520
        pen.ellipse((x, y, x + 4 + number % 9, y + 3 + number % 7), fill="#999")
    pen.line((120, 330, 1080, 300), fill=INK, width=3)
    pen.text((160, 230), "edge of the film", font=font(36), fill=INK)
    save(image, "slate-19-film.jpg", "09:44")


def room():
    """A picture without a slate number: its time binds it, or nothing does."""
    image, pen = sheet("Room, from the door")
    pen.line((0, 700, 1200, 640), fill=INK, width=5)
    pen.line((300, 690, 300, 60), fill=INK, width=5)
    box(pen, (420, 330, 620, 680), 5, "white")
    box(pen, (760, 420, 1100, 650), 4, "white")
    pen.text((790, 500), "glaze bench", font=font(36), fill=INK)
    pen.text((440, 480), "kiln", font=font(44), fill=INK)
    pen.line((0, 590, 1200, 540), fill=INK, width=2)
    save(image, "room.jpg", "09:05")


def board():
    """The back-up board behind the door panel: dark where it is soaked, soft at its foot."""
    image, pen = sheet("Door panel off: back-up board, soaked")
    box(pen, (260, 60, 940, 790), 6, "white")
    pen.rectangle((266, 420, 934, 784), fill=WET)
    pen.line((266, 430, 420, 412, 600, 434, 780, 408, 934, 424), fill=INK, width=4, joint="curve")
    pen.text((300, 350), "wet to 980 mm", font=font(38), fill=INK)
    pen.line((266, 760, 380, 735, 520, 762, 700, 730, 934, 758), fill=INK, width=5, joint="curve")
    pen.text((300, 670), "soft", font=font(38, bold=True), fill=INK)
    for y in (100, 740):
        for x in (290, 890):
            pen.ellipse((x, y, x + 22, y + 22), outline=INK, width=4)
    save(image, "slate-111-8-door-board.jpg", "10:12")


def element():
    """The lowest element in its groove, with what the water left between the turns."""
    image, pen = sheet("Lowest element, film in the coil")
    box(pen, (60, 330, 1140, 580), 5, "white")
    for number in range(150):
        x, y = 70 + (number * 197) % 1050, 490 + (number * 53) % 80
        pen.ellipse((x, y, x + 5 + number % 7, y + 4 + number % 5), fill="#999")
    for turn in range(24):
        pen.ellipse((90 + turn * 43, 370, 150 + turn * 43, 520), outline=INK, width=6)
    pen.text((90, 250), "element 1, from the floor", font=font(38), fill=INK)
    save(image, "slate-122-1-film.jpg", "10:25")


def stud():
    """The earth stud of the stand after cleaning, with the two leads of the tester."""
    image, pen = sheet("Earth stud of the stand, cleaned")
    box(pen, (120, 520, 1080, 700), 6, "white")
    for radius, width in ((150, 5), (95, 7)):
        pen.ellipse((600 - radius, 610 - radius, 600 + radius, 610 + radius), outline=INK, width=width, fill="white")
    pen.regular_polygon((600, 610, 70), 6, outline=INK, width=6)
    pen.line((600, 540, 640, 330, 820, 180), fill=INK, width=14, joint="curve")
    pen.text((850, 140), "PE", font=font(56, bold=True), fill=INK)
    box(pen, (140, 90, 470, 300), 6, "white")
    pen.text((180, 120), "0.08 ohm", font=font(56, bold=True), fill=INK)
    pen.text((180, 210), "at 10 A", font=font(44), fill=INK)
    pen.line((300, 300, 330, 480, 540, 600), fill=INK, width=5, joint="curve")
    save(image, "slate-148-5-earth-stud.jpg", "10:40")


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for draw in (water_line, plate, control_box, isolator, film, board, element, stud, room):
        draw()
