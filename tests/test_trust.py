"""The trust table: its own arithmetic, its exact flows, its page."""

import re
from dataclasses import replace

import numpy as np
import pytest

from wingtool import study
from wingtool.cli.commands.trust import trust
from wingtool.files import cache_dir
from wingtool.panels import solve
from wingtool.report.checks.record import record_rows, record_screen
from wingtool.report.checks.trust import errors_line, number, trust_lines, trust_table, write_trust
from wingtool.section import polar_from_arrays
from wingtool.section.cache import cached_rows
from wingtool.study.trust.cases import ATTACHED, GROUND, NEAR_STALL, REGIMES, REMARKS, published_values
from wingtool.study.trust.check import Check
from wingtool.study.trust.record import METHODS, RecordTable, polar_figures
from wingtool.study.trust.run import Trust, _no_cache, read_off
from wingtool.study.trust.wing import conformal_section, panel_checks, wing_checks

MADE = Check(NEAR_STALL, "4412", "made", "greatest lift", 1.6, 0.1, "PUBLISHED", "nobody, 1999", 1.65, 1.8)


def made_polar():
    alpha = np.arange(-4.0, 17.0)
    cl = 0.1 * (alpha + 2.0) - 0.004 * np.maximum(alpha - 8.0, 0.0) ** 2
    return polar_from_arrays(alpha, cl, 0.008 + 0.01 * (cl - 0.4) ** 2, np.full(alpha.size, -0.05))


def test_nothing_is_kept_that_a_kill_could_leave_behind(monkeypatch):
    monkeypatch.setenv("WINGTOOL_CACHE", "before")
    asked = []

    def compute(missing):
        asked.append(missing)
        return [{"cl": np.zeros(1)}]

    with _no_cache():
        for _ in range(2):
            cached_rows([("made",)], ("cl",), compute)
        assert not cache_dir().is_dir()
    assert len(asked) == 1  # the second time from this process's memory
    assert str(cache_dir()) == "before"


def test_quantities_are_read_off_a_polar_correctly():
    """EXACT: the polar is a formula; its top is where 0.1 = 0.008 (alpha - 8)."""
    polar = made_polar()
    expected = {
        ("zero-lift angle [deg]", 0.0): -2.0,
        ("lift slope [1/deg]", 0.0): 0.1,
        ("moment at no lift", 0.0): -0.05,
        ("lift", 3.5): 0.55,
        ("drag", 2.0): 0.008,
        ("least drag", 0.0): 0.008,
    }
    for (name, at), value in expected.items():
        assert read_off(polar, name, at) == pytest.approx(value, abs=1e-9), name
    late = polar_from_arrays(polar.alpha_deg, 1.5 - 0.01 * (polar.alpha_deg - 10.0) ** 2, polar.cd[0])
    assert read_off(late, "greatest lift") == pytest.approx(1.5, abs=0.011)


def test_a_curve_that_creeps_up_behind_its_stall_counts_with_the_lift_that_the_user_is_told():
    """EXACT: more than half of the side separated from 9 degrees on; lift rises a little further."""
    alpha = np.arange(-4.0, 17.0)
    cl = np.where(alpha <= 8.0, 0.1 * (alpha + 2.0), 1.0 + 0.02 * (alpha - 8.0))
    aft = np.where(alpha < 8.5, 0.9, 0.4)[None]
    polar = replace(polar_from_arrays(alpha, cl, 0.01 + 0 * alpha), separation_upper=aft)
    found = polar_figures(polar)
    assert (found.cl_max, found.alpha_cl_max_deg) == (float(polar.stall()[1][0]), 8.0)


def test_the_command_says_at_its_start_that_it_takes_minutes(monkeypatch, capsys):
    told = []

    def run(_progress):
        told.append(capsys.readouterr())
        return Trust((MADE,))

    monkeypatch.setattr(study, "run_trust", run)
    trust()
    (start,) = told
    assert "minutes" in start.err
    assert start.err.count("\n") == 1
    assert max(map(len, start.err.splitlines())) <= 80
    assert start.out == ""


def test_every_value_stands_on_a_line_of_80_columns():
    far = replace(MADE, subject="0012", condition="Re 6 million, trip 0.05, 10°", computed=2.0)
    table = trust_lines(Trust((MADE, far)))
    assert [line.split()[:4] for line in table[2:4]] == [
        ["1.600", "1.650", "1.800", "agrees"],
        ["1.600", "2.00", "1.800", "differs"],
    ]
    assert "2 cases" in table[1]
    assert max(map(len, table[:4])) <= 80
    values = [f"{one.subject}, {one.condition}" for one in panel_checks() + wing_checks()]
    assert max(map(len, values)) <= 39


def test_verdicts():
    assert MADE.verdict == "agrees"
    assert replace(MADE, computed=1.71).verdict == "differs"
    assert replace(MADE, computed=np.nan).verdict == "not converged"


