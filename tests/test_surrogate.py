"""The learned surrogate's band against the measured record."""

import numpy as np
import pytest

from wingtool.errors import WingtoolError
from wingtool.geometry import Section, find_section
from wingtool.section import SectionPolar, polar, surrogate_shapes
from wingtool.study.trust.record import curve_rows

ALPHA_DEG = np.arange(-8.0, 20.0, 0.5)


def lift_and_drag_inside(row: dict[str, str], found: SectionPolar) -> tuple[list[bool], list[bool]]:
    """Whether each figure of a measured curve lies in the band: lift at equal angle, drag at equal lift."""
    top = int(np.argmax(found.cl[0])) + 1
    lift, drag = [], []
    for angle, name in ((0.0, "cl_0deg"), (4.0, "cl_4deg"), (8.0, "cl_8deg")):
        if row[name]:
            low, high = (np.interp(angle, ALPHA_DEG, side[0]) for side in (found.cl_low, found.cl_high))
            lift.append(low <= float(row[name]) <= high)
    for cl, name in ((0.0, "cd_cl_0"), (0.5, "cd_cl_05"), (1.0, "cd_cl_10")):
        if row[name]:
            sides = found.cd_low[0, :top], found.cd_high[0, :top]
            low, high = (np.interp(cl, found.cl[0, :top], side) for side in sides)
            drag.append(low <= float(row[name]) <= high)
    return lift, drag


@pytest.mark.parametrize(("least", "below"), [(1.9e5, 1e7), (0.0, 1.9e5)])
def test_the_band_holds_what_was_measured_and_no_more_than_it_must(least, below):
    """PUBLISHED: sources in tests/data/section_record.csv, clean and tripped curves without a tab."""
    lift: list[bool] = []
    drag: list[bool] = []
    for row in curve_rows():
        if float(row["tab_chord"]) or not least <= float(row["reynolds"]) < below:
            continue
        try:
            section = find_section(row["collection_name"])
        except WingtoolError:
            continue
        reynolds, trip = float(row["reynolds"]), float(row["trip_upper_x"])
        found = polar(section, reynolds, ALPHA_DEG, "surrogate", "smooth", trip if trip < 1 else None)
        of_lift, of_drag = lift_and_drag_inside(row, found)
        lift, drag = lift + of_lift, drag + of_drag
    assert len(lift) > 150
    assert len(drag) > 100
    assert 0.93 < np.mean(lift) < 0.985  # a 95 % band, on 95 to 264 figures
    assert 0.93 < np.mean(drag) < 0.985


def test_a_polar_is_that_of_the_library_whose_weights_are_read():
    """TWIN: aerosandbox's own polar, of a section whose chord it turns, with lift and moment at both ends."""
    import aerosandbox

    turn = np.array([[np.cos(0.02), np.sin(0.02)], [-np.sin(0.02), np.cos(0.02)]])
    for name in ("fx74cl5140", "0012", "goe417a"):
        section = find_section(name)
        section = Section(name, 0.98 * section.xy @ turn + [0.01, 0.002])
        ours = polar(section, [2e5, 1e6], ALPHA_DEG, "surrogate", "race")
        theirs = aerosandbox.Airfoil(name, coordinates=np.array(section.xy)).get_aero_from_neuralfoil(
            alpha=np.tile(ALPHA_DEG, 2),
            Re=np.repeat([2e5, 1e6], len(ALPHA_DEG)),
            xtr_upper=0.05,
            xtr_lower=0.05,
            model_size="xlarge",
            include_360_deg_effects=False,
        )
        pairs = {"cl": "CL", "cd": "CD", "transition_upper": "Top_Xtr", "transition_lower": "Bot_Xtr"}
        for column, their_name in (pairs | {"confidence": "analysis_confidence"}).items():
            assert getattr(ours, column).ravel() == pytest.approx(theirs[their_name], rel=1e-7, abs=1e-9)
        assert ours.cm.ravel() == pytest.approx(theirs["CM"], abs=1e-4)  # it blends a move of the centre in


def test_shapes_are_those_of_the_library_whose_weights_are_read():
    """TWIN: the network as neuralfoil evaluates it, for two shapes at angles of their own."""
    import neuralfoil

    rows = np.random.default_rng(4).uniform(
        [0.1] * 8 + [-0.2] * 8 + [0, 0], [0.3] * 8 + [0] * 8 + [0.1, 0.01], (2, 18)
    )
    alpha_deg = np.array([[0.0, 5.0], [-3.0, 9.0]])
    ours = surrogate_shapes(rows, 4e5, alpha_deg, trip_x=0.3)
    for row, angles, *found in zip(rows, alpha_deg, ours.cl, ours.cd, ours.cm, ours.confidence, strict=True):
        shape = {
            "upper_weights": row[:8],
            "lower_weights": row[8:16],
            "leading_edge_weight": row[16],
            "TE_thickness": row[17],
        }
        theirs = neuralfoil.get_aero_from_kulfan_parameters(
            shape, angles, 4e5, xtr_upper=0.3, xtr_lower=0.3, model_size="large"
        )
        wanted = [theirs[name] for name in ("CL", "CD", "CM", "analysis_confidence")]
        assert np.array(found) == pytest.approx(np.array(wanted), rel=1e-9, abs=1e-12)


def test_weights_of_another_version_are_refused(monkeypatch):
    from wingtool.section.surrogate import network

    network._learned.cache_clear()
    monkeypatch.setattr(network, "version", lambda _: "0.4.0")
    with pytest.raises(WingtoolError, match="neuralfoil 0.4.0.*0.3.x"):
        polar(find_section("0012"), [2e5], ALPHA_DEG, "surrogate", "race")
