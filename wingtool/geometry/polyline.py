"""Polylines (n, 2): length, area, inside, feet, crossing, resampling; loops do not repeat a point."""

import numpy as np


def arc_length(line: np.ndarray) -> np.ndarray:
    """Length along a polyline to each of its points, shape (n,), from 0.

    Examples
    --------
    >>> arc_length(np.array([[0, 0], [3, 4], [3, 5]])).tolist()
    [0.0, 5.0, 6.0]
    """
    return np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))]


def closed(loop: np.ndarray) -> np.ndarray:
    """The loop with its first point repeated at the end."""
    return np.vstack([loop, loop[:1]])


def signed_area(loop: np.ndarray) -> float:
    """Area inside a loop (shoelace formula), positive when it runs counter-clockwise."""
    x, y = loop[:, 0], loop[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def outward(loop: np.ndarray, reach: int = 1) -> np.ndarray:
    """Unit normals (n, 2) of a loop, from the points `reach` before and after each."""
    along = np.roll(loop, -reach, axis=0) - np.roll(loop, reach, axis=0)
    normal = np.sign(signed_area(loop)) * np.column_stack([along[:, 1], -along[:, 0]])
    return normal / np.maximum(np.hypot(*normal.T), 1e-12)[:, None]


def rest_line(loop: np.ndarray) -> tuple[int, int]:
    """Numbers of the two points farthest apart on which a straightedge below the loop rests."""
    from scipy.spatial import ConvexHull

    corners = ConvexHull(loop).vertices  # counter-clockwise: along the lower side x grows
    following = np.roll(corners, -1)
    k = int(np.argmax(loop[following, 0] - loop[corners, 0]))
    return int(corners[k]), int(following[k])


def contains(loop: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Whether each point (m, 2) lies inside a loop: a ray to the right crosses it an odd number of times.

    Examples
    --------
    >>> contains(np.array([[0, 0], [2, 0], [0, 2]]), np.array([[0.5, 0.5], [1.5, 1.5]])).tolist()
    [True, False]
    """
    x, y = np.atleast_2d(points).T[..., None]
    start, end = loop, np.roll(loop, -1, axis=0)
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(end[:, 1] == start[:, 1], 1.0, end[:, 1] - start[:, 1])
    crossing = start[:, 0] + (y - start[:, 1]) / rise * (end[:, 0] - start[:, 0])
    return (spans & (x < crossing)).sum(axis=1) % 2 == 1


def feet(line: np.ndarray, points: np.ndarray, allowed: np.ndarray | None = None):
    """Nearest place on a polyline of each point (m, 2).

    Parameters
    ----------
    allowed : ndarray of bool, shape (m, n - 1), optional
        Segments that each point may be held against.

    Returns
    -------
    segment : ndarray of int, shape (m,)
    fraction : ndarray, shape (m,)
        Place along the segment, 0 to 1.
    away : ndarray, shape (m, 2)
        From the foot to the point.
    """
    start, along = line[:-1], np.diff(line, axis=0)
    to = points[:, None, :] - start
    fraction = np.clip((to * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-18), 0.0, 1.0)
    away = to - fraction[..., None] * along
    reach = (away**2).sum(axis=2)
    segment = (reach if allowed is None else np.where(allowed, reach, np.inf)).argmin(axis=1)
    rows = np.arange(len(points))
    return segment, fraction[rows, segment], away[rows, segment]


def first_crossing(line: np.ndarray) -> tuple[int, int] | None:
    """Indices of the first pair of segments of a polyline that cross, or None.

    Every pair is tried at once: end points of each on opposite sides of the other.
    """
    a, b = line[:-1], line[1:]
    d = b - a

    def side(points):
        rel = points[None, :, :] - a[:, None, :]
        return d[:, None, 0] * rel[..., 1] - d[:, None, 1] * rel[..., 0]

    tiny = 1e-12
    of_a, of_b = side(a), side(b)
    splits = ((of_a > tiny) & (of_b < -tiny)) | ((of_a < -tiny) & (of_b > tiny))
    i, j = np.nonzero(np.triu(splits & splits.T, 2))
    return (int(i[0]), int(j[0])) if len(i) else None


def resampled(line: np.ndarray, count: int) -> np.ndarray:
    """`count` points at equal steps along a polyline, both ends among them."""
    length = arc_length(line)
    at = np.linspace(0.0, length[-1], count)
    return np.column_stack([np.interp(at, length, line[:, k]) for k in (0, 1)])


def turned_over(loop: np.ndarray) -> np.ndarray:
    """A section's loop upside down, still from the tail over its (new) upper side."""
    return loop[::-1] * [1.0, -1.0]


def ordinates(side: np.ndarray, stations: np.ndarray) -> np.ndarray:
    """Ordinates of one side (n, 2) of a section behind its first point, the nose.

    Interpolated over the root of x, in which a nose is straight.
    """
    x = np.maximum.accumulate(side[:, 0])
    return np.interp(np.sqrt(np.maximum(stations, 0.0)), np.sqrt(np.maximum(x - x[0], 0.0)), side[:, 1])


def sides(loop: np.ndarray, stations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Ordinates of upper and lower side of a section's loop at stations behind its foremost point."""
    nose = int(loop[:, 0].argmin())
    return ordinates(loop[nose::-1], stations), ordinates(loop[nose:], stations)
