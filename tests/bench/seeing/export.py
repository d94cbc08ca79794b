"""Weights to the file the program ships: ``python -m tests.bench.seeing.export WEIGHTS.npz desk/floor_corners.onnx``.
Needs torch and onnx.

Batch norm is folded into the convolutions; weights are stored in half precision, each widened by a Cast node, which
OpenCV's importer works out once. The exported file is then run by OpenCV and by torch on one picture and the largest
difference told.
"""
from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import onnx
import torch
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from tests.bench.seeing.net import Segmenter, Step, Twice


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
    assert net.out.bias is not None
    g.nodes.append(helper.make_node("Identity", [g.conv(y, net.out, net.out.weight, net.out.bias)], ["y"]))
    scales = numpy_helper.from_array(np.array([1, 1, 2, 2], np.float32), "scales")
    graph = helper.make_graph(g.nodes, "segmenter",
                              [helper.make_tensor_value_info("x", TensorProto.FLOAT, [1, 5, "h", "w"])],
                              [helper.make_tensor_value_info("y", TensorProto.FLOAT, [1, 7, "a", "b"])],
                              [*g.weights, scales])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 13)], producer_name="")
    model.ir_version = 8
    onnx.checker.check_model(model)
    return model


def loaded(path: Path) -> Segmenter:
    """The trained network, weights rounded to half precision as they will be shipped."""
    net = Segmenter().eval()
    net.load_state_dict({k: torch.from_numpy(v) for k, v in np.load(path).items()}, strict=False)
    return net


def main() -> None:
    weights, target = Path(sys.argv[1]), Path(sys.argv[2])
    net = loaded(weights)
    data = model_of(net).SerializeToString()
    target.write_bytes(data)
    x = np.random.default_rng(1).uniform(-0.5, 0.5, (1, 5, 192, 256)).astype(np.float32)
    own = cv2.dnn.readNetFromONNX(np.frombuffer(data, np.uint8))
    own.setInput(x)
    with torch.no_grad():
        theirs = net(torch.from_numpy(x)).numpy()
    print(f"{len(data)} bytes; largest difference from torch {np.abs(own.forward() - theirs).max():.4f} of logits up "
          f"to {np.abs(theirs).max():.1f}")


if __name__ == "__main__":
    main()
