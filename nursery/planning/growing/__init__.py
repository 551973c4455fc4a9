"""What grows: stages of a batch, what a count says, and how many plants will be ready."""
