"""Run a study: section, flow, wing, advice."""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from datetime import date

import numpy as np

from wingtool.geometry import Measures, Section, measure
from wingtool.panels import solve
from wingtool.section import SectionPolar, polar
from wingtool.study.advice import SOUND, Advice, advise
from wingtool.study.car.balance import front_shift_points
from wingtool.study.car.lap import circuit_of, tabs_and_laps
from wingtool.study.car.limits import rules_over_angles
from wingtool.study.car.result import car_result
from wingtool.study.cautions import Caution
from wingtool.study.plausible import unusual_values
from wingtool.study.progress import no_progress
from wingtool.study.result import StudyResult
from wingtool.study.schema.read import naming_file
from wingtool.study.schema.study import Study
from wingtool.study.trace.rank import traced_answer
from wingtool.study.wing import finite_wing
from wingtool.study.wing.positions import places_of
from wingtool.study.wing.roof import roof_inflow
from wingtool.study.wing.tabs import choice_of_tab
from wingtool.version import __version__
from wingtool.wing import WingPolar
from wingtool.workers import start

PICTURE_PANELS = 200
DEEPER_DEG = 5.0  # further in the stall the solver's ways begin where solutions are hard to find; heuristic
ADVICE_ANGLES_DEG = tuple(map(float, range(-14, 21)))  # as far as section data reach, whatever is asked for
SOLVED_ANGLES_DEG = (*ADVICE_ANGLES_DEG, 21.0, 22.0)  # so that another range is in the cache


@naming_file
def run_study(
    study: Study, progress: Callable[[str], None] = no_progress, pool: Executor | None = None
) -> StudyResult:
    """Everything that the study names.

    Parameters
    ----------
    study : Study
    progress : callable
        Takes a line on what is being done.
    pool : Executor, optional
        Takes what can be done beside the rest: the wings with other tabs.

    Raises
    ------
    WingtoolError
        A section that cannot be found or read, or a value outside a method's range.
    """
    section = finite_wing.named_section(study, study.wing.section)
    study, everywhere, wing, advice = advised_wing(study, progress)
    other_tabs = start(pool, tabs_and_laps, everywhere, study, wing, circuit_of(study))
    if study.car:
        progress("car, circuit, mounts")
    car = car_result(study, wing, advice.start_deg)
    rules = rules_over_angles(study, wing, advice)
    progress("the same wing with other tabs")
    tabs, best_tabs = other_tabs()
    if car:
        car = replace(car, rules=rules, lap=car.lap and replace(car.lap, best_tabs=best_tabs))
    progress("pressure around the section, second opinion")
    measures = measure(section)
    return StudyResult(
        study=study,
        section=section,
        measures=measures,
        flow=picture_flow(study, section, wing, advice),
        polars=wing.polars,
        second_opinion=second_opinion(study, section),
        wing=wing,
        advice=advice,
        car=car,
        version=__version__,
        date=date.today().isoformat(),
        doubts=(*section_unknown(study), *doubts(wing, advice, measures, section.doubts)),
        tabs=tabs,
        rules=rules,
        tab_choice=choice_of_tab(tabs, wing, advice),
        places=places_of(study, wing, advice.start_deg),
        traced=traced_answer(study, wing, advice),
    )


def advised_wing(study: Study, progress: Callable[[str], None]) -> tuple[Study, Study, WingPolar, Advice]:
    """The study over all angles that its answer needs and over all that were solved; wing, advice."""
    everywhere = over_all_angles(study)
    asked = everywhere or finite_wing.with_sweep(study, angles_deg=ADVICE_ANGLES_DEG)
    solved = finite_wing.wing_of_study(asked, progress)
    wide = solved.only(ADVICE_ANGLES_DEG)
    advice = advise(wide, roof_band_deg(study), front_shift_points(study, wide), study.units)
    study = finite_wing.with_sweep(study, angles_deg=angles_needed(study.sweep.angles_deg, advice))
    if everywhere is None:
        everywhere, solved = study, finite_wing.wing_of_study(study, progress)
    wing = solved.only(study.sweep.angles_deg)
    cautions = (*advice.cautions, *of_sections(wing), *unanswered(study), *asked_about(study))
    return study, everywhere, wing, replace(advice, cautions=cautions)


@naming_file
def wing_at_asked_angles(study: Study, progress: Callable[[str], None] = no_progress) -> WingPolar:
    """The wing over the study's own angles, with the degrees left to a stall that may lie beyond them."""
    asked_deg = study.sweep.angles_deg
    wide = finite_wing.with_sweep(study, angles_deg=tuple(sorted({*asked_deg, *ADVICE_ANGLES_DEG})))
    return finite_wing.wing_of_study(wide, progress).only(asked_deg)


def over_all_angles(study: Study) -> Study | None:
    """The study over its own angles and all that the advice looks at; None where its own reach too far."""
    asked_deg = study.sweep.angles_deg
    if asked_deg[0] < ADVICE_ANGLES_DEG[0] or asked_deg[-1] > ADVICE_ANGLES_DEG[-1] + DEEPER_DEG:
        return None
    return finite_wing.with_sweep(study, angles_deg=tuple(sorted({*SOLVED_ANGLES_DEG, *asked_deg})))


