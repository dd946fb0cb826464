"""Published values that this build is held against, each with its source. No arithmetic here.

Status READ: seen in a public copy of the source. MEMORY: recalled and not looked up; its tolerance is wider.
"""

from __future__ import annotations

from dataclasses import dataclass

ATTACHED, NEAR_STALL, LOW_REYNOLDS = "attached flow", "near stall", "low Reynolds number"
ROUGH, TAB, GROUND, PLATES = "rough surface", "tab", "near the ground", "plates and short wings"
REGIMES = (ATTACHED, NEAR_STALL, LOW_REYNOLDS, ROUGH, TAB, GROUND, PLATES)
# What is held against measurements elsewhere, or could not be had; shown beside the regime.
REMARKS = {
    GROUND: "One plated wing over a moving road (Zerihan, thesis, Southampton, 2001; Zhang, Toet and Zerihan,"
    " Applied Mechanics Reviews 59(1), 2006), in a slow test: free transition within 4 % down to 0.18"
    " chord; fixed transition 8 % low at 0.31 chord, 17 % at 0.18, 31 % at 0.11.",
    PLATES: "The same wing in free air, in a slow test: lift slope within 5 %; computed stall 2.5 degrees"
    " later than measured, of the 3 that the advice keeps.",
}
TABLE_1978 = "USAF Stability and Control Datcom (1978), table 4.1.1-B, from NACA TR 824; from memory"
LADSON = "Ladson, NASA TM 4074 (1988), fixed transition at 5 % chord; read as a data file"
LADSON_LIFT = (
    LADSON + "; three grits, their lift at no incidence and Mach 0.15 (Prandtl and Glauert) taken off"
)
DRAG_1959 = "Abbott and von Doenhoff, Theory of Wing Sections, appendix IV; from memory"
SELIG = "Selig and Guglielmo, Journal of Aircraft 34(1), 1997, abstract; read"
ILLINOIS = "University of Illinois, Summary of Low-Speed Airfoil Data; from memory"
HOERNER = "Hoerner, Fluid-Dynamic Lift, chapter on maximum lift, figure 28; read"
STORMS = "Storms and Jang, Journal of Aircraft 31(3), 1994, abstract; from memory"


@dataclass(frozen=True)
class Published:
    """One published value of a section.

    `quantity` is one of `wingtool.study.trust.run.read_off`; `at` the angle [deg] that it needs, if any;
    `tolerance` is in the unit of the quantity.
    """

    regime: str
    section: str
    reynolds: float
    surface: str
    quantity: str
    value: float
    tolerance: float
    source: str
    at: float = 0.0
    trip_x: float | None = None
    tab_chord: float = 0.0


def _headlines() -> tuple[Published, ...]:
    """Rows: section, zero-lift angle, moment, slope per degree, greatest lift; smooth, at 9e6."""
    rows = (
        ("0006", 0.0, 0.0, 0.108, 0.92),
        ("0009", 0.0, 0.0, 0.109, 1.32),
        ("2412", -2.0, -0.047, 0.105, 1.68),
        ("2415", -2.0, -0.049, 0.106, 1.63),
        ("4412", -3.8, -0.093, 0.105, 1.67),
        ("4415", -4.3, -0.093, 0.105, 1.64),
        ("23012", -1.4, -0.014, 0.107, 1.79),
    )
    found: list[Published] = []
    for name, zero, moment, slope, most in rows:
        common = (name, 9e6, "smooth")
        thin = name in ("0006", "0009")  # nose stall
        found += [
            Published(ATTACHED, *common, "zero-lift angle [deg]", zero, 0.4, TABLE_1978),
            Published(ATTACHED, *common, "lift slope [1/deg]", slope, 0.06 * slope, TABLE_1978),
            Published(ATTACHED, *common, "moment at no lift", moment, 0.012, TABLE_1978),
            Published(NEAR_STALL, *common, "greatest lift", most, (0.2 if thin else 0.1) * most, TABLE_1978),
        ]
    return tuple(found)


SECTION_VALUES: tuple[Published, ...] = (
    *_headlines(),
    Published(ATTACHED, "0012", 6e6, "smooth", "lift", 1.061, 0.042, LADSON_LIFT, at=10.0, trip_x=0.05),
    Published(ATTACHED, "0012", 6e6, "smooth", "drag", 0.0081, 0.0008, LADSON, at=0.0, trip_x=0.05),
    Published(ATTACHED, "0012", 6e6, "smooth", "drag", 0.0118, 0.0015, LADSON, at=10.0, trip_x=0.05),
    Published(NEAR_STALL, "0012", 6e6, "smooth", "greatest lift", 1.62, 0.15, LADSON, trip_x=0.05),
    Published(ATTACHED, "0012", 6e6, "smooth", "least drag", 0.0058, 0.0007, DRAG_1959 + " (0012 read)"),
    Published(ATTACHED, "2412", 6e6, "smooth", "least drag", 0.0060, 0.0007, DRAG_1959),
    Published(ATTACHED, "4412", 6e6, "smooth", "least drag", 0.0062, 0.0007, DRAG_1959),
    Published(ATTACHED, "23012", 6e6, "smooth", "least drag", 0.0062, 0.0007, DRAG_1959),
    Published(LOW_REYNOLDS, "s1223", 2e5, "smooth", "greatest lift", 2.2, 0.1, SELIG),
    Published(LOW_REYNOLDS, "fx63137", 2e5, "smooth", "greatest lift", 1.75, 0.15, ILLINOIS),
    Published(LOW_REYNOLDS, "e423", 2e5, "smooth", "greatest lift", 2.0, 0.15, ILLINOIS),
    Published(ROUGH, "0012", 6e6, "dirty", "greatest lift", 1.07, 0.1, HOERNER + "; grit all over"),
    Published(TAB, "s1223", 2e5, "smooth", "greatest lift", 2.3, 0.1, SELIG, tab_chord=0.01),
    Published(
        TAB, "4412", 2e6, "smooth", "greatest lift", 1.96, 0.07, STORMS + "; height about 2 %", tab_chord=0.02
    ),
)
