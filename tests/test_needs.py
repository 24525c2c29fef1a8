"""Each need of each hold point: one thing made wrong on a job completed honestly leaves this need unmet.

From the school's job with all its evidence and nobody's signature. What each hold point needs is this project's own
limit where its sheet names no document.
"""

from functools import cache

import pytest

from recover.rules.sheets import hold_points
from tests.gates import LATER, last, said, unsigned
from tests.test_gates import states

K = "@kiln/1"
NOW = LATER.isoformat(timespec="seconds")
NO = {"value": "no"}
UNKNOWN = {"state": "unknown", "value": None, "instrument": "", "details": {}}
SAID = {"state": "given", "who": "E. Lectrician", "role": "electrician"}
READ = SAID | {"instrument": "I7", "details": {}}
WET = {"value": "submerged"}

# hold point, how its need begins, what is made wrong, how
WRONG = [
    ("hands_off", "an electric kiln", "scope.fuel", {"value": "gas"}),
    ("hands_off", "standing water gone", "safe.water_gone", NO),
    ("hands_off", "no gas, oil", "safe.hazards", {"value": ["fuel"]}),
    ("hands_off", "no gas, oil", "safe.hazards", {"value": ["structure"]}),
    ("hands_off", "isolated and locked off", f"safe.upstream{K}", {"value": "off"}),
    ("hazards", "sewage, mould, fuel", "safe.hazards", UNKNOWN),
    *(("hazards", "each hazard that was ever found", "safe.hazards", {"value": [hazard]})
      for hazard in ("sewage", "mould", "fuel", "structure", "combustible", "asbestos", "fibre", "lead", "frost")),
    ("hazards", "asbestos excluded", f"safe.asbestos{K}", {"value": "tested_positive"}),
    ("isolated", "isolated by a means", f"safe.isolation{K}", {"value": "not"}),
    ("isolated", "every supply and back-feed named", "scope.supplies", UNKNOWN),
    ("isolated", "isolated from every other supply", "feed.isolated@feed/solar", {"value": "off"}),
    ("isolated", "proven dead at its own terminals", f"safe.dead{K}", NO),
    ("isolated", "proven dead with every other supply", "feed.dead@feed/solar", NO),
    ("consent", "the insurer's agreement", "claim.consent", {"value": "asked"}),
    ("consent", "removed parts kept", "claim.evidence", {"value": "partly"}),
    ("lift", "isolated from every other supply", "feed.isolated@feed/solar", {"value": "off"}),
    ("lift", "base, pan and hollow stand", f"casing.drained{K}", NO),
    ("lift", "stand level", f"casing.level{K}", NO),
    ("lift", "bands tight", f"casing.build{K}", UNKNOWN),
    ("energise", "control box clean", f"energise.clean_dry{K}", NO),
    ("energise", "supply side passed", f"energise.supply{K}", NO),
    ("energise", "supply voltage measured", f"supply.volts{K}", {"value": 480}),
    ("energise", "what plate, papers, ohms", f"element.connection{K}", {"value": "delta"}),
    ("energise", "the breaker or fuse before it", f"supply.device_a{K}", {"value": 100}),
    ("energise", "supply cable, plug, socket, isolator and board", f"safe.supply_reached{K}", WET),
    ("energise", "every switching and protective device", f"gear.replaced{K}/device/contactor", NO),
    ("energise", "every switching and protective device", f"gear.replaced{K}/device/cutout", NO),
    ("energise", "every length of wiring", f"wire.replaced{K}/wiring/power", NO),
    ("energise", "the controller: what its finding asks", f"control.replacement{K}", {"value": "proposed"}),
    ("energise", "a replacement controller is fitted where", f"fitting.cable{K}", {"value": "beyond"}),
    ("energise", "every probe and its cable", f"probe.replaced{K}/probe/1", NO),
    ("energise", "every element, tail", f"element.replaced{K}/element/1", NO),
    ("energise", "every part of the vent", f"vent.parts{K}", {"value": ["fan"]}),
    ("energise", "nothing else is known", f"energise.replaced{K}", NO | SAID),
    ("energise", "controller, cable, polarity", f"control.polarity{K}", {"value": "reversed"}),
    ("energise", "controller, cable, polarity", f"control.set_type{K}", {"value": "N"}),
    ("energise", "earth continuity", f"earth.ohm{K}/bond/lid", {"value": 4}),
    ("energise", "earth continuity", f"energise.earth{K}", NO | SAID),
    ("energise", "insulation resistance of every length", f"wire.insulation{K}/wiring/power", {"value": 0.99}),
    ("energise", "insulation resistance of the elements", f"zone.insulation{K}/zone/1", {"value": 0.99}),
    ("energise", "insulation resistance of the elements", f"zone.joined{K}/zone/1", {"value": "reduced"}),
    ("energise", "insulation resistance of the elements", f"energise.elements{K}", NO | SAID),
    ("energise", "leakage of the cool kiln", f"energise.leakage{K}", {"value": 6} | READ),
    ("energise", "residual-current device", f"energise.rcd{K}", NO),
    ("energise", "residual-current device", f"energise.rcd_ma{K}", {"value": 100}),
    ("energise", "residual-current device", f"energise.rcd_ms{K}", {"value": 301}),
    ("energise", "everything that is there to switch it off", f"energise.cuts{K}", NO),
    ("energise", "every door switch, cut-out", f"gear.works{K}/device/door_switch", {"value": "not_tried"}),
    ("energise", "every element measures", f"element.ohm{K}/element/3", {"value": 3.88}),
    ("energise", "every element measures", f"energise.ohms{K}", NO | SAID),
    ("energise", "every element measures", f"element.leads_nulled{K}", NO),
    ("energise", "kiln empty, vents open", f"energise.attended{K}", NO),
    ("own_heat", "the controller reads the room", f"energise.self_test{K}", NO),
    ("own_heat", "what a heating showed", f"dried.insulation{K}/zone/1", {"value": 0.01} | READ),
    ("own_heat", "what a heating showed", f"dried.amps{K}", {"value": 90} | READ),
    ("own_heat", "what a heating showed", f"dried.hottest{K}", {"value": 400} | READ),
    ("own_heat", "bungs, plugs", f"extras.bungs{K}", NO),
    ("own_heat", "every part of the lining", f"lining.done{K}/part/wall", NO),
    ("own_heat", "casing, base, stand and hinges", f"casing.done{K}/casing/shell", NO),
    ("own_heat", "casing, base, stand and hinges", f"casing.level{K}", NO),
]  # fmt: skip


