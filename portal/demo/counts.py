"""Counts of chances in the demo: closed ones of whole films, and an open sample of another."""

from random import Random

from devplans.catalogue.models import Skill
from devplans.film.models import Film
from devplans.tallies import services
from devplans.tallies.models import TallyMark
from portal.demo.people import Cast

CLOSED_SKILL, OPEN_SKILL = "screen-communication", "closeout-technique"
# What was counted for the whole squad on four films: how often it was done, chances of a player.
SQUAD_RATES = {
    "closeout-technique": (0.45, 2),
    "help-position": (0.6, 2),
    "rebound-position": (0.85, 1),
}
SQUAD_FILMS = 4


def write(cast: Cast) -> None:
    """Write them on the last games of the Under 16 that can be watched."""
    films = Film.objects.filter(squad=cast.under_16, state=Film.State.READY)
    films = films.select_related("squad__season__club", "event").order_by("-recorded_at")
    if len(films) < 2:
        return
    newest, before, *earlier = films
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
    for film in earlier[:SQUAD_FILMS]:
        _whole_squad(cast, film, skills, chance)


def _whole_squad(cast: Cast, film: Film, skills: dict[str, Skill], chance: Random) -> None:
    """A closed count of everybody on one film."""
    roster = list(cast.players[cast.under_16.name].values())
    counted = [skills[slug] for slug in SQUAD_RATES if slug in skills]
    tally = services.start_tally(actor=cast.coach, film=film, skills=counted, players=roster)
    TallyMark.objects.bulk_create(
        TallyMark(
            tally=tally, film_ms=chance.randrange(2_000, 88_000, 500), player=player,
            skill=skill, did_it=chance.random() < SQUAD_RATES[skill.slug][0],
        )
        for player in roster
        for skill in counted
        for _one in range(chance.randrange(SQUAD_RATES[skill.slug][1] + 2))
    )  # fmt: skip
    services.close_tally(actor=cast.coach, tally=tally, sure=True)
