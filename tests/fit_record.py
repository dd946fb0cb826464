"""Fit the correction and band of wingtool/section/record.py to measured curves; write record_fit.json.

    python tests/fit_record.py FOLDER

FOLDER as in reduce_record.py. Rule. Lift: measured less computed at equal angle, up to 4 degrees behind the
measured greatest lift; points within 2.5 degrees of it count three times; each curve counts the same.
Drag: ln(measured/computed) at equal lift, after the lift is corrected. Both by least squares with Huber's
weights (beyond 0.08) and a ridge of 0.003 and 0.01 of the scaled squares. Band: quantile regression (95 %) of
the absolute differences that are left when each section in turn is left out, coefficients not negative.
"""

import json
import sys
from pathlib import Path

import numpy as np
from reduce_record import Curve, curves

import wingtool.section.record as record
from wingtool.errors import WingtoolError
from wingtool.geometry import find_section
from wingtool.section.record import (
    DRAG_BAND_TERMS,
    DRAG_TERMS,
    LIFT_BAND_TERMS,
    LIFT_TERMS,
    regime,
    terms,
)

OUT = Path(record.__file__).with_name("record_fit.json")
RIDGE = {"lift": 3e-3, "drag": 1e-2}
HUBER, BEHIND_TOP_DEG, TOP_DEG, TOP_WEIGHT = 0.08, 4.0, 2.5, 3.0
LEAST_CL, LEAST_DRAG_CL, LEAST_POINTS, COVER = -0.25, -0.2, 3, 0.95
Case = tuple[Curve, record.Regime, dict[str, np.ndarray]]
Points = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def cases(folder: Path) -> list[Case]:
    """Curves, and what the solver computes: alpha, cl, cd, separation and transition of the upper side."""
    from wingtool.section.coupled.flow import prepare
    from wingtool.section.coupled.march import sweep
    from wingtool.section.coupled.polar import columns
    from wingtool.section.surface import surface_state

    found = []
    for curve in curves(folder):
        name = curve.collection_name
        if curve.tab_chord:
            continue
        try:
            section = find_section(str(folder / name) if name.endswith(".dat") else name)
        except WingtoolError:
            continue
        alpha = np.arange(np.floor(curve.alpha_deg.min()), min(np.ceil(curve.alpha_deg.max()) + 5, 24.0))
        state = surface_state("smooth")
        rows = columns(sweep(prepare(section), curve.reynolds, state, alpha, curve.trip_x))
        computed = {"alpha": alpha, "cl": rows["cl"], "cd": rows["cd"]}
        computed |= {key: rows[f"{key}_upper"] for key in ("separation", "transition")}
        found.append((curve, regime(section, curve.reynolds, curve.trip_x[0]), computed))
    return found


def lift_points(case: Case) -> Points:
    """Angles, terms, differences and weights of one curve's lift points."""
    curve, where, computed = case
    known = np.isfinite(computed["cl"])
    alpha = computed["alpha"][known]
    top = curve.alpha_deg[np.argmax(curve.cl)] if len(curve.cl) else 0.0
    measured = (curve.cl > LEAST_CL) & (curve.alpha_deg >= alpha[0])
    measured &= curve.alpha_deg <= min(alpha[-1], top + BEHIND_TOP_DEG)
    at = curve.alpha_deg[measured]
    weight = np.where(np.abs(at - top) < TOP_DEG, TOP_WEIGHT, 1.0)
    return at, _at(LIFT_TERMS, case, at), curve.cl[measured] - _value(case, "cl", at), weight


def drag_points(case: Case, lift: np.ndarray) -> Points:
    """The same of ln(cd), at equal lift, after a correction of lift."""
    curve, where, computed = case
    known = np.isfinite(computed["cl"])
    alpha = computed["alpha"][known]
    corrected = computed["cl"][known] + where.inside * (_at(LIFT_TERMS, case, alpha, 1.0) @ lift)
    rising = slice(0, int(np.argmax(corrected)) + 1)
    cl = np.maximum.accumulate(corrected[rising] + 1e-9 * alpha[rising])
    top = curve.alpha_deg[np.argmax(curve.cl)] if len(curve.cl) > 5 else np.inf
    use = np.isfinite(curve.drag_cl) & (curve.drag_cl > max(LEAST_DRAG_CL, cl[0])) & (curve.drag_cl < cl[-1])
    use &= curve.drag_alpha_deg <= top + 0.5
    at = np.interp(curve.drag_cl[use], cl, alpha[rising])
    left = np.log(curve.drag_cd[use] / _value(case, "cd", at))
    return at, _at(DRAG_TERMS, case, at), left, np.ones(len(at))


