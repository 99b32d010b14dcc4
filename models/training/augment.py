# Mixes rows of speech on the GPU and spoils them as a workshop, a room, a headset or a telephone would.
# Everything is drawn anew for each batch, so no two rows of the training are the same.
import math

import torch

from net import RATE


class Augment:
    def __init__(self, speech, noise, device, ratio, clean):
        """ratio: lowest and highest speech-to-noise ratio, dB; clean: share of rows without noise."""
        self.ratio, self.clean = ratio, clean
        self.speech, self.noise, self.device = speech.to(device), noise.to(device), device
        self.plans = {}

    def uniform(self, *shape, low=0.0, high=1.0):
        return torch.empty(*shape, device=self.device).uniform_(low, high)

    def chance(self, rows, p):
        return self.uniform(rows, 1) < p

    def plan(self, length):
        if length not in self.plans:
            size = 1
            while size < length + RATE // 2:
                size *= 2
            if size * 3 // 4 >= length + RATE // 2:
                size = size * 3 // 4
            freq = torch.fft.rfftfreq(size, 1 / RATE).to(self.device)
            mel = 1127 * torch.log(1 + freq / 700)
            self.plans[length] = (size, freq, mel / mel[-1], torch.arange(length, device=self.device))
        return self.plans[length]

    def curve(self, rows, points, low, high, mel):
        """A random smooth frequency response, in amplitude."""
        gain = self.uniform(rows, points, low=low, high=high)
        x = mel * (points - 1)
        i = x.floor().long().clamp(max=points - 2)
        return 10 ** ((gain[:, i] * (1 - (x - i)) + gain[:, i + 1] * (x - i)) / 20)

    def envelope(self, rows, points, low, high, n):
        gain = self.uniform(rows, points, low=low, high=high)
        x = n.float() / len(n) * (points - 1)
        i = x.floor().long().clamp(max=points - 2)
        return 10 ** ((gain[:, i] * (1 - (x - i)) + gain[:, i + 1] * (x - i)) / 20)

    @staticmethod
    def level(x):
        return x / (x.std(1, keepdim=True) + 1e-6)

    def compose(self, segments, length):
        """segments [rows, k, 5]: start in the row, samples, place in the speech, speed, gain; sorted by start."""
        _, _, _, n = self.plan(length)
        s = segments.to(self.device)
        rows = s.shape[0]
        used = s[..., 1] > 0
        marks = torch.zeros(rows, length + 1, device=self.device, dtype=torch.int32)
        marks.scatter_add_(1, torch.where(used, s[..., 0], torch.full_like(s[..., 0], length)).long(), used.int())
        k = (marks[:, :length].cumsum(1) - 1)
        inside = k >= 0
        k = k.clamp(min=0).long()
        start, size = s[..., 0].long().gather(1, k), s[..., 1].long().gather(1, k)
        source, speed, gain = s[..., 2].long().gather(1, k), s[..., 3].float().gather(1, k), s[..., 4].float().gather(1, k)
        here = (n - start)
        inside &= here < size
        place = here.clamp(min=0).float() * speed
        i = place.floor()
        f = place - i
        i = (source + i.long()).clamp(1, self.speech.numel() - 3)
        a, b, c, d = (self.speech[i + j].float() for j in (-1, 0, 1, 2))
        y = b + 0.5 * f * (c - a + f * (2 * a - 5 * b + 4 * c - d + f * (3 * (b - c) + d - a)))
        fade = (torch.minimum(here, size - here).float() / 80).clamp(0, 1)
        return torch.where(inside, y * gain * fade, torch.zeros_like(y)), inside

    def cut(self, pool, rows, length, n, low=0.7, high=1.35):
        speed = self.uniform(rows, 1, low=low, high=high)
        at = (self.uniform(rows, 1).double() * (pool.numel() - high * length - 4)).long()
        place = n.float() * speed
        i = place.floor()
        f = place - i
        i = at + i.long()
        return pool[i].float() * (1 - f) + pool[i + 1].float() * f

    def noises(self, rows, length):
        size, freq, mel, n = self.plan(length)
        u, t = self.uniform, n.float() / RATE
        real = self.level(self.cut(self.noise, rows, length, n, 0.5, 1.8))
        real = real + self.level(self.cut(self.noise, rows, length, n, 0.5, 1.8)) * u(rows, 1) * self.chance(rows, 0.4)
        shape = torch.where(self.chance(rows, 0.5), torch.ones(1, device=self.device), self.curve(rows, 8, -12, 12, mel))
        real = self.level(torch.fft.irfft(torch.fft.rfft(real, n=size) * shape, n=size)[:, :length])
        # steady noise of any colour, half of it with resonances as of sheet metal, ducts and fans
        spectrum = torch.fft.rfft(torch.randn(rows, size, device=self.device))
        colour = (freq.clamp(min=20) / 1000)[None] ** (-u(rows, 1, low=-0.3, high=1.2))
        peaks = torch.ones(1, device=self.device)
        for _ in range(3):
            place, width = u(rows, 1, low=5, high=13).exp2(), u(rows, 1, low=3, high=8).exp2()
            peaks = peaks + u(rows, 1, high=12) * self.chance(rows, 0.5) / (1 + ((freq - place) / width) ** 2)
        colour = colour * peaks
        colour = colour * torch.where(self.chance(rows, 0.5), torch.ones(1, device=self.device), self.curve(rows, 8, -15, 15, mel))
        steady = self.level(torch.fft.irfft(spectrum * colour, n=size)[:, :length])
        # bursts: air tool, compressor strokes, ratchet, wheels and pedals (regular pulses of noise), 0.7 to 45 a second
        beat = u(rows, 1, low=-0.5, high=5.5).exp2()
        pulse = torch.exp(-((t * beat + u(rows, 1)) % 1) * u(rows, 1, low=1, high=12))
        # impacts: clanks, taps, dropped tools; noise and ringing modes
        hits = (u(rows, size) < u(rows, 1, low=-1.7, high=4).exp2() / RATE).float() * torch.randn(rows, size, device=self.device)
        short = torch.arange(RATE // 2, device=self.device) / RATE
        decay = torch.exp(-short / u(rows, 1, low=0.002, high=0.08))
        ring = torch.randn(rows, RATE // 2, device=self.device)
        for _ in range(3):
            ring = ring + u(rows, 1, high=3) * torch.sin(2 * math.pi * short * u(rows, 1, low=200, high=6500))
        impact = torch.fft.rfft(hits) * torch.fft.rfft(decay * ring, n=size) * self.curve(rows, 8, -20, 15, mel)
        impact = self.level(torch.fft.irfft(impact, n=size)[:, :length])
        # engines, motors and whines: harmonic series with a wandering speed, on a quarter of the rows
        some = max(1, rows // 4)
        base = u(some, 1, low=3, high=9).exp2() * (1 + 0.15 * torch.sin(2 * math.pi * (u(some, 1) + t * u(some, 1, low=0.03, high=0.8))))
        phase = torch.cumsum(base / RATE, 1) % 1
        tone = torch.zeros(some, length, device=self.device)
        for k in range(1, 13):
            tone += torch.sin(2 * math.pi * (k * phase + u(some, 1))) * u(some, 1) * k ** -0.5 * (k * base < 7500)
        engine = torch.zeros(rows, length, device=self.device)
        engine[:some] = self.level(tone)
        # babble: four to eight voices at once, on a quarter of the rows
        voices = torch.zeros(some, length, device=self.device)
        for k in range(8):
            voices += self.level(self.cut(self.speech, some, length, n, 0.85, 1.2)) * (u(some, 1) < (1.0 if k < 4 else 0.5)) * u(some, 1, low=0.5)
        babble = torch.zeros(rows, length, device=self.device)
        babble[some:2 * some] = self.level(voices)
        p = torch.tensor([0.6, 0.4, 0.3, 0.8, 0.8], device=self.device)
        w = u(rows, 5) * (u(rows, 5) < p)
        none = (w.sum(1, keepdim=True) < 0.05).float()
        steady = torch.where(self.chance(rows, 0.35), self.level(steady * pulse), steady)
        mix = real * (w[:, :1] + none) + steady * w[:, 1:2] + impact * w[:, 2:3] + engine * w[:, 3:4] + babble * w[:, 4:5]
        mix = mix * torch.where(self.chance(rows, 0.3), self.envelope(rows, 12, -14, 8, n), torch.ones(1, device=self.device))
        return self.level(mix)[torch.randperm(rows, device=self.device)]

    @torch.no_grad()
    def __call__(self, segments, length):
        size, freq, mel, n = self.plan(length)
        u, rows, one = self.uniform, segments.shape[0], torch.ones(1, device=self.device)
        x, inside = self.compose(segments, length)
        # room and microphone colour on the speech
        short = torch.arange(int(0.4 * RATE), device=self.device) / RATE
        room = torch.randn(rows, len(short), device=self.device) * torch.exp(-6.9 * short / u(rows, 1, low=0.08, high=0.7))
        room[:, :32] = 0
        room = room / (room.square().sum(1, keepdim=True).sqrt() + 1e-9)
        room = room * 10 ** (u(rows, 1, low=-18, high=3) / 20) * self.chance(rows, 0.5)
        room[:, 0] = 1
        shape = torch.where(self.chance(rows, 0.15), one, self.curve(rows, 7, -9, 9, mel))
        x = torch.fft.irfft(torch.fft.rfft(x, n=size) * torch.fft.rfft(room, n=size) * shape, n=size)[:, :length]
        power = (x.square().sum(1, keepdim=True) / inside.sum(1, keepdim=True).clamp(min=1)).sqrt()
        speaks = power > 1
        ratio = torch.where(self.chance(rows, self.clean), one * 60, u(rows, 1, low=self.ratio[0], high=self.ratio[1]))
        loud = torch.where(speaks, 10 ** (-ratio / 20), 10 ** (u(rows, 1, low=-20, high=20) / 20))
        x = x / (power + 1e-3) * speaks + self.noises(rows, length) * loud
        # the channel carries speech and noise alike: headset, telephone (8 kHz), dull or thin microphone
        low_cut = torch.where(self.chance(rows, 0.5), u(rows, 1, low=30, high=350), one)
        kind = u(rows, 1)
        high_cut = torch.where(kind < 0.45, u(rows, 1, low=3300, high=4000), u(rows, 1, low=3000, high=7900))
        steep = torch.where(kind < 0.45, one * 60, one * 8)
        band = 1 / (1 + (low_cut / freq.clamp(min=1)) ** 4) / (1 + (freq / high_cut) ** steep)
        band = torch.where(self.chance(rows, 0.4), band, one)
        x = torch.fft.irfft(torch.fft.rfft(x, n=size) * band, n=size)[:, :length]
        # clipping, then level, then 16 bits
        limit = u(rows, 1, low=0.7, high=3)
        kind = u(rows, 1)
        x = torch.where(kind < 0.05, x.clamp(-limit, limit), torch.where(kind < 0.1, limit * torch.tanh(x / limit), x))
        level = 10 ** (u(rows, 1, low=-52, high=-10) / 20) * 32768
        level = torch.where(speaks, level, level * 0.3)
        return (x * level).clamp(-32768, 32767).round()


def warp(features, device):
    """Other lengths of the vocal tract: the mel axis stretched by up to 10 % either way, for half of the rows."""
    rows, frames, count = features.shape
    by = torch.where(torch.rand(rows, 1, device=device) < 0.5, 1.0, torch.empty(rows, 1, device=device).uniform_(0.9, 1.1))
    place = (torch.arange(count, device=device) * by).clamp(max=count - 1.001)
    low = place.floor().long()[:, None, :].expand(rows, frames, count)
    part = (place - place.floor())[:, None, :]
    return features.gather(2, low) * (1 - part) + features.gather(2, low + 1) * part


def mask(features, device, times):
    """SpecAugment: bands of frequency and short stretches of time replaced by the row's mean."""
    rows, frames, count = features.shape
    mean = features.mean((1, 2), keepdim=True)
    for axis, size, most in ((2, count, 6), (1, frames, 9)):
        index = torch.arange(size, device=device).view((1, 1, -1) if axis == 2 else (1, -1, 1))
        for _ in range(times):
            width = torch.randint(0, most, (rows, 1, 1), device=device)
            start = (torch.rand(rows, 1, 1, device=device) * (size - most)).long()
            features = torch.where((index >= start) & (index < start + width), mean, features)
    return features
