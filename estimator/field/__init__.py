"""Readings from the field: batches, verdicts, causes."""
