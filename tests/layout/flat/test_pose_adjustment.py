"""Rooms placed by all doorways at once, against SciPy's own least squares and a ring worked by hand."""
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import least_squares

from layout.flat.pose_adjustment import (
    FACE_SD_MM, FACES, FROM, JAMB_SD_MM, JAMBS, PARALLEL, PARALLEL_SD_RAD, TAPE_SD_MM, THICKNESS, WIDTH, adjust_poses)
from layout.region.joined_rooms import Passage, Placing
from layout.room import Door, Room


def moved(points, turn: float, shift):
    """A rigid motion of (n, 2) points."""
    cos, sin = math.cos(turn), math.sin(turn)
    return np.asarray(points, float) @ np.array([[cos, sin], [-sin, cos]]) + shift


def room_of(ring, doors, turn=0.0, shift=(0.0, 0.0)) -> Room:
    """doors: (name, wall, from, width)."""
    return Room(names=tuple("ABCDEF"[:len(ring)]), outline_mm=moved(ring, turn, shift),
                doors=tuple(Door(name=name, wall=(wall[0], wall[1]), from_mm=at, width_mm=wide)
                            for name, wall, at, wide in doors))


#: Four invented rooms round a point, each drawn in the house's frame and carried off: what is true of them is known.
RINGS = {"a": [(0, 0), (4000, 0), (4000, 3000), (0, 3000)], "b": [(4100, 0), (8000, 0), (8000, 3000), (4100, 3000)],
         "c": [(4100, 3120), (8000, 3120), (8000, 7000), (4100, 7000)],
         "d": [(0, 3120), (4000, 3120), (4000, 7000), (0, 7000)]}
DOORS = {"a": [("1", "BC", 1000, 800), ("2", "DC", 900, 700)], "b": [("1", "AD", 1000, 800), ("2", "CD", 1500, 760)],
         "c": [("1", "BA", 1500, 760), ("2", "DA", 1500, 820)], "d": [("1", "AB", 900, 700), ("2", "CB", 1500, 820)]}
CARRIED = {"a": (0.0, (0.0, 0.0)), "b": (2.1, (300.0, -7000.0)), "c": (-0.7, (-900.0, 40.0)), "d": (0.3, (10.0, 5.0))}
PASSAGES = tuple(Passage(rooms=rooms, doors=doors, thickness_mm=thick, through=False) for rooms, doors, thick in [
    (("a", "b"), ("1", "1"), 100.0), (("c", "b"), ("1", "2"), 120.0), (("c", "d"), ("2", "2"), 100.0),
    (("a", "d"), ("2", "1"), 120.0)])


def ring_of_four(rng=None, spread: float = 0.0):
    """(rooms, where they lie truly, covariances); rng: doors, corners and thicknesses misread."""
    rooms, truth, covs = {}, {}, {}
    for name, ring in RINGS.items():
        turn, shift = CARRIED[name]
        doors = DOORS[name] if rng is None else [
            (door, wall, at + rng.normal(0, TAPE_SD_MM), wide + rng.normal(0, TAPE_SD_MM))
            for door, wall, at, wide in DOORS[name]]
        rooms[name] = room_of(ring, doors, turn, np.array(shift))
        if spread:
            root = rng.normal(0, spread, (8, 8)) / 3.0
            covs[name] = root @ root.T + np.eye(8) * spread ** 2
            off = rng.multivariate_normal(np.zeros(8), covs[name])
            rooms[name] = replace(rooms[name], outline_mm=rooms[name].outline_mm + off.reshape(-1, 2))
        back = moved([shift], -turn, (0.0, 0.0))[0]
        truth[name] = Placing(heading_rad=-turn, shift_mm=-back)
    return rooms, truth, covs


