"""What must be so before the first board, on one page: safety, then the room and the boards.

Figures are trade custom unless a source stands beside them; the board maker's own leaflet overrides every one.
Where the law, a lease or a licence decides, the reader is sent there.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from capture.language.messages import gettext, marked, worded
from layout.words.cautions import CAUTIONS
from layout.words.terms import in_terms
from printpack.howto.cells import named, names_width
from printpack.drawing.page_layout import Page, column_width, heading, pages_of, paragraph
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.units import capitalised
from printpack.words.doors import stack_of

BEFORE_TITLE = marked("Before you start")
#: A name, and what is said of it.
Point = tuple[str, str]
#: Width of the names, mm.
_NAMES_MM = 34.0
#: Holes wider than this are sawn with a jigsaw: usual bits end at 51 mm (common practice, no source).
_WIDEST_BIT_MM = 60.0

FIRST_OF_ALL = marked(
    "Local codes, your lease and the board maker's leaflet come first. Where they differ from this booklet, follow "
    "them.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A danger and what to do; cautions: those of a plan that this says in short."""

    name: str
    text: str
    cautions: tuple[str, ...] = ()


#: HSE wood dust page: extraction at the saw, no sweeping; US EPA on old tiles and old paint (years from memory); pack
#: weights from trade pages; the others common practice, no source.
_HAZARDS = (
    Hazard(name=marked("Old floors"), text=marked(
        "Vinyl or thermoplastic tiles, black glue or felt (UK before 2000, US before the 1980s) may hold asbestos. Do "
        "not sand, scrape, drill or lift them: cover them if sound, else stop and ask a licensed firm."),
        cautions=("asbestos",)),
    Hazard(name=marked("Old paint"), text=marked(
        "May hold lead (US homes before 1978, UK before 1992). No dry sanding; wet it, wear a mask, keep children "
        "out."), cautions=("lead",)),
    Hazard(name=marked("Below the floor"), text=marked(
        "Pipes and cables may lie just under it: fix nothing down blind. Gas, electric and heating work belongs to "
        "licensed trades."), cautions=("pipes-and-cables",)),
    Hazard(name=marked("Dust"), text=marked("Saw outdoors or with extraction; {mask} or better. Vacuum, do not sweep."),
           cautions=("dust",)),
    Hazard(name=marked("Eyes and ears"), text=marked("Glasses for every cut, muffs at the saw."),
           cautions=("eyes", "ears")),
    Hazard(name=marked("Saw"), text=marked(
        "Guard working, board clamped, no gloves near the blade; unplug before you touch it."), cautions=("saw",)),
    Hazard(name=marked("Knees and back"), text=marked(
        "Pads; another posture every 20 minutes. A pack weighs 11 to 23\u00a0kg (24 to 51\u00a0lb): two people, or "
        "carry half."), cautions=("back-and-knees",)),
    Hazard(name=marked("Fire and air"), text=marked(
        "Hearths, stoves and open flues keep their distances and their air, as local rules ask.")),
    Hazard(name=marked("Alone"), text=marked("Phone to hand, somebody knows, stop when tired.")),
)
#: Cautions that stand elsewhere in the booklet: fire doors with the doors, damp with the room, the leaflet at the top.
_SAID_ELSEWHERE = ("fire-doors", "damp", "leaflet")


def preparation_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Safety and preparation on one page; a second one only for a plan with many cautions of its own."""
    return preparation_of(safety_points(job), preparation_points(job), paper)


def preparation_of(safety: Sequence[Point], ready: Sequence[Point], paper: Paper) -> tuple[Page, ...]:
    """The same of these points."""
    width, title = column_width(paper), worded(BEFORE_TITLE)
    both = safety, ready
    names_mm = names_width((name for points in both for name, _ in points), _NAMES_MM)
    first, then = ([named(name, text, width, names_mm, tick=True) for name, text in points] for points in both)
    blocks = [paragraph(worded(FIRST_OF_ALL), width, bold=True), *first,
              heading(gettext("The room and the boards"), width), *then]
    return pages_of(blocks, paper, bookmark=title, title=title)


def safety_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(name or "", text) of every caution: the common ones, then those of a plan that they leave out."""
    mask = job.units.terms.mask
    common = tuple((worded(hazard.name), worded(hazard.text, mask=mask)) for hazard in _HAZARDS)
    said = {*_SAID_ELSEWHERE, *(slug for hazard in _HAZARDS for slug in hazard.cautions)}
    own = (caution for slug, caution in CAUTIONS.items() if slug not in said)
    return (*common, *((worded(caution.lead), in_terms(worded(caution.text), job.show)) for caution in own))


