"""Ground and centre plane as mirrors: what the images of all vortices do at a field point."""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from wingtool.wing.lattice.kernels import wash
from wingtool.wing.lattice.surfaces import Surface


def mirrors(ground_m: float, with_flow: bool = True) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Factor and shift for each mirrored copy of a field point; the ground's alone without `with_flow`."""
    heights = ([(1.0, 0.0)] if with_flow else []) + ([(-1.0, 2 * ground_m)] if np.isfinite(ground_m) else [])
    for y, (z, shift) in product((1.0, -1.0), heights):
        yield np.array([1.0, y, z]), np.array([0.0, 0.0, shift])


def wash_with_images(
    points: np.ndarray, directions: np.ndarray, surfaces: Sequence[Surface], copies, cores: Sequence[float]
) -> np.ndarray:
    """Wash of all panels seen from the `mirrors` of the points, shape (q, N); one core radius a surface.

    The image of a vortex moves a point as the vortex itself moves the point's mirror image, mirrored back.
    """
    total = np.zeros((len(points), sum(one.panels for one in surfaces)))
    for factor, shift in copies:
        mirrored, turned = points * factor + shift, directions * factor
        parts = [wash(mirrored, turned, s.nodes, c) for s, c in zip(surfaces, cores, strict=True)]
        total += np.concatenate(parts, axis=1)
    return total
