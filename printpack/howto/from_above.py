"""Steps seen from above: the start wall at the top, the fitter at the bottom, rows from left to right."""
from __future__ import annotations

from capture.language.messages import gettext
from printpack.howto.scene import Part, Round, Scene, Stroke, Thing, Verdict, Word, arc, box


def first_rows() -> Scene:
    """Three rows joined off the wall, brought to the string, wedged."""
    wall = ((0.0, 0.0), (88.0, 0.0), (88.0, 4.0), (66.0, 5.6), (44.0, 6.0), (22.0, 5.2), (0.0, 4.0))
    rows = [*_row(14.0, 23.0, (6.0, 46.0, 66.0)), *_row(23.0, 32.0, (6.0, 26.0, 66.0)),
            *_row(32.0, 41.0, (6.0, 36.0, 66.0), "new")]
    wedges = [Part("wedge", ((x, top), (x + 2.4, top), (x + 1.7, 14.0), (x + 0.7, 14.0)))
              for x, top in ((12.0, 4.8), (36.0, 5.8), (60.0, 5.8))]
    return Scene((Part("wall", wall), *rows, Stroke("string", ((2.0, 13.3), (86.0, 13.3))), *wedges,
                  Word((68.0, 38.4), gettext("1 join"), bold=True), Word((68.0, 18.6), gettext("2 string"), bold=True),
                  Word((68.0, 10.9), gettext("3 wedge"), bold=True)))


def closing() -> Scene:
    """The last place of a row measured from joint to spacer; the piece with its sawn end to the wall, and the wrong
    way."""
    return Scene((Part("wall", box(83.0, 0.0, 88.0, 24.0)), *_row(2.0, 12.0, (2.0, 30.0, 81.0)),
                  *_row(12.0, 22.0, (2.0, 46.0)), Part("ghost", box(46.0, 12.0, 81.0, 22.0)),
                  Part("wedge", box(81.0, 14.0, 83.0, 20.0)), Stroke("measure", ((46.2, 19.6), (81.0, 19.6))),
                  Word((63.5, 17.4), gettext("1 measure"), "middle", True), Part("new", box(46.0, 28.0, 81.0, 37.0)),
                  Stroke("saw", ((81.0, 26.4), (81.0, 38.6))), Stroke("push", ((63.5, 27.6), (63.5, 23.0))),
                  Word((46.0, 42.4), gettext("factory end")), Word((83.0, 42.4), gettext("sawn end"), "end"),
                  Part("new", box(6.0, 28.0, 34.0, 37.0)), Stroke("saw", ((6.0, 26.4), (6.0, 38.6))),
                  Verdict(False, (4.0, 27.0, 36.0, 38.0))))


def last_row() -> Scene:
    """Each place of the last row measured at both its ends; the piece as it is sawn."""
    wall = ((0.0, 37.0), (88.0, 33.0), (88.0, 43.0), (0.0, 43.0))
    piece = ((52.0, 12.0), (82.0, 12.0), (82.0, 29.4), (52.0, 31.4))
    return Scene((Part("wall", wall), *_row(2.0, 12.0, (2.0, 24.0, 86.0)),
                  Part("wedge", box(9.0, 34.3, 12.0, 36.4)), Part("wedge", box(35.0, 33.1, 38.0, 35.2)),
                  Stroke("measure", ((10.5, 12.3), (10.5, 34.2))), Stroke("measure", ((36.5, 12.3), (36.5, 33.0))),
                  Word((13.0, 25.0), "a", bold=True), Word((34.4, 25.0), "b", "end", True), Part("new", piece),
                  Stroke("saw", ((50.0, 31.5), (84.0, 29.3))), Stroke("push", ((50.0, 20.0), (42.0, 20.0))),
                  Word((49.0, 27.0), "a", "end", True), Word((84.0, 27.0), "b", bold=True)))


