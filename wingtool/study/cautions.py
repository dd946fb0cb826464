"""Cautions at the number they belong to. Each is common practice, no source, unless it says more."""

from dataclasses import dataclass

import numpy as np

from wingtool.car import MOUNTS_FAIL_FIRST
from wingtool.units import (
    M_S_PER_KM_H,
    M_S_PER_MPH,
    NEWTON_PER_KGF,
    NEWTON_PER_LBF,
    DisplayUnits,
    rounded_up,
)
from wingtool.wing import WingPolar

LOW_GROUND_CHORDS = 0.12  # measured wings peak near 0.1 chord above the ground and lose force below


@dataclass(frozen=True)
class Caution:
    """A sentence, and the number beside which it is shown: angle, force, drag or height."""

    beside: str
    text: str


STALL = Caution(
    "angle",
    "Stall is sudden, in the fastest corner, and most home-built wings are set too steep: go up one step at "
    "a time, on a closed course.",
)
ROOF_UNKNOWN = Caution(
    "angle",
    "Nobody measured the air behind the roof: 4° are kept for it. Put tufts on it (wingtool trace --sheet "
    "roof) before you trust the angle.",
)
MAY_LIFT = Caution(
    "force",
    "At the start angle the wing may lift the car: the low end of its downforce is below zero. More angle, "
    "or better data, before it goes on a track.",
)
BALANCE = Caution(
    "force",
    "A wing behind the rear axle lifts the front: expect fast understeer until the front end matches it. "
    "Never run a splitter or air dam without the wing, and know what is left if one part comes off.",
)
MOUNTS = Caution("force", MOUNTS_FAIL_FIRST)
ESTIMATE = Caution(
    "force",
    "These are estimates with bands; roof, tail and splitter change them. Measure on a closed course, by the "
    "event's rules, before you rely on them.",
)
ROAD = Caution(
    "force", "For the track only, unless you have checked your country's law and your class rules."
)
BESIDE_FORCES = (STALL, MOUNTS)  # wherever a wing's forces are printed without the advice
TILTED = Caution(
    "drag",
    "Air that comes down off the roof leans the wing's force forward. No drag is taken off for that, because "
    "the roof's drag rises by as much. Trust the difference between two angles more than the drag itself.",
)
LOW_WING = Caution(
    "height",
    "The wing is lower than about a tenth of its chord: measured wings lose force there, and the numbers "
    "are not to be trusted.",
)


def cautions_for(
    wing: WingPolar, high_deg: float, roof_band_deg: float | None, units: DisplayUnits
) -> tuple[Caution, ...]:
    """The cautions that this wing calls for, those of the angle first."""
    chosen = [STALL, ROOF_UNKNOWN if roof_band_deg is None else _roof(wing)]
    chosen += [_most(wing, units)] if np.isfinite(high_deg) else []
    chosen += [ESTIMATE, MOUNTS, BALANCE, ROAD]
    chosen += [TILTED] if _tilted(wing) else []
    chosen += [LOW_WING] if np.any(wing.height_over_chord < LOW_GROUND_CHORDS) else []
    return tuple(chosen)


def _tilted(wing: WingPolar) -> bool:
    return wing.inflow is not None and bool(np.any(wing.inflow.angle_deg))


def _roof(wing: WingPolar) -> Caution:
    added = wing.inflow.angle_deg if wing.inflow else np.zeros(1)
    most = float(added[np.argmax(np.abs(added))])
    if most == 0.0:
        return Caution(
            "angle",
            "The study says that the air comes level to the wing; behind a roof it does not.",
        )
    return Caution(
        "angle",
        f"The air behind the roof adds up to {most:.2g} degrees to the wing's angle; that and its "
        "uncertainty are already off the last angle.",
    )


def _most(wing: WingPolar, units: DisplayUnits) -> Caution:
    k, m = np.unravel_index(np.nanargmax(wing.downforce.high_n), wing.downforce.high_n.shape)
    force, speed = float(wing.downforce.high_n[k, m]), float(wing.speed_m_s[k])
    pounds, km_h = f"{rounded_up(force / NEWTON_PER_LBF)} lbf", f"{speed / M_S_PER_KM_H:.0f} km/h"
    size = f"{rounded_up(force)} N ({rounded_up(force / NEWTON_PER_KGF)} kgf, {pounds})"
    size = f"{pounds} ({rounded_up(force)} N)" if units.force == "lbf" else size
    at = f"{speed / M_S_PER_MPH:.0f} mph ({km_h})" if units.speed == "mph" else km_h
    return Caution(
        "force",
        f"Largest force of the table, at any angle, band included: {size} at {at}. Mounts must hold it "
        "before any allowance for gusts and kerbs, and more where the car goes faster: it grows with the "
        "square of speed.",
    )
