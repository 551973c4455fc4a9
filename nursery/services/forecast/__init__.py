"""What growing batches will give, against what is promised, and what can still be done where that falls short."""
