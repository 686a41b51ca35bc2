"""Every chart in every state, in Chromium: axe, a phone of 320 px, and the ink of page and mail."""

import io
import re
from base64 import b64encode
from pathlib import Path
from types import SimpleNamespace

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.template import engines
from PIL import Image, ImageChops

from devplans.core import charts, charts_png, render
from tests.screens.test_every_screen import BAD

pytestmark = [pytest.mark.e2e, pytest.mark.once]
HERE = Path(__file__).parent
STYLES = ["tokens.css", "base.css", "layout.css", "rows.css", "figures.css"]
# Ground and the faintest colour, a hairline's, are 49 apart at their blue.
INKED = 25


def points(count: int, tried: int) -> list[charts.Point]:
    shares = [(7 * n + 3) % (tried + 1) for n in range(count)]
    return [charts.Point(str(30 + n), made, tried) for n, made in enumerate(shares)]


def beside(count: int) -> SimpleNamespace:
    film, gym = points(count, 24), points(count, 60)
    film[1] = charts.Point(film[1].label, 0, 0)
    strips = [
        charts.Strip("On film, %", shares=tuple(film)),
        charts.Strip("Gym: made, %", shares=tuple(gym), is_open=True),
        charts.Strip("Gym: reps and tries", counts=tuple(40 + 13 * n % 90 for n in range(count))),
    ]
    labels = [point.label for point in film]
    return SimpleNamespace(label="Help-side position", labels=labels, strips=strips)


def week(label: int, organised: int, own: int) -> dict:
    return {"label": str(label), "organised": organised, "own": own}


WEEKS = [week(40 + n, (95 * n) % 400, (35 * n) % 120) for n in range(8)]
SHARES = [charts.Point("40", 9, 16), charts.Point("41", 0, 0), *points(6, 30)]
TREND = (0.4, 0.6)
GIVEN = {
    "weeks": WEEKS,
    "long": [week(40 + n, 80 * n + 300, 50 * n) for n in range(8)],
    "many": [week(20 + n, 10 * n, 200 - 10 * n) for n in range(20)],
    "two": WEEKS[-2:],
    "none": [week(40 + n, 0, 0) for n in range(8)],
    "shares": SHARES,
    "trend": TREND,
    "reviews": [
        charts.Point(day, made, 90)
        for day, made in (("7 Sep", 38), ("5 Oct", 44), ("2 Nov", 51), ("30 Nov", 60))
    ],
    "one": points(1, 30),
    "beside": beside(14),
    "half_year": beside(26),
}
# The charts of the page that have an id, as mails have them.
MAILED = {
    "share": charts.share(made=9, tried=16, old_made=5, old_tried=15, target=0.75),
    "minutes": charts.minutes(
        [(one["label"], one["organised"], one["own"]) for one in WEEKS], limit=600
    ),
    "series": charts.strips(
        [charts.Strip("", shares=tuple(SHARES), trend=TREND)], [one.label for one in SHARES]
    ),
    "beside": charts.strips(GIVEN["beside"].strips, GIVEN["beside"].labels),
}


def document(*, css: str = "") -> str:
    rules = "".join((Path("portal/static/portal") / name).read_text() for name in STYLES)
    html = engines["django"].from_string((HERE / "charts.html").read_text()).render(GIVEN)
    return html.replace("</head>", f"<style>{rules}{css}</style></head>")


@pytest.fixture
def open_page(browser):
    opened = []

    def open_at(width: int, *, scheme: str = "light", css: str = "", scale: float = 1):
        size = {"width": width, "height": 900}
        context = browser.new_context(viewport=size, color_scheme=scheme, device_scale_factor=scale)
        opened.append(context)
        page = context.new_page()
        page.set_content(document(css=css))
        return page

    yield open_at
    for context in opened:
        context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_paper_and_at_night(open_page, scheme):
    page = open_page(1280, scheme=scheme)
    page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true; })")
    found = Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in BAD] == []


