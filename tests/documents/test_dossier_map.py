"""The map of a dossier in print: its size, and that each part of it leaves ink."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
from PIL import Image

from nursery.documents.dossier_map import MapArea, MapLine, MapMark, MapPicture, map_png

BARE = MapPicture(
    900, 580, [], [], [], [("5° W", 450.0)], [("40° N", 290.0)], "5 km", 120.0, "N",
    {"population": "population", "site": "planting site", "nursery": "nursery", "line": "plants",
     "region": "region", "basin": "basin"},
)  # fmt: skip


def pixels(picture: MapPicture) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(map_png(picture))).convert("RGB"))


def test_the_picture_has_two_hundred_dots_an_inch() -> None:
    with Image.open(io.BytesIO(map_png(BARE))) as image:
        assert image.format == "PNG"
        assert image.width == 1370
        assert round(image.info["dpi"][0]) == 200


def test_areas_lines_and_marks_are_seen_where_they_are() -> None:
    area = MapArea("region", "M100 100L400 100L400 300L100 300Z", "R-1", (250.0, 200.0), 0)
    line = MapLine(600, 100, 800, 400, 6.0)
    mark = MapMark("site", 700.0, 250.0, 1, "Fontela bank", (712.0, 254.0, "start"))
    bare = pixels(BARE)
    unit = bare.shape[1] / 900

    for picture, x, y in (
        (replace(BARE, areas=[area]), 150, 150),
        (replace(BARE, lines=[line]), 700, 250),
        (replace(BARE, marks=[mark]), 700, 250),
    ):
        drawn = pixels(picture)
        assert drawn.shape == bare.shape
        at = round(y * unit), round(x * unit)
        assert drawn[at].tolist() != bare[at].tolist()
        assert (
            drawn[round(500 * unit), round(60 * unit)].tolist()
            == bare[round(500 * unit), round(60 * unit)].tolist()
        )


def test_an_outline_of_which_nothing_is_left_is_passed_over() -> None:
    empty = replace(BARE, areas=[MapArea("basin", "", "B", None, 1)])

    assert pixels(empty).shape == pixels(BARE).shape
