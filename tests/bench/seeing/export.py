"""Weights to the files the program ships: ``python -m tests.bench.seeing.export WEIGHTS.npz desk/floor_corners.onnx``,
and with ``--places`` desk/corner_places.onnx. Needs torch and onnx.

Batch norm is folded into the convolutions; weights are stored in half precision, each widened by a Cast node, which
OpenCV's importer works out once. The exported file is then run by OpenCV and by torch on one picture and the largest
difference told.
"""
from __future__ import annotations

import sys
from pathlib import Path
from typing import TypeVar

import cv2
import numpy as np
import onnx
import torch
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from tests.bench.seeing.net import Segmenter, Step, Twice
from tests.bench.seeing.place_net import SIDE, PlaceFinder


_Net = TypeVar("_Net", bound=torch.nn.Module)


class Graph:
    """Nodes and weights in the order they are asked for."""

    def __init__(self) -> None:
        self.nodes: list[onnx.NodeProto] = []
        self.weights: list[onnx.TensorProto] = []

    def put(self, kind: str, *inputs: str, **said: object) -> str:
        name = f"n{len(self.nodes)}"
        self.nodes.append(helper.make_node(kind, list(inputs), [name], **said))
        return name

    def weight(self, values: NDArray[np.float32]) -> str:
        name = f"w{len(self.weights)}"
        self.weights.append(numpy_helper.from_array(values.astype(np.float16), name))
        return self.put("Cast", name, to=TensorProto.FLOAT)

    def step(self, x: str, step: Step) -> str:
        """Convolution with its batch norm folded in, and ReLU unless bare."""
        norm, conv = step.norm, step.conv
        scale = norm.weight / torch.sqrt(norm.running_var + norm.eps)
        y = self.conv(x, conv, conv.weight * scale[:, None, None, None], norm.bias - norm.running_mean * scale)
        return y if step.bare else self.put("Relu", y)

    def conv(self, x: str, conv: torch.nn.Conv2d, weight: torch.Tensor, bias: torch.Tensor) -> str:
        pad, stride, wide = int(conv.padding[0]), int(conv.stride[0]), int(conv.dilation[0])
        return self.put("Conv", x, self.weight(weight.detach().numpy()), self.weight(bias.detach().numpy()),
                        kernel_shape=list(conv.kernel_size), pads=[pad] * 4, strides=[stride] * 2, dilations=[wide] * 2)

    def block(self, x: str, block: torch.nn.Module) -> str:
        if isinstance(block, Step):
            return self.step(x, block)
        if isinstance(block, Twice):
            return self.put("Relu", self.put("Add", x, self.step(self.step(x, block.one), block.two)))
        for part in block.children():
            x = self.block(x, part)
        return x

    def joined(self, low: str, high: str) -> str:
        """The lower level at twice its size beside the higher one."""
        twice = self.put("Resize", low, "", "scales", mode="nearest", coordinate_transformation_mode="asymmetric",
                         nearest_mode="floor")
        return self.put("Concat", twice, high, axis=1)


def model_of(net: Segmenter) -> onnx.ModelProto:
    """The network as ONNX, input "x", output "y"."""
    g = Graph()
    second = g.block("x", net.second)
    fourth = g.block(second, net.fourth)
    eighth = g.block(fourth, net.eighth)
    sixteenth = g.block(eighth, net.sixteenth)
    y = g.block(g.joined(g.block(sixteenth, net.low), sixteenth), net.up16)
    for up, beside in ((net.up8, eighth), (net.up4, fourth), (net.up2, second)):
        y = g.block(g.joined(y, beside), up)
    return _finished(g, y, net.out, [1, 5, "h", "w"], [1, 7, "a", "b"])


def model_of_places(net: PlaceFinder) -> onnx.ModelProto:
    """The network that places corners, the same way."""
    g = Graph()
    fourth = g.block(g.block("x", net.second), net.fourth)
    y = g.block(g.joined(g.block(fourth, net.low), fourth), net.up)
    return _finished(g, y, net.out, ["n", 3, SIDE, SIDE], ["n", 9, SIDE // 4, SIDE // 4])


def _finished(g: Graph, y: str, last: torch.nn.Conv2d, taken: list[int | str],
              given: list[int | str]) -> onnx.ModelProto:
    """The graph with its last convolution, checked."""
    assert last.bias is not None
    g.nodes.append(helper.make_node("Identity", [g.conv(y, last, last.weight, last.bias)], ["y"]))
    scales = numpy_helper.from_array(np.array([1, 1, 2, 2], np.float32), "scales")
    graph = helper.make_graph(g.nodes, "segmenter",
                              [helper.make_tensor_value_info("x", TensorProto.FLOAT, taken)],
                              [helper.make_tensor_value_info("y", TensorProto.FLOAT, given)],
                              [*g.weights, scales])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 13)], producer_name="")
    model.ir_version = 8
    onnx.checker.check_model(model)
    return model


def loaded(net: _Net, path: Path) -> _Net:
    """The network with trained weights."""
    net.eval()
    net.load_state_dict({k: torch.from_numpy(v) for k, v in np.load(path).items()}, strict=False)
    return net


def main() -> None:
    weights, target = (Path(name) for name in sys.argv[1:] if not name.startswith("--"))
    random = np.random.default_rng(1)
    net: torch.nn.Module
    if "--places" in sys.argv:
        net, x = loaded(PlaceFinder(), weights), random.uniform(-0.5, 0.5, (3, 3, SIDE, SIDE))
        data = model_of_places(net).SerializeToString()
    else:
        net, x = loaded(Segmenter(), weights), random.uniform(-0.5, 0.5, (1, 5, 192, 256))
        data = model_of(net).SerializeToString()
    target.write_bytes(data)
    x = x.astype(np.float32)
    own = cv2.dnn.readNetFromONNX(np.frombuffer(data, np.uint8))
    own.setInput(x)
    with torch.no_grad():
        theirs = net(torch.from_numpy(x)).numpy()
    print(f"{len(data)} bytes; largest difference from torch {np.abs(own.forward() - theirs).max():.4f} of logits up "
          f"to {np.abs(theirs).max():.1f}")


if __name__ == "__main__":
    main()
