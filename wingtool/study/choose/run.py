"""Which section to build: from all candidates to a ranked answer, with what was left out and why."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import StudyError
from wingtool.study.advice import kept_margin_deg
from wingtool.study.choose.aim import KINDS, Aim
from wingtool.study.choose.candidates import candidates
from wingtool.study.choose.design import Design, designed_section
from wingtool.study.choose.estimate import LEAST_CONFIDENCE, checked_speeds, lattice, wing_estimate
from wingtool.study.choose.filters import Filters, Removed, applied
from wingtool.study.choose.finalists import Finalist, best_point, lattice_values, solver_finalists, with_laps
from wingtool.study.choose.groups import grouped, repeatable, with_gentleness
from wingtool.study.choose.lap import LapSetting, lap_setting, lap_slopes
from wingtool.study.choose.search import search_shapes
from wingtool.study.choose.shapes import without_twins
from wingtool.study.compare import SPEED_M_S
from wingtool.study.progress import no_progress
from wingtool.study.run import roof_band_deg
from wingtool.study.wing.run import named_section
from wingtool.units import quantity
from wingtool.workers import cores

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study

WORST_FIT = 1e-3  # rms over the chord: what no weights draw is not judged by them
BEST_BY_LATTICE, BEST_BY_SOLVER, BEST_BY_LAP = 100, 30, 10


@dataclass(frozen=True)
class Wish:
    """What is wanted.

    Parameters
    ----------
    kind : str, optional
        ``lap``, ``downforce`` or ``spare``; left out: lap where the study has a car and a circuit.
    most_drag_n, least_downforce_n : float, optional
        At the reference speed. Without the second, ``spare`` takes what the study's own section makes.
    speed_m_s : float
        The reference speed.
    filters : Filters
    sections : Path, optional
        A folder of the user's coordinate files.
    finalists : int
        How many go to the coupled solver.
    design : bool
        Whether a section is made for the study, too.
    """

    kind: str | None = None
    most_drag_n: float | None = None
    least_downforce_n: float | None = None
    speed_m_s: float = SPEED_M_S
    filters: Filters = Filters()
    sections: Path | None = None
    finalists: int = BEST_BY_SOLVER
    design: bool = False


@dataclass(frozen=True, eq=False)
class Choice:
    """The answer.

    Parameters
    ----------
    study : Study
    aim : Aim
    speed_m_s : float
    groups : tuple of tuple of Finalist
        Best group first; within a group no difference could be measured, and the gentlest stands first.
    own : Finalist, optional
        The study's own section.
    own_fails : str
        Filters that it does not pass; then it stands in no group.
    design : Design, optional
        The section made for the study, if it was asked for.
    failed : tuple of Finalist
        Best by the surrogate, without a sound answer from the solver.
    candidates : int
    left_out : tuple of (count, why)
        In the order in which they were left out.
    repeat : float
        Smallest difference of the aim that counts, in its unit.
    agreement : float
        Rank correlation of surrogate and solver among the finalists; nan for fewer than four.
    """

    study: Study
    aim: Aim
    speed_m_s: float
    groups: tuple[tuple[Finalist, ...], ...]
    own: Finalist | None
    own_fails: str
    design: Design | None
    failed: tuple[Finalist, ...]
    candidates: int
    left_out: tuple[tuple[int, str], ...]
    repeat: float
    agreement: float

    @property
    def ranked(self) -> tuple[Finalist, ...]:
        """All finalists in the order of the answer."""
        return tuple(one for group in self.groups for one in group)


def wish_for(
    kind: str | None,
    drag: str | None,
    downforce: str | None,
    speed_m_s: float,
    filters: Filters,
    sections: Path | None,
    finalists: int,
    design: bool = False,
) -> Wish:
    """A wish from the words of a command line, forces with their units.

    Raises
    ------
    WingtoolError
        Fewer than one finalist; a force without a unit.
    """
    forces = {"--drag": drag, "--downforce": downforce}
    drag_n, downforce_n = (
        None if text is None else quantity(text, "force", flag) for flag, text in forces.items()
    )
    if not 1 <= finalists <= BEST_BY_LATTICE:
        raise StudyError(f"--finalists: {finalists} is outside 1 to {BEST_BY_LATTICE}; correct it")
    return Wish(kind, drag_n, downforce_n, speed_m_s, filters, sections, finalists, design)


def choose_section(
    study: Study,
    wish: Wish = Wish(),
    jobs: int | None = None,
    executor: Executor | None = None,
    keep_in: Path | None = None,
    progress: Callable[[str], None] = no_progress,
) -> Choice:
    """Rank every section that may be built for a study's wing.

    All over the surrogate on the wing's straight lines, the best hundred on the lattice, the best thirty by
    the coupled solver on the study's own wing, the best ten round the lap.

    Parameters
    ----------
    study : Study
    wish : Wish
    jobs : int, optional
        Processes for the coupled solver; all cores if left out.
    executor, keep_in
        For the search over the surrogate, as for `search_shapes`.
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    StudyError
        A wing of several elements, an aim without what it needs, filters that leave nothing.
    """
    _one_section(study)
    chord_m = study.wing.chord_m
    speeds = checked_speeds(study, wish.speed_m_s)
    own = named_section(study, study.wing.section)
    everything = candidates(study.wing.section, own, wish.sections, progress, jobs or cores())
    left_out = [(len(everything.left_out), "files that cannot be read")]
    mine = np.array([origin == "own" for origin in everything.origins])
    drawn_well = (everything.rms <= WORST_FIT) | mine
    left_out.append(
        (int((~drawn_well).sum()), "outlines that the shape weights do not draw within 0.1 % of the chord")
    )
    total = len(everything) + len(everything.left_out)
    everything, twins = without_twins(everything.take(drawn_well))
    left_out.append((twins, "same shape as another"))
    passed, removed, own_fails = applied(everything, wish.filters, chord_m, study.units)
    left_out.append((len(everything) - removed[-1].left, f"by the filters: {_told(removed)}"))
    progress("finite wing by the surrogate")
    estimate = wing_estimate(study, own, wish.speed_m_s)
    setting = lap_setting(study)
    aim = aim_of(study, wish, setting)
    first = search_shapes(passed.rows, estimate, aim, executor, keep_in=keep_in, progress=progress)
    mine = np.array([origin == "own" for origin in passed.origins])
    trusted = first.confidence >= LEAST_CONFIDENCE
    judged = ~mine if own_fails else np.ones(len(passed), dtype=bool)
    counted = np.isfinite(first.value) & judged
    left_out.append(
        (int((judged & ~counted).sum()), "no stall in the surrogate's data, or never within the aim's limits")
    )
    left_out.append((int((counted & ~trusted).sum()), "shapes that the surrogate does not know"))
    order = np.argsort(np.where(trusted & counted, -first.value, np.inf))[: int((trusted & counted).sum())]
    if not order.size:
        gone = "; ".join(f"{count} {why}" for count, why in left_out if count)
        raise StudyError(f"no section of {total} is left: {gone}; loosen a filter or the aim's limits")
    order, rest = order[:BEST_BY_LATTICE], len(order) - len(order[:BEST_BY_LATTICE])
    left_out.append((rest, f"behind the best {len(order)} by the surrogate on the wing's straight lines"))
    progress(f"lattice with the surrogate: the best {len(order)}")
    value = lattice_values(study, passed.take(order), _taken(first, order), aim, speeds, wish.speed_m_s)
    by_lattice = np.argsort(-value, kind="stable")
    count = min(wish.finalists, len(order))
    best = np.union1d(order[by_lattice[:count]], np.flatnonzero(mine))  # the study's own is always compared
    angle = np.where(np.isfinite(first.value), first.wing_angle_deg, np.median(first.wing_angle_deg[order]))
    first = replace(first, wing_angle_deg=angle)
    left_out.append((len(order) - count, f"behind the best {count} by the lattice"))
    args = (passed.take(best), _taken(first, best), aim, speeds, wish.speed_m_s)
    found = solver_finalists(study, *args, jobs, progress)
    by_solver = np.array([one.value for one in found])
    design = None
    if wish.design:
        lead = max(_passing(found, own_fails), key=lambda one: one.value)
        design = designed_section(study, passed.take(order), lead, estimate, aim, wish.filters, speeds,
                                  wish.speed_m_s, jobs, progress)  # fmt: skip
        found += (design.best,) if design else ()
    found = finished(study, found, estimate, aim, setting, speeds, wish.speed_m_s)
    by_surrogate = lattice_values(study, *args)
    repeat = repeatable(aim, wish.speed_m_s)
    return Choice(
        study=study,
        aim=aim,
        speed_m_s=wish.speed_m_s,
        groups=grouped(_passing(found, own_fails), repeat),
        own=next((one for one in found if one.origin == "own"), None),
        own_fails=own_fails,
        design=design,
        failed=tuple(one for one in found if not np.isfinite(one.value)),
        candidates=total,
        left_out=tuple(one for one in left_out if one[0]),
        repeat=repeat,
        agreement=rank_correlation(by_surrogate, by_solver),
    )


def finished(study, found, estimate, aim, setting, speeds, reference_m_s) -> tuple[Finalist, ...]:
    """Finalists with their gentleness and, the best ten, their lap.

    With the aim ``lap`` those behind the tenth keep the value by the lap's slopes.
    """
    found = with_gentleness(found, estimate, study.wing.chord_m)
    if setting is None:
        return found
    order = sorted(range(len(found)), key=lambda k: -found[k].value)[:BEST_BY_LAP]
    order += [k for k, one in enumerate(found) if one.origin in ("own", "designed") and k not in order]
    k_speed = speeds.index(reference_m_s)
    lapped = with_laps(study, tuple(found[k] for k in order), aim, setting, speeds, k_speed)
    done = list(found)
    for k, one in zip(order, lapped, strict=True):
        done[k] = one
    if aim.kind == "lap":  # those that did not go round are not compared with those that did
        done = [one if k in order else replace(one, value=-np.inf, status="behind the best ten")
                for k, one in enumerate(done)]  # fmt: skip
    return tuple(done)


def aim_of(study: Study, wish: Wish, setting: LapSetting | None) -> Aim:
    """The aim in numbers.

    Raises
    ------
    StudyError
        An unknown aim; a lap without a car or circuit; drag or downforce that is not positive.
    """
    kind = wish.kind or ("lap" if setting is not None else "downforce")
    if kind not in KINDS:
        raise StudyError(f"--aim: {kind!r} is unknown; choose one of {', '.join(KINDS)}")
    for flag, value in (("--drag", wish.most_drag_n), ("--downforce", wish.least_downforce_n)):
        if value is not None and not value > 0.0:
            raise StudyError(f"{flag}: {value:g} N cannot be; give a force above nought")
    pressure = float(study.air.air().dynamic_pressure_pa(wish.speed_m_s))
    aim = Aim(kind, kept_margin_deg(roof_band_deg(study)), pressure, most_drag_n=wish.most_drag_n or np.inf)
    if kind == "downforce":
        return aim
    if kind == "lap" and setting is None:
        raise StudyError("--aim lap: the study has no [car] and [circuit]; add them, or --aim downforce")
    if kind == "spare" and wish.least_downforce_n is not None:
        return replace(aim, least_downforce_n=wish.least_downforce_n)
    speeds = np.unique([study.sweep.speeds_m_s[0], wish.speed_m_s])
    own = named_section(study, study.wing.section)
    wing = lattice(study, own, np.arange(-8.0, 21.0), speeds)
    point = best_point(wing, replace(aim, kind="downforce"), len(speeds) - 1, sound_only=False)
    if not np.isfinite(point.value):
        raise StudyError("the study's own section keeps no margin at any angle; give --downforce")
    if kind == "spare":
        return replace(aim, least_downforce_n=point.downforce_n[1])
    gain, loss = lap_slopes(setting, wing, len(speeds) - 1, point.angle_deg)  # type: ignore[arg-type]
    return replace(aim, gain_s_m2=gain, loss_s_m2=loss)


def rank_correlation(one: np.ndarray, other: np.ndarray) -> float:
    """Spearman's rank correlation of the finite pairs; nan for fewer than four."""
    from scipy.stats import spearmanr

    good = np.isfinite(one) & np.isfinite(other)
    return float(spearmanr(one[good], other[good]).statistic) if good.sum() > 3 else np.nan


def _passing(found: tuple[Finalist, ...], own_fails: str) -> tuple[Finalist, ...]:
    return tuple(one for one in found if not (own_fails and one.origin == "own"))


def _told(removed: tuple[Removed, ...]) -> str:
    return ", ".join(f"{one.what} ({one.alone})" for one in removed if one.alone)


def _taken(first, index):
    return type(first)(*(getattr(first, name)[index] for name in first.__dataclass_fields__))


def _one_section(study: Study) -> None:
    if study.wing.element:
        raise StudyError("choose: a wing of several elements cannot be searched; take [[wing.element]] out")
    if any(station.section for station in study.wing.station):
        raise StudyError(
            "choose: sections along the span cannot be searched; take them out of [[wing.station]]"
        )
