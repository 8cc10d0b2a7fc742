"""What is tried many times over, by number, from a seed; ``scripts/trials`` runs and counts it."""
