"""What staged holds do to a wet lining: a kiln's walls run through them with many draws of what is not known.

It joins lining, water, materials, casing and chamber into setups of `wall`. Left out, as everywhere in this room:
joints, gravity, air that blows through gaps; see model.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import chain
from math import floor, inf, pi
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.draws import Ranks, Spread, from_band, spread
from recover.physics.edges import Edge, edge
from recover.physics.figures import DOUBTED, Knowledge, figures, known, opening, pans
from recover.physics.lining import Layer, LayerStack, Lining, Part
from recover.physics.materials import Band, Material
from recover.physics.matter import MOST_FILLED, bare_face, cold_face, drawn_faces, drawn_matters, hot_face
from recover.physics.sensitivity import Sensitivity, sensitivity
from recover.physics.stages import Stage
from recover.physics.steady import steady_flows
from recover.physics.uptake import drawn_water, layer_water
from recover.physics.wall import Chamber, Course, Face, Matter, Room, Setup, Step, Wall, WallLayer

if TYPE_CHECKING:
    from recover.physics.draws import Values
    from recover.physics.drying import Run
    from recover.physics.ensemble import Ensemble

LEAST_ZONE = 1e-6
"""Share of a wall that a zone has at least, where it is there in some draws only: all draws have the same walls."""

ROUNDING = 1e-9
"""By how much the numbers of walls may differ that are the same, relative."""

EVERY_H = 0.25
"""How often a run is shown: as often as the shortest mean of its vapour."""


@dataclass(frozen=True, kw_only=True)
class Heating:
    """How a kiln is dried by stages: the lining that stays, casing and chamber by name, power, room, and the draws.

    `power_kw` is None where it is not known: the chamber then follows its stages whatever that takes. `held` says what
    soaked layers of a material hold [kg/m³] where that is known better than the table. `pan` is what lies under the
    floor slab by name; empty, not known: each draw has one of them. `height_m` is that of the place above the sea;
    where it is not known (None) pressures are those at the sea. `out` names layers, by part and number from 0 at the
    hot face, that are out, and all behind them in that part: what stays dries from both faces. `new` names layers that
    have been replaced: dry. Lining, ranks and zones are those of the kiln as found, so that a draw is the same kiln
    before, meanwhile and after. `doubted_share` of the draws, evenly among them, are of a kiln that is doubted,
    whatever is known of it.
    """

    lining: Lining
    stages: tuple[Stage, ...]
    casing: str
    opening: str
    room_degc: float
    room_vapour: float
    power_kw: float | None
    held: tuple[tuple[str, Band], ...] = ()
    knowledge: Knowledge = "assumed"
    pan: str = ""
    height_m: float | None = None
    out: tuple[tuple[Part, int], ...] = ()
    new: tuple[tuple[Part, int], ...] = ()
    draws: int = 32
    seed: int = 1
    doubted_share: float = 0.0

    def __post_init__(self) -> None:
        for part, number in (*self.out, *self.new):
            layers = len(self.lining.layers(part))
            if not 0 < number < layers:
                named, expected = f"layer {number} out or new", f"a layer behind the hot face, 1 to {layers - 1}"
                raise QuantityError(f"heating, {part}", named, expected if layers > 1 else "a part that has such")

    @cached_property
    def ranks(self) -> Ranks:
        """The share of each draw in every input; those that were drawn, once there are setups."""
        return Ranks(self.draws, self.seed)

    @cached_property
    def doubted(self) -> tuple[bool, ...]:
        """Which of the draws are of a kiln that is doubted."""
        return tuple(
            floor((draw + 1) * self.doubted_share) > floor(draw * self.doubted_share) for draw in range(self.draws)
        )

    def stays(self, stack: LayerStack) -> int:
        """Return how many layers of a stack are in, from the hot face outwards."""
        return min((number for part, number in self.out if part == stack.part), default=len(stack.layers))

    @property
    def thickness_mm(self) -> float:
        """Of the wall, by which stages reckon their holds."""
        return sum(layer.thickness_mm for layer in self.lining.wall.layers)


@dataclass(frozen=True, kw_only=True)
class At:
    """What is there at the end of one stage: hours since the start, water left [share], casing wet and dry [°C]."""

    stage: Stage
    ends_h: float
    left: Spread
    casing_degc: Spread
    dry_casing_degc: Band


@dataclass(frozen=True, kw_only=True)
class Staged:
    """What the stages do, as percentiles over the draws: a spread of assumed inputs, not a measured error.

    Hours to nine tenths are None where more than a tenth of the draws is not there by the end of the stages, and as
    wide at least as such hours are known: `hours_times`. `demand` is the highest overpressure over the tensile strength
    of where it stands; `middle` the draw with the median of the water left at the end; `wall` which of its walls is the
    kiln's wall, or its wet zone.
    """

    heating: Heating
    held: tuple[At, ...]
    hours_to_nine_tenths: Spread | None
    nine_tenths_by_end: float
    energy_kwh: Spread
    vapour_kg_h: Spread
    demand: Spread
    curve_h: tuple[float, ...]
    curve: tuple[Spread, ...]
    casing_curve: tuple[Spread, ...]
    dry_casing_curve: tuple[float, ...]
    middle: int
    wall: int
    decides: Sensitivity

    @property
    def ends_h(self) -> float:
        """When the last hold ends."""
        return self.held[-1].ends_h


@cache
def staged(heating: Heating) -> Staged:
    """Run the stages. Raises QuantityError for what cannot be, SimulationError where a run cannot be trusted."""
    import numpy as np

    from recover.physics.ensemble import simulate_many

    setups = setups_of(heating)
    course = setups[0].course
    hours = np.unique([*np.arange(0, course.end_h, EVERY_H), *course.hours])  # the end of every hold among them
    did = simulate_many(setups, hours)
    wall = _wet_wall(setups[0])
    nine_tenths = did.hours_gone(0.9)
    middle = int(np.argsort(did.left[:, -1])[heating.draws // 2])
    in_time = float(np.mean(np.isfinite(nine_tenths)))
    hours_gone = spread(np.minimum(nine_tenths, course.end_h)).at_least(known(heating.knowledge).hours_times)
    return Staged(
        heating=heating, held=tuple(_held(heating, did, course, wall)), nine_tenths_by_end=in_time,
        hours_to_nine_tenths=hours_gone if in_time > 0.9 else None,
        energy_kwh=spread(did.heater_kwh[:, -1]), vapour_kg_h=spread(did.vapour_kg_h()),
        demand=spread(did.demand.max(axis=(1, 2))), curve_h=tuple(float(hour) for hour in hours),
        curve=tuple(spread(at) for at in did.left.T),
        casing_curve=tuple(spread(at) for at in did.casing_degc[:, :, wall].T),
        dry_casing_curve=_dry_casings(setups[middle], hours, wall), middle=middle, wall=wall,
        decides=sensitivity(did, heating.ranks.drawn, heating.knowledge),
    )  # fmt: skip


def _held(heating: Heating, did: Ensemble, course: Course, wall: int) -> list[At]:
    import numpy as np

    found = []
    for number, stage in enumerate(heating.stages):
        ends_h = course.hours[2 * number + 2]
        at = int(np.searchsorted(did.hours, ends_h - 1e-9))
        flows = steady_flows(heating.lining.wall, stage.to_degc, heating.room_degc)
        found.append(At(
            stage=stage, ends_h=ends_h, left=spread(did.left[:, at]), casing_degc=spread(did.casing_degc[:, at, wall]),
            dry_casing_degc=Band(*sorted(flow.casing_degc for flow in flows)),
        ))  # fmt: skip
    return found


def _dry_casings(setup: Setup, hours: Values, wall: int) -> tuple[float, ...]:
    """Return the casing temperature [°C] of the same wall without water."""
    from recover.physics.drying import QUICK, simulate
    from recover.physics.grid import COARSE

    bare = tuple(
        replace(one, layers=tuple(replace(layer, water_kg_m3=0.0) for layer in one.layers)) for one in setup.walls
    )
    run = simulate(replace(setup, walls=bare), hours, COARSE, QUICK)
    return tuple(float(degc) for degc in run.walls[wall].casing_degc)


@cache
def middle_run(found: Staged) -> Run:
    """Return the middle draw with its profiles at the end of every hold, for a look through the wet wall."""
    from recover.physics.drying import QUICK, simulate
    from recover.physics.grid import COARSE

    hours = [0.0, *(one.ends_h for one in found.held)]
    return simulate(setups_of(found.heating)[found.middle], hours, COARSE, QUICK, profiles=True)


# ---------------------------------------------------------------------------------------- from lining to setups


def setups_of(heating: Heating, course: Course | None = None, *, compact: bool = False) -> list[Setup]:
    """Return a setup for each draw, on the stages or on a course of one's own. Raises QuantityError.

    `compact`: walls that are the same in everything but area are one, with the names of all of them.
    """
    course = course or Course.of(heating.room_degc, tuple(_steps(heating)))
    walls = _compact(_walls_of(heating)) if compact else _walls_of(heating)
    vents = _drawn(heating, "fresh_air", opening(heating.opening).vent_m3_h)
    room = Room(Course.steady(heating.room_degc), heating.room_vapour, heating.height_m or 0.0)
    around = {"vapour_share": heating.room_vapour, "gas_m3": _gas_m3(heating.lining)}
    power_kw = heating.power_kw or inf
    chambers = [Chamber(power_kw=power_kw, vent_m3_h=float(vent), **around) for vent in vents]
    return [
        Setup(
            own, course, chamber=chamber, room=room, start_degc=heating.room_degc,
        )
        for own, chamber in zip(walls, chambers, strict=True)
    ]  # fmt: skip


def _walls_of(heating: Heating) -> list[tuple[Wall, ...]]:
    """Return the walls of each draw, those of a doubted one among them."""
    if any(heating.doubted):
        own = _walls_of(replace(heating, doubted_share=0.0))
        other = _walls_of(replace(heating, doubted_share=0.0, knowledge=DOUBTED))
        return [other[draw] if doubted else own[draw] for draw, doubted in enumerate(heating.doubted)]
    by_stack = [_walls(heating, stack) for stack in heating.lining.stacks]
    return [tuple(wall for stack in by_stack for wall in stack[draw]) for draw in range(heating.draws)]


def _steps(heating: Heating) -> list[Step]:
    """Return the stages as ramps and holds: upper temperature, slower ramp, middle of the hours that practice names."""
    found, ramp_k_h = [], figures().unnamed_ramp_k_h.mid
    for stage in heating.stages:
        ramp_k_h = stage.ramp_min_k_h or ramp_k_h
        found.append(Step(stage.to_degc, ramp_k_h, stage.hours(heating.thickness_mm).mid))
    return found


def _gas_m3(lining: Lining) -> float:
    return lining.chamber.plan_m2() * lining.chamber.height_mm / 1000


def _walls(heating: Heating, stack: LayerStack) -> list[tuple[Wall, ...]]:
    """Return a stack as walls, draw by draw: wall and door by a wet and a dry zone where they have both, and edges."""
    import numpy as np

    number = heating.lining.stacks.index(stack)
    before = sum(len(one.layers) for one in heating.lining.stacks[:number])
    water = drawn_water(heating.lining, heating.ranks, dict(heating.held))
    rows = water[before : before + len(stack.layers)] * _doubt(heating)
    rows[[number for part, number in heating.new if part == stack.part]] = 0.0
    edges = _wet_edge(heating, stack)
    volumes = _volumes_m3(heating.lining, stack, apart=edges is not None)
    share = _wet_share(heating, stack) if stack.part in ("wall", "door") else np.ones(heating.draws)
    matters = [_matters(heating, layer.material) for layer in stack.layers[: heating.stays(stack)]]
    faces, edge_faces = _faces(heating, stack.part), _edge_faces(heating, stack.part) if edges else []
    found = []
    for draw in range(heating.draws):
        layers = tuple(
            _layer(layer, own[draw], float(rows[at, draw]), volumes[at] * float(share[draw]))
            for at, (layer, own) in enumerate(zip(stack.layers, matters, strict=False))
        )
        whole = Wall(
            layers, hot_face(), faces[draw], name=stack.part,
            area_m2=_area_m2(heating.lining, stack), inner_radius_mm=_radius_mm(heating.lining, stack.part),
        )  # fmt: skip
        apart: tuple[Wall, ...] = (whole,)
        if edges:
            straight = replace(whole, area_m2=heating.lining.hot_face_m2(stack.part))
            apart = straight, _bent(whole, edges, edge_faces[draw])
        found.append(_zones(whole, apart, share, draw))
    return found


def _doubt(heating: Heating) -> Values:
    """Return by how much the water of a kiln is other than its materials hold, draw by draw; 1 where nobody doubts."""
    import numpy as np

    times = known(heating.knowledge).water_times
    return np.ones(heating.draws) if times.low == times.high else _drawn(heating, "doubt", times)


def _layer(layer: Layer, matter: Matter, water_kg: float, wet_m3: float) -> WallLayer:
    held = water_kg / wet_m3 if wet_m3 > 0 else 0.0
    return WallLayer(layer.thickness_mm, matter, min(held, MOST_FILLED * 1000 * matter.porosity), layer.material.label)


def _wet_share(heating: Heating, stack: LayerStack) -> Values:
    """Return the share of a wall's height that its wettest layer is wet over, draw by draw."""
    import numpy as np

    found = np.zeros(heating.draws)
    for number, layer in enumerate(stack.layers):
        if layer.wet == "dry":
            continue
        zone = heating.lining.wet_zone(stack.part, number)
        rise_mm = _drawn(heating, f"rise of {layer.material.family}", layer.rise_mm)
        wet_m3 = np.array([zone.wet_m3(float(rise)) for rise in rise_mm])
        found = np.maximum(found, wet_m3 / heating.lining.layer_m3(stack.part, number))
    return np.clip(found, 0.0, 1.0)


