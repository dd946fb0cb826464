"""Correction of the coupled solver's lift and drag by the measured record, and the band from what it leaves.

This is statistics, not physics. Measured less computed lift, and the logarithm of measured over computed drag
at equal lift, are fitted over 163 measured curves of 34 sections (tests/data/section_record.csv) by a few
smooth terms of Reynolds number, trip, lift, how much of the upper side is separated, place of transition,
camber and nose: of lift all products of two of `LIFT_QUANTITIES`, so that none was picked out by the record
that it corrects; of drag five. Rule, coefficients and what is left when whole sections are left out:
`record_fit.json`, written by tests/fit_record.py.

Each point is corrected by what the solver says at that point, so that an answer does not depend on which
other angles are asked for. Outside the record the correction fades to zero and the band grows: below Reynolds
number 8e4, from 6e5 to 2e6 (where published values hold the uncorrected solver), thicker than 22 % or thinner
than 6 %, cambered beyond 10.5 %, lifting downwards. Nearer to the ground than one chord the correction of
drag fades and the band grows, but that of lift stays: what it takes off an attached layer in free air does
not come back on the way down (a measured wing: `wing/README.md`). A symmetrical section turned over is
itself, so its downward lift is corrected as the mirror image's upward lift; up to 1 % camber the one rule
passes into the other.

The ground step, one coefficient (method `coupled` goes without): over a moving road a tripped wing lost half
of what the solver takes off for separation (`wing/README.md`; no physical cause was found). Lift given back:

    coefficient * (1 - x_separation) * (x_separation - x_transition) * g(height)

on the upper side, which faces the ground when the section is turned over: what a separated region costs grows
with its length and its thickness, and the layer that separates is the thicker the longer it was turbulent. So
nothing changes where the layer is attached or separates laminar, or in free air, and a stalled section
gets less again. Free and fixed transition are treated alike. `g` rises from zero at 0.6 chord, the height
from which the tripped wing differed, and falls again below 0.1 chord, where the layers of wing and road meet
and measured wings lose downforce that theory keeps. `ground_fit.json`, written by tests/fit_ground.py, has
coefficient, rule and what is left of measurements left out.
"""

import json
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import Section, turned_over
from wingtool.section.band import GROUND_TRIPPED_NOTE, NOSE_X, sides_of, towards_ground
from wingtool.section.curves import SEPARATED_X
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    TWO_SOLUTIONS,
    SectionPolar,
    status_from_shape,
)
from wingtool.section.surface import trip_of

# Own choice where no source stands beside it: where the record ends, and how a correction fades there.
REFERENCE_REYNOLDS = 3e5
MOST_SEPARATED = 0.5  # part of the upper side; the record has few points beyond
IDEAL_LIFT, MOST_BELOW = 12.0, 0.8  # of the camber: 4 pi by thin-section theory (Glauert, 1926)
PEAK_X = 0.05
SYMMETRICAL_CAMBER = 0.01  # from it on a section has no mirror image in the record
# Reynolds number below which a bubble may stay open, and camber from which it holds: 14 of 56 curves
# of sections left out are more than 20 % off in greatest lift or drag there, 7 of 107 above.
OPEN_BUBBLE = ((1.3e5, 0.0), (1.9e5, 0.05))
# Transition ahead of this x/c on the lower side, and camber from which it counts: a suction peak behind
# which that side may separate unseen by the solver.
LOWER_PEAK_X, LOWER_PEAK_CAMBER = 0.03, 0.035
INSIDE = 0.99  # weight below which a note is made
OUTSIDE_BAND = 1.5  # times the solver's own band, where nothing was measured
LIFT_QUANTITIES = ("re", "camber", "arch", "nose", "cl", "s", "attached", "peak")
TERMS = {  # of the correction of cl and of ln cd, and of the half widths of both; see `terms`
    "lift": ("1", *LIFT_QUANTITIES, *map(" ".join, combinations(LIFT_QUANTITIES, 2)), "s s"),
    "drag": ("cl s", "low cl", "laminar cl low", "below attached", "idle"),
    "lift_band": ("1", "s", "arch arch low low", "arch below"),
    "drag_band": ("1", "low", "s", "trip low", "high", "arch", "below below"),
}  # fmt: skip
# Part of the correction of lift that a layer tripped at the nose gets, and the terms of drag that hold for
# it: strips on four sections bear but one of their own. Of 0, 1/4, 1/2, 3/4 and 1 the part with the least
# error of sections left out, whichever of the four is.
TRIPPED_LIFT, TRIPPED_DRAG = 0.5, ("below attached", "idle")
# Momentum-thickness Reynolds numbers up to which a strip in the thin layer at the nose is idle, and from
# which it acts; Reynolds numbers between which a laminar layer becomes one with less drag than a tripped one.
IDLE_RE_THETA, IDLE_REYNOLDS = (40.0, 60.0), (1.5e5, 2e5)
LOW_GROUND = 0.1  # height [chord] below which the layers of wing and road meet (as `wing/present.TOO_LOW`)
NOTED_CL = 0.02  # ground step from which a note is made
WORDS = words_beside(__file__, "record")


