"""Straights: top speed, time and distance to a speed, kilowatts that the parts take."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import NOTHING
from wingtool.car.tyre import traction_limit_n
from wingtool.car.vehicle import FASTEST_M_S, Car

STEPS = 400
NOTICED = 0.01  # of the speed at the end of the straight that is plain to see: common practice, no source


def power_at_wheels_w(car: Car, speed_m_s):
    """Power at the wheels [W]: the car's power at any speed, or the best gear's if the gears are known.

    Above the rev limit of the top gear there is none.
    """
    speed = np.asarray(speed_m_s, float)
    if car.gears is None:
        return np.full_like(speed, car.power_w)
    revs = speed[..., None] / car.gears.limit_speed_m_s
    share = np.interp(revs, car.gears.rev_share, car.gears.power_share, right=0.0)
    # below the first point of the curve the clutch slips in first gear: torque, not power, is held
    slipping = revs[..., 0] < car.gears.rev_share[0]
    low = car.gears.power_share[0] * revs[..., 0] / car.gears.rev_share[0]
    share = np.where(revs < car.gears.rev_share[0], 0.0, share)
    return car.power_w * np.where(slipping, low, share.max(axis=-1))


def resistance_n(car: Car, cda_m2, cla_m2, density_kg_m3: float, speed_m_s):
    """Drag and rolling resistance [N]; downforce presses the tyres and so adds to the rolling part."""
    q = 0.5 * density_kg_m3 * np.asarray(speed_m_s) ** 2
    return q * cda_m2 + car.rolling * np.maximum(car.weight_n + q * cla_m2, 0.0)


def top_speed_m_s(car: Car, cda_m2, cla_m2, density_kg_m3: float) -> np.ndarray:
    """Speed [m/s] at which the power is used up, for one or many set-ups.

    Examples
    --------
    Drag alone: V = (2 P / (rho CdA))^(1/3).

    >>> from dataclasses import replace
    >>> car = Car(1100.0, 0.5, 2.5, 0.5, 0.75, 100e3, rolling=0.0)
    >>> round(float(top_speed_m_s(car, 0.75, 0.0, 1.225)), 3), round((2e5 / (1.225 * 0.75)) ** (1 / 3), 3)
    (60.156, 60.156)
    """
    from scipy.optimize.elementwise import find_root

    def spare_w(speed, drag, downforce):
        return power_at_wheels_w(car, speed) - speed * resistance_n(
            car, drag, downforce, density_kg_m3, speed
        )

    drag, downforce = np.broadcast_arrays(np.asarray(cda_m2, float), np.asarray(cla_m2, float))
    root = find_root(spare_w, (1.0, FASTEST_M_S), args=(drag, downforce))
    at_end = np.where(spare_w(FASTEST_M_S, drag, downforce) >= 0.0, FASTEST_M_S, 1.0)
    return np.where(root.success, root.x, at_end)


@dataclass(frozen=True, eq=False)
class Run:
    """A run at full throttle: `speed_m_s`, `time_s` and `distance_m` (n,) from the start speed on.

    Time and distance rise; the speed does as well, unless the start is faster than the top speed.
    """

    speed_m_s: np.ndarray
    time_s: np.ndarray
    distance_m: np.ndarray


def full_throttle(
    car: Car,
    cda_m2: float,
    cla_m2: float,
    density_kg_m3: float,
    from_m_s: float,
    to_m_s: float,
    top_m_s: float | None = None,
) -> Run:
    """Time and distance to each speed, dt = m_e dV / F and ds = V dt, by Simpson's rule over each step.

    Stops at 99.5 % of the top speed if that comes first: the top speed itself is never reached. A car that
    comes faster than its top speed slows down, to 100.5 % of it. Where the power would spin the wheels the
    tyres limit the force (that of the car at rest). `top_m_s` is the top speed, if known.
    """
    top = float(top_speed_m_s(car, cda_m2, cla_m2, density_kg_m3)) if top_m_s is None else top_m_s
    slowing = from_m_s > top
    end = 1.005 * top if slowing else min(to_m_s, 0.995 * top)
    if (end - from_m_s) * (-1 if slowing else 1) <= 0.0:
        return Run(np.array([from_m_s]), np.zeros(1), np.zeros(1))
    fine = np.linspace(from_m_s, end, 2 * STEPS + 1)
    grip = traction_limit_n(car, NOTHING, 0.0)
    push = np.minimum(power_at_wheels_w(car, fine) / np.maximum(fine, 0.5), grip)
    force = push - resistance_n(car, cda_m2, cla_m2, density_kg_m3, fine)
    per_speed = car.effective_mass_kg / (np.minimum(force, -1e-9) if slowing else np.maximum(force, 1e-9))
    return Run(fine[::2], _simpson(per_speed, fine), _simpson(per_speed * fine, fine))


def _simpson(values: np.ndarray, at: np.ndarray) -> np.ndarray:
    from scipy.integrate import cumulative_simpson

    step = at[1] - at[0]
    return np.sign(step) * cumulative_simpson(values, dx=abs(step), initial=0.0)[::2]


def straight_runs(
    car: Car, cda_m2, cla_m2, density_kg_m3: float, length_m: float, entry_m_s: float
) -> tuple[list[float], list[float], list[float]]:
    """Top speed [m/s], time on a straight [s] and speed at its end [m/s] for each of several set-ups."""
    drag, downforce = np.broadcast_arrays(cda_m2, cla_m2)
    tops = top_speed_m_s(car, drag, downforce, density_kg_m3).tolist()
    times, ends = [], []
    for cda, cla, top in zip(drag.tolist(), downforce.tolist(), tops, strict=True):
        run = full_throttle(car, cda, cla, density_kg_m3, entry_m_s, FASTEST_M_S, top)
        time, end = _along(run, length_m)
        times.append(time)
        ends.append(end)
    return tops, times, ends


def _along(run: Run, length_m: float) -> tuple[float, float]:
    """Time [s] on the straight and speed [m/s] at its end; past the run at its last speed."""
    time, end = (float(np.interp(length_m, run.distance_m, a)) for a in (run.time_s, run.speed_m_s))
    return time + max(length_m - float(run.distance_m[-1]), 0.0) / end, end
