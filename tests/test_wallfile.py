"""Wall files: what cannot be is refused at its place, and what is written is read back the same."""

import tomllib
from dataclasses import fields, is_dataclass, replace
from math import exp, inf
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import DataError, QuantityError
from recover.physics.air import boiling_degc, saturation_line
from recover.physics.around import Around
from recover.physics.drying import simulate
from recover.physics.materials import ENDS, material, materials
from recover.physics.wall import (
    Chamber,
    Course,
    Face,
    Matter,
    Phase,
    Room,
    Setup,
    Wall,
    WallLayer,
)
from recover.physics.wallfile import Study, _File, read, write
from tests.conftest import cases

EXAMPLES = Path(__file__).parents[1] / "examples" / "walls"
BAD = Path(__file__).parent / "bad"

HEAD = 'format = "recover-wall"\nversion = 1\ntitle = "t"\nhours = 24\n'
STEP = "[[step]]\nto_degc = 95\nramp_k_h = 60\nhold_h = 12\n"
WALL = "[[wall]]\n[wall.hot]\nfilm_w_m2k = 40\nopenness = 1\n[wall.cold]\nnatural_w_m2k13 = 1.6\n"
LAYER = '[[wall.layer]]\nmaterial = "ifb_23"\nthickness_mm = 64\nwater_kg_m3 = 270\n'


@pytest.fixture
def file(tmp_path):
    """Write a file and read it as a wall file."""

    def of(*parts):
        path = tmp_path / "wall.toml"
        path.write_text("".join(parts), "utf-8")
        return read(path)

    return of


# ---------------------------------------------------------------------------------------- what is read


def test_ramps_and_holds_become_the_course_of_the_chamber(file):
    study = file(HEAD, STEP, WALL, LAYER)

    assert study.setup.course == Course((0, 1.25, 13.25), (20, 95, 95))  # 75 K at 60 K/h, then 12 h
    assert study.setup.walls[0].hot == Face(film_w_m2k=40, openness=1)
    assert study.setup.walls[0].layers[0].name == "insulating firebrick, group 23"


def test_a_material_by_name_has_the_middle_of_its_spans_unless_an_end_is_asked_for(file):
    mid = file(HEAD, STEP, WALL, LAYER).setup.walls[0].layers[0].matter
    low = file(HEAD, STEP, WALL, LAYER, 'end = "low"\n').setup.walls[0].layers[0].matter

    assert (mid.density_kg_m3, low.density_kg_m3) == (
        material("ifb_23").dry_density_kg_m3.mid,
        material("ifb_23").dry_density_kg_m3.low,
    )
    assert low.permeability_m2 < mid.permeability_m2


@pytest.mark.parametrize("name", materials())
@pytest.mark.parametrize("end", ENDS)
def test_every_material_can_stand_in_a_wall_and_moves_liquid_at_half_filled_pores_as_its_table_says(name, end, file):
    layer = LAYER.replace("ifb_23", name).replace("270", "0") + f'end = "{end}"\n'
    matter = file(HEAD, STEP, WALL, layer).setup.walls[0].layers[0].matter
    at_half = getattr(material(name).moisture.liquid_m2_s, end)

    assert matter.liquid0_m2_s * exp(matter.liquid_exponent / 2) == pytest.approx(at_half)


def test_a_process_that_is_off_has_the_number_nought_in_every_layer(file):
    on = file(HEAD, STEP, WALL, LAYER).setup.walls[0].layers[0].matter
    off = file(HEAD, "[processes]\nflow = false\nliquid = false\n", STEP, WALL, LAYER).setup.walls[0].layers[0].matter

    assert (off.permeability_m2, off.liquid0_m2_s) == (0, 0)
    assert on.permeability_m2 > 0
    assert off.vapour_tortuosity == on.vapour_tortuosity > 0


def test_humidity_is_a_share_of_saturation_at_its_temperature(file):
    chamber, room = "[chamber]\nair_degc = 30\nhumidity_percent = 40\n", "[room]\ndegc = 10\nhumidity_percent = 80\n"
    setup = file(HEAD, chamber, room, STEP, WALL, LAYER).setup

    assert setup.chamber.vapour_share == pytest.approx(0.4 * saturation_line(30)[0] / 101_325)
    assert setup.room.vapour_share == pytest.approx(0.8 * saturation_line(10)[0] / 101_325)
    assert setup.room.degc == Course.steady(10)


def test_an_endless_film_is_a_prescribed_temperature(file):
    assert file(HEAD, STEP, WALL.replace("40", "inf"), LAYER).setup.walls[0].hot.film_w_m2k == inf


