"""From a design file to a design and back, with sentences about what is wrong."""
