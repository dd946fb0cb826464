"""Fit the correction and band of wingtool/section/record.py to measured curves; write record_fit.json.

    python tests/fit_record.py FOLDER [JOBS]

FOLDER as in reduce_record.py. Prints the errors of the solver, of the fit and of sections left out, and how
many points lie in the band of a fit without the section. About 9 minutes on two quiet cores.

Rule. Lift: measured less computed at equal angle, up to 4 degrees behind the measured greatest lift; points
within 2.5 degrees of it count three times; each curve counts the same. Drag: ln(measured/computed) at equal
lift, after the lift is corrected. Both by least squares with Huber's weights (beyond 0.08 and 0.4) and a
ridge of 0.01 of the scaled squares. Band: quantile regression (95 %) of the absolute differences that are
left when each section in turn is left out, coefficients not negative. A section's own errors come from the
same steps, bands included, without it.
"""

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from reduce_record import Curve, curves

import wingtool.section.figures as figures
import wingtool.section.record as record
from wingtool.errors import WingtoolError
from wingtool.geometry import find_section
from wingtool.report.checks.record import SHORT
from wingtool.section import Question, SectionPolar, curve_figures
from wingtool.section.record import record_tables
from wingtool.study.section.parallel import polars_in_parallel
from wingtool.study.trust.record import (
    ANGLES_DEG,
    QUANTITIES,
    REYNOLDS_REGIMES,
    mean_and_rms,
    polar_figures,
)

OUT = Path(record.__file__).with_name("record_fit.json")
RIDGE = 1e-2  # of 1e-3 to 0.1 the one with the least error when twelve sections are left out at once
HUBER = {"lift": 0.08, "drag": 0.4}
BEHIND_TOP_DEG, TOP_DEG, TOP_WEIGHT = 4.0, 2.5, 3.0
LEAST_CL, LEAST_DRAG_CL, LEAST_POINTS, COVER = -0.25, -0.2, 3, 0.95
Fitted = dict[str, np.ndarray]


@dataclass(frozen=True, eq=False)
class Case:
    """A measured curve, what the solver computes for it (angles with a solution), and its tables."""

    curve: Curve
    polar: SectionPolar
    tables: dict[str, np.ndarray]

    @property
    def top_deg(self) -> float:
        """Angle of the greatest measured lift."""
        return self.curve.alpha_deg[np.argmax(self.curve.cl)] if len(self.curve.cl) else np.inf

    def at(self, alpha_deg: np.ndarray, values: np.ndarray) -> np.ndarray:
        """Values of the polar's angles, rows or one, between them."""
        alpha = self.polar.alpha_deg
        columns = [np.interp(alpha_deg, alpha, column) for column in np.atleast_2d(values.T)]
        return np.stack(columns, axis=-1) if values.ndim == 2 else columns[0]


@dataclass(frozen=True, eq=False)
class Points:
    """Points of one curve that a fit takes: differences, their terms and those of the band, weights.

    `linear_from` is the difference from which Huber's weights fall.
    """

    alpha_deg: np.ndarray
    wanted: np.ndarray
    terms: np.ndarray
    band: np.ndarray
    weight: np.ndarray
    linear_from: float


def cases(folder: Path, jobs: int = 1) -> list[Case]:
    """Curves without a tab whose outline is at hand, computed together."""
    kept, asked = [], []
    for curve in sorted(curves(folder), key=lambda one: one.collection_name):  # so rows share their flows
        name, trip = curve.collection_name, curve.trip_x[0]
        if curve.tab_chord:
            continue
        try:
            section = find_section(str(folder / name) if name.endswith(".dat") else name)
        except WingtoolError:
            continue
        kept.append(curve)
        reynolds, trip_x = np.array([curve.reynolds]), trip if trip < 1 else None
        asked.append(Question(section, reynolds, ANGLES_DEG, "smooth", trip_x))
    polars = polars_in_parallel(asked, "coupled", jobs, progress=lambda done: print(done, file=sys.stderr))
    return [case for pair in zip(kept, polars, strict=True) if (case := case_of(*pair)) is not None]


def case_of(curve: Curve, polar: SectionPolar) -> Case | None:
    """A case; none where the solver has hardly a point."""
    known = np.isfinite(polar.cl[0])
    if known.sum() < LEAST_POINTS:
        return None
    polar = polar.only(polar.alpha_deg[known])
    return Case(curve, polar, record_tables(polar, 0))


@cache
def lift_points(case: Case) -> Points:
    """Lift points of one curve."""
    curve, alpha = case.curve, case.polar.alpha_deg
    measured = (curve.cl > LEAST_CL) & (curve.alpha_deg >= alpha[0])
    measured &= curve.alpha_deg <= min(alpha[-1], case.top_deg + BEHIND_TOP_DEG)
    at, tables = curve.alpha_deg[measured], case.tables
    return Points(
        at,
        curve.cl[measured] - case.at(at, case.polar.cl[0]),
        case.at(at, tables["lift"]),
        case.at(at, tables["lift_band"]),
        np.where(np.abs(at - case.top_deg) < TOP_DEG, TOP_WEIGHT, 1.0),
        HUBER["lift"],
    )


