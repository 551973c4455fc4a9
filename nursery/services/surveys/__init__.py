"""Survival surveys: plots, what lived in them, what that says of a site, and replacements for what died."""
