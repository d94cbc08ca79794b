"""Which full-size templates a plan needs, and what each one shows.

A template lies on the board's decor face, printed side up, the wall edge (towards the start wall) at its top: the same
way round as the booklet and as the board in the room, so there is no mirrored way to use it.
Templates are made for what a tape cannot set: pipe holes, and cut-outs whose saw line bends otherwise than square (a
bay's corner, a casing). Straight saw lines, slanted ones too, and square notches have their figures on the row's page.
A template shows its piece from edge to edge, and along the board only the stretch with something to saw: straight saw
lines between two such stretches are joined with a straightedge. It shows the nearest end where it can, else a line at a
round tape distance from an end.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import gettext, marked, worded
from layout.plan import Cut, Piece, Plan
from printpack.words.piece_outline import is_sliver, new_sides, sawn_path, straight_ends
from printpack.units import Units
from printpack.words.cut_phrases import cut_words, piece_side_distance

#: How every template lies.
FACE = marked("Lay it on the decor face, print up, wall edge at the top. Hatched = waste.")
#: How it is laid along the board, by the end it goes by and whether that is the factory's own: with the end in sight,
#: and with a mark at a distance from it.
_BY_END = {
    ("left", True): marked("Line up both edges and the left end (factory)."),
    ("left", False): marked("Line up both edges and the left end (sawn)."),
    ("right", True): marked("Line up both edges and the right end (factory)."),
    ("right", False): marked("Line up both edges and the right end (sawn).")}
_BY_MARK = {
    ("left", True): marked(
        "Line up both edges; put the line marked M on a pencil mark {length} from the left end (factory)."),
    ("left", False): marked(
        "Line up both edges; put the line marked M on a pencil mark {length} from the left end (sawn)."),
    ("right", True): marked(
        "Line up both edges; put the line marked M on a pencil mark {length} from the right end (factory)."),
    ("right", False): marked(
        "Line up both edges; put the line marked M on a pencil mark {length} from the right end (sawn).")}
#: Longest stretch of board that is shown just to reach an end, mm: one A4 or Letter sheet's width.
REACH_MM = 165.0
#: Shown beside what is cut, at least; and the least width of a template, so that its words and lines can be read.
_BESIDE_MM = 14.0
_BESIDE_HOLE_MM = 26.0
_LEAST_MM = 90.0
_JOIN_MM = 90.0
_CLEAR_MM = 5.0
#: Distances for pencil marks, the roundest first, mm.
_ROUND_MM = {"metric": (100.0, 50.0, 20.0, 10.0, 5.0), "imperial": (152.4, 50.8, 25.4, 12.7, 6.35)}


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Places along the board close enough for one sheet, and the cuts they belong to."""

    left_mm: float
    right_mm: float
    spans: tuple[tuple[float, float], ...]
    cuts: tuple[Cut, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """One stretch of one piece, in its board's frame. `left_mm`/`right_mm`: the stretch. `mark`: the end it is aligned
    to and how far (mm) the alignment line stands from that end; 0 when the end itself is shown. `near_mm`/`far_mm`: the
    edges it is aligned to."""

    name: str
    piece: Piece
    cuts: tuple[Cut, ...]
    left_mm: float
    right_mm: float
    near_mm: float
    far_mm: float
    mark: tuple[str, float]

    @property
    def file_name(self) -> str:
        """Name for the file system: T1-piece-2.3."""
        return f"{self.name}-piece-{self.piece.id}"


def find_templates(plan: Plan, *, show: str = "metric") -> tuple[Template, ...]:
    """Every template the plan needs, numbered T1, T2, ... in laying order of rows.

    show: "metric" or "imperial"; pencil marks stand at whole centimetres or whole inches where there is room.
    """
    found: list[Template] = []
    for piece in plan.pieces:
        for stretch in _stretches(plan, piece):
            found.append(_template(f"T{len(found) + 1}", plan, piece, stretch, _ROUND_MM[show]))
    return tuple(found)


def names_by_piece(templates: tuple[Template, ...]) -> dict[str, tuple[str, ...]]:
    """Template names each piece needs, by piece id."""
    names: dict[str, tuple[str, ...]] = {}
    for template in templates:
        names[template.piece.id] = (*names.get(template.piece.id, ()), template.name)
    return names


def template_title(template: Template) -> str:
    """Its name and the piece it is for."""
    return gettext("{template}: piece {piece}", template=template.name, piece=template.piece.id)


def template_words(template: Template, plan: Plan, units: Units) -> tuple[str, ...]:
    """What the template is for and how it is laid, one sentence each."""
    side, away = template.mark
    what = tuple(dict.fromkeys(cut_words(cut, plan, template.piece, units) + "." for cut in template.cuts))
    return (*what, align_words(template.piece, side, away, units))


def align_words(piece: Piece, side: str, away_mm: float, units: Units) -> str:
    """How a template is laid along its piece: by its "left" or "right" end (away_mm 0), or by a mark that far from
    it."""
    how = side, side in piece.keeps
    return worded(_BY_MARK[how], length=units.plain(away_mm)) if away_mm else worded(_BY_END[how])


def _stretches(plan: Plan, piece: Piece) -> list[_Stretch]:
    """Stretches along the board that need a template, left to right."""
    joined: list[_Stretch] = []
    for left, right, cut in sorted(_places(plan, piece), key=lambda place: place[:2]):
        last = joined[-1] if joined else None
        if last and left - last.right_mm < _JOIN_MM:
            joined[-1] = _Stretch(last.left_mm, max(last.right_mm, right), (*last.spans, (left, right)),
                                  last.cuts if cut in last.cuts else (*last.cuts, cut))
        else:
            joined.append(_Stretch(left, right, ((left, right),), (cut,)))
    return joined


def _places(plan: Plan, piece: Piece) -> list[tuple[float, float, Cut]]:
    """(left, right, cut) of everything that must be seen whole."""
    places: list[tuple[float, float, Cut]] = []
    for cut in piece.cuts:
        if cut.kind == "hole":
            places.append((cut.centre[0] - cut.diameter / 2, cut.centre[0] + cut.diameter / 2, cut))
        elif cut.kind in ("notch", "line") and not is_sliver(cut):
            places += [(left, right, cut) for left, right in _notch_places(plan, piece, cut)]
    return places


def _notch_places(plan: Plan, piece: Piece, cut: Cut) -> list[tuple[float, float]]:
    """Stretches of a notch's saw lines that need a template: round each corner of one that is neither square nor
    straight."""
    if _is_square(cut) or len(sawn_path(plan, piece, cut)) == 2:
        return []
    return [(x, x) for x in [x for side in new_sides(plan, piece, cut) for x, _ in side] or [x for x, _ in cut.shape]]


def _is_square(cut: Cut) -> bool:
    """Whether every side of a notch runs along or straight across the board, to 1 mm."""
    return all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1.0 for a, b in zip(cut.shape, cut.shape[1:] + cut.shape[:1]))


