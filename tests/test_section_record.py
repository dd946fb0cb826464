"""The measured record in figures, and the correction and band fitted to it."""

import csv
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from fit_record import Points, quantile, ridge
from reduce_record import SENTENCE

from wingtool.geometry import four_digit
from wingtool.section import SURFACES, SectionPolar, polar, polar_from_arrays
from wingtool.section.band import with_band
from wingtool.section.figures import curve_figures
from wingtool.section.record import TERMS, ground_fit, ground_shape, record_fit, regime, with_record

RECORD = Path(__file__).parent / "data" / "section_record.csv"


def record_rows() -> list[dict[str, str]]:
    with open(RECORD) as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_a_curve_is_read_for_its_figures():
    """EXACT: a curve of known slope, zero lift, top and parabolic drag."""
    alpha = np.arange(-6.0, 17.0)
    cl = np.where(alpha <= 11.0, 0.1 * (alpha + 3.0), 1.4 - 0.02 * (alpha - 11.0))
    found = curve_figures(alpha, cl, cl, 0.01 + 0.004 * cl)
    assert (found.cl_max, found.alpha_cl_max_deg) == pytest.approx((1.4, 11.0))
    assert (found.zero_lift_deg, found.slope_per_deg) == pytest.approx((-3.0, 0.1))
    assert (found.cl_0deg, found.cl_4deg, found.cl_8deg) == pytest.approx((0.3, 0.7, 1.1))
    assert (found.cd_cl_0, found.cd_cl_05, found.cd_cl_10) == pytest.approx((0.010, 0.012, 0.014))


def test_no_drag_is_read_where_it_jumps():
    """EXACT: drag that halves between two points, as where the lower side ceases to be separated."""
    cl = np.array([0.0, 0.4, 0.7, 1.1, 0.9])
    found = curve_figures(np.arange(5.0), cl, cl, np.array([0.06, 0.05, 0.02, 0.03, 0.09]))
    assert np.isnan(found.cd_cl_05)
    assert found.cd_cl_10 == pytest.approx(0.0275)


def test_the_slope_is_that_from_minus_two_to_five_degrees():
    """EXACT: a curve that is half as steep outside."""
    alpha = np.arange(-8.0, 13.0, 0.5)
    cl = 0.1 * np.clip(alpha, -2.0, 5.0) + 0.05 * (alpha - np.clip(alpha, -2.0, 5.0))
    assert curve_figures(alpha, cl, cl, 0 * cl + 0.01).slope_per_deg == pytest.approx(0.1)


def test_a_curve_that_still_rises_has_no_greatest_lift():
    """EXACT: lift that rises up to the last angle."""
    alpha = np.arange(-2.0, 9.0)
    assert np.isnan(curve_figures(alpha, 0.1 * alpha, 0.1 * alpha, 0 * alpha + 0.01).cl_max)


def test_the_record_keeps_its_sentence_and_holds_figures_only():
    """FROZEN: what the sources ask for stands with the figures; one row a curve, no polar."""
    text = RECORD.read_text()
    rows = record_rows()
    assert SENTENCE in text
    assert len({(row["source"], row["section"], row["surface"]) for row in rows}) > 40
    curves = [(r["source"], r["section"], r["surface"], r["trip_upper_x"], r["reynolds"]) for r in rows]
    assert len(rows) > 150
    assert len(set(curves)) > 0.9 * len(rows)


def made_polar(reynolds: float, **facts) -> SectionPolar:
    """A curve that separates gradually, as the coupled solver would give it for 4412."""
    alpha = np.arange(-8.0, 17.0)
    cl = np.where(alpha <= 11.0, 0.1 * (alpha + 4.0), 1.5 - 0.02 * (alpha - 11.0))
    rows = {
        "separation_upper": np.clip(1.0 - 0.06 * (alpha - 6.0), 0.4, 1.0)[None],
        "transition_upper": np.full((1, len(alpha)), 0.4),
        "separation_lower": np.ones((1, len(alpha))),
        "transition_lower": np.ones((1, len(alpha))),
        "re_theta_upper": np.full((1, len(alpha)), 50.0),  # half of a strip at the nose is idle
        "re_theta_lower": np.full((1, len(alpha)), 200.0),
        "cl_low": cl[None] - 0.1,
        "cl_high": cl[None] + 0.1,
        "cd_low": np.full((1, len(alpha)), 0.008),
        "cd_high": np.full((1, len(alpha)), 0.014),
    }
    plain = polar_from_arrays(alpha, cl, 0.01 + 0 * alpha, reynolds=reynolds, **facts)
    return replace(plain, section=four_digit("4412"), **rows)


