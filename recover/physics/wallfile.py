"""Wall files: any wall and any schedule as TOML, read into a `Setup` and written from one.

A layer's material is named, and its numbers come from materials.toml, or its numbers stand in the file. What is around
the walls is a room and a schedule of the chamber, or an `Around` for each stretch of time. Nothing is computed here.
The files in examples/walls show every key; a key that is left out has the default of `wall`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, dataclass, field, fields, replace
from itertools import pairwise
from math import ceil, isfinite
from pathlib import Path
from typing import Any

from recover.base.datafile import read_own
from recover.base.errors import QuantityError
from recover.physics.air import ATMOSPHERE_PA, Air, pressure_at_pa
from recover.physics.around import Around, Stretches, check_stretches
from recover.physics.draws import Ranks, from_band
from recover.physics.figures import casing, known, opening
from recover.physics.grid import Accuracy
from recover.physics.materials import End, material
from recover.physics.matter import MOST_FILLED, cold_face, drawn_faces, drawn_matters, hot_face, matter
from recover.physics.wall import (
    Chamber,
    Change,
    Course,
    Face,
    Matter,
    Phase,
    Room,
    Setup,
    Step,
    Wall,
    WallLayer,
    WaterModel,
)  # fmt: skip

FORMAT, VERSION = "recover-wall", 2
MOST_ROWS = 10_000
LONGEST_MEAN_H = 0.25
"""A run is looked at as often as this at least, so that a peak is not missed between two rows of the table."""


@dataclass(frozen=True)
class Study:
    """A setup, how long it is run, how often it is shown and how finely cut; with `around`, in what.

    Raises QuantityError.
    """

    title: str
    setup: Setup
    hours: float
    every_h: float = 1.0
    around: Stretches = ()
    accuracy: Accuracy = "normal"

    def __post_init__(self) -> None:
        if self.around:
            check_stretches(self.setup, self.around)
        for name in ("hours", "every_h"):
            if not (getattr(self, name) > 0 and isfinite(getattr(self, name))):
                raise QuantityError(name, f"{getattr(self, name):g}", "more than 0")
        if self.hours / self.every_h > MOST_ROWS:
            raise QuantityError("every_h", f"{self.every_h:g} in {self.hours:g} h", f"at most {MOST_ROWS} rows")

    @property
    def finer(self) -> int:
        """How many moments are computed for each row that is shown."""
        return ceil(self.every_h / LONGEST_MEAN_H)

    def moments_h(self) -> list[float]:
        """Return the hours to compute: each row of the table, and so many between. The last row ends the run."""
        rows = ceil(self.hours / self.every_h - 1e-9)
        return [min(number * self.every_h / self.finer, self.hours) for number in range(rows * self.finer + 1)]


def read(path: Path) -> Study:
    """Read a wall file. Raises DataError with every problem and its place."""
    return read_own(path, FORMAT, _File, VERSION).study()


def read_drawn(path: Path, draws: int, seed: int) -> tuple[list[Setup], Ranks]:
    """Read a wall file draw by draw: what it names is drawn from its span, what it gives as numbers stands.

    The water of a layer that names its material is drawn about the number in the file, as widely as such a material
    holds more or less when it is soaked. Raises DataError.
    """
    ranks = Ranks(draws, seed)
    return read_own(path, FORMAT, _File, VERSION).drawn(ranks), ranks


def write(study: Study, path: Path) -> None:
    """Write a study as a wall file, from which `read` makes the same one. What has its default is left out."""
    import tomli_w

    setup = study.setup
    head = {"format": FORMAT, "version": VERSION} | _told(study, "setup", "around") | {"every_h": study.every_h}
    around = {"around": [{"at_h": hour} | _told(one) for hour, one in study.around]} if study.around else {}
    walls = {"wall": [_told_wall(wall) for wall in setup.walls]}
    changes = {"change": [_told_change(change) for change in setup.changes]} if setup.changes else {}
    its_own = _told(setup, "walls", "changes", *(("course",) if around else ()))
    path.write_text(tomli_w.dumps(head | its_own | around | walls | changes), "utf-8", newline="\n")


# ---------------------------------------------------------------------------------------- the shape of a file
# Each part builds what it stands for as soon as it is read, so that what cannot be is refused at its place.


@dataclass(frozen=True, kw_only=True)
class _Layer:
    """A layer whose material is a name, at one `end` of its spans, or numbers."""

    thickness_mm: float
    water_kg_m3: float = 0.0
    name: str = ""
    material: str = ""
    end: End = "mid"
    matter: Matter | None = None

    def __post_init__(self) -> None:
        self.layer()

    def layer(self) -> WallLayer:
        if bool(self.material) == bool(self.matter):
            given = "both" if self.matter else "neither"
            raise QuantityError("layer", f"{given} of material and matter", "the name of one, or the numbers")
        if self.matter:
            return WallLayer(self.thickness_mm, self.matter, self.water_kg_m3, self.name)
        named = material(self.material)
        numbers = matter(named, lambda _, quantity: float(getattr(quantity, self.end)))
        return WallLayer(self.thickness_mm, numbers, self.water_kg_m3, self.name or named.label)

    def drawn(self, ranks: Ranks) -> list[WallLayer]:
        own = self.layer()
        if self.matter or self.end != "mid":  # what is given as numbers, or as an end of the spans, stands
            return [own] * ranks.draws
        named = material(self.material)
        soaked = named.uptake.soaked_kg_m3
        water = self.water_kg_m3 * from_band(soaked * (1 / soaked.mid), ranks.of(f"water of {named.family}"))
        matters = drawn_matters(named, known("assumed").moves_times, ranks.of)
        return [
            replace(own, matter=one, water_kg_m3=min(float(kg_m3), MOST_FILLED * 1000 * one.porosity))
            for one, kg_m3 in zip(matters, water, strict=True)
        ]


@dataclass(frozen=True, kw_only=True)
class _Wall:
    """A wall; its cold face by numbers or as a casing's name, its hot face the usual one where none is given."""

    hot: Face | None = None
    cold: Face | None = None
    casing: str = ""
    layer: tuple[_Layer, ...] = ()
    name: str = Wall.name
    area_m2: float = Wall.area_m2
    inner_radius_mm: float | None = None

    def __post_init__(self) -> None:
        self.wall(_Processes())

    def wall(self, processes: _Processes) -> Wall:
        layers = tuple(processes.only(one.layer()) for one in self.layer)
        cold = _casing_face(self.casing) if self.casing else self.cold
        if cold is None or (self.casing and self.cold):
            given = "both" if self.cold else "neither"
            raise QuantityError(self.name, f"{given} of casing and cold", "a casing's name, or numbers as cold")
        return Wall(
            layers,
            self.hot or hot_face(),
            cold,
            area_m2=self.area_m2,
            name=self.name,
            inner_radius_mm=self.inner_radius_mm,
        )

    def drawn(self, processes: _Processes, ranks: Ranks) -> list[Wall]:
        own = self.wall(processes)
        layers = zip(*(one.drawn(ranks) for one in self.layer), strict=True)
        faces = drawn_faces(self.casing, ranks) if self.casing else [own.cold] * ranks.draws
        return [
            replace(own, layers=tuple(map(processes.only, of_draw)), cold=face)
            for of_draw, face in zip(layers, faces, strict=True)
        ]


