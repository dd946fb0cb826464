"""From a study's tables to the finite wing: geometry, section data, the air behind the roof, one solution."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.errors import StudyError
from wingtool.files import words_beside
from wingtool.geometry import Section, turned_over
from wingtool.section import DEFAULT_METHOD, SOLVED, TAB_REACH_DEG, Flap, Question, SectionPolar, polars
from wingtool.study.advice import degrees_left
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.study.section.sweep import section_of
from wingtool.study.trace.shape_band import traced_beside, with_shape_band
from wingtool.study.wing.cached import cached_planes
from wingtool.study.wing.correction import corrected
from wingtool.study.wing.roof import air_at_wing
from wingtool.wing import Endplate, Mount, Plane, Station, StationPolars, Wing, WingPolar

ELEMENTS_ANGLES_DEG = np.arange(-8.0, 17.0, 2.0)  # coupled elements take about half a second an angle
SECTION_ANGLES_DEG = np.arange(-8.0, 21.0)
PLAIN_ANGLES_DEG = np.concatenate(
    [SECTION_ANGLES_DEG, SECTION_ANGLES_DEG[-1] + TAB_REACH_DEG]
)  # without a tab
# Rows stand at ROW_REYNOLDS times powers of two; up to LAST_ROW_SLACK times the last row its values are held.
ROW_REYNOLDS, LAST_ROW_SLACK = 1e6, 1.05
ROWS_NOTE: str = words_beside(__file__, "finite_wing")["rows"]
NEAR_GROUND_CHORDS = 1.5  # below this height the section data are computed at that height


def wing_of_study(
    study: Study, progress: Callable[[str], None] = no_progress, least_alpha_deg: float = -np.inf
) -> WingPolar:
    """Solve the wing that a study describes, over its angles and speeds; a [correction] is applied.

    Its `stall_margin_deg` is in degrees of the wing's angle, as `degrees_left` says.

    Parameters
    ----------
    study : Study
    progress : callable
        Takes a line on what is being done.
    least_alpha_deg : float
        No section data below this angle: for angles of the wing that do not come near it.

    Raises
    ------
    WingtoolError
        A section that cannot be found or read; a wing that cannot be.
    """
    first = Plane(wing_geometry(study), station_polars(study, progress, least_alpha_deg))
    planes = [first, *further_planes(study, progress)]
    progress("finite wing")
    sweep = study.sweep
    solved = cached_planes(planes, sweep.angles_deg, sweep.speeds_m_s, study.air.air(), air_at_wing(study))
    left = degrees_left(solved.wing_angle_deg, solved.stall_margin_deg)
    return corrected(replace(solved, stall_margin_deg=left), study.correction)


def with_wing(study: Study, **changes: Any) -> Study:
    """The same study with changes in its [wing]."""
    return study.model_copy(update={"wing": study.wing.model_copy(update=changes)})


def with_sweep(study: Study, **changes: Any) -> Study:
    """The same study with changes in its [sweep]."""
    return study.model_copy(update={"sweep": study.sweep.model_copy(update=changes)})


def wing_geometry(study: Study) -> Wing:
    """The planform and its plates."""
    table = study.wing
    alike = ("span_m", "chord_m", "tip_chord_m", "twist_tip_deg", "sweep_deg", "dihedral_deg", "height_m")
    return Wing(
        **{name: getattr(table, name) for name in alike},
        endplate=_endplate(study),
        stations=_stations(study),
        tab_chord=tab_chord(study),
        mounts=tuple(
            Mount(one.span_fraction, one.width_m, one.load_left, one.drag_area_m2 or 0.0, one.origin)
            for one in table.stand
        ),
    )


def on_own_chords(study: Study) -> list[Study]:
    """The study of each further plane as a plain wing of its section and chord."""
    plain = {"tip_chord_m": None, "tab_m": None, "station": (), "element": ()}
    return [with_wing(study, section=one.section, chord_m=one.chord_m, **plain) for one in study.wing.plane]


def further_planes(study: Study, progress: Callable[[str], None]) -> list[Plane]:
    """Planes behind or above the first, without plates, on section data at their own chord."""
    planes = []
    for table, on_its_chord in zip(study.wing.plane, on_own_chords(study), strict=True):
        progress(f"section {table.section}, further plane")
        wing = Wing(table.span_m or study.wing.span_m, table.chord_m)
        polars = section_polar(on_its_chord, table.section)
        planes.append(Plane(wing, polars, table.behind_m, table.above_m, table.angle_deg))
    return planes


def tab_chord(study: Study) -> float:
    """Height of the trailing-edge tab over the chord in the middle."""
    return (study.wing.tab_m or 0.0) / study.wing.chord_m


def section_places(study: Study) -> dict[float, str]:
    """Section names by share of the half span; a station in the middle stands in for the wing's own."""
    stations = {s.span_fraction: s.section for s in study.wing.station if s.section}
    return {0.0: study.wing.section} | stations


def station_polars(
    study: Study, progress: Callable[[str], None], least_alpha_deg: float = -np.inf
) -> tuple[StationPolars, ...]:
    """Section data at the middle and wherever the section changes."""
    places = section_places(study)
    computed: dict[str, SectionPolar] = {}
    for name in dict.fromkeys(places.values()):
        progress(f"section {name}")
        computed[name] = section_polar(study, name, least_alpha_deg)
    return tuple(StationPolars(at, (computed[name],)) for at, name in sorted(places.items()))


