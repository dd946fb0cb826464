"""Tracing: photo to table, index, match and the band of 200 draws, timed in one run."""

from time import perf_counter, process_time

import numpy as np
import pytest
from trace_person import dense, photographed, printed, template

from wingtool.geometry import four_digit, write_section
from wingtool.study import TraceRequest, trace_wing
from wingtool.study.trace.shape_band import shape_band
from wingtool.tracing import build_index, load_index, nearest, sheet

pytestmark = pytest.mark.bench


def test_photo_to_table_index_match_and_band(tmp_path, monkeypatch):
    monkeypatch.setenv("WINGTOOL_CACHE", str(tmp_path / "cache"))
    paper, rng = sheet("A4"), np.random.default_rng(1)
    card = template(dense(four_digit("4412")), rng, paper)
    photo = tmp_path / "wing.jpg"
    photo.write_bytes(photographed(paper, printed(paper, [(card, 25)]), rng, pixels=(4000, 3000)))
    seconds, cpu = {}, {}

    def timed(name, call):
        start, busy = perf_counter(), process_time()
        answer = call()
        seconds[name], cpu[name] = perf_counter() - start, process_time() - busy
        return answer

    timed("index of the whole collection", build_index)
    index = timed("index built and kept", load_index)
    timed("index from the file", load_index)
    result = timed(
        "photo of 12 megapixels to table", lambda: trace_wing(TraceRequest(photo=photo, suction_side="up"))
    )
    timed("one match", lambda: nearest(result.found.section, index))
    timed("band of 200 draws, 11 angles", lambda: shape_band(result.found, 7e5, result.polar.alpha_deg))
    write_section(result.found.section, tmp_path / "wing.dat")
    whole = seconds["photo of 12 megapixels to table"]
    print()
    for name, value in seconds.items():
        print(
            f"{name}: {value:.2f} s ({cpu[name]:.2f} s of processor), {value / whole:.2f} of photo to table"
        )
    assert seconds["one match"] < 0.05 * seconds["index of the whole collection"]
