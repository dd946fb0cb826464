"""Names beside marks: none touches another, a mark, a line or the picture's edge."""

import re

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from wingtool.report.page.labels import is_free, names_beside, text_box

ROOM = (0.0, 0.0, 340.0, 220.0)
PLACES = st.tuples(
    st.floats(5.0, 335.0),
    st.floats(5.0, 215.0),
    st.sampled_from(["8°", "−12°"]),
    st.sampled_from(["left", "right"]),
)


def boxes_of(text):
    found = re.findall(r'x="([-\d.]+)" y="([-\d.]+)" text-anchor="(\w+)">([^<]+)<', text)
    return [text_box(float(x), float(y), name, anchor) for x, y, anchor, name in found]


def overlap(a, b, slack=0.2):
    return a[0] < b[2] - slack and b[0] < a[2] - slack and a[1] < b[3] - slack and b[1] < a[3] - slack


@settings(max_examples=80, deadline=None)
@given(marks=st.lists(PLACES, max_size=14), ends=st.lists(PLACES, min_size=2, max_size=6))
def test_no_name_touches_anything(marks, ends):
    """EXACT: boxes are compared with each other, and lines by their points at a tenth of a unit."""
    x, y = (np.array([end[k] for end in ends]) for k in (0, 1))
    key = (200.0, 150.0, 330.0, 190.0)
    boxes = boxes_of(names_beside(marks, [(x, y)], [key], ROOM))
    assert len(boxes) <= len(marks)
    for k, box in enumerate(boxes):
        assert box[0] >= -0.1
        assert box[1] >= -0.1
        assert box[2] <= 340.1
        assert box[3] <= 220.1
        assert not any(overlap(box, other) for other in [*boxes[:k], key])
        assert not any(overlap(box, (a - 3, b - 3, a + 3, b + 3)) for a, b, _, _ in marks)
    t = np.linspace(0.0, 1.0, 4000)
    for a, b in zip(range(len(x) - 1), range(1, len(x)), strict=True):
        px, py = x[a] + t * (x[b] - x[a]), y[a] + t * (y[b] - y[a])
        for left, top, right, bottom in boxes:
            assert not np.any((px > left) & (px < right) & (py > top) & (py < bottom))


def test_a_name_stands_on_its_own_side_where_that_is_free_and_else_elsewhere():
    mark = (100.0, 100.0, "8°", "right")
    assert boxes_of(names_beside([mark], [], [], ROOM)) == [text_box(107.0, 104.0, "8°", "start")]
    wall = (np.array([110.0, 110.0]), np.array([0.0, 220.0]))
    assert boxes_of(names_beside([mark], [wall], [], ROOM)) == [text_box(100.0, 92.0, "8°", "middle")]
    assert names_beside([mark], [], [ROOM], ROOM) == ""


def test_a_line_between_two_far_points_and_a_broken_one_count_as_drawn():
    box = (40.0, 40.0, 60.0, 50.0)
    across = (np.array([0.0, 300.0]), np.array([45.0, 45.0]))
    broken = (np.array([0.0, np.nan, 300.0]), np.array([45.0, np.nan, 45.0]))
    assert not is_free(box, [across], [])
    assert is_free(box, [broken], [])
    assert is_free(box, [], [(60.0, 40.0, 80.0, 50.0)])
