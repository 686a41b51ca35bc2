"""A player's week, for himself and for his guardians: plain words first, figures after."""

from typing import Any

from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.core import charts
from devplans.digests.words.parts import Figure, Line, Part, absolute, dates, day, moment, of, some
from devplans.workouts.wording import duration

MOST_MESSAGES = 12
GOING_WELL = ("met", "on the way")


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
    made.figures = figures(part)
    made.lines = _lines(part, facts)
    made.button = (
        _("Open your page") if own else _("Open %(name)s’s page") % {"name": part["first_name"]}
    )
    made.button_url = absolute("progress:player", part["player"])
    return made


def is_quiet(part: dict[str, Any]) -> bool:
    """Was there nothing: no comment, no workout, no hours told of, no message?"""
    hours = part.get("hours")
    return not (
        part["film"]
        or part["gym"]["workouts"]
        or (hours and not hours["is_empty"])
        or part["messages"]["written"]
    )


# --- sentences ---


def _sentences(part: dict[str, Any], *, own: bool) -> list[str]:
    name = _("You") if own else part["first_name"]
    found = []
    if part.get("is_first"):
        found.append(_("This is the first week here; there will be more to tell from now on."))
    if is_quiet(part):
        quiet = _(
            "A quiet week: nothing new from film and no workout logged. That is fine; here is what "
            "comes next."
        )
        return [*found, quiet]
    found += [_worked_on(part, name), _bright(part), _focus(part), _amount(part, name)]
    return [words for words in found if words]


def _worked_on(part: dict[str, Any], name: str) -> str:
    skills = list(dict.fromkeys(row["skill"].lower() for row in part["film"]))
    drills = [row["drill"] for row in part["drills"] if row["tried"] or row["reps"]]
    values = {"name": name, "skills": get_text_list(skills, _("and"))}
    values["drills"] = get_text_list(drills, _("and"))
    if skills and drills:
        words = _("%(name)s worked on %(skills)s (from film) and practised %(drills)s.")
    elif skills:
        words = _("%(name)s worked on %(skills)s (from film).")
    elif drills:
        words = _("%(name)s practised %(drills)s.")
    else:
        return ""
    return words % values


def _bright(part: dict[str, Any]) -> str:
    """One thing that goes well: what a coach saw, else a goal."""
    if part["bright"]:
        words = _("Going well: %(skill)s. “%(happened)s”")
        happened = part["bright"]["happened"]
        return words % {"skill": part["bright"]["skill"].lower(), "happened": happened}
    goal = next((one for one in part["goals"] if one.get("word") in GOING_WELL), None)
    if goal is None:
        return ""
    if goal["word"] == "met":
        return _("Going well: the goal on %(skill)s is met.") % {"skill": goal["skill"].lower()}
    words = _("Going well: the goal on %(skill)s is on the way.")
    return words % {"skill": goal["skill"].lower()}


def _focus(part: dict[str, Any]) -> str:
    """One thing to work on: what a coach said last, else the goal that is due first."""
    if part["focus"]:
        return _("One focus now: %(skill)s.") % {"skill": part["focus"]["skill"].lower()}
    goal = next((one for one in part["goals"] if not one.get("is_settled")), None)
    if goal is None:
        return ""
    if goal["words"]:
        words = _("One focus now: %(skill)s. “%(words)s”")
        return words % {"skill": goal["skill"].lower(), "words": goal["words"]}
    return _("One focus now: %(skill)s.") % {"skill": goal["skill"].lower()}


def _amount(part: dict[str, Any], name: str) -> str:
    found = []
    if part["film"]:
        words = ngettext(
            "%(name)s got %(number)s comment from film.",
            "%(name)s got %(number)s comments from film.",
            len(part["film"]),
        )
        found.append(words % {"name": name, "number": len(part["film"])})
    if part["gym"]["workouts"]:
        words = ngettext(
            "%(name)s logged %(number)s workout.",
            "%(name)s logged %(number)s workouts.",
            part["gym"]["workouts"],
        )
        found.append(words % {"name": name, "number": part["gym"]["workouts"]})
    return " ".join(found)


