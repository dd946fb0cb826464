"""What the parts do to the car: balance, straights, corners, loads."""

from wingtool.car.areas import NOTHING, AxleAreas, joined, placed, total
from wingtool.car.balance import (
    BALANCE_CAUTION,
    OVERSTEER_POINTS,
    AxleLoads,
    MatchedSettings,
    PartLoss,
    PlaceMap,
    axle_loads,
    front_share,
    matched_settings,
    part_losses,
    place_map,
)
from wingtool.car.corner import CornerTable, break_even_m_s, corner_speed_m_s, corner_table
from wingtool.car.cost import Cost, cost
from wingtool.car.estimate import Estimate, in_quadrature
from wingtool.car.front import (
    AirDam,
    BladeLoad,
    FrontPart,
    Measured,
    Splitter,
    air_dam_estimate,
    blade_load,
    measured_by_taps,
    splitter_estimate,
)
from wingtool.car.rules import FACTS, TRACK_ONLY, Limits, RuleCheck, check_rules
from wingtool.car.straight import (
    NOTICED,
    full_throttle,
    power_at_wheels_w,
    resistance_n,
    straight_runs,
    top_speed_m_s,
)
from wingtool.car.structure.mounts import (
    MOUNT_CAUTION,
    MOUNTS_FAIL_FIRST,
    NOT_INCLUDED,
    PROOF_LOAD_FIRST,
    MountLoads,
    Mounts,
    ProofRecipe,
    mount_loads,
    proof_recipe,
)
from wingtool.car.structure.spar import (
    BeamLoads,
    Spar,
    beam,
    stand_stations,
    stiffness_from_bench,
    whole_span,
)
from wingtool.car.suspension import (
    TYRE_CAUTION,
    AxleResponse,
    Clearance,
    axle_responses,
    clearance_left,
    ride_rate_n_m,
)
from wingtool.car.tyre import (
    LATERAL_LIMIT,
    axle_capacity,
    brake_limit_m_s2,
    lateral_retuned_m_s2,
    traction_limit_n,
)
from wingtool.car.vehicle import (
    BODY_LIFT,
    FASTEST_M_S,
    HOW_TO_MEASURE,
    Axle,
    BodyLift,
    Car,
    Gears,
    Tyre,
    body_areas,
    body_lift_of_type,
    drag_area_from_top_speed,
)
