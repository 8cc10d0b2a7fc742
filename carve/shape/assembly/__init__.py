"""How the parts meet: frames, the side view, the neck on the body, string heights."""
