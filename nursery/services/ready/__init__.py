"""Stock for a planting season: what stands ready, what still grows, what is promised, free and short."""