def test_far_outside_the_record_nothing_is_corrected():
    """EXACT: at Reynolds number 3e6, at 2e4 and, drag, half a chord above ground the solver's numbers stand.

    Near the ground attached lift is corrected as in free air, with the wider band.
    """
    free = with_record(made_polar(3e5)).cl
    for reynolds, height in ((3e6, np.inf), (2e4, np.inf), (3e5, 0.4)):
        plain = made_polar(reynolds, height_chord=height)
        found = with_record(plain)
        attached = plain.separation_upper[0] == 1.0
        assert np.allclose(found.cl[0, attached], (plain.cl if np.isinf(height) else free)[0, attached])
        assert np.allclose(found.cd, plain.cd)
        wider = 1.0 if reynolds > 1e6 else 1.5
        assert np.allclose(found.cl_high - found.cl, wider * 0.1)
        assert "all points lie outside" in found.notes[-1]


def test_a_tripped_curve_is_corrected_by_the_stated_terms():
    """EXACT: one point at the reference Reynolds number, attached, by hand from the coefficients."""
    plain = made_polar(3e5, surface="race")
    fit, i = record_fit(), 8  # 0 degrees, cl 0.4
    where = regime(plain.section, 3e5, 0.05)
    names = dict(zip(TERMS["lift"], fit["lift"], strict=True))
    here = {"camber": where.camber, "arch": max(where.camber, 0.0), "nose": where.nose}
    here |= {"cl": 0.4, "attached": 1.0}  # the others are nought
    free = names["1"] + sum(names[name] * value for name, value in here.items())
    free += sum(names[f"{a} {b}"] * here[a] * here[b] for a, b in combinations(here, 2))
    assert (where.trip, where.re, where.inside) == (1.0, 0.0, 1.0)
    assert with_record(plain).cl[0, i] - plain.cl[0, i] == pytest.approx(0.5 * free, abs=1e-9)
    drag = dict(zip(TERMS["drag"], fit["drag"], strict=True))
    for reynolds, idle in ((3e5, 0.5), (1.5e5, 0.0)):  # other terms would act below 3e5
        change = drag["below attached"] * (12.0 * 0.04 - 0.4) + drag["idle"] * idle
        tripped = made_polar(reynolds, surface="race")
        assert with_record(tripped).cd[0, i] == pytest.approx(tripped.cd[0, i] * np.exp(change), rel=1e-4)
    smooth = with_record(replace(plain, surface="smooth"))
    assert smooth.cl[0, i] - plain.cl[0, i] == pytest.approx(free, abs=1e-9)
    for reynolds in (3e5, 1.5e5):
        found = with_record(made_polar(reynolds, surface="race"))
        half = fit["lift_band"][0] + fit["lift_band"][2] * (where.camber * np.log(3e5 / reynolds)) ** 2
        half += fit["lift_band"][3] * where.camber * (12.0 * 0.04 - 0.4)
        assert found.cl_high[0, i] - found.cl[0, i] == pytest.approx(half, abs=1e-5)


@pytest.mark.parametrize(
    ("digits", "reynolds", "doubted"),
    [("4412", 1.2e5, True), ("4412", 1.6e5, False), ("6412", 1.6e5, True), ("6412", 2e5, False)],
)
def test_a_bubble_that_may_stay_open_is_told_in_the_row(digits, reynolds, doubted):
    found = with_record(replace(made_polar(reynolds), section=four_digit(digits)))
    assert ("low confidence" in found.status[0]) == doubted
    assert any("bubble" in note for note in found.notes) == doubted


def test_race_is_tripped_where_the_measured_strips_stand():
    """PUBLISHED: Selig et al., Summary of Low-Speed Airfoil Data, vol. 1, 1995: zigzag strips at 2 % of the
    upper and 5 % of the lower side (tests/data/section_record.csv)."""
    rows = [row for row in record_rows() if row["surface"] == "tripped"]
    upper, lower = ({float(row[f"trip_{side}_x"]) for row in rows} for side in ("upper", "lower"))
    assert max(upper) <= SURFACES["race"].trip_x <= max(lower)


