"""Broken files: truncated, wrongly encoded, swollen, cyclic, disguised. Each is a name and its bytes."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterator

from hypothesis import strategies as st
from openpyxl import Workbook
from PIL import Image

from nursery.services.importing import KINDS
from nursery.services.importing.files import make_template

NAMES = (
    "seed.csv", "seed.xlsx", "zones.geojson", "photo.png", "photo.jpg", "scan.pdf", "", ".", "..",
    "../../etc/passwd", "..\\..\\boot.ini", "a/b/c.png", "nul", "CON.csv", "x" * 400 + ".csv", "\u202egnp.exe",
    "tab\tname.csv",
    "=cmd().csv", "two.csv.png", "a\0b.csv", "🌱.csv",
)  # fmt: skip
#: So much a swollen file grows to: enough to be refused, and gentle to the machine that runs the tests.
SWOLLEN = 40 * 1024 * 1024
_SHEET = "xl/worksheets/sheet1.xml"
_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY x "ha"><!ENTITY y "&x;&x;&x;&x;&x;&x;&x;&x;&x;&x;">'
    '<!ENTITY z "&y;&y;&y;&y;&y;&y;&y;&y;&y;&y;"><!ENTITY w "&z;&z;&z;&z;&z;&z;&z;&z;&z;&z;">]>'
    '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
    '<c r="A1" t="inlineStr"><is><t>&w;</t></is></c></row></sheetData></worksheet>'
)
_OUTSIDE = _LAUGHS.replace('<!ENTITY x "ha">', '<!ENTITY x SYSTEM "file:///etc/passwd">')


def sound_files() -> list[bytes]:
    """Files as they should be, to be spoilt."""
    tables = [make_template(kind, ending) for kind in list(KINDS)[:5] for ending in ("csv", "xlsx")]
    pictures = [_picture(kind) for kind in ("PNG", "JPEG", "WEBP", "GIF", "BMP")]
    maps = [json.dumps(one).encode() for one in geometries()]
    return [*tables, *pictures, *maps, b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n<<>>\n%%EOF"]


def hard_cases() -> list[bytes]:
    """Made to do harm."""
    return [
        b"", b"\0" * 1000, b"\xff\xfe", b"\xef\xbb\xbf", b"PK\x03\x04", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff",
        b"RIFF\0\0\0\0WEBP", b"%PDF-", b"[" * 50_000, b'{"a":' * 5000, b'"' * 5000, b";" * 100_000, b"\n" * 50_000,
        b"code,code,code\n1,2,3\n", b"=1+1,@a,+2,-3\n=cmd|' /C calc'!A0,1,2,3\n", b"a" * 2_000_000,
        "código;espécie\nP-1;Quercus\n".encode("utf-16"), "código;espécie\nP-1;ñ\n".encode("latin-1"),
        "code,name\nP-1,\ud7ff\u202e\n".encode("utf-32"), b"code,name\n\"unclosed\n" + b"x" * 50_000,
        _png_of(60_000, 60_000), _png_of(0, 0), _png_of(2**31 - 1, 1), _png_of(1, 1)[:40],
        _picture("PNG") + b"<script>alert(1)</script>", b"GIF89a" + b"\xff" * 200,
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", b"<html><script>1</script></html>",
        _book_with(_SHEET, _LAUGHS.encode()), _book_with(_SHEET, _OUTSIDE.encode()),
        _book_with(_SHEET, b"<broken"), _book_with(_SHEET, b" " * SWOLLEN),
        _book_with("xl/sharedStrings.xml", _LAUGHS.encode()),
        _book_with("[Content_Types].xml", b""), _book_with("xl/workbook.xml", b"<workbook/>"),
        _book_with("../../escape.xml", b"x"), _formulas(), _zip_of({"a.txt": b"x"}), _zip_of({}),
        _zip_of({f"{number}.xml": b"" for number in range(3000)}),
    ]  # fmt: skip


def geometries() -> Iterator[object]:
    """Outlines that no map has: cyclic, flat, crossing, open, empty, off the globe, deep."""
    line = [[-5.5, 39.5], [-5.4, 39.6], [-5.3, 39.5]]
    rings: list[object] = [
        [[*line, line[0]]], [line], [[line[0]] * 4], [[line[0], line[1], line[0], line[1], line[0]]],
        [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]], [[[200, 100], [201, 100], [201, 101], [200, 100]]],
        [[[0, 90], [0, -90], [180, 0], [0, 90]]], [[[1e308, 1e308], [-1e308, 1e308], [0, -1e308], [1e308, 1e308]]],
        [[[0, 0, "x"], [1, None], [], [0, 0]]], [[]], [], None, "ring", [[[0]]], {"0": 1},
        [[*line, line[0]], [*line, line[0]]], [[[0, 0], [1e-12, 0], [0, 1e-12], [0, 0]]],
        [[[number / 1000, (number % 7) / 10] for number in range(5000)]],
    ]  # fmt: skip
    for ring in rings:
        for kind in ("Polygon", "MultiPolygon"):
            shape = {"type": kind, "coordinates": ring if kind == "Polygon" else [ring]}
            feature = {"type": "Feature", "geometry": shape, "properties": {"code": "GV-M", "name": "=1+1"}}
            yield {"type": "FeatureCollection", "features": [feature]}
    yield {"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": None, "properties": None}]}
    yield {"type": "FeatureCollection", "features": {}}
    yield {"type": "GeometryCollection", "geometries": [{"type": "GeometryCollection", "geometries": []}]}
    yield {"type": "Topology", "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::1"}}}
    yield []


def broken_files() -> st.SearchStrategy[tuple[str, bytes]]:
    """A name and bytes that need not fit it."""
    spoilt = st.tuples(st.sampled_from(sound_files()), st.sampled_from(SPOILERS), st.integers(0, 10_000))
    content = st.one_of(
        st.sampled_from(hard_cases()), spoilt.map(lambda one: one[1](one[0], one[2])), st.binary(max_size=300)
    )
    return st.tuples(st.sampled_from(NAMES), content)


def _cut(content: bytes, at: int) -> bytes:
    return content[: at % (len(content) + 1)]


def _flip(content: bytes, at: int) -> bytes:
    spoilt = bytearray(content)
    for step in range(1, 6):
        place = at * step % max(len(spoilt), 1)
        spoilt[place : place + 1] = bytes([(at + step) % 256])
    return bytes(spoilt)


def _double(content: bytes, at: int) -> bytes:
    place = at % (len(content) + 1)
    return content[:place] + content + content[place:]


def _recode(content: bytes, at: int) -> bytes:
    wrong = ("utf-16", "utf-32", "utf-8-sig", "utf-7")[at % 4]
    return content.decode("utf-8", "replace").encode(wrong)


def _zeros(content: bytes, at: int) -> bytes:
    place = at % (len(content) + 1)
    return content[:place] + b"\0" * 64 + content[place:]


SPOILERS: tuple[Callable[[bytes, int], bytes], ...] = (
    lambda content, _at: content, _cut, _flip, _double, _recode, _zeros,
)  # fmt: skip


def _picture(kind: str) -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "#397").save(made, kind)
    return made.getvalue()


def _png_of(width: int, height: int) -> bytes:
    """A picture that says it is so large, and holds next to nothing."""
    sound = bytearray(_picture("PNG"))
    sound[16:24] = width.to_bytes(4, "big") + height.to_bytes(4, "big")
    return bytes(sound)


def _formulas() -> bytes:
    book, made = Workbook(), io.BytesIO()
    sheet = book.worksheets[0]
    sheet.append(["code", "name", "species", "latitude", "longitude"])
    sheet.append(["=1/0", '=HYPERLINK("http://example.org")', "=A1", "=NOW()", "#REF!"])
    book.save(made)
    return made.getvalue()


def _book_with(name: str, content: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(_formulas())) as sound:
        parts = {part: sound.read(part) for part in sound.namelist()}
    return _zip_of({**parts, name: content})


def _zip_of(parts: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in parts.items():
            file.writestr(name, content)
    return made.getvalue()
