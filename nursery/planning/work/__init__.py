"""The work of a season: what must be done when, how many hours it takes, what it costs."""
