"""What the facts make of answers: of each, every value that it can have, with answers that settle it.

The limits are those of the United Kingdom; what each fact is for stands beside it in the program's data.
"""

import pytest

from recover.asked.compiled import questionnaire
from recover.base.addresses import JOB, within
from tests.conftest import answers_from

PLACES = {
    "kiln": "kiln/1", "zone": "kiln/1/zone/1", "element": "kiln/1/element/1", "probe": "kiln/1/probe/1",
    "layer": "kiln/1/part/wall/layer/1", "bond": "kiln/1/bond/shell",
}  # fmt: skip
LONG = {"event.water_in": "2026-03-07T08:00:00+00:00", "event.water_out": "2026-03-09T08:00:00+00:00"}
SHORT = {**LONG, "event.water_out": "2026-03-09T07:59:00+00:00"}
MAINS = {"event.source": "mains", "safe.hazards": ["none"], **SHORT}
RIVER, DRAIN = {**MAINS, "event.source": "river"}, {**MAINS, "event.source": "appliance"}
FRESH = {"event.source": "mains", "event.salt": "fresh"}
BRACKISH, SEA = {**FRESH, "event.salt": "brackish"}, {**FRESH, "event.source": "sea"}
SHELF = {"contents.kinds": ["fluxes", "toxic"], "contents.reached": "splashed"}
DRY_SHELF = {**SHELF, "contents.reached": "damp", "contents.on_lining": "no"}
WASHED = {**DRY_SHELF, "contents.on_lining": "yes"}
TORN = {"safe.fibre": ["refractory"], "layer.material": "blanket", "layer.look": "soft"}
SUITS = {"scope.control": ["electronic"], "control.probe_type": "K", "control.set_type": "K", "control.cable": "match",
         "control.polarity": "proved", "control.cutout_probe": "match"}  # fmt: skip
EARLY = {"identity.country": "early", "safe.hazards": ["none"]}
WIRE, ROD = {"element.alloy": "fecral", "element.expected_ohm": 10}, {"element.expected_ohm": 10}
SINGLE = {"scope.zones": 1, "identity.volts": 230, "identity.kw": 5.29, "identity.phases": "single",
          "element.connection": "single", "element.alloy": "fecral"}  # fmt: skip
LOW_VOLTS = {"wire.circuit": "extra_low", "gear.devices": ["transformer"], "wire.insulation": 0.6,
             "wire.joined": "wiring_alone"}  # fmt: skip
METAL = {"probe.build": "mineral", "probe.junction": "insulated", "probe.off_ice": 1, "probe.off_boiling": 1,
         "probe.loop": 2, "probe.insulation": 100}  # fmt: skip
HELD = {"probe.build": "ceramic", "probe.off_ice": 1, "probe.off_boiling": 1, "probe.loop": 2, "probe.insulation": 1}
KW_3 = {"identity.kw": 3.1}

