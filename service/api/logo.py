"""The account's logo: taken as PNG or JPEG, kept as a plain PNG without anything else that was in the file."""

from __future__ import annotations

import io
import warnings

from api_schema.problem import Fault
from service.api.account import account
from service.api.noting import note
from service.api.operation import Answer, Asked, Media
from service.api.problems import bad_input
from service.records import logos

_PNG = "image/png"
_MOST_BYTES = 1024 * 1024
_MOST_PIXELS = 4_000_000
_LEAST_SIDE = 16
_ENDS = (
    b"IEND\xaeB`\x82",
    b"\xff\xd9",
)  # of PNG and of JPEG; a library may be set to make up what is missing
_PRINTED = (1200, 480)  # at 80 by 16 millimetres more than paper shows
_TAKES = Media(
    "application/octet-stream",
    "The file itself: PNG or JPEG, 1 MiB and 4 megapixels at most. What it is is seen from its bytes.",
)


@account.operation(
    "PUT",
    "/v1/account/logo",
    "Set the logo",
    scope="admin",
    takes_bytes=_TAKES,
    gives={200: Media(_PNG, "The logo as documents show it.")},
)
def set_logo(asked: Asked) -> Answer:
    """Puts a logo on the quotes, orders and site packs made from now on, in place of the firm's name.

    It is drawn anew on white as a PNG: a camera's notes, colour profiles and hidden data in the file are gone.
    """
    content = _redrawn(asked.body)
    sha256 = logos.put_logo(asked.session, asked.caller.account_id, content)
    note(asked, "logo.set", sha256)
    return Answer(content, media_type=_PNG, etag=sha256)


@account.operation(
    "GET",
    "/v1/account/logo",
    "Read the logo",
    scope="read",
    gives={200: Media(_PNG, "The logo as documents show it.")},
    may_answer=(404,),
    etag=True,
)
def read_logo(asked: Asked) -> Answer:
    """Gives the logo as it is printed. 404 where the account has none."""
    content, sha256 = logos.get_logo(asked.session, asked.caller.account_id)
    return Answer(content, media_type=_PNG, etag=sha256)


@account.operation("DELETE", "/v1/account/logo", "Remove the logo", scope="admin", gives={204: None})
def remove_logo(asked: Asked) -> Answer:
    """Shows the firm's name again on what is made from now on. Doing it twice changes nothing."""
    logos.remove_logo(asked.session, asked.caller.account_id)
    note(asked, "logo.removed", asked.caller.account_id)
    return Answer(status=204)


def _redrawn(raw: bytes) -> bytes:
    """The picture on white, no larger than print shows, as PNG; a 422 in words where it cannot be used."""
    from PIL import Image, UnidentifiedImageError  # noqa: PLC0415 - few requests need it

    if len(raw) > _MOST_BYTES:
        raise _bad("has more than 1 MiB. Save it smaller.")
    if not any(end in raw[-4096:] for end in _ENDS):
        raise _bad("is no PNG or JPEG that can be read, or its end is missing.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(raw), formats=("PNG", "JPEG"))
        if picture.width * picture.height > _MOST_PIXELS:
            raise _bad("has more than 4 megapixels. Save it smaller.")
        if min(picture.size) < _LEAST_SIDE:
            raise _bad(f"is smaller than {_LEAST_SIDE} pixels; it would not be seen.")
        picture = picture.convert("RGBA")
    except (
        UnidentifiedImageError, Image.DecompressionBombError, Image.DecompressionBombWarning, OSError, SyntaxError,
        ValueError,
    ) as error:  # fmt: skip
        raise _bad("is no PNG or JPEG that can be read.") from error
    picture.thumbnail(_PRINTED)
    paper = Image.new("RGB", picture.size, (255, 255, 255))
    paper.paste(picture, mask=picture.getchannel("A"))
    out = io.BytesIO()
    paper.save(out, "PNG", optimize=True)
    return out.getvalue()


def _bad(what: str) -> Exception:
    return bad_input((Fault("", what),))


__all__ = ["account"]
