"""Room in the nursery: what trays take of it week by week, and how an overflow is levelled."""
