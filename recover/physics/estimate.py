"""How long and how much energy it takes to drive the water out of a lining: sums that can be checked by hand.

A drying front recedes from the hot face. It boils at 100 °C, and the heat reaches it through the layers that are dry
already. Every result is a band: a span of assumptions that has not been compared with a measured kiln.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from recover.base.errors import QuantityError
from recover.physics.figures import casing as casing_of
from recover.physics.figures import figures
from recover.physics.lining import LayerStack, Lining
from recover.physics.materials import ENDS, ZERO, Band
from recover.physics.steady import steady_flows
from recover.physics.uptake import LayerWater, held, layer_water, water_kg
from recover.physics.wall import BOILING_DEGC, EVAPORATION_J_KG

# ---------------------------------------------------------------------------------------------------- time


def front_hours(layers: Iterable[tuple[Band, float, Band]], surface_w_m2k: Band, chamber_degc: float) -> Band:
    """Return the hours in which a drying front recedes through the layers, the hot face first.

    Of each layer: its water w [kg/m³], thickness d [m], and the conductivity k of the dry material [W/mK].

    The heat that reaches the front evaporates the water there: w L ds/dt = ΔT / (R + s/k), ΔT = T_chamber - 100 °C,
    with R = 1/h in the first layer and the resistance of everything inside it in the next ones. Integrated over a layer
    of thickness d: t = w L / ΔT (d² / (2 k) + R d). L = 2.257 MJ/kg, h [W/m²K].

    Planar, quasi-steady, wet part at 100 °C throughout, vapour free to leave, no heat lost outwards. Valid from 110 °C
    in the chamber, for brick, fibre and board. In dense brick and castable the pressure of the steam limits the ramp,
    and this says nothing of it. It knows no casing: `drying_hours` does. Raises QuantityError.
    """
    least_degc = figures().least_chamber_degc.mid
    if chamber_degc < least_degc:
        raise QuantityError("chamber", f"{chamber_degc:g} °C", f"{least_degc:g} °C or more for a boiling front")
    seconds, resistance = ZERO, Band.exactly(1.0) / surface_w_m2k
    for water_kg_m3, thickness_m, k_w_mk in layers:
        own = Band.exactly(thickness_m) / k_w_mk
        path = (own * 0.5 + resistance) * thickness_m
        seconds += water_kg_m3 * (EVAPORATION_J_KG / (chamber_degc - BOILING_DEGC)) * path
        resistance += own
    return seconds / 3600


def drying_hours(
    stack: LayerStack, chamber_degc: float, casing: str, held_kg_m3: Mapping[str, Band] | None = None
) -> Band:
    """Return the hours at a chamber temperature until about nine tenths of a stack's water have gone.

    The receding front, times the factor for how open the casing is, widened to at least ×/÷ 2. `casing` is `loosened`,
    `wrapped`, `seams` or `sealed`. Conductivity is taken half-way between chamber and boiling. Raises QuantityError.
    """
    midway = (chamber_degc + BOILING_DEGC) / 2
    layers = [
        (held(layer, held_kg_m3), layer.thickness_mm / 1000, layer.material.conductivity_w_mk(midway))
        for layer in stack.layers
    ]
    front = front_hours(layers, figures().surface_w_m2k, chamber_degc)
    return (front * casing_of(casing).times).at_least(figures().hours_span)


# ---------------------------------------------------------------------------------------------------- energy


def evaporation_kwh(water_kg: Band, start_degc: float) -> Band:
    """Return the energy [kWh] that warms water to 100 °C and evaporates it: E = m (0.00116 (100 - T0) + 0.627).

    Valid from 0 to 100 °C at the start. Raises QuantityError.
    """
    if not 0 <= start_degc <= BOILING_DEGC:
        raise QuantityError("start_degc", f"{start_degc:g} °C", "0 to 100 °C")
    return water_kg * (0.00116 * (BOILING_DEGC - start_degc) + 0.627)


def energy_kwh(
    lining: Lining, rows: Sequence[LayerWater], holds: Sequence[tuple[float, Band]], room_degc: float, *,
    extended: bool = False,
) -> Band:  # fmt: skip
    """Return the energy of a drying firing [kWh], at least ±40 %; each hold is a chamber temperature and its hours.

    Into the water: `evaporation_kwh`. Into the lining: Σ m cp ΔT up to half-way between chamber and casing at the
    hottest hold, cp midway to that. Out through the casing: Σ A q t with the steady q of the dry stack and the
    geometric mean A of hot and cold face. `extended` as in `steady_flows`. Raises QuantityError.
    """
    if not holds:
        raise QuantityError("holds", "none", "at least one")
    evaporated = evaporation_kwh(water_kg(rows), room_degc)
    hottest = max(chamber_degc for chamber_degc, _ in holds)
    stored = sum((_stored_kwh(stack, rows, hottest, room_degc, extended) for stack in lining.stacks), ZERO)
    lost = sum((_lost_kwh(lining, stack, hold, room_degc, extended) for stack in lining.stacks for hold in holds), ZERO)
    return (evaporated + stored + lost).at_least(figures().energy_span)


def _stored_kwh(
    stack: LayerStack, rows: Sequence[LayerWater], chamber_degc: float, room_degc: float, extended: bool
) -> Band:
    casing_degc = steady_flows(stack, chamber_degc, room_degc, extended=extended)[1].casing_degc
    lining_degc = (chamber_degc + casing_degc) / 2
    midway_degc, rise_k = (lining_degc + room_degc) / 2, lining_degc - room_degc  # exact, since cp is a straight line
    own = (row for row in rows if row.part == stack.part)
    capacities = (row.dry_kg * row.layer.material.heat_capacity_j_kgk(midway_degc) for row in own)
    return sum((capacity * (rise_k / 3.6e6) for capacity in capacities), ZERO)


def _lost_kwh(lining: Lining, stack: LayerStack, hold: tuple[float, Band], room_degc: float, extended: bool) -> Band:
    chamber_degc, hours = hold
    flows = steady_flows(stack, chamber_degc, room_degc, extended=extended)
    return Band(*(flow.flux_w_m2 for flow in flows)) * hours * (lining.mean_face_m2(stack.part) / 1000)


# ---------------------------------------------------------------------------------------------------- the whole


@dataclass(frozen=True)
class DryingEstimate:
    """What it takes to dry a lining in place: hours and energy."""

    hours: Band
    energy_kwh: Band


def estimate(
    lining: Lining, chamber_degc: float, casing: str, room_degc: float, held_kg_m3: Mapping[str, Band] | None = None
) -> DryingEstimate:
    """Return the whole estimate for one hold at a chamber temperature.

    Parts dry side by side: the hours are the longest low, mid and high of them. Raises QuantityError below 110 °C, for
    a casing that is not known, or a chamber no warmer than the room.
    """
    times = [drying_hours(stack, chamber_degc, casing, held_kg_m3) for stack in lining.stacks]
    hours = Band(*(max(getattr(time, end) for time in times) for end in ENDS))
    used = energy_kwh(lining, layer_water(lining, held_kg_m3), [(chamber_degc, hours)], room_degc)
    return DryingEstimate(hours, used)