@dataclass(frozen=True, kw_only=True)
class _Change:
    """What is altered of a wall at an hour; its cold face by numbers or as a casing's name."""

    at_h: float
    wall: str
    keeps: int | None = None
    layer: tuple[_Layer, ...] = ()
    hot: Face | None = None
    cold: Face | None = None
    casing: str = ""

    def __post_init__(self) -> None:
        self.change(_Processes())

    def change(self, processes: _Processes) -> Change:
        if self.casing and self.cold:
            raise QuantityError(f"change of {self.wall}", "both of casing and cold", "one of them, or neither")
        cold = _casing_face(self.casing) if self.casing else self.cold
        adds = tuple(processes.only(one.layer()) for one in self.layer)
        return Change(at_h=self.at_h, wall=self.wall, keeps=self.keeps, adds=adds, hot=self.hot, cold=cold)


@dataclass(frozen=True)
class _Processes:
    """Which ways water has in every layer of the file; one that is off has the number nought."""

    flow: bool = True
    diffusion: bool = True
    liquid: bool = True

    def only(self, layer: WallLayer) -> WallLayer:
        numbers = {"flow": "permeability_m2", "diffusion": "vapour_tortuosity", "liquid": "liquid0_m2_s"}
        off: dict[str, Any] = {number: 0.0 for process, number in numbers.items() if not getattr(self, process)}
        return replace(layer, matter=replace(layer.matter, **off))


