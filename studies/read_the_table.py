"""Three lines give another program the downforce that wingtool computed.

First: wingtool wing studies/green_hatch.toml --out wing.csv
Then:  python studies/read_the_table.py wing.csv
"""

import sys

import wingtool

if len(sys.argv) != 2:
    sys.exit("which table? for example: python studies/read_the_table.py wing.csv")
table = wingtool.load(sys.argv[1])
downforce_n = table("downforce_n", wing_angle_deg=4.0, speed_m_s=40.0)
print(f"{downforce_n:.0f} {table.units['downforce_n']} at 4 degrees and 40 m/s; bounds {table.bounds}")
