"""Trains the network that places corners: ``python -m tests.bench.seeing.train_places OUT [--minutes 9] [--small]``.

Pieces of drawn rooms at 500 to 1700 px to a long side, path-traced, half of them round a corner, the others round what
may be taken for one: a wall's foot, the top of a skirting, a foot of furniture, any place. Each piece is used many
times, cut, mirrored, lit, blurred, and stored as JPEG anew. Seeds are kept. Writes OUT/places.npz (running mean) and
OUT/log.txt. ``--small``: on a CPU, whether the loss falls.
"""
from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from tests.bench.seeing import caster
from tests.bench.seeing.place_net import CELL, SIDE, PlaceFinder
from tests.bench.seeing.rooms import _AWAY, Rng, Scene, stacked
from tests.bench.seeing.traced import draw_windows, packed, photograph
from tests.bench.seeing.train import Pool, _stencil, save, some_scene

#: A piece as it is drawn, px; what JPEG is told of round the piece looked at.
DRAWN, STORED = 104, 80
WINDOWS, MOST = 4, 6
#: Places along a wall at which its foot is looked for in the picture, and again in a window.
_COARSE, _FINE = 200, 40
#: How far a window's middle lies from what is looked at, px at most.
ASIDE_PX = 14.0
#: JPEG's example tables of quantisation (ITU-T T.81, 1992, annex K, tables K.1 and K.2).
LUMA = np.array([16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17,
                 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78,
                 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99], np.float32).reshape(8, 8)
CHROMA = np.full((8, 8), 99, np.float32)
CHROMA[:4, :4] = [[17, 18, 24, 47], [18, 21, 26, 66], [24, 26, 56, 99], [47, 66, 99, 99]]
#: From red, green, blue to brightness and two colours (JFIF 1.02, 1992), and back.
_MIX = torch.tensor([[0.299, 0.587, 0.114], [-0.1687, -0.3313, 0.5], [0.5, -0.4187, -0.0813]])
_BACK = torch.linalg.inv(_MIX)


