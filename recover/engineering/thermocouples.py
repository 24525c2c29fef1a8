"""What a thermocouple gives, and what a controller makes of it when probe, setting or cable do not belong together.

The reference functions are those of ITS-90 (IEC 60584-1, NIST SRD 60), from the package thermocouple-its90, whose only
door this is. Millivolts are those at the controller's terminals. A controller shows the temperature at which the type
it is set to would give the measured millivolts and those of the cold junction: E(shown) = mV + E(cold junction).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import pi, sqrt
from typing import TYPE_CHECKING, Literal, get_args

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority, Figure

if TYPE_CHECKING:
    from thermocouple_its90 import Thermocouple

Letter = Literal["B", "E", "J", "K", "N", "R", "S", "T"]
"""The types by their letters."""

Wire = Literal["R", "S", "K", "N", "KX", "KCA", "KCB", "NX", "RCA", "RCB", "SCA", "SCB", "RX", "SX"]
"""Of a probe by its letter; of extension and compensating cable by the code of IEC 60584-3, RX and SX by ASTM E230."""

Fault = Literal["copper", "reversed", "double_reversed", "wrong_cable", "short"]
"""Of the cable between head and controller: copper in place of it; probe reversed at the head; cable reversed at both
ends; cable of another type; head bridged."""

Out = Literal["", "above", "below"]
"""Where a temperature lies that a type cannot tell: above or below the range of its reference function."""

ASSUMED_TOP_DEGC = 1250.0
"""The hottest chamber where nobody says how hot it is fired: a stoneware firing."""

BENCH_DEGC = (100, 200, 600, 1000, 1250)
"""Temperatures at which a controller is proved on the bench."""

COLD_JUNCTION_DEGC = 25.0
"""Of a controller's terminals, where nobody measured it."""

_ROUNDING_MV = 0.0005
"""Half the last digit of the printed tables: so far beyond an end, the end is meant."""

_SAME_CABLE = {"R": "R", "S": "R"}
"""R and S are connected with the same cable, copper and a copper-nickel alloy."""


@dataclass(frozen=True, kw_only=True)
class Mismatch:
    """What the controller shows against what the kiln is.

    `error_k` is shown less true. One of the temperatures and the error are None where no temperature is to be had;
    `out_of_range` then says on which side of its range it lies. `overfires`: the kiln is hotter than is shown.
    """

    true_degc: float | None
    shown_degc: float | None
    error_k: float | None
    overfires: bool
    out_of_range: Out = ""


@dataclass(frozen=True, kw_only=True)
class _Tolerance(Authority):
    """A tolerance class of new wire: the larger of `least_k` and `plus_k + share (t - share_from_degc)`.

    Below 0 °C the share is of |t|.
    """

    letters: tuple[Letter, ...]
    tolerance_class: str
    from_degc: float
    to_degc: float
    least_k: float
    share: float
    plus_k: float = 0.0
    share_from_degc: float = 0.0

    def at(self, degc: float) -> float | None:
        """Return the tolerance [±K] at `degc`; None where the class says nothing."""
        if not self.from_degc <= degc <= self.to_degc:
            return None
        from_k = abs(degc) if degc < 0 else degc - self.share_from_degc
        return max(self.least_k, self.plus_k + self.share * from_k)


@dataclass(frozen=True, kw_only=True)
class _Loop(Authority):
    wires: tuple[Wire, ...]
    ohm_mm2_m: float


@dataclass(frozen=True)
class _File:
    least_error_k: Figure
    tolerance: tuple[_Tolerance, ...]
    loop: tuple[_Loop, ...]


@cache
def _file() -> _File:
    return load("engineering/thermocouples.toml", "recover-thermocouples", _File)


def range_degc(letter: Letter) -> tuple[float, float]:
    """Return the lowest and highest temperature [°C] of a type's reference function. Raises QuantityError."""
    return _reference(letter).range


def emf_mv(letter: Letter, degc: float, cold_junction_degc: float = 0.0) -> float:
    """Return the emf [mV] at the terminals: E(t) - E(cold junction), by ITS-90. Raises QuantityError out of range."""
    return _table_mv(letter, degc) - _table_mv(letter, cold_junction_degc)


