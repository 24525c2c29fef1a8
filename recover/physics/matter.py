"""What the tables say of materials and casings as the numbers that the drying model takes, one for each span.

Of a span it is an end, or a draw: `pick` chooses. The faces of a wall are what lies before the lining, and the casing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import exp, inf
from typing import TYPE_CHECKING

from recover.physics.draws import MOVES, from_band
from recover.physics.figures import casing, figures
from recover.physics.lining import Part
from recover.physics.materials import Band, Material, Quantity, material_data
from recover.physics.wall import Face, Matter

if TYPE_CHECKING:
    from recover.physics.draws import Ranks, Values

TOGETHER = {
    "density_kg_m3": "density", "porosity": "density", "k0_w_mk": "conductivity", "k1_w_mk2": "conductivity",
    "wet_k_w_mk": "wet_conductivity", "cp0_j_kgk": "heat_capacity", "cp1_j_kgk2": "heat_capacity",
    "permeability_m2": "permeability", "vapour_tortuosity": "vapour", "hygroscopic_kg_m3": "sorption",
    "liquid0_m2_s": "liquid", "tensile_mpa": "strength",
}  # fmt: skip
"""By what each number is drawn: those that stand with one name are high and low together."""

MOST_FILLED = 0.97
"""Share of its pores that a layer begins with at most: what is drawn beyond that has run out of it."""

_MOVED = ("permeability_m2", "vapour_tortuosity", "liquid0_m2_s")
_MOST = {"porosity": 0.99, "vapour_tortuosity": 1.0}
_TIGHTEST_M2 = 1e-17
"""No lining is drawn tighter than the tightest castable of the table: tails of wide spans have no bottom."""


def matter(own: Material, pick: Callable[[str, Quantity], float]) -> Matter:
    """Return a material's numbers, each as `pick` takes it from its span by the name of the number.

    The table has the diffusivity of liquid at half-filled pores: D = D_half exp(b (S - 1/2)), D0 = D_half exp(-b / 2).
    """
    numbers = {name: pick(name, quantity) for name, quantity in quantities(own).items()}
    exponent = material_data().liquid_exponent.mid
    numbers["liquid0_m2_s"] *= exp(-exponent / 2)
    return Matter(**numbers, liquid_exponent=exponent)


def quantities(own: Material) -> dict[str, Quantity]:
    """Return a material's spans by the names of the model's numbers; `liquid0_m2_s` still at half-filled pores."""
    return {
        "density_kg_m3": own.dry_density_kg_m3, "porosity": own.open_porosity,
        "k0_w_mk": own.k0_w_mk, "k1_w_mk2": own.k1_w_mk2, "wet_k_w_mk": own.moisture.wet_k_w_mk,
        "cp0_j_kgk": own.cp0_j_kgk, "cp1_j_kgk2": own.cp1_j_kgk2,
        "permeability_m2": own.moisture.permeability_m2, "vapour_tortuosity": own.moisture.vapour_tortuosity,
        "hygroscopic_kg_m3": own.moisture.hygroscopic_kg_m3, "liquid0_m2_s": own.moisture.liquid_m2_s,
        "tensile_mpa": own.tensile_mpa,
    }  # fmt: skip


def drawn_matters(own: Material, moves_times: Band, rank: Callable[[str], Values]) -> list[Matter]:
    """Return a material's numbers, draw by draw; `rank` gives by its name the share of each draw in an input.

    All bricks of a kiln are quick together or slow together: a family has one rank for each input. Light brick has more
    pores, and a conductivity that falls with heat falls more where it is high: these run against their rank. How fast
    water moves beside what the model says is one factor on all its ways, `moves_times`.
    """
    import numpy as np

    drawn = {
        name: _drawn(name, quantity, rank(f"{TOGETHER[name]} of {own.family}"))
        for name, quantity in quantities(own).items()
    }
    moves = from_band(moves_times, rank(MOVES))
    drawn |= {name: np.minimum(drawn[name] * moves, _MOST.get(name, inf)) for name in _MOVED}
    drawn["permeability_m2"] = np.maximum(drawn["permeability_m2"], _TIGHTEST_M2)

    def of(draw: int) -> Matter:
        return matter(own, lambda name, _: float(drawn[name][draw]))

    return [of(draw) for draw in range(len(moves))]


def _drawn(name: str, quantity: Quantity, share: Values) -> Values:
    against = name == "porosity" or quantity.high < 0
    return from_band(quantity, 1 - share if against else share, _MOST.get(name, inf))


def hot_face() -> Face:
    """Return the face to the chamber: open, with the film of radiation and convection."""
    return Face(film_w_m2k=figures().surface_w_m2k.mid, openness=1.0)


def cold_face(part: Part, openness: float = 0.0, wrap_m2k_w: float = 0.0) -> Face:
    """Return the face of a part's casing in a room's air, open by a share and wrapped or not."""
    natural = {"floor": figures().natural_floor_w_m2k13, "lid": figures().natural_roof_w_m2k13}
    return Face(
        emissivity=figures().casing_emissivity.mid,
        natural_w_m2k13=natural.get(part, figures().natural_wall_w_m2k13).mid,
        wrap_m2k_w=wrap_m2k_w, openness=openness,
    )  # fmt: skip


def bare_face(part: Part, openness: float) -> Face:
    """Return the cold face of a part whose casing and back-up are off: lining, open but for what holds it."""
    return replace(cold_face(part, openness), emissivity=figures().lining_emissivity.mid)


def drawn_faces(casing_id: str, ranks: Ranks, part: Part = "wall") -> list[Face]:
    """Return the face of a part's casing, draw by draw. Raises QuantityError for one that is not known."""
    own = casing(casing_id)
    openness = from_band(own.openness, ranks.of("openness"), most=1.0)
    wrap = from_band(own.wrap_m2k_w, ranks.of("wrapping")) if own.wrap_m2k_w else openness * 0
    shines = from_band(figures().casing_emissivity, ranks.of("emissivity"), most=1.0)
    return [
        replace(cold_face(part, float(share), float(around)), emissivity=float(by))
        for share, around, by in zip(openness, wrap, shines, strict=True)
    ]
