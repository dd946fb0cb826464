"""The studies that come with wingtool."""

from pathlib import Path

from wingtool.files import bundled


def bundled_study(name: str = "green_hatch") -> Path:
    """Path of a study that the package carries."""
    return bundled("studies") / f"{name}.toml"
