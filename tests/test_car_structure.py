"""Spar, mounts, proof load, rules, cost."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wingtool.car import (
    Limits,
    Mounts,
    Spar,
    beam,
    check_rules,
    cost,
    mount_loads,
    proof_recipe,
    stand_stations,
    stiffness_from_bench,
    whole_span,
)
from wingtool.report.page.car import cost_line
from wingtool.study.schema.car import PartTable

SPAN, EI = 1.4, 800.0
Y = np.linspace(-SPAN / 2, SPAN / 2, 2001)


def even(load=500.0):
    return np.full_like(Y, load)


def test_simply_supported_at_the_tips():
    """EXACT: sag 5 w L^4 / 384 EI and moment w L^2 / 8 in the middle, each stand half."""
    found = beam(Y, even(), np.array([-0.7, 0.7]), Spar(EI))
    assert found.support_n == pytest.approx([350.0, 350.0])
    assert found.bending_nm.min() == pytest.approx(-500 * SPAN**2 / 8, rel=1e-5)
    assert found.sag_m.max() == pytest.approx(5 * 500 * SPAN**4 / (384 * EI), rel=1e-5)


def test_one_stand_in_the_middle_is_two_cantilevers():
    """EXACT: tip sag w a^4 / 8 EI, root moment w a^2 / 2."""
    found = beam(Y, even(), np.zeros(1), Spar(EI))
    assert found.sag_m[0] == pytest.approx(500 * 0.7**4 / (8 * EI), rel=1e-3)
    assert found.sag_m[-1] == pytest.approx(found.sag_m[0], rel=1e-3)
    assert found.bending_nm.max() == pytest.approx(500 * 0.7**2 / 2, rel=2e-3)


def test_overhangs_by_statics():
    """EXACT: over each stand w a^2 / 2 hogging, in the middle w (L^2 / 8 - a^2 / 2) sagging."""
    found = beam(Y, even(), np.array([-0.45, 0.45]), Spar(EI))
    a = 0.25
    assert found.bending_nm.max() == pytest.approx(500 * a**2 / 2, rel=5e-3)
    assert found.bending_nm.min() == pytest.approx(-500 * (0.9**2 / 8 - a**2 / 2), rel=1e-3)
    middle = 500 * 0.9**4 * 5 / (384 * EI) - 500 * a**2 / 2 * 0.9**2 / (8 * EI)
    assert found.sag_m[1000] == pytest.approx(middle, rel=1e-3)
    assert found.sag_m[np.searchsorted(Y, 0.45)] == pytest.approx(0.0, abs=1e-5)


@given(st.floats(-0.3, 0.3), st.floats(0.2, 1.2))
def test_stands_carry_the_whole_load(skew, spacing):
    """EXACT: force and moment balance under a lopsided load; shear and moment end at nothing."""
    load = 500.0 * (1 + skew * Y / 0.7)
    found = beam(Y, load, stand_stations(2, spacing))
    assert found.support_n.sum() == pytest.approx(np.trapezoid(load, Y))
    assert found.support_n @ found.support_y_m == pytest.approx(np.trapezoid(load * Y, Y), abs=1e-6)
    assert found.shear_n[-1] == pytest.approx(0.0, abs=1e-6)
    assert found.bending_nm[-1] == pytest.approx(0.0, abs=0.5)
    assert np.all(np.isnan(found.sag_m))


def test_torque_is_held_by_the_stands():
    """EXACT: an even torque of 20 N m/m: 0.25 m of it outside each stand, 9 N m either side inside."""
    found = beam(Y, even(), np.array([-0.45, 0.45]), Spar(EI, torsion_n_m2=300.0), np.full_like(Y, 20.0))
    assert np.abs(found.torsion_nm).max() == pytest.approx(20.0 * 0.45, rel=1e-2)
    tip_twist = np.degrees(20.0 * 0.25**2 / 2 / 300.0)
    assert abs(found.twist_deg[0]) == pytest.approx(tip_twist, rel=1e-2)


@pytest.mark.parametrize(("at", "stands"), [("middle", 2), ("tip", 2), ("tip", 1)])
def test_the_bench_gives_back_the_stiffness(at, stands):
    """TWIN: hang a narrow weight on the beam solver, read the sag, and ask the bench formula for E I."""
    y = np.linspace(-0.7, 0.7, 20001)
    place = 0.0 if at == "middle" else 0.7
    width = 0.004
    load = np.where(np.abs(y - place) <= width, 1.0, 0.0)
    load *= 98.0 / np.trapezoid(load, y)
    found = beam(y, load, stand_stations(stands, 0.9), Spar(EI))
    sag = float(np.interp(place, y, found.sag_m))
    assert stiffness_from_bench(98.0, sag, at, stands, 0.9, 1.4) == pytest.approx(EI, rel=0.02)


def test_bench_and_stands_that_cannot_be():
    with pytest.raises(ValueError, match="tip that overhangs"):
        stiffness_from_bench(98.0, 0.001, "middle", 1, 0.9, 1.4)
    with pytest.raises(ValueError, match="give 1 or 2"):
        stand_stations(3, 0.9)


def test_half_spans_are_mirrored_and_keep_their_total():
    half = (np.arange(20) + 0.5) / 20 * 0.7
    load = 600.0 * np.sqrt(1 - (half / 0.7) ** 2)
    y, line = whole_span(half, load, 1.4)
    assert np.trapezoid(line, y) == pytest.approx(2 * np.sum(load * 0.035), rel=1e-6)
    assert line == pytest.approx(line[::-1])


def test_foot_loads_by_statics():
    """EXACT: forces and moment shared by two feet; a taller stand is a larger moment in proportion."""
    base = {"behind_rear_axle_m": 0.5, "gust_factor": 1.0, "shock_g": 0.0, "wing_mass_kg": 0.0}
    low, tall = (
        mount_loads(Mounts(stand_height_m=h, **base), 600.0, 80.0, -10.0, 50.0, 6.0) for h in (0.3, 0.6)
    )
    assert low.down_n == 300.0
    assert low.moment_nm == pytest.approx((80 * 0.3 - 10) / 2)
    assert tall.moment_nm - low.moment_nm == pytest.approx(80 * 0.3 / 2)
    assert low.bolt_tension_n == pytest.approx(low.moment_nm / 0.1 / 2)
    assert low.proof_down_n == 1200.0
    assert "taller stand is a larger moment" in low.caution
    assert "common practice, no source" in low.factor_origin


def test_a_foot_behind_the_wing_gets_no_relief_from_the_download():
    """EXACT: over a crest only the wing's weight less the shock is left, and drag and moment stay."""
    loads = mount_loads(Mounts(0.5, foot_ahead_m=-0.05), 1000.0, 150.0, 20.0, 60.0, 8.0)
    air = 1.5 * (150.0 * 0.3 + 20.0)
    crest = 6.0 * 9.80665 * (1.0 - 3.0)
    assert loads.moment_nm == pytest.approx((air - 0.05 * crest) / 2)
    ahead = mount_loads(Mounts(0.5, foot_ahead_m=0.05), 1000.0, 150.0, 20.0, 60.0, 8.0)
    assert ahead.moment_nm == pytest.approx((air + 0.05 * (1500.0 + 4 * 6.0 * 9.80665)) / 2)
    far = mount_loads(Mounts(0.5, foot_ahead_m=-0.3), 1000.0, 150.0, 20.0, 60.0, 8.0)
    assert far.moment_nm == pytest.approx((air - 0.3 * (1500.0 + 4 * 6.0 * 9.80665)) / 2)


