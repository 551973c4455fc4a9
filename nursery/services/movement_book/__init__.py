"""The supplier's movement book: seed and plants in and out of every lot, read from both ledgers."""

from nursery.services.movement_book.asking import Asked
from nursery.services.movement_book.book import PAGE, BookPage, Entry, read_all, read_page
from nursery.services.movement_book.totals import Total, read_totals

__all__ = ["PAGE", "Asked", "BookPage", "Entry", "Total", "read_all", "read_page", "read_totals"]
