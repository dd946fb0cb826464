"""What a study gives: every object of the chain, so that a number in a report can be walked back."""

from dataclasses import dataclass, field

from wingtool.car import RuleCheck
from wingtool.geometry import Measures, Section
from wingtool.panels import InviscidFlow
from wingtool.section import SectionPolar
from wingtool.study.advice import Advice
from wingtool.study.car.result import CarResult
from wingtool.study.schema.study import Study
from wingtool.study.trace.rank import TracedAnswer
from wingtool.study.wing.positions import WingPlaces
from wingtool.study.wing.tabs import TabChoice
from wingtool.wing import WingPolar


@dataclass(frozen=True, eq=False)
class StudyResult:
    """Everything that one study computes.

    Parameters
    ----------
    study : Study
    section : Section
        The wing's section as drawn, lifting up.
    measures : Measures
        Its thickness, camber, nose, tail, and warnings.
    flow : InviscidFlow
        Potential flow about the section for pictures of the pressure: at the advised angle, at 0 and 90 deg.
    polars : tuple of SectionPolar
        What the wing was computed from.
    second_opinion : SectionPolar, optional
        The learned surrogate at the middle Reynolds number.
    wing : WingPolar
    advice : Advice
        Angle range, cautions.
    car : CarResult, optional
        What the wing does to the car; None when the study tells nothing about it.
    version, date : str
        Of wingtool, and the day of the computation.
    doubts : tuple of str
        Why the whole is not to be trusted; empty if it is.
    tab_choice : TabChoice, optional
        More angle or a tab, at equal downforce.
    places : WingPlaces, optional
        The wing at other heights and distances behind the roof; only with a side view of the car.
    traced : TracedAnswer, optional
        What makes the band of a traced section; None when its outline was not traced.
    tabs : tuple of (tab_m, WingPolar)
        The same wing with other tabs, the study's own among them, from none upwards.
    rules : tuple of RuleCheck
        The user's rules, each at the worst of the advised angles; also without a car.
    """

    study: Study
    section: Section
    measures: Measures
    flow: InviscidFlow
    polars: tuple[SectionPolar, ...]
    second_opinion: SectionPolar | None
    wing: WingPolar
    advice: Advice
    car: CarResult | None
    version: str
    date: str
    doubts: tuple[str, ...] = field(default=())
    tabs: tuple[tuple[float, WingPolar], ...] = field(default=())
    rules: tuple[RuleCheck, ...] = ()
    tab_choice: TabChoice | None = None
    places: WingPlaces | None = None
    traced: TracedAnswer | None = None