def drag_points(case: Case, lift: np.ndarray) -> Points:
    """The same of ln(cd), at equal lift, after a correction of lift."""
    curve, alpha, tables = case.curve, case.polar.alpha_deg, case.tables
    corrected = case.polar.cl[0] + tables["lift"] @ lift
    rising = slice(0, int(np.argmax(corrected)) + 1)
    cl = np.maximum.accumulate(corrected[rising] + 1e-9 * alpha[rising])
    use = (curve.drag_cl > max(LEAST_DRAG_CL, cl[0])) & (curve.drag_cl < cl[-1])
    use &= curve.drag_alpha_deg <= case.top_deg + 0.5
    at = np.interp(curve.drag_cl[use], cl, alpha[rising])
    wanted = np.log(curve.drag_cd[use] / case.at(at, case.polar.cd[0]))
    ones = np.ones(len(at))
    return Points(
        at, wanted, case.at(at, tables["drag"]), case.at(at, tables["drag_band"]), ones, HUBER["drag"]
    )


def ridge(points: list[Points], strength: float) -> np.ndarray:
    """Coefficients by ridge with Huber's weights; each curve counts the same."""
    points = [part for part in points if len(part.wanted) >= LEAST_POINTS]
    table, wanted = (np.concatenate([getattr(part, k) for part in points]) for k in ("terms", "wanted"))
    weight = np.concatenate([part.weight / part.weight.sum() for part in points])
    bend = points[0].linear_from
    found = np.zeros(table.shape[1])
    for turn in range(10):
        left = np.abs(wanted - table @ found)
        now = weight * (np.minimum(1.0, bend / np.maximum(left, 1e-9)) if turn else 1.0)
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


def coefficients(some: list[Case]) -> Fitted:
    """Coefficients of lift, and of drag after that."""
    lift = ridge([lift_points(case) for case in some], RIDGE)
    return {"lift": lift, "drag": ridge([drag_points(case, lift) for case in some], RIDGE)}


def remaining(case: Case, fitted: Fitted) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """What is left of a curve's points of lift and drag, and the terms of the band there."""
    found = {"lift": lift_points(case), "drag": drag_points(case, fitted["lift"])}
    return {key: (np.abs(one.wanted - one.terms @ fitted[key]), one.band) for key, one in found.items()}


def with_bands(some: list[Case], without: Callable[[str], Fitted]) -> Fitted:
    """Coefficients of both bands; `without` gives the coefficients when a section is left out as well."""
    left = [remaining(case, without(case.curve.section)) for case in some]
    parts = {
        key: [np.concatenate(part) for part in zip(*(one[key] for one in left), strict=True)] for key in HUBER
    }
    return {f"{key}_band": quantile(table, size) for key, (size, table) in parts.items()}


def corrected(case: Case, fitted: Fitted | None) -> SectionPolar:
    """The case's polar with these coefficients."""
    if fitted is None:
        return case.polar
    cl = case.polar.cl + case.tables["lift"] @ fitted["lift"]
    return replace(case.polar, cl=cl, cd=case.polar.cd * np.exp(case.tables["drag"] @ fitted["drag"]))


def fit(some: list[Case]) -> dict:
    """Coefficients of the whole record and of the record less each section, with their bands."""
    names = sorted({case.curve.section for case in some})

    @cache
    def less(*out: str) -> Fitted:
        return coefficients([case for case in some if case.curve.section not in out])

    def whole(*out: str) -> Fitted:
        kept = [case for case in some if case.curve.section not in out]
        return less(*out) | with_bands(kept, lambda name: less(*sorted((*out, name))))

    fitted, left_out = whole(), {name: whole(name) for name in names}
    methods = {"coupled": dict.fromkeys(names), "fitted": dict.fromkeys(names, fitted), "left out": left_out}
    for title, by_section in methods.items():
        polars = [corrected(case, by_section[case.curve.section]) for case in some]
        print(
            f"{title}\n{scores(grouped(some, [_errors(*pair) for pair in zip(some, polars, strict=True)]))}"
        )
    inside = [in_band(case, left_out[case.curve.section]) for case in some]
    print(f"part inside the band of the fit without the section\n{scores(grouped(some, inside))}")
    count = f"{len(some)} curves of {len(names)} sections"
    return {
        "rule": __doc__.split("Rule. ")[1].strip().replace("\n", " "),
        "drag_across_jumps": across_jumps(some, left_out),
        "band": f"measured record: 95 % of points up to the greatest lift, {count}, each left out in turn",
        **rounded(fitted),
        "left_out": {name: rounded(one) for name, one in left_out.items()},
    }


