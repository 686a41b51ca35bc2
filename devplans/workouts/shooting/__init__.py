"""The shooting log: what was made and tried, by place and over time."""
