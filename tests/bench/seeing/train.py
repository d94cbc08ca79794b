"""Trains the network on rooms drawn while it learns: ``python -m tests.bench.seeing.train OUT [--minutes 8] [--from
WEIGHTS.npz] [--span 0 0.5]``.

On a GPU the rooms are drawn by the path tracer (`traced`); ``--small`` on a CPU by the ray caster (`caster`), and tells
in two minutes whether the loss falls. Needs torch; the program itself does not. Seeds are kept: scene number k of a
worker of a run with seed s is always the same. Writes OUT/weights.npz (running mean of the weights, batch norm still
apart), OUT/last.npz (the weights themselves, to go on from) and OUT/log.txt. Every drawn picture is used several times,
each time lit, bent in colour, blurred and mirrored anew. Under torchrun every process draws and learns on a GPU of its
own; gradients are averaged.
"""
from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, distributed, nn
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from tests.bench.seeing import caster
from tests.bench.seeing.lights import lighted
from tests.bench.seeing.net import Segmenter
from tests.bench.seeing.pictures import plane
from tests.bench.seeing.rooms import Rng, Scene, draw_scene, stacked
from tests.bench.seeing.traced import draw_on_gpu, packed, photograph

#: What is drawn at once, what is learnt from at once, pictures of each format kept, the share of the time spent on
#: drawing, paths a pixel.
DRAWN, LEARNT, KEPT, DRAWING, PATHS = 32, 32, 12000, 0.22, 16
LONG, SHORT = 768, 576
PEAK_CELLS = 1.3
Stack = dict[str, Tensor]


def some_scene(rng: Rng, upright: bool) -> Scene:
    """A lighted scene; nine in ten show a corner."""
    while True:
        scene = draw_scene(rng, upright)
        if np.any(caster.corner_sights(stacked([scene]), np)[2] > 0) or rng.random() < 0.03:
            return lighted(rng, scene)


def stack_of(scenes: list[Scene]) -> dict[str, np.ndarray]:
    """Packed scenes (B, n), their corners (B, W, 3) u, v and 0 unseen, 1 concave, 2 convex; lens (B,)."""
    sights = [np.stack([a[0] for a in caster.corner_sights(stacked([scene]), np)], axis=1) for scene in scenes]
    corners = np.zeros((len(scenes), 14, 3), np.float32)
    for k, sight in enumerate(sights):
        corners[k, :len(sight)] = sight
    return {"packs": np.stack([packed(scene) for scene in scenes]), "corners": corners,
            "focal": np.array([scene["lens"][0] for scene in scenes], np.float32)}


class Scenes(IterableDataset[tuple[bool, dict[str, np.ndarray]]]):
    """Stacks of scenes, lying and upright in turn."""

    def __init__(self, seed: int, count: int) -> None:
        self.seed, self.count = seed, count

    def __iter__(self) -> Iterator[tuple[bool, dict[str, np.ndarray]]]:
        info = get_worker_info()
        rng = np.random.default_rng([self.seed, info.id if info else 0])
        upright = bool(info and info.id % 2)
        while True:
            upright = not upright
            scenes = [some_scene(rng, upright) for _ in range(self.count)]
            yield upright, (stack_of(scenes) | {"scenes": scenes} if info is None else stack_of(scenes))


