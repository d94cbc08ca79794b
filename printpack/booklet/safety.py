"""What must be so before the first board, on one page: safety, then the room and the boards.

Figures are trade custom unless a source stands beside them; the board maker's own leaflet overrides every one.
Where the law, a lease or a licence decides, the reader is sent there.
"""
from __future__ import annotations

from dataclasses import dataclass

from layout.words.cautions import CAUTIONS
from layout.words.terms import in_terms
from printpack.howto.cells import named
from printpack.drawing.page_layout import Page, column_width, heading, pages_of, paragraph
from printpack.job import PackJob
from printpack.paper import Paper
from printpack.words.doors import stack_of

#: Width of the names, mm.
_NAMES_MM = 34.0
#: Holes wider than this are sawn with a jigsaw: usual bits end at 51 mm (common practice, no source).
_WIDEST_BIT_MM = 60.0

FIRST_OF_ALL = ("Local codes, your lease and the board maker's leaflet come first. Where they differ from this "
                "booklet, follow them.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A danger and what to do; cautions: those of a plan that this says in short."""

    name: str
    text: str
    cautions: tuple[str, ...] = ()


#: HSE wood dust page: extraction at the saw, no sweeping; US EPA on old tiles and old paint (years from memory); pack
#: weights from trade pages; the others common practice, no source.
_HAZARDS = (
    Hazard(name="Old floors", text="Vinyl or thermoplastic tiles, black glue or felt (UK before 2000, US before the "
           "1980s) may hold asbestos. Do not sand, scrape, drill or lift them: cover them if sound, else stop and "
           "ask a licensed firm.", cautions=("asbestos",)),
    Hazard(name="Old paint", text="May hold lead (US homes before 1978, UK before 1992). No dry sanding; wet it, wear "
           "a mask, keep children out.", cautions=("lead",)),
    Hazard(name="Below the floor", text="Pipes and cables may lie just under it: fix nothing down blind. Gas, electric "
           "and heating work belongs to licensed trades.", cautions=("pipes-and-cables",)),
    Hazard(name="Dust", text="Saw outdoors or with extraction; {mask} or better. Vacuum, do not sweep.",
           cautions=("dust",)),
    Hazard(name="Eyes and ears", text="Glasses for every cut, muffs at the saw.", cautions=("eyes", "ears")),
    Hazard(name="Saw", text="Guard working, board clamped, no gloves near the blade; unplug before you touch it.",
           cautions=("saw",)),
    Hazard(name="Knees and back", text="Pads; another posture every 20 minutes. A pack weighs 11 to "
           "23\u00a0kg (24 to 51\u00a0lb): two people, or carry half.", cautions=("back-and-knees",)),
    Hazard(name="Fire and air", text="Hearths, stoves and open flues keep their distances and their air, as "
           "local rules ask."),
    Hazard(name="Alone", text="Phone to hand, somebody knows, stop when tired."),
)
#: Cautions that stand elsewhere in the booklet: fire doors with the doors, damp with the room, the leaflet at the top.
_SAID_ELSEWHERE = ("fire-doors", "damp", "leaflet")


def preparation_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Safety and preparation on one page; a second one only for a plan with many cautions of its own."""
    width = column_width(paper)
    safety, ready = ([named(name, text, width, _NAMES_MM, tick=True) for name, text in points]
                     for points in (safety_points(job), preparation_points(job)))
    blocks = [paragraph(FIRST_OF_ALL, width, bold=True), *safety, heading("The room and the boards", width), *ready]
    return pages_of(blocks, paper, bookmark="Before you start", title="Before you start")


def safety_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(name or "", text) of every caution: the common ones, then those of a plan that they leave out."""
    common = tuple((hazard.name, hazard.text.format(mask=job.units.terms.mask)) for hazard in _HAZARDS)
    said = {*_SAID_ELSEWHERE, *(slug for hazard in _HAZARDS for slug in hazard.cautions)}
    own = (caution for slug, caution in CAUTIONS.items() if slug not in said)
    return (*common, *((caution.lead, in_terms(caution.text, job.show)) for caution in own))


def preparation_points(job: PackJob) -> list[tuple[str, str]]:
    """(name, text) of everything to do before the first board."""
    units, terms = job.units, job.units.terms
    points = [
        ("Survey", "Take the readings that the page “How sure the survey is” asks for.") if job.survey_notes else None,
        ("Flat", f"Under a {terms.straightedge} no gap over {terms.straightedge_gap}, under {terms.short_edge} none "
         f"over {terms.short_edge_gap}; everywhere, both ways (common maker’s rule)."),
        ("Dry", _dry(job)),
        ("Underlay", f"{units.fine(job.underlay_mm)}, one layer: see “Under the boards”.") if job.underlay_width_mm else
        ("Underlay", _underlay(job)),
        ("Rest the boards", f"48 hours in the room, packs closed and flat. Room {_degrees(job, 18)} or more, floor "
         f"{_degrees(job, 15)} or more, air not over 75 % humidity; three days after laying too."),
        ("Floor heating", f"Off or low for 24 hours before; then up slowly. Surface never over {_degrees(job, 27)}. "
         "Never drill into a heated floor."),
        (terms.skirting.capitalize(), f"Off: the neatest edge. Left on: the {terms.beading} in front of it covers the "
         "gap."),
        ("Heavy units", "Kitchens and built-in wardrobes never pin the floor: lay round them."),
        ("Every board", "Open three packs and mix. Damaged boards make short pieces."),
        ("Start wall", f"Does it bow more than the {terms.beading} covers? Saw row 1 to its shape."),
        None if job.room.doors else ("Leaves", f"The floor rises by {units.fine(stack_of(job).floor_mm)}: try every "
                                     "leaf, cupboards too."),
    ]
    return [point for point in points if point]


def _dry(job: PackJob) -> str:
    """Moisture limits (maker leaflets, trade pages; ASTM F2170 and NWFA second-hand), of the subfloor there is."""
    timber = f"{job.units.terms.timber.capitalize()} subfloor at most 12 %."
    cement = ("Cement screed at most 2.0 % CM (heated 1.8), calcium sulphate 0.5 (heated 0.3); in Britain 75 % in a "
              "hygrometer box.")
    slab = "Concrete at most 75 to 85 % in the slab, as the leaflet says (ASTM F2170)."
    mineral = slab if job.show == "imperial" else cement
    known = {"timber": timber, "mineral": mineral}.get(job.subfloor, f"{mineral} {timber}")
    return f"{known} A film cures no damp: have it tested."


def _underlay(job: PackJob) -> str:
    if job.underlay_mm:
        return f"{job.units.fine(job.underlay_mm)}, one layer, sheets across the rows, butted, joints taped."
    return "None is in this job. If your boards need one, type it: doors and undercuts change."


def _degrees(job: PackJob, celsius: int) -> str:
    """In the reader's degrees, whole ones and never more than said."""
    return f"{int(celsius * 1.8 + 32)}\u00a0°F" if job.show == "imperial" else f"{celsius}\u00a0°C"


def tool_points(job: PackJob) -> list[str]:
    """What to have at hand."""
    units, plan, terms = job.units, job.plan, job.units.terms
    across = sorted({round(hole.diameter_mm, 1) for hole in plan.holes if hole.pieces})
    holes = [mm for mm in across if mm <= _WIDEST_BIT_MM]
    tools = [f"Tape, square, {terms.straightedge}, string, soft pencil",
             f"Saw; its cut is taken as {units.fine(plan.kerf_mm)} wide", "Tapping block, pull bar, light hammer",
             f"Knee pads, glasses, ear muffs, {terms.mask}, vacuum cleaner",
             "Moisture meter, or a test by someone who has one"]
    if holes:
        tools.append("Hole saw of " + ", ".join(units.fine(mm) for mm in holes) + " for the pipes, wood glue (D3)")
    if len(holes) < len(across):
        tools.append("Jigsaw for the wide pipe’s hole, drawn with its template; wood glue (D3)")
    if job.room.doors:
        tools.append("Fine flat saw for door casings")
    return tools
