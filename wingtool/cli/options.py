"""Arguments and options that several commands share."""

from pathlib import Path
from typing import Annotated

from typer import Argument, Option

File = Path | None
Text = str | None

StudyFile = Annotated[Path, Argument(metavar="study", help="Study file (TOML).")]
SectionName = Annotated[str, Argument(help="Coordinate file, four- or five-digit designation, or name.")]
Full = Annotated[bool, Option("--full", help="Print everything, not one screen.")]
Speed = Annotated[str, Option(help="Speed of the comparison, with its unit.")]
Surface = Annotated[str, Option(help="smooth, race or dirty.")]
TableFile = Annotated[File, Option(help="Also write FILE.csv, .json, .nc, .xlsx or .xml.")]
