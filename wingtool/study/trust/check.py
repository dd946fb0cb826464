"""One value of this build beside one published value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

AGREES, DIFFERS, NOT_CONVERGED = "agrees", "differs", "not converged"


@dataclass(frozen=True)
class Check:
    """One published value and what this build computes for it.

    Parameters
    ----------
    regime, subject, condition, quantity : str
    published, tolerance : float
        In the unit that the quantity's name tells.
    kind : str
        PUBLISHED (measured), EXACT or TWIN (another method).
    source : str
    computed : float
        nan where points that it needs did not converge.
    second_opinion : float
        The learned surrogate, where it can be asked; else nan.
    """

    regime: str
    subject: str
    condition: str
    quantity: str
    published: float
    tolerance: float
    kind: str
    source: str
    computed: float = np.nan
    second_opinion: float = np.nan

    @property
    def difference(self) -> float:
        """Computed less published."""
        return self.computed - self.published

    @property
    def in_percent(self) -> bool:
        """Whether differences of this quantity are told in per cent: it is far from zero."""
        return "angle" not in self.quantity and "moment" not in self.quantity

    @property
    def verdict(self) -> str:
        """Agrees within the tolerance, differs, or not converged."""
        if not np.isfinite(self.computed):
            return NOT_CONVERGED
        return AGREES if abs(self.difference) <= self.tolerance else DIFFERS