# --- charts ---


def figures(part: dict[str, Any]) -> list[Figure]:
    """The share of the goal that is in focus, and minutes by week; nothing where nothing was."""
    if is_quiet(part):
        return []
    found = [_share_figure(part), _minutes_figure(part)]
    return [one for one in found if one]


def focus_goal(part: dict[str, Any]) -> dict[str, Any] | None:
    """The goal on the skill of the focus, else the one that is due first; of those with a share."""
    goals = [one for one in part["goals"] if one.get("tried") and one.get("low") is not None]
    skill = part["focus"]["skill"] if part["focus"] else ""
    return next((one for one in goals if one["skill"] == skill), goals[0] if goals else None)


def _share_figure(part: dict[str, Any]) -> Figure | None:
    goal = focus_goal(part)
    if goal is None:
        return None
    chart = charts.share(
        made=goal["made"],
        tried=goal["tried"],
        low=goal["low"],
        high=goal["high"],
        old_made=goal["start_made"],
        old_tried=goal["start_tried"],
        old_low=goal["start_low"],
        old_high=goal["start_high"],
        target=goal["target"],
    )
    words = [
        _("%(skill)s: %(made)s of %(tried)s since the goal began, between %(low)s and %(high)s %%")
        % {
            "skill": goal["skill"],
            "made": goal["made"],
            "tried": goal["tried"],
            "low": charts.percent(goal["low"]),
            "high": charts.percent(goal["high"]),
        }
    ]
    if goal["start_tried"]:
        words.append(
            _("%(made)s of %(tried)s before")
            % {"made": goal["start_made"], "tried": goal["start_tried"]}
        )
    if goal["target"] is not None:
        words.append(_("target %(target)s %%") % {"target": charts.percent(goal["target"])})
    caption = _("%(skill)s: the share so far with its interval; the notch is the target") % {
        "skill": goal["skill"]
    }
    return Figure(f"share-{part['player']}", "share", caption, "; ".join(words) + ".", chart)


def _minutes_figure(part: dict[str, Any]) -> Figure | None:
    rows = [tuple(row) for row in part.get("minutes", [])]
    if not any(team or own for _label, team, own in rows):
        return None
    limit = (part.get("hours") or {}).get("limit_h")
    weeks = [
        _("week %(week)s: %(team)s and %(own)s") % {"week": label, "team": team, "own": own}
        for label, team, own in rows
        if team or own
    ]
    if len(weeks) < len(rows):
        weeks.append(_("none in the others"))
    words = _("Minutes logged with the team and alone, weeks %(first)s to %(last)s. %(weeks)s.") % {
        "first": rows[0][0],
        "last": rows[-1][0],
        "weeks": "; ".join(weeks).capitalize(),
    }
    chart = charts.minutes(rows, limit=60 * limit if limit else None)
    caption = _("Minutes logged with the team (filled) and alone (open), by week")
    return Figure(f"minutes-{part['player']}", "minutes", caption, words, chart)


# --- rows ---


def _lines(part: dict[str, Any], facts: dict[str, Any]) -> list[Line]:
    following = Line(_("Next"), dates(part["next"], facts["zone"]))
    if is_quiet(part):
        return [*_goal_lines(part), following]
    return [
        *_hours_lines(part),
        *_gym_lines(part),
        *_goal_lines(part),
        _messages(part, facts),
        following,
    ]


def _hours_lines(part: dict[str, Any]) -> list[Line]:
    hours, gym = part.get("hours"), part["gym"]
    team = hours["team"] if hours else gym["minutes_organised"] or 0
    own = hours["own"] if hours else gym["minutes_own"] or 0
    practised = _("%(team)s with the team and %(own)s alone. These are the hours we know of.") % {
        "team": duration(team),
        "own": duration(own),
    }
    found = [Line(_("Practised"), practised)]
    if hours is None:
        return found
    if hours["lacks_birth_date"]:
        words = _("No birth date is known, so the hours are not held against published limits.")
        found.append(Line(_("Published limits"), words))
    if hours["remarks"]:
        found.append(Line(_("Published limits"), hours["remarks"][0], items=hours["remarks"][1:]))
    if hours["least_rest"] is not None and hours["rest_days"] >= hours["least_rest"]:
        found.append(Line(_("Rest days"), _rest(hours)))
    return found


