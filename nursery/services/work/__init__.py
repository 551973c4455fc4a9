"""Dated work: made from the adopted plan and from batches, done by people, told where it slips."""