# fact, its value, what is said; where it is no member of the kiln named above, `at` says which
SETTLED = [
    ("salinity", "sea", SEA), ("salinity", "sea", {**FRESH, "event.conductivity": 15000}),
    ("salinity", "brackish", {**FRESH, "event.conductivity": 1500}), ("salinity", "brackish", BRACKISH),
    ("salinity", "sea", {**FRESH, "event.salt": "sea"}), ("salinity", "fresh", FRESH),
    ("salinity", "fresh", {**BRACKISH, "event.conductivity": 1400}),
    ("source_category", "three", RIVER), ("source_category", "three", {**MAINS, "safe.hazards": ["sewage"]}),
    ("source_category", "two", DRAIN), ("source_category", "one", MAINS),
    ("drifted", "yes", LONG), ("drifted", "no", SHORT),
    ("category", "three", RIVER), ("category", "three", {**DRAIN, **LONG}), ("category", "two", DRAIN),
    ("category", "two", {**MAINS, **LONG}), ("category", "one", MAINS),
    ("water", "saline", {**MAINS, **BRACKISH}), ("water", "contaminated", {**RIVER, "event.salt": "fresh"}),
    ("water", "clean", {**MAINS, **FRESH}),
    ("silted", "yes", {"event.silt": "silt"}),
    ("silted", "yes", {**RIVER, "event.salt": "fresh", "event.silt": "film"}),
    ("silted", "no", {**MAINS, **FRESH, "event.silt": "film"}),
    ("socket_places", "every", {"identity.amps": 13}), ("socket_places", "named", {}),
    ("socket_rcd", "not_called_for", {"scope.connection": "fixed", "identity.amps": 10}),
    ("socket_rcd", "not_called_for", {"scope.connection": "plug", "identity.amps": 33}),
    ("socket_rcd", "called_for", {"scope.connection": "plug", "identity.amps": 32}),
    ("energised_wet", "yes", {"safe.energised": "on", "event.moved": ["nothing"]}),
    ("energised_wet", "yes", {"safe.energised": "no", "event.moved": ["powered"]}),
    ("energised_wet", "connected", {"safe.energised": "connected", "event.moved": ["moved"]}),
    ("energised_wet", "no", {"safe.energised": "no", "event.moved": ["nothing"]}),
    ("energised_cause", "handling", {"event.moved": ["powered", "hosed"]}),
    ("energised_cause", "water", {"event.moved": ["hosed"]}),
    ("floor_and_line", "yes", {"event.reach": "floor", "event.water_line": 90}),
    ("floor_and_line", "no", {"event.reach": "base", "event.water_line": 90}),
    ("hot_and_off", "yes", {"safe.energised": "connected", "event.hot": "red"}),
    ("hot_and_off", "no", {"safe.energised": "on", "event.hot": "red"}),
    ("quenched", "yes", {"safe.energised": "on", "event.hot": "hot"}),
    ("quenched", "no", {"safe.energised": "on", "event.hot": "warm"}),
    ("bands", "loose", {"casing.build": "jacket", "casing.bands": "loose"}),
    ("bands", "tight", {"casing.build": "framed", "casing.bands": "loose"}),
    ("lining_class", "insulating_brick", {"layer.material": "ifb_26"}),
    ("lining_class", "dense", {"layer.material": "dense_brick"}),
    ("lining_class", "castable", {"layer.material": "castable_dense"}),
    ("lining_class", "blanket", {"layer.material": "blanket"}),
    ("lining_class", "fibre_board", {"layer.material": "fibre_board"}),
    ("lining_class", "board", {"layer.material": "vermiculite"}),
    ("lining_class", "microporous", {"layer.material": "microporous"}),
    ("asbestos", "found", {**EARLY, "safe.asbestos": "tested_positive"}),
    ("asbestos", "possible", {**EARLY, "safe.asbestos": "papers", "safe.hazards": ["asbestos"]}),
    ("asbestos", "not_indicated", {**EARLY, "safe.asbestos": "papers", "identity.year": 1980}),
    ("asbestos", "possible", {**EARLY, "safe.asbestos": "not_sampled", "identity.year": 1995}),
    ("asbestos", "not_indicated", {**EARLY, "safe.asbestos": "not_sampled", "identity.year": 1996}),
    ("fibre_torn", "yes", TORN), ("fibre_torn", "no", {**TORN, "layer.look": "many"}),
    ("hazards_looked_for", "yes", {"safe.hazards": ["none"]}), ("hazards_looked_for", "no", {}),
    ("supplies_named", "yes", {"scope.supplies": ["one_known"]}), ("supplies_named", "no", {}),
    ("fibre", "refractory", {"safe.fibre": ["unknown_kind"]}), ("fibre", "low_hazard", {"safe.fibre": ["soluble"]}),
    ("fibre", "none", {"safe.fibre": ["none"]}),
    ("element_ohms", "reject", {**WIRE, "element.ohm": 11.6}), ("element_ohms", "worn", {**WIRE, "element.ohm": 11.2}),
    ("element_ohms", "look_closer", {**WIRE, "element.ohm": 9.4}),
    ("element_ohms", "within", {**WIRE, "element.ohm": 10}),
    ("rod_ohms", "reject", {**ROD, "element.alloy": "carbide", "element.ohm": 41}),
    ("rod_ohms", "within", {**ROD, "element.alloy": "carbide", "element.ohm": 30}),
    ("zone_ohms", "reject", {**SINGLE, "zone.ohm": 11.6}), ("zone_ohms", "worn", {**SINGLE, "zone.ohm": 11.2}),
    ("zone_ohms", "look_closer", {**SINGLE, "zone.ohm": 10.9}), ("zone_ohms", "within", {**SINGLE, "zone.ohm": 10.5}),
    ("salt_met", "sea", SEA), ("salt_met", "brackish", {**BRACKISH, **DRY_SHELF}),
    ("salt_met", "brackish", {**FRESH, **SHELF}), ("salt_met", "fresh", {**FRESH, **DRY_SHELF}),
    ("chloride", "yes", {**BRACKISH, **DRY_SHELF, "element.bleach": "no"}),
    ("chloride", "yes", {**FRESH, **DRY_SHELF, "element.bleach": "yes"}),
    ("chloride", "yes", {**FRESH, **SHELF, "element.bleach": "no"}),
    ("chloride", "no", {**FRESH, **DRY_SHELF, "element.bleach": "no"}),
    ("probe_class", "noble", {"control.probe_type": "R"}), ("probe_class", "base", {"control.probe_type": "K"}),
    ("probe_match", "not_needed", {"scope.control": ["rotary"]}), ("probe_match", "match", SUITS),
    ("probe_match", "mismatch", {**SUITS, "control.set_type": "N"}),
    *(("probe_match", "mismatch", {**SUITS, f"control.{what}": bad})
      for what, bad in (("cable", "mismatch"), ("polarity", "reversed"), ("cutout_probe", "mismatch"))),
    ("probe_check", "passes", METAL), ("probe_check", "bake", {**METAL, "probe.insulation": 99}),
    ("probe_check", "off", {**METAL, "probe.loop": 101}), ("probe_check", "passes", HELD),
    ("probe_check", "off", {**HELD, "probe.insulation": 0.9}),
    ("supply_fit", "over", {"identity.volts": 230, "supply.volts": 247}),
    ("supply_fit", "low", {"identity.volts": 230, "supply.volts": 206}),
    ("supply_fit", "within", {"identity.volts": 230, "supply.volts": 240}),
    ("earth", "over", {"earth.ohm": 0.11}), ("earth", "within", {"earth.ohm": 0.09}),
    *((f"said_{what}", value, {f"energise.{what}": word})
      for what in ("earth", "elements", "ohms") for word, value in (("no", "refused"), ("yes", "passed"))),
    ("said_not_replaced", "yes", {"energise.replaced": "no"}),
    ("said_not_replaced", "no", {"energise.replaced": "yes"}),
    ("element_insulation", "below_abort", {"zone.insulation": 0.09}),
    ("element_insulation", "below_low", {"zone.insulation": 0.29}),
    ("element_insulation", "below_entry", {"zone.insulation": 0.99}),
    ("element_insulation", "at_entry", {"zone.insulation": 1}),
    ("insulation_after", "below_entry", {"dried.insulation": 0.99}),
    ("insulation_after", "at_entry", {"dried.insulation": 1}),
    ("amps_after", "over", {"dried.amps": 11.6, "identity.amps": 10}),
    ("amps_after", "within", {"dried.amps": 11.4, "identity.amps": 10}),
    ("hottest_after", "over", {"dried.hottest": 121}), ("hottest_after", "within", {"dried.hottest": 120}),
    ("measured_singly", "no", {"element.singly": "no"}), ("measured_singly", "yes", {"element.singly": "yes"}),
    ("heating_allowance", "yes", KW_3), ("heating_allowance", "no", {"identity.kw": 3}),
    ("leakage", "over", {**KW_3, "energise.leakage": 5.1}), ("leakage", "within", {**KW_3, "energise.leakage": 0.7}),
    ("leakage_measured", "over", {**KW_3, "energise.leakage": 5.1}),
    ("leakage_measured", "within", {**KW_3, "energise.leakage": 0.7}), ("leakage_measured", "not_measured", KW_3),
    ("rcd_rating", "over", {"energise.rcd_ma": 31}), ("rcd_rating", "within", {"energise.rcd_ma": 30}),
    ("amps_after", "within", {"identity.amps": None}), ("amps_after", "within", {"identity.amps": 15}),
    ("rcd_time", "over", {"energise.rcd_ms": 301, "energise.rcd_ma": 30}),
    ("rcd_time", "within", {"energise.rcd_ms": 300}), ("rcd_time", "over", {"energise.rcd_ms": 5601}),
    ("rcd_time", "within", {"energise.rcd_ms": 5600, "energise.rcd_ma": 6}),
    ("cutout_opens", "within", {"energise.cutout_off": 10}), ("cutout_opens", "off", {"energise.cutout_off": 10.1}),
    ("cutout_setting", "within", {"energise.cutout_set": 150, "energise.day_top": 100}),
    ("cutout_setting", "off", {"energise.cutout_set": 151, "energise.day_top": 100}),
    ("cutout_setting", "off", {"energise.cutout_set": 99, "energise.day_top": 100}),
    ("cutout_setting", "off", {"energise.cutout_set": 630, "energise.day_top": 601}),
    ("cutout_setting", "within", {"energise.cutout_set": 630, "energise.day_top": 600, "identity.max_c": 500}),
    ("cutout_setting", "within", {"energise.cutout_set": 1090, "energise.day_top": 1060, "identity.max_c": 1200}),
    ("cutout_setting", "off", {"energise.cutout_set": 1230, "energise.day_top": 1201, "identity.max_c": 1200}),
    ("cutout_covers", "no", {"energise.cutout_set": 1090, "plan.top_degc": 1090}),
    ("cutout_covers", "yes", {"energise.cutout_set": 1090, "plan.top_degc": 1089}),
    ("probe_beside", "within", {"energise.probe_apart": 5}), ("probe_beside", "apart", {"energise.probe_apart": 5.1}),
    ("fit_height", "under_line", {"event.water_line": 1000, "fitting.height": 1000}),
    ("fit_height", "awkward", {"event.water_line": 90, "fitting.height": 899}),
    ("fit_height", "awkward", {"event.water_line": 90, "fitting.height": 1601}),
    ("fit_height", "in_reach", {"event.water_line": 90, "fitting.height": 900}),
    ("sea", "yes", {"event.source": "sea"}), ("sea", "no", {"event.source": "river"}),
    ("back_feed", "no", {"scope.supplies": ["one_known"]}), ("back_feed", "yes", {"scope.supplies": ["solar"]}),
]  # fmt: skip

