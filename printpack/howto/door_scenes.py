"""A door before the first row: what lies under its leaf, and how its casing is undercut, to one scale each."""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import gettext
from printpack.drawing.metrics import ASCENT, text_width
from printpack.drawing.page_layout import SMALL
from printpack.howto.scene import Part, Scene, Stroke, Thing, Word, box

_LEVEL = 40.0
#: The stack under the leaf, and the undercut, are drawn this tall at most, and not over so many times life size.
_TALL, _MOST = 31.0, 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One thing in a stack from the floor up: how thick, mm, its words, and whether it is "under", "board", "profile"
    or "air"."""

    kind: str
    thick_mm: float
    words: str


def under_leaf(layers: tuple[Layer, ...], total: str) -> Scene:
    """The stack under a closed leaf, each layer named with its figure, and what they come to."""
    scale = min(_MOST, _TALL / sum(layer.thick_mm for layer in layers))
    words = min(61.5, 88.0 - max(text_width(layer.words, SMALL) for layer in layers))
    things: list[Thing] = [Part("floor", box(0.0, _LEVEL, 88.0, _LEVEL + 2.0))]
    y = _LEVEL
    for layer in layers:
        top = y - scale * layer.thick_mm
        things += _layer(layer.kind, top, y)
        things += [Stroke("plain", ((52.0, top), (words - 1.5, top))), Word((words, (top + y) / 2 + 1.1), layer.words)]
        y = top
    return Scene((*things, Part("wall", box(37.0, 1.0, 45.0, y)), Word((35.0, 6.0), gettext("leaf"), "end"),
                  Stroke("measure", ((56.0, _LEVEL), (56.0, y))), Word((56.0, y - 2.0), total, "middle", True)))


def _layer(kind: str, top: float, bottom: float) -> list[Thing]:
    if kind == "under":
        return [Part("tool", box(0.0, top, 32.0, bottom))]
    if kind == "board":
        return [Part("new", box(0.0, top, 32.0, bottom)), Part("laid", box(40.0, top, 42.0, _LEVEL))]
    if kind == "profile":
        return [Part("laid", ((28.0, bottom), (30.0, top), (52.0, top), (54.0, bottom)))]
    return []


@dataclass(frozen=True, slots=True, kw_only=True)
class Undercut:
    """The saw cut in a frame, mm: how high over the bare floor, how deep; the underlay, the board, and how far that
    reaches under."""

    underlay_mm: float
    board_mm: float
    high_mm: float
    deep_mm: float
    tuck_mm: float


def _word_within(text: str, left: float, right: float, foot: float) -> Word:
    """A word in an upright part of a frame; turned where it is longer than the part is wide."""
    middle = (left + right) / 2
    if text_width(text, SMALL) <= right - left - 1.0:
        return Word((middle, 10.0), text, "middle")
    return Word((middle + ASCENT * SMALL / 2, foot / 2 + 1.0), text, "middle", upright=True)


def undercut(cut: Undercut, high: str, deep: str, lining: str, stop: str) -> Scene:
    """Casing, lining and stop sawn to one height, the board tucked under them; their words and figures."""
    scale = min(_MOST, 20.0 / cut.high_mm, 40.0 / cut.deep_mm, 16.0 / cut.tuck_mm)
    level, face = _LEVEL - scale * cut.high_mm, 44.0
    end, tip, under = face + scale * cut.deep_mm, face + scale * cut.tuck_mm, _LEVEL - scale * cut.underlay_mm
    return Scene((Part("floor", box(0.0, _LEVEL, 88.0, _LEVEL + 2.0)), Part("tool", box(24.0, under, tip, _LEVEL)),
                  Part("new", box(24.0, under - scale * cut.board_mm, tip, under)),
                  Part("tool", box(face, 2.0, face + 14.0, level)), Part("tool", box(face + 14.0, 2.0, 88.0, level)),
                  Part("tool", box(75.0, 2.0, 86.0, level)), _word_within(gettext("casing"), face, face + 14.0, level),
                  _word_within(lining, face + 14.0, 75.0, level), _word_within(stop, 75.0, 86.0, level),
                  Stroke("saw", ((face, level), (end, level))), Stroke("measure", ((18.0, _LEVEL), (18.0, level))),
                  Stroke("plain", ((15.0, level), (face, level))),
                  Word((16.0, (level + _LEVEL) / 2 + 1.4), high, "end", True),
                  Stroke("plain", ((end - 1.0, level + 0.6), (end - 1.0, 29.0))),
                  Word((87.5, 33.0), deep, "end", True)))