def across_jumps(some: list[Case], left_out: dict[str, Fitted]) -> float:
    """Rms error [%] of drag at cl 0.5, sections left out, read across jumps too, `figures.MOST_JUMP`."""
    figures.MOST_JUMP, most_jump = np.inf, figures.MOST_JUMP
    errors = [_errors(case, corrected(case, left_out[case.curve.section])) for case in some]
    figures.MOST_JUMP = most_jump
    return round(mean_and_rms(next(iter(grouped(some, errors).values()))["cd_cl_05"])[1], 1)


def rounded(fitted: Fitted) -> dict[str, list[float]]:
    """Five decimals of correction, four of bands."""
    return {
        key: [round(float(value), 4 if key.endswith("band") else 5) for value in column]
        for key, column in fitted.items()
    }


def in_band(case: Case, fitted: Fitted) -> dict[str, np.ndarray]:
    """1 for each point up to the greatest lift inside the band, 0 outside; behind it apart."""
    left = {
        key: size <= table @ fitted[f"{key}_band"] for key, (size, table) in remaining(case, fitted).items()
    }
    behind = lift_points(case).alpha_deg > case.top_deg
    return {"lift": left["lift"][~behind], "behind": left["lift"][behind], "drag": left["drag"]}


def grouped(some: list[Case], errors: list[dict[str, np.ndarray]]) -> dict[str, dict[str, np.ndarray]]:
    """Errors by regime and figure."""
    thickness, camber = np.array([record.thickness_camber(case.polar.section) for case in some]).T
    reynolds, kind = (np.array([getattr(c.curve, name) for c in some]) for name in ("reynolds", "surface"))
    wing = (reynolds > 1.9e5) & (reynolds < 5.3e5) & (kind != "aft trip")
    groups = {
        "2e5 to 5.2e5, clean and zigzag": wing,
        "  clean": wing & (kind == "clean"),
        "  zigzag": wing & (kind == "tripped"),
        "aft trip": kind == "aft trip",
    }
    for low, high in REYNOLDS_REGIMES:
        groups[f"clean {low:g} to {high:g}"] = (reynolds >= low) & (reynolds < high) & (kind == "clean")
    for low, high in ((0.0, 0.02), (0.02, 0.042), (0.042, 0.07), (0.07, 0.2)):
        for thin, thick in ((0.0, 0.12), (0.12, 0.2)):
            inside = (camber >= low) & (camber < high) & (thickness >= thin) & (thickness < thick)
            groups[f"  camber {low}-{high} thickness {thin}-{thick}"] = wing & inside
    return {
        name: {
            figure: np.concatenate([part[figure] for part, use in zip(errors, which, strict=True) if use])
            for figure in errors[0]
        }
        for name, which in groups.items()
        if which.any()
    }


def scores(groups: dict[str, dict[str, np.ndarray]]) -> str:
    """Mean / rms (number) of the errors, a line a regime."""
    lines = [f"{'':40s}" + "  ".join(f"{figure:>21s}" for figure in next(iter(groups.values())))]
    for name, columns in groups.items():
        told = ("{:+7.3f}/{:7.3f} ({:4d})".format(*mean_and_rms(column)) for column in columns.values())
        lines.append(f"{name:40s}" + "  ".join(told))
    return "\n".join(lines)


def _errors(case: Case, polar: SectionPolar) -> dict[str, np.ndarray]:
    """Errors of the figures; lift below stall at every measured angle."""
    curve = case.curve
    seen = curve_figures(curve.alpha_deg, curve.cl, curve.drag_cl, curve.drag_cd)
    found = polar_figures(polar)
    below = (curve.cl > LEAST_CL) & (curve.alpha_deg >= polar.alpha_deg[0])
    below &= curve.alpha_deg <= min(case.top_deg - 2.0, polar.alpha_deg[-1])
    errors = {
        "below stall": np.interp(curve.alpha_deg[below], polar.alpha_deg, polar.cl[0]) - curve.cl[below]
    }
    for figure in SHORT:
        one, other = getattr(found, figure), getattr(seen, figure)
        errors[figure] = np.array([100 * (one / other - 1) if QUANTITIES[figure][1] else one - other])
    return errors


def write(found: dict) -> None:
    """A line a key, and a line a section left out."""
    lines = [f"{json.dumps(key)}: {json.dumps(value)}" for key, value in found.items() if key != "left_out"]
    parts = [f"{json.dumps(name)}: {json.dumps(one)}" for name, one in found["left_out"].items()]
    lines.append('"left_out": {\n ' + ",\n ".join(parts) + "}")
    OUT.write_text("{" + ",\n".join(lines) + "}\n")


if __name__ == "__main__":
    write(fit(cases(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1)))