def temperature_degc(letter: Letter, mv: float, cold_junction_degc: float = 0.0) -> float:
    """Return the temperature [°C] for an emf [mV] at the terminals: the inverse of `emf_mv`.

    Type B is read from 0.291 mV only (about 250 °C): below, one emf may stand for two temperatures. Raises
    QuantityError.
    """
    table_mv = mv + _table_mv(letter, cold_junction_degc)
    degc, _ = _read(letter, table_mv)
    if degc is None:
        low, high = _reference(letter).invertible_emf_range
        given = f"{table_mv:.3f} mV against 0 °C"
        raise QuantityError(f"type {letter} thermocouple", given, f"{low:.3f} to {high:.3f} mV")
    return degc


def tells(letter: Letter, degc: float) -> bool:
    """Return whether a type can tell a temperature [°C] from its millivolts: type B tells none near boiling water."""
    try:
        return abs(temperature_degc(letter, emf_mv(letter, degc)) - degc) < 1
    except QuantityError:
        return False


def mismatch(
    probe: Letter,
    setting: Letter,
    *,
    true_degc: float | None = None,
    shown_degc: float | None = None,
    cold_junction_degc: float = COLD_JUNCTION_DEGC,
) -> Mismatch:
    """Return what a controller set to one type makes of a probe of another, from the true or the shown temperature.

    E_setting(shown) - E_setting(cold junction) = E_probe(true) - E_probe(cold junction). Raises QuantityError unless
    exactly one of the two is given, and where that one is out of its type's range.
    """
    if true_degc is not None and shown_degc is None:
        return _shown(setting, true_degc, emf_mv(probe, true_degc, cold_junction_degc), cold_junction_degc)
    if shown_degc is not None and true_degc is None:
        mv = emf_mv(setting, shown_degc, cold_junction_degc)
        true, out = _read(probe, mv + _table_mv(probe, cold_junction_degc))
        return _compare(true, shown_degc, probe, out)
    raise QuantityError("mismatch", "both temperatures, or none", "either the true or the shown temperature")


def cable_fault(
    probe: Letter,
    fault: Fault,
    head_degc: float,
    true_degc: float,
    cold_junction_degc: float = COLD_JUNCTION_DEGC,
    *,
    cable: Letter | None = None,
) -> Mismatch:
    """Return what is shown when the cable from head to controller is at fault and the controller is set to the probe.

    mV = ±(E(true) - E(head)) + cable, minus for a probe `reversed` at the head (the same as reversed at the controller
    where head and cold junction are equally warm). A right cable gives E(head) - E(cold junction), copper nothing, one
    reversed at both ends the negative of it, a `wrong_cable` its own. A `short` at the head leaves the cable alone, and
    the head is shown.
    Compensating cable is counted as its type, which holds up to about 100 °C at the head. Raises QuantityError.
    """
    if (cable is not None) != (fault == "wrong_cable"):
        raise QuantityError("cable", f"{fault} with cable {cable}", "a type of cable for wrong_cable, and only for it")
    right_mv = emf_mv(probe, head_degc, cold_junction_degc)
    probe_mv = emf_mv(probe, true_degc, head_degc)
    mv = {
        "copper": probe_mv,
        "reversed": right_mv - probe_mv,
        "double_reversed": probe_mv - right_mv,
        "wrong_cable": probe_mv + _cable_mv(probe, cable or probe, head_degc, cold_junction_degc),
        "short": right_mv,
    }
    if fault not in mv:
        raise QuantityError("cable", repr(fault), f"one of {', '.join(mv)}")
    return _shown(probe, true_degc, mv[fault], cold_junction_degc)


def tolerance_class(letter: Letter, name: str) -> _Tolerance:
    """Return a class of IEC 60584-1 (`1`, `2`, `3`) or ASTM E230 (`standard`, `special`), with its ends.

    Raises QuantityError where there is no such class of that type.
    """
    classes = {row.tolerance_class: row for row in _file().tolerance if letter in row.letters}
    if name not in classes:
        raise QuantityError(f"tolerance of type {letter}", repr(name), f"one of {', '.join(classes) or 'none'}")
    return classes[name]


def loop_wires() -> tuple[Wire, ...]:
    """Return the wires of probes and cables whose resistivity is known."""
    return tuple(wire for row in _file().loop for wire in row.wires)


