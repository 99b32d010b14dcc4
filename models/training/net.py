# The acoustic network: 40 log-mel features in, log posteriors of a blank and 39 phones out, every 30 ms.
# Used by training, export and evaluation, so that all three see exactly the same numbers.
import json
import math
import struct

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

PHONES = ("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH").split()
UNITS = ["blank"] + PHONES
PHONE_ID = {p: i for i, p in enumerate(UNITS)}
RATE = 16000
HALF = 4  # the first layer sees 4 frames to each side
STRIDE = 3

# Offsets of the blocks in units of 3 frames: 27 units (0.85 s) back, 4 units + 4 frames (0.16 s) ahead.
OFFSETS = [(-1, 0, 1), (-1, 0, 1), (-1, 0, 1), (-2, -1, 0), (-2, 0, 1),
           (-3, -1, 0), (-3, -1, 0), (-4, -2, 0), (-4, -2, 0), (-6, -3, 0)]


def mel_weights(bins=40, low=20.0, high=7600.0, size=512):
    mel = lambda f: 1127.0 * math.log(1.0 + f / 700.0)
    step = (mel(high) - mel(low)) / (bins + 1)
    weights = torch.zeros(size // 2 + 1, bins)
    for b in range(bins):
        left = mel(low) + b * step
        for i in range(size // 2):
            m = mel(i * RATE / size)
            if left < m < left + 2 * step:
                weights[i, b] = 1 - abs(m - left - step) / step
    return weights


class LogMel(nn.Module):
    """Frames of 400 samples every 160, int16 scale; mean off, pre-emphasis, Povey window, power, mel, log."""

    def __init__(self):
        super().__init__()
        self.register_buffer("mel", mel_weights())
        n = torch.arange(400, dtype=torch.float64)
        self.register_buffer("window", ((0.5 - 0.5 * torch.cos(2 * math.pi * n / 399)) ** 0.85).float())

    def forward(self, x):
        f = x.unfold(-1, 400, 160)
        f = f - f.mean(-1, keepdim=True)
        f = (f - 0.97 * torch.cat([f[..., :1], f[..., :-1]], -1)) * self.window
        spectrum = torch.fft.rfft(f, n=512)
        return ((spectrum.real ** 2 + spectrum.imag ** 2) @ self.mel).clamp(min=1.1920929e-07).log()


def reach(offsets):
    return sum(-min(o) for o in offsets), sum(max(o) for o in offsets)


def stack_input(x, offsets):
    """[B, T, 40] -> [B, n, 360]: edges repeated, 9 frames joined, every third frame kept."""
    left, right = reach(offsets)
    frames = x.shape[1]
    out = (frames + STRIDE - 1) // STRIDE
    before = STRIDE * left + HALF
    after = STRIDE * (out - 1) + STRIDE * right + HALF - (frames - 1)
    x = torch.cat([x[:, :1].expand(-1, before, -1), x, x[:, -1:].expand(-1, after, -1)], 1)
    x = x.unfold(1, 2 * HALF + 1, STRIDE)
    return x.permute(0, 1, 3, 2).flatten(2)


def at_offsets(y, offset):
    low, high = min(offset), max(offset)
    n = y.shape[1] - (high - low)
    return torch.cat([y[:, k - low:k - low + n] for k in offset], -1), -low, n


class Net(nn.Module):
    def __init__(self, dim=512, bottleneck=160, offsets=OFFSETS, dropout=0.1):
        super().__init__()
        self.config = dict(dim=dim, bottleneck=bottleneck, offsets=[list(o) for o in offsets], dropout=dropout)
        self.offsets, self.dropout = [tuple(o) for o in offsets], dropout
        self.register_buffer("mean", torch.zeros(40))
        self.register_buffer("scale", torch.ones(40))
        self.first = nn.Linear(40 * (2 * HALF + 1), dim, bias=False)
        self.first_norm = nn.BatchNorm1d(dim)
        self.narrow = nn.ModuleList([nn.Linear(dim, bottleneck, bias=False) for _ in offsets])
        self.wide = nn.ModuleList([nn.Linear(bottleneck * len(o), dim, bias=False) for o in offsets])
        self.norms = nn.ModuleList([nn.BatchNorm1d(dim) for _ in offsets])
        self.out = nn.Linear(dim, len(UNITS))

    def forward(self, features):
        norm = lambda m, y: m(y.flatten(0, 1)).view(y.shape)
        x = stack_input((features - self.mean) * self.scale, self.offsets)
        x = F.relu(norm(self.first_norm, self.first(x)))
        for offset, narrow, wide, bn in zip(self.offsets, self.narrow, self.wide, self.norms):
            y, skip, n = at_offsets(narrow(x), offset)
            y = F.relu(norm(bn, wide(y)))
            if self.dropout and self.training:  # whole channels, the same over time
                keep = torch.empty(y.shape[0], 1, y.shape[2], device=y.device).bernoulli_(1 - self.dropout)
                y = y * (keep / (1 - self.dropout)).to(y.dtype)
            x = x[:, skip:skip + n] + y
        return F.log_softmax(self.out(x).float(), -1)

    def folded(self, state=None):
        """Weights with batch-norm and feature scaling folded in, under the names of ear.safetensors."""
        state = {k: v.detach().cpu().double() for k, v in (state or self.state_dict()).items()}

        def fold(weight, norm):
            s = state[norm + ".weight"] / torch.sqrt(state[norm + ".running_var"] + 1e-5)
            return state[weight] * s[:, None], state[norm + ".bias"] - state[norm + ".running_mean"] * s

        weight, bias = fold("first.weight", "first_norm")
        mean, scale = state["mean"].repeat(2 * HALF + 1), state["scale"].repeat(2 * HALF + 1)
        tensors = {"a0.weight": weight * scale, "a0.bias": bias - weight @ (mean * scale)}
        for i in range(len(self.offsets)):
            tensors[f"l{i}.weight"] = state[f"narrow.{i}.weight"]
            tensors[f"a{i + 1}.weight"], tensors[f"a{i + 1}.bias"] = fold(f"wide.{i}.weight", f"norms.{i}")
        tensors["o.weight"], tensors["o.bias"] = state["out.weight"], state["out.bias"]
        return tensors


def read_safetensors(path):
    with open(path, "rb") as f:
        raw = f.read()
    size = struct.unpack("<Q", raw[:8])[0]
    header = json.loads(raw[8:8 + size])
    meta = header.pop("__metadata__", {})
    kind = {"F16": "<f2", "F32": "<f4"}
    tensors = {}
    for name, t in header.items():
        a, b = t["data_offsets"]
        values = np.frombuffer(raw[8 + size + a:8 + size + b], kind[t["dtype"]]).astype(np.float32)
        tensors[name] = torch.from_numpy(values.reshape(t["shape"]).copy())
    return tensors, meta


class Ear:
    """An exported ear: samples (int16 scale) to log posteriors, in plain float32."""

    def __init__(self, path):
        self.w, self.meta = read_safetensors(path)
        self.offsets = json.loads(self.meta["offsets"])
        self.features = LogMel()

    def from_features(self, f):
        w = self.w
        x = F.relu(F.linear(stack_input(f[None], self.offsets), w["a0.weight"], w["a0.bias"]))
        for i, offset in enumerate(self.offsets):
            y, skip, n = at_offsets(F.linear(x, w[f"l{i}.weight"]), offset)
            x = x[:, skip:skip + n] + F.relu(F.linear(y, w[f"a{i + 1}.weight"], w[f"a{i + 1}.bias"]))
        return F.log_softmax(F.linear(x, w["o.weight"], w["o.bias"]), -1)[0]

    @torch.no_grad()
    def __call__(self, samples):
        x = torch.as_tensor(np.asarray(samples, dtype=np.float32))
        if len(x) < 400:
            x = F.pad(x, (0, 400 - len(x)))
        return self.from_features(self.features(x)).numpy()
