"""How the work can hurt, and what the reader must know or decide.

Every caution and warning names its rule or source in short. "Common practice" means no source is known to us; HSE is
the British safety regulator; EN and BS numbers are standards quoted second-hand.
"""
from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from shapely.geometry import Polygon

from layout.region.doorways import TUCK_MM, undercut_mm
from layout.region.gap import LAP_MM, gap_rule, longest_run_mm, shrink_mm
from layout.plan import Doorway, Hole, LeftOut, Profile, Relaxed, Row
from layout.room import Board, Casing, Door, Room, Settled

LONG_RUN_MM = 8000.0
LOOSE_SURVEY_MM = 2.0

CAUTIONS = (
    "Dust: cut outdoors or with extraction, wear an FFP2 mask or better and vacuum instead of sweeping (HSE wood dust "
    "limit 3 mg/m3 for "
    "mixtures; mask class common practice).",
    "Eyes: wear safety glasses for every cut; chips of the hard face are sharp (EN 166).",
    (
        "Ears: a mitre or circular saw is 95 to 105 dB(A) at the ear; wear muffs (Noise Regulations 2005, action at 80 "
        "and 85 dB(A))."
    ),
    (
        "Saw: guard working, plug out before touching the blade, work clamped, no gloves near a spinning blade (HSE "
        "and "
        "OSHA general advice)."
    ),
    "Back and knees: a pack weighs 11 to 23 kg - carry it with two people or split it; kneel on pads and change "
    "posture every 20 to 30 "
    "minutes (HSE).",
    "Old floors: vinyl or thermoplastic tiles and black adhesive (UK before 2000, US before the 1980s) may hold "
    "asbestos. Do not sand, "
    "scrape or drill; lay over a sound floor or have it tested (US EPA advice).",
    ("Old paint on skirting and frames may hold lead (US homes before 1978, UK before 1992): keep dust wet and "
     "children out (US EPA advice)."),
    ("Before any screw, nail or drill goes down: find cables and pipes, power off. Gas and heating pipes are for "
     "registered fitters."),
    "Fire doors and flat entrance doors are never trimmed or undercut: ask the landlord or building control (BS 8214).",
    ("Damp: a film does not cure a wet slab. Screed at most 2.0 CM-% (calcium sulphate 0.5), timber subfloor at most "
     "12 % (maker leaflets)."),
    "The board maker's leaflet overrules this plan wherever the two differ.",
)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Findings:
    """What a plan came to that a reader should hear of. extents_mm: longest run along the rows and depth across
    them."""

    cover: list[Polygon]
    lost: list[Polygon]
    holes: tuple[Hole, ...]
    doorways: tuple[Doorway, ...]
    blocked: tuple[Door, ...]
    profiles: tuple[Profile, ...]
    left_out: tuple[LeftOut, ...]
    extents_mm: tuple[float, float]
    relaxed: tuple[Relaxed, ...]
    rows: tuple[Row, ...] = ()


def warnings_for(room: Room, board: Board, wishes: Settled, found: Findings) -> tuple[str, ...]:
    """What the reader must know or decide."""
    says = [rule.says for rule in found.relaxed if rule.rule != "alike"] + _about_alike(found.relaxed)
    says += _about_cover(found, wishes)
    says += _about_left_out(wishes, found.left_out)
    says += _about_beading(room, wishes, found.left_out)
    says += _about_size(room, wishes, found)
    ways = {way.door: way for way in found.doorways}
    for door in room.doors:
        says += _about_door(door, board, wishes, ways.get(door.name), door in found.blocked)
    says += about_tight_places(found.rows)
    says += [f"Pipe {hole.pipe} stands clear of the boards (in the gap or beside the floor): no hole is needed."
             for hole in found.holes if not hole.pieces]
    if room.length_sd_mm > LOOSE_SURVEY_MM:
        says.append(f"Lengths of this survey are good to about {2 * room.length_sd_mm:.0f} mm (95 %); a piece must fit "
                    "within 2 or 3 mm, so measure "
                    "each last piece in place before cutting.")
    return tuple(says)


def beading_least_mm(room: Room, wishes: Settled, left_out: tuple[LeftOut, ...]) -> float:
    """How wide beading must cover the floor: widest gap, winter shrinkage and 2 mm of lap (trade sheet, section 7),
    mm."""
    widest = wishes.gap_mm + max((strip.width_mm for strip in left_out), default=0.0)
    return widest + shrink_mm(longest_run_mm(room, wishes.longest_mm), wishes.climate) + LAP_MM


def _about_cover(found: Findings, wishes: Settled) -> list[str]:
    says = []
    parts = len(found.cover) - len(found.profiles)
    if parts > 1:
        says.append(f"Less its gap the floor is in {parts} parts; each is laid by itself, on the same rows.")
    for part in found.lost:
        x, y = part.representative_point().coords[0]
        says.append(f"A part of the floor near ({x:.0f}, {y:.0f} mm), {part.area / 100:.0f} cm2, is too narrow to take "
                    "boards with a gap of "
                    f"{wishes.gap_mm:g} mm on both sides; cover it with a wider skirting or a strip fixed to the wall.")
    return says


