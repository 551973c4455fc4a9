"""What lives after planting: survival in plots, and plants that make up for losses."""
