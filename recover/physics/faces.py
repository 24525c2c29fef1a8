"""The faces of a kiln's walls by name: what is before the lining, and how open the casing is behind it."""

from __future__ import annotations

from recover.physics.figures import casing, figures, opening
from recover.physics.wall import Face


def hot_face() -> Face:
    """Return the face to the chamber: open, with the film of radiation and convection."""
    return Face(film_w_m2k=figures().surface_w_m2k.mid, openness=1.0)


def cold_face(openness: float, wrap_m2k_w: float = 0.0) -> Face:
    """Return the face of a casing in still air, open by a share and wrapped or not."""
    return Face(
        natural_w_m2k13=figures().natural_w_m2k13.mid, emissivity=figures().casing_emissivity.mid,
        wrap_m2k_w=wrap_m2k_w, openness=openness,
    )  # fmt: skip


def casing_face(casing_id: str) -> Face:
    """Return a casing's face at the middle of what is not known of it. Raises QuantityError."""
    own = casing(casing_id)
    return cold_face(own.openness.mid, own.wrap_m2k_w.mid if own.wrap_m2k_w else 0.0)


def vent_m3_h(opening_id: str) -> float:
    """Return the fresh air through a chamber that stands open so, at the middle of what is not known. QuantityError."""
    return opening(opening_id).vent_m3_h.mid