def _at(names: tuple[str, ...], case: Case, at: np.ndarray, inside: float | None = None) -> np.ndarray:
    _, where, computed = case
    known = np.isfinite(computed["cl"])
    rows = [computed[key][known] for key in ("cl", "separation", "transition")]
    table = (where.inside if inside is None else inside) * terms(names, where, *rows)
    alpha = computed["alpha"][known]
    return np.stack([np.interp(at, alpha, column) for column in table.T], axis=-1)


def _value(case: Case, name: str, at: np.ndarray) -> np.ndarray:
    known = np.isfinite(case[2]["cl"])
    return np.interp(at, case[2]["alpha"][known], case[2][name][known])


def ridge(points: list[Points], strength: float) -> np.ndarray:
    """Coefficients by ridge with Huber's weights; each curve counts the same."""
    points = [part for part in points if len(part[0]) >= LEAST_POINTS]
    table, wanted = (np.concatenate([part[k] for part in points]) for k in (1, 2))
    weight = np.concatenate([part[3] / part[3].sum() for part in points])
    found = np.zeros(table.shape[1])
    for turn in range(10):
        left = np.abs(wanted - table @ found)
        now = weight * (np.minimum(1.0, HUBER / np.maximum(left, 1e-9)) if turn else 1.0)
        scale = np.sqrt((now[:, None] * table**2).sum(0) / now.sum()) + 1e-12
        scaled = table / scale
        square = scaled.T @ (now[:, None] * scaled) + strength * now.sum() * np.eye(len(scale))
        found = np.linalg.solve(square, scaled.T @ (now * wanted)) / scale
    return found


def quantile(table: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Coefficients, none negative, of a quantile (Koenker & Bassett, Econometrica 46, 1978)."""
    from scipy.optimize import linprog

    count, terms_ = table.shape
    cost = np.concatenate([np.zeros(terms_), np.full(count, COVER), np.full(count, 1 - COVER)])
    equal = np.hstack([table, np.eye(count), -np.eye(count)])
    return linprog(cost, A_eq=equal, b_eq=size, bounds=(0, None), method="highs").x[:terms_]


def fit(all_cases: list[Case]) -> dict:
    """Coefficients of the whole record, and what is left where sections are left out in turn."""
    names = sorted({case[0].section for case in all_cases})
    left: dict[str, list] = {"lift": [], "drag": []}
    shapes: dict[str, list] = {"lift": [], "drag": []}
    for name in names:
        others = [case for case in all_cases if case[0].section != name]
        lift, drag = _both(others)
        for case in (case for case in all_cases if case[0].section == name):
            for key, band, part, found in (
                ("lift", LIFT_BAND_TERMS, lift_points(case), lift),
                ("drag", DRAG_BAND_TERMS, drag_points(case, lift), drag),
            ):
                angles, table, wanted, _ = part
                if len(angles) >= LEAST_POINTS:
                    left[key].append(np.abs(wanted - table @ found))
                    shapes[key].append(_at(band, case, angles, 1.0))
    lift, drag = _both(all_cases)
    bands = {
        key: quantile(np.concatenate(shapes[key]), np.concatenate(left[key])) for key in ("lift", "drag")
    }
    rms = {key: float(np.sqrt(np.mean(np.concatenate(part) ** 2))) for key, part in left.items()}
    return {
        "rule": __doc__.split("Rule. ")[1].strip().replace("\n", " "),
        "band": "measured record: 95 % of 163 curves of 34 sections, each left out in turn, lie inside",
        "sections_left_out_rms": {key: round(value, 4) for key, value in rms.items()},
        "lift": [round(float(value), 5) for value in lift],
        "drag": [round(float(value), 5) for value in drag],
        "lift_band": [round(float(value), 4) for value in bands["lift"]],
        "drag_band": [round(float(value), 4) for value in bands["drag"]],
    }


def _both(some: list[Case]) -> tuple[np.ndarray, np.ndarray]:
    lift = ridge([lift_points(case) for case in some], RIDGE["lift"])
    return lift, ridge([drag_points(case, lift) for case in some], RIDGE["drag"])


if __name__ == "__main__":
    OUT.write_text(json.dumps(fit(cases(Path(sys.argv[1]))), indent=1) + "\n")
