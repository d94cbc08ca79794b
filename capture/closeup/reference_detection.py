"""The sheet, card or target in a close-up, found without help. Door for other rooms.

In: upright pixels and a lens. Method: rectangles are taken from the outlines of everything lighter, darker, redder or
bluer than a row of levels (OpenCV), in a picture made small; their four sides are measured in the full picture
(`quad_edges`), and every thing of known size is laid on them by least squares (`plane_pose`). One is taken if it fits
as well as its edges are sharp, if nothing else of known shape does, and if it looks as it should: a sheet light, grey
and plain with sharp corners, a card with round ones. A wrong scale would spoil a board, so a doubt is told rather than
settled: two candidates, or a shape that sheets of another size share.
"""
from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.image.edge_profiles import Array, changes_across
from capture.closeup.reference_objects import Reference, target_reference
from capture.closeup.quadrilaterals import SMALL_PX, anticlockwise, apart, distinct, quad_area, rectangles
from capture.errors import CaptureError
from capture.language.messages import Message, gettext, lazy_gettext
from capture.network import Camera
from capture.closeup.quad_edges import Side, measure_sides
from capture.image.targets import find_targets
from capture.closeup.plane_pose import Seen, View, lens_oddness, solve_view

#: The root mean square of whitened residuals up to which a thing fits, and one the reader has named; by how much the
#: sum of squares of any other must be larger.
_FITS, _FITS_TOLD, _WORSE_BY = 1.75, 2.2, 20.0
#: A thing named by the reader that fits no better than this, and worse than `_FITS_TOLD`, is bent or another thing of
#: nearly that shape.
_BENT = 9.0
#: A camera that looks at a sheet more from the side than this sees its shape poorly.
FLATTEST_RAD = float(np.radians(50.0))
#: How far the lens may be from what is known of it beforehand: a sum of five squared standard deviations, which is
#: above this once in 4,000 pictures (chi-square). A thing that fits only through another lens, such as an upright face
#: of a casing, is another thing.
_ODDEST_LENS = 23.7
#: A sheet's paper: stored values at least this light beside the floor's, and this grey (largest less smallest channel),
#: of 255.
_LIGHTER, _COLOURLESS = 25.0, 48.0
#: The largest spread of stored values inside a plain sheet, of 255.
_PLAIN = 14.0
#: How far short of the crossing of its sides a card's corner is seen to turn, mm: radii of 2.88 to 3.48 (ISO/IEC 7810)
#: make 1.19 to 1.44 of it, blur adds up to 0.2, and the place is read to about 0.1. A print on a book's cover, taken
#: for a card, came to 0.7.
_CARD_CUT_MM = (0.9, 2.0)
#: Three corners of a card at least are cut alike to this, mm; where sides that are no card's were fitted they differ.
_CUTS_ALIKE_MM = 0.5
#: A sharp corner looks cut by so many standard deviations of its blur (two edges across one another are half as light
#: where each is 0.71); a card is taken, unasked, only where that is no more than so many mm, for else a print's corners
#: pass for a card's.
_SHARP_LOOKS_CUT, _MOST_BLURRED_CUT_MM = 0.77, 0.6
#: Blur of an edge on the floor, one standard deviation, mm, beyond which a photo is too blurred to trace.
_WORST_BLUR_MM = 1.2


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Found:
    """The view over a reference, its corners in the picture (4, 2), its sides where they were measured, and what to
    ask the reader."""

    view: View
    corners_px: Array
    sides: tuple[Side, ...]
    asks: tuple[str, ...] = ()


def find_reference(pixels: NDArray[np.uint8], camera: Camera, things: Sequence[Reference], *,
                   target_mm: float = 0.0) -> Found:
    """The reference in a picture (h, w, 3). things: those that may lie there; target_mm: side of printed targets, 0 for
    none.

    Raises CaptureError, saying what to do: "no-reference", "two-references", "reference-cut-off", "curled-sheet",
    "blurred-closeup", "flat-view".
    """
    if target_mm:
        on_target = _on_target(pixels, camera, target_reference(target_mm))
        if on_target is not None:
            return on_target
    quads = distinct(list(rectangles(pixels)))
    told = len(things) == 1
    fitted = [found for quad in quads for found in [_fitted(pixels, camera, things, quad)] if found is not None]
    likely = [found for found in fitted if _looks_right(pixels, found, told=told)]
    good = _without_doubles([found for found in likely if found.view.misfit <= (_FITS_TOLD if told else _FITS)
                             and lens_oddness(found.view, camera) <= _ODDEST_LENS])
    # What would be refused anyway, an upright side of a casing as a rule, makes no other one doubtful.
    good = [found for found in good if found.view.tilt_rad <= FLATTEST_RAD] or good
    if not good:
        raise _curled(things[0]) if told and likely else _nothing(pixels, things)
    if len(good) > 1:
        names = gettext(" and ").join(gettext("the {reference} at {place}", reference=found.view.reference.says,
                                              place=_place(found)) for found in good[:2])
        raise CaptureError("two-references", lazy_gettext(
            "Two things in the photo look like a reference: {names}; take one away, or mark the four corners of the "
            "right one.", names=names))
    return checked(good[0])


