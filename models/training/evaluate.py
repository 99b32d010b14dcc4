# Compares ears on the same sound: voices, people and noises that the training never used.
# evaluate.py phrases DIR (texts to be spoken) ; pack LISTS RAW SYNTHETIC_DIR NOISE_DIR CLIPS.npz
# evaluate.py run DICTIONARY CLIPS.npz OUT.md NAME=EAR ... ; it takes all cores that it may use (taskset limits them).
import ctypes
import functools
import itertools
import json
import multiprocessing
import os
import random
import subprocess
import sys
import tempfile

import numpy as np
import torch

from data import LETTERS, load, load_dictionary
from net import PHONE_ID, RATE, Ear
from speech_list import ANSWERS, CONTROL, STATES, TEENS, domain

ONES = "one two three four five six seven eight nine".split()
TEN = "yes no up down left right on off stop go".split()
NUMBER_WORDS = set(ONES + TEENS + "zero oh twenty thirty forty fifty sixty seventy eighty ninety hundred thousand and".split())
THETAS = (0.7, 1.0, 1.3, 1.6, 2.0, 2.5)
PHRASES = 300


def phrase_list():
    """Different phrases of the trade: the program's fixed answers, and others with figures, valves and things."""
    r, found = random.Random(99), dict.fromkeys(CONTROL + STATES[:40] + ANSWERS)
    while len(found) < PHRASES:
        found.setdefault(" ".join(domain(r).replace(",", "").split()))
    return list(found)


def wide_grammar():
    """Any valve, any number, any ending."""
    numbers = [n + " thou" for n in ONES + TEENS + ["twenty"]] + [f"point {a} {b}" for a in ["zero", "one", "two", "three"] for b in ["zero"] + ONES]
    return [f"{s} {c} {n}{e}" for s in ("intake", "exhaust", "inlet") for c in ONES[:8] for n in numbers for e in ("", " drag okay", " too tight")]


@functools.cache
def search():
    source = os.path.join(os.path.dirname(os.path.abspath(__file__)), "viterbi.c")
    library = os.path.join(tempfile.mkdtemp(), "viterbi.so")
    subprocess.run(["gcc", "-O3", "-march=native", "-shared", "-fPIC", "-o", library, source], check=True)
    return ctypes.CDLL(library)


class Phrases:
    """Best CTC path through each phrase of a list (Viterbi), all phrases at once."""

    def __init__(self, phrases, words, letters=False):
        chains, self.owner, self.phrases = [], [], phrases
        for k, phrase in enumerate(phrases):
            options = []
            for word in phrase.split():
                if letters and word in LETTERS:
                    options.append([LETTERS[word].split()])
                else:
                    options.append(words[word][:2] + ([["EY"]] if word == "a" else []))
            for choice in itertools.islice(itertools.product(*options), 6):
                chains.append([PHONE_ID[p] for w in choice for p in w])
                self.owner.append(k)
        size = 2 * max(map(len, chains)) + 1
        self.labels = np.zeros((len(chains), size), np.uint8)
        for row, chain in zip(self.labels, chains):
            row[1:2 * len(chain):2] = chain
        skip = np.zeros(self.labels.shape, bool)
        skip[:, 3::2] = (self.labels[:, 3::2] != self.labels[:, 1:-2:2]) & (self.labels[:, 3::2] > 0)
        self.penalty = np.where(skip, 0, -1e30).astype(np.float32)
        self.length = np.array([len(c) for c in chains], np.int32)
        self.owner = np.array(self.owner)

    def __call__(self, posteriors):
        """(phrase, cost per phone against the free path)"""
        rows, columns = self.labels.shape
        posteriors = np.ascontiguousarray(posteriors, np.float32)
        work, final = np.empty(2 * columns + 16, np.float32), np.empty(rows, np.float32)
        pointer = lambda a: a.ctypes.data_as(ctypes.c_void_p)
        search().chains(pointer(posteriors), *map(ctypes.c_int, (*posteriors.shape, rows, columns)),
                        *map(pointer, (self.labels, self.penalty, self.length, work, final)))
        k = int(final.argmax())
        return self.phrases[self.owner[k]], float(posteriors.max(1).sum() - final[k]) / self.length[k]


