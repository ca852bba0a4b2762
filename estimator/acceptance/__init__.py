"""What each circuit must measure, as data."""
