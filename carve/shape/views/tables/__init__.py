"""Tables of figures, for files and screens."""
