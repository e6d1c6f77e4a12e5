"""Conditions on a whole series and on the stand: drift, throat, gauge, flame against cold flow, false forces."""

from __future__ import annotations

import numpy as np

from tradespace.bench.filled import VALUES, BoolArray
from tradespace.bench.records import PASSES, SUSPECT, UNKNOWN, Check, Reconciled
from tradespace.constants import value
from tradespace.physics.bench.artefacts import hose_force, lead_force
from tradespace.physics.compiled import FloatArray
from tradespace.units import convert

_TREND = value("trend_allowed", VALUES)
_DRIFT = value("drift_share", VALUES)
_THROAT = value("throat_share", VALUES)
_LOW_RATIO, _HIGH_RATIO = value("lit_over_unlit_low", VALUES), value("lit_over_unlit_high", VALUES)
_LENGTH, _SPACING, _BORE = (value(name, VALUES) for name in ("lead_length", "lead_spacing", "hose_bore"))
_GAUGE_LOW = value("gauge_low", VALUES)
_LEAST_EFFICIENCY = value("least_velocity_efficiency", VALUES)
_SAME = 0.03  # settings this close count as the same
_DRIFTING = ("thrust", "chamber_pressure", "mass_flow", "hydrogen_rate_flow", "cell_voltage")


def trend_checks(facts: Reconciled) -> list[Check]:
    """Checks that need more than one point, or the uncertainties."""
    return [_drift(facts), _flame(facts), _throat(facts), _gauge(facts)]


def _lit(facts: Reconciled) -> BoolArray:
    lit = facts.readings.column("lit")
    return np.where(np.isfinite(lit), lit, 1.0) > 0.5


def _unknown(name: str, needs: str, unit: str = "1") -> Check:
    return Check(
        name, UNKNOWN, f"The readings do not say; it needs {needs}", float("nan"), float("nan"), unit
    )


def _settings(facts: Reconciled) -> list[BoolArray]:
    """Points at the same settings: current (or flow where there is none) and flame."""
    drive = facts.readings.column("current")
    if not np.isfinite(drive).any():
        drive = facts.readings.column("mass_flow")
    lit, left = _lit(facts), np.isfinite(facts.readings.column("time"))
    groups: list[BoolArray] = []
    drive = np.nan_to_num(drive)
    while left.any() and len(groups) < 50:
        first = int(np.argmax(left))
        same = (
            left
            & (lit == lit[first])
            & (np.abs(drive - drive[first]) <= _SAME * max(abs(drive[first]), 1e-300))
        )
        groups.append(same)
        left &= ~same
    return groups


def _drift(facts: Reconciled) -> Check:
    """Change of thrust, pressure, flow or voltage over the stretch of points with the same settings."""
    time = facts.readings.column("time")
    worst: tuple[float, float, str] | None = None
    needs = "thrust, pressure, flow or voltage against time at the same settings, six points or more"
    for rows in _settings(facts):
        for name in _DRIFTING:
            column = facts.column(name)
            good = rows & np.isfinite(column)
            if good.sum() < 6 or np.ptp(time[good]) <= 0.0:
                continue
            change, doubt = _change(time[good], column[good])
            mean = abs(float(column[good].mean()))
            share = abs(change) / max(mean, 1e-300)
            grade = share / _DRIFT if abs(change) > _TREND * doubt else min(share / _DRIFT, 1.0)
            if worst is None or grade > worst[0]:
                worst = (grade, share, name)
    if worst is None:
        return _unknown("thermal drift", needs)
    grade, share, name = worst
    said = f"{name.replace('_', ' ')} changes by {share:.2%} at the same settings"
    if grade <= 1.0:
        return Check("thermal drift", PASSES, f"At most {said}", share, _DRIFT, "1")
    words = (
        f"{said[:1].upper()}{said[1:]}, more than {_DRIFT:.0%}; wait until the stand is warm, and read "
        f"zero and tare again after the run"
    )
    return Check(
        "thermal drift",
        SUSPECT,
        words,
        share,
        _DRIFT,
        "1",
        1,
        ("warming of the stand", "zero drift", "wall warming up"),
    )


def _change(time: FloatArray, column: FloatArray) -> tuple[float, float]:
    """Change over the stretch by a line, and its standard uncertainty with noise that remembers itself."""
    t = (time - time.mean()) / np.ptp(time)
    slope = float((t * column).sum() / (t * t).sum())
    left = column - column.mean() - slope * t
    size = column.size
    again = float((left[1:] * left[:-1]).sum() / max((left * left).sum(), 1e-300))
    longer = np.sqrt((1.0 + max(again, 0.0)) / max(1.0 - max(again, 0.0), 0.05))
    return slope, float(np.sqrt((left * left).sum() / (size - 2) / (t * t).sum()) * longer)


