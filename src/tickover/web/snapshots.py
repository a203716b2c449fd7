"""Photographs as they are kept: upright, of a sensible size, without what a camera adds to them.

A phone writes where and when a picture was taken, and with what, into the file. Nobody who hands
over a build record wants to hand that over, so only the picture itself is kept: it is drawn anew
on an empty sheet.
"""

from __future__ import annotations

import io
import warnings

from tickover.errors import InputError

LARGEST_SENT = 20_000_000
"""Of the file as it is sent [bytes]."""
LARGEST_DRAWN = 80_000_000
"""Of the picture, in points; a small file can unpack to something huge."""
LONGEST_EDGE = 2048
"""Of the picture as kept, in points: enough for a whole page of paper."""
_QUALITY = 85
_ALLOWED = "a photograph as JPEG or PNG"


def kept_picture(data: bytes, name: str = "") -> bytes:
    """A photograph made ready to keep.

    Parameters
    ----------
    data : bytes
        JPEG or PNG, whatever its name says.
    name : str
        Of the file as sent, for messages.

    Returns
    -------
    bytes
        JPEG, turned upright, its longest edge within `LONGEST_EDGE`, without any of the data a
        camera adds: no position, no time, no serial number, no small second picture.

    Raises
    ------
    InputError
        Too large, neither JPEG nor PNG, or broken.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(data) > LARGEST_SENT:
        raise InputError(f"This picture is too large, {len(data) / 1e6:.1f} MB", given=name,
                         allowed=f"up to {LARGEST_SENT / 1e6:.0f} MB")  # fmt: skip
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # ours is the limit, said below
            with Image.open(io.BytesIO(data), formats=("JPEG", "PNG")) as sent:
                if sent.width * sent.height > LARGEST_DRAWN:
                    raise InputError(
                        f"This picture is too large, {sent.width} by {sent.height} points",
                        given=name, allowed=f"up to {LARGEST_DRAWN / 1e6:.0f} million points",
                    )  # fmt: skip
                sent.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
                upright = ImageOps.exif_transpose(sent)
                upright.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
                seen = upright.convert("RGBA")
    except UnidentifiedImageError as error:
        raise InputError("This is not a picture that can be kept", given=name, allowed=_ALLOWED,
                         instead="the same one, saved as JPEG") from error  # fmt: skip
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError("This picture is broken", given=name, allowed=_ALLOWED,
                         instead="another one, or none") from error  # fmt: skip
    sheet = Image.new("RGB", seen.size, "white")
    sheet.paste(seen, mask=seen.getchannel("A"))
    packed = io.BytesIO()
    sheet.save(packed, "JPEG", quality=_QUALITY, optimize=True)
    return packed.getvalue()


def media_type(data: bytes) -> str:
    """What kept bytes are, by how they begin; '' when they are no picture.

    >>> media_type(b"\\xff\\xd8\\xff\\xe0"), media_type(b"<svg onload=...>")
    ('image/jpeg', '')
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    return "image/png" if data.startswith(b"\x89PNG\r\n\x1a\n") else ""