def some_windows(rng: Rng, scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """(n, 3) u, v and px to a long side of windows; (n, 6, 6) px from a window's middle: a corner seen in it, the two
    ends of a wall's foot seen in it (one has nothing to do with the other)."""
    stack = stacked([scene])
    u, v, seen = (a[0] for a in caster.corner_sights(stack, np))
    corners = np.stack([u, v], 1)[seen > 0]
    half = np.array([0.5, 0.375])[::-1 if scene["portrait"] > 0 else 1]
    inside = corners[np.all(np.abs(corners) < half, axis=1)]
    windows, places = [], np.full((WINDOWS, MOST, 6), 1e4)
    walls = scene["walls"][scene["walls"][:, 0] < _AWAY].astype(float)
    feet = _feet(walls, np.linspace(0, 1, _COARSE)[None] + 0 * walls[:, :1])
    shown = _shown(stack, feet)
    for k in range(WINDOWS):
        long = float(np.exp(rng.uniform(np.log(500), np.log(1700))))
        if len(inside) and rng.random() < 0.55:
            middle = inside[rng.integers(len(inside))]
        else:
            middle = _other_place(rng, scene, stack, half)
        middle = middle + rng.uniform(-ASIDE_PX, ASIDE_PX, 2) / long
        near = (corners - middle) * long
        near = near[np.argsort(np.abs(near).max(axis=1))][:MOST]
        places[k, :len(near), :2] = near
        ends = _feet_in(scene, stack, walls, shown, middle, long)
        places[k, :len(ends), 2:] = ends
        windows.append([*middle, long])
    return np.array(windows), places


def _feet(walls: np.ndarray, at: np.ndarray) -> np.ndarray:
    """(w, n, 3) places on the floor along walls (w, 4), at shares (w, n) of them."""
    spots = walls[:, None, :2] + at[..., None] * (walls[:, None, 2:] - walls[:, None, :2])
    return np.concatenate([spots, 0 * spots[..., :1]], axis=2)


def _shown(stack: Scene, spots: np.ndarray) -> np.ndarray:
    """(w, n, 2) u, v of places (w, n, 3); NaN behind the lens."""
    flat = spots.reshape(1, -1, 3).astype(np.float32)
    u, v, depth = (a[0].astype(float) for a in caster.place_on_picture(stack, np, flat))
    return np.where(depth > 0.05, np.stack([u, v]), np.nan).T.reshape(*spots.shape[:2], 2)


def _feet_in(scene: Scene, stack: Scene, walls: np.ndarray, shown: np.ndarray, middle: np.ndarray,
             long: float) -> np.ndarray:
    """(k, 4) px from a window's middle: the ends of what is seen of the walls' feet in it."""
    near = np.nan_to_num(np.abs(shown - middle).max(axis=2) * long, nan=1e9)
    # From one look to the next the foot may run through the window.
    step = np.nan_to_num(np.abs(np.diff(shown, axis=1)).max(axis=2) * long, nan=0.0).max(axis=1)
    touched = near < DRAWN / 2 + step[:, None]
    rows = np.flatnonzero(touched.any(axis=1))[:MOST]
    if not len(rows):
        return np.empty((0, 4))
    low = touched[rows].argmax(axis=1) - 1
    high = _COARSE - touched[rows][:, ::-1].argmax(axis=1)
    at = np.linspace(np.clip(low, 0, None), np.clip(high, None, _COARSE - 1), _FINE, axis=1) / (_COARSE - 1)
    spots = _feet(walls[rows], at)
    # A little above the floor, so that a wall does not hide its own foot.
    rays = (spots + [0, 0, 0.002] - scene["eye"]).reshape(1, -1, 3) * 0.997
    reach = caster.hits(stack, np, tuple(rays[..., k].astype(np.float32) for k in range(3)))[0]
    free = reach.reshape(at.shape) > 0.9985
    px = (_shown(stack, spots) - middle) * long
    seen = free & (np.nan_to_num(np.abs(px).max(axis=2), nan=1e9) < DRAWN / 2 + 30)
    ends = []
    for row, ok in zip(px, seen):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], ok.astype(int), [0]]))).reshape(-1, 2)
        ends += [[*row[a], *row[b - 1]] for a, b in edges if b - a >= 2]
    return np.array(ends[:MOST]).reshape(-1, 4)


def _other_place(rng: Rng, scene: Scene, stack: Scene, half: np.ndarray) -> np.ndarray:
    """(2,) u, v of what may be taken for a corner."""
    walls, boxes = (scene[name][scene[name][:, 0] < _AWAY] for name in ("walls", "boxes"))
    for _ in range(20):
        what, wall = rng.random(), walls[rng.integers(len(walls))]
        spot = np.array([*(wall[:2] + rng.random() * (wall[2:] - wall[:2])), 0.0])
        if what < 0.25:
            spot = np.array([*wall[:2], float(scene["skirting"][0])])
        elif what < 0.6 and len(boxes):
            b, (p, q) = boxes[rng.integers(len(boxes))], rng.choice([-1, 1], 2)
            spot = np.array([*(b[:2] + p * b[3] * b[6:8] + q * b[4] * np.array([-b[7], b[6]])), b[2] - b[5]])
        elif what < 0.7:
            return rng.uniform(-half, half)
        u, v, depth = (float(a[0, 0]) for a in caster.place_on_picture(stack, np, spot[None, None].astype(np.float32)))
        if depth > 0.05 and abs(u) < half[0] and abs(v) < half[1]:
            return np.array([u, v])
    return rng.uniform(-half, half)