TEXTS = """all => all.map(one => {
  const box = one.getBoundingClientRect();
  const chart = one.closest("svg.chart");
  const seen = [...chart.querySelectorAll("text")].filter(other => other !== one).some(other => {
    const its = other.getBoundingClientRect();
    return box.left < its.right && its.left < box.right && box.top + 3 < its.bottom - 3
      && its.top + 3 < box.bottom - 3;
  });
  return {text: one.textContent, left: box.left, right: box.right, over: seen,
          size: parseFloat(getComputedStyle(one).fontSize)};
})"""


@pytest.mark.parametrize(("width", "text"), [(320, 1), (320, 2), (390, 1), (1280, 1)])
def test_text_is_large_enough_whole_and_never_over_other_text(open_page, width, text):
    page = open_page(width, css=f"html {{ font-size: {100 * text}%; }}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = page.eval_on_selector_all("svg.chart text", TEXTS)
    assert len(found) > 60
    assert min(one["size"] for one in found) >= 11 * text
    assert [one for one in found if one["left"] < 0 or one["right"] > width] == []
    if text == 1:
        assert [one for one in found if one["over"]] == []


def ink(picture: Image.Image, ground: tuple[int, int, int]) -> Image.Image:
    """255 where a pixel is not the ground's."""
    away = ImageChops.difference(picture, Image.new("RGB", picture.size, ground))
    red, green, blue = away.split()
    most = ImageChops.lighter(ImageChops.lighter(red, green), blue)
    return most.point(lambda value: 255 if value >= INKED else 0)


def agreement(one: Image.Image, other: Image.Image) -> float:
    """Pixels that are inked in both, of those that are in either."""
    both, either = ImageChops.darker(one, other), ImageChops.lighter(one, other)
    return both.histogram()[255] / either.histogram()[255]


@pytest.mark.parametrize(("theme", "scheme"), [("paper", "light"), ("night", "dark")])
def test_a_mail_shows_the_ink_of_the_page(open_page, theme, scheme):
    """Both with the font that mails are drawn with: the page's own is the reader's."""
    font = b64encode(render.font_path().read_bytes()).decode()
    scale = charts_png.WIDTH / charts_png.LAYOUT
    page = open_page(
        charts_png.LAYOUT,
        scheme=scheme,
        scale=scale,
        css=f"@font-face {{ font-family: Mailed; src: url(data:font/ttf;base64,{font}); }}"
        " :root { --sans: Mailed; } .strong { font-weight: 400 !important; }"
        " .numbers, figcaption { display: none; } [id].shown { position: fixed; inset: 0;"
        f" z-index: 9; padding: {charts_png.EDGE}px; background: var(--ground); }}",
    )
    page.evaluate("document.fonts.ready")
    ground = tuple(bytes.fromhex(charts_png.TOKENS[theme]["ground"][1:]))
    found = {}
    for name, chart in MAILED.items():
        mailed = Image.open(io.BytesIO(charts_png.png(name, chart, theme=theme))).convert("RGB")
        page.locator(f"#{name}").evaluate("one => one.classList.add('shown')")
        size = {"width": charts_png.LAYOUT, "height": chart.height + 2 * charts_png.EDGE}
        raw = page.screenshot(clip={"x": 0, "y": 0} | size)
        page.locator(f"#{name}").evaluate("one => one.classList.remove('shown')")
        shown = Image.open(io.BytesIO(raw)).convert("RGB")
        assert abs(shown.width - mailed.width) <= 1
        assert abs(shown.height - mailed.height) <= 1
        size = (min(shown.width, mailed.width), min(shown.height, mailed.height))
        pair = [ink(one.crop((0, 0, *size)), ground) for one in (shown, mailed)]
        found[name] = round(agreement(*pair), 3)
    print(theme, found)
    assert min(found.values()) >= 0.9, found


def test_ink_that_lies_elsewhere_does_not_agree():
    """The measure itself: a mark moved by four points of a hundred is noticed."""
    ground = tuple(bytes.fromhex(charts_png.TOKENS["paper"]["ground"][1:]))
    pair = [
        ink(Image.open(io.BytesIO(charts_png.png("share", one))).convert("RGB"), ground)
        for one in (charts.share(made=50, tried=100), charts.share(made=54, tried=100))
    ]
    assert agreement(*pair) < 0.9
    assert agreement(pair[0], pair[0]) == 1


def test_the_page_to_look_at_holds_no_style_attribute():
    assert not re.search(r"\sstyle=", document())