def test_stands_close_together_bear_the_tipping():
    """EXACT: a sideways shock at the wing's height is held by a couple between the two feet."""
    wide, close = (mount_loads(Mounts(0.5, spacing_m=s), 700.0, 80.0, 0.0, 50.0, 6.0) for s in (0.9, 0.05))
    couple = 3 * 6.0 * 9.80665 * 0.3
    assert close.down_n - wide.down_n == pytest.approx(couple / 0.05 - couple / 0.9)
    assert close.proof_down_n == wide.proof_down_n


def test_the_recipe_says_what_it_proves_of_one_stand():
    """EXACT: half the proof load over the load of the stand that a kerb tilts the wing onto, rounded down."""
    from wingtool.report.car_text import proof_words

    loads = mount_loads(Mounts(0.5, spacing_m=0.3), 700.0, 80.0, 0.0, 50.0, 6.0)
    told = float(re.search(r"but ([\d.]+) times the load of one stand", proof_words(loads))[1])
    assert 0.0 <= loads.proof_down_n / 2 / loads.down_n - told < 0.1
    assert "one stand" not in proof_words(mount_loads(Mounts(0.5, stands=1), 700.0, 80.0, 0.0, 50.0, 6.0))


@pytest.mark.parametrize(
    ("pull", "told"), [(941.0, "942 N"), (101.0, "101 N"), (94.0, "94.0 N"), (0.0, "0 N")]
)
def test_the_pull_is_never_below_the_proof_load(pull, told):
    """EXACT: three figures, rounded up, so that the bags weigh no less."""
    from dataclasses import replace

    from wingtool.report.car_text import proof_words
    from wingtool.units import DisplayUnits

    loads = replace(mount_loads(Mounts(0.5), 700.0, 80.0, 0.0, 50.0, 6.0), proof_drag_n=pull)
    assert f"with {told} " in proof_words(loads)
    pounds = re.search(r"with ([\d.]+) lbf", proof_words(loads, DisplayUnits(force="lbf", length="in")))[1]
    assert pull / 4.4482216 <= float(pounds) <= 1.02 * pull / 4.4482216 + 1e-9


