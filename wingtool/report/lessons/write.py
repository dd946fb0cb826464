"""A picture for each lesson, on the lesson's own numbers; one idea each; and the lessons as pages.

On a screen the answer is folded away, on paper it stands on its head at the foot.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.files import write_text
from wingtool.report.answer_text import added
from wingtool.report.page import svg
from wingtool.report.page.content import tab_height
from wingtool.report.page.write import own_markup, render
from wingtool.report.text import distance_unit, force_scale, own_force, own_speed, signed
from wingtool.study import LESSONS, Lesson

Drawn = tuple[list[str], float, str]  # the parts, how high they are, their title
EQUAL_TIMES = 9  # steps between the marks on the paths of the race


def draw_lesson(lesson) -> str:
    """The picture of a lesson as SVG text; those who do not see it are told its sentences."""
    return svg.picture(*PICTURES[lesson.topic](lesson.data), " ".join(lesson.sentences))


def _at(xy: np.ndarray, left: float, top: float, scale: float) -> tuple[np.ndarray, np.ndarray]:
    """Picture coordinates of points in chords; `top` is the height of the mid-chord point."""
    return left + scale * (xy[..., 0] + 0.6), top - scale * xy[..., 1]


def _air(paths, place: tuple[float, float, float], every: int = 1, within: np.ndarray | None = None) -> str:
    """Section, paths of the air and ground at `_at`'s place; with a section `within`, that and its wake."""
    lines = (svg.points(*_at(path[::3], *place)) for path in paths.paths[::every])
    parts = [f'<path class="line stream" d="{line}"/>' for line in lines]
    if within is not None:
        parts.append(svg.shape(*_at(paths.outline, *place), "stop"))
    parts.append(svg.shape(*_at(paths.outline if within is None else within, *place), "section"))
    if np.isfinite(paths.ground_y):
        left, top, scale = place
        parts.append(svg.box(left, top - scale * paths.ground_y, scale * 2.15, 5.0, "solid"))
    return "".join(parts)


def _pressure(data: dict[str, Any]) -> Drawn:
    paths = data["paths"]
    place = 2.0, 84.0, 156.0
    parts = [_clip_above(_air(paths, place), "p", 0.0, 188.0)]
    x, y = _at(paths.outline, *place)
    tx, ty = np.gradient(x), np.gradient(y)
    size = np.hypot(tx, ty)
    nx, ny = ty / size, -tx / size
    pulls, presses = 24.0 * np.clip(-paths.cp, 0.0, 2.5), 13.0 * np.clip(paths.cp, 0.0, 1.0)
    for kind, width in (("suction", pulls), ("pressing", presses)):
        outer = svg.points(x + width * nx, y + width * ny)
        parts.append(f'<path class="{kind}" fill-rule="evenodd" d="{outer}Z{svg.points(x, y)}Z"/>')
    for row, (kind, name) in enumerate((("suction", "air pulls"), ("pressing", "air presses"))):
        parts += [svg.box(8, 200 + 16 * row, 22, 9, kind), svg.word(36, 209 + 16 * row, name, "start")]
    share = data["share"]
    parts.append(svg.box(150, 198, 1.8 * share, 14, "suction"))
    parts.append(svg.box(150 + 1.8 * share, 198, 1.8 * (100 - share), 14, "pressing"))
    parts.append(svg.word(150, 227, f"pull {share:.0f} %", "start", "strong"))
    parts.append(svg.word(330, 227, f"push {100 - share:.0f} %", "end", "strong"))
    return parts, 236, "Air around the wing: where it pulls and where it presses"


def _stall(data: dict[str, Any]) -> Drawn:
    frames = data["frames"]
    step, scale = 98.0, 78.0
    most = max(frame["cl"] for frame in frames)
    parts = []
    for k, frame in enumerate(frames):
        top = 42.0 + k * step
        within = frame["outline"] if frame["stalled"] else None
        drawn = _air(frame["paths"], (2.0, top, scale), 2, within)
        parts.append(_clip_above(drawn, f"s{k}", top - 42.0, top + 54.0))
        length = 56.0 * max(frame["cl"], 0.0) / most
        parts.append(svg.arrow(196, top - 24, 196, top - 24 + length, "one"))
        name = f"{frame['alpha_deg']:.0f}°".replace("-", "−")
        parts.append(svg.word(216, top - 6, name, "start", "big"))
        parts.append(svg.word(216, top + 12, f"{100 * frame['cl'] / most:.0f} % of the best", "start"))
        if frame["stalled"]:
            parts.append(svg.word(216, top + 28, f"drag {frame['drag_times']:.1f} times", "start", "strong"))
    return parts, step * len(frames), "The same wing at growing angles"


