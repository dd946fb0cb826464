"""Fit the ground step of wingtool/section/record.py to a measured wing; write ground_fit.json.

    python tests/fit_ground.py FOLDER

FOLDER holds `zerihan_single_height.csv` (h_over_c, CL_free, CL_fixed), comments in front. Prints the errors
with and without, and of heights, transitions and quantities left out. About two minutes on a quiet core.

Rule: see `RULE`. Left out: each height; either transition; and what the fit never sees: the gain from 0.671
chord to the greatest over height at 3, 5 and 7 degrees and the greatest at 0.134 chord, free transition.
"""

import json
import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import BarycentricInterpolator
from scipy.optimize import minimize_scalar
from test_wing_ground import measured_wing

from wingtool.geometry import collection_section
from wingtool.section import Question, polars, record
from wingtool.wing import solve_wing

RULE = (
    "Least squares of computed over measured downforce less one of one plated wing at all heights given"
    " below one chord, free and fixed transition alike; the angle matched at 3.36 chord (free), at one"
    " chord (fixed)."
)
OUT = Path(record.__file__).with_name("ground_fit.json")
TRIALS = np.array([0.0, 1.5, 3.0, 4.5])  # coefficients; a cubic runs through what they give
MATCHED, TRIP_X = {"free": 3.36, "fixed": 1.0}, {"free": None, "fixed": 0.1}
WING_DEG, SECTION_DEG, QUOTED_DEG = np.arange(4.0, 20.0, 0.5), np.arange(-1.0, 21.0), 1.0
# J. Zerihan, PhD thesis, Univ. of Southampton (2001), sections 3.2, 5.2.1 and 6.3, second hand.
GAINS, GAIN_FROM, GREATEST, GREATEST_AT = {3.0: 0.82, 5.0: 0.75, 7.0: 0.70}, 0.671, 2.26, 0.134


def downforce(trip_x: float | None, heights: np.ndarray) -> np.ndarray:
    """Downforce coefficients, shape (trials, heights, angles of `WING_DEG`)."""
    section, reynolds = collection_section("ls413"), np.array([4.5e5])
    asked = [Question(section, reynolds, SECTION_DEG, "smooth", trip_x, 0.0, height) for height in heights]
    solved = polars(asked, "coupled")
    found = []
    for trial in TRIALS:
        record.ground_fit()["lift"] = trial
        wings = zip(heights, map(record.with_record, solved), strict=True)
        found.append([solve_wing(measured_wing(h), one, WING_DEG, [30.0]).CL[0] for h, one in wings])
    return np.array(found)


def compare(folder: Path) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray], np.ndarray]:
    """Computed over measured less one by trial: all heights, what no fit sees; and the heights."""
    lines = (folder / "zerihan_single_height.csv").read_text().splitlines()
    numbers = [line.rsplit(",", 1)[0] for line in lines if line[0] != "#"]
    rows = np.genfromtxt(numbers, delimiter=",", names=True)
    heights, errors, unseen = rows["h_over_c"], {}, {}
    for name, matched in MATCHED.items():
        measured, computed = rows[f"CL_{name}"], downforce(TRIP_X[name], heights)
        row = int(np.flatnonzero(heights == matched)[0])
        angle = np.interp(measured[row], computed[0, row], WING_DEG)
        there = np.array([[np.interp(angle, WING_DEG, cl) for cl in trial] for trial in computed])
        errors[name] = (there / measured - 1.0)[:, heights < 1.0]
        if name == "free":
            for quoted, gain in GAINS.items():
                cl = computed[:, :, np.argmin(np.abs(WING_DEG - angle - quoted + QUOTED_DEG))]
                found = cl.max(axis=1) - cl[:, heights == GAIN_FROM][:, 0]
                unseen[f"gain at {quoted:g} degrees"] = found / gain - 1.0
            greatest = computed[:, heights == GREATEST_AT][:, 0].max(axis=1)
            unseen[f"greatest at {GREATEST_AT:g} chord"] = greatest / GREATEST - 1.0
    return errors, unseen, heights[heights < 1.0]


def at(table: np.ndarray, coefficient: float) -> np.ndarray:
    """Values at a coefficient, between the trials of the first axis."""
    return BarycentricInterpolator(TRIALS, table)(coefficient)


def fitted(errors: np.ndarray) -> float:
    """Coefficient with the least squares of errors, shape (trials, n), those not measured left away."""
    known = errors[:, np.isfinite(errors[0])]
    ends = TRIALS[[0, -1]]
    return float(minimize_scalar(lambda one: np.sum(at(known, one) ** 2), bounds=ends, method="bounded").x)


def per_cent(errors: np.ndarray) -> list[float | None]:
    """Errors in whole per cent, none where not measured."""
    return [None if np.isnan(one) else round(100.0 * one) for one in errors]


def fit(folder: Path) -> dict:
    """Coefficient, errors [%] with and without, and errors of what was left out."""
    errors, unseen, heights = compare(folder)
    best = fitted(np.hstack(list(errors.values())))
    rests = [np.hstack([table[:, heights != one] for table in errors.values()]) for one in heights]
    by_height = {
        name: per_cent(np.array([at(table[:, i], fitted(rest)) for i, rest in enumerate(rests)]))
        for name, table in errors.items()
    }
    gains = np.stack(list(unseen.values()), axis=1)
    others = {
        "free by fixed": (errors["free"], errors["fixed"]),
        "fixed by free": (errors["fixed"], errors["free"]),
        "fixed by gains": (errors["fixed"], gains),
    }
    left = {name: (fitted(rest), table) for name, (table, rest) in others.items()}
    return {
        "rule": RULE,
        "lift": round(best, 3),
        "heights": heights.tolist(),
        "without": {name: per_cent(table[0]) for name, table in errors.items()},
        "with": {name: per_cent(at(table, best)) for name, table in errors.items()},
        "left_out": by_height
        | {name: [round(one, 2), per_cent(at(table, one))] for name, (one, table) in left.items()},
        "unseen": {name: per_cent(at(table, np.array([0.0, best]))) for name, table in unseen.items()},
    }


def main(folder: Path) -> None:
    """Write the fit, an entry a line."""
    lines = [f" {json.dumps(name)}: {json.dumps(value)}" for name, value in fit(folder).items()]
    OUT.write_text("{\n" + ",\n".join(lines) + "\n}\n")
    print(OUT.read_text())


if __name__ == "__main__":
    main(Path(sys.argv[1]))
