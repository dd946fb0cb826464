"""The whole chain beside facts of the trade. All are common practice, no source: printed, never tuned to.

An invented car of 1,150 kg and 135 kW on slick tyres (1.1 g) with a home-made wing and splitter.
"""

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH, harrow_down

from wingtool.car import (
    Splitter,
    Tyre,
    body_areas,
    body_lift_of_type,
    break_even_m_s,
    corner_table,
    part_losses,
    placed,
    splitter_estimate,
    top_speed_m_s,
    total,
)
from wingtool.track import corner_holds, lap, lap_difference

RHO = 1.225


@pytest.mark.slow
def test_where_the_chain_lands_beside_the_trade(capsys):
    from dataclasses import replace

    car = replace(GREEN_HATCH, tyre=Tyre(1.1, 0.1, 1.1), body_lift=body_lift_of_type("hatchback"))
    wing = placed(
        0.35 * 0.9, 0.35 * (0.09 + 0.04 * 0.9), 2.95, 1.33, 2.5
    )  # CL 0.9, CD 0.09 on 1.4 m by 0.25 m
    splitter = splitter_estimate(Splitter(0.09, 1.5, 0.09, floor_m=0.3), car).middle
    body = body_areas(car)
    whole = total(body, wing, splitter)
    radius = np.array([30.0, 45.0, 70.0, 100.0, 140.0])
    table = corner_table(car, whole, body, RHO, radius)
    bare_top, with_top = (float(top_speed_m_s(car, one.cda_m2, one.cla_m2, RHO)) for one in (body, whole))
    circuit = harrow_down()
    laps = [
        lap(car, whole, circuit, RHO),
        lap(car, whole, circuit, RHO, "retuned"),
        lap(car, body, circuit, RHO),
        lap(car, body, circuit, RHO, "retuned"),
    ]
    step = np.diff(np.r_[0.0, laps[1].time_s[0]])
    holds = corner_holds(laps[1].lateral_g[0], step, circuit.part, circuit.names)
    left = part_losses(car, {"wing": wing, "splitter": splitter}, RHO, 160 / 3.6)
    with capsys.disabled():
        print("\n  fact of the trade (common practice, no source) | where the chain lands")
        felt = [3.6 * break_even_m_s(car, whole, body, RHO, law=law) for law in ("retuned", "weaker axle")]
        told = f"{felt[0]:.0f} km/h retuned, {felt[1]:.0f} km/h as fitted (2 % of g)"
        print(f"  felt only above some 105 to 115 km/h | {told}")
        gain, retuned = table.with_m_s - table.without_m_s, table.retuned_m_s - table.retuned_without_m_s
        for r, *v in zip(radius, table.without_m_s * 3.6, gain * 3.6, retuned * 3.6, strict=True):
            print(f"    R {r:.0f} m: {v[0]:.1f} km/h bare, {v[1]:+.1f} as fitted, {v[2]:+.1f} both retuned")
        print("  corners of 70 to 95 km/h show next to no difference | first two rows")
        for hold in holds:
            print(f"    {hold.name}: {hold.peak_g:.2f} g, held {hold.held_s:.1f} s")
        print("  fast sweepers at about 1.1 g held for the whole corner | rows above")
        tops = f"{3.6 * bare_top:.0f} km/h bare, {3.6 * with_top:.0f} with parts"
        print(f"  the loss of top speed is plain to see | {tops}")
        print("  wing alone understeers, splitter alone oversteers when fast | front share at 160 km/h:")
        for case, alone in zip(left, ("both", "splitter alone", "wing alone", "bare car"), strict=True):
            print(f"    {alone}: {100 * case.front_share:.1f} %, {case.shift_percent:+.1f} on the bare car")
        for name, one, bare in (("as fitted", laps[0], laps[2]), ("retuned", laps[1], laps[3])):
            print(f"  lap of {bare.lap_time_s[0]:.1f} s: {lap_difference(one, bare).gain_s[-1]:+.2f} {name}")
    assert all(np.isfinite(felt))
    assert with_top < bare_top
    assert [case.lost_part for case in left] == ["nothing", "wing", "splitter", "all parts"]
    assert left[2].shift_percent < 0.0 < left[1].shift_percent  # wing alone, splitter alone
