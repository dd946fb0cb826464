"""Is an outline smooth: waves that would trip the flow, edges, coarse noses."""

import numpy as np

from wingtool.geometry.curve import Curve, nose_radius

REYNOLDS = 1e6  # of a 0.25 m chord at some 220 km/h: the strictest case of a small wing
FEW_POINTS = 25  # common practice, no source


def offsets(xy: np.ndarray, knots: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How far each point stands off the cubic through its two neighbours on either side.

    Returns
    -------
    index : ndarray of int, shape (n - 4,)
        The points judged.
    height : ndarray, shape (n - 4,)
        Distance from the smooth line, positive outwards; over the chord.
    length : ndarray, shape (n - 4,)
        Distance between the two next neighbours: the length of the wave that the point makes.
    """
    index = np.arange(2, len(knots) - 2)
    beside = index + np.array([[-2], [-1], [1], [2]])
    t = knots[beside]
    apart = t[:, None] - t[None, :] + np.eye(4)[..., None]
    reach = knots[index] - t
    weight = [np.delete(reach, a, 0).prod(axis=0) / apart[a].prod(axis=0) for a in range(4)]
    off = xy[index] - np.einsum("an,and->nd", np.array(weight), xy[beside])
    step = xy[index + 1] - xy[index - 1]
    length = np.linalg.norm(step, axis=1)
    return index, (off[:, 0] * step[:, 1] - off[:, 1] * step[:, 0]) / length, length


def allowed_wave(length) -> np.ndarray:
    """Height over length of a single wave that does not yet trip the flow at `REYNOLDS`, unswept wing.

    ``sqrt(59000 c / (length Re^1.5))``; a third of it where waves follow each other. B. H. Carmichael,
    Surface waviness criteria for swept and unswept laminar suction wings, 1959 (from memory). It was found
    at larger Reynolds numbers; taking a single point for a wave is common practice, no source.
    """
    return np.sqrt(59000.0 / (np.maximum(length, 1e-6) * REYNOLDS**1.5))


def _wave_warning(xy, index, height, length, side: str) -> str | None:
    excess = np.abs(height) / length / allowed_wave(length)
    several = int((excess > 1.0 / 3.0).sum()) >= 3
    if not len(excess) or excess.max() <= (1.0 / 3.0 if several else 1.0):
        return None
    worst = int(np.argmax(excess))
    kind = "waves" if several else "a wave"
    size = f"{abs(height[worst]):.1g} chord high over {length[worst]:.2g}"
    return (
        f"{kind} on the {side} side, worst at x {xy[index[worst], 0]:.2f}, {size}: "
        "enough to trip the flow at Reynolds 1e6 (Carmichael 1959, from memory)"
    )


def shape_warnings(xy: np.ndarray, curve: Curve) -> tuple[str, ...]:
    """What would disturb the flow or the calculation, one short line each."""
    edges = xy[curve.corners]
    warnings = [f"edge at x {x:.3f}, y {y:.3f}: the flow separates there" for x, y in edges]
    if len(xy) < FEW_POINTS:
        warnings.append(f"only {len(xy)} points: between them the outline is a guess, at the nose above all")
    if nose_radius(curve) < 0.001:
        warnings.append("sharp nose: the flow separates there at all but one angle")
    if len(xy) >= 7:
        index, height, length = offsets(xy, curve.knots)
        nose = int(np.argmin(xy[:, 0]))
        clear = np.all(np.abs(index[:, None] - curve.corners[None, :]) > 2, axis=1)
        clear &= np.abs(index - nose) > 1
        for side, part in (("upper", index < nose), ("lower", index > nose)):
            k = clear & part
            warning = _wave_warning(xy, index[k], height[k], length[k], side)
            warnings += [warning] if warning else []
    return tuple(warnings)
