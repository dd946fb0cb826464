"""The car from the side, to scale from the study's own numbers; its arrows follow the page's sliders."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.page.svg import WIDTH, box, picture, segment, shape, word
from wingtool.report.text import degrees, own_length
from wingtool.study import body_outline_m

if TYPE_CHECKING:
    from wingtool.study import StudyResult

# What stands for a car that the study does not describe [m]; common practice, no source
WHEELBASE_M, NOSE_M, TAIL_M, ROOF_M, BEHIND_M = 2.5, 0.8, 0.7, 1.42, 0.3
WHEEL_M, CLEAR_M = 0.31, 0.04  # wheel radius; gap between tail and wing
EDGE, TOP = 10.0, 78.0  # room in the picture for arrows [picture units]


@dataclass(frozen=True, eq=False)
class Side:
    """The car seen from the side, x rearwards from the front axle, z up from the ground [m]."""

    outline_m: np.ndarray
    wheelbase_m: float
    wing_x_m: float
    wing_z_m: float
    known: str  # what is the study's own and what is not

    @property
    def scale(self) -> float:
        """Picture units a metre."""
        return (WIDTH - 2 * EDGE) / max(float(np.ptp(self._all_x())), 1.0)

    def _all_x(self) -> np.ndarray:
        return np.r_[self.outline_m[:, 0], self.wing_x_m + 0.45, self.wing_x_m - 0.2]

    def at(self, x, z):
        """Picture coordinates of points [m]."""
        left = float(self._all_x().min())
        highest = max(float(self.outline_m[:, 1].max()), self.wing_z_m)
        return EDGE + self.scale * (np.asarray(x) - left), TOP + self.scale * (highest - np.asarray(z))


def side_of(result: StudyResult) -> Side:
    """Body, wheels and the wing's place; plain stand-ins where the study says nothing."""
    study = result.study
    car = study.car
    base = car.wheelbase_m if car else WHEELBASE_M
    nose = car.nose_m if car else NOSE_M
    behind = study.mounts.behind_rear_axle_m if study.mounts else BEHIND_M
    roof = (car.roof_height_m if car else None) or ROOF_M
    height = study.wing.height_m
    if study.roof and study.roof.side:
        outline, known = np.array(study.roof.side), "Body: your side outline"
        outline = outline - (outline[:, 0].min() + nose, 0.0)
    else:
        body = getattr(car, "body", None) or "hatchback"
        outline = _stand_in(body, nose, base, roof, study.wing, base + behind)
        known = (
            f"Body: a plain {body} on your wheelbase" if car else "No [car] in the study: a plain hatchback"
        )
    if not study.mounts:
        known += "; no [mounts]: place of the wing not known"
    return Side(outline, base, base + behind, height, known + ".")


def _stand_in(
    body: str, nose_m: float, base_m: float, roof_m: float, wing: Any, wing_x_m: float
) -> np.ndarray:
    """A plain body by its type; its tail is cut until all above the wing's plates ends ahead of them."""
    ahead, above, _, height = _plate_m(wing)
    for tail_m in np.arange(TAIL_M, 0.2, -0.02):
        outline = body_outline_m(body, nose_m + base_m + tail_m, roof_m) - (nose_m, 0.0)
        edges = np.linspace(outline, np.roll(outline, -1, axis=0), 20).reshape(-1, 2)
        beside = edges[:, 1] >= wing.height_m + above - height
        if edges[beside, 0].max(initial=-np.inf) <= wing_x_m - ahead - CLEAR_M:
            break
    return outline


def _plate_m(wing: Any) -> tuple[float, float, float, float]:
    """Of the wing's plate, or its chord: ahead of and above the quarter chord, length and height [m]."""
    plate, chord = wing.endplate, wing.chord_m
    if not plate or plate.outline:
        return 0.25 * chord, 0.0, 0.0, 0.0
    above = plate.above_m if plate.above_m is not None else 0.5 * plate.height_m
    return 0.25 * chord + (plate.ahead_m or 0.0), above, plate.length_m or chord, plate.height_m


def car_picture(result: StudyResult) -> tuple[str, dict[str, Any]]:
    """The picture, and what the script needs to move its wing and arrows."""
    side, study = side_of(result), result.study
    ground = float(side.at(0.0, 0.0)[1])
    parts = [segment(0, ground, WIDTH, ground, "thin"), shape(*_outline(side), "body")]
    for x in (0.0, side.wheelbase_m):
        parts.append(_wheel(side, x))
    parts += _front_parts(side, study)
    pivot = tuple(float(v) for v in side.at(side.wing_x_m, side.wing_z_m))
    parts += _stand(side, pivot)
    start = result.advice.start_deg
    angle = start if np.isfinite(start) else float(result.wing.wing_angle_deg[0])
    parts.append(
        f'<g id="car-wing" transform="rotate({-angle:.2f} {pivot[0]:.1f} {pivot[1]:.1f})">'
        + _wing(side, result)
        + "</g>"
    )
    parts += [f'<path id="act-{name}" class="act {kind}" d=""/>' for name, kind in ACTS]
    parts += [
        f'<text id="say-{name}" class="{kind}" x="{x:.0f}" y="{y:.0f}" text-anchor="{anchor}"></text>'
        for name, kind, x, y, anchor in _says(side, ground)
    ]
    parts += [box(2, 22, 9, 9, "head one"), box(2, 38, 9, 9, "head two")]
    parts += _measures(side, study, ground)
    front = _front_names(study)
    told = f"{side.known} Wing {own_length(study.wing.height_m, study.units)} above the ground."
    place = {
        "pivot": [round(v, 1) for v in pivot],
        "front": round(float(side.at(0.0, 0.0)[0]), 1),
        "rear": round(float(side.at(side.wheelbase_m, 0.0)[0]), 1),
        "ground": round(ground, 1),
        "body_m2": float(result.car.body.cla_m2) if result.car else None,
        "parts_m2": sum(float(p.cla_m2[1]) for p in (result.car.splitter, result.car.air_dam))
        if result.car
        else 0.0,
        "parts": front,
    }
    return picture(parts, ground + 62, f"The car to scale, wing at {degrees(angle)}", told), place