def angles_needed(asked_deg: tuple[float, ...], advice: Advice) -> tuple[float, ...]:
    """The angles asked for, and the advised ones to just past the stall where these do not hold them."""
    if not advice.given:
        return asked_deg
    last = advice.stall_deg if np.isfinite(advice.stall_deg) else advice.high_deg
    needed = [a for a in ADVICE_ANGLES_DEG if advice.start_deg - 1.0 <= a <= last + 2.0]
    return tuple(sorted({*asked_deg, *needed}))


# What was asked for; what stands in its row; what is smaller than the band.
PLAIN_NOTES = ("surface ", "two solutions", "Reynolds numbers")
NEED_THE_CAR = ("mounts", "splitter", "air_dam", "spar", "circuit", "oil", "part")


def of_sections(wing: WingPolar) -> tuple[Caution, ...]:
    """What the section data of all planes say of themselves that a driver must know, each once."""
    notes = dict.fromkeys(note for polar in wing.polars_of_all for note in polar.notes)
    mine = [note for note in notes if not note.startswith(PLAIN_NOTES)]
    return tuple(Caution("angle", f"Section data: {note}.") for note in mine)


def unanswered(study: Study) -> tuple[Caution, ...]:
    """Tables that stand in the study and are answered only with a car; none with [car]."""
    idle = [] if study.car else [f"[{name}]" for name in NEED_THE_CAR if getattr(study, name)]
    if not idle:
        return ()
    return (Caution("force", f"Not answered, because the study has no [car]: {', '.join(idle)}."),)


def asked_about(study: Study) -> tuple[Caution, ...]:
    """Values far outside what is usual: a slip of the unit? And usual ones that nobody gave."""
    found = [Caution("angle", f"{text[:1].upper()}{text[1:]}.") for text in unusual_values(study)]
    if usual := study.not_answered:
        keys = "1 key" if len(usual) == 1 else f"{len(usual)} keys"
        first = f"Not answered, so usual values stand for {keys}, marked in the study"
        found.append(Caution("force", f"{first}: {', '.join(usual)}."))
    return tuple(found)


def roof_band_deg(study: Study) -> float | None:
    """Widest half band of the roof's flow angle [deg]; None when the study says nothing about the roof."""
    inflow = roof_inflow(study)
    return None if inflow is None else float(inflow.angle_band_deg.max())


def picture_flow(study: Study, section: Section, wing: WingPolar, advice: Advice):
    """Potential flow about all elements of the section.

    At the angle of the middle strip at the start angle, and at 0 and 90 degrees, from which the surface speed
    at any other angle follows.
    """
    from wingtool.section import place_elements

    m = wing.nearest_angle(advice.start_deg)
    alpha, start = float(wing.strip_alpha_deg[-1, m, wing.middle_strip]), float(wing.wing_angle_deg[m])
    outlines = place_elements(section, finite_wing.flaps_of(study), PICTURE_PANELS)
    return solve(outlines, np.array([alpha if np.isfinite(alpha) else start, 0.0, 90.0]))


def second_opinion(study: Study, section: Section) -> SectionPolar | None:
    """The learned surrogate at the middle Reynolds number of the table; None for several elements."""
    table = study.wing
    if table.element:
        return None
    air, chord_m = study.air.air(), finite_wing.wing_geometry(study).mean_chord_m
    reynolds = float(np.median(air.reynolds(np.array(study.sweep.speeds_m_s), chord_m)))
    angles = finite_wing.SECTION_ANGLES_DEG if table.tab_m else finite_wing.PLAIN_ANGLES_DEG
    return polar(section, reynolds, angles, "surrogate", table.surface, table.trip_x)


def section_unknown(study: Study) -> tuple[str, ...]:
    """The first doubt of a study whose section stands in for one that nobody has traced."""
    if study.wing.section_known:
        return ()
    stand_in = f"Section not known: {study.wing.section} stands in"
    return (f"{stand_in}. Trust neither angle nor force until you trace yours (wingtool trace)",)


def doubts(
    wing: WingPolar, advice: Advice, measures: Measures, outline_doubts: Sequence[str]
) -> tuple[str, ...]:
    """Why the result is not to be trusted, empty if it is."""
    unsound = int(np.count_nonzero(~np.isin(wing.status, SOUND)))
    found = [advice.doubt] if advice.doubt else []
    # A thick tail may be meant; the others are on the page.
    found += [f"section: {text}" for text in outline_doubts if not text.startswith("the tail is")][:1]
    found += [f"section: {text}" for text in measures.warnings if "upside down" in text]
    if unsound > wing.status.size // 2:
        found.append(f"{unsound} of {wing.status.size} rows of the wing's table did not converge soundly")
    elif weak := unsound_before_stall(wing, advice):
        found.append(weak)
    return tuple(found)


def unsound_before_stall(wing: WingPolar, advice: Advice) -> str:
    """That most rows between the last advised angle and the stall, which that angle rests on, are unsound."""
    between = (wing.wing_angle_deg > advice.high_deg) & (wing.wing_angle_deg < advice.stall_deg)
    rows = wing.status[:, between]
    words = list(rows[~np.isin(rows, SOUND)])
    if len(words) <= rows.size // 2:
        return ""
    most = max(set(words), key=words.count)
    return f"{len(words)} of {rows.size} rows between the last angle and the stall are unsound ({most})"
