"""The own account: password, second factor, browsers signed in, tokens."""

from nursery.web.account.pages import bp

__all__ = ["bp"]