def _speed(data: dict[str, Any]) -> Drawn:
    speeds, forces, units = data["speeds_m_s"], data["forces_n"], data["units"]
    gap, edge = 6.0, 10.0
    room = svg.WIDTH - 2.0 * edge - gap * (len(speeds) - 1)
    side = min(room / float(np.sum(speeds / speeds[-1])), 132.0) * speeds / speeds[-1]
    floor, x, parts = 160.0, edge, []
    for k, (v, force, size) in enumerate(zip(speeds, forces, side, strict=True)):
        name = own_force(force, units)
        parts.append(svg.box(x, floor - size, size, size, "go" if k % 2 else "margin"))
        parts.append(svg.word(x + size / 2, floor + 16, own_speed(v, units).split(" ")[0]))
        if size > svg.LETTER * len(name) + 4.0:
            middle = max(floor - size / 2 + 5, floor - size + 14)
            parts.append(svg.word(x + size / 2, middle, name, kind="strong"))
        else:  # the next box stands higher, so the name ends before it
            parts.append(svg.word(x + size + gap - 2.0, floor - size - 5, name, "end", "strong"))
        x += size + gap
    parts.append(svg.word(svg.WIDTH - 4, floor + 34, f"speed [{units.speed}]; the area is the force", "end"))
    return parts, 200, "Four speeds, and the downforce as areas"


def _plates(data: dict[str, Any]) -> Drawn:
    units, cases = data["units"], data["cases"].items()
    length, metre = distance_unit(units)
    per_length = force_scale(units) / metre
    lines = [(name, case["y_m"] / metre, case["load_n_m"] / per_length) for name, case in cases]
    half = max(float(y[-1]) for _, y, _ in lines) * 1.02
    most = max(float(np.nanmax(load)) for *_, load in lines)
    frame = svg.Frame((-half, half), (0.0, 1.15 * most), top=24, height=150)
    titles = f"across the car [{length}]", f"downforce on each {length} of span [{units.force}/{length}]"
    parts = [svg.axes(frame, *titles)]
    for kind, (_, right, of_right) in zip(("one", "two"), lines, strict=False):
        y, load = np.r_[-right[::-1], right], np.r_[of_right[::-1], of_right]
        parts.append(svg.band(frame, y, np.zeros(len(y)), load, kind))
        parts.append(svg.curve(frame, y, load, kind))
    names = [(kind, name) for kind, (name, *_) in zip(("one", "two"), lines, strict=False)]
    parts.append(svg.legend(names, frame.left + 96, frame.top + 84))
    return parts, 224, "Load along the span with and without endplates"


def _ground(data: dict[str, Any]) -> Drawn:
    high, low = data["pictures"]
    scale = 114.0
    parts = [_clip_above(_air(high, (2.0, 66.0, scale)), "h", 0.0, 128.0)]
    parts.append(_clip_above(_air(low, (2.0, 196.0, scale)), "l", 136.0, 262.0))
    for y, text, gain in zip((40.0, 176.0), ("2 chords up", "¼ chord up"), data["gains"], strict=True):
        parts.append(svg.word(294, y, text, kind="strong"))
        parts.append(svg.word(294, y + 24, f"{100 * gain:.0f} %", kind="big"))
        parts.append(svg.word(294, y + 42, "of free air"))
    return parts, 264, "The same wing high up and low down"


def _clip_above(body: str, name: str, top: float, bottom: float) -> str:
    window = svg.box(0.0, top, svg.WIDTH, bottom - top, "window")
    clip = f'<clipPath id="clip-{name}">{window}</clipPath>'
    return f'{clip}<g clip-path="url(#clip-{name})">{body}</g>'


def _tab(data: dict[str, Any]) -> Drawn:
    angles, units = data["angle_deg"], data["units"]
    lines = [(kind, f"tab of {tab_height(tab_m, units)}" if tab_m else "no tab", newton / force_scale(units))
             for kind, (tab_m, newton) in zip(("one", "two"), data["lines"], strict=False)]  # fmt: skip
    values = np.concatenate([value for *_, value in lines])
    low, high = min(0.0, float(np.nanmin(values))), float(np.nanmax(values))
    frame = svg.Frame((float(angles[0]), float(angles[-1])), (low, high + 0.1 * (high - low)), top=24)
    parts = [svg.axes(frame, "wing angle [degrees]", f"downforce [{units.force}]")]
    parts += [svg.curve(frame, angles, value, kind) for kind, _, value in lines]
    if data["worth"] is not None:
        at_deg, worth_deg, newton = data["worth"]
        level = newton / force_scale(units)
        (x, y), (far, _) = frame.at(at_deg, level), frame.at(at_deg + worth_deg, level)
        worth = f"worth {worth_deg:.1f}°"
        parts += [svg.arrow(x, y, far, y, "thin"), svg.word(far + 8, y + 4, worth, "start", "strong")]
    parts.append(svg.legend([line[:2] for line in lines], frame.left + 140, frame.top + 138))
    return parts, 232, "Downforce over angle, with and without a tab"


