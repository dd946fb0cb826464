"""The trust table: on the screen, as a table for machines, and as one page."""

from base64 import b64encode
from datetime import date
from pathlib import Path

import numpy as np

from wingtool.files import write_text
from wingtool.report.checks.record import record_rows, record_summary, write_record_picture
from wingtool.report.page.write import render
from wingtool.report.tables.names import table_of
from wingtool.report.tables.table import Table
from wingtool.study import REMARKS, Trust, mean_and_rms
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


def trust_rows(result: Trust) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows for the screen."""
    headings = ("published", "computed", "surrogate", "verdict", "quantity", "section or wing, condition")
    return headings, [
        (number(c.published), number(c.computed), number(c.second_opinion), c.verdict, c.quantity,
         f"{c.subject}, {c.condition}")
        for c in result.checks
    ]  # fmt: skip


def trust_lines(result: Trust) -> list[str]:
    """Mean and typical error by regime in sentences."""
    return [line for regime, found in by_regime(result).items() for line in (f"{regime}:", *found)]


def by_regime(result: Trust) -> dict[str, list[str]]:
    """What was found in each regime, in words, and what stands elsewhere."""
    errors: dict[str, dict[tuple[str, str], list[float]]] = {}
    for check in result.checks:
        unit, scale = (" %", 100.0 / check.published) if check.in_percent else ("", 1.0)
        quantities = errors.setdefault(check.regime, {})
        quantities.setdefault((check.quantity, unit), []).append(scale * check.difference)
    found: dict[str, list[str]] = {}
    for regime, quantities in errors.items():
        found[regime] = []
        for (quantity, unit), some in quantities.items():
            mean, rms, count = mean_and_rms(np.array(some))
            pair = f"{mean:+.2g}{unit} on average, {rms:.2g}{unit} root mean square".replace("-", "−")
            found[regime] += [f"{quantity}: {pair}, {count} case{'s' if count > 1 else ''}"] if count else []
        found[regime] += [REMARKS[regime]] if regime in REMARKS else []
    return found


def trust_table(result: Trust) -> Table:
    """One row a check."""
    names = (
        "regime", "subject", "condition", "quantity", "published", "tolerance", "computed", "second_opinion",
        "difference", "verdict", "kind", "source", "note",
    )  # fmt: skip
    values = {name: [getattr(check, name) for check in result.checks] for name in names}
    values = {"agreement" if name == "verdict" else name: column for name, column in values.items()}
    return table_of("trust", "This build against published values", values, {"wingtool_version": __version__})


def write_trust(result: Trust, folder: Path | str) -> Path:
    """Write the page ``trust.html``; returns its path."""
    record = None
    if result.record is not None:
        picture = write_record_picture(result.record, Path(folder) / "record.png")
        caption, *short = record_summary(result.record)
        record = {
            "caption": caption,
            "picture": b64encode(picture.read_bytes()).decode("ascii"),
            "short": short,
            "long": record_rows(result.record),
        }
    text = render(
        "trust.html",
        record=record,
        checks=result.checks,
        found=by_regime(result),
        number=number,
        agree=sum(check.verdict == "agrees" for check in result.checks),
        count=len(result.checks),
        version=__version__,
        date=date.today().isoformat(),
    )
    return write_text(Path(folder) / "trust.html", text)
