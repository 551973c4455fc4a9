"""What if: the plan redone with something otherwise, side by side."""

from nursery.web.what_if.routes import bp

__all__ = ["bp"]
