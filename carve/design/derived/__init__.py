"""What follows from a design in plain numbers, for rules and shapes alike."""
