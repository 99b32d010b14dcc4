# Trains the ear with CTC on rows of joined speech; can be stopped and taken up again from its checkpoint.
# train.py LISTS RAW OUT [key=value ...]: phase; seconds (this run) or until (time of day, s); plan (the phase's runs together; 0: this
# run); resume (checkpoint); every (s between saves); optimizer=0 (leave last.pt away); seed, device, rows, long_rows, long_share, workers.
import itertools
import math
import os
import random
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F

from augment import Augment, mask, warp
from data import load
from net import PHONE_ID, RATE, LogMel, Net
from speech_list import ANSWERS, CONTROL, DIGITS, SIDES, STATES, TEENS, TENS, THINGS

# average: decay of the weights' average; masks: SpecAugment, of each kind; ratio: speech to noise, dB; clean: share without noise;
# even: one-word clips drawn by word, so that rare digits come as often as they should; mix: share of segments in 5-second rows.
PHASES = dict(
    whole=dict(rate=1.6e-3, warm=400, dropout=0.1, average=0.999, masks=2, ratio=(-6, 28), clean=0.14, noise_only=0.12, even=False,
               mix=dict(ttsd=0.38, word=0.13, ten=0.15, an4=0.12, joined=0.10, read=0.12)),
    # A short cool-down from the averaged weights: sharper posteriors, more words outside the list, more noise alone.
    settle=dict(rate=4e-4, warm=100, dropout=0.0, average=0.998, masks=1, ratio=(-4, 28), clean=0.22, noise_only=0.15, even=True,
                mix=dict(ttsd=0.28, word=0.17, ten=0.20, an4=0.12, joined=0.10, read=0.13)),
    # From the averaged weights again: eight voices instead of three, ten times the noise, and sentences held against their neighbours.
    wider=dict(rate=1.2e-3, warm=300, dropout=0.03, average=0.9993, masks=1, ratio=(-6, 26), clean=0.15, noise_only=0.14, even=True,
               rivals=2.0, mix=dict(ttsd=0.42, word=0.13, ten=0.14, an4=0.11, joined=0.10, read=0.10)))
FINAL_RATE, PIECES = 1e-5, 7
RIVAL_ROWS, RIVALS, LEAD = 112, 3, 5.0  # rows of a batch that are held against rivals, how many each, nats by which to win
# Words that are mistaken for one another where one of them may be said: a rival sentence has another word of the same group.
NUMBERS = DIGITS + ["zero", "oh"]
GROUPS = [NUMBERS, TEENS + ["ten", "eleven", "twelve"], TENS, SIDES, THINGS,
          list(dict.fromkeys(w for phrase in CONTROL + STATES + ANSWERS for w in phrase.split() if w not in NUMBERS + TEENS + TENS))]
PAIRS = [p.split() for p in """two three|one four|five nine|seven eleven|ten two|twelve ten|thirteen thirty|fourteen forty|fifteen fifty|sixteen sixty
         seventeen seventy|eighteen eighty|nineteen ninety|thirteen fifteen|eight eighty|six sixty|no go|no oh|yes say|repeat ready|drag dry
         right light|light tight|loose loosened|tight light|set ten|on one|off all|pass past|mark marked|torqued too|some none|none one|done one
         correction inspection|tool two|tools two|plugs five|blades eight|niner nine|point nine""".replace("\n", "|").split("|")]
WANTED = """affirm negative correction confirm say again stand by carry on stop go back done ready set locked marked loose light tight okay
good fine no yes play none some all only outside one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen
sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred zero oh point front left right a b mark
seen past free pass too wide go new old turned full turn lead leads count counted clear people found dry sign part time lost doubt choose
every started hand cover off cold warm needed""".split()