def _wet_edge(heating: Heating, stack: LayerStack) -> Edge | None:
    """Return a part's edges where they hold so much of the kiln's water that they decide anything."""
    lining, rows = heating.lining, layer_water(heating.lining, dict(heating.held))
    own = [row.water_kg.mid for row in rows if row.part == stack.part]
    edge_kg = sum(
        kg * lining.edge_m3(stack.part, at) / lining.layer_m3(stack.part, at) for at, kg in enumerate(own)
    )  # fmt: skip
    least_kg = figures().edge_water.mid * sum(row.water_kg.mid for row in rows)
    return edge(lining, stack.part) if edge_kg > least_kg else None


def _bent(whole: Wall, edges: Edge, cold: Face) -> Wall:
    """Return the edges of a part, the layers that are in laid around them."""
    laid = zip(whole.layers, edges.layers_mm, strict=False)
    return Wall(
        tuple(replace(layer, thickness_mm=mm) for layer, mm in laid), whole.hot, cold, name=f"{whole.name}, edges",
        area_m2=edges.area_m2, inner_radius_mm=edges.inner_radius_mm,
    )  # fmt: skip


def _volumes_m3(lining: Lining, stack: LayerStack, *, apart: bool) -> list[float]:
    """Return what each layer's water is spread over: its own volume; in a box without edges apart, the flat wall's."""
    if apart or _radius_mm(lining, stack.part) is not None:
        return [lining.layer_m3(stack.part, number) for number in range(len(stack.layers))]
    return [_area_m2(lining, stack) * layer.thickness_mm / 1000 for layer in stack.layers]


