"""Zone files as people bring them."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.models import Upload
from nursery.services.zones import keep_zone_file

Ring = list[list[float]]


def square(west: float, south: float, size: float = 1.0) -> Ring:
    east, north = west + size, south + size
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]


def feature(ring: Ring, **properties: Any) -> dict[str, Any]:
    return {
        "type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [ring]}
    }  # fmt: skip


def collection(*features: dict[str, Any], **more: Any) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": list(features), **more}).encode()


@pytest.fixture
def keep(session: Session) -> Callable[..., Upload]:
    def keeping(*features: dict[str, Any], **more: Any) -> Upload:
        content = collection(*features, **more)
        return keep_zone_file(session, "Ana Seabra", file_name="zones.geojson", content=content)

    return keeping
