"""The components, as tags and filters that every template has without loading them."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import template
from django.core.paginator import Page
from django.forms import BoundField
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from devplans.stats.court_lines import court_lines
from devplans.stats.proportions import wilson_interval
from devplans.workouts import wording
from portal import figures

register = template.Library()

DASH = "–"
# Below this many attempts the range is too wide to mean anything to a reader.
FEW = 20


# --- figures ---------------------------------------------------------------


@register.inclusion_tag("components/_verdict.html")
def verdict(value: str, *, words: bool = False) -> dict[str, Any]:
    """Filled mark, open mark or short rule for a verdict of `did_it`, `not_yet` or `note`.

    words: show its words beside it. Raises KeyError for any other value.
    """
    names = {"did_it": _("did it"), "not_yet": _("not yet"), "note": _("note")}
    return {"verdict": str(value), "name": names[str(value)], "words": words}


@register.inclusion_tag("components/_made_tried.html")
def made_tried(
    *,
    made: int | None,
    tried: int | None,
    interval: bool = False,
    low: float | None = None,
    high: float | None = None,
) -> dict[str, Any]:
    """`7 of 10`, with its range if asked; a dash when nothing was tried, never 0 %.

    low, high: shares 0..1; worked out as the Wilson interval where left out.
    """
    if not tried:
        return {"tried": 0}
    made = made or 0
    few = tried < FEW
    if interval and not few and (low is None or high is None):
        low, high = wilson_interval(made, tried)
    shown = {"made": made, "tried": tried, "interval": interval, "few": few}
    return shown | {"low": low, "high": high}


@register.inclusion_tag("components/_strokes.html")
def strokes(count: int | None, *, of: str = "") -> dict[str, Any]:
    """A count as strokes in fives; a dash for none. of: what is counted, to be read out."""
    count = count or 0
    return {
        "count": count,
        "drawing": figures.strokes(min(count, 5 * figures.MOST_FIVES)),
        "more": max(0, count - 5 * figures.MOST_FIVES),
        "of": of,
    }


@register.inclusion_tag("components/_court.html")
def court(*, rules: str, label: str = "") -> dict[str, Any]:
    """The lines of a half court, ring at the top, in millimetres from the point under the ring."""
    lines = court_lines(rules)
    return {
        "court": lines,
        "label": label or _("Half court"),
        "left": -lines.width / 2,
        "top": -lines.baseline,
        "depth": lines.half_length,
        "bottom": lines.half_length - lines.baseline,
        "key_left": -lines.key_width / 2,
        "key_depth": lines.free_throw + lines.baseline,
        "board_left": -lines.board_width / 2,
    }


# --- words -----------------------------------------------------------------


@register.filter
def film_time(ms: int | None) -> str:
    """Milliseconds from the first frame as "50:12" or "1:02:03"; a dash for none."""
    if ms is None:
        return DASH
    minutes, seconds = divmod(int(ms) // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"


@register.filter
def duration(minutes: float | None) -> str:
    """Minutes as "3 h 10 min"; a dash for none at all, "0 min" for a counted nothing."""
    if minutes is None:
        return DASH
    return wording.duration(round(minutes))


@register.filter
def seconds(ms: int | None) -> str:
    """Milliseconds as "6 seconds", rounded; at least one."""
    if ms is None:
        return DASH
    count = max(1, round(ms / 1000))
    return ngettext("%(count)s second", "%(count)s seconds", count) % {"count": count}


@register.filter
def percent(share: float | None) -> str:
    """A share 0..1 as "56 %"; a dash where it is undefined."""
    return DASH if share is None else f"{round(100 * share)} %"


@register.filter
def and_list(names: Iterable[object] | None) -> str:
    """Names as a sentence says them: "Inès, Runa and Tove"."""
    words = [str(name) for name in names or ()]
    if len(words) < 2:
        return "".join(words)
    return _("%(names)s and %(last)s") % {"names": ", ".join(words[:-1]), "last": words[-1]}


@register.filter
def or_dash(value: object) -> object:
    """The value, or a dash for none and for an empty text; 0 stays 0."""
    return DASH if value is None or value == "" else value


# --- forms and pages -------------------------------------------------------


@register.inclusion_tag("components/_field.html")
def field(
    bound: BoundField, *, label: str = "", help: str = "", optional: bool = True
) -> dict[str, Any]:
    """Label, help, control and errors of one form field, wired for those who hear the page.

    optional: say "(not required)" on a field that may stay empty.
    """
    kind = getattr(bound.field.widget, "input_type", "")
    described = [f"{bound.auto_id}_errors"] if bound.errors else []
    help_text = help or bound.help_text
    if help_text:
        described.append(f"{bound.auto_id}_help")
    attributes: dict[str, Any] = {"aria-describedby": " ".join(described)} if described else {}
    if bound.errors:
        attributes["aria-invalid"] = "true"
    return {
        "bound": bound,
        "control": bound.as_widget(attrs=attributes),
        "label": label or bound.label,
        "help": help_text,
        "optional": optional and not bound.field.required and kind != "checkbox",
        "is_box": kind == "checkbox" and not bound.use_fieldset,
        "is_group": bound.use_fieldset,
        "hidden": bound.is_hidden,
    }


@register.inclusion_tag("components/_form_errors.html")
def form_errors(form: Any) -> dict[str, Any]:
    """What is wrong with the form as a whole; nothing where nothing is."""
    return {"errors": form.non_field_errors()}


@register.inclusion_tag("components/_hint.html")
def hint(keys: str, text: str = "") -> dict[str, Any]:
    """Keyboard hint: {% hint "[ ]" "possession" %}; keys are separated by spaces."""
    return {"keys": keys.split(), "text": text}


@register.inclusion_tag("components/_empty.html")
def empty(
    title: str, text: str = "", *, url: str = "", action: str = "", heading: str = "h2"
) -> dict[str, Any]:
    """What stands where a list would be: what is missing, what to do, and the link to do it.

    heading: h1, h2 or h3, whichever comes next on the page.
    """
    return {"title": title, "text": text, "url": url, "action": action, "heading": heading}


@register.inclusion_tag("components/_page_links.html", takes_context=True)
def page_links(context: template.Context, page: Page) -> dict[str, Any]:
    """Newer and older, keeping the other parameters of the address; nothing for a single page."""
    request = context.get("request")
    query = request.GET.copy() if request else None

    def address(number: int) -> str:
        if query is None:
            return f"?page={number}"
        query["page"] = str(number)
        return f"?{query.urlencode()}"

    return {
        "page": page,
        "newer": address(page.previous_page_number()) if page.has_previous() else "",
        "older": address(page.next_page_number()) if page.has_next() else "",
    }


@register.inclusion_tag("components/_progress.html")
def progress_bar(value: float | None, *, label: str) -> dict[str, Any]:
    """How far something is, 0..1; None while that is not known yet."""
    return {"percent": None if value is None else round(100 * value), "label": label}


@register.inclusion_tag("components/_marks.html")
def marks(verdicts: Sequence[str]) -> dict[str, Any]:
    """A row of verdict marks, read out as counts."""
    return {"verdicts": verdicts}
