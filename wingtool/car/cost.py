"""What the parts cost, per tenth of a second and per kilogram of downforce."""

from dataclasses import dataclass

from wingtool.constants import GRAVITY_M_S2


@dataclass(frozen=True)
class Part:
    """A purchase: `price` for all `count` together is count * price, in `currency`."""

    name: str
    price: float
    currency: str
    count: int = 1


@dataclass(frozen=True)
class Cost:
    """Total, and the cost of each gain; None where nothing is gained."""

    total: float
    currency: str
    per_tenth_second: float | None
    per_kg_downforce: float | None
    downforce_speed_m_s: float


def cost(
    parts: tuple[Part, ...], lap_gain_s: float | None, downforce_n: float, speed_m_s: float
) -> Cost | None:
    """Cost of a plan; parts in several currencies make one cost only if all are the same, else None.

    Examples
    --------
    >>> plan = (Part("wing", 150.0, "USD"), Part("splitter", 150.0, "USD"))
    >>> answer = cost(plan, 0.6, 588.0, 44.4)
    >>> answer.total, round(answer.per_tenth_second, 1), round(answer.per_kg_downforce, 1)
    (300.0, 50.0, 5.0)
    """
    currencies = {part.currency for part in parts}
    if len(currencies) != 1:
        return None
    spent = sum(part.price * part.count for part in parts)
    tenth = spent / (lap_gain_s * 10) if lap_gain_s and lap_gain_s > 0 else None
    per_kg = spent / (downforce_n / GRAVITY_M_S2) if downforce_n > 0 else None
    return Cost(spent, currencies.pop(), tenth, per_kg, speed_m_s)