@dataclass(frozen=True, kw_only=True)
class _Chamber:
    """The chamber; fresh air as a number or by how it stands open; vapour as a share, or as humidity at `air_degc`."""

    opening: str = ""
    power_kw: float = Chamber.power_kw
    vent_m3_h: float = Chamber.vent_m3_h
    vapour_share: float | None = None
    air_degc: float | None = None
    humidity_percent: float | None = None
    heat_j_k: float = Chamber.heat_j_k
    gas_m3: float = Chamber.gas_m3

    def __post_init__(self) -> None:
        self.chamber(ATMOSPHERE_PA)

    def chamber(self, pressure_pa: float) -> Chamber:
        if (self.air_degc is None) != (self.humidity_percent is None):
            raise QuantityError("chamber", "air_degc or humidity_percent alone", "both, or vapour_share")
        share = _vapour_share(
            self.vapour_share, self.air_degc or 0.0, self.humidity_percent, Chamber.vapour_share, pressure_pa
        )
        if self.opening and self.vent_m3_h != Chamber.vent_m3_h:
            raise QuantityError("chamber", "both of opening and vent_m3_h", "one of them")
        fresh = opening(self.opening).vent_m3_h.mid if self.opening else self.vent_m3_h
        return Chamber(
            power_kw=self.power_kw, vent_m3_h=fresh, vapour_share=share, heat_j_k=self.heat_j_k, gas_m3=self.gas_m3
        )

    def drawn(self, ranks: Ranks, pressure_pa: float) -> list[Chamber]:
        own = self.chamber(pressure_pa)
        if not self.opening:
            return [own] * ranks.draws
        fresh = from_band(opening(self.opening).vent_m3_h, ranks.of("fresh_air"))
        return [replace(own, vent_m3_h=float(one)) for one in fresh]


@dataclass(frozen=True)
class _Room:
    """The room; its vapour as a share, or as the humidity of air at `degc`. A `course` changes its temperature."""

    degc: float = 20.0
    course: Course | None = None
    vapour_share: float | None = None
    humidity_percent: float | None = None
    height_m: float = Room.height_m

    def __post_init__(self) -> None:
        self.room()

    @property
    def pressure_pa(self) -> float:
        return pressure_at_pa(self.height_m)

    def room(self) -> Room:
        share = _vapour_share(self.vapour_share, self.degc, self.humidity_percent, Room.vapour_share, self.pressure_pa)
        return Room(_checked("room, course", self.course or Course.steady(self.degc)), share, self.height_m)


@dataclass(frozen=True, kw_only=True)
class _Around:
    """What is around the walls from an hour on, until the next; its hours count from there."""

    at_h: float
    room_degc: Course
    room_vapour: float = Room.vapour_share
    chamber_degc: Course | None = None
    power_kw: float = Around.power_kw
    vent_m3_h: float | None = None
    enclosed_m3_h: float | None = None

    def __post_init__(self) -> None:
        self.around()

    def around(self) -> Around:
        _checked("around, room_degc", self.room_degc)
        if self.chamber_degc:
            _checked("around, chamber_degc", self.chamber_degc)
        return Around(**{one.name: getattr(self, one.name) for one in fields(Around)})


