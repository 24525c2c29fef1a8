"""The drawings: a kiln in side view, true to scale and legible; element strings in standard symbols."""

import re
from dataclasses import replace
from io import BytesIO
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import NullObject

from recover.report import pdf as printer
from recover.report import sketch
from recover.report.annotation import _spread, _text_width, _wrap
from recover.report.drawing import Datum, SideView, describe, side_view
from recover.report.pdf import FONTS
from recover.report.sketch import connection_sketch
from recover.report.svg import LINE, SIZE, hatch
from recover.report.words import words
from tests.printed import pages_of

WORDS = words().drawing
TERMINALS = {name: name for name in sketch.TERMINALS}

KILN = SideView(
    top_mm=980,
    water_line_mm=430,
    rise_mm=120,
    datums=(
        Datum("Stand, top", 180), Datum("Floor, hot face", 305), Datum("Control box, lower edge", 330),
        Datum("Supply cable entry", 352), Datum("Terminal block", 420), Datum("Probe", 600), Datum("Lid joint", 865),
    ),
    stand_top_mm=180,
    floor_face_mm=305,
    lid_joint_mm=865,
    box_mm=(330, 760),
    elements_mm=(340, 430, 500, 580),
    inside_width_mm=560,
    wall_mm=115,
    opening="top",
)  # fmt: skip
TEST_KILN = SideView(top_mm=300, water_line_mm=60, rise_mm=30, stand_top_mm=15, floor_face_mm=70, lid_joint_mm=240,
                     elements_mm=(90, 130), inside_width_mm=150, wall_mm=60)  # fmt: skip
TROLLEY_KILN = SideView(top_mm=3000, water_line_mm=900, stand_top_mm=150, floor_face_mm=500, lid_joint_mm=2700,
                        box_mm=(600, 2000), elements_mm=tuple(range(600, 2640, 170)), inside_width_mm=1800, wall_mm=300,
                        opening="front", from_above=True, imperial=True)  # fmt: skip
KILNS = {
    "everything known": KILN,
    "in inches": replace(KILN, imperial=True),
    "300 mm test kiln": TEST_KILN,
    "3 m kiln": TROLLEY_KILN,
    "twelve elements": replace(KILN, elements_mm=tuple(340 + 40 * number for number in range(12))),
    "water over the top": replace(KILN, water_line_mm=2400),
    "only the top height": SideView(top_mm=900, missing=("water line", "stand", "wall")),
}
every_kiln = pytest.mark.parametrize("view", KILNS.values(), ids=KILNS.keys())


def read(svg):
    return ElementTree.fromstring(re.sub(r' xmlns="[^"]+"', "", svg))


def of_class(root, name):
    return [one for one in root.iter() if one.get("class") == name]


def numbers(words):
    return [float(one) for one in re.findall(r"-?\d*\.?\d+", words)]


def label(group):
    """Return the name of a level: its words after the height, lines joined."""
    return " ".join(one.text or "" for one in group.findall("text")[1:])


def levels(root):
    """Return where each level's leader leaves the kiln, by name."""
    return {label(group): numbers(group.find("path").get("d"))[1] for group in of_class(root, "level")}


def placed(node, x=0.0, y=0.0, scale=1.0):
    """Yield each node that draws with the place and scale of its groups."""
    for child in node:
        moved = re.match(r"(?:translate\((\S+) (\S+)\))?(?: scale\((\S+)\))?", child.get("transform", ""))
        dx, dy, by = (float(moved[number] or default) for number, default in ((1, 0), (2, 0), (3, 1)))
        if child.tag == "g":
            yield from placed(child, x + scale * dx, y + scale * dy, scale * by)
        elif child.tag != "title":
            yield child, x, y, scale


def text_box(node):
    """Return left, top, right, bottom of what is written, by the most its type can take up."""
    wide, x, base = _text_width(node.text or ""), float(node.get("x")), float(node.get("y"))
    left = x - wide * {"start": 0, "middle": 0.5, "end": 1}[node.get("text-anchor")]
    return left, base - 0.75 * SIZE, left + wide, base + 0.22 * SIZE  # Plex: capitals 0.698 em, descenders 0.22 em


