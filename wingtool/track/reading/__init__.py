"""Log files: delimited text and GPX, their headings, units and the doubt of a speed's unit."""

from wingtool.track.reading.columns import heading
from wingtool.track.reading.read import read_log