def _rest(hours: dict[str, Any]) -> str:
    had = ngettext(
        "%(days)s day with nothing logged, as far as we know",
        "%(days)s days with nothing logged, as far as we know",
        hours["rest_days"],
    ) % {"days": hours["rest_days"]}
    return _("%(had)s; the same source advises at least %(least)s a week.") % {
        "had": had,
        "least": hours["least_rest"],
    }


def _gym_lines(part: dict[str, Any]) -> list[Line]:
    lines = [Line(_("Shots"), of(part["gym"]))]
    for drill in part["drills"]:
        if drill["tried"]:
            lines.append(Line(drill["drill"], of(drill)))
        elif drill["reps"]:
            lines.append(Line(drill["drill"], _("%(reps)s reps") % {"reps": drill["reps"]}))
    return lines


def _goal_lines(part: dict[str, Any]) -> list[Line]:
    found = [_goal(goal) for goal in part["goals"] if "word" in goal]
    told_before = [goal for goal in part["goals"] if "word" not in goal]
    if told_before:
        words = _("%(skill)s until %(due)s")
        shown = [
            words % {"skill": goal["skill"].lower(), "due": day(goal["due_on"])}
            for goal in told_before
        ]
        found.append(Line(_("Goals"), "; ".join(shown)))
        found += [
            Line(goal["skill"], on_film(goal["film"])) for goal in told_before if goal.get("film")
        ]
    return found


def _goal(goal: dict[str, Any]) -> Line:
    """Where one goal stands: the word, why, and what would settle it."""
    label = _("Goal on %(skill)s") % {"skill": goal["skill"].lower()}
    items = []
    if goal["settles"]:
        items.append(_("What would tell more: %(settles)s") % {"settles": _lower(goal["settles"])})
    review = goal["last_review"]
    if review:
        words = _("Looked at on %(day)s. %(sentence)s")
        items.append(words % {"day": day(review["reviewed_on"]), "sentence": review["sentence"]})
    if goal["next_review"]:
        items.append(_("Looked at next on %(day)s.") % {"day": day(goal["next_review"])})
    return Line(label, f"{goal['label']}. {goal['sentence']}", items=items)


def _lower(words: str) -> str:
    """The sentence as the end of another one; a name or an abbreviation keeps its capital."""
    return words[:1].lower() + words[1:] if words[1:2].islower() else words


def on_film(rate: dict[str, Any]) -> str:
    """What closed counts say of a goal on film so far: chances first, no claim of change."""
    words = _(
        "took %(made)s of %(tried)s chances since the goal began, %(source)s; "
        "the rate may lie between %(low)s and %(high)s %%"
    )
    low, high = round(100 * rate["low"]), round(100 * rate["high"])
    return words % (rate | {"low": low, "high": high})


def _messages(part: dict[str, Any], facts: dict[str, Any]) -> Line:
    talk = part["messages"]
    if not talk["written"]:
        return Line(_("Messages"), _("No messages this week."))
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
    each = [_message(row, facts["zone"]) for row in part.get("each_message", [])]
    return Line(_("Messages"), f"{words}.", url, _("Read all"), items=some(each, MOST_MESSAGES))


def _message(row: dict[str, Any], zone: str) -> str:
    """ "Tue 17 Nov 18:05: Ines asked about closeouts; it was answered"."""
    values = {
        "at": moment(row["at"], zone),
        "who": row["who"] or _("Somebody"),
        "skill": row["skill"].lower() or _("a clip"),
    }
    if not row["is_question"]:
        return _("%(at)s: %(who)s wrote about %(skill)s") % values
    if row["is_answered"]:
        return _("%(at)s: %(who)s asked about %(skill)s; it was answered") % values
    return _("%(at)s: %(who)s asked about %(skill)s; no answer yet") % values