@torch.no_grad()
def drawn(stack: Stack, size: tuple[int, int]) -> tuple[Tensor, Tensor, Tensor]:
    """Linear light (B, 3, h, w) half precision, targets (B, 4, h/2, w/2) bytes: kind, two corner heats (of 255),
    line; lens (B,). On a GPU."""
    light, kind = draw_on_gpu(stack["packs"], size, PATHS)
    half = (size[0] // 2, size[1] // 2)
    return light, torch.stack([kind, *_heat(stack["corners"], half), _line(kind)], 1), stack["focal"]


@torch.no_grad()
def cast(scenes: list[Scene], corners: Tensor, size: tuple[int, int]) -> tuple[Tensor, Tensor, Tensor]:
    """The same by the ray caster, on a CPU."""
    stack, half = stacked(scenes), (size[0] // 2, size[1] // 2)
    colours, _ = caster.cast(stack, np, caster.pixel_rays(stack, np, *(c[None] for c in plane(size))))
    _, kinds = caster.cast(stack, np, caster.pixel_rays(stack, np, *(c[None] for c in plane(half))))
    light = torch.from_numpy(np.stack(colours, 1).astype(np.float32)).reshape(-1, 3, size[1], size[0])
    kind = torch.from_numpy(kinds.reshape(-1, half[1], half[0]).astype(np.uint8))
    return light, torch.stack([kind, *_heat(corners, half), _line(kind)], 1), torch.from_numpy(stack["lens"][:, 0])


def _heat(corners: Tensor, half: tuple[int, int]) -> list[Tensor]:
    """Bumps at the seen corners (B, W, 3): concave ones, convex ones."""
    u, v, seen = corners.unbind(2)
    x = u * max(half) + (half[0] - 1) / 2
    y = v * max(half) + (half[1] - 1) / 2
    gx, gy = torch.arange(half[0], device=u.device).float(), torch.arange(half[1], device=u.device).float()
    # The bump is placed on whole cells, so that each has a cell of full heat.
    ex = torch.exp(-((gx - x.round()[..., None]) ** 2) / (2 * PEAK_CELLS**2))
    ey = torch.exp(-((gy - y.round()[..., None]) ** 2) / (2 * PEAK_CELLS**2))
    within = (x > -0.5) & (y > -0.5) & (x < half[0] - 0.5) & (y < half[1] - 0.5)
    heats = []
    for what in (1, 2):
        own = ((seen == what) & within).float()
        heat = torch.zeros(len(u), half[1], half[0], device=u.device)
        for k in range(u.shape[1]):
            heat = torch.maximum(heat, own[:, k, None, None] * ey[:, k, :, None] * ex[:, k, None, :])
        heats.append((heat * 255).round().to(torch.uint8))
    return heats


def _line(kind: Tensor) -> Tensor:
    """Cells where the room's floor and a wall or its skirting touch."""
    def near(mask: Tensor) -> Tensor:
        return nn.functional.max_pool2d(mask.float()[:, None], 3, 1, 1)[:, 0] > 0
    return (near(kind == caster.FLOOR) & near((kind == caster.SKIRTING) | (kind == caster.WALL))).to(torch.uint8)


def photographed(light: Tensor, focal: Tensor) -> Tensor:
    """(B, 5, h, w): linear light as phones show it, each picture otherwise, with the ray of each pixel as it is
    thought to be."""
    count, device = len(light), light.device

    def some(low: float, high: float) -> Tensor:
        return torch.empty(count, device=device).uniform_(low, high)

    def bell(sd: float, *more: int) -> Tensor:
        return torch.randn(count, *more, device=device) * sd

    few = light[:, :, 1::4, 1::4].float()
    level = torch.exp(torch.log(few.mean(1) + 1e-3).mean((1, 2)))
    gains = (0.2 / level * 2 ** bell(0.5))[:, None] * torch.exp(bell(0.09, 3))
    noise = torch.exp(some(float(np.log(0.002)), float(np.log(0.035))))
    saturation = torch.where(some(0, 1) < 0.08, torch.zeros_like(noise), some(0.7, 1.3))
    thought = focal * torch.exp(torch.where(some(0, 1) < 0.8, bell(0.03), bell(0.15)))
    stencil = _stencil(some(0, 1) ** 2 * 1.5, some(-1, 1).clamp(min=0))
    return photograph(light, torch.cat([stencil, gains, some(0, 1.6)[:, None], noise[:, None], some(0.75, 1.3)[:, None],
                                        saturation[:, None], thought[:, None], some(0, 1000)[:, None]], 1))


def _stencil(sigma: Tensor, sharpened: Tensor) -> Tensor:
    """(B, 49) weights of a Gaussian blur, then sharpened as phones do."""
    far = torch.arange(-3, 4, device=sigma.device).float()
    far2 = far[:, None] ** 2 + far**2

    def bump(sd: Tensor) -> Tensor:
        part = torch.exp(-far2 / (2 * sd[:, None, None].clamp(min=0.2) ** 2))
        return part / part.sum((1, 2), keepdim=True)

    own, wide = bump(sigma), bump(torch.sqrt(sigma**2 + 1.2**2))
    return ((1 + sharpened[:, None, None]) * own - sharpened[:, None, None] * wide).reshape(-1, 49)


def loss_of(out: Tensor, goal: Tensor) -> tuple[Tensor, list[Tensor]]:
    """Cross entropy of the kinds, focal loss of the corners (Law and Deng, CornerNet, 2018), cross entropy of the
    line."""
    out = out.float()
    weights = torch.tensor([1.0, 2.0, 1.0, 1.3], device=out.device)
    kinds = nn.functional.cross_entropy(out[:, :4], goal[:, 0].long(), weights)
    heat = goal[:, 1:3].float() / 255
    on = nn.functional.logsigmoid(out[:, 4:6])
    off = nn.functional.logsigmoid(-out[:, 4:6])
    p = torch.sigmoid(out[:, 4:6])
    peak = heat > 0.99
    hit = -((1 - p) ** 2 * on)[peak].sum()
    miss = -(p**2 * off * (1 - heat) ** 4)[~peak].sum()
    corners = (hit + miss) / peak.sum().clamp(min=1)
    line = nn.functional.binary_cross_entropy_with_logits(out[:, 6], goal[:, 3].float(),
                                                          pos_weight=torch.tensor(3.0, device=out.device))
    return kinds + 0.6 * corners + line, [v.detach() for v in (kinds, corners, line)]


class Pool:
    """Drawn pictures of one format, the oldest overwritten."""

    def __init__(self, most: int) -> None:
        self.most, self.count, self.next = most, 0, 0
        self.parts: list[Tensor] = []

    def add(self, *parts: Tensor) -> None:
        if not self.parts:
            self.parts = [torch.empty(self.most, *p.shape[1:], dtype=p.dtype, device=p.device) for p in parts]
        n = min(len(parts[0]), self.most - self.next)
        for own, new in zip(self.parts, parts):
            own[self.next:self.next + n] = new[:n]
        self.next = (self.next + n) % self.most
        self.count = min(self.count + n, self.most)

    def some(self, count: int) -> list[Tensor]:
        """A random few, half of them mirrored."""
        pick = torch.randint(self.count, (count,), device=self.parts[0].device)
        light, goal, focal = (p[pick] for p in self.parts)
        if torch.rand(()) < 0.5:
            light, goal = light.flip(-1), goal.flip(-1)
        return [light, goal, focal]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=2.5e-3)
    parser.add_argument("--span", type=float, nargs=2, default=(0.0, 1.0), help="which part of the schedule this is")
    parser.add_argument("--from", dest="begin", type=Path)
    parser.add_argument("--workers", type=int, default=12, help="processes that make scenes up")
    parser.add_argument("--compile", action="store_true",
                        help="let torch compile the network: half a minute, then faster")
    parser.add_argument("--small", action="store_true", help="small pictures, few of them: a trial on a CPU")
    train(parser.parse_args())


class Drawer:
    """Keeps the pools of pictures filled."""

    def __init__(self, wanted: argparse.Namespace, device: str, rank: int) -> None:
        self.small, self.device = wanted.small, device
        self.long, self.short, count = (192, 160, 4) if wanted.small else (LONG, SHORT, DRAWN)
        workers = 0 if wanted.small else wanted.workers
        self.scenes = iter(DataLoader(Scenes(wanted.seed + 1000 * rank, count), batch_size=None, num_workers=workers,
                                      prefetch_factor=4 if workers else None))
        kept = 60 if wanted.small else KEPT
        self.pools = {True: Pool(kept), False: Pool(kept)}
        self.made, self.waited, self.seconds = 0, 0.0, 0.0

    def draw(self) -> None:
        """One stack more."""
        begun = time.monotonic()
        upright, stack = next(self.scenes)
        self.waited += time.monotonic() - begun
        size = (self.short, self.long) if upright else (self.long, self.short)
        if self.small:
            made = cast(stack["scenes"], torch.as_tensor(stack["corners"]), size)
        else:
            made = drawn({k: torch.as_tensor(v).to(self.device) for k, v in stack.items()}, size)
            torch.cuda.synchronize()
        self.pools[upright].add(*made)
        self.made += len(made[0])
        self.seconds += time.monotonic() - begun


def train(wanted: argparse.Namespace) -> None:
    begun = time.monotonic()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    rank, world = int(os.environ.get("RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
    if world > 1:
        torch.cuda.set_device(rank)
        distributed.init_process_group("nccl")
    torch.manual_seed(wanted.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    learnt = 8 if wanted.small else LEARNT
    wanted.out.mkdir(parents=True, exist_ok=True)
    net = Segmenter().to(device, memory_format=torch.channels_last)
    if wanted.begin:
        net.load_state_dict({k: torch.from_numpy(v) for k, v in np.load(wanted.begin).items()}, strict=False)
    torch.manual_seed(wanted.seed + 1000 * rank)
    learner = torch.compile(net, dynamic=False) if wanted.compile else net
    mean = torch.optim.swa_utils.AveragedModel(net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.999),
                                               use_buffers=True)
    optimiser = torch.optim.AdamW(net.parameters(), lr=wanted.rate, weight_decay=0.02)
    drawer = Drawer(wanted, device, rank)
    for _ in range(2 if wanted.small else 24):
        drawer.draw()
    print(f"{time.monotonic() - begun:.0f} s  {drawer.made} pictures drawn in {drawer.seconds:.1f} s, of which "
          f"{drawer.waited:.1f} s waited for scenes", flush=True)
    log = (wanted.out / "log.txt").open("w")
    first, last = wanted.span
    step, told, sums, since, last_saved, upright = 0, 0, torch.zeros(4, device=device), begun, begun, True
    learning = time.monotonic()
    drawer.seconds = 0.0
    while (share := agreed((time.monotonic() - begun) / (wanted.minutes * 60), world)) < 1.0:
        if drawer.seconds <= DRAWING * (time.monotonic() - learning):
            drawer.draw()
        at = first + (last - first) * share
        for group in optimiser.param_groups:
            group["lr"] = wanted.rate * min(1.0, (step + 1) / 300) * (0.5 + 0.5 * np.cos(np.pi * at)) + 1e-6
        for _ in range(4):
            upright = not upright if drawer.pools[not upright].count else upright
            light, goal, focal = drawer.pools[upright].some(learnt)
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                out = learner(photographed(light, focal))
            loss, parts = loss_of(out, goal)
            optimiser.zero_grad(set_to_none=True)
            loss.backward()
            average_gradients(net, world)
            nn.utils.clip_grad_norm_(net.parameters(), 5.0)
            optimiser.step()
            mean.update_parameters(net)
            step += 1
            sums += torch.stack([loss.detach(), *parts])
        if device == "cuda":
            torch.cuda.synchronize()
        now = time.monotonic()
        if now - since > 10 and rank == 0:
            line = (f"{now - begun:6.0f} s  step {step}  loss "
                    f"{' '.join(f'{float(v):.4f}' for v in sums / (step - told))}  {drawer.made} pictures in "
                    f"{drawer.seconds:.1f} s, waited {drawer.waited:.1f}")
            print(line, flush=True)
            log.write(line + "\n")
            log.flush()
            sums.zero_()
            told, since = step, now
        if now - last_saved > 60 and rank == 0:
            save(mean.module, wanted.out / "weights.npz")
            save(net, wanted.out / "last.npz")
            last_saved = now
    if rank == 0:
        save(mean.module, wanted.out / "weights.npz")
        save(net, wanted.out / "last.npz")
    print(f"{step} steps, {drawer.made} pictures")


def agreed(share: float, world: int) -> float:
    """What the first process says, in all of them."""
    if world == 1:
        return share
    told = torch.tensor(share, device="cuda")
    distributed.broadcast(told, 0)
    return float(told)


def average_gradients(net: nn.Module, world: int) -> None:
    """Gradients of all processes, averaged in place."""
    if world > 1:
        own = [p.grad for p in net.parameters() if p.grad is not None]
        flat = torch.cat([grad.reshape(-1) for grad in own])
        distributed.all_reduce(flat)
        for grad, part in zip(own, (flat / world).split([grad.numel() for grad in own])):
            grad.copy_(part.view_as(grad))


def save(net: nn.Module, path: Path) -> None:
    """Every weight in full precision."""
    np.savez(path, **{k: v.detach().float().cpu().numpy() for k, v in net.state_dict().items()
                      if v.is_floating_point()})


if __name__ == "__main__":
    main()