def test_tripped_near_the_ground_the_band_reaches_what_was_measured():
    """PUBLISHED: Zhang, Toet & Zerihan, Appl. Mech. Rev. 59(1), 2006, figure 8a (second hand): 1.39 with
    fixed transition at 0.112 chord; computed 0.94."""
    tripped = {"reynolds": 4.5e5, "surface": "race"}
    solved = [with_band(made_polar(**tripped, height_chord=height)) for height in (0.112, np.inf)]
    low, free = map(with_record, solved)
    assert low.cl_high[0, 10] > 1.39 / 0.94 * low.cl[0, 10]
    assert (low.status[0, 13], low.status[0, 16]) == ("converged", "low confidence")  # attached, separated
    assert free.status[0, 16] == "converged"
    assert any("tripped layer" in note for note in solved[0].notes)
    assert any("measured wing" in note for note in low.notes)
    assert not any("tripped layer" in note for note in low.notes)
    assert free.cl_high[0, 10] < 1.2 * free.cl[0, 10]


def test_the_ground_step_acts_where_a_turbulent_layer_separates_near_the_ground():
    """EXACT: the stated product by hand; zero in free air, from 0.6 chord up, attached and laminar; it runs
    into both without a jump, and the band keeps the value without."""
    coefficient, i = ground_fit()["lift"], 16  # separated at 0.88, transition at 0.4
    heights = {np.inf: 0.0, 0.6: 0.0, 0.599: 0.1 / 60, 0.3: 0.5, 0.1: 5 / 6, 0.05: 11 / 24}
    for height, g in heights.items():
        plain = with_band(made_polar(4.5e5, height_chord=height))
        attached = replace(plain, separation_upper=np.ones_like(plain.separation_upper))
        laminar = replace(plain, transition_upper=np.ones_like(plain.transition_upper))
        found = coefficient * ground_shape(plain)[0]
        assert found[i] == pytest.approx(coefficient * 0.12 * 0.48 * g)
        assert not ground_shape(attached).any()
        assert not ground_shape(laminar).any()
        assert np.abs(np.diff(found[:20])).max() <= 0.06 * coefficient * g + 1e-9
        corrected = with_record(plain)
        without = corrected.cl[0, i] - found[i]
        assert corrected.cl_low[0, i] < without < corrected.cl[0, i] + 1e-12 < corrected.cl_high[0, i]
        assert any("one measured wing" in note for note in corrected.notes) == bool(g > 0.01)


def test_the_answer_at_an_angle_does_not_hang_on_the_angles_asked_for():
    """EXACT: one angle alone against the same angle among many, and the uncorrected solver differs."""
    section = four_digit("4412")
    one = polar(section, 5e5, [6.0], method="corrected")
    many = polar(section, 5e5, np.arange(0.0, 9.0), method="corrected")
    assert one.cl[0, 0] == pytest.approx(many.cl[0, 6], abs=2e-3)
    assert abs(polar(section, 5e5, [6.0], method="coupled").cl[0, 0] - one.cl[0, 0]) > 0.01


def test_a_fit_by_the_stated_rule_finds_what_was_put_in():
    """EXACT: differences made from known coefficients come back, one wild point notwithstanding; the quantile
    of a uniform spread is its 95th part."""
    rng = np.random.default_rng(4)
    table = rng.normal(size=(200, 3))
    wanted = table @ [0.05, -0.02, 0.01]
    wanted[0] += 5.0
    found = ridge([Points(np.zeros(200), wanted, table, table, np.ones(200), 0.08)], 1e-6)
    assert found == pytest.approx([0.05, -0.02, 0.01], abs=2e-3)
    assert quantile(np.ones((1000, 1)), np.linspace(0.0, 1.0, 1000)) == pytest.approx([0.95], abs=2e-3)


@pytest.mark.parametrize(
    ("digits", "transition", "surface", "doubted"),
    [
        ("4412", 0.02, "smooth", True),
        ("4412", 0.02, "race", True),
        ("4412", 0.04, "smooth", False),
        ("2412", 0.02, "smooth", False),
        ("4412", 0.01, "dirty", False),
    ],
)
def test_a_suction_peak_on_the_lower_side_is_told_in_the_row(digits, transition, surface, doubted):
    plain = made_polar(3e5, surface=surface)
    lower = np.where(plain.alpha_deg < 0.0, transition, plain.transition_lower)
    found = with_record(replace(plain, section=four_digit(digits), transition_lower=lower))
    told = doubted & (plain.alpha_deg < 0.0) & (found.cl[0] > 0.0)
    assert np.array_equal(found.status[0] == "low confidence", told)
    assert any("lower side" in note for note in found.notes) == doubted
