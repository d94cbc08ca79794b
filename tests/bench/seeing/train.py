"""Trains the network on rooms drawn while it learns: ``python -m tests.bench.seeing.train OUT [--minutes 8] [--from
WEIGHTS.npz]``.

On a GPU some minutes; ``--small`` on a CPU tells in two minutes whether the loss falls. Needs torch; the program itself
does not. Seeds are kept: scene number k of a run with seed s is always the same. Writes OUT/weights.npz (batch norm
still apart) and OUT/log.txt. Every drawn picture is used several times, each time lit, bent in colour, blurred and
mirrored anew: drawing costs more than learning.
"""
from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.utils.data import DataLoader, IterableDataset, get_worker_info

from tests.bench.seeing import caster
from tests.bench.seeing.net import Segmenter
from tests.bench.seeing.pictures import plane
from tests.bench.seeing.rooms import Scene, draw_scene, furnished, stacked

#: What is drawn at once, what is learnt from at once, steps of learning to a drawing, pictures of each format kept.
DRAWN, LEARNT, STEPS, KEPT = 16, 32, 10, 6000
LONG, SHORT = 768, 576
PEAK_CELLS = 1.3


class Scenes(IterableDataset[tuple[bool, Scene]]):
    """Stacks of scenes, lying and upright in turn."""

    def __init__(self, seed: int, count: int) -> None:
        self.seed, self.count = seed, count

    def __iter__(self) -> Iterator[tuple[bool, Scene]]:
        info = get_worker_info()
        rng = np.random.default_rng([self.seed, info.id if info else 0])
        upright = bool(info and info.id % 2)
        while True:
            upright = not upright
            # Alike furnished rooms are drawn together: a stack costs as much as its fullest room.
            some = sorted((draw_scene(rng, upright) for _ in range(4 * self.count)), key=furnished)
            for k in range(0, len(some), self.count):
                yield upright, stacked(some[k:k + self.count])