def test_mean_and_root_mean_square_by_hand():
    """EXACT: +5 % and -10 % of published: mean -2.5 %, root mean square 7.906 %."""
    pair = (replace(MADE, published=1.0, computed=1.05), replace(MADE, published=2.0, computed=1.8))
    line = errors_line("greatest lift", [*pair, replace(MADE, computed=np.nan)])
    assert line == "greatest lift: mean −2.5 %, rms 7.9 %, 2 cases"


def test_conformal_sections_close_on_themselves_and_lift_as_flat_plates_when_thin():
    """EXACT: 2 pi sin(alpha) as the thickness goes to nothing, with a cusped tail."""
    xy, exact = conformal_section(1e-6, 0.0, 0.0)
    assert np.ptp(xy[:, 0]) == pytest.approx(1.0, abs=1e-6)
    assert exact(5.0) == pytest.approx(2 * np.pi * np.sin(np.radians(5.0)), rel=1e-4)


@pytest.mark.parametrize("shape", [(0.05, 0.05, 10.0), (0.1, 0.1, 20.0)])
def test_panels_meet_the_conformal_sections(shape):
    """EXACT: within 0.3 % at 200 panels."""
    xy, exact = conformal_section(*shape)
    assert float(solve([xy], 3.0).cl[0, 0]) == pytest.approx(exact(3.0), rel=3e-3)


def test_every_source_is_told_and_every_regime_is_covered():
    values = published_values()
    assert all(re.search(r"read|memory", check.source) for _, _, check in values)
    covered = {check.regime for _, _, check in values} | {c.regime for c in panel_checks() + wing_checks()}
    assert covered == set(REGIMES)
    assert set(REMARKS) <= set(REGIMES)


def test_wing_checks_agree():
    """TWIN and EXACT: the lattice against values by another program of ours and Munk's bound."""
    assert {check.verdict for check in wing_checks() + panel_checks()} == {"agrees"}


def test_the_page_tells_all(tmp_path):
    missing = replace(MADE, regime=ATTACHED, computed=np.nan, source="<no> such thing")
    result = Trust((MADE, missing, replace(MADE, regime=GROUND)))
    text = write_trust(result, tmp_path).read_text()
    for part in ("4412", "nobody, 1999", "over a moving road", "&lt;no&gt; such thing", "2 of 3 agree"):
        assert part in text
    assert len(trust_table(result).rows) == 3
    assert "mean +3.1 %" in text.replace("&#43;", "+")
    assert number(-0.00812) == "−0.0081"


def made_record() -> RecordTable:
    rng = np.random.default_rng(2)
    measured = np.tile([1.4, 12.0, 0.3, 0.7, 1.1, -3.0, 0.1, 0.011, 0.012, 0.016], (6, 1))
    computed = {method: measured * (1 + 0.05 * rng.normal(size=measured.shape)) for method in METHODS}
    computed["coupled"][:, 0] = 1.4 * 1.1
    surface = np.array(["clean"] * 4 + ["tripped"] * 2)
    rows = {"thickness": np.full(6, 0.12), "camber": np.full(6, 0.03), "reynolds": np.full(6, 3e5)}
    edges = {"low": 0.9 * measured, "high": np.where(np.arange(10) < 5, 1.1, 0.95) * measured}
    return RecordTable(surface, measured=measured, computed=computed, missing=(), **rows, **edges)


def test_the_record_is_told_by_regime_with_and_without_the_correction(tmp_path):
    """EXACT: ten per cent too much lift in each curve is +10 on average, 10 rms; the page shows it first."""
    table = made_record()
    headings, rows = record_rows(table)
    first = dict(zip(headings, rows[0], strict=True))
    assert first["quantity"] == "greatest lift"
    assert first["coupled"] == "+10.0 % / 10.0 %"
    assert first["curves"] == "6"
    sheets = record_screen(replace(table, missing=("S809",)))
    (caption, headings, rows), (stall, regime_headings, regime_rows) = sheets
    assert caption.endswith("S809.")
    assert "0 of 6 curves" in stall
    lift = dict(zip(headings, rows[0], strict=True))
    assert headings[0] == "Re 0.3, 6 curves"
    assert (lift["uncorrected"], lift["our band ±"]) == ("10.0 %", "10.0 %")
    assert [row[0] for row in regime_rows] == [
        "clean, Re 0.3",
        "zigzag strips at nose",
        "camber 2 to 4.2 %",
        "12 % and thicker",
    ]
    # low and high of the negative angle are turned over
    assert regime_rows[0][-1] == "71/0"
    for _, head, lines in sheets:
        widths = [max(map(len, column)) for column in zip(head, *lines, strict=True)]
        assert sum(widths) + 2 * (len(widths) - 1) <= 80
    page = write_trust(Trust((), table), tmp_path).read_text(encoding="utf-8")
    assert page.index("data:image/png;base64,iVBOR") < page.index("<table")
    assert (tmp_path / "record.png").stat().st_size > 5000
