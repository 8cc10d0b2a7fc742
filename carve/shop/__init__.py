"""What the shop needs to know: blanks, setups, sawing, reach, the order of the work."""
