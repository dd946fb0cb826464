"""What the user wants of a section: the value of a wing's working points, and the best of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

KINDS = ("lap", "downforce", "spare")
UNITS = {"lap": "s", "downforce": "N", "spare": "deg"}


@dataclass(frozen=True)
class Aim:
    """What is made greatest, always with the advised margin to the stall kept.

    Parameters
    ----------
    kind : str
        ``lap``: time gained over a lap [s]; ``downforce``: downforce at the reference speed [N], at no more
        drag than `most_drag_n`; ``spare``: degrees beyond the margin at `least_downforce_n`.
    margin_deg : float
        Kept from the stall by every strip.
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

    def best(self, cla_m2, cda_m2, margin_deg) -> tuple[np.ndarray, np.ndarray]:
        """Index of the best working point on the last axis, and its value, -inf where none is allowed."""
        value = self.value(cla_m2, cda_m2, margin_deg)
        index = np.argmax(value, axis=-1)
        return index, np.take_along_axis(value, index[..., None], axis=-1)[..., 0]
