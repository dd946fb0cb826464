"""Write `tracing/fit/real_sections.csv`: mean and covariance of shape weights over the collection."""

from pathlib import Path

import numpy as np

from wingtool.geometry import kulfan
from wingtool.tracing import KULFAN_ORDER, load_index
from wingtool.tracing.likeness import STATIONS

TABLE = Path(__file__).parent.parent / "wingtool" / "tracing" / "fit" / "real_sections.csv"
HEADER = (
    "Weights of the shape functions (upper, lower, nose term) over the open collection, by least squares on\n"
    "ordinates: first row their mean, then the rows of their covariance. Written by tests/renew_sections.py"
)


def real_sections() -> np.ndarray:
    """Rows (26, 25): the mean, then the covariance."""
    columns = np.vstack(kulfan.side_rows(STATIONS, KULFAN_ORDER))[:, :-1]
    weights = load_index().rows @ np.linalg.pinv(columns, rcond=1e-4).T
    return np.vstack([weights.mean(axis=0), np.cov(weights.T)])


if __name__ == "__main__":
    np.savetxt(TABLE, real_sections(), "%.5g", ",", header=HEADER)
