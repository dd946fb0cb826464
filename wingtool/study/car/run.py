"""What the parts do to the car: every number of the car's pages from one study and its wing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import (
    AxleAreas,
    AxleLoads,
    BeamLoads,
    BladeLoad,
    Car,
    Clearance,
    CornerTable,
    Cost,
    Estimate,
    FrontPart,
    Limits,
    MatchedSettings,
    MountLoads,
    PartLoss,
    PlaceMap,
    ProofRecipe,
    RuleCheck,
    SpringAnswer,
    StraightCost,
    air_dam_estimate,
    axle_loads,
    blade_load,
    body_areas,
    brake_limit_m_s2,
    break_even_m_s,
    check_rules,
    clearance_left,
    corner_table,
    cost,
    front_share,
    lateral_retuned_m_s2,
    matched_settings,
    part_losses,
    place_map,
    placed,
    splitter_estimate,
    spring_answers,
    straight_cost,
    straight_runs,
    top_speed_m_s,
    total,
)
from wingtool.constants import GRAVITY_M_S2
from wingtool.study.car.cautions import doubt_cautions, part_cautions
from wingtool.study.car.doubts import SetUps, doubts_of, set_ups
from wingtool.study.car.extent import reach_m
from wingtool.study.car.lap import LapAnswer, lap_answer
from wingtool.study.car.limits import place_limits, rule_facts
from wingtool.study.car.parts import INSTALLED_DRAG, WingOnCar, point_height_m, wing_on_car
from wingtool.study.car.structure import structure
from wingtool.study.wing.positions import wing_places

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

REFERENCE_SPEED_M_S = 160 / 3.6  # the speed at which people compare parts, about 100 mph
RADII_M = np.array([12.0, 18.0, 25.0, 35.0, 50.0, 70.0, 100.0, 140.0, 200.0, 280.0, 400.0])
STRAIGHT_M = 600.0
NEVER_M_S = 140.0  # end of the speeds searched: parts not felt below it are never felt


@dataclass(frozen=True, eq=False)
class CarResult:
    """The car with its parts at the set angle, and over angles and speeds.

    Parameters
    ----------
    car : Car
    body, wing_set : AxleAreas
        The bare car; the wing at the set angle (plain numbers) [m^2].
    wing : WingOnCar
        The wing over its angles, with band.
    splitter, air_dam : FrontPart
        Estimates with bands; name ``none`` when not fitted.
    share, felt_fitted, felt_retuned, end_loss : Estimate
        Front axle's share with all parts at the reference speed; speed [m/s] from which the parts are felt
        in corners, each state against its own bare car (inf: never); speed lost at the end of the longest
        straight [m/s]. Bands of all doubts (`wingtool.study.car.doubts`).
    set_angle_deg, reference_speed_m_s, top_speed_m_s : float
        Angle of all single numbers; speed at which parts are compared; the car's top speed with parts.
    top_band_m_s : (low, high)
        Of the top speed with parts: ends of the car's own drag area and of the parts' drag, all at once.
    density_kg_m3 : float
    loads : AxleLoads
        (k, m) over the wing's speeds and angles, front parts included.
    matched : MatchedSettings
        (m,) front force that keeps the balance for each angle, low to high downforce.
    left : tuple of PartLoss
        Balance with everything, with each part gone, with none, at the reference speed.
    place : PlaceMap
        Balance over wing height and setback with the user's rules.
    springs : tuple of SpringAnswer
        Front and rear at top speed.
    straight : StraightCost
    corners : CornerTable
    blade : BladeLoad or None
        Splitter at top speed.
    clearances : tuple of Clearance
    beam, mounts, proof : BeamLoads, MountLoads, ProofRecipe or None
        None without [mounts].
    mounts_on_circuit : MountLoads or None
        At the circuit's own top speed; None without [mounts] or [circuit].
    lap : LapAnswer or None
        None without [circuit]: lap with and without, difference, best angles, oil.
    limits : Limits or None
    rules : tuple of RuleCheck
    cost : Cost or None
    cautions : tuple of (beside, text)
        ``beside`` is one of balance, front, mounts, springs, oil, rules, car: shown where that number stands.
    """

    car: Car
    body: AxleAreas
    wing_set: AxleAreas
    wing: WingOnCar
    splitter: FrontPart
    air_dam: FrontPart
    set_angle_deg: float
    reference_speed_m_s: float
    top_speed_m_s: float
    top_band_m_s: tuple[float, float]
    density_kg_m3: float
    share: Estimate
    felt_fitted: Estimate
    felt_retuned: Estimate
    end_loss: Estimate
    loads: AxleLoads
    matched: MatchedSettings
    left: tuple[PartLoss, ...]
    place: PlaceMap
    springs: tuple[SpringAnswer, ...]
    straight: StraightCost
    corners: CornerTable
    blade: BladeLoad | None
    clearances: tuple[Clearance, ...]
    beam: BeamLoads | None
    mounts: MountLoads | None
    proof: ProofRecipe | None
    mounts_on_circuit: MountLoads | None
    lap: LapAnswer | None
    limits: Limits | None
    rules: tuple[RuleCheck, ...]
    cost: Cost | None
    cautions: tuple[tuple[str, str], ...]

    @property
    def whole(self) -> AxleAreas:
        """Car with all parts at the set angle [m^2]."""
        return total(self.body, self.wing_set, self.splitter.middle, self.air_dam.middle)

    @property
    def wing_ends(self) -> tuple[AxleAreas, AxleAreas]:
        """The wing at the set angle, low and high end of its band [m^2]."""
        m = self.wing.index(self.set_angle_deg)
        return self.wing.low.at(m), self.wing.high.at(m)


def car_result(study: Study, wing: WingPolar, angle_deg: float | None = None) -> CarResult | None:
    """The car's part of a study's result; None without [car], or when no angle of the wing converged.

    Parameters
    ----------
    study : Study
        With the tables of `wingtool.study.schema.car`.
    wing : WingPolar
        The wing over angle and speed, as `wing_of_study` gives it (a [correction] is in it already).
    angle_deg : float, optional
        Angle of the single numbers, the advised start angle as a rule; the middle of the table if left out.
        The nearest angle that converged is used.

    Raises
    ------
    StudyError
        A circuit log or rules file that cannot be read, or a value that cannot be.
    """
    if study.car is None:
        return None
    density = wing.air.density_kg_m3
    car, behind, over_angle = car_of(study, wing)
    mounts = study.mounts.value() if study.mounts else None
    if not over_angle.wing_angle_deg.size:
        return None
    index = over_angle.index(_wanted(angle_deg, over_angle))
    front = front_parts(study, car, density)
    body, wing_set = body_areas(car), over_angle.middle.at(index)
    parts = {"wing": wing_set} | {p.name: p.middle for p in front if p.name != "none"}
    whole = total(body, *parts.values())
    top = float(top_speed_m_s(car, whole.cda_m2, whole.cla_m2, density))
    limits = limits_of(study)
    angle = float(over_angle.wing_angle_deg[index])
    cases = set_ups(car, wing_set, front, doubts_of(car, over_angle, index, front))
    laps = lap_answer(study, car, cases, over_angle, front, density, angle)
    straight = _straight(car, whole, body, density, laps)
    left = part_losses(car, parts, density, REFERENCE_SPEED_M_S)
    top_band = _top_band(car, over_angle, index, front, density)
    fastest = top_band[1]  # what may break or touch is asked at the fast end
    clearances = _clearances(study, car, whole, front, density, fastest, left)
    blade = _blade(study, front[0], wing, fastest)
    on_circuit = None if laps is None else min(laps.fastest_m_s, fastest)
    beam_loads, mount, proof, circuit_mount = structure(study, wing, mounts, fastest, on_circuit)
    loads = _loads_table(study, car, wing, behind, front, density)
    return CarResult(
        car=car, body=body, wing_set=wing_set, wing=over_angle, splitter=front[0], air_dam=front[1],
        set_angle_deg=angle, reference_speed_m_s=REFERENCE_SPEED_M_S, top_speed_m_s=top,
        top_band_m_s=top_band, density_kg_m3=density, loads=loads,
        share=cases.estimate(front_share(car, cases.whole, 0.5 * density * REFERENCE_SPEED_M_S**2)),
        felt_fitted=_felt(car, cases, density, "weaker axle"),
        felt_retuned=_felt(car, cases, density, "retuned"),
        end_loss=_end_loss(car, cases, density, straight),
        matched=_matched(car, over_angle, front, density),
        left=left,
        place=_place(study, wing, car, over_angle, index, front, limits, behind),
        springs=_springs(car, whole, density, fastest, laps),
        straight=straight,
        corners=corner_table(car, whole, body, density, RADII_M),
        blade=blade,
        clearances=clearances, beam=beam_loads, mounts=mount, proof=proof,
        mounts_on_circuit=circuit_mount, lap=laps, limits=limits,
        rules=check_rules(limits, rule_facts(study, wing, car, angle)) if limits else (),
        cost=_cost(study, laps, over_angle, index, front, density),
        cautions=doubt_cautions(study, laps)
        + part_cautions(study, front, clearances, blade, mount, laps, limits),
    )  # fmt: skip


def car_of(study: Study, wing: WingPolar) -> tuple[Car, float, WingOnCar]:
    """The study's car, how far the wing is behind its rear axle [m], and the wing as the car sees it."""
    assert study.car is not None
    density = wing.air.density_kg_m3
    car = study.car.value(density)
    behind = study.mounts.behind_rear_axle_m if study.mounts else 0.0
    bare_top = float(top_speed_m_s(car, car.cda_m2, 0.0, density))
    return car, behind, wing_on_car(wing, car, behind, 0.75 * bare_top, study.correction)


