"""A section from what a user wrote: file, designation, profile of ours, name in the open collection."""

import difflib
import re
from dataclasses import replace
from operator import ne
from pathlib import Path

from wingtool.errors import CoordinateFileError
from wingtool.geometry.families import five_digit, four_digit
from wingtool.geometry.files.known import collection_files, profile_files
from wingtool.geometry.files.reader import read_bundled, read_section
from wingtool.geometry.shape import Section

GIVE = "give a coordinate file, or a designation such as 2412"
MISTYPED = str.maketrans("lioszb", "110528")  # letters for the digits of a designation
SUFFIXES = {".dat", ".txt", ".csv", ".cor", ".tsv", ".asc"}


def collection_names() -> tuple[str, ...]:
    """Names of the sections in the open coordinate collection, lower case, sorted."""
    return tuple(collection_files())


def profile_names() -> tuple[str, ...]:
    """Names of the sections of our own making."""
    return tuple(profile_files())


def collection_section(name: str) -> Section:
    """Section of the open coordinate collection.

    Raises
    ------
    CoordinateFileError
        No such name, or its file is broken.
    """
    path = collection_files().get(name.strip().lower())
    if path is None:
        nearest = _nearest(name, collection_names())
        raise CoordinateFileError(f"section {name!r} is not in the collection; {nearest}")
    section = read_bundled(path)
    return replace(section, name=path.stem, origin=f"open collection: {section.name}")


def _nearest(name: str, known: tuple[str, ...]) -> str:
    """Names with one character mistyped, names that begin alike, names spelled alike; at most four."""
    name = name.strip().lower()
    family = "naca" * name.startswith("naca")
    digits = name.removeprefix(family).strip(" _-").translate(MISTYPED)
    typed = [family + digits] if re.fullmatch(r"\d{4,5}", digits) else []
    typed += [one for one in known if len(one) == len(name) and sum(map(ne, one, name)) == 1]
    begin = [one for one in known if len(name) >= 3 and one.startswith(name)][:2]
    close = difflib.get_close_matches(name, known, n=4, cutoff=0.6)
    nearest = list(dict.fromkeys(typed + begin + close))[:4]
    return f"nearest: {', '.join(nearest)}" if nearest else GIVE


def find_section(text: str) -> Section:
    """Section from a file's path, a four- or five-digit designation, a profile's name or a collection's name.

    Raises
    ------
    CoordinateFileError
        Nothing of that name, with the nearest names; or a file that cannot be repaired.
    RangeError
        A designation that the families do not have.

    Examples
    --------
    >>> find_section("NACA 2412").name
    '2412'
    """
    text = str(text).strip()
    digits = re.fullmatch(r"(?:naca)?[\s_-]*(\d{4,5})", text.lower())
    name = text.lower()
    if not text:
        raise CoordinateFileError(f"no section named; {GIVE}")
    if Path(text).suffix.lower() in SUFFIXES or "/" in text or "\\" in text or Path(text).is_file():
        return read_section(text)
    if digits:
        return four_digit(digits[1]) if len(digits[1]) == 4 else five_digit(digits[1])
    if name in profile_files():
        return read_bundled(profile_files()[name])
    if name in collection_files():
        return collection_section(name)
    if Path(text).is_dir():
        return read_section(text)  # says what to do
    nearest = _nearest(text, profile_names() + collection_names())
    raise CoordinateFileError(f"section {text!r} is no file, designation or known name; {nearest}")