def loop_ohm(wire: Letter | Wire, length_m: float, diameter_mm: float) -> float:
    """Return the resistance [Ω] at 20 °C of both conductors: (ρ+ + ρ-) L / (π d² / 4). Raises QuantityError.

    It shows an open or corroded probe, and what a run of cable adds. It does not tell the type.

    >>> round(loop_ohm("K", 1, 1.0), 2), round(loop_ohm("R", 1, 0.5), 2), round(loop_ohm("SCB", 20, 0.81), 2)
    (1.27, 1.53, 2.64)
    """
    sums: dict[str, float] = {one: row.ohm_mm2_m for row in _file().loop for one in row.wires}
    if wire not in sums:
        raise QuantityError("loop", f"type {wire}", f"one of {', '.join(sums)}")
    if not (0 < length_m < 1000 and 0 < diameter_mm < 20):
        raise QuantityError("loop", f"{length_m:g} m of {diameter_mm:g} mm", "below 1000 m and 20 mm, above 0")
    return sums[wire] * length_m / (pi * diameter_mm**2 / 4)


def diameter_of_area_mm(area_mm2: float) -> float:
    """Return the diameter [mm] of a solid wire of a cross-section [mm²], as of a strand of many. Raises QuantityError.

    >>> round(diameter_of_area_mm(1.5), 3)
    1.382
    """
    if not 0 < area_mm2 < 300:
        raise QuantityError("conductor", f"{area_mm2:g} mm²", "above 0 and below 300 mm²")
    return sqrt(4 * area_mm2 / pi)


def diameter_of_awg_mm(gauge: float) -> float:
    """Return the diameter [mm] of a wire of an American gauge from 0 to 40 (ASTM B258). Raises QuantityError.

    >>> round(diameter_of_awg_mm(20), 3)
    0.812
    """
    if not 0 <= gauge <= 40:
        raise QuantityError("conductor", f"{gauge:g} AWG", "0 to 40 AWG")
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def _reference(letter: Letter) -> Thermocouple:
    from thermocouple_its90 import get

    if letter not in get_args(Letter):
        raise QuantityError("thermocouple", repr(letter), f"one of {', '.join(get_args(Letter))}")
    return get(letter)


def _table_mv(letter: Letter, degc: float) -> float:
    """Return E(t) against 0 °C."""
    low, high = range_degc(letter)
    if not low <= degc <= high:
        raise QuantityError(f"type {letter} thermocouple", f"{degc:g} °C", f"{low:g} to {high:g} °C")
    return _reference(letter).emf(degc)


def _read(letter: Letter, table_mv: float) -> tuple[float | None, Out]:
    """Return the temperature for an emf against 0 °C, or the side on which it leaves the range."""
    low, high = _reference(letter).invertible_emf_range
    if not table_mv >= low - _ROUNDING_MV:
        return None, "below"
    if table_mv > high + _ROUNDING_MV:
        return None, "above"
    return _reference(letter).temperature(min(max(table_mv, low), high)), ""


def _shown(setting: Letter, true_degc: float, mv: float, cold_junction_degc: float) -> Mismatch:
    shown, out = _read(setting, mv + _table_mv(setting, cold_junction_degc))
    return _compare(true_degc, shown, setting, out)


def _compare(true_degc: float | None, shown_degc: float | None, letter: Letter, out: Out) -> Mismatch:
    if true_degc is None or shown_degc is None:
        error_k, overfires = None, _hotter_beyond(true_degc, shown_degc, letter, out)
    else:
        error_k = shown_degc - true_degc
        overfires = error_k < -_file().least_error_k.value
    return Mismatch(true_degc=true_degc, shown_degc=shown_degc, error_k=error_k, overfires=overfires, out_of_range=out)


def _hotter_beyond(true_degc: float | None, shown_degc: float | None, letter: Letter, out: Out) -> bool:
    """Say whether the kiln is hotter than is shown, where one of the two lies beyond the end of its type.

    The end itself stands for it. A display above its range asks for no heat, so that one does not count.
    """
    if shown_degc is None and out == "above":
        return False
    reference = _reference(letter)
    end_degc = reference.temperature(reference.invertible_emf_range[out == "above"])
    return (end_degc if true_degc is None else true_degc) > (end_degc if shown_degc is None else shown_degc)


def _cable_mv(probe: Letter, cable: Letter, head_degc: float, cold_junction_degc: float) -> float:
    same = _SAME_CABLE.get(probe, probe) == _SAME_CABLE.get(cable, cable)
    return emf_mv(probe if same else cable, head_degc, cold_junction_degc)
