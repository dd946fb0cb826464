"""The trust table: on the screen, as a table for machines, and as one page."""

from base64 import b64encode
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from wingtool.files import write_text
from wingtool.report.checks.record import record_rows, record_screen, write_record_picture
from wingtool.report.page.write import render
from wingtool.report.tables.table import Table, table_of
from wingtool.study import REMARKS, Check, Trust, mean_and_rms
from wingtool.version import __version__


def number(value: float) -> str:
    """A value as published tables print it: three decimals or four figures; a dash where there is none.

    Examples
    --------
    >>> number(0.0081), number(1.6712), number(-3.8), number(float("nan"))
    ('0.0081', '1.671', '−3.80', '–')
    """
    if not np.isfinite(value):
        return "–"
    digits = 4 if abs(value) < 0.1 and value != 0.0 else 2 if abs(value) >= 2.0 else 3
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", "−")


def trust_lines(result: Trust) -> list[str]:
    """Each value under its regime and quantity, with their mean and typical error."""
    lines = [f"{'published':>9}  {'computed':>8}  {'surrogate':>9}"]
    for regime, groups in grouped(result).items():
        for quantity, checks in groups.items():
            lines.append(f"{regime}: {errors_line(quantity, checks)}")
            for c in checks:
                numbers = f"{number(c.published):>9}  {number(c.computed):>8}  {number(c.second_opinion):>9}"
                lines.append(f"{numbers}  {c.verdict:7}  {c.subject}, {c.condition}")
    return lines + [f"{regime}: {remark}" for regime, remark in REMARKS.items()]


def grouped(result: Trust) -> dict[str, dict[str, list[Check]]]:
    """Checks by regime and quantity."""
    found: dict[str, dict[str, list[Check]]] = {}
    for check in result.checks:
        found.setdefault(check.regime, {}).setdefault(check.quantity, []).append(check)
    return found


def errors_line(quantity: str, checks: Sequence[Check]) -> str:
    """Mean and typical error of the checks of one quantity, in words."""
    percent = checks[0].in_percent
    errors = [c.difference * (100.0 / c.published if percent else 1.0) for c in checks]
    mean, rms, count = mean_and_rms(np.array(errors))
    unit = " %" if percent else ""
    pair = f"mean {mean:+.2g}{unit}, rms {rms:.2g}{unit}".replace("-", "−")
    return f"{quantity}: {pair}, {count} case{'s' if count > 1 else ''}" if count else quantity


def trust_table(result: Trust) -> Table:
    """One row a check."""
    names = (
        "regime", "subject", "condition", "quantity", "published", "tolerance", "computed", "second_opinion",
        "difference", "verdict", "kind", "source",
    )  # fmt: skip
    values = {name: [getattr(check, name) for check in result.checks] for name in names}
    values = {"agreement" if name == "verdict" else name: column for name, column in values.items()}
    return table_of("trust", "This build against published values", values, {"wingtool_version": __version__})


def write_trust(result: Trust, folder: Path | str) -> Path:
    """Write the page ``trust.html``; returns its path."""
    record = None
    if result.record is not None:
        picture = write_record_picture(result.record, Path(folder) / "record.png")
        record = {
            "picture": b64encode(picture.read_bytes()).decode("ascii"),
            "short": record_screen(result.record),
            "long": record_rows(result.record),
        }
    text = render(
        "trust.html",
        record=record,
        found=grouped(result),
        errors_line=errors_line,
        remarks=REMARKS,
        number=number,
        agree=result.agreeing,
        count=len(result.checks),
    )
    return write_text(Path(folder) / "trust.html", text)
