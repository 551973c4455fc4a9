"""Pictures that people send, drawn anew: nothing hidden in a file comes along, neither a place nor a script."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from nursery.errors import Invalid
from nursery.i18n import gettext as _

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

#: Points of a picture that is sent: those of any camera, few enough to be held in memory (some 200 MB).
MOST_POINTS = 50_000_000
#: How a photograph is drawn again; the loss is not seen.
_QUALITY = 92
_FORMATS = {"image/png": "PNG", "image/jpeg": "JPEG", "image/webp": "WEBP"}
_MODES = {"image/jpeg": ("RGB", "L"), "image/png": ("RGB", "RGBA", "L", "P", "1"), "image/webp": ("RGB", "RGBA")}


def open_picture(content: bytes, field: str, *, most: int = MOST_POINTS) -> Picture:
    """The picture, the right way up.

    Raises
    ------
    Invalid
        At ``field``, for one that is damaged, or has more points than ``most``.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415 -- slow import

    try:
        with Image.open(io.BytesIO(content), formats=list(_FORMATS.values())) as sent:
            if sent.width * sent.height > most:
                raise Invalid({field: _("The picture has too many points. Make it smaller.")})
            return ImageOps.exif_transpose(sent).copy()
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError) as broken:
        raise Invalid({field: _("This picture is damaged. Save it again and choose the new file.")}) from broken


def redrawn(content: bytes, media_type: str, field: str) -> bytes:
    """The same picture in the same format, of its points and colours alone; the same each time."""
    picture = open_picture(content, field)
    if picture.mode not in _MODES[media_type]:
        picture = picture.convert("RGBA" if "A" in picture.mode and media_type != "image/jpeg" else "RGB")
    picture.info = {}  # EXIF, XMP, comments and whatever else lay beside the points
    buffer = io.BytesIO()
    picture.save(buffer, _FORMATS[media_type], **({} if media_type == "image/png" else {"quality": _QUALITY}))
    return buffer.getvalue()
