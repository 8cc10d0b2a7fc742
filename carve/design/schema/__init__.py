"""The tables of a design file, one file each."""