class Rows(torch.utils.data.IterableDataset):
    """Batches of rows as lists of segments (place, length, source, speed, gain) and their phones."""

    def __init__(self, items, phase, seed, rows, long_rows, long_share):
        self.phase, self.seed, self.rows, self.long_rows, self.long_share = phase, seed, rows, long_rows, long_share
        self.pools, self.by_word = {}, {}
        numbers = {}
        for item in items:
            self.pools.setdefault(item["kind"], []).append(item)
            if item["kind"] in ("ten", "word"):
                self.by_word.setdefault(item["kind"], {}).setdefault(item["text"], []).append(item)
            words = item["text"].split()
            if item["kind"] in ("an4", "read") and item["borders"] and len(words) == len(item["words"]):
                for k, word in enumerate(words):
                    if item["kind"] == "an4" or word in WANTED:
                        numbers.setdefault(word, []).append((item, k))
        flat = lambda groups: (list(groups), list(itertools.accumulate(min(len(v), 150) ** 0.7 for v in groups)))
        self.joined = flat(numbers.values())
        self.by_word = {kind: flat(words.values()) for kind, words in self.by_word.items()}
        self.said, self.near = {}, {}
        for item in items:
            words = item["text"].split()
            if item["kind"] != "read" and len(words) == len(item["words"]):
                for word, phones in zip(words, item["words"]):
                    said = self.said.setdefault(word, [])
                    if len(said) < 40:
                        said.append(phones)
        for group in GROUPS + PAIRS + [p[::-1] for p in PAIRS]:
            for word in group:
                self.near.setdefault(word, []).append([w for w in group if w != word and w in self.said])
        self.mix = {k: v for k, v in phase["mix"].items() if k in self.pools or (k == "joined" and numbers)}

    @staticmethod
    def draw(r, groups):
        return r.choice(r.choices(groups[0], cum_weights=groups[1])[0])

    def rival(self, r, words):
        """Phones of another sentence: one word exchanged for a neighbour, left out, or a number put in; None where nothing can be."""
        places = [k for k, (word, _) in enumerate(words) if self.near.get(word)]
        if not places:
            return None
        k, kind = r.choice(places), r.random()
        word, phones = words[k]
        if kind < 0.12 and len(words) > 1:
            new = []
        elif kind < 0.22:
            new = phones + r.choice(self.said[r.choice(NUMBERS)])
        else:
            group = r.choice([g for g in self.near[word] if g] or [[]])
            if not group:
                return None
            new = r.choice(self.said[r.choice(group)])
        rival = [p for j, (_, said) in enumerate(words) for p in (new if j == k else said)]
        return None if new == phones else rival

    def piece(self, r, kind):
        """(source, samples, words with their phones)"""
        if kind == "joined":
            item, k = self.draw(r, self.joined)
            a, b = item["borders"][k], item["borders"][k + 1]
            return item["start"] + a, b - a, [(item["text"].split()[k], item["words"][k])]
        even = self.phase["even"] and kind in self.by_word
        item = self.draw(r, self.by_word[kind]) if even else r.choice(self.pools[kind])
        a, b, words, texts = 0, item["n"], item["words"], item["text"].split()
        if item["borders"]:
            if kind == "read":
                n = r.randint(1, 7)
                k = r.randrange(max(1, len(words) - n + 1))
                a, b, words, texts = item["borders"][k], item["borders"][min(k + n, len(words))], words[k:k + n], []
            elif r.random() < 0.6:
                a, b = item["borders"][0], item["borders"][-1]
        return item["start"] + a, b - a, list(zip(texts if len(texts) == len(words) else [""] * len(words), words))

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        r = random.Random(self.seed * 1000 + (info.id if info else 0))
        kinds, weights = list(self.mix), list(self.mix.values())
        while True:
            is_long = r.random() < self.long_share and "read" in self.pools
            length, rows = (15 * RATE, self.long_rows) if is_long else (5 * RATE, self.rows)
            segments = np.zeros((rows, PIECES, 5), np.float64)
            targets, rivals, against = [], [], []
            for b in range(rows):
                phones, spoken, used = [], [], 0
                place = 0 if r.random() < 0.15 else int(r.uniform(0, 0.5) * RATE)
                if r.random() < self.phase["noise_only"] / (3 if is_long else 1):
                    targets.append(phones)
                    continue
                kind = r.choices(kinds, weights)[0]
                voice = r.uniform(0.8, 1.28) if kind == "ttsd" else r.uniform(0.83, 1.2)
                for attempt in range(40):
                    if is_long:
                        item = r.choice(self.pools["read"])
                        source, n, said = item["start"], item["n"], [("", w) for w in item["words"]]
                    else:
                        source, n, said = self.piece(r, kind)
                    more = [p for _, w in said for p in w]
                    speed = voice * r.uniform(0.97, 1.03)
                    n = int(n / speed) - 2
                    if n < 800 or place + n > length or len(phones) + len(more) > (place + n) / 480 / 1.15:
                        if used and attempt > 3:
                            break
                        if not used and n <= length:
                            place = 0
                        continue
                    segments[b, used] = place, n, source, speed, 10 ** (r.uniform(-4, 4) / 20)
                    used += 1
                    phones, spoken = phones + more, spoken + said
                    close = kind in ("joined", "an4") and r.random() < 0.5
                    place += n + int((r.uniform(0, 0.08) if close else r.uniform(0, 0.6)) * RATE)
                    if used == PIECES or (not is_long and r.random() < {"joined": 0.12, "ten": 0.2, "word": 0.25}.get(kind, 0.5)):
                        break
                    if not is_long and kind != "joined" and r.random() < 0.15:
                        kind = r.choices(kinds, weights)[0]
                if used and r.random() < 0.2:  # speech up to the very end of the row
                    segments[b, :used, 0] += length - segments[b, used - 1, 0] - segments[b, used - 1, 1]
                targets.append(phones)
                if self.phase.get("rivals") and not is_long and len(against) < RIVAL_ROWS * RIVALS:
                    for rival in (self.rival(r, spoken) for _ in range(RIVALS)):
                        if rival:
                            rivals.append(rival)
                            against.append(b)
            yield length, torch.from_numpy(segments), *self.padded(targets), *self.padded(rivals), torch.tensor(against, dtype=torch.long)

    @staticmethod
    def padded(targets):
        lengths = torch.tensor([len(t) for t in targets], dtype=torch.long)
        padded = torch.zeros(len(targets), max([1, *map(len, targets)]), dtype=torch.long)
        for b, t in enumerate(targets):
            padded[b, :len(t)] = torch.tensor(t, dtype=torch.long)
        return padded, lengths


