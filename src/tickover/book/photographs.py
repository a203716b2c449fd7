"""Photographs as they are kept: upright, of a sensible size, without what a camera adds to them.

A phone writes where and when a picture was taken, and with what, into the file. Nobody who hands
over a build record wants to hand that over, so only the picture itself is kept: it is drawn anew
on an empty sheet.
"""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING

from tickover.errors import InputError

if TYPE_CHECKING:
    from PIL.Image import Image as Pixels

LARGEST_SENT = 20_000_000
"""Of the file as it is sent [bytes]."""
LARGEST_DRAWN = 80_000_000
"""Of the picture, in points; a small file can unpack to something huge."""
LONGEST_EDGE = 2048
"""Of the picture as kept, in points: enough for a whole page of paper."""
SMALL_EDGE = 480
"""Of a picture in a list on a phone."""
ACCEPTED = "image/*,.heic,.heif"
"""What a file field asks a phone for: any image, so that it offers its camera too."""
_FORMATS = ("JPEG", "PNG")
_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_QUALITY = 85
_ALLOWED = "a photograph as JPEG, PNG or HEIC"


def kept_picture(data: bytes, name: str = "") -> bytes:
    """A photograph made ready to keep.

    Parameters
    ----------
    data : bytes
        JPEG, PNG or HEIC, whatever its name says.
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
        Too large, not a photograph, or broken.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(data) > LARGEST_SENT:
        raise InputError(f"This picture is too large, {len(data) / 1e6:.1f} MB", given=name,
                         allowed=f"up to {LARGEST_SENT / 1e6:.0f} MB")  # fmt: skip
    formats: tuple[str, ...] = _FORMATS
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        _open_heif()
        formats = ("HEIF",)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # ours is the limit, said below
            with Image.open(io.BytesIO(data), formats=formats) as sent:
                if sent.width * sent.height > LARGEST_DRAWN:
                    raise InputError(
                        f"This picture is too large, {sent.width} by {sent.height} points",
                        given=name, allowed=f"up to {LARGEST_DRAWN / 1e6:.0f} million points",
                    )  # fmt: skip
                sent.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
                upright = ImageOps.exif_transpose(sent)
                upright.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
                seen = _usual_colours(upright).convert("RGBA")
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
    return _packed(sheet)


def smaller_picture(data: bytes, longest_edge: int = SMALL_EDGE) -> bytes:
    """A kept picture for a place where its whole size would only be slow.

    Parameters
    ----------
    data : bytes
        As `kept_picture` gave it.
    longest_edge : int
        [points]

    Raises
    ------
    InputError
        These bytes are no picture.
    """
    from PIL import Image

    try:
        with Image.open(io.BytesIO(data), formats=_FORMATS) as kept:
            kept.draft("RGB", (longest_edge, longest_edge))
            kept.thumbnail((longest_edge, longest_edge))
            return _packed(kept.convert("RGB"))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise InputError("This is kept in the book, but it is no picture") from error


def media_type(data: bytes) -> str:
    """What kept bytes are, by how they begin; '' when they are no picture.

    >>> media_type(b"\\xff\\xd8\\xff\\xe0"), media_type(b"<svg onload=...>")
    ('image/jpeg', '')
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    return "image/png" if data.startswith(b"\x89PNG\r\n\x1a\n") else ""


def _open_heif() -> None:
    """Teach Pillow the format phones write; only when one has come, as it loads a decoder."""
    from pillow_heif import register_heif_opener

    register_heif_opener(thumbnails=False)


def _usual_colours(picture: Pixels) -> Pixels:
    """Phones photograph in wider colours than a page shows; without its profile it would fade."""
    from PIL import ImageCms

    profile = picture.info.get("icc_profile")
    if not profile or picture.mode not in ("RGB", "RGBA"):
        return picture
    try:
        changed = ImageCms.profileToProfile(
            picture, ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB")
        )
    except (ImageCms.PyCMSError, OSError):  # a profile nobody can read: the colours as they are
        return picture
    return changed or picture


def _packed(picture: Pixels) -> bytes:
    packed = io.BytesIO()
    picture.save(packed, "JPEG", quality=_QUALITY, optimize=True)
    return packed.getvalue()
