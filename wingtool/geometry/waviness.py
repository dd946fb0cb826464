"""Is an outline smooth: waves that would trip the flow, edges, coarse noses."""

from wingtool.geometry.curve import Curve
from wingtool.geometry.shape import Section


def shape_warnings(section: Section, curve: Curve) -> tuple[str, ...]:
    """What would disturb the flow or the calculation, one short line each."""
    xy = section.xy
    edges = xy[curve.corners]
    warnings = [f"edge at x {x:.3f}, y {y:.3f}: the flow separates there" for x, y in edges]
    if len(xy) < 25:
        warnings.append(f"only {len(xy)} points: between them, at the nose above all, it is a guess")
    return tuple(warnings)
