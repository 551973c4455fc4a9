"""Papers that travel with seed and plants: which apply, what they print, drafts until somebody signs."""
