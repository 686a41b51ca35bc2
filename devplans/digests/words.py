"""The sentences of a digest, made once for HTML and text from the facts that are kept."""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.workouts.wording import duration


@dataclass
class Line:
    """One ruled row: its label and what it says; perhaps a link."""

    label: str
    text: str
    url: str = ""
    link: str = ""


@dataclass
class Part:
    """What the digest says about one child, or one squad."""

    title: str
    sentences: list[str] = field(default_factory=list)
    next_time: str = ""
    watch_url: str = ""
    picture_cid: str = ""
    picture_alt: str = ""
    lines: list[Line] = field(default_factory=list)
    button: str = ""
    button_url: str = ""


def absolute(name: str, *arguments: Any) -> str:
    return settings.PUBLIC_URL + reverse(name, args=arguments)


def of(counted: dict[str, Any]) -> str:
    """ "28 of 40 (long-run rate 55–82 %)"; a dash where nothing was tried."""
    if not counted["tried"]:
        return "–"
    low, high = round(100 * counted["low"]), round(100 * counted["high"])
    words = _(
        "%(made)s of %(tried)s went in; the long-run rate may lie between %(low)s and %(high)s %%"
    )
    return words % {"made": counted["made"], "tried": counted["tried"], "low": low, "high": high}


def week_title(facts: dict[str, Any]) -> str:
    """ "week 47, 16 to 22 November"."""
    first, last = date.fromisoformat(facts["from"]), date.fromisoformat(facts["to"])
    start = date_format(first, "j" if first.month == last.month else "j F")
    number = int(facts["week"][-2:])
    return _("week %(number)s, %(start)s to %(end)s") % {
        "number": number,
        "start": start,
        "end": date_format(last, "j F"),
    }


def dates(events: list[dict[str, Any]], zone: str) -> str:
    """ "Practice Tue 24 Nov 17:30 · Game v Larks Sat 28 Nov 11:00 at Ashdown"."""
    shown = []
    for event in events:
        when = datetime.fromisoformat(event["starts_at"]).astimezone(ZoneInfo(zone))
        what = _("Game") if event["kind"] == "game" else _("Practice")
        if event["opponent"]:
            what = _("%(what)s v %(opponent)s") % {"what": what, "opponent": event["opponent"]}
        words = f"{what} {date_format(when, 'D j M H:i')}"
        if event["place"]:
            words = _("%(words)s at %(place)s") % {"words": words, "place": event["place"]}
        shown.append(words)
    return " · ".join(shown) or _("No dates in the calendar yet.")


def child(part: dict[str, Any], facts: dict[str, Any], *, own: bool) -> Part:
    """A player's week; `own` speaks to the player himself."""
    title = _("Your week") if own else _("%(name)s’s week") % {"name": part["first_name"]}
    made = Part(title=title, sentences=_sentences(part, own=own))
    shown = part["focus"] or part["bright"]
    if shown:
        made.watch_url = absolute("feedback:delivery", shown["delivery"])
        made.next_time = part["focus"]["do_instead"] if part["focus"] else ""
    if part["picture"]:
        made.picture_cid = part["picture"]["cid"]
        made.picture_alt = _("Still of the moment that the comment is about")
    made.lines = [
        *_gym_lines(part),
        Line(_("Messages"), *_messages(part)),
        Line(_("Next"), dates(part["next"], facts["zone"])),
    ]
    made.button = (
        _("Open your page") if own else _("Open %(name)s’s page") % {"name": part["first_name"]}
    )
    made.button_url = absolute("progress:player", part["player"])
    return made


def _sentences(part: dict[str, Any], *, own: bool) -> list[str]:
    name = _("You") if own else part["first_name"]
    gym, film = part["gym"], part["film"]
    if not film and not gym["workouts"]:
        return [_("Nothing new from film and no workout logged this week.")]
    found = []
    if film:
        skills = get_text_list(list(dict.fromkeys(row["skill"].lower() for row in film)), _("and"))
        words = ngettext(
            "%(name)s got %(number)s comment from film, on %(skills)s.",
            "%(name)s got %(number)s comments from film, on %(skills)s.",
            len(film),
        )
        found.append(words % {"name": name, "number": len(film), "skills": skills})
    if part["bright"]:
        words = _("Going well: %(skill)s. “%(happened)s”")
        found.append(
            words
            % {"skill": part["bright"]["skill"].lower(), "happened": part["bright"]["happened"]}
        )
    if part["focus"]:
        words = _("One focus now: %(skill)s.")
        found.append(words % {"skill": part["focus"]["skill"].lower()})
    if gym["workouts"]:
        words = ngettext(
            "%(name)s logged %(number)s workout.",
            "%(name)s logged %(number)s workouts.",
            gym["workouts"],
        )
        found.append(words % {"name": name, "number": gym["workouts"]})
    return found


