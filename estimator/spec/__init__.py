"""The project file: text to typed records, with every fault at its place."""
