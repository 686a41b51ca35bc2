"""A chart as PNG: the very SVG of the page, in the colours of paper or night, on opaque ground."""

import io
from functools import cache

from django.template.loader import render_to_string
from PIL import Image

from devplans.core import render
from devplans.core.charts import Minutes, Series, Share

# As in tokens.css, which pages take their colours from.
TOKENS = {
    "paper": {
        "ground": "#FAF6EC", "ink": "#1D2A44", "faded": "#5A6478",
        "rule": "#D8CFBB", "hardwood": "#9A4F1E",
    },
    "night": {
        "ground": "#12182A", "ink": "#F3EBDD", "faded": "#A8B1C6",
        "rule": "#3A4463", "hardwood": "#E8A468",
    },
}  # fmt: skip
TEMPLATES = {
    "share": "charts/share.svg",
    "minutes": "charts/minutes.svg",
    "series": "charts/series.svg",
    "beside": "charts/series.svg",
}
# Laid out for the narrowest screen, so that its text is large enough when a phone shrinks it.
LAYOUT = 320
EDGE = 8
WIDTH = 1200
# Steps from the ground to a colour: as many as edges need, and the picture is a third as large.
STEPS = {"ink": 6, "faded": 6, "rule": 2, "hardwood": 4}


def png(
    name: str, chart: Share | Minutes | Series, *, theme: str = "paper", width: int = WIDTH
) -> bytes:
    """The chart called `name` ("share", "minutes", "series", "beside") as PNG, `width` pixels wide.

    Under 20 kB where there are at most 16 weeks. Raises KeyError for another name or theme, and
    ValueError for a share of which nothing was tried: there are only words then.
    """
    tokens = TOKENS[theme]
    if isinstance(chart, Share) and chart.now is None:
        raise ValueError("nothing was tried, so there is no chart")
    drawn = render_to_string(TEMPLATES[name], {"chart": chart})
    high = chart.height + 2 * EDGE
    raw = render.png(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LAYOUT} {high}">'
        f"<style>{_style(tokens)}</style>"
        f'<rect width="{LAYOUT}" height="{high}" fill="{tokens["ground"]}"/>'
        f'<svg x="{EDGE}" y="{EDGE}" width="{LAYOUT - 2 * EDGE}" height="{chart.height}"'
        f' color="{tokens["ink"]}" overflow="visible">{drawn}</svg></svg>',
        width=width,
        height=round(width * high / LAYOUT),
    )
    return _small(raw, theme)


def _small(raw: bytes, theme: str) -> bytes:
    """The picture in as few colours as it takes, none of them clear."""
    picture = Image.open(io.BytesIO(raw)).convert("RGB")
    kept = io.BytesIO()
    picture.quantize(palette=_palette(theme), dither=Image.Dither.NONE).save(
        kept, "PNG", optimize=True
    )
    return kept.getvalue()


@cache
def _palette(theme: str) -> Image.Image:
    colours = {name: bytes.fromhex(text[1:]) for name, text in TOKENS[theme].items()}
    ground = colours["ground"]
    found = [*ground]
    for name, steps in STEPS.items():
        for step in range(1, steps + 1):
            pairs = zip(ground, colours[name], strict=True)
            found += [round(low + (high - low) * step / steps) for low, high in pairs]
    picture = Image.new("P", (1, 1))
    picture.putpalette(found)
    return picture


def _style(tokens: dict[str, str]) -> str:
    """What figures.css says of these classes, for a renderer that knows no custom properties."""
    return (
        f"text{{fill:{tokens['faded']};font-family:'Source Sans Pro';font-size:13px}}"
        f".strong{{fill:{tokens['ink']}}}"
        f".accent-fill{{fill:{tokens['hardwood']}}}.accent-line{{stroke:{tokens['hardwood']}}}"
        f".rule-line{{stroke:{tokens['rule']}}}.faded-line{{stroke:{tokens['faded']}}}"
        f".ground-fill{{fill:{tokens['ground']}}}"
    )
