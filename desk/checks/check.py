"""Everything that can be told to be wrong with a job without solving it: points, outline, readings.

Photos and lenses are judged in `check_photos`, boards, doors and pipes in `check_laying`. Each check is a generator
over one matter, so one look finds all faults. What only the adjustment can know (two walls that cannot meet) is left to
it.
"""
from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterator
from difflib import get_close_matches
from itertools import combinations

from capture.readings.tape import is_between
from capture.network import default_tape_sd_mm
from desk.checks.laying import laying_problems
from desk.checks.photos import photo_problems
from desk.checks.spreads import spread_problems
from desk.checks.unseen import unseen_problems
from desk.jobfile.job import Job, OffsetEntry, TapeEntry
from desk.jobfile.kinds import LONGEST_NAME, Pair, Place
from desk.names import listed, no_wall, outline_of, placed_points, rings_of, walls_of
from desk.jobfile.parse import unknown_keys
from desk.store.photos import Photos
from desk.problem import Problem
from desk.readings import mentions_of

#: Below this a floor holds no room; above it the numbers were meant in another unit (mm2).
SMALLEST_FLOOR_MM2 = 0.25e6
LARGEST_FLOOR_MM2 = 2000e6
#: No tape used in a room is longer (mm).
LONGEST_TAPE_MM = 100_000.0
#: A tape length this many times the longest other one has most likely a slipped decimal mark.
SLIPPED = 4.0
#: So many of one kind are told one by one, or named in one sentence; the rest are counted.
MOST_TOLD = 30
#: Named points of one survey, and islands of one floor.
MOST_SURVEYED, MOST_ISLANDS = 60, 40


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
        inside = f" in {place}" if place else ""
        meant = get_close_matches(key, known, n=1)
        advice = f'; did you mean "{meant[0]}"?' if meant else ", so it is kept but not used."
        yield Problem(slug="unknown-key", where=f"{place}.{key}".lstrip("."), severity="note",
                      says=f'job.json: "{key[:LONGEST_NAME]}"{inside} is not known{advice}')


def too_many(job: Job) -> Iterator[Problem]:
    """More than is surveyed or planned in one go: each takes its time, and a room has a tenth of it."""
    points = {name for ring in rings_of(job) for name in ring} | {name for name, _ in mentions_of(job)}
    islands = len(job.islands) if job.floor is None else len(job.floor.holes_mm)
    if job.floor is None and len(points) > MOST_SURVEYED:
        yield _stop("too-many", "outline", f"The job names {len(points)} corners and points, but {MOST_SURVEYED} can "
                                           "be surveyed at once; survey the "
                    "rooms one by one and join them with tapegroove house, or give the floor as coordinates.")
    if islands > MOST_ISLANDS:
        yield _stop("too-many", "islands" if job.floor is None else "floor.holes",
                    f"The floor has {islands} islands, but {MOST_ISLANDS} can be "
                    "planned round at once; leave out those that boards can run under, or plan the floor in parts.")


def _outline(job: Job) -> Iterator[Problem]:
    """Corners of the outline: at least three, no two alike."""
    if job.floor is None and len(job.outline) < 3:
        count = len(job.outline)
        had = "no floor corners yet" if not count else (f"only {count} floor corner{'s' * (count > 1)} "
                                                        f"({', '.join(job.outline)})")
        yield _stop("too-few-corners", "outline",
                    f"The job has {had}; a room needs at least 3: list them in order round the room.")
    for name, times in Counter(job.outline).items():
        if times > 1:
            yield _stop("double-name", "outline",
                        f"Corner {name} stands {times} times in the outline; give each corner a name "
                        "of its own.")
    folded = Counter(name.casefold() for name in set(job.outline))
    for name in job.outline:
        if folded[name.casefold()] > 1:
            yield _note("alike-names", "outline",
                        f"Corner {name} differs from another only by a capital letter; that is easily "
                        "mistaken.")


def _given_floor(job: Job) -> Iterator[Problem]:
    """A floor given as coordinates: enough corners, as many names, no crossing, a sensible size."""
    floor = job.floor
    if floor is None:
        return
    if len(floor.outline_mm) < 3:
        yield _stop("too-few-corners", "floor.outline",
                    f"floor.outline has {len(floor.outline_mm)} corners; a floor needs at least 3.")
        return
    if job.outline and len(job.outline) != len(floor.outline_mm):
        yield _stop("names-and-corners", "outline",
                    f"The outline names {len(job.outline)} corners, but floor.outline has "
                    f"{len(floor.outline_mm)}; name every corner, or leave the names out to have A, B, C.")
    yield from _ring_problems(floor.outline_mm, outline_of(job), "floor.outline")
    for number, hole in enumerate(floor.holes_mm):
        place = f"floor.holes[{number}]"
        if len(hole) < 3:
            yield _stop("too-few-corners", place, f"{place} has {len(hole)} corners; a hole needs at least 3.")
        else:
            yield from _crossings(hole, tuple(str(i + 1) for i in range(len(hole))), place)
    if job.tapes or job.offsets or any(photo.marks for photo in job.photos):
        yield _note("floor-is-given", "floor",
                    "The floor is given as coordinates, so photos and tape lengths are not used.")