def path_points(d):
    """Return the points that a path goes through, with the handles of its curves."""
    points, x, y = [], 0.0, 0.0
    for letter, said in re.findall(r"([MLHVhvlq])([^MLHVhvlqzm]*)", d.replace("m", "l")):
        values = numbers(said)
        if letter in "HhVv":
            x, y = (
                {"H": values[0], "h": x + values[0]}.get(letter, x),
                {"V": values[0], "v": y + values[0]}.get(letter, y),
            )
            points.append((x, y))
            continue
        pairs = list(zip(values[::2], values[1::2], strict=True))
        points += [(a, b) if letter in "ML" else (x + a, y + b) for a, b in pairs]
        x, y = points[-1]
    return points


def drawn_points(node):
    if node.tag == "text":
        left, top, right, bottom = text_box(node)
        return [(left, top), (right, bottom)]
    if node.tag == "path":
        return path_points(node.get("d"))
    value = {key: float(node.get(key, 0)) for key in ("x", "y", "width", "height", "cx", "cy", "r")}
    if node.tag == "circle":
        return [
            (value["cx"] - value["r"], value["cy"] - value["r"]),
            (value["cx"] + value["r"], value["cy"] + value["r"]),
        ]
    return [(value["x"], value["y"]), (value["x"] + value["width"], value["y"] + value["height"])]


def outside(root):
    """Return what lies outside the picture, by more than the width of a pen."""
    _, _, width, height = numbers(root.get("viewBox"))
    return [
        (node.tag, node.attrib, node.text)
        for node, x, y, scale in placed(root)
        for a, b in drawn_points(node)
        if not (-0.3 <= x + scale * a <= width + 0.3 and -0.3 <= y + scale * b <= height + 0.3)
    ]


