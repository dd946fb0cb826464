"""Velocities of straight vortices. Arrays in, arrays out; nothing is checked here.

J. Katz and A. Plotkin, Low-Speed Aerodynamics, 2nd ed., 2001, sections 2.11 to 2.13 and 12.3.
"""

from math import pi

import numpy as np

BLOCK = 60_000  # (point, node) pairs a block: a dozen temporaries then stay in the cache


def wash(points: np.ndarray, directions: np.ndarray, nodes: np.ndarray, core: float = 0.0) -> np.ndarray:
    """Velocity along given directions due to unit horseshoe vortices with legs straight aft.

    Parameters
    ----------
    points, directions : ndarray, shape (q, 3)
        Field points and the direction wanted at each.
    nodes : ndarray, shape (rows, edges, 3)
        Ends of the bound vortices; horseshoe ``e`` runs from node ``e`` to ``e + 1``.
    core : float
        Core radius of the trailing legs; zero except between planes whose legs may pass through points.

    Returns
    -------
    ndarray, shape (q, rows * (edges - 1))
    """
    rows, edges, _ = nodes.shape
    result = np.empty((len(points), rows * (edges - 1)))
    step = max(1, BLOCK // (rows * edges))
    for start in range(0, len(points), step):
        part = slice(start, start + step)
        block = _wash_block(points[part], directions[part], nodes, core)
        result[part] = block.reshape(len(block), -1)
    return result


def _wash_block(points, directions, nodes, core):
    dx, dy, dz = (points[:, None, None, i] - nodes[None, ..., i] for i in range(3))
    tx, ty, tz = (directions[:, None, None, i] for i in range(3))
    sideways = dy * dy + dz * dz
    r = np.sqrt(dx * dx + sideways)
    leg = (dy * tz - dz * ty) * (1 + dx / r) / (sideways + core * core)
    lx, ly, lz = (np.diff(nodes[..., i], axis=1)[None] for i in range(3))
    ax, ay, az, ra, rb = dx[..., :-1], dy[..., :-1], dz[..., :-1], r[..., :-1], r[..., 1:]
    # (L x a) . t with a . b written through |a|, |b| and |L|: no second cross product, no division by zero
    turn = tx * (ly * az - lz * ay) + ty * (lz * ax - lx * az) + tz * (lx * ay - ly * ax)
    both = ra + rb
    gap = both * both - (lx * lx + ly * ly + lz * lz)
    bound = 2 * turn * both / (ra * rb * np.maximum(gap, 1e-12 * both * both))
    return (leg[..., 1:] - leg[..., :-1] + bound) / (4 * pi)


def wake_wash(points: np.ndarray, directions: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Velocity along directions in the far-wake plane due to pairs of two-dimensional vortices.

    `points`, `directions` have shape ``(q, 2)`` (y, z), `ends` ``(w, 2, 2)``: the two ends of each wake
    strip, a unit vortex against the stream's rotation at the first and one with it at the second.
    """
    dy = points[:, None, None, 0] - ends[None, ..., 0]
    dz = points[:, None, None, 1] - ends[None, ..., 1]
    turn = dy * directions[:, None, None, 1] - dz * directions[:, None, None, 0]
    vortex = turn / (dy * dy + dz * dz) / (2 * pi)
    return vortex[..., 1] - vortex[..., 0]


def flat_section(rows: int, chord: np.ndarray, ground: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same lattice in two dimensions: a flat plate at distance `ground` from a wall.

    Returns incidence [rad] for unit circulation over speed, and the streamwise speed that the wall's
    image of a unit circulation adds at the quarter-chord point. Without a wall the first is exactly 1/(pi
    chord), whatever the rows (R. M. James, Computer Methods in Applied Mechanics and Engineering 1,
    1972).

    Parameters
    ----------
    chord, ground : ndarray, shape (s,)
        Chord, and distance of the plate from the wall (inf without one).
    """
    place = np.arange(rows)
    vortex, control = (place + 0.25) / rows, (place + 0.75) / rows
    dx = chord[:, None, None] * (control[:, None] - vortex[None, :])
    twice = 2 * ground[:, None, None]
    influence = (1 / dx - dx / (dx**2 + twice**2)) / (2 * pi)
    load = np.linalg.solve(influence, np.ones((len(chord), rows, 1)))[..., 0]
    total = load.sum(axis=1)
    dx = chord[:, None] * (0.25 - vortex)
    speed = 1 / (dx**2 / twice[..., 0] + twice[..., 0])
    return 1 / total, (speed * load).sum(axis=1) / total / (2 * pi)
