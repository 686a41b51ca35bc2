"""What was marked on a film, as pages read it: possessions, and the game clock."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from devplans.film import clock
from devplans.film.clock import RULE_SETS, Rules
from devplans.film.models import ClockMark, Film, Possession


def rules_of(film: Film) -> Rules:
    """The film's own periods, else those of its club's rule set."""
    if film.period_count and film.period_s and film.overtime_s:
        return Rules(film.period_count, film.period_s, film.overtime_s)
    return RULE_SETS[film.squad.season.club.rule_set]


@dataclass(frozen=True)
class GameClock:
    """The game clock of one film: its rules, and its marks in the order of the film."""

    rules: Rules
    marks: list[tuple[int, int, float]]
    has_own_rules: bool

    def label(self, film_ms: int) -> str:
        """ "Q2 4:31", with "~" where that is a guess; empty where the film has no clock marks."""
        return clock.label(self._prepared, film_ms, rules=self.rules)

    @cached_property
    def _prepared(self) -> clock.Prepared:
        return clock.prepared(self.marks)

    @cached_property
    def facts(self) -> dict[str, Any]:
        """For the page's script."""
        names = [self.rules.name(period) for period in range(1, self.rules.last_period + 1)]
        return {
            "periods": self.rules.periods,
            "period_s": self.rules.period_s,
            "overtime_s": self.rules.overtime_s,
            "names": names,
            "own": self.has_own_rules,
        }


def clock_marks(film: Film) -> list[tuple[int, int, float]]:
    rows = ClockMark.objects.of_film(film).values_list("film_ms", "period", "clock_s")
    return [(film_ms, period, float(clock_s)) for film_ms, period, clock_s in rows]


def game_clock(film: Film) -> GameClock:
    """The game clock of `film`; one query. Who may see the film's comments may see it."""
    return GameClock(rules_of(film), clock_marks(film), film.period_count is not None)


def possession_facts(row: Possession) -> dict[str, Any]:
    return {
        "id": str(row.pk),
        "side": row.side,
        "start_ms": row.start_ms,
        "end_ms": row.end_ms,
    }


def mark_facts(row: ClockMark) -> dict[str, Any]:
    return {
        "id": str(row.pk),
        "film_ms": row.film_ms,
        "period": row.period,
        "clock_s": float(row.clock_s),
    }


def film_marks(user: Any, film: Film) -> dict[str, Any]:
    """All that is marked on a film, for its coaches and directors: plain values for JSON."""
    possessions = Possession.objects.visible_to(user).of_film(film)
    marks = ClockMark.objects.visible_to(user).of_film(film)
    return {
        "possessions": [possession_facts(row) for row in possessions],
        "marks": [mark_facts(row) for row in marks],
        "rules": GameClock(rules_of(film), [], film.period_count is not None).facts,
    }