def _about_left_out(wishes: Settled, left_out: tuple[LeftOut, ...]) -> list[str]:
    if not left_out:
        return []
    widest = max(strip.width_mm for strip in left_out)
    x, y = (sum(values) / len(values) for values in zip(*max(left_out, key=lambda strip: strip.width_mm).outline))
    many, are = ("A strip", "is") if len(left_out) == 1 else (f"{len(left_out)} strips", "are")
    return [
        f"{many} of the floor up to {widest:.0f} mm wide (near {x:.0f}, {y:.0f} mm) cannot be sawn and {are} left out: "
        "the gap is up to "
        f"{wishes.gap_mm + widest:.0f} mm there, and the beading must cover it."
    ]


def _about_alike(relaxed: tuple[Relaxed, ...]) -> list[str]:
    """Rows whose joints lie like those two rows before, all in one sentence."""
    rows = [rule.where.removeprefix("row ") for rule in relaxed if rule.rule == "alike"]
    if not rows:
        return []
    return [f"Joints of {'row' if len(rows) == 1 else 'rows'} {', '.join(rows)} lie within 100 mm of those two rows "
            "before: no better place was found that keeps the boards as few."]


def about_tight_places(rows: tuple[Row, ...]) -> list[str]:
    """Pieces that cannot be tilted in, a sentence for each reason."""
    flat: dict[str, list[str]] = {}
    for piece in (piece for row in rows for piece in row.pieces if piece.flat):
        flat.setdefault(piece.flat, []).append(piece.id)
    return [f"{'Piece' if len(ids) == 1 else 'Pieces'} {', '.join(ids)} cannot be tilted in ({why}): plane the lip of "
            "the groove off, glue the joint, push flat and draw up with the pull bar (common practice)."
            for why, ids in flat.items()]


def _about_beading(room: Room, wishes: Settled, left_out: tuple[LeftOut, ...]) -> list[str]:
    least = ceil(beading_least_mm(room, wishes, left_out))
    if wishes.beading.width_mm >= least:
        return []
    return [
        f"Beading {wishes.beading.width_mm:g} mm wide is too narrow here: it must cover at least {least} mm of floor "
        "(the widest gap, what "
        "the boards shrink in the dry season, and 2 mm)."
    ]


def _about_size(room: Room, wishes: Settled, found: Findings) -> list[str]:
    run, longest = longest_run_mm(room, wishes.longest_mm), max(found.extents_mm)
    asked, says = gap_rule(run), [profile.says for profile in found.profiles]
    if wishes.climate is None and wishes.gap_mm < asked - 1e-9:
        says.append(f"The gap is {wishes.gap_mm:g} mm as typed; for a floor {run / 1000:.1f} m long the rule of 1.5 mm "
                    "a metre, at least 8 mm, asks for "
                    f"{ceil(asked - 1e-9)} mm (European trade laying guides), and a gap left open is planned so. "
                    f"{wishes.gap_mm:g} mm is what you asked for: keep it only if the board's leaflet allows it.")
    if found.profiles:
        says.append(f"The floor is longer than {wishes.longest_mm / 1000:g} m in one piece, so expansion profiles part "
                    "it into "
                    f"{len(found.cover)} fields (trade habit: 8 to 10 m; some leaflets allow 13 m, and then say so "
                    "under 'longest'). Fix each "
                    "profile to the subfloor only.")
    elif longest > LONG_RUN_MM:
        says.append(f"The floor is {longest / 1000:.1f} m long in one piece; many leaflets want an expansion profile "
                    "beyond 8 m - check yours.")
    return says


def _about_door(door: Door, board: Board, wishes: Settled, way: Doorway | None, blocked: bool) -> list[str]:
    if way is not None:
        says = (f"the boards run into the doorway and stop {way.depth_mm - wishes.gap_mm:g} mm beyond the wall line, "
                f"{wishes.gap_mm:g} mm short of "
                "the middle of the threshold profile. Measure from the wall to where the closed leaf stands before you "
                "saw: "
                f"{way.depth_mm:g} mm is planned.")
    elif blocked:
        says = (f"its doorway, {door.reveal_mm:g} mm deep, runs into another part of this floor or another doorway, so "
                "this plan stops at the wall "
                "line there; check which wall the door is in.")
    else:
        says = ("this plan stops at the wall line. The strip in the doorway must be planned at the threshold, where a "
                "profile goes; give the "
                "opening's depth to have it planned.")
    casing = _about_casing(door, door.casing, board, wishes, way) if door.casing is not None else []
    return [f"Door {door.name}: {says}", *casing]


def _about_casing(door: Door, casing: Casing, board: Board, wishes: Settled, way: Doorway | None) -> list[str]:
    layer = wishes.underlay.thickness_mm if wishes.underlay is not None else 0.0
    sum_of = f"board {board.thickness_mm:g} mm + " + (f"underlay {layer:g} mm + 1 mm"
                                                      if layer else "1 mm, and the underlay's thickness on top")
    lap = casing.thickness_mm - wishes.gap_mm
    sides = f"{TUCK_MM:g} mm under it at the sides of the opening and " if way is not None else ""
    front = f"{lap:g} mm under it from the room" if lap > 0 else ("no further than its face from the room: cover the "
                                                                  "gap there with the beading")
    return [f"Door {door.name}: undercut the casing at {undercut_mm(board, wishes.underlay):g} mm ({sum_of}), at least "
            f"{wishes.gap_mm + TUCK_MM:g} mm deep: {TUCK_MM:g} mm for the board and the gap of {wishes.gap_mm:g} mm "
            "behind it. The boards reach "
            f"{sides}{front}. Never undercut a metal or fire-door frame."]
