"""Dossiers of sites and lots, and data in the forms that others ask for."""

from nursery.web.dossiers import exchange
from nursery.web.dossiers.pages import bp

__all__ = ["bp", "exchange"]