@dataclass(frozen=True)
class Regime:
    """Where a curve lies in the record, as the fit takes it.

    Parameters
    ----------
    re : float
        ln(Reynolds number / 3e5), held within ln(1/3) and ln 2.
    trip : float
        1 tripped ahead of 10 % chord, 0 behind 30 % or free.
    camber, nose : float
        (f/c - 0.035)/0.03, (upper ordinate at 1.25 % chord - 0.025)/0.01, held within the record's range.
    lift : float
        Part of the correction of lift that holds: 1 inside the record and below it, over the ground.
    inside : float
        1 inside the record, 0 where nothing near was measured.
    high : float
        1 where it is left by a Reynolds number too high and by nothing else.
    """

    re: float
    trip: float
    camber: float
    nose: float
    lift: float
    inside: float
    high: float


def regime(section: Section, reynolds: float, trip_x: float, height_chord: float = np.inf) -> Regime:
    """Regime of one curve; `trip_x` as x/c of the upper side, 1 where free."""
    thickness, camber = thickness_camber(section)
    ordinate = float(np.interp(NOSE_X, *sides_of(section)[0].T))
    size = np.log(reynolds / REFERENCE_REYNOLDS)
    too_high = _ramp(np.log(reynolds), np.log(6e5), np.log(2e6))
    others = (
        _ramp(-np.log(reynolds), -np.log(8e4), -np.log(4e4)),
        _ramp(thickness, 0.22, 0.25), _ramp(-thickness, -0.06, -0.03),
        _ramp(camber, 0.105, 0.125),
    )  # fmt: skip
    left, high_up = float(np.prod(others)), _ramp(-height_chord, -1.0, -0.5)
    return Regime(
        re=float(np.clip(size, np.log(1 / 3), np.log(2))),
        trip=float(np.clip((0.3 - trip_x) / 0.2, 0.0, 1.0)),
        camber=float(np.clip((camber - 0.035) / 0.03, -1.3, 1.7)),
        nose=float(np.clip((ordinate - 0.025) / 0.01, -1.2, 1.2)),
        lift=left * too_high,
        inside=left * too_high * high_up,
        high=left * (1.0 - too_high) * high_up,
    )


def thickness_camber(section: Section) -> tuple[float, float]:
    """Greatest thickness, and the mean line where it is furthest from the chord line, over the chord."""
    x = np.linspace(0.005, 0.995, 199)
    upper, lower = (np.interp(x, *side.T) for side in sides_of(section))
    mean = (upper + lower) / 2
    return float((upper - lower).max()), float(mean[np.argmax(np.abs(mean))])


def _ramp(value: float, full: float, none: float) -> float:
    """1 up to `full`, 0 from `none` on."""
    return float(np.clip((none - value) / (none - full), 0.0, 1.0))


