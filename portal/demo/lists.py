"""The demo club's clip list: what the coach shows the Under 16 on Monday."""

from devplans.feedback.cutting import clip_span
from devplans.feedback.models import ClipList, ClipListItem, Comment
from devplans.film.models import Film
from portal.demo.people import Cast
from portal.demo.script import LENGTH_S

TITLE = "Closeouts, Monday"
# By skill: how many of the latest comments, and what the team is told.
CLIPS = [
    ("closeout-technique", 2, "Where do the feet stop? Short steps before the hands go up."),
    ("contain-ball", 2, "Chest first. The drive has nowhere to go."),
    ("contest-vertical", 1, "Straight up, no foul: what we want after the closeout."),
    ("rebound-position", 1, "And it ends with the ball in our hands."),
]
# The swing to the corner, before anybody closes out.
SPAN = (17_000, 19_500)
SPAN_NOTE = "Freeze it: who has the corner?"


def write(cast: Cast) -> None:
    """A list of the coach's comments with a bare span in front, open to the coaches."""
    shown = ClipList.objects.create(squad=cast.under_16, title=TITLE, author=cast.coach)
    newest = Film.objects.filter(squad=cast.under_16).order_by("-recorded_at").first()
    clips = [{"film": newest, "start_ms": SPAN[0], "end_ms": SPAN[1], "note": SPAN_NOTE}]
    said = Comment.objects.filter(film__squad=cast.under_16, author=cast.coach)
    for slug, count, note in CLIPS:
        rows = said.filter(skill__slug=slug).order_by("-film__recorded_at", "start_ms")
        for place, comment in enumerate(rows[:count]):
            first, last = clip_span(comment.start_ms, comment.end_ms, int(LENGTH_S * 1000))
            clips.append(
                {
                    "film": comment.film, "comment": comment, "skill": comment.skill,
                    "start_ms": first, "end_ms": last, "note": "" if place else note,
                }
            )  # fmt: skip
    ClipListItem.objects.bulk_create(
        ClipListItem(clip_list=shown, position=place, added_by=cast.coach, **clip)
        for place, clip in enumerate(clips)
    )
