"""Everything that can be told to be wrong with a job without solving it: points, outline, readings.

Photos and lenses are judged in `check_photos`, boards, doors and pipes in `check_laying`. Each check is a generator
over one matter, so one look finds all faults. What only the adjustment can know (two walls that cannot meet) is left to
it.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from itertools import combinations

from capture.language.messages import gettext, listed, ngettext
from capture.readings.tape import is_between
from capture.network import default_tape_sd_mm
from desk.checks.closing import SLIPPED, too_long_to_close
from desk.checks.laying import laying_problems
from desk.checks.named_order import no_walls
from desk.checks.photos import photo_problems
from desk.checks.spreads import spread_problems
from desk.checks.unseen import unseen_problems
from desk.jobfile.job import Job, OffsetEntry, TapeEntry
from desk.jobfile.kinds import LONGEST_NAME, Pair, Place
from desk.names import MOST_SURVEYED, outline_of, placed_points, rings_of
from desk.jobfile.parse import unknown_keys
from desk.store.photos import Photos
from desk.problem import Problem
from desk.readings import mentions_of

#: Below this a floor holds no room; above it the numbers were meant in another unit (mm2).
SMALLEST_FLOOR_MM2 = 0.25e6
LARGEST_FLOOR_MM2 = 2000e6
#: No tape used in a room is longer (mm).
LONGEST_TAPE_MM = 100_000.0
#: So many of one kind are told one by one, or named in one sentence; the rest are counted.
MOST_TOLD = 30
#: Islands of one floor.
MOST_ISLANDS = 40


def find_problems(job: Job, photos: Photos) -> tuple[Problem, ...]:
    """Everything wrong with a job that could be read: what stops it first, then what is worth knowing.

    photos: what can be told of each picture (`desk.store.photos.look_at_photos`).
    """
    checks = (_unknown_keys, too_many, _outline, _given_floor, _islands, _known_points, _unmeasured, _walls, _tapes,
              _doubles, too_long_to_close, _squares, _unused)
    found = [problem for check in checks for problem in check(job)]
    found += spread_problems(job, photos)
    found += photo_problems(job, photos)
    found += laying_problems(job)
    found += unseen_problems(job, severity="note")
    return tuple(sorted(found, key=lambda p: p.severity != "stop"))


def problems_while_typed(job: Job) -> tuple[Problem, ...]:
    """What can be said of a job while it is still being typed, whatever is missing yet: boards, rules, doors, and
    lengths that contradict."""
    return tuple([problem for problem in laying_problems(job) if problem.severity == "stop"] + list(_doubles(job)))


def _stop(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, stage="survey")


def _note(slug: str, where: str, says: str) -> Problem:
    return Problem(slug=slug, where=where, says=says, severity="note", stage="survey")


def _unknown_keys(job: Job) -> Iterator[Problem]:
    """Keys nothing reads: slips of the pen, or of a later version. They stop nothing and stay in the file."""
    for place, key, known in unknown_keys(job.data):
        meant = get_close_matches(key, known, n=1)
        yield Problem(slug="unknown-key", where=f"{place}.{key}".lstrip("."), severity="note",
                      says=_unknown_key(key[:LONGEST_NAME], place, meant[0] if meant else ""))


def _unknown_key(key: str, place: str, meant: str) -> str:
    if place and meant:
        return gettext('job.json: "{key}" in {place} is not known; did you mean "{meant}"?', key=key, place=place,
                       meant=meant)
    if place:
        return gettext('job.json: "{key}" in {place} is not known, so it is kept but not used.', key=key, place=place)
    if meant:
        return gettext('job.json: "{key}" is not known; did you mean "{meant}"?', key=key, meant=meant)
    return gettext('job.json: "{key}" is not known, so it is kept but not used.', key=key)


def too_many(job: Job) -> Iterator[Problem]:
    """More than is surveyed or planned in one go: each takes its time, and a room has a tenth of it."""
    points = {name for ring in rings_of(job) for name in ring} | {name for name, _ in mentions_of(job)}
    islands = len(job.islands) if job.floor is None else len(job.floor.holes_mm)
    if job.floor is None and len(points) > MOST_SURVEYED:
        yield _stop("too-many", "outline", gettext(
            "The job names {points} corners and points, but {most} can be surveyed at once; survey the "
            "rooms one by one and join them with tapegroove house, or give the floor as coordinates.",
            points=len(points), most=MOST_SURVEYED))
    if islands > MOST_ISLANDS:
        yield _stop("too-many", "islands" if job.floor is None else "floor.holes", gettext(
            "The floor has {islands} islands, but {most} can be planned round at once; leave out those that "
            "boards can run under, or plan the floor in parts.", islands=islands, most=MOST_ISLANDS))


def _outline(job: Job) -> Iterator[Problem]:
    """Corners of the outline: at least three, no two alike."""
    if job.floor is None and len(job.outline) < 3:
        count = len(job.outline)
        says = ngettext(
            "The job has only {count} floor corner ({corners}); a room needs at least 3: list them in order round the "
            "room.", "The job has only {count} floor corners ({corners}); a room needs at least 3: list them in order "
            "round the room.", count, corners=", ".join(job.outline)) if count else gettext(
            "The job has no floor corners yet; a room needs at least 3: list them in order round the room.")
        yield _stop("too-few-corners", "outline", says)
    for name, times in Counter(job.outline).items():
        if times > 1:
            yield _stop("double-name", "outline", gettext(
                "Corner {name} stands {times} times in the outline; give each corner a name of its own.", name=name,
                times=times))
    folded = Counter(name.casefold() for name in set(job.outline))
    for name in job.outline:
        if folded[name.casefold()] > 1:
            yield _note("alike-names", "outline", gettext(
                "Corner {name} differs from another only by a capital letter; that is easily mistaken.", name=name))


def _given_floor(job: Job) -> Iterator[Problem]:
    """A floor given as coordinates: enough corners, as many names, no crossing, a sensible size."""
    floor = job.floor
    if floor is None:
        return
    if len(floor.outline_mm) < 3:
        yield _stop("too-few-corners", "floor.outline", gettext(
            "floor.outline has {outline} corners; a floor needs at least 3.", outline=len(floor.outline_mm)))
        return
    if job.outline and len(job.outline) != len(floor.outline_mm):
        yield _stop("names-and-corners", "outline", gettext(
            "The outline names {outline} corners, but floor.outline has {places}; name every corner, or leave the "
            "names out to have A, B, C.", outline=len(job.outline), places=len(floor.outline_mm)))
    yield from _ring_problems(floor.outline_mm, outline_of(job), "floor.outline")
    for number, hole in enumerate(floor.holes_mm):
        place = f"floor.holes[{number}]"
        if len(hole) < 3:
            yield _stop("too-few-corners", place, gettext(
                "{place} has {hole} corners; a hole needs at least 3.", place=place, hole=len(hole)))
        else:
            yield from _crossings(hole, tuple(str(i + 1) for i in range(len(hole))), place)
    if job.tapes or job.offsets or any(photo.marks for photo in job.photos):
        yield _note("floor-is-given", "floor",
                    gettext("The floor is given as coordinates, so photos and tape lengths are not used."))


def _ring_problems(ring: tuple[Place, ...], names: tuple[str, ...], where: str) -> Iterator[Problem]:
    crossings = list(_crossings(ring, names, where))
    yield from crossings
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1]))) / 2
    if not crossings and area < SMALLEST_FLOOR_MM2:
        yield _stop("tiny-floor", where, gettext(
            "The floor is only {area:.3g} m2; write its corners in millimetres, a 4 m wall as 4000.",
            area=area / 1e6))
    if area > LARGEST_FLOOR_MM2:
        yield _stop("huge-floor", where, gettext(
            "The floor is {area:.4g} m2, larger than any room; write its corners in millimetres.", area=area / 1e6))


def _crossings(ring: tuple[Place, ...], names: tuple[str, ...], where: str) -> Iterator[Problem]:
    """Corners in the same place, and walls that cross or lie on one another."""
    count = len(ring)
    label = [names[i] if i < len(names) else str(i + 1) for i in range(count)]
    for i, j in combinations(range(count), 2):
        if ring[i] == ring[j]:
            yield _stop("same-place", where, gettext(
                "Corners {a} and {b} of {where} are in the same place; remove one of them.", a=label[i],
                b=label[j], where=where))
    for i, j in combinations(range(count), 2):
        ends = ring[i], ring[(i + 1) % count], ring[j], ring[(j + 1) % count]
        if len(set(ends)) == 4 and _meet(*ends):
            yield _stop("crossed-outline", where, gettext(
                "Walls {a}-{b} and {c}-{d} of {where} cross or touch; list the corners in order "
                "round the room.", a=label[i], b=label[(i + 1) % count], c=label[j],
                d=label[(j + 1) % count], where=where))


def _meet(a: Place, b: Place, c: Place, d: Place) -> bool:
    """Whether two closed segments with four different ends share a point (signs of the four turns)."""
    def turn(p: Place, q: Place, r: Place) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    def between(p: Place, q: Place, r: Place) -> bool:
        return (
            turn(p, q, r) == 0
            and min(p[0], q[0]) <= r[0] <= max(p[0], q[0])
            and min(p[1], q[1]) <= r[1] <= max(p[1], q[1])
        )

    if turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0:
        return True
    return between(a, b, c) or between(a, b, d) or between(c, d, a) or between(c, d, b)


def _islands(job: Job) -> Iterator[Problem]:
    """Islands: at least three corners each, none twice, names and corners of their own."""
    if job.floor is not None:
        return
    seen = Counter(island.name for island in job.islands)
    for island in job.islands:
        if len(island.corners) < 3:
            yield _stop("too-few-corners", island.where, gettext(
                "Island {name} has {corners} corners; it needs at least 3.", name=island.name,
                corners=len(island.corners)))
        for name, times in Counter(island.corners).items():
            if times > 1 or name in job.outline:
                other = gettext("the outline") if name in job.outline else gettext("the same island")
                yield _stop("double-name", island.where, gettext(
                    "Corner {name} of island {island} is also in {other}; give it a name of its own.", name=name,
                    island=island.name, other=other))
        if seen[island.name] > 1:
            yield _stop("double-name", island.where,
                        gettext("Two islands are called {name}; give each a name of its own.", name=island.name))


def _known_points(job: Job) -> Iterator[Problem]:
    """A reading of a point that is nowhere else in the job: a slip of the pen, for alone it measures nothing."""
    known = {*(name for ring in rings_of(job) for name in ring), *(pipe.name for pipe in job.pipes),
             *placed_points(job)}
    mentions = list(mentions_of(job))
    times = Counter(name for name, _ in mentions)
    lost = [(name, where) for name, where in mentions if name not in known and times[name] == 1]
    has = _some(sorted(known))
    for name, where in lost[:MOST_TOLD]:
        yield _stop("unknown-point", where, gettext(
            "{where} speaks of a point {name} that the job does not have (it has {has}); correct the name, or "
            "remove that reading.", where=where, name=name, has=has))
    if lost[MOST_TOLD:]:
        yield _stop("unknown-point", lost[MOST_TOLD][1], gettext(
            "{count} more readings speak of points that the job does not have.", count=len(lost) - MOST_TOLD))


def _some(names: list[str]) -> str:
    """Names as in a sentence, not all of them where they are many."""
    told = ", ".join(names[:MOST_TOLD])
    if names[MOST_TOLD:]:
        return gettext("{names} and {count} more", names=told, count=len(names) - MOST_TOLD)
    return told or gettext("none")


def _unmeasured(job: Job) -> Iterator[Problem]:
    """Corners that no mark, tape length or wall line touches, in one sentence; or marks enough and no length to tell
    the size."""
    if job.floor is not None:
        return
    touched = {name for name, _ in mentions_of(job)}
    lined = {frozenset(edge.wall) for photo in job.photos for edge in photo.edges}
    lost = [(name, "outline" if ring is job.outline else "islands")
            for ring in (job.outline, *(island.corners for island in job.islands)) for i, name in enumerate(ring)
            if name not in touched and not {frozenset((ring[i - 1], name)),
                                            frozenset((name, ring[(i + 1) % len(ring)]))} <= lined]
    if lost:
        yield _stop("unmeasured-point", lost[0][1], ngettext(
            "Nobody has measured corner {names}; mark it in a photo, or tape it from two other corners.",
            "Nobody has measured the corners {names}; mark each in a photo, or tape each from two other corners.",
            len(lost), names=listed([name for name, _ in lost])))
    elif len(job.outline) >= 3 and not (job.tapes or job.offsets or job.papers):
        yield _stop("no-scale", "tape", gettext(
            "Nothing tells the size of the room; type at least one tape length between two marked corners."))


def _walls(job: Job) -> Iterator[Problem]:
    """Readings that speak of a wall the outline does not have."""
    if job.floor is not None:
        return
    named: list[tuple[Pair, str]] = [(edge.wall, edge.where) for photo in job.photos for edge in photo.edges]
    named += [(reading.wall, reading.where) for reading in job.on_wall]
    named += [(wall, f"straight[{i}]") for i, wall in enumerate(job.straight)]
    for offset in job.offsets:
        if is_between(offset.point, offset.wall, job.outline):
            continue
        named.append((offset.wall, offset.where))
        if offset.length_mm < 0:
            yield _stop("negative-offset", offset.where, gettext(
                "{offset} is {length:g} mm; only a corner between {a} and {b}, along a bowed wall, can "
                "lie behind that line: give the distance without the minus.", offset=_said(offset),
                length=offset.length_mm, a=offset.wall[0], b=offset.wall[1]))
    yield from no_walls(job, named, stage="survey")


def _tapes(job: Job) -> Iterator[Problem]:
    """Lengths too long for any tape, and ones far longer than all the others."""
    readings: list[TapeEntry | OffsetEntry] = [*job.tapes, *job.offsets]
    lengths = sorted(tape.length_mm for tape in job.tapes)
    for reading in readings:
        if abs(reading.length_mm) > LONGEST_TAPE_MM:
            yield _stop("absurd-length", reading.where, gettext(
                "{reading} is {length:g} m, longer than any tape; write lengths in millimetres, 4.31 m as 4310.",
                reading=_said(reading), length=reading.length_mm / 1000))
    if len(lengths) < 3 or lengths[-1] > LONGEST_TAPE_MM or lengths[-1] < SLIPPED * lengths[-2]:
        return
    told = {problem.where for problem in too_long_to_close(job)}
    for tape in job.tapes:
        if tape.length_mm == lengths[-1] and tape.where not in told:
            yield _note("absurd-length", tape.where, gettext(
                "{tape} is {length:g} m, while the longest other length is {longest:g} m; did you mean {other:g} "
                "m?", tape=_said(tape), length=tape.length_mm / 1000, longest=lengths[-2] / 1000,
                other=tape.length_mm / 10000))


def _said(reading: TapeEntry | OffsetEntry) -> str:
    if isinstance(reading, TapeEntry):
        a, b = reading.between
        return gettext("The length {a}-{b} ({where})", a=a, b=b, where=reading.where)
    a, b = reading.wall
    return gettext("The distance of {point} from wall {a}-{b} ({where})", point=reading.point, a=a, b=b,
                   where=reading.where)


def _doubles(job: Job) -> Iterator[Problem]:
    """The same two points taped twice with values that cannot both be right (beyond four standard deviations of a
    difference)."""
    for a, b in combinations(job.tapes, 2):
        apart = abs(a.length_mm - b.length_mm)
        if frozenset(a.between) == frozenset(b.between) and apart > 4 * 2**0.5 * default_tape_sd_mm(
            max(a.length_mm, b.length_mm)
        ):
            yield _note("taped-twice", b.where, gettext(
                "{a}-{b} was taped twice, as {length:g} mm and {other:g} mm; measure it again and "
                "keep the one that is right.", a=a.between[0], b=a.between[1], length=a.length_mm,
                other=b.length_mm))


def _squares(job: Job) -> Iterator[Problem]:
    """Corners called square that are no corners of the outline."""
    if job.floor is not None:
        return
    for number, name in enumerate(job.square):
        if name not in job.outline:
            yield _stop("not-a-corner", f"square[{number}]", gettext(
                "square[{number}] calls {name} square, but the outline has no such corner; name a corner of the "
                "outline.", number=number, name=name))


def _unused(job: Job) -> Iterator[Problem]:
    """Cameras that no photo names."""
    used = {photo.camera for photo in job.photos}
    for camera in job.cameras:
        if camera.name not in used:
            yield _note("unused-camera", camera.where, gettext(
                "No photo was taken with camera {name}, so what is said of it has no effect.", name=camera.name))