def _zones(whole: Wall, apart: tuple[Wall, ...], share: Values, draw: int) -> tuple[Wall, ...]:
    """Return a part's wet zone, with its edges apart, and its dry one without; or the one that it has in every draw."""
    if share.min() >= 1 or share.max() <= 0:
        return apart
    own = float(share[draw])
    wet = [replace(one, area_m2=one.area_m2 * max(own, LEAST_ZONE), name=f"{one.name}, wet") for one in apart]
    bare = tuple(replace(layer, water_kg_m3=0.0) for layer in whole.layers)
    dry_m2 = whole.area_m2 * max(1 - own, LEAST_ZONE)
    return (*wet, replace(whole, area_m2=dry_m2, name=f"{whole.name}, dry", layers=bare))


def _compact(walls: list[tuple[Wall, ...]]) -> list[tuple[Wall, ...]]:
    """Join the walls of each draw that are the same in everything but area, in every draw: what happens in one square
    metre of them is the same."""
    import numpy as np

    numbers = [np.array([_numbers(draw[at]) for draw in walls]) for at in range(len(walls[0]))]
    groups: list[list[int]] = []
    for at, own in enumerate(numbers):
        for group in groups:
            first = numbers[group[0]]
            if first.shape == own.shape and np.allclose(first, own, rtol=ROUNDING, atol=0.0):
                group.append(at)
                break
        else:
            groups.append([at])
    return [tuple(_joined([draw[at] for at in group]) for group in groups) for draw in walls]


