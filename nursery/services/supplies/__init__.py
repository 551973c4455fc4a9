"""Materials: what there is, what weeks ahead take, and what to order when."""