def marked_reference(pixels: NDArray[np.uint8], camera: Camera, reference: Reference, corners_px: Array, *,
                     click_px: float) -> Found:
    """The view from four corners marked by hand, with the sides between them measured where all four are clear.

    Raises CaptureError: "reference-corners" for marks that make no rectangle, and what `find_reference` raises about
    its view.
    """
    quad = anticlockwise(corners_px)
    height, width = pixels.shape[:2]
    if np.any(quad < -0.5) or np.any(quad > np.array([width, height]) - 0.5):
        raise _cut_off(reference.says)
    if not cv2.isContourConvex(np.round(quad * 16).astype(np.int32)) or quad_area(quad) < 100.0:
        raise CaptureError("reference-corners", lazy_gettext(
            "The four marks do not go round a {reference}; mark its corners one after the other, where its straight "
            "edges would meet.", reference=reference.says))
    sides = measure_sides(pixels, quad, rough_px=max(4.0, 2.0 * click_px), round_share=_round_share(reference))
    if sides is not None:
        found = _best(camera, (reference,), quad, sides)
        if found is not None and found.view.misfit <= _FITS:
            return checked(found)
    views = [(solve_view(seen_of_corners(turned, click_px), turned, reference, camera), turned)
             for turned in _turns(quad)]
    view, turned = min(views, key=lambda pair: pair[0].cost)
    if not np.isfinite(view.cost) or view.misfit > 4.0:
        raise CaptureError("reference-corners", lazy_gettext(
            "The four marks are not the shape of a {reference}; mark its corners where its straight edges would meet, "
            "or say what it is.", reference=reference.says))
    return checked(Found(view=view, corners_px=turned, sides=(), asks=(gettext(
        "The sides of the reference are not clear in this photo, so your four marks alone are used."),)))


def checked(found: Found) -> Found:
    """The same, refused if the picture cannot be trusted."""
    view = found.view
    if view.tilt_rad > FLATTEST_RAD:
        raise CaptureError("flat-view", lazy_gettext(
            "The {reference} is seen {tilt:.0f} degrees from straight above, or does not lie flat on the floor; lay it "
            "flat and hold the phone above it, looking down.", reference=view.reference.says,
            tilt=np.degrees(view.tilt_rad)))
    if _blur_mm(found) > _WORST_BLUR_MM:
        raise CaptureError("blurred-closeup", lazy_gettext(
            "The photo is blurred: edges are {wide:.1f} mm wide in it; hold the phone still, tap the card or sheet "
            "to focus, and take it again.", wide=2 * _blur_mm(found)))
    return found


def seen_of_sides(sides: Sequence[Side]) -> Seen:
    """What was seen of a reference whose sides were measured, the first a long one."""
    return Seen(places_px=np.concatenate([side.places_px for side in sides]),
                across=np.concatenate([side.across for side in sides]),
                sd_px=np.concatenate([side.sd_px for side in sides]),
                side=np.repeat(np.arange(4), [len(side.places_px) for side in sides]))


def seen_of_corners(quad_px: Array, click_px: float) -> Seen:
    """What was seen of a reference if its four corners alone were marked: each is a place on two sides."""
    places, across, side = [], [], []
    for k in range(4):
        along = quad_px[(k + 1) % 4] - quad_px[k]
        out = np.array([along[1], -along[0]]) / np.hypot(*along)
        places += [quad_px[k], quad_px[(k + 1) % 4]]
        across += [out, out]
        side += [k, k]
    return Seen(places_px=np.array(places), across=np.array(across), sd_px=np.full(8, click_px), side=np.array(side))


def _on_target(pixels: NDArray[np.uint8], camera: Camera, reference: Reference) -> Found | None:
    """A view over the largest printed target seen, if one is."""
    seen = find_targets(pixels)
    if not seen:
        return None
    largest = max((np.array(one.corners_px) for one in seen), key=quad_area)
    quad = anticlockwise(largest)
    sides = measure_sides(pixels, quad, rough_px=3.0)
    found = None if sides is None else _best(camera, (reference,), quad, sides)
    return checked(found) if found is not None and found.view.misfit <= _FITS else None