ACTS = (("down", "one"), ("drag", "two"), ("front", "one"), ("rear", "one"))


def _says(side: Side, ground: float) -> list[tuple[str, str, float, float, str]]:
    """Name, class, place and anchor of each text that the script fills."""
    front, rear = (float(side.at(x, 0.0)[0]) for x in (0.0, side.wheelbase_m))
    above = (
        ("at", "strong", 2.0),
        ("down", "", 16.0),
        ("drag", "", 16.0),
        ("body", "", 2.0),
        ("parts", "", 2.0),
    )
    rows = [(name, kind, x, 14.0 + 16.0 * k, "start") for k, (name, kind, x) in enumerate(above)]
    axles = ("front", front + 10, "start"), ("rear", rear - 10, "end")
    return rows + [(name, "strong", x, ground + 20, anchor) for name, x, anchor in axles]


def _front_names(study: Any) -> str:
    return " and ".join(name for name in ("splitter", "air dam") if getattr(study, name.replace(" ", "_")))


def _wheel(side: Side, x_m: float) -> str:
    x, y = (float(v) for v in side.at(x_m, WHEEL_M))
    radius = WHEEL_M * side.scale
    return f'<circle class="solid" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def _front_parts(side: Side, study: Any) -> list[str]:
    parts, nose = [], float(side.outline_m[:, 0].min())
    if study.splitter:
        x, y = side.at(
            nose - study.splitter.overhang_m, study.splitter.clearance_m + study.splitter.thickness_m
        )
        length = (study.splitter.overhang_m + study.splitter.floor_m) * side.scale
        parts.append(
            box(float(x), float(y), length, max(study.splitter.thickness_m * side.scale, 2.0), "section")
        )
    if study.air_dam:
        x, y = side.at(nose, study.air_dam.clearance_m + study.air_dam.height_m)
        parts.append(box(float(x), float(y), 2.0, study.air_dam.height_m * side.scale, "section"))
    return parts


def _stand(side: Side, pivot: tuple[float, ...]) -> list[str]:
    """From the wing down to the body below it, or to the body's rear end."""
    x = min(side.wing_x_m, float(side.outline_m[:, 0].max()) - 0.03)
    near = np.abs(side.outline_m[:, 0] - x)
    top = float(side.outline_m[near <= max(near.min(), 0.25), 1].max())
    foot_x, foot_y = side.at(x, min(top, side.wing_z_m))
    return [segment(pivot[0], pivot[1], float(foot_x), float(foot_y), "thin")]


def _wing(side: Side, result: StudyResult) -> str:
    """Section turned over at no angle, quarter chord on the pivot, and the outline of the plate."""
    wing, chord = result.study.wing, result.study.wing.chord_m
    xy = result.section.xy
    px, py = side.at(side.wing_x_m + (xy[:, 0] - 0.25) * chord, side.wing_z_m - xy[:, 1] * chord)
    ahead, above, length, height = _plate_m(wing)
    x, y = side.at(side.wing_x_m - ahead, side.wing_z_m + above)
    drawn = box(float(x), float(y), length * side.scale, height * side.scale, "plate") if height else ""
    return drawn + shape(px, py, "section")


def _measures(side: Side, study: Any, ground: float) -> list[str]:
    """Wheelbase and height of the wing with their lines, so that a slip of the unit is seen."""
    a, b = (float(side.at(x, 0.0)[0]) for x in (0.0, side.wheelbase_m))
    low = ground + 50
    x, y = (float(v) for v in side.at(side.wing_x_m + 0.36, side.wing_z_m))
    return [
        segment(a, low, b, low, "thin"),
        word(2, ground + 16, _front_names(study), "start"),
        word((a + b) / 2, low - 4, f"wheelbase {own_length(side.wheelbase_m, study.units)}"),
        segment(x, y, x, ground, "thin"),
        word(WIDTH - 2, ground + 16, own_length(study.wing.height_m, study.units), "end"),
    ]


def _outline(side: Side) -> tuple[np.ndarray, np.ndarray]:
    x, y = side.at(side.outline_m[:, 0], side.outline_m[:, 1])
    return x, y