def test_a_wall_with_an_inner_radius_is_the_side_of_a_cylinder(file):
    study = file(HEAD, STEP, WALL.replace("[[wall]]", "[[wall]]\ninner_radius_mm = 225"), LAYER)

    assert study.setup.walls[0].inner_radius_mm == 225


def test_a_casing_and_an_opening_can_be_named(tmp_path):
    text = (EXAMPLES / "four-walls.toml").read_text()
    named = read(EXAMPLES / "four-walls.toml").setup
    (tmp_path / "numbers.toml").write_text(
        text.replace('opening = "lid_propped"', "vent_m3_h = 15").replace(
            'casing = "seams" #', "[wall.cold]\nnatural_w_m2k13 = 1.6\nemissivity = 0.8\nopenness = 0.03\n#"
        ).replace("area_m2 = 0.85\ninner_radius_mm = 225\n", "")
    )  # fmt: skip
    numbers = read(tmp_path / "numbers.toml").setup

    assert numbers.chamber == named.chamber
    assert numbers.walls[0].cold == named.walls[0].cold
    assert named.walls[0].hot == named.walls[2].hot


# ---------------------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("unknown-key", "[wall side colour]: the key 'colour' is not known"),
        ("too-wet", "[wall side layer brick] layer, water_kg_m3: 900; expected 0 to 780, what its pores hold"),
        ("no-layer", "[wall side] side: no layer; expected at least one"),
        ("casing-unknown", "[wall 0] casing: 'velvet'; expected one of loosened, wrapped, seams"),
        ("no-wall", "wall-no-wall.toml setup: no wall; expected at least one"),
        ("no-temperature", "[step 0 to_degc]: is missing"),
        ("no-schedule", "schedule: none; expected [[step]]s, or a [course] of knots, or [[around]] by stretches"),
        ("around-late", "around, at_h: 3; expected hours that rise, the first 0"),
        ("around-back", "around, at_h: 0, 12, 6; expected hours that rise, the first 0"),
        ("around-and-step", "schedule: step and around; expected [[step]]s, or"),
        ("around-frozen", "around, at 12 h, setup: -5 °C and water; expected 0 °C or more where a wall is wet"),
        ("around-room", "room: given with [[around]]; expected its height_m alone; the rest in each [[around]]"),
        ("around-power", "chamber, power_kw: given with [[around]]; expected power_kw of each [[around]]"),
        ("around-cold-enclosure", "[around 0] around, an enclosure: no chamber_degc; expected what its air is kept at"),
        ("around-two-airs", "[around 0] around: enclosed_m3_h and vent_m3_h; expected one of them"),
        ("around-knots", "[around 0] around, room_degc: 2 hours and 1 temperatures; expected as many of both"),
        ("around-vapour", "around, at 0 h, room, vapour_share: 1.2; expected 0 to 1"),
        ("newer", "was written by a newer version (file version 3, this program knows up to 2)"),
        ("unknown-material", "[wall side layer brick] material: 'sponge'; expected one of ifb_23"),
        ("two-materials", "layer: both of material and matter; expected the name of one, or the numbers"),
        ("phase-of-coupled", "phase: given with closure 'coupled'; expected closure 'leaves_freely'"),
        ("humidity-alone", "[chamber] chamber: air_degc or humidity_percent alone; expected both"),
        ("course-back", "schedule: hours that go back; expected hours that rise"),
        ("too-hot", "setup: 20 to 2000 °C; expected temperatures from -50 to 1400 °C"),
        ("too-many-rows", "every_h: 0.001 in 24 h; expected at most 10000 rows"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_with_its_place(name, sentence):
    with pytest.raises(DataError) as refused:
        read(BAD / f"wall-{name}.toml")

    assert sentence in str(refused.value)
    assert str(refused.value).startswith(f"wall-{name}.toml")
    assert len(refused.value.problems) == 1


def test_all_that_is_wrong_is_named_at_once():
    with pytest.raises(DataError) as refused:
        read(BAD / "wall-many-faults.toml")

    places = [problem.where.partition("[")[2].partition("]")[0] for problem in refused.value.problems]
    assert places == ["hours", "step 0 to_degc", "step 1", "room", "wall side hot", "wall side cold colour",
                      "wall side layer brick", "wall side layer fibre"]  # fmt: skip


def test_every_bad_file_is_tried():
    tried = test_what_cannot_be_is_refused_in_a_sentence_with_its_place.pytestmark[0].args[1]

    assert {path.stem for path in BAD.glob("wall-*.toml")} == {f"wall-{name}" for name, _ in tried} | {
        "wall-many-faults"
    }


@pytest.mark.parametrize(
    ("part", "sentence"),
    [
        ("[[step]]\nto_degc = 95\nhold_h = inf\n", "a number without end"),
        ("[course]\nhours = [0, 1]\ndegc = [20]\n", "2 hours and 1 temperatures"),
        (STEP + "[course]\nhours = [0]\ndegc = [20]\n", "schedule: step and course"),
        (STEP + "[room]\nvapour_share = 0.01\nhumidity_percent = 50\n", "vapour: a share and a humidity"),
    ],
)
def test_a_schedule_or_a_humidity_that_says_two_things_or_none_is_refused(file, part, sentence):
    with pytest.raises(DataError, match=sentence):
        file(HEAD, part, WALL, LAYER)


@pytest.mark.parametrize("hours", [0, -1, inf])
def test_a_run_without_an_end_or_a_beginning_is_refused(hours):
    with pytest.raises(QuantityError, match="hours"):
        Study("t", read(EXAMPLES / "boiling-front.toml").setup, hours)


# ---------------------------------------------------------------------------------------- moments


@pytest.mark.parametrize(
    ("hours", "every_h", "moments"),
    [(1, 0.25, [0, 0.25, 0.5, 0.75, 1]), (1, 1, [0, 0.25, 0.5, 0.75, 1]), (0.25, 0.1, [0, 0.1, 0.2, 0.25])],
)
def test_a_run_is_looked_at_every_quarter_of_an_hour_at_least_and_at_its_end(hours, every_h, moments):
    study = Study("t", read(EXAMPLES / "boiling-front.toml").setup, hours, every_h)

    assert study.moments_h() == pytest.approx(moments)


# ---------------------------------------------------------------------------------------- written and read back

above = st.floats(1e-12, 1e4)
least = st.one_of(st.just(0.0), st.floats(1e-18, 1e4))
share = st.floats(0, 0.99)
degc = st.floats(-50, 1400)
names = st.text(st.characters(codec="utf-8"), max_size=8)

rises = st.one_of(st.just(0.0), st.floats(1e-9, 0.019))  # of the value at 0 °C by a kelvin: above nought at -50 °C


@st.composite
def matters(draw):
    k0, cp0 = draw(above), draw(above)
    return Matter(
        draw(above), draw(st.floats(0.01, 0.99)), k0, cp0, k1_w_mk2=k0 * draw(rises), cp1_j_kgk2=cp0 * draw(rises),
        wet_k_w_mk=draw(least), permeability_m2=draw(least), vapour_tortuosity=draw(least),
        hygroscopic_kg_m3=draw(above), liquid0_m2_s=draw(least), liquid_exponent=draw(least),
        tensile_mpa=draw(st.one_of(above, st.just(inf))),
    )  # fmt: skip


@st.composite
def layers(draw):
    matter = draw(matters())
    water = draw(st.floats(0, 1)) * 1000 * matter.porosity
    return WallLayer(draw(above), matter, water, draw(names))


@st.composite
def courses(draw, lowest=-50.0):
    knots = draw(st.lists(st.tuples(st.floats(0, 1e4), st.floats(lowest, 1400)), min_size=1, max_size=5))
    return Course(tuple(sorted(hour for hour, _ in knots)), tuple(one for _, one in knots))


faces = st.builds(
    Face, film_w_m2k=st.one_of(above, st.just(inf)), natural_w_m2k13=least, emissivity=share, wrap_m2k_w=least,
    openness=share, vapour_film_m_s=st.one_of(st.none(), least),
)  # fmt: skip
walls = st.builds(
    Wall, layers=st.lists(layers(), min_size=1, max_size=3).map(tuple), hot=faces, cold=faces, area_m2=above,
    name=names, inner_radius_mm=st.one_of(st.none(), above),
)  # fmt: skip
chambers = st.builds(
    Chamber, power_kw=st.one_of(least, st.just(inf)), vent_m3_h=st.one_of(least, st.just(inf)), vapour_share=share,
    heat_j_k=least, gas_m3=least,
)  # fmt: skip
phases = st.builds(Phase, degc=degc, latent_j_kg=above, reversible=st.booleans())


@st.composite
def setups(draw):
    closure = draw(st.sampled_from(["coupled", "leaves_freely"]))
    phase = draw(phases) if closure == "leaves_freely" else Phase()
    lowest = 0.0 if closure == "coupled" else -50.0  # water that is frozen, or boils before it begins, is refused
    room = draw(st.builds(Room, degc=courses(lowest), vapour_share=share, height_m=st.floats(-400, 5000)))
    start = draw(st.floats(lowest, 80))
    these = tuple(draw(st.lists(walls, min_size=1, max_size=3)))
    return Setup(
        these, draw(courses(lowest)), chamber=draw(chambers), room=room, start_degc=start, closure=closure, phase=phase
    )


@st.composite
def arounds(draw):
    """What is around for a stretch: a room alone, a heated chamber, or an enclosure."""
    warm, enclosed = draw(st.booleans()), draw(st.booleans())
    airs = {"enclosed_m3_h": draw(above)} if warm and enclosed else {"vent_m3_h": draw(st.one_of(st.none(), least))}
    return Around(
        room_degc=draw(courses(0.0)), room_vapour=draw(share), chamber_degc=draw(courses(0.0)) if warm else None,
        power_kw=draw(st.one_of(least, st.just(inf))), **airs,
    )  # fmt: skip


@st.composite
def stretches(draw):
    later = sorted(draw(st.sets(st.floats(0.01, 1e4), max_size=3)))
    return tuple((hour, draw(arounds())) for hour in (0.0, *later))


def same(study, path):
    """Say whether a study is read back the same from where it is written."""
    write(study, path)
    return read(path) == study


@given(setups(), names, st.floats(0.1, 1e4), st.floats(1, 24))
@cases(60)
def test_what_is_written_is_read_back_the_same(tmp_path, setup, title, hours, every_h):
    assert same(Study(title, setup, hours, every_h), tmp_path / "wall.toml")


@given(setups(), stretches())
@cases(60)
def test_what_is_around_a_wall_is_read_back_the_same(tmp_path, setup, around):
    kiln = replace(
        setup, course=Course.steady(setup.start_degc), room=Room(height_m=setup.room.height_m),
        chamber=replace(setup.chamber, power_kw=inf),
    )  # fmt: skip

    assert same(Study("t", kiln, 24.0, around=around), tmp_path / "wall.toml")


def test_a_file_of_the_version_before_is_still_read(file):
    assert file(HEAD, STEP, WALL, LAYER).around == ()
    assert file(HEAD.replace("version = 1", "version = 2"), STEP, WALL, LAYER) == file(HEAD, STEP, WALL, LAYER)


def parts_of(kind):
    """Yield each part of a wall file, from the whole file on, with the part that stands under each of its keys."""
    hints = {name: hint for name, hint in get_type_hints(kind).items() if name in {one.name for one in fields(kind)}}
    under = {name: next(filter(is_dataclass, (hint, *get_args(hint))), None) for name, hint in hints.items()}
    yield kind, under
    for part in filter(None, under.values()):
        yield from parts_of(part)


def keys_of(table, kind, parts):
    """Yield each key of a file with the part that it is a key of."""
    for key, value in table.items():
        yield kind, key
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, dict):
                yield from keys_of(one, parts[kind][key], parts)


