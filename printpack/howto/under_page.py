"""What lies under the boards: where each sheet of underlay goes, and each sheet of film where the subfloor needs one.

Sheets run across the rows, so that their joints cross the boards' joints (the planner counts them so,
`layout/materials/underlay_sheets.py`). Underlay butts; film laps and turns up at the walls. Row frame: sheets stand
side by side from the left.
"""
from __future__ import annotations

from math import ceil

from capture.language.messages import gettext, localised
from layout.plan import Ring
from layout.materials.underlay_sheets import FILM_LAP_MM, FILM_WIDTH_MM, TURN_UP_MM
from layout.words.terms import in_terms
from printpack.drawing.clip import clip_ring
from printpack.drawing.page_layout import BODY, FIGURE, SMALL, Block, Page, column_width, heading, pages_of, paragraph
from printpack.drawing.hatch import hatch
from printpack.job import PackJob
from printpack.drawing.metrics import ASCENT, CAP, text_width
from printpack.paper import Paper
from printpack.drawing.frames import View, box_of, fitted, floor_rings
from printpack.drawing.sheet import DASHED, FINE, MEDIUM, STRONG, Item, Line, Poly, Text
from printpack.units import NO_BREAK

_FAR = 1e7
#: Room below the drawing for numbers of sheets too narrow to hold them, and round a number within its sheet, mm.
_BELOW, _CLEAR = 5.0, 1.6


def under_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """One page; none if the job has no underlay of known width and its subfloor needs no film."""
    width, units = column_width(paper), job.units
    tall = (paper.height_mm - 170.0) / 2
    blocks: list[Block] = []
    if job.underlay_width_mm:
        sheets = _sheets(job, job.underlay_width_mm, 0.0, 0.0)
        said = gettext(
            "Sheets {width} wide across the rows, butted, one layer, joints taped. Sheet 1 goes to the left as you "
            "face the start wall. Lengths are rounded up: trim in place.", width=units.length(job.underlay_width_mm))
        blocks += [heading(gettext("Underlay"), width), paragraph(said, width),
                   paragraph(_lengths(job, sheets, 0.0), width, size=FIGURE), _drawing(job, sheets, 0.0, width, tall)]
    if job.subfloor != "timber":
        sheets = _sheets(job, FILM_WIDTH_MM, FILM_LAP_MM, TURN_UP_MM)
        blocks += [
            heading(gettext("Film, under the underlay"), width),
            paragraph(_film(job), width),
            paragraph(_lengths(job, sheets, 2 * TURN_UP_MM), width, size=FIGURE),
            _drawing(job, sheets, FILM_LAP_MM, width, tall),
        ]
    title = gettext("Under the boards")
    return pages_of(blocks, paper, bookmark=title, title=title) if blocks else ()


def _film(job: PackJob) -> str:
    """Where a film belongs, if that is not known of the subfloor, and how it is laid."""
    units = job.units
    said = gettext(
        "{film} or thicker, sheets {width} wide across the rows, lapped {lap} (hatched), laps taped, turned up {up} at "
        "every wall (in the lengths). Cut it off above the boards when the floor is down.",
        film=localised(units.terms.film), width=units.length(FILM_WIDTH_MM), lap=units.terms.lap,
        up=units.length(TURN_UP_MM))
    if job.subfloor == "mineral":
        return said
    only = gettext("Only on concrete, screed or tiles; on a timber floor it traps damp.")
    return f"{in_terms(only, job.show)} {said}"


def _sheets(job: PackJob, sheet_mm: float, lap_mm: float, up_mm: float) -> list[tuple[float, float]]:
    """(left, right) of each sheet, row frame, side by side from the left."""
    left, _, right, _ = box_of(*floor_rings(job.plan))
    step, start = sheet_mm - lap_mm, left - up_mm
    count = max(1, ceil((right - left + 2 * up_mm - lap_mm) / step - 1e-9))
    return [(start + k * step, start + k * step + sheet_mm) for k in range(count)]


def _lengths(job: PackJob, sheets: list[tuple[float, float]], more_mm: float) -> str:
    """How long each sheet is cut, wall to wall, with what turns up: rounded up."""
    outline = floor_rings(job.plan)[0]
    said = []
    for number, (low, high) in enumerate(sheets, start=1):
        strip = clip_ring(outline, (low, -_FAR, high, _FAR))
        _, top, _, bottom = box_of(strip)
        said.append(f"{number}:{NO_BREAK}{job.units.roughly(bottom - top + more_mm)}")
    return gettext("Lengths: {sheets}.", sheets=", ".join(said))


def _drawing(job: PackJob, sheets: list[tuple[float, float]], lap_mm: float, width: float, tall: float) -> Block:
    """The floor with its numbered sheets, laps hatched, the side of the start wall heavy."""
    rings = floor_rings(job.plan)
    left, near, right, far = box_of(*rings)
    view = fitted((left, near, right, far), 0.0, 8.0, width, tall - 10.0 - _BELOW)
    a, b = view.at((left, near)), view.at((right, near))
    items: list[Item] = [Text(((a[0] + b[0]) / 2, 3.4), gettext("START WALL"), SMALL, "middle", True),
                         Line((a[0], a[1] - 1.4), (b[0], a[1] - 1.4), STRONG)]
    for number, (low, high) in enumerate(sheets, start=1):
        items += _joint(rings, view, low, lap_mm) if number > 1 else []
        items.append(_number(rings, view, str(number), max(low + lap_mm * (number > 1), left),
                             min(high - lap_mm * (number < len(sheets)), right)))
    items += [Poly(view.ring(ring), MEDIUM) for ring in rings]
    return Block(height_mm=tall, items=tuple(items))


def _number(rings: tuple[Ring, ...], view: View, name: str, low: float, high: float) -> Text:
    """A sheet's number: in the longest stretch of floor at its middle, below the floor where that is too narrow or
    too short for it."""
    middle = (low + high) / 2
    near, far = max(_inside(rings, middle), key=lambda stretch: stretch[1] - stretch[0], default=(0.0, 0.0))
    (x, top), (_, end) = view.at((middle, near)), view.at((middle, far))
    fits = view.scale * (high - low) >= text_width(name, BODY, bold=True) + _CLEAR and end - top >= BODY + _CLEAR
    below = max(view.at(point)[1] for ring in rings for point in ring)
    return Text((x, (top + end + CAP * BODY) / 2 if fits else below + 1.0 + ASCENT * BODY), name, BODY, "middle", True)


def _joint(rings: tuple[Ring, ...], view: View, s: float, lap_mm: float) -> list[Item]:
    """A butt joint as a full line; a lap as two dashed lines, hatched."""
    places = (s, s + lap_mm) if lap_mm else (s,)
    lines: list[Item] = [Line(view.at((at, t0)), view.at((at, t1)), DASHED if lap_mm else FINE, "joint")
                         for at in places for t0, t1 in _inside(rings, at)]
    strip = clip_ring(rings[0], (s, -_FAR, s + lap_mm, _FAR)) if lap_mm else ()
    return [*(hatch((view.ring(strip),), spacing_mm=1.6) if len(strip) > 2 else ()), *lines]


def _inside(rings: tuple[Ring, ...], s: float) -> list[tuple[float, float]]:
    """The stretches of the line at s that lie on the floor."""
    crossings = sorted(t0 + (s - s0) / (s1 - s0) * (t1 - t0) for ring in rings for (s0, t0),
                       (s1, t1) in zip(ring, ring[1:] + ring[:1]) if (s0 <= s) != (s1 <= s))
    return list(zip(crossings[::2], crossings[1::2]))
