# Turns the packed human recordings into lists of utterances with phones, word borders and a training or evaluation mark.
# Runs once on an ordinary machine: data.py SPEECH_DIR DICTIONARY RAW_DIR OUT_DIR EAR (an ear that finds the word borders).
import hashlib
import json
import os
import re
import subprocess
import sys

import numpy as np

from net import PHONE_ID, RATE, Ear

LETTERS = dict(a="EY", b="B IY", c="S IY", d="D IY", e="IY", f="EH F", g="JH IY", h="EY CH", i="AY", j="JH EY", k="K EY",
               l="EH L", m="EH M", n="EH N", o="OW", p="P IY", q="K Y UW", r="AA R", s="EH S", t="T IY", u="Y UW",
               v="V IY", w="D AH B AH L Y UW", x="EH K S", y="W AY", z="Z IY")
OWN = dict(thou="TH AW", torqued="T AO R K T", rubout="R AH B AW T", millimetres="M IH L AH M IY T ER Z", millimetre="M IH L AH M IY T ER")
LIBRI_HELD_OUT = {"7859", "5789"}


def load_dictionary(path):
    """Words of the CMU dictionary (npm: cmu-pronouncing-dictionary) to lists of pronunciations without stress."""
    words = {}
    for line in open(path, encoding="utf8"):
        m = re.match(r"""\s*(?:"([^"]+)"|'([^']+)'|([\w$]+)):\s*["']([A-Z0-2 ]+)["']""", line)
        if m:
            word = re.sub(r"\(\d+\)$", "", m[1] or m[2] or m[3]).lower()
            phones = [re.sub(r"\d", "", p) for p in m[4].split()]
            if phones not in words.setdefault(word, []):
                words[word].append(phones)
    for word, phones in OWN.items():
        words[word] = [phones.split()]
    return words


def held_out(group, speaker):
    """Evaluation speakers, chosen by a hash of their name. They are never trained on."""
    share = {"an4": 9, "sc10": 6, "sc": 25}.get(group)
    if group == "librispeech_tc5":
        return speaker in LIBRI_HELD_OUT
    return bool(share) and int(hashlib.sha256(f"ear:{speaker}".encode()).hexdigest(), 16) % share == 0


def guess(word):
    """Phones of a word that the dictionary lacks, by flite's letter-to-sound rules."""
    out = subprocess.run(["flite", "-t", word, "-ps", "-o", "none"], capture_output=True, text=True).stdout
    return [{"ax": "AH"}.get(p, p.upper()) for p in out.split() if p != "pau"]


def align(posteriors, phones):
    """First and last frame of every phone on the best CTC path."""
    labels = [0]
    for p in phones:
        labels += [p, 0]
    labels = np.array(labels)
    count, frames = len(labels), len(posteriors)
    skip = np.zeros(count, bool)
    skip[3::2] = labels[3::2] != labels[1:-2:2]
    score = np.full(count, -1e30)
    score[:2] = posteriors[0, labels[:2]]
    back = np.zeros((frames, count), np.int8)
    for t in range(1, frames):
        one = np.concatenate([[-1e30], score[:-1]])
        two = np.where(skip, np.concatenate([[-1e30, -1e30], score[:-2]]), -1e30)
        options = np.stack([score, one, two])
        back[t] = options.argmax(0)
        score = options.max(0) + posteriors[t, labels]
    state = count - 1 if score[-1] > score[-2] else count - 2
    first, last = [0] * len(phones), [-1] * len(phones)
    for t in range(frames - 1, -1, -1):
        if state % 2:
            k = state // 2
            first[k] = t
            last[k] = max(last[k], t)
        state -= back[t, state]
    return first, last


