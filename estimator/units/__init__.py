"""Units at the two doors: text with a unit to an SI float, and back."""