def test_the_examples_show_every_key_of_a_wall_file():
    parts = dict(parts_of(_File))
    files = [tomllib.loads(path.read_text("utf-8")) for path in EXAMPLES.glob("*.toml")]
    tables = [{key: value for key, value in one.items() if key not in ("format", "version")} for one in files]
    shown = {pair for table in tables for pair in keys_of(table, _File, parts)}

    assert {(kind.__name__, key) for kind, under in parts.items() for key in under} == {
        (kind.__name__, key) for kind, key in shown
    }


def test_what_is_altered_in_an_example_is_seen_in_its_run():
    """The wet board goes at 22 h with its water, a dry one comes at 70 h and takes up some."""
    run = simulate(read(EXAMPLES / "board-off-and-on.toml").setup, [0, 21, 23, 69, 90]).walls[0]
    brick, board, dry = run.layer_kg.T

    assert (board[1] > 5, board[2]) == (True, 0)
    assert (dry[3], dry[4] > 0.1) == (0, True)
    assert brick[0] > brick[2] > brick[4]


def test_at_a_high_place_water_boils_colder_than_at_the_sea():
    assert read(EXAMPLES / "high-place.toml").setup.room.pressure_pa == pytest.approx(79_500, rel=0.002)
    assert boiling_degc(79_500) == pytest.approx(93, abs=0.5)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_an_example_is_written_and_read_back_the_same(path, tmp_path):
    assert same(read(path), tmp_path / "wall.toml")
