"""Cautions at the number they belong to. Each is common practice, no source, unless it says more."""

from dataclasses import dataclass

import numpy as np

from wingtool.car import MOUNTS_FAIL_FIRST
from wingtool.files import toml_beside, words_beside
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF, DisplayUnits, rounded_up
from wingtool.wing import WingPolar

# Kept for air behind a roof that nobody measured, so that not knowing buys no angle: as much as a roof takes
# that adds 4 degrees with the usual band of tufts, 2 degrees; common practice, no source.
UNKNOWN_ROOF_DEG = 6.0
LOW_GROUND_CHORDS = 0.12  # measured wings peak near 0.1 chord above the ground and lose force below


@dataclass(frozen=True)
class Caution:
    """A sentence, and the number beside which it is shown: angle, force, drag or height."""

    beside: str
    text: str


WORDS: dict[str, dict[str, str]] = toml_beside(__file__, "cautions.toml")
CAUTIONS = {
    name: Caution(words["beside"], words["text"].format(roof_deg=UNKNOWN_ROOF_DEG))
    for name, words in WORDS.items()
    if "text" in words
} | {"mounts": Caution("force", MOUNTS_FAIL_FIRST)}
# Wherever a wing's forces are printed without the advice.
BESIDE_FORCES = (CAUTIONS["stall"], CAUTIONS["mounts"])


def cautions_for(
    wing: WingPolar, high_deg: float, roof_band_deg: float | None, units: DisplayUnits
) -> tuple[Caution, ...]:
    """The cautions that this wing calls for, those of the angle first."""
    chosen = [CAUTIONS["stall"], CAUTIONS["roof_unknown"] if roof_band_deg is None else _roof(wing)]
    chosen += [_most(wing, units)] if np.isfinite(high_deg) else []
    chosen += [CAUTIONS["estimate"], CAUTIONS["mounts"], CAUTIONS["balance"], CAUTIONS["road"]]
    tilted = wing.inflow is not None and np.any(wing.inflow.angle_deg)
    chosen += [CAUTIONS["tilted"]] if tilted else []
    chosen += [CAUTIONS["low_wing"]] if wing.wing.height_over_chord < LOW_GROUND_CHORDS else []
    return tuple(chosen)


def _roof(wing: WingPolar) -> Caution:
    added = wing.inflow.angle_deg if wing.inflow else np.zeros(1)
    most = float(added[np.argmax(np.abs(added))])
    if most == 0.0:
        return CAUTIONS["level"]
    return Caution("angle", WORDS["level"]["otherwise"].format(most=f"{most:.2g}"))


def _most(wing: WingPolar, units: DisplayUnits) -> Caution:
    k, m = np.unravel_index(np.nanargmax(wing.downforce.high_n), wing.downforce.high_n.shape)
    force, speed = float(wing.downforce.high_n[k, m]), float(wing.speed_m_s[k])
    pounds, km_h = f"{rounded_up(force / NEWTON_PER_LBF)} lbf", f"{speed / M_S_PER_KM_H:.0f} km/h"
    size = f"{rounded_up(force)} N ({rounded_up(force / NEWTON_PER_KGF)} kgf, {pounds})"
    size = f"{pounds} ({rounded_up(force)} N)" if units.force == "lbf" else size
    at = f"{speed / M_S_PER_MPH:.0f} mph ({km_h})" if units.speed == "mph" else km_h
    return Caution("force", words_beside(__file__, "cautions")["most"].format(size, at))
