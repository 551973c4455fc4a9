"""Climate normals of populations and sites."""

from nursery.web.climates.pages import bp

__all__ = ["bp"]