def limits_of(study: Study) -> Limits | None:
    """The user's rules, from the study or the file that it names."""
    if study.limits is None:
        return None
    if study.limits.file is None:
        return study.limits.value()
    from wingtool.study.schema.rules import read_limits

    return read_limits(study.folder / study.limits.file)


def _wanted(angle_deg: float | None, wing: WingOnCar) -> float:
    if angle_deg is not None and np.isfinite(angle_deg):
        return angle_deg
    return float(wing.wing_angle_deg[len(wing.wing_angle_deg) // 2])


def front_parts(study: Study, car: Car, density: float) -> tuple[FrontPart, FrontPart]:
    """Estimates of splitter and air dam; name ``none`` where not fitted."""
    splitter = study.splitter.value(density) if study.splitter else None
    dam = study.air_dam.value(density) if study.air_dam else None
    return splitter_estimate(splitter, car), air_dam_estimate(dam, car)


def _loads_table(study, car, wing, behind, front, density) -> AxleLoads:
    """Axle loads with each speed's own coefficients; rows that did not converge stay nan."""
    measured = study.correction is not None and study.correction.drag_on_car
    drag_n = wing.drag.n + (0.0 if measured else INSTALLED_DRAG[1]) * np.abs(wing.downforce.n)
    q = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    x = car.wheelbase_m + behind + float(wing.wing.moment_point_m[0])
    height = point_height_m(wing, wing.wing_angle_deg)[None, :]
    areas = placed(wing.downforce.n / q, drag_n / q, x, height, car.wheelbase_m, wing.pitching_moment_nm / q)
    parts = total(areas, front[0].middle, front[1].middle)
    return axle_loads(car, parts, density, wing.speed_m_s, wing.wing_angle_deg)


def _matched(car, wing: WingOnCar, front, density) -> MatchedSettings:
    fitted = tuple(front[0].cla_m2[i] + front[1].cla_m2[i] for i in range(3))
    main = front[0] if front[0].name != "none" else front[1]
    lever = car.nose_m
    if main.name != "none" and main.cla_m2[1] > 0:
        lever = -main.middle.cla_rear_m2 * car.wheelbase_m / main.cla_m2[1]  # its drag's couple is small
    return matched_settings(
        car, wing.middle, wing.wing_angle_deg, max(lever, 0.0), fitted, density, REFERENCE_SPEED_M_S
    )


def _place(study, wing, car, over_angle: WingOnCar, index, front, limits, behind) -> PlaceMap:
    height = float(over_angle.height_m[index])
    computed = study.roof is not None and bool(study.roof.side)
    heights = np.linspace(0.6 * height, 1.25 * height, 8 if computed else 14)
    setbacks = np.linspace(min(behind, 0.0) - 0.2, max(behind, 0.0) + 0.5, 9 if computed else 15)
    over, aft = reach_m(study, wing, float(over_angle.wing_angle_deg[index]))
    most_height, most_setback = place_limits(limits, car, study.wing.height_m + over - height, aft)
    cla, cda, cma = (float(row[index]) for row in (over_angle.cla_m2, over_angle.cda_m2, over_angle.cma_m3))
    others = total(front[0].middle, front[1].middle)
    limits_m, air = (most_height, most_setback), wing.air
    there = None
    if computed:
        lowest = heights - (height - wing.wing.height_m)
        behind_roof = study.roof.wing_behind_m + setbacks - behind
        angle = float(over_angle.wing_angle_deg[index])
        there = wing_places(study, wing, angle, REFERENCE_SPEED_M_S, lowest, behind_roof)
    if there is None:
        return place_map(
            car, cla, cda, cma, others, heights, setbacks, air.density_kg_m3, REFERENCE_SPEED_M_S, *limits_m
        )
    q = air.dynamic_pressure_pa(REFERENCE_SPEED_M_S)
    return place_map(
        car, there.downforce.n / q, there.drag.n / q, there.pitching_moment_nm / q, others, heights, setbacks,
        air.density_kg_m3, REFERENCE_SPEED_M_S, *limits_m, there.origin,
    )  # fmt: skip


def _springs(car, whole, density, top, laps) -> tuple[SpringAnswer, ...]:
    q = 0.5 * density * top**2
    corner_g = car.tyre.grip if laps is None else float(np.max(laps.retuned.with_parts.lateral_g[0]))
    return spring_answers(car, float(q * whole.cla_front_m2), float(q * whole.cla_rear_m2), top, corner_g)


def _top_band(car, wing: WingOnCar, index: int, front, density: float) -> tuple[float, float]:
    """Top speed with the parts where all drag is at its high end, and where all is at its low end."""
    ends = ((car.cda_high_m2, wing.low, 2, "low"), (car.cda_low_m2, wing.high, 0, "high"))
    found = []
    for cda, area, end, word in ends:
        drag = cda + float(area.at(index).cda_m2) + sum(part.cda_m2[end] for part in front)
        down = total(body_areas(car), area.at(index), *(getattr(part, word) for part in front)).cla_m2
        found.append(float(top_speed_m_s(car, drag, float(down), density)))
    return found[0], found[1]


def _felt(car: Car, cases: SetUps, density: float, law: str) -> Estimate:
    count = len(cases.whole.cda_m2)
    speeds = [
        break_even_m_s(car, cases.whole.at(i), cases.bare.at(i), density, law=law) for i in range(count)
    ]
    found = cases.estimate(np.nan_to_num(speeds, nan=NEVER_M_S))
    value, low, high = (np.inf if v >= NEVER_M_S else v for v in (found.value, found.low, found.high))
    return replace(found, value=value, low=low, high=high)


def _end_loss(car: Car, cases: SetUps, density: float, straight: StraightCost) -> Estimate:
    with_parts, without = (
        straight_runs(car, a.cda_m2, a.cla_m2, density, straight.length_m, straight.entry_m_s)[2]
        for a in (cases.whole, cases.bare)
    )
    return cases.estimate(np.subtract(without, with_parts))


def _straight(car, whole, body, density, laps) -> StraightCost:
    length, entry = STRAIGHT_M, 80 / 3.6
    if laps is not None:
        length, entry = laps.longest_straight_m, laps.longest_straight_entry_m_s
    with_parts = (float(whole.cda_m2), float(whole.cla_m2))
    without = (float(body.cda_m2), float(body.cla_m2))
    return straight_cost(car, with_parts, without, density, length, entry)


def _blade(study, part: FrontPart, wing, top) -> BladeLoad | None:
    if study.splitter is None:
        return None
    splitter = study.splitter.value(wing.air.density_kg_m3)
    return blade_load(splitter, part, float(wing.air.dynamic_pressure_pa(top)), top)


def _clearances(study, car, whole, front, density, top, left) -> tuple[Clearance, ...]:
    """At top speed, the front parts at the high end of their band."""
    high = total(whole, *(part.high - part.middle for part in front))
    q = 0.5 * density * top**2
    loads = float(q * high.cla_front_m2), float(q * high.cla_rear_m2)
    found = []
    if part := study.splitter:
        found.append(("splitter", part.clearance_m, part.width_m, car.nose_m + part.overhang_m))
    if study.air_dam:
        found.append(("air dam", study.air_dam.clearance_m, study.air_dam.width_m, car.nose_m))
    limits = (brake_limit_m_s2(car, high, q), lateral_retuned_m_s2(car, high, q))
    brake_g, corner_g = (float(limit) / GRAVITY_M_S2 for limit in limits)
    words = {case.lost_part: case.words for case in left}
    return tuple(
        clearance_left(name, gap, width, ahead, car, loads, brake_g, corner_g, words.get(name, ""))
        for name, gap, width, ahead in found
    )


def _cost(study, laps, over_angle: WingOnCar, index, front, density) -> Cost | None:
    q = 0.5 * density * REFERENCE_SPEED_M_S**2
    area = float(over_angle.cla_m2[index]) + front[0].cla_m2[1] + front[1].cla_m2[1]
    parts = tuple(part.value() for part in study.part)
    gain = laps.fitted.gain.value if laps else None
    return cost(parts, gain, q * area, REFERENCE_SPEED_M_S) if parts else None