def word_borders(ear, samples, words):
    """Sample positions between words: the quietest place between the last phone of one and the first of the next."""
    first, last = align(ear(samples), [p for w in words for p in w])
    size = 160
    energy = np.square(samples[:len(samples) // size * size].astype(np.float32)).reshape(-1, size).mean(1)
    clamp = lambda f: min(max(f, 0), len(energy) - 1)
    # the very ends: a quarter of a second around the outer phones
    borders, k = [max(0, first[0] * 480 - 4800)], -1
    for word in words[:-1]:
        k += len(word)
        a, b = clamp(last[k] * 3 + 1), clamp(first[k + 1] * 3 + 2)
        borders.append((a + int(energy[a:b + 1].argmin())) * size + size // 2 if b > a else a * size)
    borders.append(min(len(samples), last[-1] * 480 + 5600))
    return borders if all(b > a for a, b in zip(borders, borders[1:])) else []


def trim(samples):
    """Start and end of the sound in a one-word clip."""
    frames = samples[:len(samples) // 160 * 160].astype(np.float32).reshape(-1, 160)
    level = 20 * np.log10(np.sqrt(np.square(frames).mean(1)) + 1)
    loud = np.where(level > max(level.max() - 28, np.percentile(level, 10) + 6))[0]
    if not len(loud):
        return [0, len(samples)]
    return [max(0, int(loud[0]) * 160 - 1600), min(len(samples), int(loud[-1]) * 160 + 2400)]


def prepare(speech, dictionary, raw, out, ear_path):
    """Writes one list per packed file: start, samples, kind, use, speaker, text, phones by word, borders."""
    import torch
    torch.set_num_threads(1)
    words, ear = load_dictionary(dictionary), Ear(ear_path)
    rows = [line.rstrip("\n").split("\t") for line in open(os.path.join(speech, "manifest.tsv"), encoding="utf8")][1:]
    ten = {r[4] for r in rows if r[0] in ("sc_test", "sc_mini")}
    rows.sort(key=lambda r: (r[0] == "librispeech_tc5", r[1], float(r[2])))
    os.makedirs(out, exist_ok=True)
    lists, sound = {}, {}
    for group, file, start, seconds, speaker, text, _ in rows:
        name = os.path.basename(file)[:-5]
        if name not in sound:
            sound = {name: np.fromfile(os.path.join(raw, name + ".i16"), "<i2")}
            print(name, flush=True)
            lists[name] = open(os.path.join(out, name + ".tsv"), "w")
        begin, n = round(float(start) * RATE), round(float(seconds) * RATE)
        samples = sound[name][begin:begin + n]
        phones = []
        for word in text.split():
            if group == "an4" and word in LETTERS:
                phones.append(LETTERS[word].split())
            elif word == "a":
                phones.append(["AH"])
            else:
                phones.append(words.setdefault(word, [guess(word)])[0])
        if not all(p in PHONE_ID for w in phones for p in w) or len(samples) < 1600:
            continue
        ids = [[PHONE_ID[p] for p in w] for w in phones]
        if group in ("an4", "librispeech_tc5", "ljspeech_part"):
            kind, share = ("an4", "an4") if group == "an4" else ("read", group)
            borders = word_borders(ear, samples, ids)
        else:
            kind, share = ("ten", "sc10") if speaker in ten else ("word", "sc")
            borders = trim(samples)
        use = "eval" if held_out(share, speaker) else "train"
        print(begin, len(samples), kind, use, speaker, text, " | ".join(" ".join(w) for w in phones),
              ",".join(map(str, borders)), sep="\t", file=lists[name], flush=True)


def load(lists, raw, kinds=None, use="train"):
    """All utterances of the lists present with their sound: (samples, [dict(start, n, kind, words, borders)])."""
    sound, items, offset = [], [], 0
    for file in sorted(os.listdir(lists)):
        path = os.path.join(raw, file[:-4] + ".i16")
        if not file.endswith(".tsv") or not os.path.exists(path):
            continue
        samples = np.fromfile(path, "<i2")
        position = 0
        for line in open(os.path.join(lists, file)):
            part = line.rstrip("\n").split("\t")
            if len(part) == 4:  # synthetic: samples, voice, words, phones by word
                begin, n, kind, mark, speaker, text = position, int(part[0]), file.split("-")[0], "train", part[1], part[2]
                groups, borders = [w.split() for w in part[3].split(" | ")], []
                position += n
            else:
                begin, n, kind, mark, speaker, text = int(part[0]), int(part[1]), *part[2:6]
                groups = [w.split() for w in part[6].split(" | ")]
                borders = [int(b) for b in part[7].split(",")] if part[7] else []
            if mark != use and use == "train":
                samples[begin:begin + n] = 0  # not even as babble
            if mark != use or (kinds and kind not in kinds) or not all(p in PHONE_ID for w in groups for p in w) or not groups[0]:
                continue
            items.append(dict(start=offset + begin, n=n, kind=kind, speaker=speaker, text=text,
                              words=[[PHONE_ID[p] for p in w] for w in groups], borders=borders))
        sound.append(samples)
        offset += len(samples)
    return np.concatenate(sound), items


if __name__ == "__main__":
    prepare(*sys.argv[1:6])