def _template(name: str, plan: Plan, piece: Piece, stretch: _Stretch, steps: tuple[float, ...]) -> Template:
    """The stretch widened to a handy size, and to its nearest end or a line at a round distance from one."""
    beside = _BESIDE_HOLE_MM if any(cut.kind == "hole" for cut in stretch.cuts) else _BESIDE_MM
    spare = max(_LEAST_MM - (stretch.right_mm - stretch.left_mm), 2 * beside) / 2
    left = max(stretch.left_mm - spare, piece.from_mm - _BESIDE_MM)
    right = min(stretch.right_mm + spare, piece.to_mm + _BESIDE_MM)
    def made(left: float, right: float, mark: tuple[str, float]) -> Template:
        return Template(name=name, piece=piece, cuts=stretch.cuts, left_mm=left, right_mm=right, near_mm=piece.near_mm,
                        far_mm=piece.far_mm, mark=mark)

    ends = straight_ends(plan, piece) or ("left", "right")
    side = min(ends, key=lambda s: (round(_away(s, left, right, piece), 3), s not in piece.keeps))
    if right - left + _away(side, left, right, piece) + _BESIDE_MM <= REACH_MM:
        return made(*((piece.from_mm - _BESIDE_MM, right) if side == "left" else (left, piece.to_mm + _BESIDE_MM)),
                    (side, 0.0))
    side = min(ends, key=lambda s: (s not in piece.keeps, _away(s, left, right, piece)))
    return made(left, right, (side, _round_mark(side, left, right, piece, stretch, steps)))


def _round_mark(side: str, left: float, right: float, piece: Piece, stretch: _Stretch,
                steps: tuple[float, ...]) -> float:
    """The roundest distance from the end whose line stays clear of everything that is cut."""
    first, last = sorted(piece_side_distance(side, (x, 0.0), piece) for x in (left, right))
    busy = [sorted(piece_side_distance(side, (x, 0.0), piece) for x in span) for span in stretch.spans]
    for step in steps:
        for k in range(int(first / step) + 1, int(last / step) + 1):
            if all(not a - _CLEAR_MM < k * step < b + _CLEAR_MM for a, b in busy) and first + 4 < k * step < last - 4:
                return k * step
    return first + _CLEAR_MM / 2


def _away(side: str, left: float, right: float, piece: Piece) -> float:
    """How far the stretch stops short of that end of the piece; negative if it reaches past it."""
    return piece_side_distance(side, (left if side == "left" else right, 0.0), piece)
