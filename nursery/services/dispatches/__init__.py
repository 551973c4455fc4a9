"""Loads: plants planned for a site, picked, sent, taken over, and those that come back."""
