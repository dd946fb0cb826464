"""The house from outside: top level, licence, names, help."""

import subprocess
import tomllib
from pathlib import Path
from string import Formatter

import pytest
from renew_names import names_as_markdown

from wingtool.files import bundled
from wingtool.report import NAMES

ROOT = Path(__file__).parent.parent
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "wingtool",
    "tests",
    "profiles",
    "studies",
    ".ci",
    ".gitignore",
}


def test_the_top_level_is_what_was_agreed():
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone")
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    assert {path.split("/")[0] for path in listed.stdout.splitlines()} == TOP_LEVEL


def test_the_licence_and_the_bundled_folders_are_there():
    assert "MIT License" in (ROOT / "wingtool" / "LICENSE").read_text()
    assert list(bundled("studies").glob("*.toml"))


def test_names_are_told_with_meaning_unit_and_direction():
    for name, column in NAMES.items():
        assert column.description, name
        assert column.type in ("number", "integer", "string")
        if name.endswith("_deg"):
            assert column.unit == "degree"
        if name.endswith("_n"):
            assert column.unit == "N"
            assert column.positive, f"{name}: say which way is positive"
        if name.endswith("_m_s"):
            assert column.unit == "m s-1"


def test_the_readme_of_the_tables_lists_the_names_as_they_are():
    page = (ROOT / "wingtool" / "report" / "tables" / "README.md").read_text(encoding="utf-8")
    assert page == names_as_markdown(), "run: python tests/renew_names.py"


def test_every_sentence_of_a_table_is_said_by_its_module():
    said = 0
    for path in (ROOT / "wingtool").rglob("words.toml"):
        for table, sentences in tomllib.loads(path.read_text(encoding="utf-8")).items():
            module = path.with_name(f"{table}.py")
            code = module.read_text(encoding="utf-8") if module.exists() else ""
            if "words_beside(__file__" in code:
                assert [key for key in sentences if f'"{key}"' not in code and f"'{key}'" not in code] == []
                said += sum(len(list(Formatter().parse(text))) > 0 for text in sentences.values())
    assert said > 50