def _joined(alike: list[Wall]) -> Wall:
    return replace(
        alike[0], area_m2=sum(wall.area_m2 for wall in alike), name=" and ".join(wall.name for wall in alike)
    )


def _numbers(wall: Wall) -> list[float]:
    """Return all that says what happens in a square metre of a wall."""
    layers = [[layer.thickness_mm, layer.water_kg_m3, *vars(layer.matter).values()] for layer in wall.layers]
    faces = [-1.0 if value is None else float(value) for face in (wall.hot, wall.cold) for value in vars(face).values()]
    return [*chain.from_iterable(layers), *faces, wall.inner_radius_mm or inf]


def _wet_wall(setup: Setup) -> int:
    """Return which of a setup's walls is the kiln's wall, or its wet zone."""
    return next(number for number, wall in enumerate(setup.walls) if wall.name in ("wall", "wall, wet"))


def _area_m2(lining: Lining, stack: LayerStack) -> float:
    """Return the area that stands for a part with its edges: the hot face of a ring, else volume by thickness."""
    if _radius_mm(lining, stack.part) is not None:
        return lining.hot_face_m2(stack.part)
    thickness_m = sum(layer.thickness_mm for layer in stack.layers) / 1000
    return sum(lining.layer_m3(stack.part, number) for number in range(len(stack.layers))) / thickness_m