# fact, the component, its value, what is said
OF_A_KIND = [
    ("device_build", "device/rcd", "sealed", {"gear.build": "open"}),
    ("device_build", "device/isolator", "sealed", {"gear.build": "sealed"}),
    ("device_build", "device/isolator", "open", {"gear.build": "open"}),
    ("wiring_insulation", "wiring/control", "at_limit_or_above", LOW_VOLTS),
    ("wiring_insulation", "wiring/control", "below_limit", {**LOW_VOLTS, "gear.devices": ["breaker"]}),
    ("wiring_insulation", "wiring/power", "below_limit", {"wire.insulation": 0.99}),
    ("wiring_insulation", "wiring/power", "at_limit_or_above", {"wire.insulation": 1, "wire.joined": "wiring_alone"}),
    ("seat", "part/lid", "seats", {"identity.opening": "front", "lining.gap": 9}),
    ("seat", "part/lid", "gap", {"identity.opening": "top", "lining.gap": 3.1}),
    ("seat", "part/lid", "seats", {"identity.opening": "top", "lining.gap": 3}),
    ("seat", "part/door", "gap", {"identity.opening": "front", "lining.gap": 9}),
    ("stand_rusted", "casing/stand", "yes", {"casing.rust": "through"}),
    ("stand_rusted", "casing/stand", "no", {"casing.rust": "deep"}),
    ("stand_rusted", "casing/shell", "no", {"casing.rust": "through"}),
    ("poison_wet", "contents/toxic", "yes", SHELF), ("poison_wet", "contents/toxic", "no", DRY_SHELF),
    ("poison_wet", "contents/toxic", "yes", WASHED), ("dissolved", "contents/fluxes", "yes", WASHED),
    ("poison_wet", "contents/fluxes", "no", SHELF), ("dissolved", "contents/fluxes", "yes", SHELF),
    ("dissolved", "contents/fluxes", "no", DRY_SHELF), ("dissolved", "contents/toxic", "no", SHELF),
    ("controller_fitted", "controller/electronic", "yes", {"control.replacement": "fitted"}),
    ("controller_fitted", "controller/electronic", "no", {"control.replacement": "proposed"}),
    ("controller_fitted", "controller/rotary", "no", {"control.replacement": "fitted"}),
]  # fmt: skip

