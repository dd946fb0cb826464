"""The measured record in figures, and the correction and band fitted to it."""

import csv
from pathlib import Path

import numpy as np
import pytest
from reduce_record import SENTENCE

from wingtool.section.figures import curve_figures

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
