"""Which section to build: from all candidates to a ranked answer, with what was left out and why."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wingtool.errors import StudyError
from wingtool.study.choose.design import Design, designed_section
from wingtool.study.choose.estimate import LEAST_CONFIDENCE, search_shapes
from wingtool.study.choose.filters import applied
from wingtool.study.choose.finalists import Finalist, best_first, lattice_values, solver_finalists, with_lap
from wingtool.study.choose.groups import grouped, repeatable, with_off_design_losses
from wingtool.study.choose.shapes import Shapes, candidates, without_twins
from wingtool.study.choose.terms import BEST_BY_LATTICE, Request, Terms, terms_of
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.workers import cores

WORST_FIT = 1e-3  # rms over the chord: what no weights draw is not judged by them
BEST_IN_ANSWER = 10
LeftOut = list[tuple[int, str]]  # how many, and why


@dataclass(frozen=True, eq=False)
class Choice:
    """The answer.

    Parameters
    ----------
    terms : Terms
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
    left_out : sequence of (count, why)
        In the order in which they were left out.
    repeat : float
        Smallest difference of the aim that counts, in its unit.
    """

    terms: Terms
    groups: tuple[tuple[Finalist, ...], ...]
    own: Finalist | None
    own_fails: str
    design: Design | None
    failed: tuple[Finalist, ...]
    candidates: int
    left_out: Sequence[tuple[int, str]]
    repeat: float

    @property
    def ranked(self) -> tuple[Finalist, ...]:
        """All finalists in the order of the answer."""
        return tuple(finalist for group in self.groups for finalist in group)


def choose_section(
    study: Study,
    request: Request,
    jobs: int | None = None,
    progress: Callable[[str], None] = no_progress,
) -> Choice:
    """Rank every section that may be built for a study's wing.

    All over the surrogate on the wing's straight lines, the best hundred on the lattice, the best thirty by
    the coupled solver on the study's own wing, the best ten dirty and round the lap.

    Parameters
    ----------
    study : Study
    request : Request
    jobs : int, optional
        Processes for the coupled solver; all cores if left out.
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    StudyError
        A wing of several elements, an aim without what it needs, filters that leave nothing.
    """
    terms = terms_of(study, request, jobs or cores(), progress)
    everything = candidates(study, request.sections, progress, terms.jobs)
    shapes, own_fails, left_out = _buildable(terms, everything)
    order, angle, more = _by_lines(terms, shapes, bool(own_fails))
    left_out += more
    if not order.size:
        gone = "; ".join(f"{count} {why}" for count, why in left_out if count)
        raise StudyError(f"no section is left: {gone}; loosen a filter or the aim's limits")
    progress(f"lattice with the surrogate: the best {order.size}")
    by_lattice = lattice_values(terms, shapes.take(order), angle[order])
    best = order[np.argsort(-by_lattice, kind="stable")[: request.finalists]]
    left_out.append((order.size - best.size, f"behind the best {best.size} by the lattice"))
    best = np.union1d(best, np.flatnonzero(shapes.own))  # the study's own is always compared
    found = solver_finalists(terms, shapes.take(best), angle[best])
    design = None
    if request.design:
        lead = max(_passing(found, own_fails), key=lambda one: one.value)
        design = designed_section(terms, shapes.take(order), lead)
        found += (design.best,) if design else ()
    in_answer, failed = _parted(found)
    in_answer = with_off_design_losses(terms, [with_lap(terms, one) for one in in_answer])
    named = {one.origin: one for one in in_answer}
    repeat = repeatable(terms.aim, request.speed_m_s)
    return Choice(
        terms=terms,
        groups=grouped(_passing(in_answer, own_fails), repeat),
        own=named.get("own"),
        own_fails=own_fails,
        design=replace(design, best=named["designed"]) if design else None,
        failed=failed,
        candidates=len(everything) + everything.unread,
        left_out=tuple(one for one in left_out if one[0]),
        repeat=repeat,
    )


def _buildable(terms: Terms, everything: Shapes) -> tuple[Shapes, str, LeftOut]:
    """What a builder can make, once each; the limits that the study's own section does not keep."""
    drawn_well = (everything.rms <= WORST_FIT) | everything.own
    different, twins = without_twins(everything.take(drawn_well))
    study = terms.study
    passed, removed, own_fails = applied(different, terms.filters, study.wing.chord_m, study.units)
    by_filter = ", ".join(f"{what} ({count})" for what, count in removed.items() if count)
    left_out = [
        (everything.unread, "files that cannot be read"),
        (int((~drawn_well).sum()), "outlines that the shape weights miss by more than 0.1 % of the chord"),
        (twins, "same shape as another"),
        (len(different) - len(passed) + bool(own_fails), f"by the filters: {by_filter}"),
    ]
    return passed, own_fails, left_out


def _by_lines(terms: Terms, shapes: Shapes, without_own: bool) -> tuple[np.ndarray, np.ndarray, LeftOut]:
    """The best hundred by the surrogate on the wing's lines, best first; the wing angle of every shape."""
    first = search_shapes(shapes.rows, terms.estimate, terms.aim, progress=terms.progress)
    judged = ~(shapes.own & without_own)
    counted = judged & np.isfinite(first.value)
    known = counted & (first.confidence >= LEAST_CONFIDENCE)
    order = np.argsort(np.where(known, -first.value, np.inf), kind="stable")[: known.sum()]
    best = order[:BEST_BY_LATTICE]
    none = "no stall in the surrogate's data, or never within the aim's limits"
    behind = f"behind the best {len(best)} by the surrogate on the wing's straight lines"
    left_out = [
        (int((judged & ~counted).sum()), none),
        (int((counted & ~known).sum()), "shapes outside the surrogate's training data"),
        (len(order) - len(best), behind),
    ]
    angle = first.wing_angle_deg
    return best, np.where(np.isfinite(first.value), angle, np.nanmedian(angle)), left_out


def _parted(found: tuple[Finalist, ...]) -> tuple[tuple[Finalist, ...], tuple[Finalist, ...]]:
    """The best ten, with the study's own and the one made for it; the others, which say why."""
    solved = best_first(found)
    listed = [finalist for finalist in solved if finalist.origin not in ("own", "designed")][:BEST_IN_ANSWER]
    best = [finalist for finalist in solved if finalist in listed or finalist.origin in ("own", "designed")]
    behind = [replace(finalist, status="behind the best ten") for finalist in solved if finalist not in best]
    return tuple(best), (*behind, *(finalist for finalist in found if not np.isfinite(finalist.value)))


def _passing(found: tuple[Finalist, ...], own_fails: str) -> tuple[Finalist, ...]:
    return tuple(finalist for finalist in found if not (own_fails and finalist.origin == "own"))
