"""What the demo's coach draws: a circle at a player's feet, and an arrow to where she goes next."""

from functools import cache

from devplans.feedback.drawings.shapes import Shape, parsed
from portal.demo.hall import SIZE, left_edge, project
from portal.demo.play import FPS, Play, Scene
from portal.demo.script import Moment

# How far ahead the arrow looks; a shorter way than this share of the picture needs none.
AHEAD_S = 1.2
SHORTEST = 0.06
FEET = (0.035, 0.03)


@cache
def _scenes() -> list[Scene]:
    return list(Play().scenes())


def _place(scene: Scene, number: str, left: int) -> list[float]:
    figure = next(one for one in scene.figures if one.number == number)
    x, y = project(figure.x, figure.y)
    return [(x - left) / SIZE[0], y / SIZE[1]]


def drawing(moment: Moment) -> list[Shape]:
    """The drawing on the first frame of `moment`; empty where its player is not in the picture."""
    scenes = _scenes()
    first = round(moment.start_ms * FPS / 1000)
    left = left_edge(scenes[first])
    here = _place(scenes[first], moment.numbers[0], left)
    later = scenes[min(len(scenes) - 1, first + round(AHEAD_S * FPS))]
    there = _place(later, moment.numbers[0], left)
    if not all(FEET[0] < share < 1 - FEET[0] for share in here):
        return []
    corner = [here[0] + FEET[0], here[1] + FEET[1]]
    shapes = [{"kind": "circle", "points": [here, corner], "colour": "chalk"}]
    way = abs(there[0] - here[0]) + abs(there[1] - here[1])
    if moment.went_well and way > SHORTEST and all(0 < share < 1 for share in there):
        shapes.append({"kind": "arrow", "points": [here, there], "colour": "chalk"})
    return parsed(shapes)