def section_polar(study: Study, name: str, least_alpha_deg: float = -np.inf) -> SectionPolar:
    """Data of one section over all angles and Reynolds numbers that the wing can ask for.

    A traced section, one with its band file beside it, brings the band of its shape along.
    """
    table, section = study.wing, named_section(study, name)
    if table.element:
        from wingtool.section import elements_polar

        return elements_polar(elements_question(study, section), flaps_of(study))
    question, method = section_question(study, section), section_method(study)
    if table.tab_m:
        question = replace(question, alpha_deg=SECTION_ANGLES_DEG, tab_chord=tab_chord(study))
    alpha = question.alpha_deg[question.alpha_deg >= least_alpha_deg]
    (found,) = polars([replace(question, alpha_deg=alpha)], method)
    if question.reynolds.size > 1 and method in SOLVED:
        found = replace(found, notes=(*found.notes, ROWS_NOTE))
    traced = traced_beside(name, study.folder)
    return found if traced is None else with_shape_band(found, traced)


def named_section(study: Study, name: str) -> Section:
    """A section that the study names; the main one turned over where `flip` says so."""
    section = section_of(name, study.folder)
    if not study.wing.flip or name != study.wing.section:
        return section
    repairs = (*section.repairs, "turned over, as `flip` in [wing] says")
    return replace(turned_over(section), name=section.name, repairs=repairs)


def section_method(study: Study) -> str:
    """The method of the section data."""
    return study.wing.method or DEFAULT_METHOD


def section_question(study: Study, section: Section) -> Question:
    """What the wing asks of a section without a tab; the same whatever the tab, so that all tabs share it."""
    table, height = study.wing, study.wing.height_m / study.wing.chord_m
    ground = section_method(study) != "surrogate"  # no ground effect in its training data
    at_height = height if height < NEAR_GROUND_CHORDS and ground else np.inf
    reynolds = reynolds_rows(*_reynolds_range(study))
    return Question(section, reynolds, PLAIN_ANGLES_DEG, table.surface, table.trip_x, 0.0, at_height)


def flaps_of(study: Study) -> tuple[Flap, ...]:
    """The study's further elements, over the main chord."""
    chord_m = study.wing.chord_m
    return tuple(
        Flap(
            section_of(element.section, study.folder),
            chord=element.chord_m / chord_m,
            angle_deg=element.angle_deg,
            gap=element.gap_m / chord_m,
            overlap=element.overlap_m / chord_m,
        )
        for element in study.wing.element
    )


def elements_question(study: Study, section: Section) -> Question:
    """What the wing asks of a section with the study's further elements behind it, on the main chord."""
    table = study.wing
    if table.tab_m:
        raise StudyError("wing.tab: a tab on several elements cannot be computed; take out one or the other")
    height, reynolds = table.height_m / table.chord_m, np.unique(_reynolds_range(study))
    at_height = height if height < NEAR_GROUND_CHORDS else np.inf
    return Question(
        section, reynolds, ELEMENTS_ANGLES_DEG, table.surface, table.trip_x, height_chord=at_height
    )


def reynolds_rows(lowest: float, highest: float) -> np.ndarray:
    """Reynolds numbers of section rows for a range: a ladder of doubles, the same for every study.

    So studies with other speeds or chords find their rows in the cache, and what the straight line over the
    logarithm between two rows misses is known: `ROWS_NOTE`.

    Examples
    --------
    >>> reynolds_rows(2.6e5, 9.4e5).tolist()
    [250000.0, 500000.0, 1000000.0]
    """
    if highest == lowest:
        return np.array([highest])
    first = np.floor(np.log2(LAST_ROW_SLACK * lowest / ROW_REYNOLDS))
    last = np.ceil(np.log2(highest / LAST_ROW_SLACK / ROW_REYNOLDS))
    return ROW_REYNOLDS * 2.0 ** np.arange(first, max(last, first + 1.0) + 1.0)


def _reynolds_range(study: Study) -> tuple[float, float]:
    table, speeds = study.wing, study.sweep.speeds_m_s
    chords = [table.chord_m, table.tip_chord_m or table.chord_m]
    chords += [station.chord_m for station in table.station if station.chord_m]
    inflow = air_at_wing(study)
    ratios = [1.0, *inflow.speed_ratio]
    air = study.air.air()
    lowest = air.reynolds(speeds[0] * min(ratios), min(chords))
    highest = air.reynolds(speeds[-1] * max(ratios), max(chords))
    return float(highest if highest < 1.01 * lowest else lowest), float(highest)


def _endplate(study: Study) -> Endplate | None:
    table = study.wing.endplate
    if table is None:
        return None
    stated = {"above_m": table.above_m, "length_m": table.length_m, "overhang_fore_m": table.ahead_m,
              "thickness_m": table.thickness_m}  # fmt: skip
    given: dict[str, Any] = {name: value for name, value in stated.items() if value is not None}
    return Endplate(table.height_m, sweep_deg=table.sweep_deg, outline_m=table.outline, **given)


def _stations(study: Study) -> tuple[Station, ...]:
    table = study.wing
    if not any(station.chord_m or station.twist_deg is not None for station in table.station):
        return ()
    tip = table.tip_chord_m or table.chord_m
    chords = {0.0: table.chord_m, 1.0: tip} | {s.span_fraction: s.chord_m for s in table.station if s.chord_m}
    twists = {0.0: 0.0, 1.0: table.twist_tip_deg}
    twists |= {s.span_fraction: s.twist_deg for s in table.station if s.twist_deg is not None}
    places = sorted({*chords, *twists})
    at_chord, at_twist = (np.interp(places, sorted(d), [d[k] for k in sorted(d)]) for d in (chords, twists))
    return tuple(Station(p, float(c), float(t)) for p, c, t in zip(places, at_chord, at_twist, strict=True))
