"""Rows in and out: CSV and XLSX."""
