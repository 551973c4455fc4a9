"""Plant health: walks round the benches, quarantine, treatments and hygiene."""
