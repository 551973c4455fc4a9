"""Room in the nursery: bench, spacing and water by stage, what stands where, and levelling."""
