"""Dossiers: the whole story of a site or a lot, from mother stand to survivors, as pages and as data."""