def overlapping(root):
    boxes = [(node.text, text_box(node)) for node in root.iter("text")]
    return [
        (one, other)
        for (one, a), (other, b) in combinations(boxes, 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


# --------------------------------------------------------------------------------------------------- the side view


@every_kiln
def test_a_side_view_is_a_titled_picture_with_nothing_outside_and_no_words_overlapping(view):
    root = read(side_view(view))

    assert (root.tag, root.get("role"), root.find("title").text) == ("svg", "img", describe(view))
    assert outside(root) == []
    assert overlapping(root) == []


@every_kiln
def test_every_datum_is_named_once(view):
    names = [label(group) for group in of_class(read(side_view(view)), "level")]

    assert [names.count(datum.label) for datum in view.datums] == [1] * len(view.datums)


def test_heights_are_to_one_scale():
    """1 mm on the kiln is the same length on paper between any two datums, water line and casing included."""
    root = read(side_view(KILN))
    y, heights = levels(root), {datum.label: datum.height_mm for datum in KILN.datums}
    scale = (y["Stand, top"] - y["Lid joint"]) / (865 - 180)

    for one, other in combinations(heights, 2):
        assert y[one] - y[other] == pytest.approx(scale * (heights[other] - heights[one]), abs=0.003)
    water, casing = of_class(root, "water")[0], of_class(root, "casing")[0]
    assert y["Stand, top"] - numbers(water.get("d"))[1] == pytest.approx(scale * (430 - 180), abs=0.003)
    assert y[WORDS.water_line] == pytest.approx(numbers(water.get("d"))[1])
    assert y["Stand, top"] - float(casing.get("y")) == pytest.approx(scale * (980 - 180), abs=0.003)
    assert y[WORDS.rise] == pytest.approx(numbers(of_class(root, "rise")[0].get("d"))[1])
    assert y[WORDS.water_line] - y[WORDS.rise] == pytest.approx(scale * 120, abs=0.003)


def test_widths_are_to_the_scale_of_the_heights():
    casing = of_class(read(side_view(KILN)), "casing")[0]

    assert float(casing.get("width")) / float(casing.get("height")) == pytest.approx((560 + 2 * 115) / 800, abs=1e-4)


def test_the_staff_has_the_scale_of_the_drawing():
    root = read(side_view(replace(KILN, imperial=True)))
    y = levels(root)
    per_mm = (y["Stand, top"] - y["Lid joint"]) / (865 - 180)
    at = {node.text: float(node.get("y")) for node in root.iter("text")}

    assert at["200"] - at["800"] == pytest.approx(per_mm * 600, abs=0.003)
    assert at["6"] - at["36"] == pytest.approx(per_mm * 30 * 25.4, abs=0.003)  # the inch is 25.4 mm exactly


@pytest.mark.parametrize(("water_line_mm", "filled"), [(None, 0), (339, 0), (340, 1), (430, 2), (579.9, 3), (2400, 4)])
def test_elements_at_or_below_the_water_line_are_filled_on_both_walls(water_line_mm, filled):
    circles = of_class(read(side_view(replace(KILN, water_line_mm=water_line_mm))), "element")

    assert len(circles) == 2 * len(KILN.elements_mm)
    assert sum(one.get("fill") == "#000" for one in circles) == 2 * filled


def test_grooves_that_lie_close_are_drawn_without_touching():
    circles = of_class(read(side_view(KILNS["twelve elements"])), "element")
    one_wall = sorted(float(one.get("cy")) for one in circles[::2])

    assert min(b - a for a, b in pairwise(one_wall)) > 2 * float(circles[0].get("r")) + 0.3  # the pen


def test_what_is_not_known_is_not_drawn_but_named():
    root = read(side_view(KILNS["only the top height"]))

    for part in ("water", "rise", "lining", "stand", "box", "element", "door", "joint", "level"):
        assert of_class(root, part) == []
    assert of_class(root, "casing")[0].get("stroke-dasharray")
    assert "Not known and not drawn: water line, stand, wall." in [node.text for node in root.iter("text")]


def test_a_measured_outline_is_not_dashed():
    assert of_class(read(side_view(KILN)), "casing")[0].get("stroke-dasharray") is None


@pytest.mark.parametrize(("opening", "parts"), [("top", (1, 0)), ("front", (0, 1)), ("unknown", (0, 0))])
def test_a_lid_shows_its_joint_and_a_door_its_plane(opening, parts):
    root = read(side_view(replace(KILN, opening=opening)))

    assert (len(of_class(root, "joint")), len(of_class(root, "door"))) == parts


def test_water_from_above_is_shown_by_arrows():
    def arrows(view):
        return len(of_class(read(side_view(view)), "arrow"))

    assert (arrows(KILN), arrows(replace(KILN, from_above=True))) == (0, 5 + 1)  # the sixth is in the legend


@pytest.mark.parametrize(("rise_mm", "to"), [(0, None), (120, "550 mm"), (900, "980 mm")])
def test_the_rise_ends_at_the_top_of_the_kiln(rise_mm, to):
    groups = of_class(read(side_view(replace(KILN, rise_mm=rise_mm))), "level")
    shown = {label(group): group.find("text").text for group in groups}

    assert shown.get(WORDS.rise) == to


def test_the_picture_in_words_gives_every_height():
    view = replace(KILN, datums=KILN.datums[:2])

    assert describe(view) == (
        "Side view of a kiln 980 mm high. The water line stands at 430 mm. Stand, top: 180 mm. Floor, hot face: 305 mm."
    )


def test_words_cannot_break_the_picture():
    said = replace(KILN, datums=(Datum('<script>&"\x00', 300),), missing=("</svg>",))
    root = read(side_view(said))

    assert '<script>&"' in levels(root)
    assert "Not known and not drawn: </svg>." in [node.text for node in root.iter("text")]


heights = st.floats(0, 4000)
views = st.builds(
    SideView,
    top_mm=st.floats(250, 3000),
    water_line_mm=st.none() | heights,
    rise_mm=st.floats(0, 400),
    datums=st.lists(st.builds(Datum, st.text(max_size=60), heights), max_size=25).map(tuple),
    stand_top_mm=st.none() | heights,
    floor_face_mm=st.none() | heights,
    lid_joint_mm=st.none() | heights,
    box_mm=st.none() | st.tuples(heights, heights),
    elements_mm=st.lists(heights, max_size=12).map(tuple),
    inside_width_mm=st.none() | st.floats(100, 3000),
    wall_mm=st.none() | st.floats(20, 400),
    opening=st.sampled_from(["top", "front", "unknown"]),
    from_above=st.booleans(),
    imperial=st.booleans(),
    missing=st.lists(st.text(max_size=30), max_size=8).map(tuple),
)
"""Kilns of any proportions, measured heights in any order: a slip of the tape must not spoil the sheet."""


@given(views)
def test_labels_never_overlap_and_nothing_lies_outside(view):
    root = read(side_view(view))

    assert len(of_class(root, "level")) >= len(view.datums)
    assert overlapping(root) == []
    assert outside(root) == []


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(1, 12)), max_size=20))
def test_labels_are_moved_only_where_they_collide(boxes):
    """In order, apart and within bounds; and where all fit as wanted, nothing moves."""
    wanted, sizes = sorted(want for want, _ in boxes), [size for _, size in boxes]
    high = max(112, sum(sizes))
    tops = _spread(wanted, sizes, 0, high)

    for (top, size), following in zip(zip(tops, sizes, strict=True), tops[1:], strict=False):
        assert following >= top + size - 1e-9
    assert all(-1e-9 <= top <= high - size + 1e-9 for top, size in zip(tops, sizes, strict=True))
    if all(b >= a + size for a, b, size in zip(wanted, wanted[1:], sizes, strict=False)):
        assert tops == pytest.approx(wanted)