class Windows(IterableDataset[list[np.ndarray]]):
    """Stacks of packed scenes (B, n), their windows (B k, 4) and what is seen in them (B k, 6, 6)."""

    def __init__(self, seed: int, count: int) -> None:
        self.seed, self.count = seed, count

    def __iter__(self):  # type: ignore[no-untyped-def]
        info = get_worker_info()
        rng = np.random.default_rng([self.seed, info.id if info else 0])
        while True:
            scenes = [some_scene(rng, rng.random() < 0.4) for _ in range(self.count)]
            made = [some_windows(rng, scene) for scene in scenes]
            windows = [np.column_stack([w, np.full(len(w), k)]) for k, (w, _) in enumerate(made)]
            yield [np.stack([packed(scene) for scene in scenes]), np.concatenate(windows).astype(np.float32),
                   np.concatenate([p for _, p in made]).astype(np.float32)]


def pieces(light: Tensor, places: Tensor) -> tuple[Tensor, Tensor]:
    """Photographed pieces (B, 3, 64, 64) of drawn windows, and px (B, 6, 6) of corners and feet in them."""
    count, device = len(light), light.device

    def some(low: float, high: float) -> Tensor:
        return torch.empty(count, device=device).uniform_(low, high)

    room = DRAWN - STORED
    left, top = int(torch.randint(room + 1, ())), int(torch.randint(room + 1, ()))
    light = light[:, :, top:top + STORED, left:left + STORED].contiguous()
    level = torch.exp(torch.log(light.float().mean(1) + 1e-3).mean((1, 2)))
    gains = (0.2 / level * 2 ** (0.9 * torch.randn(count, device=device)))[:, None] * torch.exp(
        0.09 * torch.randn(count, 3, device=device))
    noise = torch.exp(some(float(np.log(0.002)), float(np.log(0.05))))
    saturation = torch.where(some(0, 1) < 0.08, torch.zeros_like(noise), some(0.7, 1.3))
    zero = torch.zeros_like(noise)
    phones = torch.cat([_stencil(some(0, 1) ** 2 * 1.5, some(-1, 1).clamp(min=0)), gains, zero[:, None], noise[:, None],
                        some(0.75, 1.3)[:, None], saturation[:, None], zero[:, None] + 1, some(0, 1000)[:, None]], 1)
    seen = photograph(light, phones)[:, :3].float()
    for part in range(4):
        seen[part * count // 8:(part + 1) * count // 8] = blurred(seen[part * count // 8:(part + 1) * count // 8],
                                                                  float(torch.empty(()).uniform_(0.4, 1.7)))
    kept = count // 4
    seen[kept:] = stored(seen[kept:], some(55, 97)[kept:])
    x, y = int(torch.randint(STORED - SIDE + 1, ())), int(torch.randint(STORED - SIDE + 1, ()))
    at = places + (DRAWN - 1) / 2 - torch.tensor([left + x, top + y] * 3, device=device)
    seen = seen[:, :, y:y + SIDE, x:x + SIDE]
    if torch.rand(()) < 0.5:
        return seen.flip(-1), torch.where(torch.arange(6, device=device) % 2 == 0, SIDE - 1 - at, at)
    return seen, at


def blurred(seen: Tensor, sigma: float) -> Tensor:
    """As noise taken out, or a picture made larger, leaves it."""
    far = torch.arange(-5, 6, device=seen.device).float()
    bell = torch.exp(-far**2 / (2 * sigma**2))
    bell = (bell / bell.sum()).expand(3, 1, 1, 11)
    wide = nn.functional.pad(seen, (5, 5, 5, 5), mode="replicate")
    across = nn.functional.conv2d(wide, bell, groups=3)
    return nn.functional.conv2d(across, bell.transpose(2, 3), groups=3)


