"""A squad's week for its coach; all squads' for the director: counts only, nobody is ranked."""

from statistics import median
from typing import Any

from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.digests.words.parts import Line, Part, absolute, dates, of, some
from devplans.workouts.wording import duration

MOST_REVIEWS = 10
MOST_TO_COUNT = 5
MOST_NAMES = 30


def squad(row: dict[str, Any], facts: dict[str, Any]) -> Part:
    """A squad's week for its coach."""
    waits = [_questions(row), _pains(row)] if "open_pains" in row else [_questions(row)]
    lines = [
        Line(
            _("Nothing for"), _names(row["without_feedback"], _("nobody: everyone got something"))
        ),
        _to_first_comment(row),
        *waits,
        *_reviews(row),
        *_goals(row),
        *_to_count(row),
        _training(row),
        *_past(row),
        Line(_("Shots"), of(row)),
        *_missing(row),
        Line(_("Next"), dates(row["next"], facts["zone"])),
    ]
    return Part(
        row["name"],
        _fed_back(row),
        lines=lines,
        button=_("Open Waiting for you"),
        button_url=absolute("home:waiting"),
    )


def club(rows: list[dict[str, Any]], facts: dict[str, Any]) -> Part:
    """All squads of the club together, for its director."""
    total = facts.get("whole") or _total(rows)
    lines = [
        _to_first_comment(total),
        *_goals(total),
        _training(total),
        *_past(total),
        *_flags(total),
    ]
    title = _("All squads")
    return Part(title, _fed_back(total), lines=lines, button=_("Open the club’s page"),
                button_url=absolute("progress:club"))  # fmt: skip


def squad_in_club(row: dict[str, Any], facts: dict[str, Any]) -> Part:
    """One squad for the director."""
    lines = [
        Line(
            _("Nothing for"), _names(row["without_feedback"], _("nobody: everyone got something"))
        ),
        _to_first_comment(row),
        _questions(row),
        *_goals(row),
        _training(row),
        Line(_("Shots"), of(row)),
        *_past(row),
        *_missing(row),
        Line(_("Next"), dates(row["next"], facts["zone"])),
    ]
    return Part(row["name"], _fed_back(row), lines=lines)


# --- all squads as one ---