def _gym_lines(part: dict[str, Any]) -> list[Line]:
    gym = part["gym"]
    practised = _("%(team)s with the team and %(own)s alone. These are the hours we know of.") % {
        "team": duration(gym["minutes_organised"] or 0),
        "own": duration(gym["minutes_own"] or 0),
    }
    lines = [Line(_("Practised"), practised), Line(_("Shots"), of(gym))]
    for drill in part["drills"]:
        if drill["tried"]:
            lines.append(Line(drill["drill"], of(drill)))
        elif drill["reps"]:
            lines.append(Line(drill["drill"], _("%(reps)s reps") % {"reps": drill["reps"]}))
    if part["goals"]:
        shown = [
            _("%(skill)s until %(due)s")
            % {
                "skill": goal["skill"].lower(),
                "due": date_format(date.fromisoformat(goal["due_on"]), "j F"),
            }
            for goal in part["goals"]
        ]
        lines.append(Line(_("Goals"), "; ".join(shown)))
        lines += [
            Line(goal["skill"], on_film(goal["film"])) for goal in part["goals"] if goal.get("film")
        ]
    return lines


def on_film(rate: dict[str, Any]) -> str:
    """What closed counts say of a goal on film so far: chances first, no claim of change."""
    words = _(
        "took %(made)s of %(tried)s chances since the goal began, %(source)s; "
        "the rate may lie between %(low)s and %(high)s %%"
    )
    low, high = round(100 * rate["low"]), round(100 * rate["high"])
    return words % (rate | {"low": low, "high": high})


def _messages(part: dict[str, Any]) -> tuple[str, str, str]:
    talk = part["messages"]
    if not talk["written"]:
        return _("No messages this week."), "", ""
    words = ngettext("%(number)s message", "%(number)s messages", talk["written"]) % {
        "number": talk["written"]
    }
    if talk["open"]:
        waiting = ngettext(
            "%(number)s question is waiting for the coach",
            "%(number)s questions are waiting for the coach",
            talk["open"],
        ) % {"number": talk["open"]}
        words = f"{words}; {waiting}"
    url = absolute("feedback:deliveries", part["player"])
    return f"{words}.", url, _("Read all")


def squad(row: dict[str, Any], facts: dict[str, Any], *, for_director: bool) -> Part:
    """A squad's week for its coach, or for the director."""
    sentences = [
        _(
            "%(with)s of %(players)s players got feedback from film; "
            "%(seen)s of %(sent)s comments were opened."
        )
        % {
            "with": row["with_feedback"],
            "players": row["players"],
            "seen": row["seen"],
            "sent": row["sent"],
        }
    ]
    lines = [
        Line(
            _("Nothing for"),
            get_text_list(row["without_feedback"], _("and")) or _("nobody: everyone got something"),
        ),
        Line(_("Game to comment"), _hours(row["hours_to_feedback"], row["films"])),
        Line(_("Questions open"), str(row["open_questions"])),
        Line(
            _("Training"),
            _("%(team)s with the team, %(own)s alone; %(active)s players logged")
            % {
                "team": duration(row["minutes_organised"]),
                "own": duration(row["minutes_own"]),
                "active": row["active"],
            },
        ),
        Line(_("Shots"), of(row)),
        Line(
            _("Goals"),
            _("%(live)s live, %(paused)s paused, %(closed)s closed")
            % {
                "live": row["goals_live"],
                "paused": row["goals_paused"],
                "closed": row["goals_closed"],
            },
        ),
        *_missing(row),
        Line(_("Next"), dates(row["next"], facts["zone"])),
    ]
    if for_director:
        return Part(
            row["name"],
            sentences,
            lines=lines,
            button=_("Open the club’s page"),
            button_url=absolute("progress:club"),
        )
    return Part(
        row["name"],
        sentences,
        lines=lines,
        button=_("Open Waiting for you"),
        button_url=absolute("home:waiting"),
    )


def _hours(hours: float | None, films: int) -> str:
    if hours is None:
        return _("no film was answered for the first time this week")
    words = ngettext(
        "%(hours)s hours (%(films)s film)", "%(hours)s hours, the middle of %(films)s films", films
    )
    return words % {"hours": f"{hours:g}", "films": films}


def _missing(row: dict[str, Any]) -> list[Line]:
    lines = []
    if row["no_guardian"]:
        lines.append(Line(_("No guardian"), get_text_list(row["no_guardian"], _("and"))))
    if row["no_consent"]:
        lines.append(Line(_("No consent to film"), get_text_list(row["no_consent"], _("and"))))
    return lines
