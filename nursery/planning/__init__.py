"""Pure numbers: frozen inputs in, frozen results out; no clock, file, database or web."""
