"""Write `wingtool/report/tables/README.md`, the list of column names; run it after a change of the names."""

from pathlib import Path

from wingtool.report import names_as_markdown

PAGE = Path(__file__).parent.parent / "wingtool" / "report" / "tables" / "README.md"

if __name__ == "__main__":
    PAGE.write_text(names_as_markdown(), encoding="utf-8")
