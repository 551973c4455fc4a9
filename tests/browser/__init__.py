"""Journeys and looks through a real Chromium."""