def _flame(facts: Reconciled) -> Check:
    """Chamber pressure over flow, lit against cold."""
    name, needs = "lit against cold", "chamber pressure and flow, both burning and cold"
    lit, per_flow = _lit(facts), facts.column("chamber_pressure") / facts.column("mass_flow")
    known = np.isfinite(per_flow)
    if not (known & lit).any() or not (known & ~lit).any():
        return _unknown(name, needs)
    ratio = float(np.median(per_flow[known & lit]) / np.median(per_flow[known & ~lit]))
    if ratio < _LOW_RATIO:
        words = (
            f"Chamber pressure per flow rises {ratio:.2f}-fold on ignition, less than "
            f"{_LOW_RATIO:g}: it did not burn in the "
            "chamber, or burned outside"
        )
        return Check(
            name,
            SUSPECT,
            words,
            ratio,
            _LOW_RATIO,
            "1",
            int((known & lit).sum()),
            ("burning outside the chamber", "gauge pressure given as absolute", "large heat loss"),
        )
    if ratio > _HIGH_RATIO:
        words = (
            f"Chamber pressure per flow rises {ratio:.2f}-fold on ignition, more than {_HIGH_RATIO:g}, which "
            f"no flame gives; read the cold run again"
        )
        return Check(
            name,
            SUSPECT,
            words,
            ratio,
            _HIGH_RATIO,
            "1",
            int((known & lit).sum()),
            ("flow under-read when lit", "cold throat not choked"),
        )
    return Check(
        name,
        PASSES,
        f"Chamber pressure per flow rises {ratio:.2f}-fold on ignition, as a flame in the chamber makes it",
        ratio,
        _LOW_RATIO,
        "1",
    )


def _throat(facts: Reconciled) -> Check:
    """Share of the doubt of the characteristic velocity that the throat diameter brings."""
    velocity, doubt = facts.column("characteristic_velocity"), facts.deviation("characteristic_velocity")
    diameter = facts.readings.column("throat_diameter")
    own = [
        np.nan_to_num(part.get("throat_diameter", np.zeros(diameter.size)))
        for part in (facts.readings.random, facts.readings.systematic)
    ]
    share = (2.0 * np.hypot(*own) / diameter * velocity / doubt) ** 2
    known = np.isfinite(share)
    if not known.any():
        return _unknown("throat uncertainty", "a choked throat with pressure and flow")
    largest = float(np.median(share[known]))
    millimetres = float(convert(float(np.nanmedian(np.hypot(*own))), "m", "mm"))
    if largest > _THROAT:
        words = (
            f"The throat diameter (known to {millimetres:.2g} mm) makes {largest:.0%} of the "
            f"variance of the characteristic "
            "velocity; measure the throat better, also hot, before anything else"
        )
        return Check(
            "throat uncertainty",
            SUSPECT,
            words,
            largest,
            _THROAT,
            "1",
            int(known.sum()),
            ("throat diameter", "growth when hot", "deposits"),
        )
    return Check(
        "throat uncertainty",
        PASSES,
        f"The throat diameter makes {largest:.0%} of the variance of the characteristic velocity",
        largest,
        _THROAT,
        "1",
    )


def _gauge(facts: Reconciled) -> Check:
    """Whether a chamber pressure said to be absolute looks like a gauge's, or the other way round."""
    name, pressure, ambient = (
        "gauge or absolute",
        facts.column("chamber_pressure"),
        facts.readings.column("ambient_pressure"),
    )
    lit = _lit(facts)
    known = np.isfinite(pressure) & np.isfinite(ambient) & lit & (ambient > 0.0)
    if not known.any():
        return _unknown(name, "chamber pressure of a flame and ambient pressure", "Pa")
    absolute = facts.readings.words.get("chamber_pressure_is", "absolute") == "absolute"
    passed = facts.column("flow_over_throat_flow")
    efficiency = 1.0 / passed
    added = (pressure + ambient) / pressure * facts.column("characteristic_velocity_efficiency")
    low = known & (pressure < ambient) & (np.nan_to_num(facts.column("mass_flow")) > 0.0)
    low |= (
        known
        & (efficiency < _LEAST_EFFICIENCY)
        & (added > _GAUGE_LOW * _LEAST_EFFICIENCY)
        & (added < 1.0 / _GAUGE_LOW)
    )
    high = known & (efficiency > 1.0 / _GAUGE_LOW) & ((pressure - ambient) / pressure * efficiency < 1.0)
    middle = float(np.median(pressure[known])), float(np.median(ambient[known]))
    bar = [f"{float(convert(number, 'Pa', 'bar')):.3g} bar" for number in middle]
    if absolute and low.any():
        words = (
            f"Chamber pressure {bar[0]} with {bar[1]} around it and a flame inside looks like a gauge "
            f"reading given as absolute; say chamber_pressure_is = gauge, or read it again"
        )
        return Check(
            name,
            SUSPECT,
            words,
            middle[0],
            middle[1],
            "Pa",
            int(low.sum()),
            ("gauge pressure given as absolute",),
            ("chamber_pressure",),
        )
    if not absolute and high.any():
        words = f"Chamber pressure {bar[0]} is higher than the flow can make it; an absolute reading given as gauge?"
        return Check(
            name,
            SUSPECT,
            words,
            middle[0],
            middle[1],
            "Pa",
            int(high.sum()),
            ("absolute pressure given as gauge",),
            ("chamber_pressure",),
        )
    return Check(
        name,
        PASSES,
        f"Chamber pressure {bar[0]} absolute with {bar[1]} around it fits the flow",
        middle[0],
        middle[1],
        "Pa",
    )


