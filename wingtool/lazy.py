"""Front doors that open a file only when one of its names is asked for."""

import ast
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any


def front_door(package: str) -> Callable[[str], Any]:
    """The `__getattr__` of a package: names that its `__init__` imports for the type checker.

    Raises
    ------
    AttributeError
        By what it returns, for any other name.
    """
    door = sys.modules[package]
    source = Path(str(door.__file__)).read_text(encoding="utf-8")
    blocks = (block.body for block in ast.parse(source).body if isinstance(block, ast.If))
    homes = {
        one.asname or one.name: (str(line.module), one.name)
        for block in blocks
        for line in block
        if isinstance(line, ast.ImportFrom)
        for one in line.names
    }

    def load(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"{package} has no {name!r}; it has {', '.join(sorted(homes))}")
        module, own = homes[name]
        value = getattr(import_module(module), own)
        setattr(door, name, value)
        return value

    return load
