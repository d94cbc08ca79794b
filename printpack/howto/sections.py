"""Steps seen in section, across the rows: the start wall at the left, the fitter at the right."""
from __future__ import annotations

from capture.language.messages import gettext
from printpack.howto import joint
from printpack.howto.scene import Part, Scene, Stroke, Thing, Verdict, Word, arc, box, moved, turned

_TILT_DEG = 22.0
#: Board thickness and the floor's level of a scene with one drawing, and of the two halves of a scene with two.
_THICK, _LEVEL = 10.0, 40.0
_HALF_THICK, _HALVES = 9.0, (19.0, 41.0)
_FLOOR = 2.0


def way_round() -> Scene:
    """Tongue to the wall, lip to the fitter; below it the board turned end for end, struck out."""
    things: list[Thing] = []
    for level, shape, right in zip(_HALVES, (joint.board, joint.turned_round), (True, False)):
        top = level - _HALF_THICK
        things += [Part("floor", box(0.0, level, 88.0, level + _FLOOR)),
                   Part("wall", box(0.0, top - 8.0, 6.0, level)),
                   Part("new", shape(16.0, 60.0, _HALF_THICK, top)),
                   Verdict(right, (80.0, top + 1.0, 86.0, top + 6.0) if right
                           else (24.0, top - 2.0, 54.0, level - 0.5))]
    return Scene((*things, Word((9.0, 7.6), gettext("tongue: to the wall"), bold=True),
                  Word((76.0, 7.6), gettext("lip: to you"), "end", True)))


def click() -> Scene:
    """The new board held at a slant, pushed into the groove, lowered."""
    top = _LEVEL - _THICK
    flat = joint.board(34.0, 78.0, _THICK, top)
    return Scene((*_ground(), Part("laid", joint.board(2.0, 34.0, _THICK, top, tongue_left=False)), Part("ghost", flat),
                  Part("new", moved(turned(flat, (34.0, top), _TILT_DEG), 2.6, -1.6)),
                  Stroke("push", ((54.0, 9.0), (40.0, 14.6))), Word((53.0, 7.6), gettext("1 push"), "end", True),
                  Stroke("push", arc((34.0, top), 51.0, 21.0, 3.0)),
                  Word((78.0, 7.6), gettext("2 lower"), "middle", True)))


def tap() -> Scene:
    """A block between hammer and board; below it the hammer on the lip, struck out."""
    things: list[Thing] = []
    for level, right in zip(_HALVES, (True, False)):
        top = level - _HALF_THICK
        block = [Part("tool", box(51.9, top - 3.0, 66.0, level))] if right else []
        hammer = 66.0 if right else 51.9
        things += [Part("floor", box(0.0, level, 88.0, level + _FLOOR)),
                   Part("laid", joint.board(2.0, 22.0, _HALF_THICK, top, tongue_left=False)),
                   Part("new", joint.board(22.0, 45.2, _HALF_THICK, top)), *block,
                   Part("wedge", box(hammer + 0.3, top, hammer + 8.0, top + 6.0)),
                   Part("tool", box(hammer + 2.8, top - 7.0, hammer + 5.4, top)),
                   Stroke("push", ((hammer + 18.0, top + 3.0), (hammer + 9.0, top + 3.0))),
                   Verdict(right, (80.0, top - 6.0, 86.0, top - 1.0) if right
                           else (50.0, top - 6.0, 64.0, level - 1.0))]
    return Scene((*things, Word((50.0, 6.0), gettext("block"), "end"), Stroke("plain", ((50.4, 5.4), (53.0, 7.0)))))


def unclick() -> Scene:
    """The whole last row lifted to the slant it came in at."""
    top = _LEVEL - _THICK
    flat = joint.board(34.0, 78.0, _THICK, top)
    return Scene((*_ground(), Part("laid", joint.board(2.0, 34.0, _THICK, top, tongue_left=False)), Part("ghost", flat),
                  Part("new", moved(turned(flat, (34.0, top), _TILT_DEG), 1.2, -0.8)),
                  Stroke("push", arc((34.0, top), 51.0, 2.0, 19.0)),
                  Word((60.0, 6.0), gettext("1 lift the row"), "end", True),
                  Stroke("push", ((40.0, 15.0), (54.0, 9.4))), Word((38.5, 14.0), gettext("2 pull out"), "end", True)))


def pull() -> Scene:
    """The pull bar hooked over the edge at the wall, where no hammer goes."""
    top = _LEVEL - _THICK
    bar = ((56.4, 20.0), (58.0, 20.0), (58.0, top - 1.6), (79.8, top - 1.6), (79.8, 38.0), (78.2, 38.0), (78.2, top),
           (56.4, top))
    return Scene((*_ground(), Part("wall", box(84.0, 8.0, 88.0, _LEVEL)),
                  Part("laid", joint.board(2.0, 34.0, _THICK, top, tongue_left=False)),
                  Part("new", joint.board(34.0, 78.0, _THICK, top, groove_right=False)), Part("tool", bar),
                  Part("wedge", box(58.4, 20.0, 65.4, 26.0)), Part("tool", box(60.4, 10.0, 63.0, 20.0)),
                  Stroke("push", ((78.0, 23.0), (66.4, 23.0))), Word((54.6, 23.0), gettext("pull bar"), "end")))


def flat(*, casing: bool) -> Scene:
    """A board that cannot be tilted: the lip's locking edge planed off, glue, the board pulled in flat."""
    top = _LEVEL - _THICK
    lock = tuple((26.0 + _THICK * x, top + _THICK * y) for x, y in joint.LOCK)
    over = Part("wall", box(66.0, 8.0, 88.0, top - 1.2)) if casing else Part("tool", box(64.0, 8.0, 72.0, top - 6.0))
    things = (*_ground(), Part("laid", joint.board(2.0, 26.0, _THICK, top, tongue_left=False, planed=True)),
              Part("ghost", lock), Part("new", joint.board(36.0, 80.0, _THICK, top, groove_right=False)), over,
              Part("wall", box(86.0, 8.0, 88.0, _LEVEL)))
    return Scene((*things, Word((30.0, 19.0), gettext("1 plane this off"), "middle", True),
                  Stroke("plain", ((30.0, 20.0), (30.6, 37.0))), Word((2.0, 26.6), gettext("2 glue"), bold=True),
                  Stroke("push", ((62.0, 26.0), (46.0, 26.0))), Word((54.0, 23.6), gettext("3 pull"), "middle", True),
                  Word((63.0, 11.6), gettext("casing") if casing else gettext("radiator"), "end")))


def _ground() -> tuple[Part, ...]:
    return (Part("floor", box(0.0, _LEVEL, 88.0, _LEVEL + _FLOOR)),)
