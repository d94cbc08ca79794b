"""The survey solved: one joint weighted least squares over photos, tape and hints, with everything that tells its
worth.

Frames: see `camera.py` and `floor.py`. Method: start values (`initial/`), damped Gauss-Newton, covariance, Baarda's
data snooping, A-optimal advice (`adjustment/`). All is told as facts; `words.py` makes sentences of them. Not done
here: finding corners in pictures. Awkward part: a floor with tape lengths only has no sense of left and right; it is
taken as named anticlockwise and says so.
"""
from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from capture.language.messages import lazy_gettext
from capture.readings.chi_square import chi_square
from capture.adjustment.least_squares import Fit, Precision, assess, minimise
from capture.initial.drawn_outline import drawn_ring, settled_as_drawn, turned_as_drawn
from capture.initial.warm_start import begin_again, solved_at, state_near
from capture.adjustment.notes import (
    AnotherFloor,
    BarePhoto,
    Disagreement,
    NoLeftOrRight,
    Note,
    RoughPoints,
    Standing,
    VagueLens,
)
from capture.adjustment.network_design import best_check, corner_sd_mm, good_enough, measure_next, open_pairs
from capture.adjustment.straightness import find_bows
from capture.readings.state import LENS, State
from capture.readings.geometry import ring_area_mm2
from capture.errors import CaptureError
from capture.floor import Z95, Floor
from capture.readings.indexed import Indexed
from capture.adjustment.parameter_index import index_network, photo_size_px
from capture.adjustment.datum_defect import refuse_loose, refuse_unmeasured, refuse_vague
from capture.network import Network
from capture.adjustment.floor_prior import is_simple
from capture.adjustment.residuals import HIDDEN_SLIP_MM, read_off, smallest_slip
from capture.adjustment.data_snooping import Snooped, snoop, with_suspects
from capture.initial.selection import (
    Start, chosen, first_minima, is_any_believable, is_any_found, is_clean, promising_floors, spared_minima,
    wide_minima)
from capture.initial.work import USUAL_WORK
from capture.mishaps.errors import mishap_error
from capture.mishaps.foreign_photo import strange_photo
from capture.mishaps.likely import MishapSearch
from capture.mishaps.outline import crossing_walls, one_corner
from capture.mishaps.sight import order_seen
from capture.mishaps.trial import Explained, against
from capture.adjustment.survey import PhotoFit, Reading, Survey
from capture.readings.findings import Doubt, HardlyChecked, LettersMixed
from capture.readings.photo import Marks

#: A row is a board too long or too short when its wall is off by more than a cut's reserve; 20 mm is common practice,
#: no source.
ROUGH_MM = 20.0
#: A pipe or a corner of a bare part less sure than this (one standard deviation, mm) was put by eye or seen from afar;
#: our own choice, no source.
ROUGH_POINT_SD_MM = 15.0
#: A focal length known beforehand to less than this (relative) was read from a picture's file or given; one that is
#: guessed from what phones have is known to 25 % only (`desk.convert`).
TOLD_FOCAL_SD = 0.1


def solve_floor(network: Network, *, near: Survey | None = None, work: float = USUAL_WORK) -> Survey:
    """The floor that fits all readings best, with its covariance and what to doubt.

    A reading found wrong is named with what it should have been and left out. If the chi-square test fails at 1 %, the
    covariance is scaled by the variance factor and a note says so. All is told as facts: `capture.words.in_words` makes
    sentences of them. near: a survey of nearly the same network; where its floor still fits, the search for start
    values is spared. work: how wide to search where nothing fits at first (`initial.work`); what comes out is the best
    found within it. Raises CaptureError: too-few-corners, unmeasured-point, no-scale, loose-floor, no-start,
    strange-photo, crossed-outline, unknown-point, ...
    """
    if len(network.outline) < 3:
        raise CaptureError("too-few-corners", lazy_gettext(
            "the outline names {count} corners; a floor needs at least 3", count=len(network.outline)))
    network, notes = _without_bare_photos(turned_as_drawn(network))
    ix = index_network(network)
    refuse_unmeasured(ix, network)
    start = begin_again(ix, near.solved) if near and near.solved else None
    if start is None:
        found = _begun(ix, network, work)
        if isinstance(found, Explained):
            return _told(found, notes)
        start = found
    only, start = start.rival is None, settled_as_drawn(ix, start, network)
    survey = _judged(ix, network, start, notes)
    return survey if only or survey.solved is None else replace(survey, solved=replace(survey.solved, only=False))


