"""What to collect in the coming months: from a plan's needs to populations, permits and trips."""

from nursery.services.programme.reading import Programme, find_trip, read_programme

__all__ = ["Programme", "find_trip", "read_programme"]
