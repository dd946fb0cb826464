"""The corrected estimate: factors on the wing's forces with their interval, and the way into a study."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wingtool.errors import StudyError
from wingtool.files import write_text
from wingtool.study.car.result import CarResult
from wingtool.study.schema.read import study_from_text
from wingtool.track import BARE_LIFT, CONSISTENT, TOO_NOISY, Evidence

LIFT_KEYS = ("lift_area_front", "lift_area_rear", "lift_area_band")


@dataclass(frozen=True)
class Correction:
    """Factors on the uncorrected estimate, each with its interval; None where nothing was measured.

    `body_lift_m2` is the bare body's lift area under the front and the rear axle and the half width of both.
    `drag_expected` is the factor that the estimate with its usual installation has, after a coast-down.
    """

    downforce: tuple[float, float, float] | None
    drag: tuple[float, float, float] | None
    origin: str
    drag_on_car: bool = False
    body_lift_m2: tuple[float, float, float] | None = None
    drag_expected: tuple[float, float, float] | None = None

    def lines(self) -> list[str]:
        """The tables as they stand in a study file."""
        if self.body_lift_m2 is None:
            return self.factor_lines()
        return ["[car]", *self.car_lines(), *self.factor_lines()]

    def car_lines(self) -> list[str]:
        """Keys for ``[car]``."""
        three = zip(LIFT_KEYS, self.body_lift_m2 or (), strict=False)
        return [f'{key} = "{value:.3f} m^2"' for key, value in three]

    def factor_lines(self) -> list[str]:
        """The table ``[correction]``; empty where no factor was measured."""
        if self.downforce is None and self.drag is None:
            return []
        rows = ["[correction]"]
        for name, three in (("downforce", self.downforce), ("drag", self.drag)):
            if three is not None:
                keys = (f"{name}_factor", f"{name}_low", f"{name}_high")
                rows += [f"{key} = {value:.3f}" for key, value in zip(keys, three, strict=True)]
        if self.drag_on_car and self.drag is not None:
            rows.append("drag_on_car = true")
        text = self.origin.replace("\\", "/").replace('"', "'")
        return [*rows, f'origin = "{text}"']


def correction_from(
    test: str, parts: str, evidence: tuple[Evidence, ...], result: CarResult, before: Any, source: str
) -> Correction | None:
    """Factors that bring the wing's estimate to the measurement, and the bare body's lift.

    None when the log is too noisy, when it leaves the wing no drag, when front parts went on and off as well
    (their shares are unknown), or in the corner test, which sees the weaker axle only. Body lift is taken
    from a suspension test of both axles.

    Parameters
    ----------
    before : CorrectionTable or None
        The study's own, which is in the estimate already.
    """
    reliable = [e for e in evidence if e.word != TOO_NOISY]
    lifts = [best_value(e) for e in reliable if e.what.startswith(BARE_LIFT)]
    body = None
    if len(lifts) == 2:
        body = (lifts[0][0], lifts[1][0], max((high - low) / 2 for _, low, high in lifts))
    of_wing = parts == "wing" and test != "corners"
    reliable = [e for e in reliable if of_wing and not e.what.startswith(BARE_LIFT)]
    downforce = drag = expected = None
    m = result.wing.index(result.set_angle_deg)
    cla, cda = float(result.wing.cla_m2[m]), float(result.wing.cda_m2[m])
    for e in reliable:
        if e.what.startswith("drag"):
            rolling = result.car.rolling * cla if test == "coast-down" else 0.0
            drag = _factors(best_value(e), cda, rolling)
            if drag and drag[0] <= 0.0:  # a drag that pushes: no factor mends log, angle or estimate
                drag = None
            guess = (e.predicted, e.predicted_low, e.predicted_high)
            expected = _factors(guess, cda, rolling) if test == "coast-down" else None
        elif e.what.startswith("downforce"):
            downforce = _factors(best_value(e), cla, 0.0)
    if test == "suspension" and reliable:
        downforce = _from_axles(reliable, result, m)
    if downforce is None and drag is None:
        return body and Correction(None, None, "", body_lift_m2=body)
    units = f"{reliable[0].units_on} with, {reliable[0].units_off} without"
    return Correction(
        _times(downforce, getattr(before, "downforce_factor", 1.0)),
        _times(drag, getattr(before, "drag_factor", 1.0)),
        f"{test}, {source}: {units}",
        test == "coast-down",
        body,
        _times(expected, getattr(before, "drag_factor", 1.0)),
    )  # fmt: skip


def best_value(e: Evidence) -> tuple[float, float, float]:
    """What to believe after the test: value, low and high end.

    Where track and estimate agree they are two independent opinions, weighted by the inverse squares of their
    standard uncertainties (the usual weighted mean, from memory; the estimate's band counts as two of them
    each way), so the band can only shrink. Where they disagree the track wins alone.
    """
    guess = (e.predicted_high - e.predicted_low) / 4.0
    if e.word != CONSISTENT or guess <= 0.0:
        return e.change, e.low, e.high
    weights = 1.0 / guess**2, 1.0 / e.standard_error**2
    value = (weights[0] * e.predicted + weights[1] * e.change) / sum(weights)
    reach = 2.0 / sum(weights) ** 0.5
    return value, value - reach, value + reach


def _factors(three, estimate_m2: float, taken_off_m2: float):
    if abs(estimate_m2) < 1e-6:
        return None
    ratio = [(value - taken_off_m2) / estimate_m2 for value in three]
    return ratio[0], min(ratio), max(ratio)


def _from_axles(reliable: list[Evidence], result: CarResult, m: int):
    """Downforce from the axle that was measured best: its load less the couple of the estimated drag."""
    wing, length = result.wing, result.car.wheelbase_m
    best = min(reliable, key=lambda e: e.standard_error / max(abs(e.predicted), 1e-6))
    couple = (wing.middle.cda_m2[m] * wing.height_m[m] + wing.cma_m3[m]) / length
    share = wing.x_m / length  # of the downforce, on the rear axle
    rear = best.what.endswith("rear axle")
    lever, offset = (share, couple) if rear else (1.0 - share, -couple)
    if abs(lever) < 0.05:
        return None
    return _factors(best_value(best), float(wing.cla_m2[m]) * lever, float(offset))


def _times(three, factor: float):
    return None if three is None else tuple(value * factor for value in three)


_TABLE = re.compile(r"(?ms)^\s*\[correction\]\s*(?:#[^\n]*)?$.*?(?=^\s*\[|\Z)")


def corrected_text(study_text: str, correction: Correction) -> str:
    """A study file's text with its ``[correction]`` put in place of an earlier one, all else as it was.

    Keys of an earlier correction that this log does not touch are kept.

    Examples
    --------
    >>> fix = Correction(None, (1.1, 1.0, 1.2), "coast-down")
    >>> print(corrected_text('title = "a"', fix))
    title = "a"
    <BLANKLINE>
    [correction]
    drag_factor = 1.100
    drag_low = 1.000
    drag_high = 1.200
    origin = "coast-down"
    <BLANKLINE>
    """
    if correction.body_lift_m2 is not None:
        study_text = _with_car_keys(study_text, correction.car_lines())
    if not (lines := correction.factor_lines()):
        return study_text
    kept: list[str] = []
    if earlier := _TABLE.search(study_text):
        factors = {"drag_": correction.drag, "downforce_": correction.downforce}
        untouched = tuple(prefix for prefix, factor in factors.items() if factor is None)
        kept = [line for line in map(str.strip, earlier[0].splitlines()) if line.startswith(untouched)]
        study_text = study_text[: earlier.start()] + study_text[earlier.end() :]
    return "\n".join([study_text.rstrip(), "", lines[0], *kept, *lines[1:], ""])


def _with_car_keys(study_text: str, lines: list[str]) -> str:
    """The text with these keys in ``[car]``, in place of earlier ones; a new table where there is none.

    Examples
    --------
    >>> print(_with_car_keys('[car]\\nlift_area_rear = "1 m^2"\\n', ['lift_area_rear = "0 m^2"']))
    [car]
    lift_area_rear = "0 m^2"
    <BLANKLINE>
    """
    text = re.sub(rf"(?m)^[ \t]*(?:{'|'.join(LIFT_KEYS)})[ \t]*=.*\n?", "", study_text)
    keys = "\n".join(lines)
    head = re.compile(r"(?m)^[ \t]*\[car\][ \t]*(?:#.*)?$")
    text, found = head.subn(lambda line: f"{line[0]}\n{keys}", text, count=1)
    return text if found else f"{text.rstrip()}\n\n[car]\n{keys}\n"


def write_corrected(study_path: Path | str, correction: Correction, target: Path | str) -> Path:
    """Write the study with the correction to a new file and read it back.

    Raises
    ------
    StudyError
        The target is another folder (the study names files beside itself), or what was written does not read.
    OutputError
        It cannot be written.
    """
    study_path, target = Path(study_path), Path(target)
    if target.resolve().parent != study_path.resolve().parent:
        raise StudyError(
            f"{target}: write it beside {study_path}, because the study names files beside itself"
        )
    text = corrected_text(study_path.read_text(encoding="utf-8-sig"), correction)
    study_from_text(text, target)
    return write_text(target, text)
