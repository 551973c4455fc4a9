"""Rules of origin: the sets and strategies a nursery keeps, the verdicts they give, and what people decide."""
