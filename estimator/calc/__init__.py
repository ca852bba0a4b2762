"""Engineering and money as pure functions of SI floats; table values are handed in."""
