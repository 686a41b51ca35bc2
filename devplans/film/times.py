"""Film times in words. Pure."""


def told(ms: int) -> str:
    """Milliseconds from the first frame as "50:12", hours in front where there are any."""
    minutes, seconds = divmod(ms // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"
