"""Looks at the quality of a batch before its plants leave."""
