"""Who may sign in: inviting, roles, closing."""

from nursery.web.accounts.pages import bp

__all__ = ["bp"]
