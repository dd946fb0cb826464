"""Studies side by side at equal downforce, equal angle or equal drag, with the band of each difference."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wingtool.car import Estimate, in_quadrature
from wingtool.errors import RangeError
from wingtool.files import words_beside
from wingtool.study.advice import least_left, off_for_roof_deg
from wingtool.study.car.doubts import OF_BODY, OF_WING
from wingtool.study.car.parts import REFERENCE_SPEED_M_S
from wingtool.study.car.result import CarResult, car_result
from wingtool.study.flags import check_known
from wingtool.study.progress import no_progress
from wingtool.study.result import StudyResult
from wingtool.study.schema.study import Study
from wingtool.study.whole_study import run_study
from wingtool.study.wing.tabs import rising_branch
from wingtool.track import Circuit
from wingtool.units import DisplayUnits, quantity
from wingtool.wing import Force

EQUAL = ("downforce", "angle", "drag")
# What a careful club can repeat on the track at 160 km/h; common practice, no source. It grows with the
# square of speed as the forces do: 1 per cent of a car's drag in coast-downs, 0.5 mm of suspension travel.
REPEAT_DRAG_N, REPEAT_DOWNFORCE_N = 9.0, 40.0
REPEAT_LAP_S = 0.1
NO_DIFFERENCE = "no difference that you could measure"
OTHER_CIRCUIT = "cannot be compared: the studies name different circuits"


@dataclass(frozen=True, eq=False)
class Side:
    """One study at the point of comparison.

    Parameters
    ----------
    title : str
    wing_angle_deg : float
        Angle at which it meets the condition [deg]; nan when it cannot.
    downforce, drag : Force
        At the speed of the comparison.
    stall_margin_deg : float
        Degrees left, less what is kept for an unmeasured roof.
    margin_is_least : bool
        No stall was found at this speed: at least so much is left.
    status : str
        Words of the rows that were used; or why the condition is not met.
    car : CarResult, optional
        At the nearest angle of the study's table.
    shares : tuple
        What its section data stand on: studies with the same share an error.
    end_deg : float
        End of its advised angles [deg]; nan where none is advised.
    doubts : tuple of str
        What in the file of its section may be a mistake: its numbers are not to be trusted.
    """

    title: str
    wing_angle_deg: float
    downforce: Force
    drag: Force
    stall_margin_deg: float
    status: str
    car: CarResult | None
    shares: tuple[str, ...]
    end_deg: float = np.nan
    margin_is_least: bool = False
    doubts: tuple[str, ...] = ()

    @property
    def past_stall(self) -> bool:
        """Whether no degree is left to its stall; False where nothing is known of it."""
        return self.stall_margin_deg < 0.0

    @property
    def past_end(self) -> bool:
        """Whether it stands beyond its advised angles, by more than a gauge shows."""
        return self.wing_angle_deg > self.end_deg + 0.05


@dataclass(frozen=True)
class Difference:
    """One study against the first: value and band of the difference, and what it means in words."""

    title: str
    quantity: str
    unit: str
    value: float
    low: float
    high: float
    words: str


@dataclass(frozen=True, eq=False)
class Comparison:
    """Studies at one condition and speed, in the first one's units, and the others' differences from it."""

    units: DisplayUnits
    equal: str
    speed_m_s: float
    target: float
    sides: tuple[Side, ...]
    differences: tuple[Difference, ...]


def compare_studies(
    studies: Sequence[Study],
    equal: str = "downforce",
    target: float | None = None,
    speed_m_s: float = REFERENCE_SPEED_M_S,
    progress: Callable[[str], None] = no_progress,
) -> Comparison:
    """Run studies and hold them against the first.

    Parameters
    ----------
    studies : sequence of Study
        Two or more.
    equal : str
        ``downforce``, ``angle`` or ``drag``.
    target : float, optional
        The common downforce or drag [N] or angle [deg]; that of the first study at its advised start angle
        if left out.
    speed_m_s : float
        Speed of the comparison [m/s].
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    RangeError
        Fewer than two studies, an unknown condition, a speed outside a study's table.
    """
    if len(studies) < 2:
        raise RangeError("compare needs two studies or more; name another file")
    check_known(equal, EQUAL, "--equal")
    results = []
    for study in studies:
        progress(study.title)
        results.append(run_study(study, progress))
    common = _target(results[0], equal, speed_m_s) if target is None else float(target)
    sides = tuple(
        side_at(result, equal, common, speed_m_s, title)
        for result, title in zip(results, _titles(studies), strict=True)
    )
    differences = [one for other in sides[1:] for one in _differences(sides[0], other, equal, speed_m_s)]
    return Comparison(studies[0].units, equal, speed_m_s, common, sides, tuple(differences))


def _titles(studies: Sequence[Study]) -> list[str]:
    """A name for each study: its title, the name of its file where others have that title too."""
    plain = [study.title for study in studies]
    return [
        Path(study.source).name if study.source and plain.count(study.title) > 1 else study.title
        for study in studies
    ]


def speed_from_text(text: str) -> float:
    """Speed [m/s] of a text with its unit, such as "100 mph"; UnitError without one."""
    return quantity(text, "speed", "--speed")


def target_from_text(text: str, equal: str) -> float:
    """Force [N] of a text with or without its unit, "18 lbf" or "80"; degrees where the angle is held equal.

    Examples
    --------
    >>> round(target_from_text("18 lbf", "downforce"), 1), target_from_text("4", "angle")
    (80.1, 4.0)
    """
    try:
        return float(text)
    except ValueError:
        if equal == "angle":
            raise RangeError(f"--at {text!r} is no angle; write degrees, for example --at 4") from None
        return quantity(text, "force", "--at")


def _target(result: StudyResult, equal: str, speed_m_s: float) -> float:
    start = result.advice.start_deg
    if not np.isfinite(start):
        raise RangeError(f"{result.study.title}: no angle is advised to start from; give one with --at")
    if equal == "angle":
        return float(start)
    values = _over_angle(result, getattr(result.wing, equal).n, speed_m_s)
    return float(np.interp(start, result.wing.wing_angle_deg, values))


def _over_angle(result: StudyResult, force_n: np.ndarray, speed_m_s: float) -> np.ndarray:
    """A force (k, m) over angle at one speed; its coefficient is interpolated over speed, shape (m,)."""
    wing = result.wing
    first, last = float(wing.speed_m_s[0]), float(wing.speed_m_s[-1])
    if not 0.9999 * first <= speed_m_s <= 1.0001 * last:
        km_h = (3.6 * speed for speed in (speed_m_s, first, last))
        raise RangeError(words_beside(__file__, "compare")["outside"].format(result.study.title, *km_h))
    area = force_n / wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    at_speed = np.array([np.interp(speed_m_s, wing.speed_m_s, column) for column in area.T])
    return at_speed * wing.air.dynamic_pressure_pa(speed_m_s)


def side_at(result: StudyResult, equal: str, target: float, speed_m_s: float, title: str = "") -> Side:
    """One study at the condition, on the branch below its greatest downforce; `title` in place of its own."""
    title, doubts = title or result.study.title, result.section.doubts
    angles = result.wing.wing_angle_deg
    table = {
        name: getattr(result.wing, name).each(lambda force_n: _over_angle(result, force_n, speed_m_s))
        for name in ("downforce", "drag")
    }
    angle, reach = target, angles
    if equal != "angle":
        rising = rising_branch(table[equal].n, table["downforce"].n)
        reach = table[equal].n[rising]
        angle = np.interp(target, reach, angles[rising], np.nan, np.nan) if rising.size else np.nan
    shares = tuple(f"{p.method} {p.surface} {p.section.name if p.section else ''}" for p in result.polars)
    if not angles[0] <= angle <= angles[-1]:
        missing = Force(np.nan, np.nan, np.nan)
        unit = "°" if equal == "angle" else " N"
        ends = f", {_plain(reach[0])} to {_plain(reach[-1])}{unit}" if reach.size else ""
        return Side(
            title, np.nan, missing, missing, np.nan,
            f"cannot meet {equal} {_plain(target)}{unit} within its table{ends}", None, shares, doubts=doubts,
        )  # fmt: skip
    forces = {n: force.each(lambda row: float(np.interp(angle, angles, row))) for n, force in table.items()}
    k = int(np.argmin(np.abs(result.wing.speed_m_s - speed_m_s)))
    step = np.diff(angles).max() if angles.size > 1 else 1.0
    near = np.abs(angles - angle) < step
    return Side(
        title=title + ("" if result.study.wing.section_known else " (section not known)"),
        wing_angle_deg=float(angle),
        **forces,
        stall_margin_deg=float(np.interp(angle, angles, result.wing.stall_margin_deg[k]))
        - off_for_roof_deg(result.advice.roof_band_deg),
        status="; ".join(sorted({str(word) for word in result.wing.status[k][near]})),
        car=car_result(result.study, result.wing, float(angle)),
        shares=shares,
        end_deg=result.advice.high_deg,
        margin_is_least=bool(least_left(result.wing)[k][near].any()),
        doubts=doubts,
    )


def _plain(value: float) -> str:
    """Three figures, never in powers of ten."""
    return f"{float(f'{value:.3g}'):g}"


def _differences(first: Side, other: Side, equal: str, speed_m_s: float) -> list[Difference]:
    """Differences of the quantities that are not held equal."""
    grow = (speed_m_s / REFERENCE_SPEED_M_S) ** 2
    shared = first.shares == other.shares
    found = []
    for name, repeat in (("downforce", REPEAT_DOWNFORCE_N), ("drag", REPEAT_DRAG_N)):
        if name != equal:
            one, two = getattr(first, name), getattr(other, name)
            found.append(_difference(other.title, name, "N", one, two, shared, repeat * grow))
    cars = [side.car for side in (first, other) if side.car and side.car.lap]
    laps = [car.lap for car in cars if car.lap]
    if len(laps) == 2 and same_road(laps[0].circuit, laps[1].circuit):
        band = _lap_band(cars[0], cars[1], _shared_doubts(cars[0], cars[1], shared))
        words = _words(band.value, band.low, band.high, REPEAT_LAP_S)
        found.append(Difference(other.title, "lap time", "s", band.value, band.low, band.high, words))
    elif len(laps) == 2:
        found.append(Difference(other.title, "lap time", "s", np.nan, np.nan, np.nan, OTHER_CIRCUIT))
    return found


def same_road(one: Circuit, other: Circuit) -> bool:
    """Whether two circuits are the same road, whatever they are called."""
    columns = ((a.curvature_1_m, a.camber_rad, [a.step_m]) for a in (one, other))
    return all(np.array_equal(*pair) for pair in zip(*columns, strict=True))


def _shared_doubts(first: CarResult, other: CarResult, same_sections: bool) -> set[str]:
    """Names of the doubts that act on both laps alike: of one body, of the same sections, of a front part."""
    one, two = ((c.cda_low_m2, c.cda_m2, c.cda_high_m2, c.body_lift) for c in (first.car, other.car))
    apart = (() if same_sections else OF_WING) + (() if one == two else OF_BODY)
    return set(_moves(first)) & set(_moves(other)) - set(apart)


def _moves(car: CarResult) -> dict[str, np.ndarray]:
    """By doubt how far its ends, (low, high) of each input, move the lap time [s]."""
    assert car.lap is not None
    names, times = car.lap.fitted.doubts, car.lap.fitted.with_parts.lap_time_s
    ends = np.reshape(times[1:] - times[0], (-1, 2))
    return {name: ends[[one == name for one in names]] for name in names}


def _lap_band(first: CarResult, other: CarResult, shared: set[str]) -> Estimate:
    """Lap time less that of the first [s]: shared doubts act on the difference alone, all add in square."""
    assert first.lap is not None
    assert other.lap is not None
    value = float(other.lap.fitted.with_parts.lap_time_s[0] - first.lap.fitted.with_parts.lap_time_s[0])
    one, two = _moves(first), _moves(other)
    moves = {name: two[name] - one[name] for name in shared}
    moves |= {f"{name}, first": -ends for name, ends in one.items() if name not in shared}
    moves |= {name: ends for name, ends in two.items() if name not in shared}
    return in_quadrature(value, {name: (value + ends).tolist() for name, ends in moves.items()})


def _difference(title, quantity, unit, one, two, shared: bool, repeat: float) -> Difference:
    """Difference of two (value, low, high): shared errors act on it alone, others add in square."""
    (first, first_low, first_high), (other, other_low, other_high) = one, two
    value = other - first
    if shared:
        ends = sorted((other_low - first_low, other_high - first_high, value))
        low, high = ends[0], ends[-1]
    else:
        low = value - float(np.hypot(other - other_low, first_high - first))
        high = value + float(np.hypot(other_high - other, first - first_low))
    return Difference(title, quantity, unit, value, low, high, _words(value, low, high, repeat))


def _words(value: float, low: float, high: float, repeat: float) -> str:
    if not np.isfinite(value):
        return "cannot be compared"
    if low <= 0.0 <= high:
        return f"{NO_DIFFERENCE}: the band includes zero"
    if abs(value) < repeat:
        return f"{NO_DIFFERENCE}: less than a careful club can repeat"
    return "more" if value > 0 else "less"