ALSO = {f"probe.replaced{K}/probe/1": (f"probe.sheath{K}/probe/1", {"value": "cracked"})}
"""What has to be wrong as well, for there to be anything to replace."""


GATES = {
    "hands_off": ("kiln", [], ["hold_key"]), "hazards": ("job", [], ["answer_for_room"]),
    "isolated": ("kiln", ["hands_off", "hazards"], ["prove_dead"]), "consent": ("job", [], ["consent"]),
    "lift": ("kiln", ["hands_off", "hazards"], ["lead_lift"]), "energise": ("kiln", ["isolated"], ["pass_electrics"]),
    "own_heat": ("kiln", ["energise"], ["pass_electrics", "attend"]),
}  # fmt: skip
"""Of each hold point: whether every kiln has its own, those before it, what is signed for."""


def unmet(events, point):
    return [need.say for need in states(events)[point].unmet]


@cache
def honest():
    """Return what each hold point needs and has not where all was done honestly."""
    return {name: hold.unmet for name, hold in states(unsigned()).items()}


def test_each_hold_point_has_its_own_before_it_and_its_signatures():
    """Dead before touched, touched before energised, energised before heated by two people (own limit)."""
    assert {point.id: (point.per, point.requires, point.signatures) for point in hold_points()} == GATES


@pytest.mark.parametrize(("point", "begins", "key", "change"), WRONG, ids=[f"{row[2]}-{row[1][:20]}" for row in WRONG])
def test_one_thing_made_wrong_leaves_its_need_unmet(point, begins, key, change):
    events = said(unsigned(), key, **{"measured": NOW, **change})
    if key in ALSO:
        events = said(events, ALSO[key][0], **{"measured": NOW, **ALSO[key][1]})

    assert honest()[point] == ()
    assert [say for say in unmet(events, point) if say.startswith(begins)], unmet(events, point)


def test_every_need_is_tried():
    every = {(point.id, need.say) for point in hold_points() for need in point.needs}
    tried = {(one, say) for one, say in every for row in WRONG if row[0] == one and say.startswith(row[1])}

    assert tried == every


ENTRY = {f"zone.insulation{K}/zone/1": {"value": 0.5},
         f"energise.own_entry{K}": {"value": "yes", "document": "7"} | SAID,
         f"energise.leakage{K}": {"value": 0.8} | READ}  # fmt: skip


def entered(**worse):
    """Return what energising needs at 0.5 MΩ by the electrician's own entry, with something made worse."""
    cold = f"zone.insulation{K}/zone/1"
    events = tuple(event for event in unsigned() if event.data.get("question") != cold)  # or it would be falling
    for key, change in {**ENTRY, **worse}.items():
        before = last(unsigned(), key)
        events = said(events, key, **{**(before.data if before else {}), "measured": NOW, **change})
    return [say for say in unmet(events, "energise") if "in every zone" in say]


@pytest.mark.parametrize(
    ("key", "change"),
    [
        (f"energise.own_entry{K}", NO), (f"energise.leakage{K}", {"value": 6}), (f"energise.leakage{K}", UNKNOWN),
        (f"energise.own_entry{K}", {"value": "yes", "document": "", **SAID}), (f"identity.kw{K}", {"value": 2.9}),
        (f"zone.insulation{K}/zone/1", {"value": 0.29}), (f"zone.joined{K}/zone/1", {"value": "reduced"}),
        (f"energise.elements{K}", NO | SAID),
    ],
)  # fmt: skip
def test_an_entry_of_the_electricians_own_needs_all_that_goes_with_it(key, change):
    """Where the country has an allowance (above 3 kW, IET Code of Practice, from memory) and leakage is measured."""
    assert entered() == []
    assert entered(**{key: {**ENTRY.get(key, {}), **change}}) != []
