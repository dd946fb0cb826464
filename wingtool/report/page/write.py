"""The page of a study: one HTML file that opens anywhere and fetches nothing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from wingtool.files import write_text
from wingtool.report.page import content, pictures
from wingtool.report.page.car import car_content
from wingtool.report.page.car_pictures import car_figures
from wingtool.report.page.car_side import car_picture, side_of
from wingtool.report.page.check_list import CHECK_LIST
from wingtool.report.page.choices import place_content
from wingtool.report.text import degrees, sentence

if TYPE_CHECKING:
    from wingtool.study import StudyResult

TEMPLATES = Path(__file__).parent.parent / "templates"
PAGE_FILE = "page.html"


def render(template: str, **values: Any) -> str:
    """A template filled in; whatever is not marked as our own markup is escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        finalize=lambda value: "" if value is None else value,
    )
    look = Markup((TEMPLATES / "look.css").read_text(encoding="utf-8"))
    return environment.get_template(template).render(look=look, **values)


def own_markup(text: str):
    """Text of our own making that is not to be escaped: a picture, a script."""
    from markupsafe import Markup

    return Markup(text)


def page_html(result: StudyResult) -> str:
    """The page as text."""
    from wingtool.study import three_of

    units = result.study.units
    blocks = (car_content(result.car, units) if result.car else []) + place_content(result.places)
    car_svg, place = car_picture(result)
    wings = result.tabs or ((result.study.wing.tab_m or 0.0, result.wing),)
    own_tab = result.study.wing.tab_m or 0.0
    start = min(range(len(wings)), key=lambda k: abs(wings[k][0] - own_tab))
    return render(
        "page.html",
        title=result.study.title,
        subtitle=f"Wing, section {result.section.name}, computed {result.date}",
        note=result.study.note,
        doubts=[sentence(doubt) for doubt in result.doubts if doubt != result.advice.doubt],
        answer=content.answer(result),
        cautions=content.cautions(result),
        car=blocks,
        pictures=_pictures(result, car_svg),
        car_figures=_drawn(car_figures(result.car)) if result.car else [],
        figures=_drawn(_reasons(result)),
        check_list=CHECK_LIST,
        slider=content.slider(result, len(wings), start) | {"car": result.car is not None},
        table=content.slider_table(result, wings) | {"place": place},
        inputs=content.inputs(result),
        tab=content.tab_rows(result),
        bands=content.bands(result),
        grid=content.grid(result, three_of(len(result.wing.speed_m_s))),
        version=result.version,
        date=result.date,
        script=own_markup((TEMPLATES / "page.js").read_text(encoding="utf-8")),
    )


def write_page(result: StudyResult, folder: Path | str) -> Path:
    """Write the page into a folder; returns its path."""
    return write_text(Path(folder) / PAGE_FILE, page_html(result))


def _pictures(result: StudyResult, car_svg: str) -> dict[str, Any]:
    alpha = degrees(round(float(result.flow.alpha_deg[0]), 1))
    return {
        "ruler": own_markup(pictures.angle_ruler(result)),
        "car": own_markup(car_svg),
        "car_note": f"To scale: a number that is wrong by ten shows here. {side_of(result).known}",
        "section": own_markup(pictures.pressure_around(result.flow, "Pressure around the section")),
        "section_note": f"Turns with the angle; the pressure is that at {alpha} to the air, no friction.",
    }


def _reasons(result: StudyResult) -> list[tuple[str, str, str]]:
    """Pictures that say why, with title and sentence."""
    return [
        (
            pictures.force_over_speed(result),
            "Double the speed, four times the force",
            "The tint is the band. Slow corners get almost nothing.",
        ),
        (
            pictures.force_over_angle(result),
            "More angle gives more, until it gives less",
            "Beyond the stall the flow separates from the underside, and the grip goes at once.",
        ),
        (
            pictures.stall_along_span(result),
            "Where along the span it stalls first",
            "Seen from behind. The lowest point of a line stalls first; put the tufts there.",
        ),
    ]


def _drawn(figures: list[tuple[str, str, str]]) -> list[dict[str, Any]]:
    return [{"picture": own_markup(svg), "title": title, "text": text} for svg, title, text in figures]
