"""What the parts cost, per tenth of a second and per kilogram of downforce."""

from collections.abc import Mapping
from dataclasses import dataclass

from wingtool.constants import GRAVITY_M_S2


@dataclass(frozen=True)
class Cost:
    """Total, and the cost of each gain; None where nothing is gained."""

    total: float
    currency: str
    per_tenth_second: float | None
    per_kg_downforce: float | None
    downforce_speed_m_s: float


def cost(
    spent: Mapping[str, float], lap_gain_s: float | None, downforce_n: float, speed_m_s: float
) -> Cost | None:
    """Cost of a plan, from what is spent in each currency; None where that is not one currency.

    Examples
    --------
    >>> answer = cost({"USD": 300.0}, 0.6, 588.0, 44.4)
    >>> answer.total, round(answer.per_tenth_second, 1), round(answer.per_kg_downforce, 1)
    (300.0, 50.0, 5.0)
    """
    if len(spent) != 1:
        return None
    ((currency, total),) = spent.items()
    tenth = total / (lap_gain_s * 10) if lap_gain_s and lap_gain_s > 0 else None
    per_kg = total / (downforce_n / GRAVITY_M_S2) if downforce_n > 0 else None
    return Cost(total, currency, tenth, per_kg, speed_m_s)