def _total(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """The sums over all squads, for what was kept without them; who plays in two of them counts in
    both."""
    summed = (
        "players", "with_feedback", "sent", "seen", "films", "goals_live", "goals_paused",
        "goals_closed", "minutes_own", "minutes_organised", "active", "open_questions",
        "open_pains", "past_hours",
    )  # fmt: skip
    total: dict[str, Any] = {
        name: sum(row[name] for row in rows if name in row)
        for name in summed
        if any(name in row for row in rows)
    }
    for name in ("no_guardian", "no_consent", "no_birth_date"):
        total[name] = [one for row in rows for one in row.get(name, [])]
    hours = [one for row in rows for one in row.get("each_hours", [])]
    total["hours_to_feedback"] = round(median(hours), 1) if hours else None
    total["films_waiting"] = [one for row in rows for one in row.get("films_waiting", [])]
    words: dict[str, dict[str, Any]] = {}
    for row in rows:
        for one in row.get("goals_by_status", []):
            known = words.setdefault(one["word"], {**one, "goals": 0})
            known["goals"] += one["goals"]
    if any("goals_by_status" in row for row in rows):
        total["goals_by_status"] = list(words.values())
    return total


# --- sentences and rows ---


def _fed_back(row: dict[str, Any]) -> list[str]:
    if not row["players"]:
        return [_("Nobody plays here at the moment.")]
    if not row["sent"] and not row["active"]:
        return [
            _("A quiet week: no comment from film was sent, and nobody logged a workout."),
        ]
    plain = _("Everybody got something from film.")
    if row["with_feedback"] < row["players"]:
        plain = _("Not everybody got something from film.")
    if not row["with_feedback"]:
        plain = _("Nobody got anything from film.")
    words = _(
        "%(with)s of %(players)s players got feedback from film; "
        "%(seen)s of %(sent)s comments were opened."
    ) % {
        "with": row["with_feedback"],
        "players": row["players"],
        "seen": row["seen"],
        "sent": row["sent"],
    }
    return [plain, words]


def _names(names: list[str], nobody: str) -> str:
    return get_text_list(some(names, MOST_NAMES), _("and")) or nobody


def _to_first_comment(row: dict[str, Any]) -> Line:
    words = _hours(row["hours_to_feedback"], row["films"])
    waiting = row.get("films_waiting") or []
    if waiting:
        more = ngettext(
            "%(films)s film has no comment yet, the oldest for %(days)s days.",
            "%(films)s films have no comment yet, the oldest for %(days)s days.",
            len(waiting),
        ) % {"films": len(waiting), "days": max(one["days"] for one in waiting)}
        return Line(_("Game to comment"), words, items=[more])
    return Line(_("Game to comment"), words)


def _hours(hours: float | None, films: int) -> str:
    if hours is None:
        return _("no film was answered for the first time this week")
    words = ngettext(
        "%(hours)s hours (%(films)s film)", "%(hours)s hours, the middle of %(films)s films", films
    )
    return words % {"hours": f"{hours:g}", "films": films}


def _questions(row: dict[str, Any]) -> Line:
    return Line(_("Questions open"), str(row["open_questions"]))


def _pains(row: dict[str, Any]) -> Line:
    """A number only: what hurts is read after signing in."""
    return Line(_("Pain answers open"), str(row["open_pains"]))


def _reviews(row: dict[str, Any]) -> list[Line]:
    reviews = row.get("reviews") or []
    if not reviews:
        return []
    told = [
        # The sentence begins with the word and the day.
        _("%(player)s, %(skill)s: %(sentence)s")
        % {
            "player": one["player"],
            "skill": one["skill"].lower(),
            "sentence": one["sentence"],
        }
        for one in reviews
    ]
    number = ngettext(
        "%(goals)s goal was looked at this week.",
        "%(goals)s goals were looked at this week.",
        len(reviews),
    ) % {"goals": len(reviews)}
    return [Line(_("Reviews"), number, items=some(told, MOST_REVIEWS))]


def _goals(row: dict[str, Any]) -> list[Line]:
    lives = _("%(live)s live, %(paused)s paused, %(closed)s closed") % {
        "live": row["goals_live"],
        "paused": row["goals_paused"],
        "closed": row["goals_closed"],
    }
    by_status = [one for one in row.get("goals_by_status") or [] if one["goals"]]
    words = [
        _("%(label)s: %(goals)s") % {"label": one["label"], "goals": one["goals"]}
        for one in by_status
    ]
    return [Line(_("Goals"), lives, items=["; ".join(words)] if words else [])]


def _to_count(row: dict[str, Any]) -> list[Line]:
    """Which skills to count on film next, since goals wait for it."""
    rows = row.get("to_count") or []
    if not rows:
        return []
    told = []
    for one in rows:
        goals = ngettext(
            "%(goals)s goal waits for it", "%(goals)s goals wait for it", one["goals"]
        ) % {"goals": one["goals"]}
        words = _("%(skill)s: %(waits)s, %(tried)s chances counted so far")
        told.append(words % {"skill": one["skill"], "waits": goals, "tried": one["tried"]})
    words = _("What would tell most when the next film is counted:")
    return [Line(_("To count next"), words, items=some(told, MOST_TO_COUNT))]


def _training(row: dict[str, Any]) -> Line:
    words = ngettext(
        "%(team)s with the team, %(own)s alone; %(active)s player logged",
        "%(team)s with the team, %(own)s alone; %(active)s players logged",
        row["active"],
    )
    return Line(
        _("Training"),
        words
        % {
            "team": duration(row["minutes_organised"]),
            "own": duration(row["minutes_own"]),
            "active": row["active"],
        },
    )


def _past(row: dict[str, Any]) -> list[Line]:
    """How many weeks lie past what is published; who, is read after signing in."""
    if "past_hours" not in row:
        return []
    number = row["past_hours"]
    if not number:
        words = _("Nobody’s week, of the hours we know of, lies past the published limits.")
        return [Line(_("Hours"), words)]
    words = ngettext(
        "%(number)s player’s week, of the hours we know of, lies past the published limits. "
        "This is not medical advice.",
        "%(number)s players’ weeks, of the hours we know of, lie past the published limits. "
        "This is not medical advice.",
        number,
    )
    return [Line(_("Hours"), words % {"number": number})]


def _missing(row: dict[str, Any]) -> list[Line]:
    lines = []
    if row["no_guardian"]:
        lines.append(Line(_("No guardian"), _names(row["no_guardian"], "")))
    if row["no_consent"]:
        lines.append(Line(_("No consent to film"), _names(row["no_consent"], "")))
    return lines


def _flags(row: dict[str, Any]) -> list[Line]:
    """What a director looks after first, as counts."""
    counts = [
        (len(row["no_guardian"]), _("under 18 without a guardian: %(number)s")),
        (len(row["no_consent"]), _("without consent to film: %(number)s")),
        (len(row["no_birth_date"]), _("without a birth date: %(number)s")),
        (row.get("open_pains", 0), _("pain answers open: %(number)s")),
        (row["open_questions"], _("questions without an answer: %(number)s")),
    ]
    told = [words % {"number": number} for number, words in counts if number]
    if not told:
        return [Line(_("To look after"), _("Nothing is open."))]
    return [Line(_("To look after"), "; ".join(told) + ".")]
