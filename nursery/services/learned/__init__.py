"""What this nursery has learned of its species: batches seen, rates that follow from them, what they change."""