def by_scipy(rooms, passages, near, covs):
    """The same minimum with SciPy: every corner and distance is an unknown of its own, and what faces what is written
    with plain vectors, not with the module's conditions."""
    names = tuple(rooms)
    corners = {name: rooms[name].outline_mm for name in names}
    roots = {name: np.linalg.inv(np.linalg.cholesky(covs[name])) for name in names}
    door = {(name, one.name): one for name in names for one in rooms[name].doors}
    start = np.concatenate([np.ravel([[near[n].heading_rad, *near[n].shift_mm] for n in names[1:]]),
                            *(corners[n].ravel() for n in names),
                            np.ravel([[door[r, d].from_mm for r, d in zip(p.rooms, p.doors)]
                                      + [door[p.rooms[0], p.doors[0]].width_mm] for p in passages])])

    def unpacked(x):
        poses = dict(zip(names, [np.zeros(3), *x[:3 * len(names) - 3].reshape(-1, 3)]))
        at, rings = 3 * len(names) - 3, {}
        for n in names:
            rings[n] = x[at:at + corners[n].size].reshape(-1, 2)
            at += corners[n].size
        return poses, rings, x[at:].reshape(-1, 3)

    def residuals(x):
        poses, rings, told = unpacked(x)
        found = [roots[n] @ (rings[n] - corners[n]).ravel() for n in names]
        for p, (from_a, from_b, width) in zip(passages, told):
            jambs = []
            for room, name, start_mm in zip(p.rooms, p.doors, (from_a, from_b)):
                one = door[room, name]
                i, j = (rooms[room].names.index(corner) for corner in one.wall)
                ring = moved(rings[room], poses[room][0], poses[room][1:])
                way = (ring[j] - ring[i]) / np.linalg.norm(ring[j] - ring[i])
                both = np.array([ring[i] + start_mm * way, ring[i] + (start_mm + width) * way])
                jambs.append(both if (i + 1) % len(ring) == j else both[::-1])
                found.append([(start_mm - one.from_mm) / TAPE_SD_MM, (width - one.width_mm) / TAPE_SD_MM])
            here, there = jambs[0], jambs[1][::-1]
            way = (here[1] - here[0]) / np.linalg.norm(here[1] - here[0])
            way_there = (there[1] - there[0]) / np.linalg.norm(there[1] - there[0])
            reach = there.mean(axis=0) - here.mean(axis=0)
            thick = reach @ [way[1], -way[0]]
            found.append([way @ reach / JAMB_SD_MM, (thick - p.thickness_mm) / math.hypot(p.thickness_sd_mm,
                                                                                          FACE_SD_MM),
                          math.asin(way[0] * way_there[1] - way[1] * way_there[0]) / PARALLEL_SD_RAD])
        return np.concatenate([np.ravel(part) for part in found])
    fit = least_squares(residuals, start, x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-12)
    return fit, unpacked(fit.x)


@pytest.mark.parametrize("seed", range(4))
def test_the_poses_are_those_that_scipy_finds(seed):
    rng = np.random.default_rng(seed)
    rooms, truth, covs = ring_of_four(rng, spread=3.0)
    found = adjust_poses(rooms, PASSAGES, truth, covs=covs)
    fit, (poses, _, told) = by_scipy(rooms, PASSAGES, truth, covs)
    for name, pose in poses.items():
        assert found.placings[name].heading_rad == pytest.approx(pose[0], abs=1e-7)
        assert found.placings[name].shift_mm == pytest.approx(pose[1:], abs=1e-3)
    assert found.cost == pytest.approx(2.0 * fit.cost, rel=1e-5)
    assert found.width_mm == pytest.approx(told[:, 2], abs=1e-3)
    assert found.readings_mm[:, :WIDTH] == pytest.approx(told[:, :2], abs=1e-3)
    cov = np.linalg.inv(fit.jac.T @ fit.jac)
    sds = np.sqrt(np.diagonal(cov))[-3 * len(PASSAGES):].reshape(-1, 3)
    assert found.width_sd_mm == pytest.approx(sds[:, 2], rel=1e-3)
    assert found.readings_sd_mm[:, :WIDTH] == pytest.approx(sds[:, :2], rel=1e-3)


def test_rooms_read_without_error_come_back_to_where_they_were_drawn():
    rooms, truth, _ = ring_of_four()
    near = {name: replace(one, shift_mm=one.shift_mm + (0.0 if name == "a" else 25.0)) for name, one in truth.items()}
    found = adjust_poses(rooms, PASSAGES, near)
    for name, ring in RINGS.items():
        assert found.placings[name].place(rooms[name].outline_mm) == pytest.approx(np.array(ring, float), abs=1e-6)
    assert found.cost == pytest.approx(0.0, abs=1e-9) and found.redundancy == 3 + len(PASSAGES)


def test_one_doorway_has_one_width_and_nothing_else_to_agree_on():
    """The mean of two readings of one spread, with that spread over the root of two."""
    rooms, truth, _ = ring_of_four()
    a = replace(rooms["a"], doors=(replace(rooms["a"].doors[0], width_mm=809.0),))
    found = adjust_poses({"a": a, "b": rooms["b"]}, PASSAGES[:1], truth)
    assert found.width_mm == pytest.approx([804.5]) and found.width_sd_mm == pytest.approx([TAPE_SD_MM / 2 ** 0.5])
    assert found.w[0, WIDTH] == pytest.approx(-9.0 / (TAPE_SD_MM * 2 ** 0.5)) and found.redundancy == 1
    assert np.all(found.w[0, [FROM, FROM + 1, THICKNESS, JAMBS, FACES, PARALLEL]] == 0.0)
    assert found.cost == pytest.approx(81.0 / (2 * TAPE_SD_MM ** 2))