def stored(seen: Tensor, quality: Tensor) -> Tensor:
    """What JPEG leaves of pictures (B, 3, 80, 80), colour at half size; quality (B,) as libjpeg counts it, over 50."""
    k = torch.arange(8, device=seen.device).float()
    basis = torch.cos((2 * k + 1) * k[:, None] * torch.pi / 16) * torch.where(k == 0, 0.125**0.5, 0.5)[:, None]
    own = torch.einsum("ij,bjhw->bihw", _MIX.to(seen.device), seen * 255)
    whole, share = torch.kron(basis, basis), (2 - quality / 50).view(-1, 1, 1)

    def rounded(plane: Tensor, table: np.ndarray) -> Tensor:
        step = (torch.from_numpy(table.ravel()).to(seen.device) * share).clamp(min=1)
        n = plane.shape[-1] // 8
        blocks = plane.reshape(-1, n, 8, n, 8).transpose(2, 3).reshape(-1, n * n, 64)
        part = (blocks @ whole.T / step).round() * step
        return (part @ whole).reshape(-1, n, n, 8, 8).transpose(2, 3).reshape(plane.shape)

    colour = [nn.functional.interpolate(rounded(nn.functional.avg_pool2d(own[:, k:k + 1], 2)[:, 0], CHROMA)[:, None],
                                        scale_factor=2.0, mode="bilinear") for k in (1, 2)]
    back = torch.cat([rounded(own[:, 0], LUMA)[:, None], *colour], 1)
    return (torch.einsum("ij,bjhw->bihw", _BACK.to(seen.device), back) / 255).clamp(-0.5, 0.5)


def loss_of(out: Tensor, at: Tensor) -> tuple[Tensor, list[Tensor]]:
    """Focal loss of the cells (Law and Deng, CornerNet, 2018), and minus the logarithm of Laplace's density of a
    corner's place in the cells next to it."""
    out = out.float()
    n = SIDE // CELL
    middle = torch.arange(n, device=out.device) * CELL + (CELL - 1) / 2
    dx = at[..., 0, None, None] - middle
    dy = at[..., 1, None, None] - middle[:, None]
    within = ((at[..., :2] > -0.5) & (at[..., :2] < SIDE - 0.5)).all(-1)[..., None, None]
    far = torch.where(within, torch.maximum(dx.abs() + 0 * dy, dy.abs() + 0 * dx), 1e4)
    nearest, which = far.min(1)
    heat = torch.exp(-(nearest / CELL) ** 2)
    peak = nearest <= CELL / 2
    logit = out[:, 0]
    p = torch.sigmoid(logit)
    hit = -((1 - p) ** 2 * nn.functional.logsigmoid(logit))[peak].sum()
    miss = -(p**2 * nn.functional.logsigmoid(-logit) * (1 - heat) ** 4)[~peak].sum()
    cells = (hit + miss) / peak.sum().clamp(min=1)
    near = nearest <= 1.6 * CELL
    off = torch.stack([(dx + 0 * dy).gather(1, which[:, None])[:, 0], (dy + 0 * dx).gather(1, which[:, None])[:, 0]], 1)
    error = (out[:, 1:3] - off).abs()
    log_scale = out[:, 3:5].clamp(-4, 4)
    place = (error * torch.exp(-log_scale) + log_scale).sum(1)[near].mean()
    feet, told = feet_loss(out[:, 5:], at[..., 2:])
    return cells + 0.5 * place + feet, [cells.detach(), place.detach(), error.mean(1)[peak].median().detach(), *told]


