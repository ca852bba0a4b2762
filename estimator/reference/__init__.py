"""Published tables as data files, each with its source, edition and confidence."""
