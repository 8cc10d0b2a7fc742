"""Values a design is made of: lengths with units, profiles, lines and curves."""
