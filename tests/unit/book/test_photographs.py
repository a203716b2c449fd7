"""Photographs as kept: upright, small, without place or time; anything hostile refused in words."""

from __future__ import annotations

import io
import struct
import zlib

import pillow_heif
import pytest
from PIL import Image, ImageCms

from tickover.book.photographs import (
    LARGEST_DRAWN,
    LARGEST_SENT,
    LONGEST_EDGE,
    kept_picture,
    smaller_picture,
)
from tickover.errors import InputError

GPS, ORIENTATION, MAKE = 0x8825, 0x0112, 0x010F  # tags of CIPA DC-008 (Exif)
SECRET = b"Invented Camera 7"


def scene(size=(64, 32)) -> Image.Image:
    """Red above, blue below."""
    picture = Image.new("RGB", size, "blue")
    picture.paste("red", (0, 0, size[0], size[1] // 2))
    return picture


def exif(orientation: int = 1) -> Image.Exif:
    """What a phone writes: a place, a camera, which way is up."""
    data = Image.Exif()
    data[ORIENTATION] = orientation
    data[MAKE] = SECRET.decode()
    place = data.get_ifd(GPS)
    place[1], place[2] = "N", (48.0, 12.0, 36.0)
    place[3], place[4] = "E", (11.0, 34.0, 12.0)
    return data


def packed(picture: Image.Image, form: str, **how) -> bytes:
    target = io.BytesIO()
    picture.save(target, form, **how)
    return target.getvalue()


def heic(picture: Image.Image, data: Image.Exif) -> bytes:
    held = pillow_heif.from_pillow(picture)
    target = io.BytesIO()
    held.save(target, format="HEIF", exif=data.tobytes(), quality=80)
    return target.getvalue()


FORMS = {
    "JPEG": lambda: packed(scene(), "JPEG", exif=exif(), comment=SECRET),
    "PNG": lambda: packed(scene(), "PNG", exif=exif()),
    "HEIC": lambda: heic(scene(), exif()),
}


@pytest.mark.parametrize("form", FORMS)
def test_what_is_kept_holds_the_picture_and_nothing_else(form: str) -> None:
    sent = FORMS[form]()
    assert SECRET in sent, "the test must send what is to go"
    kept = kept_picture(sent)
    assert SECRET not in kept
    assert b"Exif" not in kept
    with Image.open(io.BytesIO(kept)) as picture:
        assert picture.format == "JPEG"
        assert picture.size == (64, 32)
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert not picture.getexif()
        red, _, blue = picture.getpixel((32, 4))
        assert red > 200 > 60 > blue


# CIPA DC-008-2019 (Exif 2.32), tag 0x0112: which stored corner is the visual top left. Stored as
# the camera held it, the scene below must come out red above in every case.
HELD = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


@pytest.mark.parametrize("orientation", HELD)
def test_every_way_a_camera_is_held_comes_out_upright(orientation: int) -> None:
    stored = scene() if HELD[orientation] is None else scene().transpose(HELD[orientation])
    sent = packed(stored, "JPEG", exif=exif(orientation), quality=95)
    with Image.open(io.BytesIO(kept_picture(sent))) as picture:
        assert picture.size == (64, 32)
        assert picture.getpixel((32, 4))[0] > 200
        assert picture.getpixel((32, 28))[2] > 200


def test_a_phone_format_lying_on_its_side_comes_out_upright_once() -> None:
    """HEIF (ISO/IEC 23008-12) turns by a property of its own; turning again by Exif is the trap."""
    sent = heic(scene().transpose(Image.Transpose.ROTATE_90), exif(6))
    with Image.open(io.BytesIO(kept_picture(sent))) as picture:
        assert picture.size == (64, 32)
        assert picture.getpixel((32, 4))[0] > 200


def test_a_large_one_is_made_smaller_and_a_list_gets_a_smaller_one_still() -> None:
    kept = kept_picture(packed(scene((5000, 2500)), "JPEG"))
    with Image.open(io.BytesIO(kept)) as picture:
        assert picture.size == (LONGEST_EDGE, LONGEST_EDGE // 2)
    with Image.open(io.BytesIO(smaller_picture(kept, 300))) as picture:
        assert picture.size == (300, 150)


def test_wide_colours_are_brought_to_those_a_page_shows() -> None:
    """A profile whose red and green change places must come out with them changed back."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    table = {profile[at : at + 4]: at for at in range(132, 132 + 12 * 20, 12)}
    red, green = (struct.unpack(">I", profile[table[n] + 4 : table[n] + 8])[0]
                  for n in (b"rXYZ", b"gXYZ"))  # fmt: skip
    crossed = bytearray(profile)
    crossed[table[b"rXYZ"] + 4 : table[b"rXYZ"] + 8] = struct.pack(">I", green)
    crossed[table[b"gXYZ"] + 4 : table[b"gXYZ"] + 8] = struct.pack(">I", red)
    sent = packed(Image.new("RGB", (16, 16), "red"), "JPEG", icc_profile=bytes(crossed))
    with Image.open(io.BytesIO(kept_picture(sent))) as picture:
        assert picture.getpixel((8, 8))[1] > 200
        assert "icc_profile" not in picture.info


def test_a_profile_nobody_can_read_costs_nothing() -> None:
    sent = packed(scene(), "JPEG", icc_profile=b"not a profile")
    assert kept_picture(sent).startswith(b"\xff\xd8\xff")


def bomb(side: int, whole: bool = False) -> bytes:
    """A small PNG that says it is `side` points wide and high; `whole`: and truly is."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    body = zlib.compress(bytes(side * (1 + (side + 7) // 8) if whole else 4096))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [int(LARGEST_DRAWN**0.5) + 1, 60_000, 2**31 - 1])
def test_a_small_file_that_unpacks_to_something_huge_is_refused(side: int) -> None:
    with pytest.raises(InputError, match=r"too large|broken|not a picture"):
        kept_picture(bomb(side), "bomb.png")


def test_a_sound_picture_over_the_limit_is_refused_by_its_size_alone() -> None:
    data = bomb(int(LARGEST_DRAWN**0.5) + 1, whole=True)
    assert len(data) < 20_000
    with pytest.raises(InputError, match="8945 by 8945 points"):
        kept_picture(data, "bomb.png")


def test_a_huge_file_is_refused_before_it_is_read() -> None:
    with pytest.raises(InputError, match="20 MB"):
        kept_picture(b"\xff\xd8\xff" + bytes(LARGEST_SENT))


WRONG = {
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "a page": b"<!doctype html><script>alert(1)</script>",
    "a film": b"\0\0\0\x18ftypmp42" + bytes(200),
    "a moving picture": packed(scene(), "GIF"),
    "another kind": packed(scene(), "TIFF"),
    "a phone picture cut short": heic(scene(), exif())[:300],
    "a phone picture in name only": b"\0\0\0\x18ftypheic" + bytes(400),
    "a photograph cut short": packed(scene((400, 300)), "JPEG")[:900],
    "nothing": b"",
}


@pytest.mark.parametrize("kind", WRONG)
def test_what_is_no_photograph_is_refused_in_words(kind: str) -> None:
    with pytest.raises(InputError) as refused:
        kept_picture(WRONG[kind], "sent.jpg")
    assert "JPEG" in refused.value.allowed
    assert refused.value.instead
    with pytest.raises(InputError):
        smaller_picture(WRONG[kind])
