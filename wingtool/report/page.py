"""The page of a study: one HTML file that opens offline, the answer first."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wingtool.files import write_text
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF

if TYPE_CHECKING:
    from wingtool.study import StudyResult

PICTURES = (
    ("forces_over_angle", "Downforce and drag over wing angle. Grey: stalled. Green: advised."),
    ("downforce_over_speed", "Downforce over speed. Twice the speed is four times the force."),
    (
        "pressure",
        "Pressure around the section. The air pulls at the underside more than it pushes from above.",
    ),
)


def write_page(result: StudyResult, folder: Path | str) -> Path:
    """Write ``page.html`` with the pictures of the folder inside it; returns the path."""
    folder = Path(folder)
    return write_text(folder / "page.html", page(result, folder))


def page(result: StudyResult, folder: Path) -> str:
    """The page as text; what the user wrote is escaped."""
    from jinja2 import Environment

    pictures = [(_inline(folder / f"{name}.svg"), text) for name, text in PICTURES]
    environment = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    environment.filters["two"] = two_figures
    template = environment.from_string((Path(__file__).parent / "page.html").read_text(encoding="utf-8"))
    return template.render(
        result=result,
        advice=result.advice,
        forces=[_both_units(force) for force in result.advice.forces],
        pictures=pictures,
    )


def two_figures(value: float) -> str:
    """A number to two significant figures, three from 1000 up; a dash where there is none.

    Examples
    --------
    >>> two_figures(1234.0), two_figures(0.123)
    ('1230', '0.12')
    """
    if value != value:
        return "–"
    digits = 3 if abs(value) >= 1000 else 2
    rounded = float(f"{value:.{digits}g}")
    return f"{rounded:.0f}" if abs(rounded) >= 10 else f"{rounded:g}"


def _both_units(force: Any) -> dict[str, Any]:
    return {
        "km_h": force.speed_m_s / M_S_PER_KM_H,
        "mph": force.speed_m_s / M_S_PER_MPH,
        "n": force,
        "kgf": force.downforce_n / NEWTON_PER_KGF,
        "lbf": force.downforce_n / NEWTON_PER_LBF,
    }


def _inline(picture: Path) -> str:
    data = base64.b64encode(picture.read_bytes()).decode()
    return f"data:image/svg+xml;base64,{data}"
