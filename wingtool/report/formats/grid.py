"""The rows of a table laid on its grid."""

import numpy as np

from wingtool.errors import OutputError
from wingtool.report.tables.table import Table


def grid_order(table: Table) -> tuple[dict[str, np.ndarray], np.ndarray, tuple[int, ...]]:
    """Breakpoints by axis, the order of the rows with the last axis fastest, and the shape of the grid.

    Raises
    ------
    OutputError
        The rows are no full grid.
    """
    unique = [
        np.unique(np.array(table.column(name), dtype=float), return_inverse=True) for name in table.grid
    ]
    shape = tuple(len(points) for points, _ in unique)
    flat = np.ravel_multi_index(tuple(place for _, place in unique), shape) if shape else np.array([])
    if not shape or len(flat) != np.prod(shape) or len(np.unique(flat)) != len(flat):
        raise OutputError(f"table {table.name!r} is no full grid; write it as CSV instead")
    points = {name: u[0] for name, u in zip(table.grid, unique, strict=True)}
    return points, np.argsort(flat), shape
