"""Counts of chances in the demo: a closed one of a whole film, and an open sample of another."""

from random import Random

from devplans.catalogue.models import Skill
from devplans.film.models import Film
from devplans.tallies import services
from devplans.tallies.models import TallyMark
from portal.demo.people import Cast

CLOSED_SKILL, OPEN_SKILL = "screen-communication", "closeout-technique"


def write(cast: Cast) -> None:
    """Write both, on the last two games of the Under 16 that can be watched."""
    films = Film.objects.filter(squad=cast.under_16, state=Film.State.READY)
    films = films.select_related("squad__season__club", "event").order_by("-recorded_at")[:2]
    if len(films) < 2:
        return
    newest, before = films
    skills = {skill.slug: skill for skill in Skill.objects.filter(club=None)}
    roster = cast.players[cast.under_16.name]
    tally = services.start_tally(
        actor=cast.coach, film=before, skills=[skills[CLOSED_SKILL]],
        players=[roster[number] for number in ("12", "14")],
    )  # fmt: skip
    chance = Random("counts")  # noqa: S311 - the same club every time
    for number, rate in (("12", 0.6), ("14", 0.8)):
        for film_ms in sorted(chance.sample(range(2_000, 88_000, 500), 11)):
            TallyMark.objects.create(
                tally=tally, film_ms=film_ms, player=roster[number],
                skill=skills[CLOSED_SKILL], did_it=chance.random() < rate,
            )  # fmt: skip
    services.close_tally(actor=cast.coach, tally=tally, sure=True)
    services.start_tally(
        actor=cast.coach, film=newest, skills=[skills[OPEN_SKILL]],
        players=[roster["4"], roster["12"]], scope="sample", drawn=5,
    )  # fmt: skip