def _begun(ix: Indexed, network: Network, work: float) -> Start | Explained:
    """Where the adjustment begins, or the one thing that explains why these readings make no room: what costs least to
    try and is likeliest comes first. Raises CaptureError "no-start", MishapError."""
    fits, search = first_minima(ix), MishapSearch(network, ix)
    if is_any_believable(ix, fits):
        start = chosen(ix, fits)
        twice = one_corner(network, ix, [start.fit])
        if twice:
            return twice[0]
        seen = order_seen(network, ix, start.fit)
        if seen is not None or is_clean(ix, start.fit):
            return seen or start
        return search.order(against(ix, start.fit)) or start
    mishap = search.likely(fits)
    if mishap is not None:
        return mishap
    fits += search.without_a_length() + spared_minima(ix, fits)
    if is_any_found(ix, fits):
        return chosen(ix, fits)
    mishap = search.late(fits)
    return mishap if mishap is not None else chosen(ix, fits + wide_minima(ix, fits, work))


def _told(found: Explained, notes: list[Note]) -> Survey:
    """The survey as it was probably meant, with the marks that say otherwise doubted. Raises MishapError where the
    corners themselves would have to be listed anew."""
    if not isinstance(found.mishap, LettersMixed):
        raise mishap_error(found.mishap)
    survey = _judged(found.ix, found.network, chosen(found.ix, [found.fit]), notes)
    return _doubting_letters(survey, found.mishap)


def _judged(ix: Indexed, network: Network, start: Start, notes: list[Note]) -> Survey:
    """The floor from its start values, with everything that tells its worth. Raises CaptureError."""
    fit = _settled(ix, start.fit)
    firm = start.fit.robust_state or fit.state
    refuse_loose(ix, firm, assess(ix, firm))
    snooped = snoop(ix, fit)
    if not is_simple(snooped.fit.state.points_mm[ix.outline]):
        snooped = snooped.without_likeliest()
    if not _settles(ix, snooped):
        strange = strange_photo(network, ix, promising_floors(ix, [start.fit, fit], 3))
        if strange is not None:
            raise mishap_error(strange)
    precision = assess(ix, snooped.fit.state, line_weights=snooped.line_weights)
    refuse_loose(ix, snooped.fit.state, precision)
    _refuse_crossed(ix, snooped.fit.state, network)
    return _survey(ix, network, start, snooped, precision, notes)


def follow_floor(network: Network, near: Survey) -> NDArray[np.float64] | None:
    """Where the floor's points go while a reading is being changed, (n, 2) mm in the order of `near.floor.names`: the
    next minimum only.

    For a drawing that follows a finger; nothing is checked and nothing is said of how sure it is. A survey that left a
    reading out is followed robustly, so that the slip cannot bend it. None if the points are not those of `near`, or
    nothing was solved for it.
    """
    network, _ = _without_bare_photos(network)
    ix = index_network(network)
    start = state_near(ix, near.solved) if near.solved is not None else None
    if start is None or ix.names != near.floor.names:
        return None
    return minimise(ix, start, robust=bool(near.suspects)).state.points_mm[:len(ix.names)]


