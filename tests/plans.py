"""Small kilns for the tests of the plan: one ring of wet lining, so that a search takes seconds."""

from functools import cache

from recover.judged.dryout import OUTDOORS
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.staged import Heating
from recover.physics.stages import stage_class, stages
from recover.schedule.limits import RoomCare, limits_of
from recover.schedule.spells import Attendance

BRICK = (("ifb_23", 40.0),)
BRICK_AND_FIBRE = (("ifb_23", 40.0), ("blanket", 25.0))
THIN_FIBRE_BEHIND = (("ifb_23", 40.0), ("blanket", 13.0))
DENSE = (("castable_dense", 50.0),)


def kiln(layers=BRICK, casing="seams", room_vapour=0.0115, opening="plugs_out", power_kw=4.0) -> Heating:
    """Return a round kiln of 0.4 m, its ring soaked to the top."""
    stack = LayerStack("wall", tuple(Layer(name, mm, "soaked", 400.0) for name, mm in layers))
    lining = Lining(ChamberShape("round", 400, 400, 400), (stack,))
    return Heating(
        lining=lining, stages=stages(stage_class(stack)), casing=casing, opening=opening,
        room_degc=15.0, room_vapour=room_vapour, power_kw=power_kw, height_m=0.0,
    )  # fmt: skip


def limits(heating, hours=24.0, care: RoomCare | None = None):
    """Return its limits, as they stand."""
    return limits_of(heating.stages, heating.power_kw, hours, care, OUTDOORS)


@cache
def planned(heating, from_h=0.0, to_h=24.0, **more):
    """Return its plan, as the limits stand; what binds it only where that is asked for."""
    there = Attendance(from_h, to_h)
    more = {"binding": False, **more}
    return search(heating, limits(heating, there.hours), there, **more)
