"""What this season teaches the next plan."""

from nursery.web.next_year.pages import bp

__all__ = ["bp"]
