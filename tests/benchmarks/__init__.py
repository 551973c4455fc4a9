"""Timings against something outside, as ratios of one run; never part of the tests."""