def ctc(log_probs, targets, lengths):
    """Loss of each row, 0 where the target does not fit. The GPU library's own CTC is wrong for empty targets: it is kept off, and empty rows are done by hand."""
    device = log_probs.device
    full, empty = torch.nonzero(lengths > 0)[:, 0], torch.nonzero(lengths == 0)[:, 0]
    loss = log_probs.new_zeros(len(lengths))
    if len(full):
        frames = torch.full((len(full),), log_probs.shape[1], dtype=torch.long)
        with torch.backends.cudnn.flags(enabled=False):
            loss = loss.index_put((full.to(device),), F.ctc_loss(log_probs[full.to(device)].transpose(0, 1), targets[full].to(device), frames, lengths[full],
                                                                reduction="none", zero_infinity=True))
    if len(empty):
        loss = loss.index_put((empty.to(device),), -log_probs[empty.to(device), :, 0].sum(1))
    return loss


def rivalry(log_probs, loss, rivals, lengths, against):
    """By how much the rivals of the rows miss being worse by LEAD nats than what was said, softly; summed."""
    if not len(against):
        return loss.new_zeros(())
    rows = against.to(log_probs.device)
    worse = ctc(log_probs[rows], rivals, lengths) - loss[rows]
    fits = (worse + loss[rows] > 0) & (loss[rows] > 0)
    return torch.where(fits, F.softplus(LEAD - worse), torch.zeros_like(worse)).sum()