def _doubting_letters(survey: Survey, mishap: LettersMixed) -> Survey:
    """A survey of letters put right, its marks under the letters that were told, and doubted."""
    told: dict[tuple[str, tuple[str, ...]], str] = {(where, (new,)): old for where, old, new in mishap.renamed}

    def as_told(reading: Reading) -> Reading:
        old = told.get((reading.where, reading.names)) if reading.photo == mishap.photo else None
        if reading.kind != "mark" or old is None:
            return reading
        return replace(reading, names=(old,), suspect=True, finding=Doubt(how=mishap, residual=reading.residual,
                                                                          left_out=False))
    readings = tuple(map(as_told, survey.readings))
    suspects = tuple(r for r in readings if isinstance(r.finding, Doubt) and r.finding.how is mishap)
    standing = None if survey.standing is None else replace(survey.standing, trust="suspect")
    return replace(survey, readings=readings, suspects=suspects + survey.suspects, standing=standing, solved=None)


def _settled(ix: Indexed, start: Fit) -> Fit:
    """The minimum of all readings; the start itself where a wild reading would drag a camera through the floor."""
    fit = replace(minimise(ix, start.state, iterations=100), robust_state=start.robust_state)
    return fit if np.all(fit.state.camera_heights() > 0) else start


def _settles(ix: Indexed, snooped: Snooped) -> bool:
    """Whether what is left after the snooping is a room and agrees as well as all but one sound survey in a thousand,
    and no photo had to lose a third of its marks for it. Readings of which one is wrong, nobody knows which, explain
    the rest's disagreement."""
    groups = ix.line_groups()
    kept_doubts = any(np.any(snooped.line_weights[groups == k] > 0) for k, _ in snooped.doubts)
    marks = ix.of(Marks)
    left_out = snooped.line_weights[ix.lines_of(Marks)][::2] == 0
    lost = np.bincount(marks.photo[left_out], minlength=len(ix.photo_names))
    if np.any((lost >= 2) & (3 * lost >= np.bincount(marks.photo, minlength=len(lost)))):
        return False
    spare = max(int(np.sum(snooped.line_weights)) - (ix.columns - 3), 1)
    agrees = kept_doubts or snooped.fit.cost <= chi_square(spare, 0.001)
    return agrees and is_simple(snooped.fit.state.points_mm[ix.outline])


def _survey(ix: Indexed, network: Network, start: Start, snooped: Snooped, precision: Precision,
            notes: list[Note]) -> Survey:
    state = snooped.fit.state
    redundancy = round(np.sum(snooped.line_weights) - np.trace(precision.hat))
    sigma0 = float(np.sqrt(snooped.fit.cost / redundancy)) if redundancy else 1.0
    passed = not redundancy or snooped.fit.cost <= chi_square(redundancy, 0.01)
    refuse_vague(ix, state, precision)
    floor = _floor(ix, network, state, precision.cov * (1.0 if passed else sigma0**2))
    readings = with_suspects(read_off(ix, precision), snooped.doubts)
    readings = _unchecked(readings, floor, network)
    suspects = tuple(readings[k] for k, _ in snooped.doubts)
    enough = good_enough(floor) and not suspects and start.rival is None and not _hidden_slips(floor, readings)
    return Survey(floor=floor, readings=readings, suspects=suspects,
                  advice=() if enough else measure_next(floor, network), bows=find_bows(floor),
                  solved=solved_at(ix, start.fit.robust_state or state, only=start.rival is None),
                  rival_mm=None if start.rival is None else start.rival.state.points_mm[:len(ix.names)].copy(),
                  photos=_photo_fits(ix, network, state, precision), sigma0=sigma0, redundancy=redundancy,
                  standing=_standing(floor, readings, start.rival is not None, enough),
                  notes=tuple(notes + _notes(ix, precision, start, passed, sigma0, network)))


