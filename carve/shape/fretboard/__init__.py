"""The fretboard: its surface, its frets and the strings over it."""
