"""A season's report: its figures gathered and kept, shown in any language, and checked to be the same."""

from nursery.services.season_report.agreeing import Agreement, check_agreement
from nursery.services.season_report.figures import STEPS, digest_of, gather_figures
from nursery.services.season_report.making import (
    Choice,
    check_choice,
    choices,
    keep_report,
    put_aside,
    read_report,
)
from nursery.services.season_report.scope import last_season
from nursery.services.season_report.showing import show
from nursery.services.season_report.writing import report_pdf, report_xlsx

__all__ = [
    "STEPS",
    "Agreement",
    "Choice",
    "check_agreement",
    "check_choice",
    "choices",
    "digest_of",
    "gather_figures",
    "keep_report",
    "last_season",
    "put_aside",
    "read_report",
    "report_pdf",
    "report_xlsx",
    "show",
]
