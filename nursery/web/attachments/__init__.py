"""Files beside records: attach, fetch, put aside."""

from nursery.web.attachments.routes import bp

__all__ = ["bp"]
