"""The car's part of a study's result: at the set angle, over angles and speeds, with its cautions."""

from dataclasses import dataclass

from wingtool.car import (
    BALANCE_CAUTION,
    BODY_LIFT,
    HOW_TO_MEASURE,
    MOUNT_CAUTION,
    NOT_INCLUDED,
    TRACK_ONLY,
    TYRE_CAUTION,
    AxleAreas,
    AxleLoads,
    AxleResponse,
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
    body_areas,
    check_rules,
    corner_table,
    cost,
    front_share,
    part_losses,
)
from wingtool.study.car.balance import loads_over_angles, matched_front, place_of_wing
from wingtool.study.car.doubts import doubts_of, set_ups
from wingtool.study.car.lap import LapAnswer, lap_answer
from wingtool.study.car.limits import limits_of, rule_facts
from wingtool.study.car.parts import FittedCar, WingOnCar, fitted_car
from wingtool.study.car.speeds import RADII_M, StraightCost, felt_from, straight_cost, top_band_m_s
from wingtool.study.car.structure import blade_of, clearances_of, springs_of, structure
from wingtool.study.cautions import WORDS
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar

OF_CAR = WORDS["car"]


def part_cautions(
    study: Study, front, clearances, springs, blade: BladeLoad | None, mount: MountLoads | None,
    laps: LapAnswer | None, limits: Limits | None,
) -> tuple[tuple[str, str], ...]:  # fmt: skip
    """Cautions on front end, balance, springs, mounts, oil and rules: (beside, text)."""
    us = study.units.length == "in"
    cautions: list[tuple[str, str]] = []
    if laps and BODY_LIFT in (laps.fitted.gain.largest_doubt, laps.retuned.gain.largest_doubt):
        text = f"the {BODY_LIFT} is the largest doubt of the lap gain: {HOW_TO_MEASURE}"
        cautions.append(("balance", text))
    cautions += [("front", gap.caution) for gap in clearances if gap.caution]
    cautions += [("car", OF_CAR["estimate_caution"]), ("balance", BALANCE_CAUTION)]
    cautions += [("springs", TYRE_CAUTION)] if any(one.load_n > 0.0 for one in springs) else []
    if front:
        cautions.append(("front", OF_CAR["front_caution"]))
    if blade and study.splitter:
        cautions += [("front", text) for text in (study.splitter.taken(us), blade.caution) if text]
    if study.mounts:
        beside = (study.mounts.taken(us), NOT_INCLUDED) if mount else (OF_CAR["it_lifts"],)
        cautions += [("mounts", text) for text in (*beside, MOUNT_CAUTION) if text]
    else:
        cautions.append(("balance", OF_CAR["no_place"]))
    if laps:
        cautions += [("oil", text) for text in laps.oil_cautions if text]
    cautions.append(("rules", TRACK_ONLY if limits else f"no rules are written in [limits]; {TRACK_ONLY}"))
    return tuple(cautions)


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
    front : tuple of FrontPart
        Splitter and air dam, as far as fitted.
    share, felt_fitted, felt_retuned : Estimate
        Front axle's share with all parts at the reference speed; speed [m/s] from which the parts are felt
        in corners, each state against its own bare car (inf: never). Bands of all doubts
        (`wingtool.study.car.doubts`).
    set_angle_deg, reference_speed_m_s : float
        Angle of all single numbers; speed at which parts are compared.
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
    springs : tuple of AxleResponse
        Front and rear at top speed.
    straight : StraightCost
        What the parts cost on the longest straight, top speeds included.
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
    front: tuple[FrontPart, ...]
    set_angle_deg: float
    reference_speed_m_s: float
    top_band_m_s: tuple[float, float]
    density_kg_m3: float
    share: Estimate
    felt_fitted: Estimate
    felt_retuned: Estimate
    loads: AxleLoads
    matched: MatchedSettings
    left: tuple[PartLoss, ...]
    place: PlaceMap
    springs: tuple[AxleResponse, ...]
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
    fit = fitted_car(study, wing, angle_deg) if study.car else None
    if fit is None:
        return None
    car, whole, body, density = fit.car, fit.whole, body_areas(fit.car), fit.density_kg_m3
    cases = set_ups(car, fit.wing_set, fit.front, doubts_of(fit))
    laps, limits = lap_answer(fit, cases), limits_of(study)
    top_band = top_band_m_s(fit)
    left = part_losses(car, fit.named_parts, density, fit.reference_m_s)
    fastest = top_band[1]  # what may break or touch is asked at the fast end
    blade, clearances = blade_of(fit, fastest), clearances_of(fit, fastest, left)
    beam, mounts, proof, on_circuit = structure(study, wing, fastest, laps.fastest_m_s if laps else None)
    springs = springs_of(fit, fastest, laps)
    return CarResult(
        car=car, body=body, wing_set=fit.wing_set, wing=fit.on_car, front=fit.front,
        set_angle_deg=fit.angle_deg, reference_speed_m_s=fit.reference_m_s,
        top_band_m_s=top_band, density_kg_m3=density,
        share=cases.estimate(front_share(car, cases.whole, fit.q_pa(fit.reference_m_s))),
        felt_fitted=felt_from(fit, cases, "weaker axle"), felt_retuned=felt_from(fit, cases, "retuned"),
        loads=loads_over_angles(fit), matched=matched_front(fit),
        left=left, place=place_of_wing(fit, limits), springs=springs,
        straight=straight_cost(fit, cases, laps), blade=blade,
        corners=corner_table(car, whole, body, density, RADII_M),
        clearances=clearances, beam=beam, mounts=mounts, proof=proof, mounts_on_circuit=on_circuit,
        lap=laps, limits=limits,
        rules=check_rules(limits, rule_facts(study, wing, fit.angle_deg)) if limits else (),
        cost=_cost(fit, laps),
        cautions=part_cautions(study, fit.front, clearances, springs, blade, mounts, laps, limits),
    )  # fmt: skip


def _cost(fit: FittedCar, laps: LapAnswer | None) -> Cost | None:
    """What the parts of the study cost, their downforce at the reference speed."""
    area = float(fit.on_car.cla_m2[fit.index]) + sum(part.cla_m2[1] for part in fit.front)
    spent: dict[str, float] = {}
    for part in fit.study.part:
        spent[part.currency] = spent.get(part.currency, 0.0) + part.price * part.count
    gain = laps.fitted.gain.value if laps else None
    return cost(spent, gain, fit.q_pa(fit.reference_m_s) * area, fit.reference_m_s)
