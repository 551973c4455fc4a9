"""The logo is drawn anew: what is kept is a small PNG without anything that came with the file."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image, PngImagePlugin
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.services.logo import MOST_BYTES, keep_logo, read_logo, remove_logo
from nursery.services.season_report import gather_figures, show


def picture(kind: str = "PNG", size: tuple[int, int] = (900, 300), **options: Any) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB" if kind == "JPEG" else "RGBA", size, "#7d3c00").save(buffer, format=kind, **options)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
def test_what_is_kept_is_a_small_png(session: Session, kind: str) -> None:
    keep_logo(session, "Ana Seabra", content=picture(kind))
    with Image.open(io.BytesIO(read_logo(session) or b"")) as kept:
        assert (kept.format, kept.mode, kept.size) == ("PNG", "RGB", (720, 240))


def test_nothing_hidden_in_the_file_comes_along(session: Session) -> None:
    told = PngImagePlugin.PngInfo()
    told.add_text("Comment", "a secret of the sender")
    content = picture(pnginfo=told) + b"more secrets behind the picture"
    keep_logo(session, "Ana Seabra", content=content)
    assert b"secret" not in (read_logo(session) or b"")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "Choose a picture"),
        (b"%PDF-1.7 nothing", "Choose a picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "Choose a picture"),
        (picture()[:200], "damaged"),
        (b"\x89PNG\r\n\x1a\n" + b"0" * 50, "damaged"),
        (b"\x89PNG\r\n\x1a\n" + b"0" * MOST_BYTES, "larger than 4 MB"),
        (picture(size=(6000, 6000)), "too many points"),
    ],
)
def test_what_is_no_picture_is_refused_and_the_old_logo_stays(session: Session, content: bytes, told: str) -> None:
    keep_logo(session, "Ana Seabra", content=picture())
    before = read_logo(session)
    with pytest.raises(Invalid) as refused:
        keep_logo(session, "Ana Seabra", content=content)
    assert told in refused.value.errors["logo"]
    assert read_logo(session) == before


def test_a_report_keeps_the_logo_it_was_made_with(session: Session, today: Any) -> None:
    keep_logo(session, "Ana Seabra", content=picture())
    figures = gather_figures(session, season=2025, today=today)
    own = read_logo(session)
    remove_logo(session, "Ana Seabra")
    assert read_logo(session) is None
    assert show(figures, language="en").logo == own
    assert show(gather_figures(session, season=2025, today=today), language="en").logo == b""
