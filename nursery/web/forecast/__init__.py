"""What growing batches will give, against what is promised."""

from nursery.web.forecast.pages import bp

__all__ = ["bp"]
