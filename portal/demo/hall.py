"""Draws hall, players and ball. One fixed camera; the picture is cut out of its wide view."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from math import sin
from random import Random

from PIL import Image, ImageDraw, ImageFont

from portal.demo.play import COURT_LENGTH_M, COURT_WIDTH_M, RING_HEIGHT_M, RING_M, Figure, Scene
from portal.demo.script import HOME, PERIOD

SIZE = (640, 360)
WIDE = (1260, 360)

# A camera 22.5 m from the near sideline and 13 m up, its picture plane upright.
FOCAL_PX = 900.0
CAMERA_BACK_M = 22.5
CAMERA_UP_M = 13.0
HORIZON_PX = -184.0

FINE = 4  # everything is drawn this many times larger and scaled down, for clean edges
FIGURE_STEPS = 12
STRIDES = 6
SEED = 20_261_121

DARK, WALL, CROWD = (
    (27, 24, 23),
    (38, 33, 31),
    [(96, 78, 62), (76, 66, 66), (120, 98, 80), (64, 56, 52)],
)
FLOOR, APRON, KEY, LINE = (201, 146, 88), (181, 127, 75), (166, 108, 58), (246, 238, 222)
SHIRTS = {True: ((32, 74, 58), (244, 240, 228)), False: ((240, 236, 226), (29, 42, 68))}
SKINS = [(92, 60, 42), (141, 94, 62), (196, 144, 106), (116, 76, 52), (222, 176, 138)]
BALL, BALL_SEAM = (214, 106, 40), (112, 48, 18)

Colour = tuple[int, int, int]
Spot = tuple[float, float]


def scale_at(y: float) -> float:
    """Pixels per metre at depth `y`, metres from the near sideline."""
    return FOCAL_PX / (CAMERA_BACK_M + y)


def project(x: float, y: float, z: float = 0.0) -> Spot:
    """Where a point of the hall lies in the wide view, in pixels."""
    scale = scale_at(y)
    return (WIDE[0] / 2 + x * scale, HORIZON_PX + (CAMERA_UP_M - z) * scale)


@lru_cache(maxsize=8)
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


class Brush:
    """Draws in metres on an enlarged canvas."""

    def __init__(self, picture: Image.Image) -> None:
        self.draw = ImageDraw.Draw(picture)

    def path(self, points: Sequence[tuple[float, ...]]) -> list[Spot]:
        return [(px * FINE, py * FINE) for px, py in (project(*point) for point in points)]

    def area(self, points: Sequence[tuple[float, ...]], fill: Colour) -> None:
        self.draw.polygon(self.path(points), fill=fill)

    def line(
        self, points: list[tuple[float, ...]], fill: Colour = LINE, width: float = 1.6
    ) -> None:
        self.draw.line(self.path(points), fill=fill, width=round(width * FINE), joint="curve")


def _arc(x: float, y: float, radius: float, start: float, end: float) -> list[tuple[float, ...]]:
    """Points of a circle on the floor; angles in quarter turns from the x direction."""
    steps = 40
    quarter = 1.5707963
    angles = [quarter * (start + (end - start) * step / steps) for step in range(steps + 1)]
    return [(x + radius * sin(quarter - angle), y + radius * sin(angle)) for angle in angles]


def _draw_hall(draw: ImageDraw.ImageDraw) -> None:
    random = Random(SEED)  # noqa: S311 - where the crowd sits, nothing secret
    width, height = WIDE[0] * FINE, WIDE[1] * FINE
    draw.rectangle((0, 0, width, height), fill=DARK)
    for _ in range(900):
        x, y = random.uniform(0, WIDE[0]), random.uniform(0, 92)
        size = random.uniform(2.0, 4.6)
        shade = random.choice(CROWD)
        box = ((x - size) * FINE, (y - size) * FINE, (x + size) * FINE, (y + size) * FINE)
        draw.ellipse(box, fill=shade)
    draw.rectangle((0, 94 * FINE, width, height), fill=WALL)


def _draw_lines(brush: Brush) -> None:
    half, wide = COURT_LENGTH_M / 2, COURT_WIDTH_M
    mid = wide / 2
    brush.area(
        [(-half - 2, -1.2), (half + 2, -1.2), (half + 2, wide + 1.2), (-half - 2, wide + 1.2)],
        APRON,
    )
    brush.area([(-half, 0), (half, 0), (half, wide), (-half, wide)], FLOOR)
    for way in (-1, 1):
        end, foul = way * half, way * (half - 5.8)
        brush.area(
            [(end, mid - 2.45), (end, mid + 2.45), (foul, mid + 2.45), (foul, mid - 2.45)], KEY
        )
        brush.line([(end, mid - 2.45), (foul, mid - 2.45), (foul, mid + 2.45), (end, mid + 2.45)])
        facing = (1, 3) if way > 0 else (-1, 1)
        brush.line(_arc(foul, mid, 1.8, *facing))
        ring = way * (half - RING_M)
        brush.line(_arc(ring, mid, 1.25, *facing))
        # The arc meets the straight part 0.9 m from the sideline.
        sweep = (1.136, 2.864) if way > 0 else (-0.864, 0.864)
        curve = _arc(ring, mid, 6.75, *sweep)
        if curve[0][1] > curve[-1][1]:
            curve.reverse()
        brush.line([(end, 0.9), *curve, (end, wide - 0.9)])
    brush.line(_arc(0, mid, 1.8, 0, 4))
    brush.line([(0, 0), (0, wide)])
    brush.line([(-half, 0), (half, 0), (half, wide), (-half, wide), (-half, 0)], width=2.2)


@lru_cache(maxsize=1)
def wide_view() -> Image.Image:
    """The empty hall, without baskets."""
    picture = Image.new("RGB", (WIDE[0] * FINE, WIDE[1] * FINE))
    brush = Brush(picture)
    _draw_hall(brush.draw)
    _draw_lines(brush)
    return picture.resize(WIDE, Image.Resampling.LANCZOS)


@lru_cache(maxsize=2)
def _basket(way: int) -> tuple[Image.Image, tuple[int, int]]:
    """One basket with its stand, and where its picture belongs in the wide view."""
    picture = Image.new("RGBA", (WIDE[0] * FINE, WIDE[1] * FINE))
    brush = Brush(picture)
    half, mid = COURT_LENGTH_M / 2, COURT_WIDTH_M / 2
    board, ring = way * (half - 1.2), way * (half - RING_M)
    post = way * (half + 1.6)
    brush.line([(post, mid, 0), (post, mid, 2.6), (board, mid, 3.3)], (60, 62, 70), 4.5)
    corners: list[tuple[float, ...]] = [
        (board, mid + side * 0.9, z) for side, z in ((-1, 2.9), (1, 2.9), (1, 3.95), (-1, 3.95))
    ]
    brush.area(corners, (232, 230, 224))
    brush.line([*corners, corners[0]], (120, 112, 104), 1.2)
    hoop: list[tuple[float, ...]] = [(x, y, RING_HEIGHT_M) for x, y in _arc(ring, mid, 0.24, 0, 4)]
    for x, y, z in hoop[::3]:
        low = (ring + (x - ring) * 0.55, mid + (y - mid) * 0.55, z - 0.42)
        brush.line([(x, y, z), low], (226, 222, 214), 0.6)
    brush.line(hoop, (196, 78, 30), 1.6)
    small = picture.resize(WIDE, Image.Resampling.LANCZOS)
    box = small.getbbox() or (0, 0, 0, 0)
    return small.crop(box), box[:2]


@lru_cache(maxsize=2_000)
def _figure(number: str, step: int, stride: int, arms_up: bool) -> Image.Image:
    """One player. step: how near, 0 .. FIGURE_STEPS; the feet stand at the middle of the bottom."""
    near, far = scale_at(0.0), scale_at(COURT_WIDTH_M)
    metre = (far + (near - far) * step / FIGURE_STEPS) * FINE
    width, height = round(1.3 * metre), round(2.5 * metre)
    picture = Image.new("RGBA", (width, height))
    draw = ImageDraw.Draw(picture)
    shirt, ink = SHIRTS[number in HOME]
    skin = SKINS[int(number) % len(SKINS)]
    middle, ground = width / 2, height - 0.08 * metre

    def box(x: float, up: float, wide: float, tall: float) -> tuple[float, float, float, float]:
        left, bottom = middle + (x - wide / 2) * metre, ground - up * metre
        return (left, bottom - tall * metre, left + wide * metre, bottom)

    def limb(points: list[Spot], fill: Colour, wide: float) -> None:
        spots = [(middle + x * metre, ground - up * metre) for x, up in points]
        draw.line(spots, fill=fill, width=round(wide * metre), joint="curve")

    draw.ellipse(box(0, -0.08, 0.95, 0.2), fill=(60, 38, 20, 110))
    swing = 0.0 if stride < 0 else 0.26 * sin(6.2832 * stride / STRIDES)
    for side in (-1, 1):
        foot = side * (0.15 + (0 if stride >= 0 else 0.05)) + side * swing
        limb([(side * 0.11, 0.85), (side * 0.13 + foot * 0.3, 0.45), (foot, 0.04)], skin, 0.15)
        limb([(foot - 0.03, 0.04), (foot + 0.09, 0.04)], (240, 240, 236), 0.1)
        hand = (side * 0.4, 2.2) if arms_up else (side * 0.42 - side * swing * 0.4, 0.95)
        limb([(side * 0.24, 1.46), (side * 0.38, 1.75 if arms_up else 1.2), hand], skin, 0.12)
    draw.rounded_rectangle(box(0, 0.66, 0.5, 0.38), 0.1 * metre, fill=shirt)
    draw.rounded_rectangle(box(0, 0.9, 0.56, 0.66), 0.14 * metre, fill=shirt)
    draw.ellipse(box(0, 1.58, 0.3, 0.34), fill=skin)
    draw.pieslice(box(0, 1.6, 0.32, 0.34), 180, 360, fill=(34, 26, 22))
    centre = (middle, ground - 1.22 * metre)
    draw.text(
        centre, number, font=_font(round(0.46 * metre)), fill=ink, anchor="mm", stroke_width=1
    )
    return picture.resize((width // FINE, height // FINE), Image.Resampling.LANCZOS)


@lru_cache(maxsize=32)
def _ball(radius_px: int) -> Image.Image:
    size = (2 * radius_px + 2) * FINE
    picture = Image.new("RGBA", (size, size))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((FINE, FINE, size - FINE, size - FINE), fill=BALL, outline=BALL_SEAM, width=FINE)
    draw.line((FINE, size / 2, size - FINE, size / 2), fill=BALL_SEAM, width=FINE // 2)
    return picture.resize((size // FINE, size // FINE), Image.Resampling.LANCZOS)


def _place_figure(figure: Figure) -> tuple[Image.Image, tuple[int, int]]:
    step = round(FIGURE_STEPS * (1 - min(max(figure.y / COURT_WIDTH_M, 0.0), 1.0)))
    stride = int(figure.stride * STRIDES / 3.0) % STRIDES if figure.speed > 0.7 else -1
    sprite = _figure(figure.number, step, stride, figure.arms_up)
    x, y = project(figure.x, figure.y)
    low = 0.08 * sprite.height / 2.5
    return sprite, (round(x - sprite.width / 2), round(y - sprite.height + low))


def _place_ball(ball: tuple[float, float, float]) -> tuple[Image.Image, tuple[int, int]]:
    x, y = project(*ball)
    # Drawn half as large again as it is, so that it can be followed in a small picture.
    sprite = _ball(max(3, round(0.18 * scale_at(ball[1]))))
    return sprite, (round(x - sprite.width / 2), round(y - sprite.height / 2))


def _clock_text(clock_s: float) -> str:
    minutes, seconds = divmod(int(clock_s), 60)
    return f"{minutes}:{seconds:02d}"


@lru_cache(maxsize=400)
def scoreboard(home: str, away: str, score: tuple[int, int], clock: str) -> Image.Image:
    """The plate with names, score, period and clock."""
    plate = Image.new("RGB", (268, 26), (18, 24, 42))
    draw = ImageDraw.Draw(plate)
    pale, warm = (243, 235, 221), (232, 164, 104)
    draw.rectangle((0, 0, 4, 26), fill=SHIRTS[True][0])
    draw.text((12, 13), home, font=_font(13), fill=pale, anchor="lm")
    draw.text((96, 13), str(score[0]), font=_font(16), fill=pale, anchor="rm")
    draw.rectangle((104, 0, 108, 26), fill=SHIRTS[False][0])
    draw.text((116, 13), away, font=_font(13), fill=pale, anchor="lm")
    draw.text((192, 13), str(score[1]), font=_font(16), fill=pale, anchor="rm")
    draw.text((206, 13), f"Q{PERIOD}", font=_font(13), fill=warm, anchor="lm")
    draw.text((260, 13), clock, font=_font(16), fill=warm, anchor="rm")
    return plate


def left_edge(scene: Scene) -> int:
    """Where the picture of a scene begins in the wide view, pixels."""
    return round(min(max(project(scene.watch_x, 7.5)[0] - SIZE[0] / 2, 0), WIDE[0] - SIZE[0]))


def draw_scene(scene: Scene, *, home: str, away: str) -> Image.Image:
    """One frame of the film, `SIZE` pixels."""
    left = left_edge(scene)
    picture = wide_view().crop((left, 0, left + SIZE[0], SIZE[1]))
    for sprite, (x, y) in _in_depth(scene):
        picture.paste(sprite, (x - left, y), sprite)
    picture.paste(scoreboard(home, away, scene.score, _clock_text(scene.clock_s)), (14, 14))
    return picture


def _in_depth(scene: Scene) -> Iterator[tuple[Image.Image, tuple[int, int]]]:
    """What stands on the floor, the furthest first."""
    placed = [(figure.y, _place_figure(figure)) for figure in scene.figures]
    placed += [(COURT_WIDTH_M / 2, _basket(way)) for way in (-1, 1)]
    placed.append((scene.ball[1], _place_ball(scene.ball)))
    placed.sort(key=lambda row: -row[0])
    for _, sprite in placed:
        yield sprite
