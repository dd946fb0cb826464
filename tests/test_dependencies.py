"""What `pyproject.toml` declares is what is imported, no more and no less; lowest versions are all named."""

import ast
import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
IMPORTED_AS = {"pillow": "PIL"}  # where the package's name is another


def imported(folder: Path) -> set[str]:
    """Top names of what the files of a folder import, or read files of, and Python does not bring."""
    found = set()
    for path in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                found.add(node.module.split(".")[0])
            elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("find_spec"):
                found |= {str(one.value) for one in node.args if isinstance(one, ast.Constant)}
    return found - set(sys.stdlib_module_names) - {"wingtool"}


def declared(lines: list[str]) -> dict[str, str]:
    """Lowest version of each package."""
    pairs = [re.fullmatch(r"([A-Za-z0-9_-]+)>=([0-9.]+)", line) for line in lines]
    assert all(pairs), "write each dependency as name>=lowest"
    return {pair[1].lower(): pair[2] for pair in pairs if pair}


def test_declared_dependencies_are_what_is_imported():
    names = {IMPORTED_AS.get(name, name) for name in declared(PROJECT["dependencies"])}
    assert names == imported(ROOT / "wingtool")


def test_what_only_tests_import_is_declared_for_them():
    ours = {path.stem for path in (ROOT / "tests").rglob("*.py")}
    extras = [line for lines in PROJECT["optional-dependencies"].values() for line in lines]
    names = {IMPORTED_AS.get(name, name) for name in declared(PROJECT["dependencies"] + extras)}
    assert {name.lower() for name in imported(ROOT / "tests")} - ours <= {name.lower() for name in names}
