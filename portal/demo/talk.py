"""What the demo's coach said over a film, as an app on a phone wrote it down: understood as any
other transcript is, a few suggestions accepted, the rest left for whoever looks around."""

from devplans.film.models import Film
from devplans.talkthrough import captions
from devplans.talkthrough.models import Suggestion
from devplans.talkthrough.services import aliases, suggestions, transcripts
from devplans.talkthrough.settling import is_certain
from portal.demo.people import Cast

FILE_NAME = "second quarter.txt"
# A nickname that the squad's coaches have taught the portal, by number.
NICKNAMES = {"12": "nessie"}
ACCEPTED = 2
# Said while the film ran. What was written down wrongly is wrong here, too: Maria, Agnes, Laurie.
SAID = """\
[0:01] Right, second quarter, let us have a look.
[0:03] Nessie waits for the screen, shoulder to hip past it, lovely.
[0:07] And the pass goes out to the corner right on time.
[0:12] Okay, other end now.
[0:19] Number four, you are late on that closeout, you start on the catch.
[0:22] Leave on the pass, short steps, one hand high.
[0:26] Lowri runs the floor flat out, wide of the ball. That is what we practise.
[0:30] But Lowri, that layup is rushed. Next time a long last stride, eyes on the square.
[0:34] Runa crashes the offensive boards while the shot is in the air. Great effort.
[0:38] Their number six brings it up, they are slow today.
[0:41] Pemberton keeps her chest in front and stops the drive.
[0:45] Fourteen goes straight up on the shooter, no foul, good contest.
[0:48] Haas boxes out first and takes the rebound with two hands, well done.
[0:52] Okay, back up the other end.
[0:54] Carys and Maria are on the same wing here, no spacing at all.
[0:57] One of you has to drift to the corner.
[1:00] And twenty three there, holds the ball too long and the pass gets picked off.
[1:03] That ball has to leave a beat earlier.
[1:06] Coffee in this hall is still terrible, by the way.
[1:09] Okay, they throw it in.
[1:12] Agnes and Runa, nobody calls that screen. Early, loud, twice.
[1:16] Say the name and the side before she is hit.
[1:20] Laurie catches ready and swings it to the second side at once, good.
[1:23] Mirela lands on two feet and goes up strong through contact. Yes.
[1:27] That is the quarter.
"""


def write(cast: Cast) -> None:
    """Bring it to the last game but one of the Under 16, whose film can be watched."""
    films = Film.objects.filter(squad=cast.under_16, state=Film.State.READY)
    film = films.select_related("squad__season__club").order_by("-recorded_at")[1:2].first()
    if film is None:
        return
    coach, roster = cast.coach, cast.players[cast.under_16.name]
    for number, heard in NICKNAMES.items():
        aliases.learn(actor=coach, squad=film.squad, player=roster[number], heard=heard)
    talk = transcripts.add_transcript(
        actor=coach, film=film, transcript=captions.read(SAID), file_name=FILE_NAME
    )
    transcripts.understand_now(talk_id=talk.pk)
    certain = [one for one in Suggestion.objects.of_talk(talk).shown() if is_certain(one)]
    for one in certain[:ACCEPTED]:
        suggestions.accept(actor=coach, suggestion=one)
