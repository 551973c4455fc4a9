"""Season reports: made in two clicks, read as a page, taken along as PDF and workbook."""

from nursery.web.season_reports import files, making, pages  # noqa: F401 -- they hang their views on the blueprint
from nursery.web.season_reports.blueprint import bp

__all__ = ["bp"]
