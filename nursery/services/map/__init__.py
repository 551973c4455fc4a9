"""The map: what is on it, where it comes to lie, and the same facts as lists."""

from nursery.services.map.drawing import Drawing, draw_map
from nursery.services.map.flows import Flow, read_flow_choices, read_flows
from nursery.services.map.marks import Mark, MarkKind, places_in_zone, read_marks
from nursery.services.map.query import MapQuery
from nursery.services.map.sketching import Sketch, outline_of
from nursery.services.map.zoning import shown_zones

__all__ = [
    "Drawing", "Flow", "MapQuery", "Mark", "MarkKind", "Sketch", "draw_map", "outline_of", "places_in_zone",
    "read_flow_choices", "read_flows", "read_marks", "shown_zones",
]  # fmt: skip
