"""The rules of the house that a program can hold: words of checks, length of pages."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
WORDS = ("PUBLISHED", "EXACT", "TWIN", "FROZEN")
OF_FORMATS = (
    "test_tables.py",
    "test_exchange.py",
    "test_table_loading.py",
    "test_files.py",
    "test_section_record.py",
)
LONGEST = {"DEVELOPERS.md": 150, **dict.fromkeys(
    (str(p.relative_to(ROOT)) for p in (ROOT / "wingtool").glob("*/README.md")), 80)}  # fmt: skip


def checks(path: Path):
    """Name and docstring of each test of a file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test"):
            yield node.name, ast.get_docstring(node) or ""


def complaint(file: str, text: str) -> str:
    """What is the matter with a docstring of a check; empty if nothing."""
    word = re.match(r"[A-Z]{4,}\b", text)
    if not word:
        return ""  # it holds behaviour, not a number
    if word[0] not in WORDS:
        return f"{word[0]} is none of {', '.join(WORDS)}"
    if len(text.split()) < 3:
        return "say what it is held against"
    if word[0] == "FROZEN" and file not in OF_FORMATS:
        return "FROZEN is for file formats; hold the number against something outside"
    if word[0] == "PUBLISHED" and not re.search(
        r"\b(1[89]|20)\d\d\b|[A-Z][a-z]+|\.csv|T[MNR][ -]|data file", text[9:]
    ):
        return "name the source"
    return ""


@pytest.mark.parametrize("path", sorted((ROOT / "tests").rglob("test_*.py")), ids=lambda path: path.stem)
def test_every_check_says_truly_what_it_is_held_against(path):
    found = [f"{name}: {why}" for name, text in checks(path) if (why := complaint(path.name, text))]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("GUESSED: so", "none of"),
        ("EXACT", "say"),
        ("FROZEN: it is as before", "formats"),
        ("PUBLISHED: in a book", "source"),
    ],
)
def test_each_kind_of_mistake_is_seen(text, why):
    assert why in complaint("test_car.py", text)


@pytest.mark.parametrize(("page", "most"), LONGEST.items())
def test_no_page_is_too_long_to_be_read(page, most):
    assert len((ROOT / page).read_text(encoding="utf-8").splitlines()) <= most