def interval(right, n):
    """Wilson's 95 % interval in per cent."""
    if not n:
        return "–"
    p, z = right / n, 1.96
    middle, half = (p + z * z / 2 / n) / (1 + z * z / n), z * np.sqrt(p * (1 - p) / n + z * z / 4 / n / n) / (1 + z * z / n)
    return f"{100 * p:.1f} ({100 * (middle - half):.1f}–{100 * (middle + half):.1f})"


def add_noise(x, noise, ratio, r):
    if ratio is None:
        return x
    x = x.astype(np.float32)
    power = np.square(x[:len(x) // 160 * 160]).reshape(-1, 160).mean(1)
    speech = np.sqrt(power[power > power.max() / 100].mean())
    at = r.randrange(len(noise) - len(x))
    n = noise[at:at + len(x)].astype(np.float32)
    return np.clip(np.round(x + n * (speech / (np.sqrt(np.square(n).mean()) + 1e-9) * 10 ** (-ratio / 20))), -32768, 32767)


def padded(x):
    return np.concatenate([np.zeros(4000, np.int16), x, np.zeros(6400, np.int16)]) + np.random.default_rng(len(x)).integers(-2, 3, len(x) + 10400)


def synthetic(folder, name):
    raw = np.fromfile(os.path.join(folder, name + ".i16"), "<i2")
    at = 0
    for line in open(os.path.join(folder, name + ".tsv"), encoding="utf8"):
        n, voice, text = line.rstrip("\n").split("\t")
        yield voice, text, raw[at:at + int(n)]
        at += int(n)


def pack(lists, raw, folder, noises, out):
    """All sound and texts of the evaluation in one file, so that it can run on a machine with more cores."""
    sets, r = {}, random.Random(5)
    sets["trade"] = [(t, x) for name in ("flite-slt", "festival-slt", "festival-ked") for _, t, x in synthetic(folder, name)]
    sets["wide"] = [(t, x) for _, t, x in synthetic(folder, "flite-slt-wide")]
    sound, items = load(lists, raw, use="eval")
    _, trained = load(lists, raw, {"an4"}, "train")
    take = lambda i, a=0, b=None: sound[i["start"] + a:i["start"] + (i["n"] if b is None else b)]
    r.shuffle(items)
    phrases = phrase_list()
    known = {w for p in phrases + TEN for w in p.split()} | NUMBER_WORDS
    number = lambda i: i["kind"] == "an4" and set(i["text"].split()) <= NUMBER_WORDS
    single = [i for i in items if i["kind"] in ("ten", "word")]
    cut = [(word, take(i, i["borders"][k], i["borders"][k + 1]), len(i["words"][k]), i["kind"])
           for i in items if i["kind"] in ("an4", "read") and i["borders"] for k, word in enumerate(i["text"].split())]
    sets["ten"] = [(i["text"], take(i)) for i in single if i["text"] in TEN]
    sets["numbers"] = [(i["text"], take(i)) for i in items if number(i)]
    sets["digits"] = [(i["text"], take(i)) for i in single if i["text"] in ONES + ["zero"]]
    sets["cut digits"] = [(word, x) for word, x, _, kind in cut if kind == "an4" and word in ONES + ["zero"]]
    sets["bed cat happy"] = [(i["text"], take(i)) for i in single if i["text"] in ("bed", "cat", "happy")]
    sets["strangers"] = [(i["text"], take(i)) for i in single if i["text"] not in known | {"bed", "cat", "happy"}]
    sets["cut words"] = [(word, x) for word, x, phones, kind in cut if kind == "read" and phones > 2 and word not in known][:500]
    sets["spelt"] = [(i["text"], take(i)) for i in items if i["kind"] == "an4" and not known & set(i["text"].split())]
    sets["read"] = [(i["text"], take(i, i["borders"][k], i["borders"][min(k + 4, len(i["words"]))]))
                    for i in items if i["kind"] == "read" and i["borders"] for k in range(0, len(i["words"]), 4)][:500]
    texts = sorted({i["text"] for i in items + trained if number(i)})
    pieces = {f"noise-{n}": np.fromfile(os.path.join(noises, n + ".i16"), "<i2") for n in ("bike", "dishes")}
    for name, clips in sets.items():
        pieces[name] = np.concatenate([x for _, x in clips])
        print(name, len(clips))
    about = dict(number_list=texts, sets={k: [(t, len(x)) for t, x in v] for k, v in sets.items()})
    np.savez_compressed(out, about=np.frombuffer(json.dumps(about).encode(), np.uint8), **pieces)


TASK = None


def job(k):
    """One clip through all ears: [(heard, cost)]."""
    clips, phrases, ears, noise, ratio = TASK
    x = clips[k] if noise is None else add_noise(clips[k], noise, ratio, random.Random(k))
    return [phrases(ear(x)) for ear in ears]


def heard(clips, phrases, ears, noise=None, ratio=None):
    global TASK
    TASK = clips, phrases, ears, noise, ratio
    search()
    with multiprocessing.get_context("fork").Pool(len(os.sched_getaffinity(0))) as pool:
        return pool.map(job, range(len(clips)), chunksize=4)


def own_limit(results, right):
    """The smallest θ, in steps of 0.05, at which an ear still takes 98 % of what it hears rightly without a limit."""
    costs = sorted(cost for ok, (_, cost) in zip(right, results) if ok)
    return np.ceil(costs[int(0.98 * (len(costs) - 1))] * 20) / 20


def run(dictionary, clips_file, out, *named):
    torch.set_num_threads(1)
    words = load_dictionary(dictionary)
    words.update(torqued=[["T", "AO", "R", "K", "T"]], spanners=[["S", "P", "AE", "N", "ER", "Z"]], niner=[["N", "AY", "N", "ER"]],
                 thousandths=[["TH", "AW", "Z", "AH", "N", "D", "TH", "S"]], lead=[["L", "IY", "D"]], leads=[["L", "IY", "D", "Z"]])
    stored = np.load(clips_file)
    about = json.loads(bytes(stored["about"]))
    noise = {n: stored["noise-" + n] for n in ("bike", "dishes")}
    clips = {}
    for name, entries in about["sets"].items():
        ends = np.cumsum([n for _, n in entries])
        clips[name] = [(t, padded(x)) for (t, _), x in zip(entries, np.split(stored[name], ends[:-1]))]
    names, paths = zip(*(n.split("=", 1) for n in named))
    ears = [Ear(p) for p in paths]
    same = lambda t: t.replace("metres", "meters")
    lists = dict(trade=Phrases(phrase_list(), words), ten=Phrases(TEN, words), numbers=Phrases(about["number_list"], words),
                 digits=Phrases(ONES + ["zero"], words), wide=Phrases(wide_grammar(), words))
    lists["cut digits"] = lists["digits"]
    titles = {"trade": f"trade phrases, list of {PHRASES}, unseen voices", "wide": f"valve, number, ending ({len(lists['wide'].phrases):,} sentences), unseen voice",
              "ten": "people*: ten command words", "digits": "people*: single digits", "cut digits": "people*: digits cut from strings",
              "numbers": f"people*: number strings, list of {len(about['number_list'])}"}
    conditions = [("quiet", None, None), ("bike 10 dB", "bike", 10), ("bike 5 dB", "bike", 5), ("dishes 10 dB", "dishes", 10)]
    table, refusal, own, errors, limits = [], [], [], {}, None
    shares = lambda values: " | ".join(f"{100 * np.mean(v):.1f}" for v in values)
    for name, title in titles.items():
        for label, source, ratio in conditions if name == "trade" else conditions[:3]:
            results = list(zip(*heard([x for _, x in clips[name]], lists[name], ears, noise.get(source), ratio)))
            truth, n = [same(t) for t, _ in clips[name]], len(clips[name])
            right = [[same(phrase) == t for (phrase, _), t in zip(each, truth)] for each in results]
            limits = limits or [own_limit(*each) for each in zip(results, right)]
            table.append(f"| {title}, {label} | {n} | " + " | ".join(interval(sum(each), n) for each in right) + " |")
            print(table[-1], flush=True)
            at = lambda e, limit: " / ".join(f"{100 * np.mean([ok == good and cost <= limit for ok, (_, cost) in zip(right[e], results[e])]):.1f}" for good in (True, False))
            own.append(f"| {title}, {label}: right / wrong | {n} | " + " | ".join(at(e, limits[e]) for e in range(len(ears))) + " |")
            for e, ear in enumerate(names):
                refusal.append(f"| {title}, {label}, {ear}: right / wrong | {n} | " + " | ".join(at(e, limit) for limit in THETAS) + " |")
            for ok, (phrase, _), t in zip(right[-1], results[-1], truth):
                if not ok:
                    errors[f"{t} → {phrase}"] = errors.get(f"{t} → {phrase}", 0) + 1
    foreign = {"bed, cat, happy, people*": clips["bed cat happy"], "other single words, people*": clips["strangers"], "words cut from read text, people*": clips["cut words"],
               "spelt names and the like, people*": clips["spelt"], "read text in pieces of four words, people*": clips["read"],
               **{f"{n} noise alone, 2 s": [("", x[a:a + 2 * RATE]) for a in range(0, len(x) - 2 * RATE, RATE // 2)] for n, x in noise.items()}}
    for title, pieces in foreign.items():
        for against, key in ((f"{PHRASES} phrases", "trade"), ("ten words", "ten")):
            results = list(zip(*heard([x for _, x in pieces], lists[key], ears)))
            own.append(f"| taken wrongly: {title}, against the {against} | {len(pieces)} | "
                       + shares([[cost <= limit for _, cost in each] for each, limit in zip(results, limits)]) + " |")
            print(own[-1], flush=True)
            for e, ear in enumerate(names):
                refusal.append(f"| taken wrongly: {title}, against the {against}, {ear} | {len(pieces)} | "
                               + shares([[cost <= limit for _, cost in results[e]] for limit in THETAS]) + " |")
    head = lambda columns: "| set | n | " + " | ".join(columns) + " |\n|---|---|" + "---|" * len(columns)
    common = sorted(errors.items(), key=lambda e: -e[1])[:20]
    open(out, "w").write("\n".join([
        "# Ears on the same sound", "Why: shows where an ear is better, where it is not, and what is confused.", "",
        "Best phrase of the list, without refusing: % right (95 %).", "", head(names), *table, "",
        "With each ear's own θ: the smallest, in steps of 0.05, at which it still takes 98 % of the quiet trade phrases that it hears rightly. Shares in %.",
        "", head([f"{n}, θ {limit:.2f}" for n, limit in zip(names, limits)]), *own, "",
        "The same at fixed θ: a phrase is taken if (free path − phrase) / phones ≤ θ. Shares in %.", "",
        head([f"θ {t}" for t in THETAS]), *refusal, "",
        f"Commonest errors of {names[-1]} over all conditions: " + "; ".join(f"{k} ({n})" for k, n in common) + ".", "",
        "\\* Speakers kept out of this training; the starter ear was trained on them, which flatters its column. "
        "Synthetic voices: flite slt, festival slt, festival ked; these and the bike and dishes noises are unseen by all ears."]) + "\n")


if __name__ == "__main__":
    if sys.argv[1] == "phrases":
        wide = wide_grammar()
        random.Random(3).shuffle(wide)
        for name, texts in (("phrases.txt", phrase_list()), ("wide.txt", wide[:150])):
            open(os.path.join(sys.argv[2], name), "w").write("\n".join(texts) + "\n")
    else:
        dict(pack=pack, run=run)[sys.argv[1]](*sys.argv[2:])