def _without_bare_photos(network: Network) -> tuple[Network, list[Note]]:
    """The network less photos that cannot be placed or add nothing; a note for each that has marks."""
    touched = {m.photo for m in network.marks} | {line.photo for line in network.wall_lines}
    bare = {p.name for p in network.photos} - _placed_photos(network, touched)
    notes: list[Note] = [BarePhoto(photo=p.name) for p in network.photos if p.name in bare and p.name in touched]
    photos = tuple(p for p in network.photos if p.name not in bare)
    used = {p.camera for p in photos}
    return replace(network, photos=photos, cameras=tuple(c for c in network.cameras if c.name in used),
                   marks=tuple(m for m in network.marks if m.photo not in bare),
                   target_marks=tuple(m for m in network.target_marks if m.photo not in bare),
                   wall_lines=tuple(line for line in network.wall_lines if line.photo not in bare)), notes


def _placed_photos(network: Network, touched: set[str]) -> set[str]:
    """Photos with two marks, or a target and something else; one that nobody marked must share a target with another
    that is placed."""
    clicks = Counter(m.photo for m in network.marks) + Counter(line.photo for line in network.wall_lines)
    marks, targets = Counter(m.photo for m in network.marks), Counter(m.photo for m in network.target_marks)
    useful = [p.name for p in network.photos if marks[p.name] >= 2
              or (targets[p.name] and clicks[p.name] + targets[p.name] >= 2)]
    placed = {name for name in useful if name in touched}
    for _ in useful:
        linked = {m.seen.number for m in network.target_marks if m.photo in placed}
        placed |= {m.photo for m in network.target_marks if m.photo in useful and m.seen.number in linked}
    return placed


def _refuse_crossed(ix: Indexed, state: State, network: Network) -> None:
    ring = state.points_mm[ix.outline]
    if not is_simple(ring):
        crossing = crossing_walls(network.outline, ring)
        which = (lazy_gettext("{a} and {b}", **dict(zip("ab", map("-".join, crossing)))) if crossing
                 else lazy_gettext("that touch"))
        raise CaptureError("crossed-outline", lazy_gettext(
            "the best floor through these readings has walls that cross ({which}) when drawn {outline}: list the "
            "corners in the order you meet them walking round the room; if they are, a length or a mark is wrong",
            which=which, outline="-".join(network.outline)), where="outline")


def _floor(ix: Indexed, network: Network, state: State, cov: np.ndarray) -> Floor:
    """The solved points; the outline turned to run anticlockwise from its first corner."""
    outline = network.outline
    if ring_area_mm2(state.points_mm[ix.outline]) < 0:
        outline = outline[:1] + outline[:0:-1]
    size = 2 * len(ix.names)
    return Floor(names=ix.names, points_mm=state.points_mm[:len(ix.names)], cov_mm2=cov[:size, :size], outline=outline,
                 islands=network.islands,
                 gauge=f"{network.outline[0]} at the origin, {network.outline[0]}-{network.outline[1]} along +x")


def _photo_fits(ix: Indexed, network: Network, state: State, precision: Precision) -> tuple[PhotoFit, ...]:
    fits = []
    marks = ix.of(Marks)
    in_px = precision.residual[ix.lines_of(Marks)].reshape(-1, 2) * marks.sd[:, None]
    for k, photo in enumerate(network.photos):
        camera = int(ix.photo_camera[k])
        mine = in_px[marks.photo == k]
        fits.append(PhotoFit(photo=photo.name, rotation=state.rotations[k], shift_mm=state.shifts_mm[k],
                             focal_px=float(np.exp(state.log_focal[camera])), k1=float(state.distortion[camera][0]),
                             k2=float(state.distortion[camera][1]), centre_px=tuple(state.centres_px[k]),
                             size_px=photo_size_px(photo, network), rms_px=float(np.sqrt(np.mean(mine**2)))))
    return tuple(fits)