def test_sandbags_are_never_below_the_proof_load():
    from wingtool.report.car_text import proof_bags, proof_force
    from wingtool.units import DisplayUnits

    loads = mount_loads(Mounts(0.5), 700.0, 80.0, 0.0, 50.0, 6.0)
    line = 600.0 * np.sqrt(np.maximum(1 - (Y / 0.7) ** 2, 0))
    recipe = proof_recipe(loads, beam(Y, line, stand_stations(2, 0.9)))
    assert recipe.bag_kg.sum() * 9.80665 == pytest.approx(loads.proof_down_n)
    for unit, newton in (("N", 9.80665), ("lbf", 4.4482216152605)):
        units = DisplayUnits(force=unit)
        bags = sum(proof_bags(recipe, loads, units))
        printed = float(re.findall(r"\d+", proof_force(loads.proof_down_n, 2.0, units))[-1])  # kgf, lbf
        assert printed <= bags < printed + len(recipe.bag_kg) * 0.1
        assert loads.proof_down_n <= bags * newton < 1.02 * loads.proof_down_n
    assert recipe.bag_kg == pytest.approx(recipe.bag_kg[::-1], abs=0.51)
    assert loads.proof_down_n >= 2 * 700.0


@pytest.mark.parametrize("spacing", [0.3, 0.5, 0.7, 0.8, 0.9, 1.0, 1.2, 1.3, 1.38])
def test_the_bags_bend_the_wing_as_the_air_does(spacing):
    """EXACT: bending at the worst station by statics of point loads, within 3 % for any stand spacing."""
    loads = mount_loads(Mounts(0.5, spacing_m=spacing), 700.0, 80.0, 0.0, 50.0, 6.0)
    line = 600.0 * np.sqrt(np.maximum(1 - (Y / 0.72) ** 2, 0)) + 100.0
    air = beam(Y, line, stand_stations(2, spacing))
    recipe = proof_recipe(loads, air)
    force, at = recipe.bag_kg * 9.80665, recipe.station_y_m
    scale = loads.proof_down_n / np.trapezoid(line, Y)
    right = np.sum(force * (at + spacing / 2)) / spacing
    held = ((-spacing / 2, force.sum() - right), (spacing / 2, right))

    def bent(y):
        return np.sum(force * np.maximum(y - at, 0.0)) - sum(r * max(y - s, 0.0) for s, r in held)

    worst = Y[np.argmax(np.abs(air.bending_nm))]
    assert bent(worst) / scale == pytest.approx(np.interp(worst, Y, air.bending_nm), rel=0.03)
    assert (np.abs(at) > spacing / 2).any()


