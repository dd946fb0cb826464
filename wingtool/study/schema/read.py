"""Read a study file: every mistake in it becomes one line that says what, where, and what to do."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

from wingtool.errors import RangeError, StudyError, shown
from wingtool.files import bundled
from wingtool.study.schema.key_lines import Place, line_of, lines_of_keys, not_answered
from wingtool.study.schema.toml_text import toml_data, toml_text

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study

Given = ParamSpec("Given")
Result = TypeVar("Result")
KINDS = {"string": "text", "array": "[...]", "object": "{...}", "number": "number", "integer": "number"}
MOST_NAMED = 3  # of the places of further mistakes
_PATH = re.compile(r'^(\s*(?:section|log|file|base)\s*=\s*")([^"\n]*)', re.MULTILINE)


def read_study(path: Path | str, changes: dict[str, Any] | None = None) -> Study:
    """Read and check a study file.

    Parameters
    ----------
    path : path
        A TOML file.
    changes : dict, optional
        What flags say instead, in the file's own words: ``{"sweep": {"angles": "0:12:1"}}``.

    Raises
    ------
    StudyError
        The file cannot be read, or says something unknown or impossible; one line with the line number.
    """
    return study_from_text(toml_text(Path(path)), Path(path), changes)


def study_from_text(text: str, path: Path, changes: dict[str, Any] | None = None) -> Study:
    """The study that a file of this text at this path would hold; as `read_study`."""
    text = forward_slashes(text)
    data = toml_data(text, path)
    if "station" in data and "wing" not in data:
        raise StudyError(f"{path} is a list of sections along a span; try wingtool trace --wing {path}")
    data = with_base(data, path)
    for table, keys in (changes or {}).items():
        if isinstance(data.setdefault(table, {}), dict):
            data[table].update(keys)
    study = checked_study(data, path.parent, str(path), lines_of_keys(text))
    study._source, study._not_answered = str(path), not_answered(text)
    return study


def forward_slashes(text: str) -> str:
    """Back slashes in paths turned into slashes, which every system takes; in TOML they mean something else.

    Examples
    --------
    >>> print(forward_slashes('section = "C:\\\\wings\\\\mine.dat"'))
    section = "C:/wings/mine.dat"
    """
    return _PATH.sub(lambda found: found[1] + found[2].replace("\\", "/"), text)


def with_base(data: dict[str, Any], path: Path) -> dict[str, Any]:
    """The study's data over those of the file that `base` names; tables are joined key by key.

    Raises
    ------
    StudyError
        The base cannot be read, or names another.
    """
    if "base" not in data:
        return data
    name = data.pop("base")
    if not isinstance(name, str):
        raise StudyError(f'{path}: base: give the name of a TOML file, for example base = "my_car.toml"')
    file = path.parent / name
    base = toml_data(forward_slashes(toml_text(file)), file)
    if "base" in base:
        raise StudyError(f"{file}: base: a base cannot name another; write its keys here")
    return _joined(base, data)


def _joined(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    both = {key for key in own if isinstance(own[key], dict) and isinstance(base.get(key), dict)}
    return base | own | {key: _joined(base[key], own[key]) for key in both}


def checked_study(
    data: dict[str, Any], folder: Path = Path(), where: str = "study", lines: dict[Place, int] | None = None
) -> Study:
    """The study that plain data describe, whether they come from a file or from flags.

    Raises
    ------
    StudyError
        The first mistake in the data, with `where` in front.
    """
    from pydantic import ValidationError

    from wingtool.study.schema.study import Study, study_from

    try:
        return study_from(data, folder)
    except ValidationError as error:
        raise mistake_in(error, Study, where, lines or {}) from None


def mistake_in(error: Any, model: Any, where: str, lines: dict[Place, int]) -> StudyError:
    """The first of the mistakes that pydantic found, as a line."""
    first, *others = sorted(error.errors(include_url=False), key=lambda mistake: _order(mistake, lines))
    named = ", ".join(_written(one["loc"]) for one in others[:MOST_NAMED])
    more = f" (and {len(others)} more: {named}{', ...' * (len(others) > MOST_NAMED)})" if others else ""
    return StudyError(_sentence(first, model, where, lines) + more)


def naming_file(
    compute: Callable[Concatenate[Study, Given], Result],
) -> Callable[Concatenate[Study, Given], Result]:
    """What is computed from a study: a mistake that shows only then names its file, too."""

    @wraps(compute)
    def named(study: Study, *args: Given.args, **options: Given.kwargs) -> Result:
        try:
            return compute(study, *args, **options)
        except (RangeError, StudyError) as error:
            if not study.source or study.source in str(error):
                raise
            raise type(error)(f"{study.source}: {error}") from None

    return named


def study_schema() -> dict[str, Any]:
    """JSON Schema of a study file."""
    from wingtool.study.schema.study import Study

    return Study.model_json_schema()


def bundled_study(name: str = "green_hatch") -> Path:
    """Path of a study that the package carries."""
    return bundled("studies") / f"{name}.toml"


def key_lines() -> list[str]:
    """Every key of a study file with an example and its meaning, table by table, for people."""
    from wingtool.study.schema.study import Study

    example = bundled_study()
    head = ["Every key with an example, or after = the value when left out; * must be there.", ""]
    return head + _lines_of_table(Study, "", toml_data(toml_text(example), example))


def _lines_of_table(model: Any, front: str, example: dict[str, Any]) -> list[str]:
    schema = model.model_json_schema()["properties"]
    lines, tables = [], []
    for name, field in model.model_fields.items():
        key = field.alias or name
        if inner := _inner_model(field.annotation):
            many = "tuple" in str(field.annotation)
            title = f"[[{front}{key}]]" if many else f"[{front}{key}]"
            there = example.get(key, {})
            there = there[0] if isinstance(there, list) else there
            tables += ["", title, *_lines_of_table(inner, f"{front}{key}.", there)]
            continue
        there, left_out = schema.get(key, {}), _left_out(schema.get(key, {}))
        choices = "|".join(map(str, _plain(there).get("enum", ())))
        shown = choices or left_out or _sample(there, example.get(key))
        words = [field.description or "", f"= {left_out}" if choices and left_out else ""]
        mark = "*" if field.is_required() else "=" if left_out and not choices else " "
        lines.append(f"{mark} {key:<20} {shown:<18} {'; '.join(filter(None, words))}".rstrip())
    return lines + tables


def _plain(schema: dict[str, Any]) -> dict[str, Any]:
    return next((one for one in schema.get("anyOf", [schema]) if one.get("type") != "null"), schema)


def _left_out(schema: dict[str, Any]) -> str:
    """The value that holds where a key is left out, as a study writes it; empty where there is none."""
    default = schema.get("default")
    if default in (None, ""):
        return ""
    return json.dumps(f"{default:g} {schema['unit']}" if "unit" in schema else default)


def _sample(schema: dict[str, Any], example: Any) -> str:
    """The bundled study's value of a key, or an example."""
    plain = _plain(schema)
    if isinstance(example, dict):
        return "{" + ", ".join(f'{key} = "{value}"' for key, value in list(example.items())[:1]) + "}"
    if example is not None or "examples" in plain:
        return json.dumps(plain["examples"][0] if example is None else example)
    return KINDS.get(plain.get("type", ""), "")


