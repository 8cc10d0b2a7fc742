"""What leaves the lab: the buttons with their fields, and what they answer."""