def _radius_mm(lining: Lining, part: Part) -> float | None:
    """Return the radius of a ring's hot face; None for slabs and boxes, which are flat."""
    if part != "wall" or lining.chamber.shape == "rectangular":
        return None
    return 1000 * lining.chamber.girth_m() / (2 * pi)


# ---------------------------------------------------------------------------------------- faces and materials


def _faces(heating: Heating, part: Part) -> list[Face]:
    """Return the cold face of a part, draw by draw; what a floor stands on is none of the casing's, and what lies bare
    has none."""
    if any(part == one for one, _ in heating.out):
        shares_bare = _drawn(heating, "openness", figures().bare_openness, 1.0)
        return [bare_face(part, float(share)) for share in shares_bare]
    if part == "floor":
        shares_open = _under_floor(heating)
        may_open = bool(shares_open.any())
        return [replace(cold_face(part, float(share)), may_open=may_open) for share in shares_open]
    return drawn_faces(heating.casing, heating.ranks, part)


def _edge_faces(heating: Heating, part: Part) -> list[Face]:
    """Return the cold face of a part's edges, draw by draw: that of a floor is half pan, half the casing beside it."""
    faces = _faces(heating, part)
    if part != "floor":
        return faces
    beside = _faces(heating, "wall")
    return [
        replace(own, openness=(own.openness + below.openness) / 2, may_open=below.may_open)
        for own, below in zip(beside, faces, strict=True)
    ]


def _under_floor(heating: Heating) -> Values:
    """Return the open share of the floor's cold face, draw by draw; of a pan that is not known each gets its draws.

    One span from the closed to the bare would hide the closed pan, by which a drying that nobody knows is planned.
    """
    import numpy as np

    may_be = pans(heating.pan)
    which, within = np.divmod(heating.ranks.of("pan") * len(may_be), 1.0)
    within = np.clip(within, 1e-9, 1 - 1e-9)
    return np.asarray(np.choose(which.astype(int), [from_band(one.openness, within, most=1.0) for one in may_be]))


def _matters(heating: Heating, own: Material) -> list[Matter]:
    """Return a material's numbers, draw by draw."""
    return drawn_matters(own, known(heating.knowledge).moves_times, heating.ranks.of)


def _drawn(heating: Heating, name: str, band: Band, most: float = inf) -> Values:
    return from_band(band, heating.ranks.of(name), most)