def _order(mistake: Any, lines: dict[Place, int]) -> tuple[int, int]:
    unknown_first = 0 if mistake["type"] == "extra_forbidden" else 1
    return unknown_first, line_of(mistake["loc"], lines) or 0


def _sentence(mistake: Any, model: Any, where: str, lines: dict[Place, int]) -> str:
    place: Place = mistake["loc"]
    front, name = line_in(where, place, lines), _written(place)
    if mistake["type"] == "extra_forbidden":
        return f"{front}: unknown key {name}; {nearest(place, _tables(model))}"
    if mistake["type"] == "missing":
        return f"{front}: {name} is missing; add it{_example(place, model)}"
    if mistake["type"] == "value_error":
        return f"{front}: {name}: {mistake['ctx']['error']}"
    if mistake["type"] in ("model_type", "tuple_type"):
        return f"{front}: {name} has the wrong form; write {_form(place, mistake['type'])}"
    message = mistake["msg"].replace("Input should be", "must be")
    return f"{front}: {name} = {shown(mistake['input'])}: {message[0].lower()}{message[1:]}; correct it"


def line_in(where: str, place: Place, lines: dict[Place, int]) -> str:
    """The file, and the line of a place in it where that is known."""
    line = line_of(place, lines)
    return f"{where}, line {line}" if line else where


def _form(place: Place, kind: str) -> str:
    path = ".".join(_names(place))
    if kind == "model_type":
        return f"a table [{path}] and its keys below it"
    return f"a list in brackets, or tables [[{path}]] where it holds tables"


def _written(place: Place) -> str:
    text = ""
    for part in place:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text or "the study"


def nearest(place: Place, known: dict[tuple[str, ...], Any]) -> str:
    """Which of the known keys an unknown one may mean, as a way out."""
    wanted = str(place[-1])
    here = [names[-1] for names in known if names[:-1] == _names(place[:-1])]
    everywhere = {names[-1]: ".".join(names) for names in known}
    if wanted in everywhere:
        return f"did you mean {everywhere[wanted]}?"
    for candidate in (wanted, wanted.rsplit("_", 1)[0]):
        if close := difflib.get_close_matches(candidate, here, n=1, cutoff=0.5):
            return f"did you mean {_written((*place[:-1], close[0]))}?"
    if close := difflib.get_close_matches(wanted, list(everywhere), n=1, cutoff=0.75):
        return f"did you mean {everywhere[close[0]]}?"
    closest = max(here, key=lambda key: difflib.SequenceMatcher(None, wanted, key).ratio())
    return f"nearest is {_written((*place[:-1], closest))}; known here: {', '.join(here)}"


def _example(place: Place, model: Any) -> str:
    table = ({(): model} | _tables(model)).get(_names(place[:-1]))
    schema = table.model_json_schema()["properties"].get(place[-1], {}) if table else {}
    examples = schema.get("examples")
    return f', for example {place[-1]} = "{examples[0]}"' if examples else ""


def _names(place: Place) -> tuple[str, ...]:
    return tuple(part for part in place if isinstance(part, str))


def _tables(model: Any, front: tuple[str, ...] = ()) -> dict[tuple[str, ...], Any]:
    """The place of every key of a table and of those in it; with the table's model where it is one."""
    found: dict[tuple[str, ...], Any] = {}
    for name, field in model.model_fields.items():
        place, inner = (*front, field.alias or name), _inner_model(field.annotation)
        found |= {place: inner} | (_tables(inner, place) if inner else {})
    return found


def _inner_model(annotation: Any) -> Any:
    from typing import get_args

    from pydantic import BaseModel

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for arg in get_args(annotation) if (found := _inner_model(arg))), None)
