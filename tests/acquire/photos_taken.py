"""Pictures as a camera gives them, made by the imaging library itself."""

import io

from PIL import Image

ORIENTATION, GPS = 274, 34853  # tags of Exif 2.3 (JEITA CP-3451), from memory
TURNED_LEFT = 6  # the row 0 is at the right: turn by 90 degrees clockwise to see it upright
RED, BLUE = (220, 20, 20), (20, 20, 220)


def shot(size=(80, 40), turned=0, *, gps=False, kind="JPEG"):
    """Red in its left half, blue in its right one; as the file has it, not as it is shown."""
    image = Image.new("RGB", size, BLUE)
    image.paste(RED, (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    if turned:
        exif[ORIENTATION] = turned
    if gps:
        exif.get_ifd(GPS)[1] = "N"
        exif.get_ifd(GPS)[2] = (48.0, 8.0, 14.0)
    made = io.BytesIO()
    image.save(made, kind, exif=exif, **({"quality": 95} if kind == "JPEG" else {}))
    return made.getvalue()


def is_like(pixel, colour):
    return all(abs(a - b) < 60 for a, b in zip(pixel, colour, strict=True))


def opened(data):
    return Image.open(io.BytesIO(data))
