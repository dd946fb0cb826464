"""Loads at the car's fastest speed: stands, spar and proof load, the splitter's blade, springs, clearance."""

from dataclasses import replace

import numpy as np

from wingtool import car
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import StudyError
from wingtool.study.car.lap import LapAnswer
from wingtool.study.car.limits import lowest_m
from wingtool.study.car.parts import INSTALLED_DRAG, FittedCar, drag_measured_on_car, nearest_speed
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar

LOW_WING_M = 0.3  # springs and tyres give less than a higher one has; common practice, no source


def structure(
    study: Study, wing: WingPolar, fastest_m_s: float, on_circuit_m_s: float | None
) -> tuple[car.BeamLoads | None, car.MountLoads | None, car.ProofRecipe | None, car.MountLoads | None]:
    """Beam at the angle of greatest downforce at top speed; mounts at the worst of all; high end of the band.

    The coefficients at top speed are those of the nearest speed at which any angle converged. Nothing without
    [mounts], or where no angle makes downforce: feet and sandbags are for a wing that presses. Last the
    mounts at the fastest speed on the circuit, where there is one.
    """
    if study.mounts is None:
        return None, None, None, None
    mounts, span = study.mounts.value(), wing.wing.span_m
    if mounts.stands == 2 and mounts.spacing_m > span:
        raise StudyError(
            f"mounts.spacing: stands {mounts.spacing_m:.4g} m apart do not reach a wing of "
            f"{span:.4g} m span; correct one of them"
        )
    k = nearest_speed(wing, fastest_m_s)
    m = int(np.nanargmax(wing.downforce.high_n[k]))
    if wing.downforce.high_n[k, m] <= 0.0:
        return None, None, None, None
    more = 0.0 if drag_measured_on_car(study.correction) else INSTALLED_DRAG[-1]
    loads = _worst_loads(wing, mounts, fastest_m_s, more)
    on_circuit = None
    if on_circuit_m_s:
        on_circuit = _worst_loads(wing, mounts, min(on_circuit_m_s, fastest_m_s), more)
    grow = (fastest_m_s / float(wing.speed_m_s[k])) ** 2
    own = wing.strip_plane == 0  # a second plane hangs on the same stands; its load counts with the first's
    (y, line), (_, twisting) = (
        car.whole_span(wing.strip_y_m[own], table[k, m, own] * grow, span)
        for table in (wing.strip_load_n_m, wing.strip_moment_n)
    )
    sum_n = float(np.trapezoid(line, y))
    line = line * (loads.downforce_n / sum_n) if sum_n else line  # the high end, in the load's own shape
    spar = study.spar.value(mounts, span) if study.spar else None
    beam_loads = car.beam(y, line, car.stand_stations(mounts.stands, mounts.spacing_m), spar, twisting)
    return beam_loads, loads, car.proof_recipe(loads, beam_loads), on_circuit


def _worst_loads(wing: WingPolar, mounts: car.Mounts, top: float, installed: float) -> car.MountLoads:
    """Mounts over all converged angles and speeds up to the top speed, each with its own pitching moment.

    The coefficients of the nearest speed are taken to the top speed; the moment is raised as the speed's
    greatest downforce is from its middle to the high end of its band: near no downforce an angle's own ratio
    has no bound, though the section's moment hardly changes there. `installed` is the high end of the drag
    of stands and wake over the downforce; until a coast-down has it, it is taken at the wing.
    """
    speed = np.minimum(wing.speed_m_s, top)
    speed[nearest_speed(wing, top)] = top
    grow = ((speed / wing.speed_m_s) ** 2)[:, None]
    most = np.maximum(np.abs(wing.downforce.low_n), np.abs(wing.downforce.high_n))
    force, bare = wing.downforce.high_n * grow, wing.drag.high_n * grow
    drag = np.stack([bare, bare + installed * most * grow])  # without it the moment may be the larger
    with np.errstate(divide="ignore", invalid="ignore"):
        high, middle = (np.fmax.reduce(n, axis=1) for n in (wing.downforce.high_n, wing.downforce.n))
        raised = np.where(middle > 0.0, high / middle, 1.0)[:, None]
    moment = wing.pitching_moment_nm * grow * raised
    cases = np.broadcast_arrays(force, drag, moment, speed[:, None], wing.wing_angle_deg)
    known = np.isfinite(cases[:3]).all(axis=0)
    return car.mount_loads(mounts, *(case[known] for case in cases))


def blade_of(fit: FittedCar, speed_m_s: float) -> car.BladeLoad | None:
    """Load on the splitter's blade and rods; None without [splitter]."""
    if fit.study.splitter is None:
        return None
    splitter = fit.study.splitter.value(fit.density_kg_m3)
    return car.blade_load(splitter, fit.front[0], fit.q_pa(speed_m_s), speed_m_s)


def springs_of(fit: FittedCar, speed_m_s: float, laps: LapAnswer | None) -> tuple[car.AxleResponse, ...]:
    """Springs and tyres of both axles; the outer tyre at the lap's greatest lateral load.

    Without a lap at what the retuned car holds at this speed, or in a slow corner if that is more.
    """
    if laps is not None:
        corner_g = float(np.max(laps.retuned.with_parts.lateral_g[0]))
    else:
        limit = float(car.lateral_retuned_m_s2(fit.car, fit.whole, fit.q_pa(speed_m_s)))
        corner_g = max(limit / GRAVITY_M_S2, fit.car.tyre.grip)
    loads = _axle_loads_n(fit, fit.whole, speed_m_s)
    return car.axle_responses(fit.car, *loads, speed_m_s, corner_g)


def clearances_of(
    fit: FittedCar, speed_m_s: float, left: tuple[car.PartLoss, ...]
) -> tuple[car.Clearance, ...]:
    """Ground left under front parts and a low wing, parts at their band's high end; most at its low."""
    least, most = (_clearances(fit, speed_m_s, left, end) for end in ("high", "low"))
    return tuple(replace(one, most_left_m=best.left_m) for one, best in zip(least, most, strict=True))


def _clearances(
    fit: FittedCar, speed_m_s: float, left: tuple[car.PartLoss, ...], end: str
) -> list[car.Clearance]:
    study, q = fit.study, fit.q_pa(speed_m_s)
    areas = car.total(fit.whole, *(getattr(part, end) - part.middle for part in fit.front))
    limits = (car.brake_limit_m_s2(fit.car, areas, q), car.lateral_retuned_m_s2(fit.car, areas, q))
    brake_g, corner_g = (float(limit) / GRAVITY_M_S2 for limit in limits)
    loads, balance = _axle_loads_n(fit, areas, speed_m_s), {case.lost_part: case.words for case in left}
    tables = (("splitter", study.splitter), ("air dam", study.air_dam))
    parts = [
        (name, part.clearance_m, part.width_m, fit.car.nose_m + getattr(part, "overhang_m", 0.0))
        for name, part in tables
        if part
    ]
    if study.wing.height_m < LOW_WING_M:
        ahead_m = -fit.behind_m - fit.car.wheelbase_m
        parts.append(("wing", lowest_m(study, fit.wing, fit.angle_deg), fit.wing.wing.span_m, ahead_m))
    return [
        car.clearance_left(*part, fit.car, loads, brake_g, corner_g, balance.get(part[0], ""))
        for part in parts
    ]


def _axle_loads_n(fit: FittedCar, areas: car.AxleAreas, speed_m_s: float) -> tuple[float, float]:
    q = fit.q_pa(speed_m_s)
    return float(q * areas.cla_front_m2), float(q * areas.cla_rear_m2)