def feet_loss(out: Tensor, ends: Tensor) -> tuple[Tensor, list[Tensor]]:
    """Cross entropy of cells that hold a wall's foot, and minus the logarithm of Laplace's density of its nearest place
    in cells near one; ends (B, 6, 4)."""
    middle = torch.arange(SIDE // CELL, device=out.device) * CELL + (CELL - 1) / 2
    at = torch.stack(torch.meshgrid(middle, middle, indexing="xy"))[None, None]
    a, way = ends[..., :2, None, None], (ends[..., 2:] - ends[..., :2])[..., None, None]
    share = (((at - a) * way).sum(2) / (way**2).sum(2).clamp(min=1e-6)).clamp(0, 1)
    off = a + share[:, :, None] * way - at
    far, which = (off**2).sum(2).clamp(max=1e8).min(1)
    nearest = off.gather(1, which[:, None, None].expand(-1, 1, 2, -1, -1))[:, 0]
    there = far <= (0.5 * CELL) ** 2
    cells = nn.functional.binary_cross_entropy_with_logits(out[:, 0], there.float())
    near = far <= (1.6 * CELL) ** 2
    error = (out[:, 1:3] - nearest).abs().sum(1)
    log_scale = out[:, 3].clamp(-4, 4)
    place = (error * torch.exp(-log_scale) + 2 * log_scale)[near].mean()
    return 2 * cells + 0.3 * place, [cells.detach(), place.detach(), error[there].median().detach()]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--begin", type=Path)
    parser.add_argument("--workers", type=int, default=15)
    parser.add_argument("--small", action="store_true")
    train(parser.parse_args())


def train(wanted: argparse.Namespace) -> None:
    begun = time.monotonic()
    small, device = wanted.small, "cpu" if wanted.small else "cuda"
    scenes, batch, first, kept = (2, 32, 4, 400) if small else (64, 1024, 100, 250_000)
    torch.manual_seed(wanted.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    wanted.out.mkdir(parents=True, exist_ok=True)
    net = PlaceFinder().to(device, memory_format=torch.channels_last)
    if wanted.begin:
        net.load_state_dict({k: torch.from_numpy(v) for k, v in np.load(wanted.begin).items()}, strict=False)
    mean = torch.optim.swa_utils.AveragedModel(net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.9985),
                                               use_buffers=True)
    optimiser = torch.optim.AdamW(net.parameters(), lr=wanted.rate, weight_decay=0.01)
    workers = 0 if small else wanted.workers
    source = iter(DataLoader(Windows(wanted.seed, scenes), batch_size=None, num_workers=workers,
                             prefetch_factor=4 if workers else None))
    pool, made, drawing, step, told, since = Pool(kept), 0, 0.0, 0, 0, begun
    sums, log = torch.zeros(7, device=device), (wanted.out / "log.txt").open("w")
    learning = None
    while (share := (time.monotonic() - begun) / (60 * wanted.minutes)) < 1:
        start = time.monotonic()
        if learning is None or drawing <= 0.4 * (start - learning):
            packs, windows, places = (torch.as_tensor(a).to(device) for a in next(source))
            pool.add(draw_windows(packs, windows, DRAWN, 16), places)
            if not small:
                torch.cuda.synchronize()
            made += len(windows)
            drawing += time.monotonic() - start
            if made < first * scenes * WINDOWS:
                continue
            if learning is None:
                print(f"{start - begun:.0f} s  {made} windows", flush=True)
                learning, drawing = time.monotonic(), 0.0
        for group in optimiser.param_groups:
            group["lr"] = wanted.rate * min(1.0, (step + 1) / 300) * (0.5 + 0.5 * np.cos(np.pi * share)) + 1e-6
        for _ in range(1 if small else 8):
            pick = torch.randint(pool.count, (batch,), device=device)
            seen, at = pieces(*(part[pick] for part in pool.parts))
            with torch.autocast(device, torch.bfloat16, enabled=not small):
                out = net(seen.contiguous(memory_format=torch.channels_last))
            loss, parts = loss_of(out, at)
            optimiser.zero_grad(set_to_none=True)
            loss.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 5.0)
            optimiser.step()
            mean.update_parameters(net)
            step += 1
            sums += torch.stack([loss.detach(), *parts])
        now = time.monotonic()
        if now - since > 10:
            line = f"{now - begun:6.0f} s  step {step}  " + " ".join(f"{float(v):.4f}" for v in sums / (step - told))
            print(line, f" {made} windows", flush=True)
            log.write(f"{line}  {made} windows\n")
            log.flush()
            sums.zero_()
            told, since = step, now
            save(mean.module, wanted.out / "places.npz")
    save(mean.module, wanted.out / "places.npz")
    print(f"{step} steps, {made} windows")


if __name__ == "__main__":
    main()
