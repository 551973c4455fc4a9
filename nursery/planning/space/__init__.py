"""Bench room: what batches and sowings take up week by week, and how to level what is too much."""
