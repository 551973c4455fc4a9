"""Sites and stands as GeoJSON (RFC 7946): WGS 84, longitude first; sensitive stands rounded."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site
from nursery.services.exchange.selecting import Selected, told_place

GEOJSON_TYPE = "application/geo+json"


def geojson(session: Session, selected: Selected) -> bytes:
    """One feature a place: the stands of the lots selected, and the site asked for, or all in use."""
    stands = {lot.population.id: lot.population for lot in selected.lots}
    sites = select(Site).where(Site.archived_at.is_(None)).order_by(Site.code)
    if selected.wanted.site_id is not None:
        sites = select(Site).where(Site.id == selected.wanted.site_id)
    elif selected.wanted.lot_id is not None:
        sites = sites.where(Site.id.is_(None))
    features = [_stand(one) for one in sorted(stands.values(), key=lambda each: each.code)]
    features += [_site(one) for one in session.scalars(sites)]
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False).encode()


def _stand(one: Population) -> dict[str, Any]:
    told = told_place(one)
    facts = {
        "kind": "population", "code": one.code, "name": None if one.is_sensitive else one.name,
        "species": one.species.scientific_name, "basin": one.basin, "region": one.region_code,
        "indigenous_status": one.indigenous_status.value,
        "elevation_m": None if one.is_sensitive else one.elevation_m, "uncertainty_m": told.metres,
    }  # fmt: skip
    return _feature(f"population-{one.code}", told.longitude, told.latitude, facts)


def _site(one: Site) -> dict[str, Any]:
    facts = {
        "kind": "site", "code": one.code, "name": one.name, "basin": one.basin, "region": one.region_code,
        "elevation_m": one.elevation_m, "area_ha": one.area_ha,
    }  # fmt: skip
    return _feature(f"site-{one.code}", one.longitude, one.latitude, facts)


def _feature(key: str, longitude: float, latitude: float, facts: dict[str, Any]) -> dict[str, Any]:
    point = {"type": "Point", "coordinates": [longitude, latitude]}
    return {"type": "Feature", "id": key, "geometry": point, "properties": facts}
