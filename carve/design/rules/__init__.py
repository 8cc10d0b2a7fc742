"""What the keys of a design must agree on, one file a table."""
