"""Progress messages: what a caller passes who wants none."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


def no_progress(text: str) -> None:
    """Progress that nobody reads."""
