"""Lots, trips and stands in the forms that gene banks, biodiversity portals and maps ask for."""