def test_a_ring_shares_its_misclosure_by_the_readings_variances():
    """Worked by hand, no textbook: along x the ring's only conditions are the thicknesses of a-b and c-d and the
    places of the doors between a-d and b-c, with the turns held (walls as good as parallel). One condition sum(s v) +
    m = 0 gives v = -s q m / sum(q) (correlate of one condition); where q grows with the length of a leg that is the
    compass rule for a traverse (Bowditch)."""
    rooms, truth, _ = ring_of_four()
    slipped = [replace(one, thickness_mm=one.thickness_mm + 12.0) if k == 0 else one for k, one in enumerate(PASSAGES)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("layout.flat.pose_adjustment.PARALLEL_SD_RAD", 1e-7)
        found = adjust_poses(rooms, slipped, truth)
    wall = slipped[0].thickness_sd_mm ** 2
    q = {"thickness": wall, "faces": FACE_SD_MM ** 2, "from": TAPE_SD_MM ** 2, "jambs": JAMB_SD_MM ** 2}
    total = 2 * (q["thickness"] + q["faces"]) + 2 * (2 * q["from"] + q["jambs"])
    assert slipped[0].thickness_mm - found.thickness_mm[0] == pytest.approx(12.0 * q["thickness"] / total, abs=1e-6)
    assert found.thickness_mm[2] - slipped[2].thickness_mm == pytest.approx(12.0 * q["thickness"] / total, abs=1e-6)
    assert abs(found.readings_mm[3, FROM] - 900.0) == pytest.approx(12.0 * q["from"] / total, abs=1e-6)
    assert found.cost == pytest.approx(144.0 / total) and abs(found.w[0, THICKNESS]) == pytest.approx(
        12.0 / total ** 0.5)


def test_what_w_says_happens_when_the_reading_is_left_out():
    """Baarda's w squared is what the sum of squares falls by, and the slip is what the reading is off the rest."""
    rng = np.random.default_rng(7)
    rooms, truth, covs = ring_of_four(rng, spread=3.0)
    whole = adjust_poses(rooms, PASSAGES, truth, covs=covs)
    for doorway in range(len(PASSAGES)):
        for reading in (FROM, FROM + 1, WIDTH, THICKNESS):
            rest = adjust_poses(rooms, PASSAGES, truth, covs=covs, left_out=frozenset([(doorway, reading)]))
            assert whole.cost - rest.cost == pytest.approx(whole.w[doorway, reading] ** 2, rel=2e-3, abs=1e-3)
            if reading < WIDTH:
                door = next(one for one in rooms[PASSAGES[doorway].rooms[reading]].doors
                            if one.name == PASSAGES[doorway].doors[reading])
                assert rest.readings_mm[doorway, reading] - door.from_mm == pytest.approx(
                    whole.slip_mm[doorway, reading], rel=2e-3, abs=0.02)


def test_what_is_said_of_uncertainty_is_true_of_many_rings():
    """The squares of a hundred rings read with the spreads that are assumed follow chi-square: its mean is the degrees
    of freedom, its variance twice that; the last room's place is as uncertain as its sd says."""
    rng = np.random.default_rng(3)
    costs = []
    for _ in range(100):
        rooms, truth, _ = ring_of_four(rng)
        read = [replace(one, thickness_mm=one.thickness_mm + rng.normal(0.0, math.hypot(one.thickness_sd_mm,
                                                                                          FACE_SD_MM)))
                for one in PASSAGES]
        # The doors bear what jambs and walls that are not as drawn would do.
        for name, room in rooms.items():
            rooms[name] = replace(room, doors=tuple(replace(door, from_mm=door.from_mm + rng.normal(
                0.0, JAMB_SD_MM / 2 ** 0.5)) for door in room.doors))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("layout.flat.pose_adjustment.PARALLEL_SD_RAD", 1e-7)
            costs.append(adjust_poses(rooms, read, truth).cost)
    # With the turns held the three conditions of closing are two; one for each width besides.
    freedom = 2 + len(PASSAGES)
    assert np.mean(costs) == pytest.approx(freedom, abs=4.0 * (2.0 * freedom / 100) ** 0.5)
