"""What the user wants of a section: the value of a wing's working points, and the best of them."""

from dataclasses import dataclass

import numpy as np

from wingtool.study.advice import SOUND
from wingtool.wing import Force, WingPolar

KINDS = ("lap", "downforce", "spare")
FINE_DEG = 0.02


@dataclass(frozen=True)
class Aim:
    """What is made greatest, always with the advised margin to the stall kept.

    Parameters
    ----------
    kind : str
        ``lap``: time gained over a lap [s]; ``downforce``: downforce at the reference speed [N], at no more
        drag than `most_drag_n`; ``spare``: degrees beyond the margin at `least_downforce_n`.
    margin_deg : float
        Kept from the stall, in degrees of the wing's angle.
    pressure_pa : float
        Dynamic pressure at the reference speed.
    most_drag_n, least_downforce_n : float
        Of the wing at the reference speed.
    gain_s_m2, loss_s_m2 : float
        Lap time gained by a square metre of downforce area, and lost by one of drag area [s/m^2].
    """

    kind: str
    margin_deg: float
    pressure_pa: float
    most_drag_n: float = np.inf
    least_downforce_n: float = 0.0
    gain_s_m2: float = 0.0
    loss_s_m2: float = 0.0

    def value(self, cla_m2, cda_m2, margin_deg) -> np.ndarray:
        """The value of working points; -inf where a point is not allowed. Arrays of one shape."""
        downforce, drag = cla_m2 * self.pressure_pa, cda_m2 * self.pressure_pa
        spare = margin_deg - self.margin_deg
        if self.kind == "lap":
            value, allowed = self.gain_s_m2 * cla_m2 - self.loss_s_m2 * cda_m2, spare >= -1e-9
        elif self.kind == "downforce":
            value, allowed = downforce, (spare >= -1e-9) & (drag <= self.most_drag_n)
        else:
            value, allowed = spare, downforce >= self.least_downforce_n
        return np.where(allowed & np.isfinite(value), value, -np.inf)

    def last_deg(self, angle_deg: float, margin_deg: float) -> float:
        """Last whole degree that keeps the margin, of a point's angle and margin, as the advice rounds it.

        Examples
        --------
        >>> Aim("downforce", 4.5, 1.0).last_deg(8.82, 4.5), Aim("spare", 4.5, 1.0).last_deg(5.0, 9.5)
        (8.0, 10.0)
        """
        return float(np.floor(round(angle_deg + margin_deg, 1) - self.margin_deg + 1e-9))

    def half_width(self, downforce_n: float, drag_n: float, n_per_deg: float) -> float:
        """Half width of the value from those of the forces, and the downforce that a degree brings."""
        if self.kind == "lap":
            parts = self.gain_s_m2 * downforce_n, self.loss_s_m2 * drag_n
            return float(np.hypot(*parts)) / self.pressure_pa
        return downforce_n / max(n_per_deg, 1.0) if self.kind == "spare" else downforce_n


@dataclass(frozen=True)
class WorkingPoint:
    """A wing's angle [deg], its margin to the stall [deg], forces with their band, and the aim's value."""

    angle_deg: float
    margin_deg: float
    downforce: Force
    drag: Force
    value: float


NO_FORCE = Force(np.nan, np.nan, np.nan)
NO_POINT = WorkingPoint(np.nan, np.nan, NO_FORCE, NO_FORCE, -np.inf)


def usable(wing: WingPolar, k: int, sound_only: bool = True) -> np.ndarray:
    """Angles (m,) with forces at speed number k and a margin; sound ones at every speed, if asked."""
    good = np.isfinite(wing.stall_margin_deg.min(axis=0)) & np.isfinite(wing.CL[k])
    return good & np.isin(wing.status, SOUND).all(axis=0) if sound_only else good


def at_angle(wing: WingPolar, rows: np.ndarray, angle_deg, good: np.ndarray):
    """A row (m,) over the wing's angles at others, from the good ones."""
    return np.interp(angle_deg, wing.wing_angle_deg[good], rows[good])


def point_at(wing: WingPolar, k: int, angle_deg: float, value: float, good: np.ndarray) -> WorkingPoint:
    """The working point at an angle: forces at speed number k, margin over all speeds."""

    def force(band: Force) -> Force:
        return band[k].each(lambda row: float(at_angle(wing, row, angle_deg, good)))

    margin = float(at_angle(wing, wing.stall_margin_deg.min(axis=0), angle_deg, good))
    return WorkingPoint(angle_deg, margin, force(wing.downforce), force(wing.drag), value)


def best_point(wing: WingPolar, aim: Aim, k: int, sound_only: bool = True) -> WorkingPoint:
    """The best point of a wing over its angles; `NO_POINT` where none is allowed."""
    good = usable(wing, k, sound_only)
    if good.sum() < 2:
        return NO_POINT
    angles = wing.wing_angle_deg[good]
    fine = np.arange(angles[0], angles[-1] + 1e-9, FINE_DEG)
    area = wing.reference_area_m2
    margin = wing.stall_margin_deg.min(axis=0)
    rows = (area * wing.CL[k], area * wing.CD[k], margin)
    values = aim.value(*(at_angle(wing, row, fine, good) for row in rows))
    best = int(values.argmax())
    value = float(values[best])
    return point_at(wing, k, float(fine[best]), value, good) if np.isfinite(value) else NO_POINT


def strip_alpha_deg(wing: WingPolar, k: int, near_deg: float) -> np.ndarray:
    """Angle (m,) at speed number k of the strip that stalls first at the slowest, near an angle."""
    m = int(np.nanargmin(np.where(wing.converged[0], np.abs(wing.wing_angle_deg - near_deg), np.nan)))
    return wing.strip_alpha_deg[k, :, int(np.nanargmin(wing.strip_margin_deg[0, m]))]
