"""The sums of a player's weeks: counted from what was logged, and kept as rows."""
