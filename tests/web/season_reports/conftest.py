"""The small finished season of the services' tests."""

from tests.services.season_report.conftest import season

__all__ = ["season"]