def artefact_checks(facts: Reconciled, thrust_broken: bool) -> list[Check]:
    """Forces on the stand that are not thrust: as large as the doubt of the thrust, or named where nothing was read."""
    thrust = facts.column("thrust")
    known = np.isfinite(thrust)
    names = ("lead forces", "hose stiffness", "plume effects", "stored gas")
    if not known.any():
        return [_unknown(name, "thrust", "N") for name in names]
    doubt = 2.0 * float(np.median(facts.deviation("thrust")[known]))
    tared = facts.readings.has("tare_force")
    answers = []
    current = facts.readings.column("current")
    if np.isfinite(current).any():
        force = float(lead_force(float(np.nanmax(np.abs(current))), _LENGTH, _SPACING))
        words = f"leads {_LENGTH:g} m long and {_SPACING:g} m apart (assumed) push with {_force(force)}"
        answers.append(
            _false_force("lead forces", force, doubt, words, "a run with current and no gas", tared)
        )
    else:
        answers.append(_unknown("lead forces", "the current in leads that run to the stand", "N"))
    over = facts.column("chamber_pressure") - np.nan_to_num(facts.readings.column("ambient_pressure"))
    if np.isfinite(over).any() and float(np.nanmax(over)) > 0.0:
        force = float(hose_force(float(np.nanmax(over)), _BORE))
        bore = float(convert(_BORE, "m", "mm"))
        words = (
            f"the chamber pressure on the bore of a {bore:g} mm hose (assumed) pushes with {_force(force)}"
        )
        answers.append(
            _false_force(
                "hose stiffness",
                force,
                doubt,
                words,
                "a run with the nozzle blocked at the same pressure",
                tared,
            )
        )
    else:
        answers.append(_unknown("hose stiffness", "chamber and ambient pressure", "N"))
    verdict = SUSPECT if thrust_broken else UNKNOWN
    words = (
        "A hot plume lifts and pulls at what is near; run the engine cold at the same flow, and with "
        "the nozzle turned round"
    )
    answers.append(
        Check("plume effects", verdict, words, float("nan"), doubt, "N", suspects=("plume effects",))
    )
    answers.append(
        _unknown(
            "stored gas",
            "the volume and pressure drop of a store: a pulse may exceed the bound of the flow only "
            "if stored gas covers its mass, and the mean over a cycle may not",
            "kg/s",
        )
    )
    return answers


def _force(newtons: float) -> str:
    """A force in words."""
    return f"{newtons:.2g} N" if newtons >= 1.0 else f"{1e3 * newtons:.2g} mN"


def _false_force(name: str, force: float, doubt: float, words: str, null: str, tared: bool) -> Check:
    """A force on the stand against twice the uncertainty of the thrust."""
    said = words[:1].upper() + words[1:]
    if force <= doubt:
        return Check(
            name,
            PASSES,
            f"{said}, less than the {_force(doubt)} by which the thrust is doubtful",
            force,
            doubt,
            "N",
        )
    if tared:
        words = (
            f"{said}; the tare that was read has to hold it: was it read under the same pressure and current?"
        )
        return Check(name, PASSES, words, force, doubt, "N")
    return Check(
        name,
        SUSPECT,
        f"{said}, more than the {_force(doubt)} by which the thrust is doubtful; take a tare in {null}",
        force,
        doubt,
        "N",
        1,
        (name,),
    )
