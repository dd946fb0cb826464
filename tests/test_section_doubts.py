"""What may be a mistake in a coordinate file is said: lost points, another unit, a tail that opens."""

import numpy as np
import pytest

from wingtool.geometry import collection_section, find_section, four_digit, polyline
from wingtool.geometry.files.reader import section_from_text
from wingtool.section import polar


def text_of(xy: np.ndarray) -> str:
    return "made\n" + "\n".join(f"{x:.6f} {y:.6f}" for x, y in xy)


def lost(xy):
    return np.delete(xy, np.arange(20, 60), axis=0)


def another_unit(xy):
    nose = int(np.argmin(xy[:, 0]))
    return xy * np.where(np.arange(len(xy)) < nose, 7.0, 1.0)[:, None] ** [0, 1]


def without_signs(xy):
    return np.abs(xy)


def a_block_scaled(xy):
    xy[20:26, 1] *= 1.25
    return xy


def a_point_off_among_few(xy):
    few = xy[::9]
    few[np.argmin(abs(few[: len(few) // 2, 0] - 0.4)), 1] += 0.008
    return few


def a_point_off_on_a_thin_one(xy):
    few = xy[::9]
    few[np.argmin(abs(few[: len(few) // 2, 0] - 0.4)), 1] += 0.005
    return few


@pytest.mark.parametrize(
    ("name", "damage", "word"),
    [
        ("0003", a_point_off_on_a_thin_one, "steps or bulges"),
        ("6412", without_signs, "with their signs"),
        ("4412", a_block_scaled, "line 21: the outline steps"),
        ("4412", a_point_off_among_few, "steps or bulges"),
        ("0012", lambda xy: np.where(xy < 0.0, 2.54 * xy, xy), "0.394 times the other all along"),
    ],
)
def test_wrong_digits_signs_and_units_are_said(name, damage, word):
    section = section_from_text(text_of(damage(np.array(four_digit(name).xy))), name, name)
    assert any(word in doubt for doubt in section.doubts), section.doubts


@pytest.mark.parametrize(("damage", "word"), [(lost, "points missing"), (another_unit, "unit")])
def test_damage_that_can_be_read_is_said_wherever_the_section_is_used(damage, word):
    section = section_from_text(text_of(damage(np.array(four_digit("4412").xy))), "made", "made")
    assert any(word in doubt for doubt in section.doubts)
    notes = polar(section, [5e5], [0.0, 2.0], method="surrogate").notes
    assert set(section.doubts) <= set(notes)


def one_side_doubled(xy):
    return xy * np.where(np.arange(len(xy))[:, None] <= np.argmin(xy[:, 0]), [1.0, 2.0], 1.0)


def a_half_mirrored(xy):
    upper = xy[: np.argmin(xy[:, 0]) + 1]
    return np.concatenate([upper, polyline.turned_over(upper)[1:]])


def a_bulge(xy):
    return xy + 0.006 * np.exp(-(((xy[:, :1] - 0.5) / 0.1) ** 2)) * (xy[:, 1:] > 0.0) * [0.0, 1.0]


def a_column_slipped(xy):
    xy[30:70, 1] = xy[31:71, 1]
    return xy


@pytest.mark.parametrize(
    ("name", "damage", "word"),
    [
        ("e583", one_side_doubled, "lines 3 to 31 are up to 0.1273 of the chord off e583"),
        ("e583", a_half_mirrored, "lines 41 to 68 are up to 0.0898 of the chord off e583"),
        ("fen-lift", a_half_mirrored, "off fen-lift"),
        ("fx73170", a_half_mirrored, "off fx73170"),  # its file has points on the base
        ("s1223", a_bulge, "off s1223"),
        ("4415", a_bulge, "4415, the rest"),
        ("23012", a_column_slipped, "23012, the rest"),
    ],
)
def test_a_known_section_with_a_part_spoiled_is_recognised(name, damage, word):
    known = find_section(name)
    section = section_from_text(text_of(damage(np.array(known.xy))), "made", "made")
    assert any(word in doubt for doubt in section.doubts), section.doubts
    whole = section_from_text("\n".join(f"{x:.4f} {y:.4f}" for x, y in known.xy), "made", "made")
    assert whole.doubts == ()


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ([1.0, 2.54], "27.9% thick and 5.1% cambered"),
        ([1.0, 0.1], "1.1% thick"),
        ([1.0, 2.0], "its heights are 2 times those of"),
        ([1.0, 1.0], "rounded to 0.01 of the chord"),
    ],
)
def test_heights_in_another_unit_and_coarse_numbers_are_said(change, word):
    form = "{:.2f} {:.2f}" if change == [1.0, 1.0] else "{:.5f} {:.5f}"
    xy = four_digit("2411", 60 if change != [1.0, 1.0] else 30).xy * change
    found = section_from_text("\n".join(form.format(*p) for p in xy), "made", "made").doubts
    assert any(word in doubt for doubt in found), found


def test_an_outline_elsewhere_and_at_an_angle_raises_no_doubt():
    turn = np.array([[np.cos(0.1), np.sin(0.1)], [-np.sin(0.1), np.cos(0.1)]])
    for name in ("4412", "e423"):
        xy = find_section(name).xy
        for moved in (xy + [0.3, 0.9], 250.0 * xy + [10.0, 300.0], xy @ turn, xy @ turn.T + 2.0):
            assert section_from_text(text_of(moved), name, name).doubts == ()


@pytest.mark.parametrize("called", ["e423", "E 423", "E423 as cut", "EPPLER E423", "NACA 4412", "naca-4412"])
def test_a_name_that_is_not_the_outlines_is_said(called):
    name = "e423" if "423" in called else "4412"
    xy = find_section(name).xy
    assert section_from_text(text_of(xy).replace("made", called), "made", "made").doubts == ()
    (doubt,) = section_from_text(text_of(xy * [1.0, 1.1]).replace("made", called), "made", "made").doubts
    assert f"by its name this is {name}" in doubt
    assert "thickness is 1.1 times" in doubt


def test_a_flat_side_given_twice_is_said():
    flat = np.array(collection_section("spicasm").xy)
    lower = flat[np.argmin(flat[:, 0]) :]
    twice = np.concatenate([polyline.turned_over(lower)[::-1][:-1], lower])
    found = section_from_text(text_of(twice), "made", "made").doubts
    assert any("is one flat side there twice?" in doubt for doubt in found)


def test_the_section_of_the_collection_whose_sides_draw_apart_is_said():
    assert any("draw apart" in doubt for doubt in collection_section("s9104bte").doubts)


@pytest.mark.parametrize(
    ("name", "why"), [("goe531", "camber 14."), ("s9104bte", "camber 14."), ("0060", "thickness 60.0 %")]
)
def test_a_shape_that_no_march_solves_is_said_before_it(name, why):
    section = four_digit(name) if name.isdigit() else collection_section(name)
    found = polar(section, [2e5, 1e6], [0.0, 4.0], method="coupled")
    assert all(word.startswith(f"not converged: {why}") for word in found.status.ravel())
    assert np.isnan(found.cl).all()


@pytest.mark.parametrize("called", ["NACA 4418", "rib 3"])
@pytest.mark.parametrize("power", [None, 4, 1])
@pytest.mark.parametrize("turn", [1.0, 250.0, 250.0 * np.exp(0.15j)])
def test_a_family_section_with_a_sharp_tail_is_that_section_in_any_frame(called, power, turn):
    xy = four_digit("4418", 40).xy
    side = np.where(np.arange(len(xy)) < xy[:, 0].argmin(), 0.5, -0.5)
    sharp = xy if power is None else xy - np.outer(side * xy[:, 0] ** power, xy[0] - xy[-1])
    z = turn * (sharp @ [1.0, 1.0j]) + (31.0 - 17.0j if abs(turn) > 1.0 else 0.0)
    text = text_of(np.column_stack([z.real, z.imag])).replace("made", called)
    assert section_from_text(text, "made", "made").doubts == ()


@pytest.mark.parametrize("name", ["goe133", "goe432", "kc135winglet"])
def test_a_turned_outline_is_looked_at_on_its_chord_line(name):
    x, y = collection_section(name).xy.T
    assert section_from_text(text_of(np.column_stack([x - 0.2 * y, y + 0.2 * x])), "a", "a").doubts == ()


@pytest.mark.parametrize("name", ["0012", "4412", "2415", "6409"])
def test_a_sound_outline_raises_no_doubt(name):
    assert section_from_text(text_of(np.array(four_digit(name).xy)), name, name).doubts == ()
