"""The iCalendar feed of one player or squad."""
