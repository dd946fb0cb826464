"""A force with its band."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, eq=False)
class Force:
    """A force and the ends of its band [N]: three numbers, or three arrays of one shape."""

    n: Any
    low_n: Any
    high_n: Any

    def __getitem__(self, index: Any) -> Force:
        return self.each(lambda column: column[index])

    def __iter__(self) -> Iterator[Any]:
        return iter((self.n, self.low_n, self.high_n))

    def each(self, change: Callable[[Any], Any]) -> Force:
        """The same change of the value and of both ends."""
        return Force(*map(change, self))

    def columns(self, name: str) -> dict[str, Any]:
        """Table columns: `name_n`, `name_low_n`, `name_high_n`."""
        return dict(zip((f"{name}_n", f"{name}_low_n", f"{name}_high_n"), self, strict=True))
