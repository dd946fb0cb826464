"""Page and pictures of a study of 41 angles by 12 speeds against its computation: printed as ratios."""

import time

import pytest

from wingtool.report import write_page, write_plots
from wingtool.study import bundled_study, read_study, run_study


@pytest.mark.bench
def test_page_and_pictures(tmp_path, capsys):
    speeds = [f"{60 + 12 * k} km/h" for k in range(12)]
    study = read_study(bundled_study(), {"sweep": {"angles": "-4:16:0.5", "speeds": speeds}})
    times = [time.perf_counter()]
    result = run_study(study)
    times.append(time.perf_counter())
    page = write_page(result, tmp_path)
    times.append(time.perf_counter())
    write_plots(result, tmp_path)
    times.append(time.perf_counter())
    run, one, plots = (b - a for a, b in zip(times[:-1], times[1:], strict=True))
    assert len(result.wing.CL) == 12
    assert result.wing.CL.shape[1] >= 41  # the advice may add angles
    with capsys.disabled():
        print(
            f"\n41 angles by 12 speeds: run {run:.2f} s; page {one / run:.2f} of that ({one:.2f} s,"
            f" {page.stat().st_size / 1e3:.0f} kB), all pictures {plots / run:.2f} of that ({plots:.2f} s)"
        )
