# Makes the one folder that travels to the training machine:
# pack.py LISTS RAW NOISE.i16 CHECKPOINT BIN VOICES DICTIONARY PACK [SET=share,kbit/s ...]
# BIN holds the programs unpack, tts, pico (static) and rhvoice; VOICES the folders rhvoice, pico (their data) and lib (what rhvoice needs,
# with its loader). Evaluation speakers stay at home. Then there: OUT=folder bash PACK/go.sh SECONDS
import hashlib
import os
import shutil
import subprocess
import sys
import tarfile

import numpy as np
import torch

from data import load_dictionary
from net import PHONE_ID, RATE
from speech_list import ANSWERS, CONTROL, DIGITS, EXTRA, SIDES, STATES, TEENS, TENS, THINGS

SETS = dict(an4=(1, 20), sc_mini=(1, 20), sc_test=(1, 20), sc_oov=(0.5, 16), sc_yesnoupdown=(0.5, 16), librispeech_tc5=(0.4, 16))
CODE = "data.py augment.py train.py export.py net.py speech_list.py words.lex ../../tests/data/hearing/golden.wav".split()
NOISE_KBITS = 40
FILE_SECONDS, GAP = 600, RATE // 10  # short files, so that every core unpacks its share


def chosen(share, line):
    return int(hashlib.sha256("\t".join(line).encode()).hexdigest()[:8], 16) < share * 2 ** 32


def encode(samples, kbits, path, kind="--speech"):
    subprocess.run(["opusenc", "--quiet", "--raw", "--raw-rate", str(RATE), "--raw-chan", "1", kind, "--framesize", "40",
                    "--bitrate", str(kbits), "-", path], input=samples.tobytes(), check=True)


def pack_set(name, share, kbits, lists, raw, out, small):
    """Writes one set as short Opus files with their lists; returns its seconds and bytes."""
    sound, rows, length, parts = [], [], 0, 0
    total = size = 0

    def flush():
        nonlocal sound, rows, length, parts, size
        if rows:
            path = os.path.join(out, f"{name}-{parts:02d}.opus")
            encode(np.concatenate(sound), kbits, path)
            size += os.path.getsize(path)
            with open(os.path.join(small, "lists", f"{name}-{parts:02d}.tsv"), "w") as f:
                f.writelines("\t".join(r) + "\n" for r in rows)
            sound, rows, length, parts = [], [], 0, parts + 1

    for file in sorted(f for f in os.listdir(lists) if f.rsplit("-", 1)[0] == name):
        samples = np.fromfile(os.path.join(raw, file[:-4] + ".i16"), "<i2")
        for line in open(os.path.join(lists, file)):
            part = line.rstrip("\n").split("\t")
            if part[3] != "train" or not chosen(share, part):
                continue
            begin, n = int(part[0]), int(part[1])
            sound += [samples[begin:begin + n], np.zeros(GAP, "<i2")]
            rows.append([str(length), *part[1:]])
            length, total = length + n + GAP, total + n
            if length > FILE_SECONDS * RATE:
                flush()
    flush()
    return total / RATE, size


def main(lists, raw, noise, checkpoint, programs, voices, dictionary, out, *sets):
    here = os.path.dirname(os.path.abspath(__file__))
    takes = {**SETS, **{s.split("=")[0]: tuple(map(float, s.split("=")[1].split(","))) for s in sets}}
    shutil.rmtree(out, ignore_errors=True)
    small = os.path.join(out, "small")
    os.makedirs(os.path.join(small, "lists"))
    for name, (share, kbits) in takes.items():
        seconds, size = pack_set(name, share, kbits, lists, raw, out, small)
        print(f"{name}\t{seconds / 60:.1f} min\t{size / 1e6:.1f} MB", flush=True)
    texts = [line.split("\t") for f in sorted(os.listdir(lists)) for line in open(os.path.join(lists, f))]
    with open(os.path.join(small, "text.txt"), "w") as f:
        f.writelines(t[5] + "\n" for t in texts if t[2] == "read" and t[3] == "train")
    words = load_dictionary(dictionary)
    wanted = {w for t in texts if t[2] == "read" for w in t[5].split()}
    wanted.update(" ".join(ANSWERS + CONTROL + DIGITS + EXTRA + SIDES + STATES + TEENS + TENS + THINGS).split(), ["alpha", "bravo", "cylinder", "hundredths", "half", "and", "guards", "clips", "leads", "turns", "counted", "leaks"])
    with open(os.path.join(small, "words.tsv"), "w") as f:
        f.writelines(f"{w}\t{' '.join(words[w][0])}\n" for w in sorted(wanted) if w in words and all(p in PHONE_ID for p in words[w][0]))
    print("no pronunciation:", *[w for w in sorted(wanted) if w not in words][:40])
    for file in CODE:
        shutil.copy(os.path.join(here, file), small)
    for program in ("unpack", "tts", "pico", "rhvoice"):
        shutil.copy(os.path.join(programs, program), small)
    shutil.copytree(voices, os.path.join(small, "voices"))
    encode(np.fromfile(noise, "<i2"), NOISE_KBITS, os.path.join(out, "noise.opus"), "--music")
    state = torch.load(checkpoint, map_location="cpu")
    torch.save({k: state[k] for k in ("config", "step", "spent", "plan", "average")}, os.path.join(out, "checkpoint.pt"))
    with tarfile.open(os.path.join(out, "small.tar.xz"), "w:xz") as tar:
        for file in sorted(os.listdir(small)):
            tar.add(os.path.join(small, file), file)
    shutil.rmtree(small)
    shutil.copy(os.path.join(here, "run.sh"), os.path.join(out, "go.sh"))
    print(f"pack: {sum(os.path.getsize(os.path.join(out, f)) for f in os.listdir(out)) / 1e6:.1f} MB")


if __name__ == "__main__":
    main(*sys.argv[1:])
