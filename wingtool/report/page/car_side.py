"""The car from the side, to scale from the study's own numbers; its arrows follow the page's sliders."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from wingtool.report.answer_text import added, axle_loads, forces_at, reference_speed_m_s
from wingtool.report.page.svg import WIDTH, Frame, box, circle, picture, segment, shape, word
from wingtool.report.text import degrees, own_force, own_length, own_speed, tenths
from wingtool.study import StudyResult, body_outline_m
from wingtool.units import DisplayUnits

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

    @cached_property
    def frame(self) -> Frame:
        """Where its metres stand in the picture."""
        x = np.r_[self.outline_m[:, 0], self.wing_x_m + 0.45, self.wing_x_m - 0.2]
        left, wide = float(x.min()), max(float(np.ptp(x)), 1.0)
        high = max(float(self.outline_m[:, 1].max()), self.wing_z_m)
        room = WIDTH - 2 * EDGE
        return Frame((left, left + wide), (0.0, high), EDGE, TOP, room, high * room / wide)

    @property
    def scale(self) -> float:
        """Picture units a metre."""
        return self.frame.width / (self.frame.x[1] - self.frame.x[0])


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


def car_picture(result: StudyResult) -> tuple[str, dict[str, Any], str]:
    """The picture at the start angle, what the script needs to move its parts, and whose sizes they are."""
    side, study, car, start = side_of(result), result.study, result.car, result.advice.start_deg
    (front, ground), (rear, _) = side.frame.at(0.0, 0.0), side.frame.at(side.wheelbase_m, 0.0)
    x, y = side.frame.at(side.wing_x_m, side.wing_z_m)
    angle = start if np.isfinite(start) else float(result.wing.wing_angle_deg[0])
    names = " and ".join(name for name in FRONT_PARTS if getattr(study, name.replace(" ", "_")))
    place: dict[str, Any] = {"front": front, "rear": rear, "ground": ground, "pivot": [x, y], "parts": names}
    if car:
        place |= {
            "body_m2": float(car.body.cla_m2),
            "body_axles_m2": [float(car.body.cla_front_m2), float(car.body.cla_rear_m2)],
            "parts_m2": float(sum(part.cla_m2[1] for part in car.front)),
        }
    radius = WHEEL_M * side.scale
    wheels = (circle(at, ground - radius, radius, "solid") for at in (front, rear))
    body = shape(*side.frame.at(*side.outline_m.T), "body")
    parts = [segment(0, ground, WIDTH, ground, "thin"), body, *wheels]
    parts += [*_front_parts(side, study), segment(x, y, *_foot(side), "thin")]
    parts.append(
        f'<g id="car-wing" transform="rotate({-angle:.2f} {x:.1f} {y:.1f})">{_wing(side, result)}</g>'
    )
    parts += [f'<path id="act-{name}" class="act {kind}" d=""/>' for name, kind in ACTS]
    parts += [box(2, 22, 9, 9, "head one"), box(2, 38, 9, 9, "head two")]
    parts += [*_texts(result, angle, place), word(2, ground + 16, names, "start")]
    parts += _measures(side, study, front, rear, ground)
    sentence = f"{side.known} Wing {own_length(study.wing.height_m, study.units)} above the ground."
    title = f"The car to scale, wing at {degrees(angle)}"
    return picture(parts, ground + 62, title, sentence), place, side.known


def _texts(result: StudyResult, angle_deg: float, place: dict[str, Any]) -> list[str]:
    """What acts, in numbers, at an angle and the reference speed; the script fills them again."""
    car, units, speed = result.car, result.study.units, reference_speed_m_s(result)
    down, drag = forces_at(result, speed, angle_deg)
    lines = {
        "at": f"At {own_speed(speed, units)} and {tenths(angle_deg)}°",
        "down": _pressed("wing", down.n, units),
        "drag": f"wing drag {own_force(drag.n, units)}",
    }
    if car:
        q = 0.5 * car.density_kg_m3 * speed**2
        lines["body"] = _pressed("body", q * place["body_m2"], units)
        lines["parts"] = _pressed(place["parts"], q * place["parts_m2"], units) if place["parts"] else ""
        loads = axle_loads(result, angle_deg)
        lines |= {axle: added(load.value, units) for axle, (_, load) in loads.items()}
    at = {name: (left, 14.0 + 16.0 * row, "start") for row, (name, left) in enumerate(SAYS)}
    low = place["ground"] + 20.0
    at |= {"front": (place["front"] + 10, low, "start"), "rear": (place["rear"] - 10, low, "end")}
    return [
        word(x, y, lines.get(name, ""), anchor).replace("<text", f'<text id="say-{name}"')
        for name, (x, y, anchor) in at.items()
    ]


def _pressed(name: str, newton: float, units: DisplayUnits) -> str:
    return f"{name} {'lift' if newton < 0.0 else 'downforce'} {own_force(abs(newton), units)}"


FRONT_PARTS = ("splitter", "air dam")
ACTS = (("down", "one"), ("drag", "two"), ("front", "one"), ("rear", "one"))
SAYS = (("at", 2.0), ("down", 16.0), ("drag", 16.0), ("body", 2.0), ("parts", 2.0))


def _front_parts(side: Side, study: Any) -> list[str]:
    parts, nose = [], float(side.outline_m[:, 0].min())
    if one := study.splitter:
        x, y = side.frame.at(nose - one.overhang_m, one.clearance_m + one.thickness_m)
        length, thick = (side.scale * size for size in (one.overhang_m + one.floor_m, one.thickness_m))
        parts.append(box(x, y, length, max(thick, 2.0), "section"))
    if one := study.air_dam:
        x, y = side.frame.at(nose, one.clearance_m + one.height_m)
        parts.append(box(x, y, 2.0, one.height_m * side.scale, "section"))
    return parts


def _foot(side: Side) -> tuple[float, float]:
    """Where a stand meets the body below the wing, or the body's rear end."""
    x = min(side.wing_x_m, float(side.outline_m[:, 0].max()) - 0.03)
    near = np.abs(side.outline_m[:, 0] - x)
    top = float(side.outline_m[near <= max(near.min(), 0.25), 1].max())
    return side.frame.at(x, min(top, side.wing_z_m))


def _wing(side: Side, result: StudyResult) -> str:
    """Section turned over at no angle, quarter chord on the pivot, and the outline of the plate."""
    wing, xy = result.study.wing, result.section.xy * (1.0, -1.0)
    section = side.frame.at(*((xy - (0.25, 0.0)) * wing.chord_m + (side.wing_x_m, side.wing_z_m)).T)
    ahead, above, length, height = _plate_m(wing)
    corner = side.frame.at(side.wing_x_m - ahead, side.wing_z_m + above)
    plate = box(*corner, length * side.scale, height * side.scale, "plate") if height else ""
    return plate + shape(*section, "section")


def _measures(side: Side, study: Any, front: float, rear: float, ground: float) -> list[str]:
    """Wheelbase and height of the wing with their lines, so that a slip of the unit is seen."""
    x, y = side.frame.at(side.wing_x_m + 0.36, side.wing_z_m)
    return [
        segment(front, ground + 50, rear, ground + 50, "thin"),
        word((front + rear) / 2, ground + 46, f"wheelbase {own_length(side.wheelbase_m, study.units)}"),
        segment(x, y, x, ground, "thin"),
        word(WIDTH - 2, ground + 16, own_length(study.wing.height_m, study.units), "end"),
    ]