def night() -> Scene:
    """Stopping at the end of a row, and the wrong way: within one."""
    def half(x: float, far: float) -> list[Thing]:
        return [Part("wall", box(x, 0.0, x + 39.0, 5.0)), Part("wall", box(x + 36.0, 5.0, x + 39.0, 43.0)),
                *_row(7.0, 17.0, (x, x + 12.0, x + 34.0)), *_row(17.0, 27.0, (x, x + 24.0, x + 34.0)),
                *_row(27.0, 37.0, (x, x + 16.0, far), "new")]
    return Scene((*half(0.0, 34.0), Part("wedge", box(34.0, 29.0, 36.0, 35.0)), *half(47.0, 74.0),
                  Verdict(True, (28.0, 38.6, 33.0, 42.6)), Verdict(False, (48.0, 26.0, 78.0, 38.0))))


def pipe() -> Scene:
    """Hole and two cuts; the board in place, the wedge glued back behind the pipe."""
    first = (Part("new", box(2.0, 13.0, 40.0, 31.0)), Round("hole", (21.0, 21.0), 5.0),
             Stroke("saw", ((16.4, 20.0), (15.6, 11.4))), Stroke("saw", ((25.6, 20.0), (26.4, 11.4))))
    slot = ((46.0, 13.0), (60.6, 13.0), (61.2, 20.0), *arc((66.0, 21.0), 5.0, 170.0, 370.0), (70.8, 20.0), (71.4, 13.0),
            (86.0, 13.0), (86.0, 31.0), (46.0, 31.0))
    wedge = ((60.8, 6.0), (71.2, 6.0), (70.7, 12.0), *arc((66.0, 14.0), 5.0, 24.0, 156.0), (61.3, 12.0))
    return Scene((Part("wall", box(0.0, 0.0, 88.0, 3.0)), *first, Part("new", slot), Round("pipe", (66.0, 21.0), 2.4),
                  Part("new", wedge), Stroke("push", ((75.0, 6.4), (75.0, 12.0))),
                  Word((2.0, 36.0), gettext("1 hole"), bold=True), Word((2.0, 41.6), gettext("2 two cuts"), bold=True),
                  Word((46.0, 36.0), gettext("3 board in"), bold=True),
                  Word((46.0, 41.6), gettext("4 wedge back, glued"), bold=True)))


def broken() -> Scene:
    """Rows that begin on both sides of a breast: one string, a whole board tried across before they meet."""
    rows = [part for left, right in ((2.0, 30.0), (58.0, 86.0)) for top in (7.0, 14.0)
            for part in _row(top, top + 7.0, (left, right))]
    return Scene((Part("wall", box(0.0, 0.0, 88.0, 5.0)), Part("wall", box(32.0, 5.0, 56.0, 18.6)), *rows,
                  Stroke("string", ((0.0, 21.6), (88.0, 21.6))), Part("new", box(24.0, 22.4, 74.0, 29.4)),
                  Word((2.0, 26.4), gettext("1 string"), bold=True),
                  Word((49.0, 36.0), gettext("2 try a whole board across"), "middle", True)))


def doorway() -> Scene:
    """One piece across the opening; the wrong way: a joint in it."""
    def opening(x: float) -> list[Thing]:
        return [Part("wall", box(x, 27.0, x + 8.0, 36.0)), Part("wall", box(x + 32.0, 27.0, x + 40.0, 36.0)),
                *_row(4.0, 14.0, (x, x + 14.0, x + 40.0)), *_row(14.0, 24.0, (x, x + 30.0, x + 40.0)),
                Stroke("saw", ((x + 8.0, 37.6), (x + 32.0, 37.6)))]
    return Scene((*opening(0.0), Part("new", box(7.0, 24.0, 33.0, 35.0)),
                  Word((2.0, 42.6), gettext("middle of the profile")),
                  *opening(47.0), Part("new", box(54.0, 24.0, 66.0, 35.0)), Part("new", box(66.0, 24.0, 80.0, 35.0)),
                  Verdict(True, (37.0, 38.8, 42.0, 42.8)), Verdict(False, (54.0, 23.0, 80.0, 36.0))))


def _row(top: float, bottom: float, joints: tuple[float, ...], kind: str = "laid") -> list[Part]:
    """A row's boards between its joints."""
    return [Part(kind, box(left, top, right, bottom)) for left, right in zip(joints, joints[1:])]