@dataclass(frozen=True, kw_only=True)
class _File:
    title: str
    hours: float
    every_h: float = Study.every_h
    accuracy: Accuracy = Study.accuracy
    closure: WaterModel = Setup.closure
    start_degc: float = Setup.start_degc
    phase: Phase | None = None
    processes: _Processes = field(default_factory=_Processes)
    step: tuple[Step, ...] = ()
    course: Course | None = None
    around: tuple[_Around, ...] = ()
    chamber: _Chamber = field(default_factory=_Chamber)
    room: _Room = field(default_factory=_Room)
    wall: tuple[_Wall, ...] = ()
    change: tuple[_Change, ...] = ()

    def __post_init__(self) -> None:
        self.study()

    def study(self) -> Study:
        around = tuple((one.at_h, one.around()) for one in self.around)
        return Study(self.title, self.setup(), self.hours, self.every_h, around, self.accuracy)

    def setup(self) -> Setup:
        given = [name for name in ("step", "course", "around") if getattr(self, name)]
        if len(given) != 1:
            expected = "[[step]]s, or a [course] of knots, or [[around]] by stretches"
            raise QuantityError("schedule", " and ".join(given) or "none", expected)
        if self.around:
            self._check_once()
        if self.phase and self.closure == "coupled":
            raise QuantityError("phase", "given with closure 'coupled'", "closure 'leaves_freely', or no [phase]")
        course = _checked("schedule", self.course or Course.of(self.start_degc, self.step))  # of stretches: the start
        walls = tuple(wall.wall(self.processes) for wall in self.wall)
        return Setup(
            walls, course, chamber=self.chamber.chamber(self.room.pressure_pa), room=self.room.room(),
            start_degc=self.start_degc, closure=self.closure, phase=self.phase or Phase(),
            changes=tuple(one.change(self.processes) for one in self.change),
        )  # fmt: skip

    def _check_once(self) -> None:
        """Refuse what [[around]] says as well: power, and all of the room but its height."""
        if self.chamber.power_kw != Chamber.power_kw:
            raise QuantityError("chamber, power_kw", "given with [[around]]", "power_kw of each [[around]]")
        if self.room != _Room(height_m=self.room.height_m):
            raise QuantityError("room", "given with [[around]]", "its height_m alone; the rest in each [[around]]")

    def drawn(self, ranks: Ranks) -> list[Setup]:
        own = self.setup()
        if self.around:
            raise QuantityError("[[around]]", "in many draws", "one schedule and one room, or a single run")
        walls = zip(*(one.drawn(self.processes, ranks) for one in self.wall), strict=True)
        return [
            replace(own, walls=of_draw, chamber=chamber)
            for of_draw, chamber in zip(walls, self.chamber.drawn(ranks, self.room.pressure_pa), strict=True)
        ]


def _casing_face(casing_id: str) -> Face:
    """Return a casing's face at the middle of what is not known of it. Raises QuantityError."""
    own = casing(casing_id)
    return cold_face("wall", own.openness.mid, own.wrap_m2k_w.mid if own.wrap_m2k_w else 0.0)


def _vapour_share(
    share: float | None, degc: float, humidity_percent: float | None, usual: float, pressure_pa: float = ATMOSPHERE_PA
) -> float:
    """Return the mole fraction of vapour that was given as such, or as a humidity at a temperature."""
    if humidity_percent is None:
        return usual if share is None else share
    if share is not None:
        raise QuantityError("vapour", "a share and a humidity", "one of them")
    return Air(degc, humidity_percent, pressure_pa).vapour_share


def _checked(where: str, course: Course) -> Course:
    """Return a course whose knots are a broken line. Raises QuantityError."""
    hours, degc = course.hours, course.degc
    if len(hours) != len(degc) or not hours:
        raise QuantityError(where, f"{len(hours)} hours and {len(degc)} temperatures", "as many of both, one at least")
    if not all(map(isfinite, (*hours, *degc))):
        raise QuantityError(where, "a number without end", "finite hours and temperatures; the last one stays")
    if any(late < early for early, late in pairwise(hours)):
        raise QuantityError(where, "hours that go back", "hours that rise")
    return course


# ---------------------------------------------------------------------------------------- writing


def _told(one: Any, *left_out: str) -> dict[str, Any]:
    """Return the fields of a dataclass that differ from their defaults, dataclasses in them likewise."""
    told = {}
    for its in fields(one):
        value = getattr(one, its.name)
        if its.name not in left_out and value != _usual(its):
            told[its.name] = _TELL.get(type(value), lambda plain: plain)(value)
    return told


def _usual(its: Any) -> Any:
    return its.default_factory() if its.default_factory is not MISSING else its.default


def _told_layers(layers: tuple[WallLayer, ...]) -> list[dict[str, Any]]:
    return [_told(layer, "matter") | {"matter": _told(layer.matter)} for layer in layers]


def _told_change(change: Change) -> dict[str, Any]:
    faces = {name: _told(face) for name in ("hot", "cold") if (face := getattr(change, name))}
    layers = {"layer": _told_layers(change.adds)} if change.adds else {}
    return _told(change, "adds", "hot", "cold") | faces | layers


def _told_wall(wall: Wall) -> dict[str, Any]:
    layers = _told_layers(wall.layers)
    return _told(wall, "layers", "hot", "cold") | {"hot": _told(wall.hot), "cold": _told(wall.cold), "layer": layers}


def _told_room(room: Room) -> dict[str, Any]:
    steady = room.degc == Course.steady(room.degc.degc[0])
    return _told(room, "degc") | ({"degc": room.degc.degc[0]} if steady else {"course": _told(room.degc)})


_TELL: dict[type, Callable[[Any], Any]] = {Course: _told, Chamber: _told, Phase: _told, Room: _told_room, tuple: list}
