"""Test sheets: how to measure on a closed course, and a blank run sheet for the log."""

FIRST = (
    "FIRST: closed course only, never a public road. An observer with a radio. The event's rules first. "
    "No passenger; nobody on the course. Stop if anything is loose."
)
RUN_SHEET_HEAD = "Run sheet (times in seconds of the log):"
RUN_SHEET = (
    "run,start,end,parts,direction,temperature_degc,pressure_hpa\n"
    "1,,,off,out,,\n2,,,off,back,,\n3,,,on,out,,\n4,,,on,back,,\n"
)
TAPS_SHEET = """\
[splitter.taps]          (readings in Pa against the static pressure; mean of both directions)
speed = "120 km/h"
above = ["____ Pa", "____ Pa"]   on the blade, at a quarter and three quarters of the overhang
below = ["____ Pa", "____ Pa"]   under the blade, the same two places
floor = ["____ Pa", "____ Pa"]   under the floor behind the bumper line, a quarter and three quarters
error = "____ Pa"                half width of one reading, 95 %
"""
SHEETS = {
    "coast-down": (
        "What it tells: the change of drag area. Absolute drag is not worth the trouble: a head wind "
        "of 1 m/s weighs as much as the wing's own drag.",
        "Same tyres, warm; same fuel, windows up; a level road; wind under some 3 m/s "
        "(7 mph, common practice, no source).",
        "Air: write temperature and station pressure (not reduced to sea level) of each run on the run "
        "sheet; 10 degrees warmer air is 3 % thinner and reads as 3 % less of the whole drag area.",
        "Do not touch the brakes before the coast is over: a braked end is cut off where it is found.",
        "Same mass: when the wing is off, carry its weight in the boot. Left at home, 6 kg of 1150 kg look "
        "like 0.5 % of the car's drag area, a tenth of what the wing itself takes.",
        "Start every coast above the same speed, neutral, hands still, down to the same speed; same stretch.",
        "Out and back are one pair. Order of pairs: without, with, without, with (A-B-A-B). Five "
        "pairs of each are a start; the answer says how many more would tell.",
        "Log: time, speed (10 a second is plenty), heading or position; a column parts (on, off) or "
        "the run sheet below.",
    ),
    "suspension": (
        "What it tells: the change of each axle's load. Cable ties keep the largest bump, not the "
        "downforce: they are no measurement.",
        "Calibrate: 25 kg steps on the deck over the axle, up and down; what does not come back is "
        "your error. Enter spring_rate and motion_ratio in [car.front] and [car.rear].",
        "Drive steady speeds, say 100, 130 and 160 km/h, three seconds and more each, on the same "
        "smooth, level stretch, same throttle state; without, with, without, with.",
        "Carry the parts' weight in the car, over the same axle, when they are off: 6 kg of wing read as 13 "
        "% of its downforce where they are not. A constant offset is taken out: spread the speeds widely.",
        "Lift of the bare body comes from the passes without any part, wing, splitter and dam off: three "
        "speeds and more at both axles. --write puts lift_area_front and lift_area_rear into [car].",
        "Log: time, speed, front and rear travel (compression positive) or ride height, with its unit, parts "
        "(on, off). Ride height needs tyre_rate in [car.front] and [car.rear].",
    ),
    "taps": (
        "What it tells: the downforce of the splitter from six pressures, with their error; it replaces the "
        "estimate, whose band is wider than half the force itself.",
        "Taps: 1 mm holes square to the surface, flush, no burr, halfway from the middle to one end of the "
        "board; a tube glued in from the other side. Two above the blade, two below, two under the floor.",
        "Static pressure: not the cabin, where windows and fans change it. A static tube on a pole a metre "
        "ahead of or above the car, its holes square to the wind.",
        "Gauge: a differential one of 0 to 1000 Pa; a water tube serves (1 mm of water is 9.8 Pa). Zero it "
        "at rest before and after: what does not come back is error. One tap after the other, tubes alike.",
        "Same steady speed out and back, a mean over ten seconds; wind under some 3 m/s. Film the gauge or "
        "log it: driver and passenger do not read it.",
        "Repeat one tap at the end of the day: its change belongs into error, as does that from out to back.",
        "Nothing may hang below the board; tape and tubes off before racing.",
    ),
    "load-cells": (
        "What it tells: the wing's own downforce and drag.",
        "Let the cells stand statically determinate; calibrate in place with weights, both ways; tare"
        " each run.",
        "The cells are part of the mounts now: proof-load the stands with the cells in place.",
        "Two runs and more through the whole range of speeds. Log: time, speed, load cells (down "
        "positive), drag cell if there is one.",
    ),
    "corners": (
        "What it tells: whether the corners feel the downforce. Expect weak proof: 450 N is some 4 % "
        "of a car's weight, 2 % in speed.",
        "Whole laps, four at a time: without, with, without, with; same tyres at the same temperature.",
        "Change the parts out of the driver's sight if you can.",
        "Log: time, speed, lateral g or heading, position (so that each corner is held against "
        "itself), parts.",
    ),
}


def sheet_lines(test: str) -> list[str]:
    """The sheet of one test, the safety line first and last the blank run sheet."""
    steps = [f"{number}. {text}" for number, text in enumerate(SHEETS[test], start=1)]
    blank = ("For the study file:", TAPS_SHEET) if test == "taps" else (RUN_SHEET_HEAD, RUN_SHEET)
    return [FIRST, "", f"Test sheet: {test}", *steps, "", *blank]