def terms(
    names: tuple[str, ...],
    where: Regime,
    cl: np.ndarray,
    separation: np.ndarray,
    transition: np.ndarray,
    re_theta: np.ndarray,
) -> np.ndarray:
    """Products that the names spell, at points of one curve, shape ``(m, terms)``.

    Parameters
    ----------
    names : tuple of str
        Some of `TERMS`: ``s`` separated part of the upper side, ``attached`` 1 without and 1/e
        at a tenth separated, ``below`` lift below 12 times the camber (about the ideal lift of a circular
        arc: there the lower side begins to separate), ``low`` and ``high`` how far below and above Reynolds
        number 3e5, ``arch`` camber above 3.5 %, ``laminar`` x/c of the upper transition, ``peak`` 1 where
        that is at the nose and 0 from `PEAK_X` on: a bubble behind the suction peak, ``idle`` how far a
        strip is without effect.
    where : Regime
    cl, separation, transition, re_theta : ndarray, shape (m,)
        Lift, x/c of separation and transition on the upper side and the momentum-thickness Reynolds number
        at transition, as computed.
    """
    aft = np.clip(1.0 - separation, 0.0, MOST_SEPARATED)
    below = np.clip(IDEAL_LIFT * (0.03 * where.camber + 0.035) - cl, 0.0, MOST_BELOW)
    start, end = np.log(np.array(IDLE_REYNOLDS) / REFERENCE_REYNOLDS)
    idle = where.trip * _ramp(-where.re, -end, -start) * np.interp(re_theta, IDLE_RE_THETA, (1.0, 0.0))
    values = {
        "1": 1.0, "re": where.re, "low": max(-where.re, 0.0), "high": max(where.re, 0.0),
        "trip": where.trip, "camber": where.camber, "arch": max(where.camber, 0.0),
        "nose": where.nose, "cl": np.clip(cl, -0.3, None),
        "s": aft, "attached": np.exp(-10.0 * aft), "below": below,
        "laminar": transition, "peak": np.clip(1.0 - transition / PEAK_X, 0.0, 1.0), "idle": idle,
    }  # fmt: skip
    columns = [np.ones(np.shape(cl)) for _ in names]
    for column, name in zip(columns, names, strict=True):
        for factor in name.split():
            column *= values[factor]
    return np.stack(columns, axis=-1)


@cache
def record_fit() -> dict:
    """The fit: coefficients of lift, drag and both bands, and the rule in words."""
    return json.loads(Path(__file__).with_name("record_fit.json").read_text())


@cache
def ground_fit() -> dict:
    """Coefficient ``lift`` of the ground step, the rule, and what is left of measurements ``left_out``."""
    return json.loads(Path(__file__).with_name("ground_fit.json").read_text())


def ground_shape(polar: SectionPolar) -> np.ndarray:
    """What the ground step's coefficient multiplies, shape (k, m); zero where nothing separates."""
    near = towards_ground(polar) * min(polar.height_chord / LOW_GROUND, 1.0)
    separation = np.asarray(polar.separation_upper)
    turbulent = np.clip(separation - polar.transition_upper, 0.0, None)
    return near * np.nan_to_num((1.0 - separation) * turbulent)


def record_tables(polar: SectionPolar, row: int) -> dict[str, np.ndarray]:
    """Tables of one Reynolds number of a coupled polar that has its section, separation and transition.

    Downward lift was hardly measured: a cambered section's correction is gone from cl = -0.6 on. A
    symmetrical one's passes into that of its mirror image, so that turned over it has the same polar.

    Returns
    -------
    dict of ndarray
        For each of `TERMS` what its coefficients multiply, shape ``(m, terms)``; ``inside`` and ``high`` as
        in `Regime`, weighted by which way the point lifts, shape ``(m,)``.
    """
    assert polar.section is not None
    cl, mirrored = polar.cl[row], _mirrored(polar.section)
    trip_x = trip_of(polar.surface, polar.trip_x)
    cambered, symmetrical = np.clip((cl + 0.6) / 0.35, 0.0, 1.0), np.clip(2.0 * cl + 0.5, 0.0, 1.0)
    own = cambered + mirrored * (symmetrical - cambered)
    other = mirrored * (1.0 - own)
    tables: dict[str, np.ndarray] = {}
    for outline, sign, side, share, band_share in (
        (polar.section, 1.0, "upper", own, 1.0 - other),
        (turned_over(polar.section), -1.0, "lower", other, other),
    ):
        where = regime(outline, float(polar.reynolds[row]), trip_x, polar.height_chord)
        separation, transition, re_theta = (
            getattr(polar, f"{of}_{side}")[row] for of in ("separation", "transition", "re_theta")
        )
        at = (where, sign * cl, np.nan_to_num(separation, nan=1.0), transition, re_theta)
        on_tripped = np.isin(TERMS["drag"], TRIPPED_DRAG)
        weights = {
            "lift": (sign * share * where.lift * (1.0 - (1.0 - TRIPPED_LIFT) * where.trip))[:, None],
            "drag": (share * where.inside)[:, None] * np.where(on_tripped, 1.0, 1.0 - where.trip),
            "lift_band": band_share[:, None],
            "drag_band": band_share[:, None],
        }
        parts = {name: weight * terms(TERMS[name], *at) for name, weight in weights.items()}
        parts |= {"inside": share * where.inside, "high": share * where.high}
        tables = {name: tables.get(name, 0.0) + part for name, part in parts.items()}
    return tables


def _mirrored(section: Section) -> float:
    """How far the mirror image counts: 1 for a symmetrical section, 0 from `SYMMETRICAL_CAMBER` on."""
    return _ramp(abs(thickness_camber(section)[1]), 0.0, SYMMETRICAL_CAMBER)