def test_the_proof_load_is_twice_the_worst_foot_moment():
    """EXACT: bags and pull by statics about the foot; the wing's own pitching moment is in it."""
    for ahead in (-0.1, 0.0, 0.15):
        mounts = Mounts(0.5, foot_ahead_m=ahead)
        loads = mount_loads(mounts, [700.0, 650.0], [60.0, 80.0], [40.0, 55.0], [50.0, 50.0], [6.0, 9.0])
        made = loads.proof_down_n * (ahead + loads.proof_aft_m) + loads.proof_drag_n * mounts.stand_height_m
        assert made / 2 == pytest.approx(2.0 * loads.moment_nm)
        one = mount_loads(mounts, 650.0, 80.0, 55.0, 50.0, 9.0)
        other = mount_loads(mounts, 700.0, 60.0, 40.0, 50.0, 6.0)
        assert loads.moment_nm == max(one.moment_nm, other.moment_nm)
        assert loads.bolt_tension_n == max(one.bolt_tension_n, other.bolt_tension_n)
        assert loads.down_n == max(one.down_n, other.down_n)


def test_rules_pass_fail_and_never_pass_the_unknown():
    rules = Limits("mine", {"wing_span": 1.6, "wing_over_roof": 0.2}, {"splitter_clearance": 0.08})
    checks = check_rules(rules, {"wing_span": 1.6, "splitter_clearance": 0.06, "wing_over_roof": None})
    assert [check.verdict for check in checks] == ["pass", "not checked", "fail"]


def test_cost_is_fair():
    plan = {"USD": 150.0}
    assert cost(plan, 0.5, 490.3325, 44.4).per_tenth_second == pytest.approx(30.0)
    assert cost(plan, 0.5, 490.3325, 44.4).per_kg_downforce == pytest.approx(3.0)
    assert cost(plan, -0.2, 490.0, 44.4).per_tenth_second is None
    assert cost(plan | {"EUR": 3.0}, 0.5, 490.0, 44.4) is None
    assert cost({}, 0.5, 490.0, 44.4) is None


def test_a_price_without_a_currency_is_told_without_one():
    currency = PartTable(name="foam", price=150.0).currency
    line = cost_line(cost({currency: 150.0}, 0.5, 490.3325, 44.4))
    assert line.startswith("parts cost 150, 30 for each tenth of a second a lap, 3.0 for each kg")


def test_foot_moment_and_proof_load_by_hand():
    """EXACT: worked by hand, metre and newton.

    1100 N down, 180 N aft, 30 N m nose-up; stands 0.4 m high, feet 0.05 m ahead, 6 kg, gust 1.5, shock 3 g:
    down 1.5 x 1100 + 4 x 58.84 = 1885.4; moment 1.5 (180 x 0.4 + 30) + 1885.4 x 0.05 = 153 + 94.3 = 247.3,
    a foot bears half; the proof load makes twice that.
    """
    loads = mount_loads(Mounts(0.5, stand_height_m=0.4, foot_ahead_m=0.05), 1100.0, 180.0, 30.0, 60.0, 6.0)
    assert loads.moment_nm == pytest.approx(247.27 / 2, abs=0.01)
    assert loads.proof_down_n == pytest.approx(3770.7, abs=0.1)
    assert loads.proof_drag_n == pytest.approx(540.0)
    made = 3770.7 * (0.05 + loads.proof_aft_m) + 540.0 * 0.4
    assert made == pytest.approx(2 * 247.27, abs=0.02)
