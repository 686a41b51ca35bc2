"""Who was at a practice or game."""