def with_record(polar: SectionPolar, fit: dict[str, list[float]] | None = None) -> SectionPolar:
    """The same polar corrected by the record, with the record's band.

    Parameters
    ----------
    polar : SectionPolar
        Of the coupled solver, without a tab.
    fit : dict, optional
        Coefficients ``lift``, ``drag``, ``lift_band`` and ``drag_band`` in place of those of `record_fit`.
    """
    assert polar.section is not None
    fit = fit or record_fit()
    rows = [record_tables(polar, row) for row in range(len(polar.reynolds))]
    lift, drag, lift_band, drag_band = (
        np.stack([row[name] @ np.array(fit[name]) for row in rows]) for name in TERMS
    )
    inside, high = (np.stack([row[name] for row in rows]) for name in ("inside", "high"))
    plain_cl, cd = polar.cl + lift, polar.cd * np.exp(drag)
    ground = ground_fit()["lift"] * ground_shape(polar)  # the band keeps the value without
    cl = plain_cl + ground
    wider = np.where(high > 0, 1.0, OUTSIDE_BAND)
    two = polar.status == TWO_SOLUTIONS

    def edge(value, own_edge, own_value, half, sign):
        outside = wider * np.abs(own_edge - own_value)
        reach = np.where(two, np.maximum(half, outside), inside * half + (1.0 - inside) * outside)
        return value + sign * reach

    cl_low, cl_high = (
        edge(plain_cl, limit, polar.cl, lift_band, sign)
        for limit, sign in ((polar.cl_low, -1), (polar.cl_high, 1))
    )
    camber = abs(thickness_camber(polar.section)[1])
    open_bubble = polar.reynolds < max(below for below, least in OPEN_BUBBLE if camber >= least)
    lower_peak = (np.asarray(polar.transition_lower) < LOWER_PEAK_X) & (cl > 0)
    lower_peak &= camber >= LOWER_PEAK_CAMBER and trip_of(polar.surface, polar.trip_x) > LOWER_PEAK_X
    status = _status(polar, cl)
    status[(open_bubble[:, None] | lower_peak) & (status == CONVERGED)] = LOW_CONFIDENCE
    return replace(
        polar,
        cl=cl,
        cd=cd,
        status=status,
        method="corrected",
        circulation=None if polar.circulation is None else polar.circulation + lift + ground,
        cl_low=cl_low,
        cl_high=cl_high + np.clip(cl + plain_cl - cl_low - cl_high, 0.0, ground),
        cd_low=edge(cd, polar.cd_low, polar.cd, -np.expm1(-drag_band) * cd, -1),
        cd_high=edge(cd, polar.cd_high, polar.cd, np.expm1(drag_band) * cd, 1),
        band_origin=record_fit()["band"],
        notes=_notes(polar, ground, inside, open_bubble.any(), lower_peak.any()),
    )


def _status(polar: SectionPolar, cl: np.ndarray) -> np.ndarray:
    """Status by the corrected curve; what says more than the shape of the curve is kept."""
    status = np.array(polar.status, dtype=object)
    plain = np.isin(status, (CONVERGED, BEYOND_STALL))
    assert polar.section is not None
    signs = (1, -1) if _mirrored(polar.section) else (1,)
    for sign in signs:
        aft = np.asarray(polar.separation_upper if sign > 0 else polar.separation_lower)
        shaped = status_from_shape(sign * polar.alpha_deg[::sign], sign * cl[:, ::sign], aft[:, ::sign])
        shaped = np.where(aft < SEPARATED_X, BEYOND_STALL, shaped[:, ::sign])
        lifting = plain & (sign * cl > 0)
        status[lifting] = shaped[lifting]
    return status


def _notes(polar, ground, inside, open_bubble, lower_peak) -> tuple[str, ...]:
    """Those of the polar and the correction; the ground step's replaces the solver's on a tripped layer."""
    notes = list(polar.notes)
    if (most := ground.max(initial=0.0)) >= NOTED_CL:
        notes = [note for note in notes if note != GROUND_TRIPPED_NOTE] + [WORDS["ground"].format(most=most)]
    notes += [WORDS["open_bubble"]] if open_bubble else []
    notes += [WORDS["lower_peak"]] if lower_peak else []
    if np.any(inside < INSIDE):
        which = "some points lie" if np.any(inside > 0.0) else "all points lie"
        notes.append(f"{which} outside the measurements behind the correction; the band is wider")
    return tuple(notes)
