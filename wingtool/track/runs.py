"""A log cut into runs: by a run sheet, or by its parts, run and direction columns."""

import csv
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from wingtool.constants import GAS_CONSTANT_AIR_J_KG_K
from wingtool.errors import LogError
from wingtool.files import plain_bytes, words_beside
from wingtool.track.log import OFF_WORDS, ON_WORDS, Log, heading_rad

MOST_BYTES = 1_000_000  # of a run sheet
WORDS = words_beside(__file__, "runs")


@dataclass(frozen=True, eq=False)
class TestRun:
    """One run: rows of the log, parts on (True) or off, a direction word (empty if not known), and the air's
    density [kg/m^3] from the run sheet (None where it says none)."""

    __test__ = False  # not a pytest class

    name: str
    rows: np.ndarray
    parts_on: bool
    direction: str = ""
    density_kg_m3: float | None = None

    def q_pa(self, speed_m_s: np.ndarray | float, density_kg_m3: float) -> float:
        """Mean dynamic pressure in the run's own air, else in that of the given density."""
        own = density_kg_m3 if self.density_kg_m3 is None else self.density_kg_m3
        return float(0.5 * own * np.mean(np.square(speed_m_s)))


def runs_of(log: Log, sheet: Path | str | None = None) -> tuple[TestRun, ...]:
    """The runs of a log in order of time.

    Parameters
    ----------
    sheet : path, optional
        CSV with columns run, start, end, parts and, if known, direction, temperature_degc, pressure_hpa of
        the air; start and end in seconds of the log.

    Raises
    ------
    LogError
        Neither a sheet nor a parts column marks the runs with the parts.
    """
    if sheet is not None:
        return tuple(_from_sheet(log, Path(sheet)))
    if "parts" not in log.words:
        raise LogError(WORDS["unmarked"].format(log.source))
    parts = log.words["parts"]
    number = log.channels.get("run", np.zeros(len(parts)))
    way = log.words.get("direction", np.full(len(parts), ""))
    change = (parts[1:] != parts[:-1]) | (number[1:] != number[:-1]) | (way[1:] != way[:-1])
    edges = np.r_[0, np.flatnonzero(change) + 1, len(parts)]
    pieces = [np.arange(a, b) for a, b in pairwise(edges) if parts[a] in ("on", "off") and b - a >= 5]
    if not pieces:
        raise LogError(f"{log.source}: the column parts says neither on nor off; write on or off in each row")
    return tuple(
        TestRun(str(i + 1), piece, parts[piece[0]] == "on", str(way[piece[0]]))
        for i, piece in enumerate(pieces)
    )


def _from_sheet(log: Log, sheet: Path):
    try:
        text = plain_bytes(sheet, MOST_BYTES, "a run sheet (CSV)", LogError).decode("utf-8-sig")
        rows = list(csv.DictReader(text.splitlines()))
    except (UnicodeDecodeError, csv.Error):
        raise LogError(f"{sheet}: run sheet cannot be read; give a CSV file") from None
    for line, row in enumerate(rows, start=2):
        where = f"{sheet}, line {line}"
        cells = {key.strip().lower(): (value or "").strip() for key, value in row.items() if key}
        try:
            start, end = float(cells["start"]), float(cells["end"])
            word = cells["parts"].lower()
        except (KeyError, ValueError):
            raise LogError(f"{where}: needs start and end in seconds and parts (on, off)") from None
        if word not in ON_WORDS | OFF_WORDS:
            raise LogError(f"{where}: parts is {word!r}; write on or off")
        inside = np.flatnonzero((log.time_s >= start) & (log.time_s <= end))
        if len(inside) < 5:
            raise LogError(f"{where}: no readings between {start:g} and {end:g} s; check the times")
        way, air = cells.get("direction", ""), _density(cells, where)
        yield TestRun(cells.get("run") or str(line - 1), inside, word in ON_WORDS, way, air)


def _density(cells: dict[str, str], where: str) -> float | None:
    """Density of dry air by the gas law from temperature and pressure; None where both are left out."""
    texts = [cells.get(name, "") for name in ("temperature_degc", "pressure_hpa")]
    if not any(texts):
        return None
    try:
        celsius, hectopascal = (float(text) for text in texts)
    except ValueError:
        raise LogError(f"{where}: give both temperature_degc and pressure_hpa, as numbers") from None
    if not (-40.0 <= celsius <= 60.0 and 500.0 <= hectopascal <= 1100.0):
        raise LogError(WORDS["no_air"].format(where, celsius, hectopascal))
    return 100.0 * hectopascal / (GAS_CONSTANT_AIR_J_KG_K * (celsius + 273.15))


def with_directions(log: Log, runs: tuple[TestRun, ...]) -> tuple[TestRun, ...]:
    """Directions from the heading where none is given: ``out`` is the first run's way, then ``back``."""
    heading = None if all(run.direction for run in runs) else heading_rad(log)
    if heading is None:
        return runs
    first = _mean_heading(heading[runs[0].rows])
    words = ["out" if np.cos(_mean_heading(heading[run.rows]) - first) > 0.0 else "back" for run in runs]
    return tuple(replace(run, direction=run.direction or word) for run, word in zip(runs, words, strict=True))


def _mean_heading(heading: np.ndarray) -> float:
    return float(np.arctan2(np.nanmean(np.sin(heading)), np.nanmean(np.cos(heading))))