def _ring_problems(ring: tuple[Place, ...], names: tuple[str, ...], where: str) -> Iterator[Problem]:
    crossings = list(_crossings(ring, names, where))
    yield from crossings
    area = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1]))) / 2
    if not crossings and area < SMALLEST_FLOOR_MM2:
        yield _stop("tiny-floor", where,
                    f"The floor is only {area / 1e6:.3g} m2; write its corners in millimetres, a 4 m wall "
                    "as 4000.")
    if area > LARGEST_FLOOR_MM2:
        yield _stop("huge-floor", where,
                    f"The floor is {area / 1e6:.4g} m2, larger than any room; write its corners in "
                    "millimetres.")


def _crossings(ring: tuple[Place, ...], names: tuple[str, ...], where: str) -> Iterator[Problem]:
    """Corners in the same place, and walls that cross or lie on one another."""
    count = len(ring)
    label = [names[i] if i < len(names) else str(i + 1) for i in range(count)]
    for i, j in combinations(range(count), 2):
        if ring[i] == ring[j]:
            yield _stop("same-place", where,
                        f"Corners {label[i]} and {label[j]} of {where} are in the same place; remove one "
                        "of them.")
    for i, j in combinations(range(count), 2):
        ends = ring[i], ring[(i + 1) % count], ring[j], ring[(j + 1) % count]
        if len(set(ends)) == 4 and _meet(*ends):
            yield _stop("crossed-outline", where, f"Walls {label[i]}-{label[(i + 1) % count]} and "
                        f"{label[j]}-{label[(j + 1) % count]} of {where} "
                        "cross or touch; list the corners in order round the room.")


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
            yield _stop("too-few-corners", island.where,
                        f"Island {island.name} has {len(island.corners)} corners; it needs at "
                        "least 3.")
        for name, times in Counter(island.corners).items():
            if times > 1 or name in job.outline:
                other = "the outline" if name in job.outline else "the same island"
                yield _stop("double-name", island.where,
                            f"Corner {name} of island {island.name} is also in {other}; give it a "
                            "name of its own.")
        if seen[island.name] > 1:
            yield _stop("double-name", island.where,
                        f"Two islands are called {island.name}; give each a name of its own.")


def _known_points(job: Job) -> Iterator[Problem]:
    """A reading of a point that is nowhere else in the job: a slip of the pen, for alone it measures nothing."""
    known = {*(name for ring in rings_of(job) for name in ring), *(pipe.name for pipe in job.pipes),
             *placed_points(job)}
    mentions = list(mentions_of(job))
    times = Counter(name for name, _ in mentions)
    lost = [(name, where) for name, where in mentions if name not in known and times[name] == 1]
    has = _some(sorted(known))
    for name, where in lost[:MOST_TOLD]:
        yield _stop("unknown-point", where,
                    f"{where} speaks of a point {name} that the job does not have (it has {has}); correct the name, or "
                    "remove that reading.")
    if lost[MOST_TOLD:]:
        yield _stop("unknown-point", lost[MOST_TOLD][1],
                    f"{len(lost) - MOST_TOLD} more readings speak of points that the job does not have.")


def _some(names: list[str]) -> str:
    """Names as in a sentence, not all of them where they are many."""
    return ", ".join(names[:MOST_TOLD]) + (f" and {len(names) - MOST_TOLD} more" if names[MOST_TOLD:] else "") or "none"


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
        names, them = listed([name for name, _ in lost]), "each" if len(lost) > 1 else "it"
        yield _stop("unmeasured-point", lost[0][1],
                    f"Nobody has measured {'the corners' if len(lost) > 1 else 'corner'} {names}; mark {them} in a "
                    f"photo, or tape {them} from two other corners.")
    elif len(job.outline) >= 3 and not (job.tapes or job.offsets or job.papers):
        yield _stop("no-scale", "tape",
                    "Nothing tells the size of the room; type at least one tape length between two marked corners.")


def _walls(job: Job) -> Iterator[Problem]:
    """Readings that speak of a wall the outline does not have."""
    if job.floor is not None:
        return
    walls = walls_of(job)
    named: list[tuple[Pair, str]] = [(edge.wall, edge.where) for photo in job.photos for edge in photo.edges]
    named += [(reading.wall, reading.where) for reading in job.on_wall]
    named += [(wall, f"straight[{i}]") for i, wall in enumerate(job.straight)]
    for offset in job.offsets:
        if is_between(offset.point, offset.wall, job.outline):
            continue
        named.append((offset.wall, offset.where))
        if offset.length_mm < 0:
            yield _stop("negative-offset", offset.where, f"{_said(offset)} is {offset.length_mm:g} mm; only a corner "
                                                         f"between {offset.wall[0]} and "
                        f"{offset.wall[1]}, along a bowed wall, can lie behind that line: give the distance without "
                        "the minus.")
    for wall, where in named:
        if frozenset(wall) not in walls:
            yield _stop("unknown-wall", where, no_wall(wall, where))


