"""A photo read upright, in linear light."""

import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import plain_bytes

MOST_BYTES = 200_000_000
MOST_PIXELS = 3000  # along the long side, 0.1 mm on an A4 sheet; larger photos are reduced
GAMMA = 2.2  # of the usual display
EXIF, FOCAL_35 = 0x8769, 0xA405  # focal length as on 35 mm film, whose half diagonal is 21.63 mm (Exif 2.32)


class PhotoRefused(TraceError):
    """A photo that was refused, with what was seen in it: closed shapes `loops_px`, rings
    `marks_px` (n, 2)."""

    def __init__(self, message: str, light, loops_px: tuple[np.ndarray, ...] = (), marks_px=()) -> None:
        super().__init__(message)
        self.light = light
        self.loops_px = loops_px
        self.marks_px = marks_px


def linear_light(values: np.ndarray) -> np.ndarray:
    """Light of a file's bytes, 0 to 1."""
    return ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)[values]


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo upright: linear light and its colour.

    `light` (rows, columns) is 0 to 1, `rgb` (rows, columns, 3) the file's bytes, `reduced` how many of the
    file's pixels one of its pixels is, `focal` the focal length over half the diagonal if the file records
    it. On a dark sheet light is turned round, so that the section is always the dark one.
    """

    light: np.ndarray
    rgb: np.ndarray
    reduced: float
    path: str
    focal: float | None = None
    dark_sheet: bool = False


def read_photo(path: Path | str, dark_sheet: bool = False) -> Photo:
    """Read a photo upright, in linear light.

    Raises
    ------
    TraceError
        Not a picture, too large, or too small.
    """
    from PIL import Image, ImageOps

    data = plain_bytes(path, MOST_BYTES, "a photo (JPEG or PNG)", TraceError)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(BytesIO(data))
        with opened:
            focal = opened.getexif().get_ifd(EXIF).get(FOCAL_35)
            whole = max(opened.size)
            opened.draft("RGB", (MOST_PIXELS, MOST_PIXELS))  # a JPEG is reduced while it is read
            picture = _eight_bits(ImageOps.exif_transpose(opened))
    except Image.DecompressionBombError:
        raise TraceError(f"{path}: over 170 megapixels; save it at 12 to 50 megapixels") from None
    except (OSError, ValueError, SyntaxError):
        raise TraceError(f"{path}: damaged, or not a picture; save it as JPEG or PNG") from None
    shrink = max(1.0, max(picture.size) / MOST_PIXELS)
    if shrink > 1.0:
        picture = picture.resize([round(n / shrink) for n in picture.size], Image.Resampling.BOX)
    if min(picture.size) < 200:
        raise TraceError(f"{path}: {picture.size[0]} x {picture.size[1]} pixels are too few; take it larger")
    light = linear_light(np.asarray(picture.convert("L")))
    if dark_sheet:
        light = np.clip(1.0 - light / np.percentile(light[::8, ::8], 99), 0.0, 1.0)
    return Photo(
        light,
        np.asarray(picture),
        whole / max(picture.size),
        str(path),
        focal / 21.63 if focal else None,
        dark_sheet,
    )


def _eight_bits(picture):
    """As RGB of eight bits; deeper greys are scaled by their brightest pixel, not cut off."""
    if picture.mode[0] in "IF":
        from PIL import Image

        deep = np.asarray(picture, dtype=float)
        return Image.fromarray(np.uint8(np.clip(255.0 * deep / max(deep.max(), 1.0), 0, 255))).convert("RGB")
    return picture.convert("RGB")