def _fitted(pixels: NDArray[np.uint8], camera: Camera, things: Sequence[Reference], quad: Array) -> Found | None:
    """The thing that fits a rectangle, or None if none does or two do."""
    rough = max(pixels.shape[:2]) / SMALL_PX * 1.5 + 1.0
    sides = measure_sides(pixels, quad, rough_px=rough,
                          round_share=max((_round_share(thing) for thing in things), default=0.0))
    if sides is None:
        return None
    found = _best(camera, things, quad, sides)
    return (
        found
        if found is not None and found.view.misfit <= _BENT and found.view.tilt_rad <= FLATTEST_RAD + 0.3
        else None
    )


def _best(camera: Camera, things: Sequence[Reference], quad: Array, sides: Sequence[Side]) -> Found | None:
    """The best fit of the things either way round; None where another thing fits nearly as well."""
    fits = []
    for thing in things:
        for k in (0, 1):
            turned, in_turn = np.roll(quad, -k, axis=0), (*sides[k:], *sides[:k])
            fits.append(Found(view=solve_view(seen_of_sides(in_turn), turned, thing, camera), corners_px=turned,
                              sides=tuple(in_turn)))
    fits = [fit for fit in fits if np.isfinite(fit.view.cost)]
    fits.sort(key=lambda fit: fit.view.cost)
    if not fits:
        return None
    rival = next((fit for fit in fits if fit.view.reference is not fits[0].view.reference), None)
    best = fits[0].view
    if (
        rival is not None
        and rival.view.misfit < _FITS
        and rival.view.cost - best.cost < _WORSE_BY * max(1.0, best.misfit**2)
    ):
        return None
    return replace(fits[0], corners_px=corners_of(fits[0].view))


def corners_of(view: View) -> Array:
    """(4, 2) px where the reference's straight sides would meet, anticlockwise, the first side a long one."""
    w, h = view.sides_mm / 2
    return view.to_px(np.array([[-w, -h], [w, -h], [w, h], [-w, h]]), view.reference.thick_mm)


def _turns(quad: Array) -> Iterator[Array]:
    yield quad
    yield np.roll(quad, -1, axis=0)


def _round_share(reference: Reference) -> float:
    return reference.radius_mm / min(reference.sides_mm)


def _looks_right(pixels: NDArray[np.uint8], found: Found, *, told: bool) -> bool:
    """Whether corners are round where they should be and sharp elsewhere, and a sheet is light, grey and plain.

    told: the reader has said what lies there, and a card may be a blank one, cut square.
    """
    cuts = _corner_cuts_mm(pixels, found)
    # The median: an overlap by one other thing must not decide.
    rounded = float(np.median(cuts)) if len(cuts) >= 3 else float("nan")
    reference = found.view.reference
    if reference.radius_mm:
        return -0.6 <= rounded <= 2.4 if told else _cut_as_a_card(found, cuts, rounded)
    inside = _inside_values(pixels, found.corners_px)
    middle = np.median(inside, axis=0)
    lighter = np.mean([np.linalg.norm(np.minimum(side.change, 0.0)) > np.linalg.norm(np.maximum(side.change, 0.0))
                       for side in found.sides])
    return bool(abs(rounded) <= max(1.2, 0.004 * reference.sides_mm[0]) and lighter == 1.0
                and np.ptp(middle) <= _COLOURLESS and np.mean(middle) >= 110.0
                and np.percentile(np.abs(inside.mean(axis=1) - np.median(inside.mean(axis=1))), 80) <= _PLAIN)


def _cut_as_a_card(found: Found, cuts: Array, rounded: float) -> bool:
    """Whether at least three corners are as round as a card's, and seen sharply enough to tell. rounded: their
    median, nan of fewer than three."""
    least, most = _CARD_CUT_MM
    alike = np.sum(np.abs(cuts - rounded) <= _CUTS_ALIKE_MM) >= 3
    return bool(least <= rounded <= most and alike and _SHARP_LOOKS_CUT * _blur_mm(found) <= _MOST_BLURRED_CUT_MM)


def _blur_mm(found: Found) -> float:
    """The worst blur of its sides, one standard deviation, mm on the floor."""
    return max((side.spread_px for side in found.sides), default=0.0) / _px_a_mm(found.view, found.corners_px)