def _drag(data: dict[str, Any]) -> Drawn:
    gains = data["parts"]
    if not gains:
        power = f"{data['power_w'] / 1e3:.1f} kW"
        return [svg.word(170, 30, power, kind="big")], 60, "Power"
    most = max(abs(part.gain_s) for part in gains)
    middle, step, parts = 190.0, 19.0, []
    for k, part in enumerate(gains):
        y = 26.0 + k * step
        length = 92.0 * part.gain_s / most
        kind = "go" if part.gain_s >= 0 else "stop"
        parts.append(svg.box(min(middle, middle + length), y - 10, abs(length), 13, kind))
        parts.append(svg.word(4, y, part.name, "start"))
        parts.append(svg.word(svg.WIDTH - 4, y, f"{signed(part.gain_s)} s", "end"))
    bottom = 26.0 + len(gains) * step
    parts += [
        svg.segment(middle, 12, middle, bottom, "thin"),
        svg.word(middle - 6, 12, "lost", "end"),
        svg.word(middle + 6, 12, "won", "start"),
    ]
    return parts, bottom + 6, "Part by part around the lap: seconds won and lost"


def _balance(data: dict[str, Any]) -> Drawn:
    """A plank on the rear wheel: the wing presses on its end, the front wheel loses load."""
    base, behind, units = data["wheelbase_m"], data["wing_x_m"], data["units"]
    scale = 230.0 / max(base, behind)
    front, rear, wing = (50.0 + scale * x for x in (0.0, base, behind))
    y, rise = 92.0, 0.06  # of the plank, drawn: it dips at the wing
    ends = [(x, y + rise * (x - rear)) for x in (front - 30.0, max(wing, rear) + 14.0)]
    most = max(abs(data["rear_n"]), abs(data["front_n"]))
    parts = [svg.segment(*ends[0], *ends[1], "plank")]
    parts += [svg.circle(x, y + 24, 20, "solid") for x in (front, rear)]
    top = y + rise * (wing - rear)
    parts.append(svg.word(wing, top - 60, "wing", kind="strong"))
    parts.append(svg.arrow(wing, top - 54, wing, top - 6, "two"))
    for x, newton, name in ((front, data["front_n"], "front"), (rear, data["rear_n"], "rear")):
        size = 50.0 * newton / most
        start = y + 52 - min(size, 0.0)
        parts += [svg.arrow(x, start, x, start + size, "one"), svg.word(x, y + 120, name)]
        parts.append(svg.word(x, y + 137, added(newton, units), kind="strong"))
    return parts, y + 146, "The wing presses behind the rear wheel, so the front loses load"


def _myths(data: dict[str, Any]) -> Drawn:
    paths = data["paths"]
    place = 6.0, 70.0, 152.0
    below, above = (np.transpose(_at(path, *place)) for path in paths.paths)
    marks = range(0, min(len(below), len(above)), EQUAL_TIMES)
    ends = np.hstack([above[marks], below[marks]])
    parts = [svg.segment(x1, y1, x2, y2) for x1, y1, x2, y2 in ends[np.isfinite(ends).all(axis=1)]]
    for kind, path in (("one", below), ("two", above)):
        parts.append(f'<path class="line stream" d="{svg.points(*path[::3].T)}"/>')
        there = (path[k] for k in marks if np.isfinite(path[k]).all())
        parts += [svg.circle(x, y, 4, f"head {kind}") for x, y in there]
    parts.append(svg.shape(*_at(paths.outline, *place), "section"))
    for x, kind, name in ((12, "two", "above"), (82, "one", "below")):
        parts += [svg.circle(x, 146, 4, f"head {kind}"), svg.word(x + 10, 150, name, "start")]
    parts.append(svg.word(svg.WIDTH - 4, 150, "joined: the same moment", "end"))
    return parts, 160, "Two bits of air that part at the nose"


DRAWINGS: tuple[Callable[[dict[str, Any]], Drawn], ...] = (
    _pressure, _stall, _speed, _plates, _ground, _tab, _drag, _balance, _myths,
)  # fmt: skip
PICTURES = {draw.__name__.lstrip("_"): draw for draw in DRAWINGS}


def lesson_html(lesson: Lesson, number: int) -> str:
    """One lesson as a page that prints on one A4 sheet."""
    return render("lesson.html", lesson=lesson, picture=own_markup(draw_lesson(lesson)), number=number)


def write_lessons(lessons: Sequence[Lesson], folder: Path | str) -> list[Path]:
    """Write a page for each lesson; for more than one also a page that leads to them and a quiz sheet."""
    pages = {one.topic: lesson_html(one, 1 + list(LESSONS).index(one.topic)) for one in lessons}
    if len(lessons) > 1:
        index, quiz = (render(f"{name}.html", lessons=lessons) for name in ("lessons", "quiz"))
        pages = {"index": index} | pages | {"quiz": quiz}
    return [write_text(Path(folder) / f"{name}.html", text) for name, text in pages.items()]
