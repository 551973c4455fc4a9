"""Files beside records: known by their content, safely named, never deleted."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.models.attachments import AttachmentKind
from nursery.services import attachments
from nursery.services.attachments import (
    add_attachment,
    archive_attachment,
    find_subject,
    get_attachment,
    list_attachments,
    media_type_of,
    safe_name,
)
from tests.pictures import picture

PDF = b"%PDF-1.4 example"


PNG = picture()


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (PDF, "application/pdf"),
        (PNG, "image/png"),
        (b"\xff\xd8\xff\xe0 example", "image/jpeg"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", "image/webp"),
        (b"RIFF\x10\x00\x00\x00WAVEfmt ", ""),
        (b"<svg onload='x'>", ""),
        (b"<html>", ""),
        (b"MZ\x90", ""),
        (b"", ""),
    ],
)
def test_a_file_is_known_by_its_first_bytes(content: bytes, expected: str) -> None:
    assert media_type_of(content) == expected


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("permit.PDF", "permit.pdf"),
        ("C:\\scans\\Licença nº 7.pdf", "Licença nº 7.pdf"),
        ("../../etc/passwd", "passwd.pdf"),
        ("photo.exe", "photo.pdf"),
        ('a"b\r\n<c>.pdf', "a_b___c.pdf"),
        ("\u202efdp.exe", "fdp.pdf"),
        (".pdf", "pdf.pdf"),
        ("", "file.pdf"),
        ("x" * 300 + ".pdf", "x" * 80 + ".pdf"),
    ],
)
def test_names_are_made_safe_and_end_as_their_content_does(name: str, expected: str) -> None:
    assert safe_name(name, "application/pdf") == expected


def test_a_file_is_kept_listed_and_put_aside(session: Session, maker: Any) -> None:
    lot = maker.lot()
    kept = add_attachment(
        session, "Ana", row=lot, file_name="leaf.png", content=PNG, kind=AttachmentKind.PHOTO, title=" Leaf "
    )
    assert [
        (file.title, file.file_name, file.media_type, file.size) for file in list_attachments(session, lot)
    ] == [("Leaf", "leaf.png", "image/png", len(PNG))]

    archive_attachment(session, "Ana", attachment=kept)

    assert list_attachments(session, lot) == []
    assert get_attachment(session, kept.id).content == PNG


@pytest.mark.parametrize("form", ["PNG", "JPEG", "WEBP"])
def test_a_picture_is_kept_without_anything_but_its_points(session: Session, maker: Any, form: str) -> None:
    hidden = Image.Exif()
    hidden[0x010E] = "the way to a rare stand"
    hidden.get_ifd(0x8825)[1] = "N"
    sent = picture(form, exif=hidden) + b"<script>alert(1)</script>"
    kept = add_attachment(session, "Ana", row=maker.lot(), file_name="leaf", content=sent)

    with Image.open(io.BytesIO(kept.content)) as again:
        assert (again.format, again.size, dict(again.getexif())) == (form, (30, 20), {})
    assert b"rare stand" in sent
    assert b"rare stand" not in kept.content
    assert b"<script>" not in kept.content


def test_a_photograph_is_kept_the_right_way_up(session: Session, maker: Any) -> None:
    turned = Image.Exif()
    turned[0x0112] = 6
    sent = picture("JPEG", exif=turned)
    kept = add_attachment(session, "Ana", row=maker.lot(), file_name="leaf", content=sent)

    with Image.open(io.BytesIO(kept.content)) as again:
        assert again.size == (20, 30)


def test_pictures_that_are_damaged_or_say_they_are_huge_are_refused(session: Session, maker: Any) -> None:
    lot, huge = maker.lot(), bytearray(PNG)
    huge[16:24] = (60_000).to_bytes(4, "big") * 2
    for content in (PNG[:40], b"\x89PNG\r\n\x1a\n example", b"\xff\xd8\xff\xe0 example", bytes(huge)):
        assert list(refusal(session, lot, content=content)) == ["file"]


def refusal(session: Session, row: Any, **values: Any) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        add_attachment(session, "Ana", row=row, **{"file_name": "x", "content": PDF, **values})
    return dict(refused.value.errors)


def test_what_is_not_kept_is_refused_in_words(
    session: Session, maker: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    lot = maker.lot()
    add_attachment(session, "Ana", row=lot, file_name="x", content=PDF)

    assert refusal(session, lot) == {"file": "This very file is attached here already."}
    assert refusal(session, lot, content=b"") == {"file": "The file is empty. Choose another."}
    assert refusal(session, lot, content=b"<svg>") == {
        "file": "Only PDF, PNG, JPEG and WebP files are kept, and this is none of them."
    }
    assert refusal(session, lot, content=PDF + b"2", kind=AttachmentKind.PHOTO) == {
        "kind": "A PDF is no photograph. Call it a document or a voucher."
    }
    monkeypatch.setattr(attachments, "MOST_BYTES", 2 * 1024**2)
    assert refusal(session, lot, content=PDF + bytes(2 * 1024**2)) == {
        "file": "The file is larger than 2 MB. Make it smaller."
    }


def test_files_stand_beside_records_that_exist(session: Session, maker: Any) -> None:
    lot = maker.lot()
    assert find_subject(session, "lots", lot.id) is lot
    for subject, number in (("lots", 99), ("species", 1)):
        with pytest.raises(NotFound):
            find_subject(session, subject, number)
    with pytest.raises(NotFound):
        get_attachment(session, 99)