def preparation_points(job: PackJob) -> list[tuple[str, str]]:
    """(name, text) of everything to do before the first board."""
    units, terms = job.units, job.units.terms
    points = [
        (gettext("Survey"), gettext("Take the readings that the page “How sure the survey is” asks for."))
        if job.survey_notes else None,
        (gettext("Flat"), gettext(
            "Under a {straightedge} no gap over {gap}, under {short_edge} none over {short_gap}; everywhere, both ways "
            "(common maker’s rule).", straightedge=terms.straightedge, gap=terms.straightedge_gap,
            short_edge=terms.short_edge, short_gap=terms.short_edge_gap)),
        (gettext("Dry"), _dry(job)),
        (gettext("Underlay"), _underlay(job)),
        (gettext("Rest the boards"), gettext(
            "48 hours in the room, packs closed and flat. Room {room} or more, floor {floor} or more, air not over "
            "75 % humidity; three days after laying too.", room=_degrees(job, 18), floor=_degrees(job, 15))),
        (gettext("Floor heating"), gettext(
            "Off or low for 24 hours before; then up slowly. Surface never over {warmest}. Never drill into a heated "
            "floor.", warmest=_degrees(job, 27))),
        (capitalised(terms.skirting), gettext(
            "Off: the neatest edge. Left on: the {beading} in front of it covers the gap.", beading=terms.beading)),
        (gettext("Heavy units"), gettext("Kitchens and built-in wardrobes never pin the floor: lay round them.")),
        (gettext("Every board"), gettext("Open three packs and mix. Damaged boards make short pieces.")),
        (gettext("Start wall"), gettext("Does it bow more than the {beading} covers? Saw row 1 to its shape.",
                                        beading=terms.beading)),
        None if job.room.doors else (gettext("Leaves"), gettext(
            "The floor rises by {rise}: try every leaf, cupboards too.", rise=units.fine(stack_of(job).floor_mm))),
    ]
    return [point for point in points if point]


def _dry(job: PackJob) -> str:
    """Moisture limits (maker leaflets, trade pages; ASTM F2170 and NWFA second-hand), of the subfloor there is."""
    timber = in_terms(gettext("Timber subfloor at most 12 %."), job.show)
    cement = gettext("Cement screed at most 2.0 % CM (heated 1.8), calcium sulphate 0.5 (heated 0.3); in Britain 75 % "
                     "in a hygrometer box.")
    slab = gettext("Concrete at most 75 to 85 % in the slab, as the leaflet says (ASTM F2170).")
    mineral = slab if job.show == "imperial" else cement
    known = {"timber": timber, "mineral": mineral}.get(job.subfloor, f"{mineral} {timber}")
    cure = gettext("A film cures no damp: have it tested.")
    return f"{known} {cure}"


def _underlay(job: PackJob) -> str:
    thickness = job.units.fine(job.underlay_mm)
    if job.underlay_width_mm:
        return gettext("{thickness}, one layer: see “Under the boards”.", thickness=thickness)
    if job.underlay_mm:
        return gettext("{thickness}, one layer, sheets across the rows, butted, joints taped.", thickness=thickness)
    return gettext("None is in this job. If your boards need one, type it: doors and undercuts change.")


def _degrees(job: PackJob, celsius: int) -> str:
    """In the reader's degrees, whole ones and never more than said."""
    return f"{int(celsius * 1.8 + 32)}\u00a0°F" if job.show == "imperial" else f"{celsius}\u00a0°C"


def tool_points(job: PackJob) -> list[str]:
    """What to have at hand."""
    units, plan, terms = job.units, job.plan, job.units.terms
    across = sorted({round(hole.diameter_mm, 1) for hole in plan.holes if hole.pieces})
    holes = [mm for mm in across if mm <= _WIDEST_BIT_MM]
    tools = [gettext("Tape, square, {straightedge}, string, soft pencil", straightedge=terms.straightedge),
             gettext("Saw; its cut is taken as {kerf} wide", kerf=units.fine(plan.kerf_mm)),
             gettext("Tapping block, pull bar, light hammer"),
             gettext("Knee pads, glasses, ear muffs, {mask}, vacuum cleaner", mask=terms.mask),
             gettext("Moisture meter, or a test by someone who has one")]
    if holes:
        tools.append(gettext("Hole saw of {sizes} for the pipes, wood glue (D3)",
                             sizes=", ".join(units.fine(mm) for mm in holes)))
    if len(holes) < len(across):
        tools.append(gettext("Jigsaw for the wide pipe’s hole, drawn with its template; wood glue (D3)"))
    if job.room.doors:
        tools.append(gettext("Fine flat saw for door casings"))
    return tools
