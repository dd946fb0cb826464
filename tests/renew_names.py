"""Print the list of names into DEVELOPERS.md, between its two marks; run it after a change of the names."""

import re
from pathlib import Path

from wingtool.report import names_as_markdown

PAGE = Path(__file__).parent.parent / "DEVELOPERS.md"


def renewed(page: str) -> str:
    """The page with the list as it is now."""
    marks = re.compile(r"(<!-- names -->\n).*?(<!-- end of names -->)", re.DOTALL)
    return marks.sub(lambda found: f"{found[1]}\n{names_as_markdown()}\n{found[2]}", page)


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