EVERY = [
    *((fact, PLACES.get(questionnaire().facts[fact].per, JOB), value, said) for fact, value, said in SETTLED),
    *((fact, f"kiln/1/{at}", value, said) for fact, at, value, said in OF_A_KIND),
]


def keys_of(name, at):
    """Return where a question is answered, seen from a component: there, of what holds it, or of the whole loss."""
    per = questionnaire().questions[name].per
    if per == "job":
        return [name]
    if per == "contents" and not within(at, per):
        return [f"{name}@kiln/1/contents/{kind}" for kind in ("fluxes", "toxic")]
    return [f"{name}@{within(at, per) or PLACES[per]}"]


@pytest.mark.parametrize(("fact", "at", "value", "said"), EVERY, ids=[f"{row[0]}-{row[2]}" for row in EVERY])
def test_what_is_said_settles_the_fact(fact, at, value, said):
    known = {key: what for name, what in said.items() for key in keys_of(name, at)}
    may_be = answers_from({"scope.kilns": 1, **known}).fact(fact, at)

    assert value in may_be if not said else may_be == {value}


def test_every_value_of_every_fact_that_is_judged_by_cases_is_stated():
    every = {(fact.id, value) for fact in questionnaire().fact if fact.cases for value in fact.values}

    assert {(fact, value) for fact, _, value, _ in EVERY} >= every
