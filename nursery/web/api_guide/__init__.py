"""What other programs can read and write, explained to people."""

from nursery.web.api_guide.pages import bp

__all__ = ["bp"]