def _tapes(job: Job) -> Iterator[Problem]:
    """Lengths too long for any tape, and ones far longer than all the others."""
    readings: list[TapeEntry | OffsetEntry] = [*job.tapes, *job.offsets]
    lengths = sorted(tape.length_mm for tape in job.tapes)
    for reading in readings:
        if abs(reading.length_mm) > LONGEST_TAPE_MM:
            yield _stop("absurd-length", reading.where,
                        f"{_said(reading)} is {reading.length_mm / 1000:g} m, longer than any "
                        "tape; "
                        "write lengths in millimetres, 4.31 m as 4310.")
    if len(lengths) < 3 or lengths[-1] > LONGEST_TAPE_MM or lengths[-1] < SLIPPED * lengths[-2]:
        return
    told = {problem.where for problem in too_long_to_close(job)}
    for tape in job.tapes:
        if tape.length_mm == lengths[-1] and tape.where not in told:
            yield _note("absurd-length", tape.where,
                        f"{_said(tape)} is {tape.length_mm / 1000:g} m, while the longest other "
                        "length is "
                        f"{lengths[-2] / 1000:g} m; did you mean {tape.length_mm / 10000:g} m?")


def _said(reading: TapeEntry | OffsetEntry) -> str:
    if isinstance(reading, TapeEntry):
        return f"The length {reading.between[0]}-{reading.between[1]} ({reading.where})"
    return f"The distance of {reading.point} from wall {reading.wall[0]}-{reading.wall[1]} ({reading.where})"


def _doubles(job: Job) -> Iterator[Problem]:
    """The same two points taped twice with values that cannot both be right (beyond four standard deviations of a
    difference)."""
    for a, b in combinations(job.tapes, 2):
        apart = abs(a.length_mm - b.length_mm)
        if frozenset(a.between) == frozenset(b.between) and apart > 4 * 2**0.5 * default_tape_sd_mm(
            max(a.length_mm, b.length_mm)
        ):
            yield _note("taped-twice", b.where,
                        f"{a.between[0]}-{a.between[1]} was taped twice, as {a.length_mm:g} mm and "
                        f"{b.length_mm:g} mm; "
                        "measure it again and keep the one that is right.")


def too_long_to_close(job: Job) -> Iterator[Problem]:
    """Lengths longer than a way round between the same two points: such a floor cannot be drawn, whatever else is
    right.

    The shortest way through the other lengths is found with Dijkstra's rule; a way of k lengths may be short by four
    standard deviations of their sum. Only a note, for with readings to spare the survey tells which length is the wrong
    one.
    """
    for tape in job.tapes:
        others = [other for other in job.tapes if frozenset(other.between) != frozenset(tape.between)]
        way = _shortest_way(others, *tape.between)
        if way and tape.length_mm > way[0] + 4 * default_tape_sd_mm(tape.length_mm) * len(way[1]) ** 0.5:
            slipped = tape.length_mm > SLIPPED * max(other.length_mm
                                                     for other in others) and tape.length_mm / 10 <= way[0]
            yield _note("cannot-close", tape.where, f"{tape.between[0]}-{tape.between[1]} is typed as "
                                                    f"{tape.length_mm:g} mm, "
                        f"but the way {'-'.join(way[1])} is only {way[0]:g} mm long, "
                        + (f"so these lengths cannot close; did you mean {tape.length_mm / 10:g} mm? If not, measure "
                           "them again, this one first."
                           if slipped else "so these lengths cannot close; measure them again, this one first."))


def _shortest_way(tapes: list[TapeEntry], start: str, end: str) -> tuple[float, tuple[str, ...]] | None:
    """(length, points passed) of the shortest way along tape lengths, or None if there is none."""
    queue: list[tuple[float, tuple[str, ...]]] = [(0.0, (start,))]
    done: set[str] = set()
    while queue:
        length, way = heapq.heappop(queue)
        if way[-1] == end:
            return length, way
        if way[-1] in done:
            continue
        done.add(way[-1])
        for tape in tapes:
            if way[-1] in tape.between:
                onward = tape.between[tape.between[0] == way[-1]]
                heapq.heappush(queue, (length + tape.length_mm, (*way, onward)))
    return None


def _squares(job: Job) -> Iterator[Problem]:
    """Corners called square that are no corners of the outline."""
    if job.floor is not None:
        return
    for number, name in enumerate(job.square):
        if name not in job.outline:
            yield _stop("not-a-corner", f"square[{number}]",
                        f"square[{number}] calls {name} square, but the outline has no "
                        "such corner; "
                        "name a corner of the outline.")


def _unused(job: Job) -> Iterator[Problem]:
    """Cameras that no photo names."""
    used = {photo.camera for photo in job.photos}
    for camera in job.cameras:
        if camera.name not in used:
            yield _note("unused-camera", camera.where,
                        f"No photo was taken with camera {camera.name}, so what is said of it "
                        "has no effect.")
