"""Tests of seed quality: judged as the handbooks ask, kept whatever they find, ruling where they are accepted."""

from nursery.services.seed_tests.recording import get_test, list_tests, record_test, used_up, withdraw_test
from nursery.services.seed_tests.ruling import refuse_ruled, refused_last, ruled_columns, ruled_lots, rulings
from nursery.services.seed_tests.words import KIND_LABELS, noted_test, result_text, verdict_source, verdict_text

__all__ = [
    "KIND_LABELS",
    "get_test",
    "list_tests",
    "noted_test",
    "record_test",
    "refuse_ruled",
    "refused_last",
    "result_text",
    "ruled_columns",
    "ruled_lots",
    "rulings",
    "used_up",
    "verdict_source",
    "verdict_text",
    "withdraw_test",
]
