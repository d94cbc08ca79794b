"""Safety and preparation: what can go wrong, and what must be so before the first board.

Figures are trade custom unless a source stands beside them; the board maker's own leaflet overrides every one.
Where the law, a lease or a licence decides, the reader is sent there.
"""
from __future__ import annotations

from layout.words.cautions import CAUTIONS
from printpack.drawing.page_layout import Block, Page, column_width, heading, pages_of, paragraph, point
from printpack.job import PackJob
from printpack.paper import Paper

#: (what, what to do) of what threatens in any room and no caution of the plan names: common practice.
HAZARDS = (
    ("Fires and stoves", "Keep hearth distances as local rules ask. Open-flued appliances need their air: keep the gap "
                         "under the door."),
    ("Working alone", "Keep a phone to hand, tell someone, stop when tired."),
)


FIRST_OF_ALL = ("Local codes, your lease and the board maker's leaflet come first. Where they differ from this "
                "booklet, follow them.")


def safety_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """The plan's own cautions first, then what holds in any room."""
    width = column_width(paper)
    blocks: list[Block] = [paragraph(FIRST_OF_ALL, width, bold=True)]
    blocks += [point(text, width, lead=lead, tick=True) for lead, text in safety_points(job)]
    return pages_of(blocks, paper, bookmark="Safety", title="Before you start: safety")


def safety_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(lead or "", text) of every caution: the plan's own, then the others."""
    return (*((caution.lead, caution.text) for caution in CAUTIONS.values()), *HAZARDS)


def preparation_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """Flatness, moisture, climate, underlay, tools."""
    width = column_width(paper)
    blocks = [paragraph("Tick each one. The board maker's leaflet overrides these figures.", width)]
    blocks += [point(text, width, lead=lead, tick=True) for lead, text in preparation_points(job)]
    blocks += [heading("Tools", width)]
    blocks += [point(text, width, tick=True) for text in tool_points(job)]
    return pages_of(blocks, paper, bookmark="Preparation and tools", title="Preparation and tools")


def preparation_points(job: PackJob) -> list[tuple[str, str]]:
    """(lead, text) of everything to do before the first board."""
    units, plan = job.units, job.plan
    film = "0.2 mm" if job.show == "metric" else "8 mil (0.2 mm)"
    clearance = plan.board.thickness_mm + job.underlay_mm
    under = (f"Underlay of {units.fine(job.underlay_mm)}, one layer. Lay the sheets across the rows, butted, not "
             "lapped,"
             " joints taped.") if job.underlay_mm else \
        "No underlay is in this job. If your boards need one, add its thickness to the door heights."
    return [
        ("The survey first", "Read the page “How sure the survey is” and take the readings it asks for first."),
        (
            "Flat",
            f"Under a {units.length(2000)} straightedge no gap over {units.fine(3)}; under {units.length(1000)} none "
            "over"
            f" {units.fine(2)} (common maker's rule). Level low spots, plane high ones. Try it everywhere, both ways.",
        ),
        (
            "Dry",
            "Cement screed at most 2.0 % (CM method), heated 1.8 %; calcium sulphate 0.5 %, heated 0.3 %; in Britain "
            "75 %"
            " humidity in a hygrometer box. If you cannot test it, have it tested.",
        ),
        (
            "Film",
            f"On concrete or screed lay a moisture film, {film} thick or more, lapped {units.bare(200)} to "
            f"{units.length(300)},"
            " taped, turned up at the walls. Never on a timber floor: it traps damp.",
        ),
        (
            "Rest the boards",
            "48 hours in the room, in closed packs, lying flat. Room 18 °C (64 °F) or more, floor 15 °C (59 °F)"
            " or more, air not over 75 % humidity, kept three days after laying too.",
        ),
        (
            "Floor heating",
            "Off or low for 24 hours before laying; raise it slowly afterwards, 5 degrees a day. Surface never over"
            " 27 °C (80 °F). Never drill into a heated floor.",
        ),
        ("Underlay", under),
        ("Look at every board", "Open three packs and mix. Set damaged boards aside for short pieces."),
        ("Door leaves", f"The floor rises by {units.fine(clearance)}. Try every door before you lay, cupboards too."),
        (
            "Start wall",
            "Stretch a string along it: the first row follows the string, not the wall. Where the wall bows away by "
            "more"
            " than the beading can cover, saw the first row's near edge to the wall's shape.",
        ),
    ]


def tool_points(job: PackJob) -> list[str]:
    """What to have at hand."""
    units, plan = job.units, job.plan
    holes = sorted({round(hole.diameter_mm, 1) for hole in plan.holes})
    tools = ["Tape, square, long straightedge, string, soft pencil",
             f"Saw; its cut is taken as {units.fine(plan.kerf_mm)} wide", "Tapping block, pull bar, light hammer",
             f"Spacers of {units.length(plan.gap_mm)} (how many: see the shopping list)",
             "Knee pads, glasses, ear muffs, dust mask, vacuum cleaner",
             "Moisture meter, or a test by someone who has one"]
    if holes:
        tools.append("Hole saw of " + ", ".join(units.fine(d) for d in holes)
                     + " across for the pipes, and wood glue (D3)")
    if job.room.doors:
        tools.append("Fine flat saw to undercut door casings")
    return tools
