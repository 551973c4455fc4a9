"""The demo season: an invented dry basin, told from today."""

from nursery.services.demo.accounts import coordinator
from nursery.services.demo.loading import demo_day, is_empty, load_demo

__all__ = ["coordinator", "demo_day", "is_empty", "load_demo"]