def _unchecked(readings: tuple[Reading, ...], floor: Floor, network: Network) -> tuple[Reading, ...]:
    """Tape readings that no other reading checks, told so with the slip that would stay unseen and the length that
    would check them."""
    pairs = open_pairs(floor, network)

    def told(reading: Reading) -> Reading:
        hidden = smallest_slip(reading)
        if reading.kind != "tape" or reading.suspect or hidden <= HIDDEN_SLIP_MM:
            return reading
        check = best_check(floor, pairs, reading.names[0], reading.names[1], reading.sd)
        helps = check is not None and smallest_slip(replace(reading, redundancy=check[2])) <= HIDDEN_SLIP_MM
        return replace(reading, finding=HardlyChecked(hidden_mm=hidden, check=check[:2] if check and helps else None))
    return tuple(told(r) for r in readings)


def _hidden_slips(floor: Floor, readings: tuple[Reading, ...]) -> bool:
    """Whether a length between corners could be wrong unseen."""
    return any(r.kind == "tape" and smallest_slip(r) > HIDDEN_SLIP_MM
               and set(r.names) <= set(floor.outline) for r in readings)


def _standing(floor: Floor, readings: tuple[Reading, ...], ambiguous: bool, enough: bool) -> Standing:
    """How far to trust the floor; the gravest doubt counts."""
    corner = Z95 * corner_sd_mm(floor)
    worst = max(floor.walls(), key=lambda wall: wall.pm95_mm)
    buys = corner <= ROUGH_MM and worst.pm95_mm <= ROUGH_MM
    return Standing(corner_pm_mm=corner, wall=(worst.a, worst.b), wall_pm_mm=worst.pm95_mm,
                    trust=("ambiguous" if ambiguous else "suspect" if any(r.suspect for r in readings) else "unchecked"
                           if _hidden_slips(floor, readings) else "cut" if enough else "buy" if buys else "rough"))


def _is_mirror(ix: Indexed, fit: Fit, rival: Fit) -> bool:
    """Whether the rival floor runs the other way round."""
    return bool(ring_area_mm2(rival.state.points_mm[ix.outline])
                * ring_area_mm2((fit.robust_state or fit.state).points_mm[ix.outline]) < 0)


def _rough_points(ix: Indexed, precision: Precision, network: Network) -> list[Note]:
    """Points that are no corner of the outline, pipes say, and known too badly to cut anything for them
    (`ROUGH_POINT_SD_MM`)."""
    corners = {*network.outline, *(corner for paper in network.papers for corner in paper.corners)}
    blocks = {name: precision.cov[2 * k:2 * k + 2, 2 * k:2 * k + 2] for k, name in enumerate(ix.names)
              if name not in corners}
    rough = {name: float(np.sqrt(np.linalg.eigvalsh(block)[-1])) for name, block in blocks.items()}
    rough = {name: sd for name, sd in rough.items() if sd > ROUGH_POINT_SD_MM}
    return [RoughPoints(names=tuple(rough), pm95_mm=Z95 * max(rough.values()))] if rough else []


def _notes(ix: Indexed, precision: Precision, start: Start, passed: bool, sigma0: float,
           network: Network) -> list[Note]:
    found: list[Note] = [] if passed else [Disagreement(sigma0=sigma0)]
    if start.rival is not None and _is_mirror(ix, start.fit, start.rival):
        found.append(NoLeftOrRight())
    elif start.rival is not None:
        moved = np.hypot(*(start.rival.state.points_mm - (start.fit.robust_state
                                                          or start.fit.state).points_mm)[:len(ix.names)].T)
        found.append(AnotherFloor(corner=ix.names[int(np.argmax(moved))], away_mm=float(moved.max())))
    if not len(ix.photo_names) and drawn_ring(network) is None:
        found.append(NoLeftOrRight())
    found += _rough_points(ix, precision, network)
    for k, camera in enumerate(network.cameras):
        column = ix.lens_column + LENS * k
        sd = float(np.sqrt(precision.cov[column, column]))
        if sd > 0.04:
            found.append(VagueLens(camera=camera.name, focal_sd=sd, told=camera.focal_sd < TOLD_FOCAL_SD))
    return found
