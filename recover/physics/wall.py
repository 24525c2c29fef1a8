"""What is run: walls of layers around one chamber, their faces, what the chamber and the room do. Plain values.

Units stand in the names. A wall is flat, or the side of a cylinder; x runs from its hot face outwards.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass, field, fields, replace
from itertools import accumulate, pairwise
from math import inf, isfinite
from typing import Any, Literal

from recover.base.errors import QuantityError
from recover.physics.air import boiling_degc, pressure_at_pa, saturation_line

BOILING_DEGC, EVAPORATION_J_KG = 100.0, 2.257e6
"""Boiling water at the pressure of the atmosphere, and its heat of evaporation (steam tables, rounded as they are)."""

COLDEST_DEGC, HOTTEST_DEGC = -50.0, 1400.0
"""Between these a wall is computed, and its numbers have to make sense."""

HOT_VAPOUR_FILM_M_S = 0.0111
"""At the hot face: air that moves past it at some 12 W/m²K, by Lewis. The rest of its heat is radiation."""

VAPOUR_SHARE = 0.0115
"""Of the air of a room at 20 °C and half its humidity, as a mole fraction."""

WaterModel = Literal["coupled", "leaves_freely"]
"""How water leaves: carried by the gas and held by the pores, or boiling where it is and gone at once."""


@dataclass(frozen=True)
class Matter:
    """The numbers of a layer's material, dry unless they say otherwise.

    k = k0 + k1 T + wet_k S [W/mK] and cp = cp0 + cp1 T [J/kgK] for T in °C and the share S of the pores that is full.
    Gas flows by `permeability_m2`, vapour diffuses at `vapour_tortuosity` times the gas-filled porosity of free air,
    liquid at liquid0 exp(liquid_exponent S) [m²/s]. Water of `hygroscopic_kg_m3` is what the vapour pressure begins to
    fall with. A permeability, tortuosity or diffusivity of nought turns that process off. Raises QuantityError.
    """

    density_kg_m3: float
    porosity: float
    k0_w_mk: float
    cp0_j_kgk: float
    _: KW_ONLY
    k1_w_mk2: float = 0.0
    cp1_j_kgk2: float = 0.0
    wet_k_w_mk: float = 0.0
    permeability_m2: float = 0.0
    vapour_tortuosity: float = 0.0
    hygroscopic_kg_m3: float = 1.0
    liquid0_m2_s: float = 0.0
    liquid_exponent: float = 8.0
    tensile_mpa: float = inf

    def __post_init__(self) -> None:
        above = ("density_kg_m3", "porosity", "k0_w_mk", "cp0_j_kgk", "hygroscopic_kg_m3", "tensile_mpa")
        for name in above:
            if not getattr(self, name) > 0:
                raise QuantityError(name, f"{getattr(self, name):g}", "more than 0")
        if not min(self.k0_w_mk + degc * self.k1_w_mk2 for degc in (COLDEST_DEGC, HOTTEST_DEGC)) > 0:
            expected = f"a conductivity above 0 from {COLDEST_DEGC:g} to {HOTTEST_DEGC:g} °C"
            raise QuantityError("k1_w_mk2", f"{self.k1_w_mk2:g}", expected)
        if not self.cp0_j_kgk + COLDEST_DEGC * self.cp1_j_kgk2 > 0:
            raise QuantityError("cp1_j_kgk2", f"{self.cp1_j_kgk2:g}", f"a heat capacity above 0 at {COLDEST_DEGC:g} °C")
        for name in (one.name for one in fields(self) if one.name not in (*above, "k1_w_mk2")):
            value = getattr(self, name)
            if not (value >= 0 and isfinite(value)):
                raise QuantityError(name, f"{value:g}", "0 or more")
        if not self.porosity < 1:
            raise QuantityError("porosity", f"{self.porosity:g}", "less than 1")


@dataclass(frozen=True)
class WallLayer:
    """A layer: thickness, material, and the water in it at the start. Raises QuantityError."""

    thickness_mm: float
    matter: Matter
    water_kg_m3: float = 0.0
    name: str = ""

    def __post_init__(self) -> None:
        _positive("layer", "thickness_mm", self.thickness_mm)
        most = 1000 * self.matter.porosity
        if not 0 <= self.water_kg_m3 <= most:
            raise QuantityError("layer, water_kg_m3", f"{self.water_kg_m3:g}", f"0 to {most:g}, what its pores hold")


@dataclass(frozen=True, kw_only=True)
class Face:
    """A face of a wall: how heat and vapour cross it.

    Heat: film h [W/m²K], natural convection c |ΔT|^0.3 (c in W/m²K^1.3) and radiation by `emissivity`, side by side,
    behind a wrapping of `wrap_m2k_w`. A film without end is a prescribed temperature. Vapour: `openness` is nought for
    gas-tight, else the share of the face that is open; the pressure there is the atmosphere's. Where `vapour_film_m_s`
    is None, its film is `HOT_VAPOUR_FILM_M_S` at a hot face, and at a cold one follows from film and natural convection
    by Lewis. A cold face that `may_open` is one that other draws have open: they share a grid. Raises QuantityError.
    """

    film_w_m2k: float = 0.0
    natural_w_m2k13: float = 0.0
    emissivity: float = 0.0
    wrap_m2k_w: float = 0.0
    openness: float = 0.0
    vapour_film_m_s: float | None = None
    may_open: bool = False

    def __post_init__(self) -> None:
        for one in fields(self):
            value = getattr(self, one.name)
            if value is not None and not value >= 0:
                raise QuantityError(f"face, {one.name}", f"{value:g}", "0 or more")
        for name in ("emissivity", "openness"):
            if getattr(self, name) > 1:
                raise QuantityError(f"face, {name}", f"{getattr(self, name):g}", "0 to 1")
        if self.film_w_m2k == self.natural_w_m2k13 == self.emissivity == 0 and self.wrap_m2k_w:
            raise QuantityError("face", "a wrapping and no exchange of heat", "a film, convection or radiation")


@dataclass(frozen=True)
class Wall:
    """Layers from the hot face outwards, the area of that face, and both faces; flat without an `inner_radius_mm`."""

    layers: tuple[WallLayer, ...]
    hot: Face
    cold: Face
    _: KW_ONLY
    area_m2: float = 1.0
    name: str = "wall"
    inner_radius_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.layers:
            raise QuantityError(self.name, "no layer", "at least one")
        _positive(self.name, "area_m2", self.area_m2)
        if self.inner_radius_mm is not None:
            _positive(self.name, "inner_radius_mm", self.inner_radius_mm)

    @property
    def thickness_mm(self) -> float:
        """All layers together."""
        return sum(layer.thickness_mm for layer in self.layers)

    @property
    def wet(self) -> bool:
        """Whether any layer begins with water."""
        return any(layer.water_kg_m3 > 0 for layer in self.layers)


@dataclass(frozen=True, kw_only=True)
class Change:
    """What is altered of a wall at an hour of a run: a face opened, closed or wrapped, layers taken off and put on.

    `keeps` layers stay, counted from the hot face (None: all of them), and `adds` come behind them; what water is in
    the layers that go leaves with them. Raises QuantityError.
    """

    at_h: float
    wall: str
    keeps: int | None = None
    adds: tuple[WallLayer, ...] = ()
    hot: Face | None = None
    cold: Face | None = None

    def __post_init__(self) -> None:
        _positive("change", "at_h", self.at_h)
        if self.keeps is not None and self.keeps < 1:
            raise QuantityError(f"change of {self.wall}, keeps", f"{self.keeps}", "1 layer or more")

    def of(self, wall: Wall) -> Wall:
        """Return a wall as it is from then on."""
        kept = wall.layers[: self.keeps]
        return replace(wall, layers=(*kept, *self.adds), hot=self.hot or wall.hot, cold=self.cold or wall.cold)


@dataclass(frozen=True)
class Step:
    """A ramp to a temperature and a hold there; without a rate the temperature is there at once, within a second."""

    to_degc: float
    ramp_k_h: float = inf
    hold_h: float = 0.0

    def __post_init__(self) -> None:
        _positive("step", "ramp_k_h", self.ramp_k_h)
        if not self.hold_h >= 0:
            raise QuantityError("step, hold_h", f"{self.hold_h:g}", "0 or more")


@dataclass(frozen=True)
class Course:
    """A temperature against time: hours and °C at the knots of a broken line, level beyond its ends."""

    hours: tuple[float, ...]
    degc: tuple[float, ...]

    @classmethod
    def steady(cls, degc: float) -> Course:
        """Return a temperature that stays."""
        return cls((0.0,), (degc,))

    @classmethod
    def of(cls, start_degc: float, steps: tuple[Step, ...]) -> Course:
        """Return the course of ramps and holds."""
        from_degc = (start_degc, *(step.to_degc for step in steps))
        lasts = [
            part
            for step, before in zip(steps, from_degc, strict=False)
            for part in (max(abs(step.to_degc - before) / step.ramp_k_h, 1 / 3600), step.hold_h)
        ]
        knots = [start_degc, *(step.to_degc for step in steps for _ in range(2))]
        return cls(tuple(accumulate(lasts, initial=0.0)), tuple(knots))

    @property
    def end_h(self) -> float:
        """Its last knot."""
        return self.hours[-1]


@dataclass(frozen=True, kw_only=True)
class Chamber:
    """What the walls stand around, and what holds it.

    Power without end follows the schedule exactly. Ventilation without end keeps the vapour at `vapour_share`, else
    `vent_m3_h` of fresh air (at 20 °C) come in and as much leaves with all that the walls give. `heat_j_k` is what
    elements and furniture take up, `gas_m3` its volume. Raises QuantityError.
    """

    power_kw: float = inf
    vent_m3_h: float = inf
    vapour_share: float = VAPOUR_SHARE
    heat_j_k: float = 5000.0
    gas_m3: float = 0.2

    def __post_init__(self) -> None:
        for name in ("power_kw", "vent_m3_h", "heat_j_k", "gas_m3"):
            if not getattr(self, name) >= 0:
                raise QuantityError(f"chamber, {name}", f"{getattr(self, name):g}", "0 or more")
        _share("chamber, vapour_share", self.vapour_share)


@dataclass(frozen=True)
class Phase:
    """What `leaves_freely` boils, melts or freezes at; `reversible` where the matter stays and may turn back."""

    degc: float = BOILING_DEGC
    latent_j_kg: float = EVAPORATION_J_KG
    reversible: bool = False

    def __post_init__(self) -> None:
        _positive("phase", "latent_j_kg", self.latent_j_kg)


@dataclass(frozen=True)
class Room:
    """What is around the casing, and where fresh air comes from: temperature, share of vapour, height above the sea."""

    degc: Course = field(default_factory=lambda: Course.steady(20.0))
    vapour_share: float = VAPOUR_SHARE
    height_m: float = 0.0

    def __post_init__(self) -> None:
        _share("room, vapour_share", self.vapour_share)
        pressure_at_pa(self.height_m)  # refuses what is no place for a kiln

    @property
    def pressure_pa(self) -> float:
        """The pressure of the atmosphere there [Pa]."""
        return pressure_at_pa(self.height_m)


@dataclass(frozen=True)
class Setup:
    """All that a run needs: walls, chamber, its course of temperature, room, and the temperature at the start."""

    walls: tuple[Wall, ...]
    course: Course
    _: KW_ONLY
    chamber: Chamber = field(default_factory=Chamber)
    room: Room = field(default_factory=Room)
    start_degc: float = 20.0
    closure: WaterModel = "coupled"
    phase: Phase = field(default_factory=Phase)
    changes: tuple[Change, ...] = ()

    def __post_init__(self) -> None:
        if not self.walls:
            raise QuantityError("setup", "no wall", "at least one")
        self._check_changes()
        coldest = min(self.start_degc, *self.course.degc, *self.room.degc.degc)
        hottest = max(self.start_degc, *self.course.degc, *self.room.degc.degc)
        if not (coldest >= COLDEST_DEGC and hottest <= HOTTEST_DEGC):
            expected = f"temperatures from {COLDEST_DEGC:g} to {HOTTEST_DEGC:g} °C"
            raise QuantityError("setup", f"{coldest:g} to {hottest:g} °C", expected)
        if self.closure == "coupled" and any(wall.wet for wall in self.walls):
            self._check_wet(coldest)

    def _check_changes(self) -> None:
        """Refuse changes of what is not there, or in another order than they come."""
        names = [wall.name for wall in self.walls]
        layers = {wall.name: len(wall.layers) for wall in self.walls}
        for change in self.changes:
            if names.count(change.wall) != 1:
                raise QuantityError("change", f"of {change.wall!r}", f"the name of one wall: {', '.join(names)}")
            if (change.keeps or 1) > layers[change.wall]:
                has = f"at most the {layers[change.wall]} layers that are there"
                raise QuantityError(f"change of {change.wall}, keeps", f"{change.keeps}", has)
            layers[change.wall] = (change.keeps or layers[change.wall]) + len(change.adds)
        if any(late.at_h < early.at_h for early, late in pairwise(self.changes)):
            raise QuantityError("changes", "an earlier one after a later one", "in the order in which they come")
        if self.changes and self.water_stays:
            raise QuantityError("changes", "where water freezes and thaws", "a phase that is not reversible")

    def _check_wet(self, coldest: float) -> None:
        """Refuse water that is frozen, or that boils before anything begins: its vapour would outdo the atmosphere."""
        if coldest < 0:
            expected = "0 °C or more where a wall is wet: thaw it first, no drying is counted below freezing"
            raise QuantityError("setup", f"{coldest:g} °C and water", expected)
        if saturation_line(self.start_degc)[0] >= self.room.pressure_pa:  # asked of every draw
            start, boils = f"{self.start_degc:g} °C and water", boiling_degc(self.room.pressure_pa)
            raise QuantityError("setup, start", start, f"below {boils:.4g} °C where a wall is wet")

    @property
    def water_stays(self) -> bool:
        """Whether water only freezes and thaws, so that none leaves; what counts as left is then what is frozen."""
        return self.closure == "leaves_freely" and self.phase.reversible


def _positive(where: str, name: str, value: Any) -> None:
    if not value > 0:
        raise QuantityError(f"{where}, {name}", f"{value:g}", "more than 0")


def _share(where: str, value: float) -> None:
    if not 0 <= value < 1:
        raise QuantityError(where, f"{value:g}", "0 to 1")
