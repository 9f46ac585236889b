"""Photos of parts: checked, kept as they came under their hash, shown upright and without more.

What is kept is byte for byte what the camera gave, so that a dispute can rest on it. What is shown
is made from it: turned as the camera says, and without where and by what it was taken.
"""

import hashlib
import io
import struct
from pathlib import Path
from typing import Final

from PIL import Image, ImageOps

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.journal.disk import RealDisk
from barrelfit.acquire.private_files import write_private
from barrelfit.rules.engine.set_facts import PHOTO_FOLDER, photo_hash
from barrelfit.rules.said import Said, said

BYTES_MOST: Final = 10_000_000
TOO_LARGE: Final = said("photo_too_large", most=BYTES_MOST // 1_000_000)
PIXELS_MOST: Final = 64_000_000
SPARE_BYTES: Final = 1_000_000_000
"""So much of the disk stays free of photos, because readings need it."""
SHOWN_PX: Final = 1_600
_FORMATS: Final = ("JPEG", "PNG")
_SUFFIX: Final = {"JPEG": "jpg", "MPO": "jpg", "PNG": "png"}  # MPO: JPEG with a second view
_BROKEN: Final = (
    OSError, SyntaxError, ValueError, EOFError, struct.error,
    Image.DecompressionBombError, Image.DecompressionBombWarning,
)  # fmt: skip


def photo_name(data: bytes) -> str:
    """The name under which a photo is kept, below the folder of its session.

    Raises:
        UserError: it is too large, or no whole JPEG or PNG picture.
    """
    if len(data) > BYTES_MOST:
        raise UserError([TOO_LARGE])
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
            suffix = _SUFFIX[str(image.format)]
            _must_be_small(image)
            image.load()
    except _BROKEN:
        raise UserError([said("photo_no_picture")]) from None
    return f"{PHOTO_FOLDER}/{hashlib.sha256(data).hexdigest()}.{suffix}"


def keep_photo(folder: Path, data: bytes, free_bytes: int) -> str:
    """Keep a photo for good; gives its name once it is on disk.

    Args:
        folder: the folder of the session.
        data: the photo as it came.
        free_bytes: what is free on that disk.

    Raises:
        UserError: it is no photo, or there is no room for it.
        OSError: it can't be written.
    """
    name = photo_name(data)
    path = folder / name
    if photo_problem(folder, name) is None:
        return name
    if free_bytes - len(data) < SPARE_BYTES:
        raise UserError([said("photo_no_room", spare=SPARE_BYTES // 1_000_000_000)])
    path.parent.mkdir(mode=0o700, exist_ok=True)
    write_private(path, data, on_disk=True)
    RealDisk().sync_folder(path.parent)
    return name


def photo_shown(folder: Path, name: str, most_px: int = SHOWN_PX) -> bytes:
    """A photo that was told at a bench as it is shown (`upright`).

    Raises:
        UserError: it is not there as it was told, or no picture.
    """
    data, problem = _as_told(folder, name)
    if problem is not None:
        raise UserError([problem])
    return upright(data, most_px)


def photo_problem(folder: Path, name: str) -> Said | None:
    """Why a photo that was told at a bench is not there as it was told; None where it is.

    Args:
        folder: the folder of its session.
        name: as it was told.
    """
    return _as_told(folder, name)[1]


def _as_told(folder: Path, name: str) -> tuple[bytes, Said | None]:
    try:
        data = (folder / name).read_bytes()
    except OSError:
        return b"", said("photo_missing", file=name)
    same = hashlib.sha256(data).hexdigest() == photo_hash(name)
    return data, None if same else said("photo_altered", file=name)


def upright(data: bytes, most_px: int = SHOWN_PX) -> bytes:
    """A photo as it is shown: a JPEG of its pixels alone, turned upright, not larger than that.

    Args:
        data: the photo.
        most_px: of its longer side.

    Raises:
        UserError: it is no picture.
    """
    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as image:
            _must_be_small(image)
            image.draft("RGB", (most_px, most_px))
            turned = ImageOps.exif_transpose(image).convert("RGB")
    except _BROKEN:
        raise UserError([said("photo_no_picture")]) from None
    turned.thumbnail((most_px, most_px))
    plain = Image.new("RGB", turned.size)  # nothing of what the file says beside its pixels
    plain.paste(turned)
    made = io.BytesIO()
    plain.save(made, "JPEG", quality=85)
    return made.getvalue()


def _must_be_small(image: Image.Image) -> None:
    """Asked before a pixel is read: a small file may unfold to a very large picture."""
    if image.width * image.height > PIXELS_MOST:
        raise UserError([said("photo_many_pixels", most=PIXELS_MOST // 1_000_000)])
