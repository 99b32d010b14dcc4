# Writes ear.safetensors (float16, batch-norm folded) and the golden files from a checkpoint's averaged weights.
# export.py CHECKPOINT OUT_DIR GOLDEN_WAV : the golden files let another implementation check itself against this one.
import json
import os
import struct
import sys
import wave

import numpy as np
import torch

from net import HALF, STRIDE, UNITS, Ear, Net


def write_safetensors(path, tensors, meta):
    header, offset = {}, 0
    for name, t in tensors.items():
        size = t.numel() * 2
        header[name] = dict(dtype="F16", shape=list(t.shape), data_offsets=[offset, offset + size])
        offset += size
    header["__metadata__"] = meta
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 8)
    with open(path, "wb") as f:
        f.write(struct.pack("<Q", len(text)) + text)
        for t in tensors.values():
            f.write(t.numpy().astype("<f2").tobytes())


def main(checkpoint, out, golden):
    state = torch.load(checkpoint, map_location="cpu")
    net = Net(**state["config"]).eval()
    net.load_state_dict({k: v.float() if v.is_floating_point() else v for k, v in state["average"].items()})
    tensors = net.folded()
    assert all(torch.isfinite(t).all() and t.abs().max() < 6e4 for t in tensors.values())
    order = ["a0.weight", "a0.bias"]
    for i in range(len(net.offsets)):
        order += [f"l{i}.weight", f"a{i + 1}.weight", f"a{i + 1}.bias"]
    order += ["o.weight", "o.bias"]
    path = os.path.join(out, "ear.safetensors")
    write_safetensors(path, {k: tensors[k] for k in order}, dict(
        units=" ".join(UNITS), offsets=json.dumps([list(o) for o in net.offsets]), input_context=str(HALF),
        stride=str(STRIDE), mel_bins="40", training_step=str(state["step"])))
    with wave.open(golden) as w:
        raw, rate = w.readframes(w.getnframes()), w.getframerate()
    assert rate == 16000
    with wave.open(os.path.join(out, "golden.wav"), "wb") as w:
        w.setnchannels(1), w.setsampwidth(2), w.setframerate(16000), w.writeframes(raw)
    ear, samples = Ear(path), torch.from_numpy(np.frombuffer(raw, "<i2").astype(np.float32))
    features = ear.features(samples)
    posteriors = ear.from_features(features)
    with torch.no_grad():
        difference = (net(features[None])[0] - posteriors).abs().max().item()
    np.savetxt(os.path.join(out, "golden.features.tsv"), features.numpy(), "%.3f", "\t")
    np.savetxt(os.path.join(out, "golden.posteriors.tsv"), posteriors.numpy(), "%.3f", "\t")
    print(f"{sum(t.numel() for t in tensors.values())} numbers, {os.path.getsize(path)} bytes, "
          f"largest difference to the unfolded network {difference:.4f}")


if __name__ == "__main__":
    main(*sys.argv[1:4])
