"""Collecting permits: what they allow, what was taken under them, what is left, and what they ask for."""
