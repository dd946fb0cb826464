"""Panels on wing and endplates.

Internal frame: x aft, y to the right, z up for a section that lifts upwards. A racing wing is that
picture turned over, so the ground lies ABOVE the wing here, at z = `ground_m`, and plate parts that stand
high on the car point down. One half is laid out; the other half and the ground's images are mirrored
field points.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from wingtool.wing.planform import Wing


@dataclass(frozen=True, eq=False)
class Surface:
    """One sheet of panels, ``rows`` by ``strips``, row by row.

    Parameters
    ----------
    nodes : ndarray, shape (rows, strips + 1, 3)
        Ends of the bound vortices, a quarter down each panel.
    control : ndarray, shape (rows, strips, 3)
        Three quarters down each panel.
    normal : ndarray, shape (strips, 3)
    edges : ndarray, shape (strips + 1, 2)
        Trace in the far-wake plane (y, z).
    middle : ndarray, shape (strips, 2)
        Where the wash of the far wake is taken (y, z).
    lifting : bool
        A wing, whose strips have section data; else a plate.
    plane : int
        Number of the wing to which it belongs.
    """

    nodes: np.ndarray
    control: np.ndarray
    normal: np.ndarray
    edges: np.ndarray
    middle: np.ndarray
    lifting: bool
    plane: int = 0

    @property
    def panels(self) -> int:
        """How many panels it has."""
        return self.control.shape[0] * self.control.shape[1]


@dataclass(frozen=True, eq=False)
class WingStrips:
    """Strips of one half wing, centre to tip; all arrays of shape (s,).

    `quarter` (s, 3) is the quarter-chord point at the strip's control station.
    """

    y_m: np.ndarray
    width_m: np.ndarray
    chord_m: np.ndarray
    twist_rad: np.ndarray
    span_fraction: np.ndarray
    cos_sweep: np.ndarray
    quarter: np.ndarray


def cosine_edges(strips: int) -> tuple[np.ndarray, np.ndarray]:
    """Edges and control stations on 0 to 1, crowded towards 1.

    Controls at the middle in the angle, not in the length, make the induced drag of a few strips exact
    for the elliptic load.
    """
    angle = np.linspace(0.0, pi / 2, 2 * strips + 1)
    return np.sin(angle[::2]), np.sin(angle[1::2])


def full_cosine_edges(strips: int) -> tuple[np.ndarray, np.ndarray]:
    """The same crowded towards both ends."""
    angle = np.linspace(0.0, pi, 2 * strips + 1)
    return (1 - np.cos(angle[::2])) / 2, (1 - np.cos(angle[1::2])) / 2


def sheet(
    edge: tuple[np.ndarray, np.ndarray, np.ndarray],
    mid: tuple[np.ndarray, np.ndarray, np.ndarray],
    rows: int,
    lifting: bool,
) -> Surface:
    """A sheet from front edge, chord and far-wake trace at the strip edges, and the same mid-strip."""
    place = np.arange(rows)[:, None]

    def down_the_chord(share, x, length, yz):
        aft = x + (place + share) / rows * length
        return np.concatenate([aft[..., None], np.broadcast_to(yz, (rows, *yz.shape))], axis=-1)

    (front, chord, trace), (mid_front, mid_chord, mid_trace) = edge, mid
    along = np.diff(trace, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.column_stack([np.zeros(len(along)), -along[:, 1], along[:, 0]])
    nodes = down_the_chord(0.25, front, chord, trace)
    control = down_the_chord(0.75, mid_front, mid_chord, mid_trace)
    return Surface(nodes, control, normal, trace, mid_trace, lifting)


def wing_surface(
    wing: Wing, offset_m: tuple[float, float] = (0.0, 0.0), spacing=cosine_edges
) -> tuple[Surface, WingStrips]:
    """Panels and strips of one half wing, its centre leading edge at ``offset_m`` (x, z)."""
    edge, mid = spacing(wing.strips // 2)
    half = wing.span_m / 2

    def line(share):
        front = wing.leading_edge_m_at(share) + offset_m[0]
        trace = np.column_stack([half * share, offset_m[1] - wing.tip_rise_m * share])
        return front, wing.chord_at(share), trace

    surface = sheet(line(edge), line(mid), wing.rows, lifting=True)
    front, chord, trace = line(mid)
    quarter_line = wing.leading_edge_m_at(edge) + 0.25 * wing.chord_at(edge)
    slope = np.diff(quarter_line) / (half * np.diff(edge))
    strips = WingStrips(
        half * mid,
        half * np.diff(edge),
        chord,
        np.radians(wing.twist_deg_at(mid)),
        mid,
        1 / np.sqrt(1 + slope**2),
        np.column_stack([front + 0.25 * chord, trace]),
    )
    return surface, strips


def plate_surfaces(wing: Wing, offset_m: tuple[float, float] = (0.0, 0.0)) -> list[Surface]:
    """Panels of the right endplate, split at the wing so that the wing's tip meets a panel edge."""
    plate = wing.endplate
    if plate is None:
        return []
    half = wing.span_m / 2
    tip_z = offset_m[1] - wing.tip_rise_m
    tip_x = float(wing.leading_edge_m_at(np.ones(1))[0]) + offset_m[0]
    tip_chord = float(wing.chord_at(np.ones(1))[0])
    sheets = []
    for low, high in ((plate.bottom_m, 0.0), (0.0, plate.top_m)):
        part = (high - low) / plate.height_m
        if part <= 1e-6:
            continue

        def line(share, low=low, high=high):
            z = high - share * (high - low)  # from high to low on the car is upwards in this frame
            front, rear = plate.edges_m(z, tip_chord)
            return tip_x + front, rear - front, np.column_stack([np.full_like(z, half), tip_z - z])

        edge, mid = full_cosine_edges(max(3, round(max(3, round(wing.strips / 4)) * part)))
        sheets.append(sheet(line(edge), line(mid), wing.rows, lifting=False))
    return sheets