def _inside_values(pixels: NDArray[np.uint8], quad: Array) -> Array:
    """(n, 3) stored values on a grid inside a rectangle."""
    u, v = (grid.ravel()[:, None] for grid in np.meshgrid(np.linspace(0.06, 0.94, 30), np.linspace(0.06, 0.94, 30)))
    at = (1 - u) * (1 - v) * quad[0] + u * (1 - v) * quad[1] + u * v * quad[2] + (1 - u) * v * quad[3]
    x, y = np.round(at).astype(int).T
    height, width = pixels.shape[:2]
    return pixels[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)].astype(float)


def _corner_cuts_mm(pixels: NDArray[np.uint8], found: Found) -> Array:
    """(up to 4,) how far short of the crossing of two sides the outline turns each corner, on the diagonal, mm: 0.41
    radii for a round corner."""
    view = found.view
    w, h = view.sides_mm / 2
    cuts = []
    for x, y in ((-w, -h), (w, -h), (w, h), (-w, h)):
        corner, inner = view.to_px(np.array([[x, y], [x - 6.0 * np.sign(x), y - 6.0 * np.sign(y)]]),
                                   view.reference.thick_mm)
        way = corner - inner
        length = float(np.hypot(*way))
        spots = (corner + np.linspace(-0.1, 0.1, 5)[:, None] * np.array([way[1], -way[0]]) / 8.0) - 0.1 * way
        found_here = changes_across(pixels, spots, np.tile(way / length, (5, 1)), 0.6 * length)
        if np.any(found_here.clear):
            cuts.append((0.1 * length - float(np.median(found_here.off_px[found_here.clear]))) / length * 6.0
                        * np.sqrt(2.0))
    return np.array(cuts)


def _without_doubles(found: list[Found]) -> list[Found]:
    """One of each thing: outlines found at two levels lead to the same sides."""
    kept: list[Found] = []
    for one in sorted(found, key=lambda f: f.view.misfit):
        if not any(apart(one.corners_px, other.corners_px) < 0.05 * np.sqrt(quad_area(other.corners_px))
                   for other in kept):
            kept.append(one)
    return kept


def _nothing(pixels: NDArray[np.uint8], things: Sequence[Reference]) -> CaptureError:
    """Why no reference was found, as far as that can be told."""
    says = gettext(" or ").join(str(thing.says) for thing in things) or gettext("reference")
    if not any(thing.radius_mm for thing in things) and _touches_rim(pixels):
        return _cut_off(says)
    return CaptureError("no-reference", lazy_gettext(
        "No {reference} is found in this photo: it must lie flat, whole and sharp in the picture, taken from near, on "
        "a floor of another colour; or mark its four corners by hand.", reference=says))


def _touches_rim(pixels: NDArray[np.uint8]) -> bool:
    """Whether a light grey plain thing with straight sides runs out of the picture at one side."""
    zoom = min(1.0, 400.0 / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    light = (small.min(axis=2) > 150) & (np.ptp(small.astype(int), axis=2) <= _COLOURLESS)
    outlines, _ = cv2.findContours(light.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for outline in outlines:
        x, y, w, h = cv2.boundingRect(outline)
        touches = sum((x <= 0, y <= 0, x + w >= small.shape[1], y + h >= small.shape[0]))
        area, corners = cv2.contourArea(outline), len(cv2.approxPolyDP(outline, 0.02 * cv2.arcLength(outline, True),
                                                                       True))
        share = area / (small.shape[0] * small.shape[1])
        if touches == 1 and corners in (3, 4,
                                        5) and 0.02 <= share <= 0.3 and area >= 0.96 * cv2.contourArea(
                cv2.convexHull(outline)):
            return True
    return False


def _curled(thing: Reference) -> CaptureError:
    return CaptureError("curled-sheet", lazy_gettext(
        "Something with nearly the shape of a {reference} lies there, but its sides do not fit: it may be curled or "
        "stand off the floor. Tape its corners flat and make sure of what it is, or lay another one.",
        reference=thing.says))


def _cut_off(says: str | Message) -> CaptureError:
    return CaptureError("reference-cut-off", lazy_gettext(
        "The {reference} runs out of the picture; step back until it is in it whole, with some floor all round.",
        reference=says))


def _place(found: Found) -> str:
    x, y = found.corners_px.mean(axis=0)
    return f"{x:.0f}, {y:.0f}"


def _px_a_mm(view: View, quad: Array) -> float:
    return float(np.sqrt(quad_area(quad) / max(view.sides_mm[0] * view.sides_mm[1], 1e-9)))
