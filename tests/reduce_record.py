"""Write tests/data/section_record.csv: figures of measured curves, a row a curve, from a folder of curves.

    python tests/reduce_record.py FOLDER

The folder holds CSV files with the columns section, collection_name, Re, surface, kind (lift or drag),
branch (up or down), alpha_deg, cl, cd, comments in front. Only the way up is used. Points of one section,
surface and file whose Reynolds numbers lie within 5.5 % are one curve; where a finer run of lift alone has
eight points, lift comes from it, drag from the points with drag. Flapped and vortex-generator models are left
out, and two models whose outlines cannot be those that were tested.
"""

import csv
import re
import sys
from dataclasses import astuple, dataclass
from pathlib import Path

import numpy as np

from wingtool.section.figures import FIGURES, curve_figures

FILES = {
    "uiuc_vol1": "Selig et al., Summary of Low-Speed Airfoil Data, vol. 1, 1995",
    "uiuc_vol2": "Selig et al., Summary of Low-Speed Airfoil Data, vol. 2, 1996",
    "uiuc_vol3_selection": "Lyon et al., Summary of Low-Speed Airfoil Data, vol. 3, 1998",
    "uiuc_vol4_selection": "Selig & McGranahan, NREL/SR-500-34515, 2004",
    "s809_osu": "Reuss Ramsay et al., NREL/TP-442-7817, 1995",
    "s809_csu_dut": "Hand et al., NREL/TP-500-29955, 2001 (Colorado, Delft)",
    "naca4415_osu_part": "Hoffmann et al., NREL/TP-442-7815, 1996, a part",
}
LEFT_OUT = ("MA409", "BE50")  # coordinates a degree off at zero lift: not the tested models
OTHER_MODELS = ("flap = 5", "flap = 10", "reflexed", "vortex")
SAME_REYNOLDS, LEAST_POINTS, LEAST_LIFT_POINTS = 1.055, 7, 8
SENTENCE = "This data was produced under the UIUC Low-Speed Airfoil Tests program."
COLUMNS = ("source", "section", "collection_name", "reynolds", "surface", "trip_upper_x", "trip_lower_x",
           "tab_chord", *FIGURES)  # fmt: skip
OUT = Path(__file__).parent / "data" / "section_record.csv"


@dataclass(frozen=True, eq=False)
class Curve:
    """One measured curve; `trip_x` of upper and lower side, 1 where free."""

    source: str
    section: str
    collection_name: str
    reynolds: float
    surface: str
    trip_x: tuple[float, float]
    tab_chord: float
    alpha_deg: np.ndarray
    cl: np.ndarray
    drag_alpha_deg: np.ndarray
    drag_cl: np.ndarray
    drag_cd: np.ndarray


def surface_of(text: str) -> tuple[str, tuple[float, float], float] | None:
    """Class, trips and tab of a source's own words; None where the outline is not that of the section."""
    low = text.lower()
    if any(word in low for word in OTHER_MODELS):
        return None
    tab = re.search(r"gurney flap \(h/c = ([\d.]+)%", low)
    if tab:
        return "clean", (1.0, 1.0), float(tab[1]) / 100
    if low.startswith("zigzag") or "u.s." in low:
        return "tripped", (0.02, 0.05), 0.0
    aft = re.search(r"x/c = ([\d.]+)%", low)
    return ("clean", (1.0, 1.0), 0.0) if aft is None else ("aft trip", (float(aft[1]) / 100, 1.0), 0.0)


def curves(folder: Path) -> list[Curve]:
    """All curves of a folder."""
    found: dict[tuple, list[tuple]] = {}
    for file in FILES:
        with open(folder / f"{file}.csv") as lines:
            for row in csv.DictReader(line for line in lines if not line.startswith("#")):
                kind = surface_of(row["surface"])
                left_out = row["section"] in LEFT_OUT and not (kind and kind[2])
                if kind is None or left_out or row["branch"] != "up":
                    continue
                key = (file, row["section"], row["collection_name"], row["surface"], kind)
                numbers = (float(row[name] or "nan") for name in ("Re", "alpha_deg", "cl", "cd"))
                found.setdefault(key, []).append((*numbers, row["kind"] == "lift"))
    return [curve for key, rows in found.items() for curve in _by_reynolds(key, np.array(rows))]


def _by_reynolds(key: tuple, rows: np.ndarray) -> list[Curve]:
    values = np.unique(rows[:, 0])
    groups: list[list[float]] = []
    for value in values:
        if groups and value < groups[-1][0] * SAME_REYNOLDS:
            groups[-1].append(value)
        else:
            groups.append([value])
    chosen = [rows[np.isin(rows[:, 0], group)] for group in groups]
    return [_curve(key, part) for part in chosen if len(part) >= LEAST_POINTS]


def _curve(key: tuple, rows: np.ndarray) -> Curve:
    file, section, name, _, (surface, trip, tab) = key
    rows = rows[np.argsort(rows[:, 1], kind="stable")]
    lift = np.isfinite(rows[:, 2])
    only = lift & (rows[:, 4] == 1)
    use = only if only.sum() >= LEAST_LIFT_POINTS else lift
    alpha = np.unique(rows[use, 1].round(2))
    cl = np.array([rows[use & (rows[:, 1].round(2) == angle), 2].mean() for angle in alpha])
    drag = np.isfinite(rows[:, 3])
    reynolds = float(np.median(rows[:, 0]))
    return Curve(file, section, name, reynolds, surface, trip, tab, alpha, cl, *rows[drag, 1:4].T)


def main(folder: Path) -> None:
    """Write the file."""
    with open(OUT, "w", newline="") as out:
        out.write("# Measured section curves in figures, a row a curve; blank where one does not reach.\n")
        out.write(f"# {SENTENCE}\n# Written by tests/reduce_record.py, which says how; columns as in ")
        out.write("wingtool/section/figures.py. Sources read in public copies of the published tables:\n")
        out.writelines(f"# {name}: {source}.\n" for name, source in FILES.items())
        table = csv.writer(out, lineterminator="\n")
        table.writerow(COLUMNS)
        for one in curves(folder):
            figures = astuple(curve_figures(one.alpha_deg, one.cl, one.drag_cl, one.drag_cd))
            words = ["" if np.isnan(value) else f"{value:.4g}" for value in figures]
            head = (one.source, one.section, one.collection_name, f"{one.reynolds:.0f}", one.surface)
            table.writerow((*head, *one.trip_x, one.tab_chord, *words))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
