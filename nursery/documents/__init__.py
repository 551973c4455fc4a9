"""Bytes out: charts, sheets and labels. No Flask, no tables of the database."""
