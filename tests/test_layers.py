"""The rooms and the arrows between them: each room imports only what its row names, through front doors."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "wingtool"
GROUND = {"errors", "units", "constants", "air", "files", "version", "text_table", "workers", "lazy"}
ROOMS = {
    "cli": {"study", "report", "constants", "errors", "version", "workers"},
    "report": {"study", "track", "car", "wing", "tracing", "section", "boundary_layer", "panels", "geometry"}
    | GROUND,
    "study": {"track", "car", "wing", "tracing", "section", "boundary_layer", "panels", "geometry"} | GROUND,
    "track": {"car"} | GROUND,
    "car": {"wing"} | GROUND,
    "wing": {"geometry", "section"} | GROUND,
    "section": {"geometry", "panels", "boundary_layer"} | GROUND,
    "boundary_layer": GROUND,
    "panels": {"geometry"} | GROUND,
    "tracing": {"geometry"} | GROUND,
    "geometry": GROUND - {"air"},
    "table_loading": {"errors"},
    "text_table": set(),
    "files": {"errors"},
    "workers": {"constants"},
    "lazy": set(),
    "air": {"constants", "errors"},
    "units": {"errors", "constants"},
    "constants": set(),
    "version": set(),
    "errors": set(),
}
MOST_FILES = 14  # in a folder
# Outside libraries that only some rooms may open. csv and Pillow also read what users bring.
ONLY_IN = {
    "typer": {"cli"},
    "rich": {"cli"},
    "pydantic": {"study"},
    "pint": {"units"},
    "matplotlib": {"report", "tracing"},
    "jinja2": {"report"},
    "xlsxwriter": {"report"},
    "ezdxf": {"report"},
    "shapely": {"report"},
    "csv": {"report", "track", "tracing", "table_loading"},
    "aerosandbox": {"section"},
    "neuralfoil": {"section"},
    "gpxpy": {"track"},
    "PIL": {"tracing", "report"},
    "contourpy": {"tracing"},
    "platformdirs": {"files"},
}


def imports(path: Path):
    for node in ast.walk(ast.parse(path.read_text(), str(path))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name, None
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write the import from its root"
            for alias in node.names:
                yield node.lineno, node.module, alias.name


def violations(package: Path, rooms=ROOMS, only_in=ONLY_IN):
    for path in sorted(package.rglob("*.py")):
        parts = path.relative_to(package).parts
        room = parts[0].removesuffix(".py")
        if room == "__init__":
            continue
        if room not in rooms:
            yield f"{path}: room {room!r} has no row in the table"
            continue
        for line, module, name in imports(path):
            top, *rest = module.split(".")
            if top != "wingtool":
                if top in only_in and room not in only_in[top]:
                    yield f"{path}:{line}: {room} may not import {top}"
                continue
            if not rest:
                rest = [name] if name else []
            if not rest or rest[0] == room:
                continue
            if rest[0] not in rooms[room]:
                yield f"{path}:{line}: {room} may not import {rest[0]}"
            elif len(rest) > 1:
                yield f"{path}:{line}: enter {rest[0]} by its front door, not {'.'.join(rest)}"


def test_the_arrows_run_downwards():
    assert list(violations(PACKAGE)) == []


def imported_files(package: Path) -> dict[Path, set[Path]]:
    """Files that each file imports, those inside functions and for types only included."""
    arrows: dict[Path, set[Path]] = {}
    for path in sorted(package.rglob("*.py")):
        arrows[path] = set()
        for _, module, name in imports(path):
            for dotted in (f"{module}.{name}", module):
                place = package.parent.joinpath(*dotted.split("."))
                found = [file for file in (place.with_suffix(".py"), place / "__init__.py") if file.is_file()]
                if found:
                    arrows[path] |= {found[0]} - {path}
                    break
    return arrows


def circles(arrows: dict[Path, set[Path]]) -> set[Path]:
    """Files that import each other in a circle, directly or through others, and those between circles."""
    left = set(arrows)
    while True:
        imported = set().union(*(arrows[path] for path in left))
        ends = {path for path in left if path not in imported or not arrows[path] & left}
        if not ends:
            return left
        left -= ends


def test_no_file_imports_itself_through_others():
    assert circles(imported_files(PACKAGE)) == set()


def test_a_circle_is_seen(tmp_path):
    package = tmp_path / "wingtool"
    package.mkdir()
    for name, code in (
        ("a", "from wingtool.b import x"),
        ("b", "def f():\n    import wingtool.a"),
        ("c", ""),
    ):
        (package / f"{name}.py").write_text(code)
    assert {path.stem for path in circles(imported_files(package))} == {"a", "b"}


def test_no_folder_is_too_full():
    for folder in {path.parent for path in PACKAGE.rglob("*.py")}:
        files = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        assert len(files) <= MOST_FILES, f"{folder}: {len(files)} files"


def test_the_table_has_no_loop():
    done: set[str] = set()
    while len(done) < len(ROOMS):
        ready = {room for room, below in ROOMS.items() if below <= done} - done
        assert ready, f"a loop among {set(ROOMS) - done}"
        done |= ready


@pytest.mark.parametrize(
    ("room", "code", "complaint"),
    [
        ("wing", "from wingtool.car import x", "wing may not import car"),
        ("wing", "def f():\n    import wingtool.track", "wing may not import track"),
        ("wing", "from wingtool.section.polar import SectionPolar", "front door"),
        ("car", "import typer", "car may not import typer"),
        ("spare", "x = 1", "has no row"),
    ],
)
def test_each_kind_of_violation_is_seen(tmp_path, room, code, complaint):
    (tmp_path / room).mkdir()
    (tmp_path / room / "planted.py").write_text(code)
    (found,) = violations(tmp_path)
    assert complaint in found
    assert "planted.py" in found


def test_the_command_starts_without_slow_libraries():
    slow = {"aerosandbox", "casadi", "matplotlib", "scipy", "numpy", "pint", "pydantic", "jinja2"}
    code = f"import sys, wingtool.cli.app; print(sorted({slow!r} & set(sys.modules)))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"


def test_a_study_is_run_without_what_it_does_not_use():
    """The front doors of study and report open only what is asked for."""
    code = (
        "from wingtool.report import answer_lines, write_page, write_plots, write_tables\n"
        "from wingtool.study import compute_ahead, read_study, run_study\n"
        "import sys; print([name for name in sys.modules if name in ('matplotlib', 'wingtool.study.choose',"
        " 'wingtool.study.trust', 'wingtool.tracing', 'wingtool.report.checks')])"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "[]"
