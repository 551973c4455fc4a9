"""Signing in and out, and the one-time links by which people set a password."""

from nursery.web.sign_in.pages import bp

__all__ = ["bp"]