@torch.no_grad()
def drawn(scene: Scene, upright: bool, size: tuple[int, int], device: str) -> tuple[Tensor, Tensor, Tensor]:
    """Linear light (B, 3, h, w) half precision, targets (B, 4, h/2, w/2) bytes: kind, two corner heats (of 255),
    line; lens (B,)."""
    stack = {name: torch.as_tensor(value, device=device) for name, value in scene.items()}
    width, height = size
    light: Tensor | None = None
    for dx, dy in ((-0.25, 0.2), (0.25, -0.2)):
        rays = caster.pixel_rays(stack, torch, *(torch.from_numpy(c).to(device)[None] for c in plane(size, dx, dy)))
        colours, _ = caster.cast(stack, torch, rays)
        part = torch.stack(colours, 1).mul_(0.5)
        light = part if light is None else light + part
    assert light is not None
    half = (width // 2, height // 2)
    rays = caster.pixel_rays(stack, torch, *(torch.from_numpy(c).to(device)[None] for c in plane(half)))
    _, kind = caster.cast(stack, torch, rays)
    kind = kind.reshape(-1, half[1], half[0]).to(torch.uint8)
    goal = torch.stack([kind, *_heat(stack, half), _line(kind)], 1)
    return light.reshape(-1, 3, height, width).clamp_(0, 60).half(), goal, stack["lens"][:, 0]


def _heat(stack: dict[str, Tensor], half: tuple[int, int]) -> list[Tensor]:
    """Bumps at the seen corners: concave ones, convex ones."""
    u, v, seen = caster.corner_sights(stack, torch)
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
    count, _, height, width = light.shape
    device = light.device

    def some(low: float, high: float) -> Tensor:
        return torch.empty(count, 1, 1, 1, device=device).uniform_(low, high)

    def bell(sd: float) -> Tensor:
        return torch.randn(count, 1, 1, 1, device=device) * sd

    u, v = (torch.from_numpy(c).to(device).reshape(1, 1, height, width) for c in plane((width, height)))
    x = light.float() * (1 + 2 * (u * u + v * v)) ** -some(0, 1.6)
    level = torch.exp(torch.log(x.mean(1, keepdim=True) + 1e-3).mean((2, 3), keepdim=True))
    x = x * (0.2 / level * 2 ** bell(0.5)) * torch.exp(torch.randn(count, 3, 1, 1, device=device) * 0.09)
    x = _blurred(x, some(0, 1) ** 2 * 1.5, (some(-1, 1)).clamp(min=0))
    x = x.clamp(min=0)
    noise = torch.exp(some(float(np.log(0.002)), float(np.log(0.035))))
    grain = torch.randn_like(x) * 0.7 + torch.randn_like(x[:, :1]) * 0.7
    x = (x + grain * noise * torch.sqrt(x.clamp(0, 1) + 0.02)).clamp(min=0)
    x = torch.where(x > 0.6, 0.6 + 0.4 * (1 - torch.exp(-(x - 0.6) / 0.5)), x)
    x = torch.where(x < 0.0031308, 12.92 * x, 1.055 * x.clamp(min=1e-6) ** (1 / 2.4) - 0.055)
    x = (0.5 + (x - 0.5) * some(0.75, 1.3)).clamp(0, 1)
    grey = x.mean(1, keepdim=True)
    x = torch.where(some(0, 1) < 0.08, grey.expand_as(x), grey + (x - grey) * some(0.7, 1.3)).clamp(0, 1)
    f = (focal.reshape(-1, 1, 1, 1) * torch.exp(torch.where(some(0, 1) < 0.8, bell(0.03), bell(0.15))))
    return torch.cat([x - 0.5, u / f, v / f], 1)


def _blurred(x: Tensor, sigma: Tensor, sharpened: Tensor) -> Tensor:
    """Each picture with a Gaussian blur of its own, then sharpened as phones do."""
    count, _, height, width = x.shape
    far = torch.arange(-4, 5, device=x.device).float()

    def blur(y: Tensor, sd: Tensor) -> Tensor:
        line = torch.exp(-far**2 / (2 * sd.reshape(-1, 1).clamp(min=0.2) ** 2))
        line = (line / line.sum(1, keepdim=True)).repeat_interleave(3, 0)
        y = nn.functional.pad(y, (4, 4, 4, 4), mode="replicate").reshape(1, 3 * count, height + 8, width + 8)
        y = nn.functional.conv2d(y, line[:, None, None, :], groups=3 * count)
        return nn.functional.conv2d(y, line[:, None, :, None], groups=3 * count).reshape(count, 3, height, width)

    x = blur(x, sigma)
    return x + sharpened * (x - blur(x, torch.full_like(sigma, 1.2)))


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
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--from", dest="begin", type=Path)
    parser.add_argument("--workers", type=int, default=14, help="processes that make scenes up")
    parser.add_argument("--compile", action="store_true",
                        help="let torch compile the network: half a minute, then faster")
    parser.add_argument("--small", action="store_true", help="small pictures, few of them: a trial on a CPU")
    wanted = parser.parse_args()
    train(wanted)


def train(wanted: argparse.Namespace) -> None:
    begun = time.monotonic()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(wanted.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    long, short, drawn_at_once, learnt = (192, 160, 4, 8) if wanted.small else (LONG, SHORT, DRAWN, LEARNT)
    wanted.out.mkdir(parents=True, exist_ok=True)
    net = Segmenter().to(device, memory_format=torch.channels_last)
    if wanted.begin:
        net.load_state_dict({k: torch.from_numpy(v) for k, v in np.load(wanted.begin).items()}, strict=False)
    learner = torch.compile(net, dynamic=False) if wanted.compile else net
    mean = torch.optim.swa_utils.AveragedModel(net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.9985),
                                               use_buffers=True)
    optimiser = torch.optim.AdamW(net.parameters(), lr=wanted.rate, weight_decay=0.02)
    workers = 0 if wanted.small else wanted.workers
    scenes = iter(DataLoader(Scenes(wanted.seed, drawn_at_once), batch_size=None, num_workers=workers,
                             prefetch_factor=4 if workers else None))
    pools = {True: Pool(60 if wanted.small else KEPT), False: Pool(60 if wanted.small else KEPT)}
    log = (wanted.out / "log.txt").open("w")
    step, told, sums, since, last_saved = 0, 0, torch.zeros(4, device=device), begun, begun
    seconds = wanted.minutes * 60
    now, drawing = begun, 0.0
    while (share := (time.monotonic() - begun) / seconds) < 1.0:
        for _ in range(16 if step == 0 and not wanted.small else 1):
            upright, scene = next(scenes)
            pools[upright].add(*drawn(scene, upright, (short, long) if upright else (long, short), device))
        if device == "cuda":
            torch.cuda.synchronize()
        drawing += time.monotonic() - now
        for group in optimiser.param_groups:
            group["lr"] = wanted.rate * min(1.0, (step + 1) / 200) * (0.5 + 0.5 * np.cos(np.pi * share)) + 1e-6
        for _ in range(STEPS):
            upright = not upright if pools[not upright].count else upright
            light, goal, focal = pools[upright].some(learnt)
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                out = learner(photographed(light, focal).contiguous(memory_format=torch.channels_last))
            loss, parts = loss_of(out, goal)
            optimiser.zero_grad(set_to_none=True)
            loss.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 5.0)
            optimiser.step()
            mean.update_parameters(net)
            step += 1
            sums += torch.stack([loss.detach(), *parts])
        if device == "cuda":
            torch.cuda.synchronize()
        now = time.monotonic()
        if now - since > 10:
            line = (f"{now - begun:6.0f} s  step {step}  loss "
                    f"{' '.join(f'{float(v):.4f}' for v in sums / (step - told))}  drawing {drawing:.1f} s")
            print(line, flush=True)
            log.write(line + "\n")
            log.flush()
            sums.zero_()
            told, since, drawing = step, now, 0.0
        if now - last_saved > 120:
            save(mean.module, wanted.out / "weights.npz")
            last_saved = now
    save(mean.module, wanted.out / "weights.npz")
    print(f"{step} steps")


def save(net: nn.Module, path: Path) -> None:
    """Every weight in full precision."""
    np.savez(path, **{k: v.detach().float().cpu().numpy() for k, v in net.state_dict().items()
                      if v.is_floating_point()})


if __name__ == "__main__":
    main()
