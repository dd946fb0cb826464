"""Docstrings against the code: the fields that a dataclass names are the fields that it has."""

import ast
import re
from pathlib import Path

PACKAGE = Path(__file__).parent.parent / "wingtool"
SECTIONS = ("Returns", "Raises", "Examples", "Notes", "References")


def is_dataclass(node: ast.ClassDef) -> bool:
    called = [d.func if isinstance(d, ast.Call) else d for d in node.decorator_list]
    return any(isinstance(name, ast.Name) and name.id == "dataclass" for name in called)


def parameters(text: str) -> set[str]:
    """Names in a docstring's section ``Parameters``: lines ``a, b : kind`` that are not indented."""
    if "Parameters\n---" not in text:
        return set()
    part = text.split("Parameters\n---", 1)[1]
    for heading in SECTIONS:
        part = part.split(f"\n{heading}\n---", 1)[0]
    names = r"([A-Za-z_]\w*(?:, [A-Za-z_]\w*)*)"
    heads = re.findall(rf"^{names}(?= :|$)", part, re.MULTILINE) + re.findall(rf"; {names} :", part)
    return {name for head in heads for name in head.split(", ")}


def told_in_line(text: str) -> set[str]:
    """Names in single backquotes."""
    plain = re.sub(r"``[^`]*``", "", text)
    return set(re.findall(r"`([a-z]\w*)`", plain))


def complaints(path: Path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    everything = set(
        re.findall(r"\w+", re.sub(r'""".*?"""', "", path.read_text(encoding="utf-8"), flags=re.S))
    )
    for node in (n for n in ast.walk(tree) if isinstance(n, ast.ClassDef) and is_dataclass(n)):
        text = ast.get_docstring(node) or ""
        fields = {
            n.target.id for n in node.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)
        }
        for name in sorted(parameters(text) - fields):
            yield f"{path.name}: {node.name} has no field {name!r}"
        for name in sorted(told_in_line(text) - fields - everything):
            yield f"{path.name}: {node.name} tells of {name!r}, which is not there"
        if parameters(text) and (missing := fields - parameters(text) - told_in_line(text)):
            yield f"{path.name}: {node.name} does not tell what {', '.join(sorted(missing))} is"


def test_dataclasses_tell_of_the_fields_that_they_have():
    found = [line for path in sorted(PACKAGE.rglob("*.py")) for line in complaints(path)]
    assert not found, "\n".join(found)


def test_each_kind_of_mistake_is_seen(tmp_path):
    text = "from dataclasses import dataclass\n@dataclass\nclass A:\n" + (
        '    """An A.\n\n    Parameters\n    ----------\n'
        '    one, two : float\n        Both; see `three`.\n    """\n'
        "    one: float\n    four: float\n"
    )
    (tmp_path / "a.py").write_text(text)
    assert [line.split(": ", 1)[1] for line in complaints(tmp_path / "a.py")] == [
        "A has no field 'two'",
        "A tells of 'three', which is not there",
        "A does not tell what four is",
    ]