# ----------------------------------------------------------------------------------------------- words and hatching


@pytest.mark.parametrize("face", ["Regular", "SemiBold"])
def test_a_width_is_never_less_than_the_type_needs(face):
    """By the shipped face's own metrics; what the papers' faces lack is printed as its code, such as [U+7AAF]."""
    font = TTFont(FONTS / f"IBMPlexSansCondensed-{face}.woff")
    names, advances, units = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    some = [chr(code) for code in [*range(32, 0x7F), *range(0xA0, 0x3100), 0x7AAF, 0x1F525]]

    def printed_width(one):
        shown = one if one in printer._characters() else f"[U+{ord(one):04X}]"
        return SIZE * sum(advances[names[ord(each)]][0] for each in shown) / units

    assert [one for one in some if _text_width(one) < printed_width(one)] == []


@given(st.text(), st.floats(20, 80))
def test_wrapped_words_fit_and_none_is_lost(words, room):
    lines = _wrap(words, room)

    assert all(_text_width(line) <= room for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(words.split()).replace(" ", "")


def test_hatching_stays_in_its_box_at_45_degrees():
    points = path_points(hatch(10, 20, 40, 30, 2))
    falling = path_points(hatch(10, 20, 40, 30, 2, falling=True))

    assert len(points) == len(falling) >= 20
    assert all(10 <= x <= 40 and 20 <= y <= 30 for x, y in points + falling)
    assert all(
        b[0] - a[0] == pytest.approx(a[1] - b[1], abs=0.02) for a, b in zip(points[::2], points[1::2], strict=True)
    )


# -------------------------------------------------------------------------------------------------- the connections

KINDS = {
    "single": ["L", "N"],
    "star": ["L1", "L2", "L3"],
    "star_neutral": ["L1", "L2", "L3", "N"],
    "delta": ["L1", "L2", "L3"],
}


@pytest.mark.parametrize("strings", [3, 4, 6, 12])
@pytest.mark.parametrize("kind", KINDS)
def test_a_sketch_has_a_resistor_for_each_string_and_its_kinds_terminals(kind, strings):
    root = read(connection_sketch(kind, strings, TERMINALS))
    words = [node.text for node in root.iter("text")]

    assert len(of_class(root, "resistor")) == strings
    assert len(of_class(root, "terminal")) == len(KINDS[kind])
    assert sorted(words) == sorted([*KINDS[kind], "A", "B", "C", "PE", "casing"])
    assert len(of_class(root, "earth")) == 1
    assert (outside(root), overlapping(root)) == ([], [])


def conductors(root):
    """Return the wires as sets of ends that a measurement cannot tell apart; a resistor's body cuts its wire."""
    bodies = {float(one.get("x")) + 1.3: float(one.get("y")) for one in of_class(root, "resistor")}
    segments = []
    for wire in of_class(root, "wire"):
        for piece in re.findall(r"M[^M]+", wire.get("d")):
            points = path_points(piece)
            for (x, y), (x2, y2) in pairwise(points):
                body = next(
                    (top for at, top in bodies.items() if abs(at - x) < 0.01 and x == x2 and y < top < y2), None
                )
                segments += [(x, y, x, body), (x, body + 8, x, y2)] if body else [(x, y, x2, y2)]
    nets = []
    for one in segments:
        joined = [net for net in nets if any(touch(one, other) for other in net)]
        nets = [net for net in nets if net not in joined] + [[one, *(each for net in joined for each in net)]]
    return nets


def touch(one, other):
    """Return whether an end of either segment lies on the other: a joint, or a corner. A mere crossing is none."""
    return any(on(end, other) for end in (one[:2], one[2:])) or any(on(end, one) for end in (other[:2], other[2:]))


def on(point, segment):
    (x, y), (x1, y1, x2, y2) = point, segment
    return min(x1, x2) - 0.02 <= x <= max(x1, x2) + 0.02 and min(y1, y2) - 0.02 <= y <= max(y1, y2) + 0.02


def net_at(nets, x, y):
    (found,) = [number for number, net in enumerate(nets) if any(on((x, y), one) for one in net)]
    return found


@pytest.mark.parametrize("strings", [3, 5, 6, 9])
@pytest.mark.parametrize("kind", KINDS)
def test_strings_are_wired_as_their_kind_says(kind, strings):
    """Followed along the wires: star ends meet in one point, a delta's strings lie between two lines each."""
    root = read(connection_sketch(kind, strings, TERMINALS))
    nets = conductors(root)
    at = {}
    for circle, word in zip(
        of_class(root, "terminal"), [t for t in root.iter("text") if t.text in KINDS[kind]], strict=True
    ):
        at[word.text] = net_at(nets, float(circle.get("cx")), float(circle.get("cy")))
    strung = [
        tuple(net_at(nets, float(one.get("x")) + 1.3, float(one.get("y")) + end) for end in (0, 8))
        for one in of_class(root, "resistor")
    ]
    lines = [at[name] for name in KINDS[kind] if name != "N"]

    assert {near for near, _ in strung} == set(lines)
    if kind == "delta":
        assert {far for _, far in strung} == set(lines)
        assert {frozenset(pair) for pair in strung} == {frozenset(pair) for pair in combinations(lines, 2)}
    else:
        (common,) = {far for _, far in strung}
        assert common not in lines
        assert "N" not in at or at["N"] == common
    counts = [sum(near == line for near, _ in strung) for line in lines]
    assert max(counts) - min(counts) <= 1


def test_one_string_is_enough_for_one_phase_but_not_for_three():
    assert len(of_class(read(connection_sketch("single", 1, TERMINALS)), "resistor")) == 1
    with pytest.raises(ValueError, match="star needs 3 strings"):
        connection_sketch("star", 2, TERMINALS)


def test_another_country_names_its_terminals():
    root = read(connection_sketch("single", 2, TERMINALS | {"L": "L1", "N": "L2"}))

    assert {"L1", "L2"} < {node.text for node in root.iter("text")}


# -------------------------------------------------------------------------------------------------------- in print


@pytest.fixture(scope="module")
def printed():
    """Return a paper with every drawing in it; printing raises for any line in the layout's log."""
    pictures = [side_view(view) for view in KILNS.values()]
    pictures += [connection_sketch(kind, 6, TERMINALS) for kind in KINDS]
    style = printer._fonts() + (printer._template_folder() / "print.css").read_text("utf-8")
    head = f'<!DOCTYPE html><html lang="en"><head><title>Drawings</title><style>{style}</style></head>'
    return printer.pdf(f"{head}<body>{'<p>and</p>'.join(pictures)}</body></html>")


def test_drawings_print_with_their_words(printed):
    words = " ".join(pages_of(printed))

    assert words.count("Supply cable entry") == sum(
        datum.label == "Supply cable entry" for view in KILNS.values() for datum in view.datums
    )
    assert "Not known and not drawn: water line, stand, wall." in words


def alternatives(node):
    """Yield the alternative text of a tagged PDF's figures, in order."""
    node = node.get_object()
    if isinstance(node, dict):
        yield from [node["/Alt"]] if "/Alt" in node else []
        yield from alternatives(node.get("/K", NullObject()))
    elif isinstance(node, list):
        for kid in node:
            yield from alternatives(kid)


def test_a_printed_drawing_says_what_it_shows_to_who_cannot_see_it(printed):
    """PDF/UA (ISO 14289-1, from memory) asks for alternative text on every figure."""
    said = list(alternatives(PdfReader(BytesIO(printed)).trailer["/Root"]["/StructTreeRoot"]))

    assert said == [*(describe(view) for view in KILNS.values()), *["title"] * len(KINDS)]


def test_lines_of_type_stand_further_apart_than_they_are_tall():
    assert LINE > SIZE
