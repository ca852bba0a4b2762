"""Documents: one neutral description, and the writers that render it."""
