"""What the tables say of materials and casings as the numbers that the drying model takes, one for each span.

Of a span it is an end, or a draw: `pick` chooses. The faces of a wall are what lies before the lining, and the casing.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp

from recover.physics.figures import figures
from recover.physics.lining import Part
from recover.physics.materials import Material, Quantity, material_data
from recover.physics.wall import Face, Matter

BY_ORDER = frozenset({"permeability_m2", "hygroscopic_kg_m3", "liquid0_m2_s"})
"""What is known to an order of magnitude only, and drawn by its logarithm."""


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
