"""The nursery's own defaults."""

from nursery.web.settings import logo  # noqa: F401 -- it hangs its views on the blueprint
from nursery.web.settings.pages import bp

__all__ = ["bp"]
