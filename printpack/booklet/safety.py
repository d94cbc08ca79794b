"""Safety and preparation: what can go wrong, and what must be so before the first board.

Figures are trade custom unless a source stands beside them; the board maker's own leaflet overrides every one.
Where the law, a lease or a licence decides, the reader is sent there.
"""
from __future__ import annotations

from printpack.drawing.page_layout import Block, Page, column_width, heading, pages_of, paragraph, point
from printpack.job import PackJob
from printpack.paper import Paper

#: (what, what to do, the word that shows a plan's own caution already says it).
#: HSE wood dust page: dust from boards harms the lungs; extraction at the saw. Other rows: common practice.
HAZARDS = (
    (
        "Old tiles, black glue or felt under the floor covering",
        "They may hold asbestos (UK: laid before 2000; US: before the 1980s). Do not sand, scrape, drill or lift them. "
        "A sound"
        " floor can be left alone and covered. Damaged: stop, keep out, ask a licensed firm.",
        "asbestos",
    ),
    (
        "Pipes and cables under the floor",
        "Water, gas and heating pipes and cables may lie just under the boards. Fix nothing into the subfloor before "
        "you know"
        " where they run. Gas, electric and heating work belongs to licensed trades.",
        "cables",
    ),
    (
        "Old paint on skirting and door frames",
        "It may hold lead (US homes before 1978, UK homes before 1992). Do not dry-sand it. Wet it, wear a mask, keep "
        "children"
        " out.",
        "lead (",
    ),
    (
        "Fire doors and flat entrance doors",
        "Never trim one. Ask the landlord or the building authority first.",
        "fire door",
    ),
    ("Dust", "Saw outdoors or with extraction. Wear a mask (FFP2, N95 or better). Vacuum, do not sweep.", "dust:"),
    ("Eyes and ears", "Glasses for every cut: chips are sharp. Ear muffs at the saw.", "eyes"),
    ("Saws", "No gloves near a turning blade. Clamp the board. Unplug before changing a blade.", "saw:"),
    (
        "Knees and back",
        "Knee pads. Change posture every 20 minutes. A pack can weigh 11 to 23 kg: two people, or carry half.",
        "knees",
    ),
    ("Damp", "A film does not cure a wet slab or a damp wall. Stop and get advice.", "damp"),
    (
        "Fires and stoves",
        "Keep hearth distances as local rules ask. Open-flued appliances need their air: keep the gap under the door.",
        "flue",
    ),
    ("Working alone", "Keep a phone to hand, tell someone, stop when tired.", "alone"),
)


FIRST_OF_ALL = ("Local codes, your lease and the board maker's leaflet come first. Where they differ from this "
                "booklet, follow them.")


def safety_pages(job: PackJob, paper: Paper) -> tuple[Page, ...]:
    """The plan's own cautions first, then what holds in any room and is not said yet."""
    width = column_width(paper)
    blocks: list[Block] = [paragraph(FIRST_OF_ALL, width, bold=True)]
    blocks += [point(text, width, lead=lead, tick=True) for lead, text in safety_points(job)]
    return pages_of(blocks, paper, bookmark="Safety", title="Before you start: safety")


def safety_points(job: PackJob) -> tuple[tuple[str, str], ...]:
    """(lead or "", text) of every caution: the plan's own, then those it does not say."""
    said = " ".join(job.plan.cautions).lower()
    return (*(_caution(text) for text in job.plan.cautions),
            *((lead, text) for lead, text, word in HAZARDS if word not in said))


def _caution(text: str) -> tuple[str, str]:
    """A caution with what stands before its colon as a lead, if that is short."""
    lead, colon, rest = text.partition(": ")
    return (lead, rest[:1].upper() + rest[1:]) if colon and len(lead) <= 40 else ("", text)


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
             f"Spacers or wedges of {units.length(plan.gap_least_mm)} to {units.length(plan.gap_most_mm)}, mostly "
             f"{units.length(plan.gap_mm)} (how many: see the shopping list)",
             "Knee pads, glasses, ear muffs, dust mask, vacuum cleaner",
             "Moisture meter, or a test by someone who has one"]
    if holes:
        tools.append("Hole saw of " + ", ".join(units.fine(d) for d in holes)
                     + " across for the pipes, and wood glue (D3)")
    if job.room.doors:
        tools.append("Fine flat saw to undercut door casings")
    return tools
