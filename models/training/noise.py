# Makes noise.i16 (16 kHz) of all recordings that training may use: noise.py SHARED_NOISE PACKAGES OUT.i16
# SHARED_NOISE: the five recordings named in README.md. PACKAGES: Debian's sonic-pi-samples, endless-sky-data, freedoom and blanket, unpacked
# there with dpkg-deb -x. Only what those packages' copyright files put under CC0, CC BY, the public domain or a BSD licence is taken.
import glob
import os
import re
import struct
import subprocess
import sys

import numpy as np

from net import RATE

LONGEST = 45  # seconds taken of one recording
BLANKET = "birds boat city coffee-shop fireplace rain storm stream summer-night train waves wind".split()  # not the share-alike two


def read(path):
    """Mono, 16 kHz, float, by ffmpeg."""
    out = subprocess.run(["ffmpeg", "-v", "error", "-i", path, "-ac", "1", "-ar", str(RATE), "-f", "s16le", "-"], capture_output=True, check=True).stdout
    return np.frombuffer(out, "<i2").astype(np.float32)


def free_files(copyright_file, prefix, wanted):
    """Files that a Debian copyright file puts, one paragraph each, under a wanted licence."""
    for paragraph in open(copyright_file, encoding="utf8").read().split("\n\n"):
        licence = re.search(r"^License: (\S+)", paragraph, re.M)
        if licence and licence[1] in wanted:
            for name in re.findall(rf"{prefix}(\S+)", paragraph):
                yield name


def lumps(path):
    """Sounds of a WAD file: 8 bits, mostly 11,025 Hz."""
    data = open(path, "rb").read()
    count, at = struct.unpack("<ii", data[4:12])
    for i in range(count):
        place, size, name = struct.unpack("<ii8s", data[at + 16 * i:at + 16 * i + 16])
        if name.startswith(b"DS") and size > 8:
            _, rate, n = struct.unpack("<HHI", data[place:place + 8])
            x = np.frombuffer(data[place + 8:place + 8 + n], np.uint8).astype(np.float32) - 128
            yield np.interp(np.arange(0, len(x), rate / RATE), np.arange(len(x)), x)


def main(shared, packages, out):
    found = [read(os.path.join(shared, f + ".flac")) for f in "sc_running_tap fs_cafe fs_fridge fs_traffic eng_loop".split()]
    share = os.path.join(packages, "usr/share")
    for name in free_files(os.path.join(share, "doc/sonic-pi-samples/copyright"), "etc/samples/", {"CC0"}):
        found += [read(f) for f in glob.glob(os.path.join(share, "**", name), recursive=True)]
    for f in sorted(glob.glob(os.path.join(share, "**/endless-sky/sounds/**/*.*"), recursive=True)):
        if os.path.basename(f) not in ("heavy rocket hit.wav", "explosion huge.wav"):  # share-alike
            found.append(read(f))
    for f in sorted(glob.glob(os.path.join(share, "games/doom/*.wad"))):
        found += lumps(f)
    bundle = os.path.join(share, "blanket/blanket.gresource")
    places = subprocess.run(["gresource", "list", bundle], capture_output=True, text=True, check=True).stdout.split()
    for place in places:
        if os.path.basename(place)[:-4] in BLANKET and place.endswith(".ogg"):
            file = os.path.join(packages, "one.ogg")
            with open(file, "wb") as f:
                subprocess.run(["gresource", "extract", bundle, place], stdout=f, check=True)
            found.append(read(file))
    different = {x.tobytes(): x[:LONGEST * RATE] for x in found if x.std() > 0}  # the two WAD files share most sounds
    # One loudness, but never clipped: an impact keeps its peak.
    level = [x * min(2000 / x.std(), 30000 / np.abs(x).max()) for x in different.values()]
    np.concatenate(level).astype("<i2").tofile(out)
    print(f"{len(level)} recordings, {sum(map(len, level)) / RATE:.0f} s")


if __name__ == "__main__":
    main(*sys.argv[1:4])