def check_gradient(batch):
    """The loss and its gradient on the GPU must agree with the CPU's."""
    length, _, targets, lengths, *others = batch
    start = torch.randn(len(lengths), length // (RATE * 3 // 100), 40)  # an output every 30 ms
    results = []
    for device in ("cpu", "cuda"):
        x = start.clone().to(device).detach().requires_grad_(True)
        log_probs = F.log_softmax(x, -1)
        rows = ctc(log_probs, targets, lengths)
        loss = rows.sum() + rivalry(log_probs, rows, *others)
        loss.backward()
        results.append((loss.item(), x.grad.cpu()))
    error = ((results[0][1] - results[1][1]).norm() / results[0][1].norm()).item()
    print(f"gradient check: loss {results[0][0]:.1f} / {results[1][0]:.1f}, error {error:.1e}, empty rows {int((lengths == 0).sum())}", flush=True)
    if not error < 1e-3:
        sys.exit("gradient check failed")


def main(lists, raw, out, **options):
    get = lambda name, default: type(default)(options.get(name, default))
    device, seed = get("device", "cuda"), get("seed", 7)
    name = get("phase", "whole")
    phase = PHASES[name]
    began = time.time()
    torch.manual_seed(seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    speech, items = load(lists, raw)
    noise = torch.from_numpy(np.fromfile(os.path.join(raw, "noise.i16"), "<i2"))
    count = {}
    for item in items:
        n, s = count.get(item["kind"], (0, 0.0))
        count[item["kind"]] = (n + 1, s + item["n"] / RATE / 60)
    print({k: (n, round(m)) for k, (n, m) in count.items()}, f"utterances and minutes; noise {len(noise) / RATE:.0f} s", flush=True)

    state = torch.load(options["resume"], map_location="cpu") if options.get("resume") and os.path.exists(options["resume"]) else None
    goes_on = state is not None and state.get("phase", "whole") == name
    step = state["step"] if state else 0
    phase_step, spent = (state.get("phase_step", 0), state["spent"]) if goes_on else (step, 0.0)
    rows = Rows(items, phase, seed + step, get("rows", 256), get("long_rows", 80), get("long_share", 0.3))
    workers = get("workers", 12)
    batches = iter(torch.utils.data.DataLoader(rows, batch_size=None, num_workers=workers, **(dict(prefetch_factor=6) if workers else {})))
    augment = Augment(torch.from_numpy(speech), noise, device, phase["ratio"], phase["clean"])
    features, net = LogMel().to(device), Net(dropout=phase["dropout"]).to(device)
    optimizer = torch.optim.AdamW(net.parameters(), lr=phase["rate"], weight_decay=0.02, betas=(0.9, 0.98))
    batch = next(batches)
    if device == "cuda":
        check_gradient(batch)
    if state:
        wide = lambda weights: {k: v.to(device, torch.float32) if v.is_floating_point() else v.to(device) for k, v in weights.items()}
        average = wide(state["average"])
        net.load_state_dict(wide(state["net"]) if goes_on and state.get("net") else average)
        if goes_on and state.get("optimizer"):
            optimizer.load_state_dict(state["optimizer"])
        print("phase", name, "taken up at step", step, "after", round(spent), "s", flush=True)
    else:
        with torch.no_grad():
            f = torch.cat([features(augment(b[1], b[0])).flatten(0, 1) for b in itertools.islice(batches, 6)])
            net.mean.copy_(f.mean(0))
            net.scale.copy_(1 / f.std(0))
        average = {k: v.clone() for k, v in net.state_dict().items()}
    floating = [k for k, v in average.items() if v.is_floating_point()]

    def save(file, small):
        pack = lambda weights: {k: v.cpu().half() if small and v.is_floating_point() else v.cpu() for k, v in weights.items()}
        data = dict(config=net.config, phase=name, phase_step=phase_step, step=step, spent=spent + time.time() - start, plan=plan,
                    net=pack(net.state_dict()), average=pack(average), optimizer=None if small else optimizer.state_dict())
        torch.save(data, os.path.join(out, file + ".part"))
        os.replace(os.path.join(out, file + ".part"), os.path.join(out, file))

    def save_all():
        save("checkpoint.pt", True)
        if get("optimizer", 1):
            save("last.pt", False)

    log = open(os.path.join(out, "log.tsv"), "a")
    start, losses, first_step, last_save = time.time(), [], step, time.time()
    seconds = get("until", 0.0) - start if "until" in options else get("seconds", 500.0)
    plan = get("plan", 0.0) or spent + seconds
    print(f"ready after {start - began:.0f} s; {seconds:.0f} s of training", flush=True)
    net.train()
    while time.time() - start < seconds and step - first_step < get("steps", 10 ** 9):
        progress = min(1.0, (spent + time.time() - start) / plan)
        rate = FINAL_RATE + (phase["rate"] - FINAL_RATE) * 0.5 * (1 + math.cos(math.pi * progress))
        rate *= min(1.0, (step - phase_step + 1) / phase["warm"])
        for g in optimizer.param_groups:
            g["lr"] = rate
        length, segments, targets, lengths, *others = next(batches)
        f = mask(warp(features(augment(segments, length)), device), device, phase["masks"])
        with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
            log_probs = net(f)
        of_rows, size = ctc(log_probs, targets, lengths), int(lengths.sum()) + 0.1 * len(lengths)
        loss, missed = of_rows.sum() / size, rivalry(log_probs, of_rows, *others) / size
        optimizer.zero_grad(set_to_none=True)
        (loss + phase.get("rivals", 0) * missed).backward()
        norm = torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        if not torch.isfinite(norm):
            continue
        optimizer.step()
        step += 1
        taken = step - phase_step
        keep = min(phase["average"], (1 + taken) / (10 + taken))
        now = net.state_dict()
        with torch.no_grad():
            torch._foreach_mul_([average[k] for k in floating], keep)
            torch._foreach_add_([average[k] for k in floating], [now[k] for k in floating], alpha=1 - keep)
        losses.append(torch.stack([loss.detach(), missed.detach()]))
        if step % 100 == 0:
            mean, rival_mean = torch.stack(losses).mean(0).tolist()
            losses = []
            used = spent + time.time() - start
            print(step, f"{mean:.4f}", f"{rate:.2e}", f"{norm.item():.2f}", f"{used:.0f}", f"{rival_mean:.4f}", sep="\t", file=log, flush=True)
            if step % 500 == 0 or step - first_step <= 200:
                print(f"step {step} loss {mean:.4f} rivals {rival_mean:.4f} rate {rate:.1e} {(step - first_step) / (time.time() - start):.1f} steps/s {used:.0f} s", flush=True)
            if not math.isfinite(mean) or (step >= 1000 and mean > 3.4):
                sys.exit("not learning")
        if time.time() - last_save > get("every", 120.0):
            save_all()
            last_save = time.time()
    save_all()
    print("done at step", step, f"{time.time() - began:.0f} s", flush=True)
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:4], **dict(a.split("=", 1) for a in sys.argv[4:]))
