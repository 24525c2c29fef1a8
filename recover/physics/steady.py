"""The steady heat through a dry stack: what it loses, and how hot each of its faces is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt

from recover.base.errors import QuantityError
from recover.physics.air import STEFAN_BOLTZMANN_W_M2K4
from recover.physics.lining import LayerStack, Part
from recover.physics.materials import ENDS
from recover.physics.matter import cold_face
from recover.physics.wall import Face

Slab = tuple[float, float, float]
"""A dry layer for the sums: thickness [m], and k0 and k1 of its conductivity k0 + k1 T [W/mK, T in °C]."""


@dataclass(frozen=True)
class _SteadyFlow:
    """Steady heat through a dry stack: flux [W/m²] and the temperature [°C] of every face, hot face first."""

    flux_w_m2: float
    faces_degc: tuple[float, ...]

    @property
    def casing_degc(self) -> float:
        """The temperature of the casing [°C]."""
        return self.faces_degc[-1]


@lru_cache(maxsize=8192)
def _once(slabs: tuple[Slab, ...], chamber_degc: float, room_degc: float, part: Part) -> _SteadyFlow:
    """Find a flow once: all firings of a plan climb through the same temperatures."""
    return steady_flow(slabs, chamber_degc, room_degc, part)


def steady_flow(slabs: Sequence[Slab], chamber_degc: float, room_degc: float, part: Part = "wall") -> _SteadyFlow:
    """Return the steady heat through a dry wall whose hot face has the chamber's temperature.

    The casing gives off q = c ΔT^1.3 + ε σ (T⁴ - T_room⁴), with the numbers of `cold_face`. Its temperature is
    found by halving an interval fifty times. Planar, dry. Raises QuantityError unless the chamber is warmer than the
    room.
    """
    face = cold_face(part)
    if not chamber_degc > room_degc:
        raise QuantityError("chamber", f"{chamber_degc:g} °C", f"warmer than the room, {room_degc:g} °C")
    low, high = room_degc, chamber_degc
    for _ in range(50):
        casing = (low + high) / 2
        hot_face = _faces_degc(slabs, casing, _given_off_w_m2(face, casing, room_degc))[0]
        low, high = (casing, high) if hot_face < chamber_degc else (low, casing)
    flux_w_m2 = _given_off_w_m2(face, low, room_degc)
    return _SteadyFlow(flux_w_m2, _faces_degc(slabs, low, flux_w_m2))


def _faces_degc(slabs: Sequence[Slab], casing_degc: float, flux_w_m2: float) -> tuple[float, ...]:
    faces = [casing_degc]
    for slab in reversed(slabs):
        faces.append(_inner_degc(slab, faces[-1], flux_w_m2))
    return tuple(reversed(faces))


def _inner_degc(slab: Slab, outer_degc: float, flux_w_m2: float) -> float:
    """Return the temperature of the warmer face: q d = k0 (T1 - T2) + k1/2 (T1² - T2²), solved for T1."""
    thickness_m, k0_w_mk, k1_w_mk2 = slab
    sum_w_m = k0_w_mk * outer_degc + k1_w_mk2 / 2 * outer_degc**2 + flux_w_m2 * thickness_m
    return 2 * sum_w_m / (k0_w_mk + sqrt(k0_w_mk**2 + 2 * k1_w_mk2 * sum_w_m))


def _given_off_w_m2(face: Face, casing_degc: float, room_degc: float) -> float:
    radiated = STEFAN_BOLTZMANN_W_M2K4 * ((casing_degc + 273.15) ** 4 - (room_degc + 273.15) ** 4)
    convected = face.natural_w_m2k13 * float((casing_degc - room_degc) ** 1.3)
    return convected + face.emissivity * radiated


def steady_flows(
    stack: LayerStack, chamber_degc: float, room_degc: float, *, extended: bool = False
) -> list[_SteadyFlow]:
    """Return the steady flow for low, mid and high conductivity of every layer.

    Raises QuantityError where a layer would be hotter than its conductivity is valid for, unless the straight line may
    be `extended`: for the energy of a firing, whose band is wider than what that adds, and for nothing else.
    """
    flows = []
    for end in ENDS:
        slabs = [
            (layer.thickness_mm / 1000, getattr(layer.material.k0_w_mk, end), getattr(layer.material.k1_w_mk2, end))
            for layer in stack.layers
        ]
        flows.append(_once(tuple(slabs), chamber_degc, room_degc, stack.part))
    for layer, degc in zip(stack.layers, () if extended else flows[1].faces_degc, strict=False):
        layer.material.conductivity_w_mk(round(degc, 3))  # refuses what lies beyond its validity
    return flows
