"""Who takes plants or seed over."""

from nursery.web.recipients.pages import bp

__all__ = ["bp"]
