"""The page of a study: one HTML file that opens anywhere and fetches nothing."""

from collections.abc import Iterable
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.files import write_text
from wingtool.report.answer_text import gauge_words
from wingtool.report.page import content, pictures
from wingtool.report.page.car import car_content
from wingtool.report.page.car_pictures import car_figures
from wingtool.report.page.car_side import car_picture
from wingtool.report.page.svg import Figure, standalone
from wingtool.report.text import between, degrees, length, sentence, speed
from wingtool.report.top_cautions import top_cautions
from wingtool.study import StudyResult
from wingtool.version import __version__

TEMPLATES = Path(__file__).parent.parent / "templates"
PAGE_FILE = "page.html"


def render(template: str, **values: Any) -> str:
    """A template filled in, version and day too; whatever is not marked as our own markup is escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        finalize=lambda value: "" if value is None else value,
    )
    look = Markup(
        "".join((TEMPLATES / f"{name}.css").read_text(encoding="utf-8") for name in ("picture", "look"))
    )
    today = date.today().isoformat()
    return environment.get_template(template).render(look=look, version=__version__, date=today, **values)


def own_markup(text: str):
    """Text of our own making that is not to be escaped: a picture, a script."""
    from markupsafe import Markup

    return Markup(text)


def page_html(result: StudyResult) -> str:
    """The page as text."""
    units, own_tab = result.study.units, result.study.wing.tab_m or 0.0
    blocks = car_content(result.car, units) if result.car else []
    blocks += content.place_content(result.places, units) + content.tab_block(result)
    car_svg, place, known = car_picture(result)
    first = top_cautions(result)
    reynolds = (end.reduce(result.wing.reynolds, axis=None) / 1e6 for end in (np.fmin, np.fmax))
    wings = result.tabs or ((own_tab, result.wing),)
    return render(
        "page.html",
        result=result,
        doubts=[sentence(doubt) for doubt in result.doubts if doubt != result.advice.doubt],
        answer=content.answer(result),
        gauge=gauge_words(result),
        cautions=content.caution_texts(result, first) | {"first": first},
        forces=content.force_block(result),
        car=blocks,
        ruler=own_markup(pictures.angle_ruler(result)),
        side=own_markup(car_svg),
        known=known,
        pressure=own_markup(pictures.pressure_around(result)),
        figures=[vars(one) | {"svg": own_markup(one.svg)} for one in figures_of(result)],
        slider=content.slider(result),
        tab=min(range(len(wings)), key=lambda k: abs(wings[k][0] - own_tab)),
        table=content.slider_table(result, wings) | {"place": place},
        bands=content.bands(result),
        length=partial(length, units=units),
        speed=partial(speed, units=units),
        tab_height=partial(content.tab_height, units=units),
        degrees=degrees,
        reynolds=between(*reynolds),
        script=own_markup((TEMPLATES / "page.js").read_text(encoding="utf-8")),
    )


def write_page(result: StudyResult, folder: Path | str) -> Path:
    """Write the page into a folder; returns its path."""
    return write_text(Path(folder) / PAGE_FILE, page_html(result))


def write_figures(figures: Iterable[Figure], folder: Path | str) -> list[Path]:
    """Write pictures as SVG files that stand alone; returns their paths."""
    style = (TEMPLATES / "picture.css").read_text(encoding="utf-8")
    return [write_text(Path(folder) / f"{one.name}.svg", standalone(one.svg, style)) for one in figures]


def figures_of(result: StudyResult) -> list[Figure]:
    """The page's pictures that stand still: of the car, and those that say why."""
    why = (pictures.force_over_speed, pictures.force_over_angle, pictures.stall_along_span)
    car = car_figures(result.car, result.study.units) if result.car else []
    return [*car, *(draw(result) for draw in why)]
