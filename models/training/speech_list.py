# Writes the sentences that the synthetic voices speak: the words of the trade, numbers in both styles, and ordinary text.
# speech_list.py DOMAIN_COUNT GENERAL_COUNT SEED TEXT_FILE WORDS.tsv OUT_PREFIX PARTS ; also `domain()` for the evaluation phrases.
import random
import sys

DIGITS = "one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
SIDES = "intake exhaust inlet outside".split()
CONTROL = ["affirm", "negative", "correction", "confirm", "say again", "stand by", "carry on", "stop", "go back", "yes", "no",
           "okay", "good", "fine", "done", "ready", "set", "read back", "next", "help"]
STATES = ["locked", "nipped", "torqued", "marked", "loosened", "loose", "light", "tight", "drag", "light drag", "no drag",
          "drag okay", "heavy drag", "play", "no play", "some", "none", "all", "only outside", "mark seen", "overshot", "past it",
          "rocked", "rocks", "resting", "firing", "overlap", "free", "pass", "too wide", "too tight", "goes", "no go", "go",
          "new gasket", "old gasket", "reused", "gasket reused", "turned", "one full turn", "turned one full turn", "two turns",
          "two full turns", "leads", "leads off", "towels", "towels out", "count", "counted", "tools", "tools counted", "clips",
          "guards", "guards on", "clear", "people clear", "isolation released", "leak", "leaks", "no leaks", "leak found",
          "none found", "dry", "weeping", "sign", "signed", "inspected", "skip", "seized", "damaged", "missing", "part missing",
          "time", "no time", "reference lost", "reference", "doubt", "in doubt", "survey", "choose", "every", "set all",
          "started by hand", "all started by hand", "pass one", "pass two", "pass three", "cover off", "identified", "isolated",
          "locked tagged", "tagged", "verified", "cold", "warm", "sealant applied", "not needed", "sealant not needed", "torqued",
          "half a turn", "front", "rear", "left", "right", "outside limits", "only those outside", "play okay", "marked okay"]
# The answers of the program's steps that the lists above lack.
ANSWERS = ["affirmative", "all done", "mark lost", "reference lost", "past the mark", "on the mark", "gasket good", "gasket damaged",
           "play on all", "all have play", "play on some", "some have play", "has play", "valves resting", "moving", "valves moving",
           "all valves", "set only outside", "backed off", "nut nipped", "drag changed", "drag has changed", "nut torqued", "painted",
           "drag good", "drag tight", "drag loose", "too loose", "passes", "out of reach", "skip seized", "skip damaged",
           "skip out of reach", "skip missing part", "no leak", "all dry", "leaking", "i sign", "inspection done"]
FEELS = ["drag okay", "light drag", "drag good", "drag tight", "too tight", "drag loose", "too loose"]
DEEDS = ["loosened", "backed off", "nipped", "nut nipped", "drag changed", "drag has changed", "torqued", "nut torqued", "marked",
         "painted", "has play", "play okay", "no play", "pass", "passes", "too loose", "too tight"]
THINGS = ("tools towels rags plugs caps sockets spanners wrenches blades clips covers bolts nuts screws washers fasteners".split()
          + ["turning tool", "turning tools"])
PLACES = ["", "", "", "", " a", " b", " alpha", " bravo", " front", " rear", " left", " right"]
EXTRA = "point decimal niner oh zero thou millimetres millimeters thousandths hundred towel lead tool valve cylinder mark".split()


def spoken_number(r, top=99):
    n = r.randint(1, top)
    if n < 10:
        return DIGITS[n - 1]
    if n < 20:
        return TEENS[n - 10]
    return TENS[n // 10 - 2] + (" " + DIGITS[n % 10 - 1] if n % 10 else "")


def digit(r):
    return r.choice(DIGITS + ["zero", "oh"] + (["niner"] if r.random() < 0.3 else []))


def clearance(r):
    """A figure as the program's number grammar takes it."""
    k = r.random()
    if k < 0.25:
        return spoken_number(r, 60) + r.choice([" hundredths", " hundredths", " thou", " and a half", " and a half thou"])
    if k < 0.6:
        return r.choice(["", "point ", "decimal ", "zero point ", "zero decimal ", "point zero "]) + f"{digit(r)} {digit(r)}" + \
            r.choice(["", "", " millimetres", " thou"])
    return value(r)


def answer(r):
    """What may be said at the program's steps."""
    k = r.random()
    valve_name = f"{r.choice(SIDES[:2])} {r.choice(DIGITS[:8] + ['ten', 'eleven', 'twelve'])}{r.choice(PLACES)}"
    pause = r.choice([" ", ", "])
    if k < 0.25:
        return r.choice(ANSWERS)
    if k < 0.40:
        return r.choice(["", valve_name + pause]) + r.choice(DEEDS)
    if k < 0.75:
        return r.choice(["", valve_name + pause]) + clearance(r) + r.choice(["", pause + r.choice(FEELS)])
    if k < 0.88:
        return spoken_number(r, 60) + r.choice(["", " " + r.choice(THINGS)])
    if k < 0.94:
        return r.choice(["", f"cylinder {spoken_number(r, 12)} "]) + r.choice(["mark seen", "on the mark"])
    return r.choice(CONTROL[:11])


def value(r):
    k = r.random()
    point = "point" if r.random() < 0.8 else "decimal"
    if k < 0.30:
        return spoken_number(r, 40) + " " + r.choice(["thou", "thou", "thou", "thousandths"])
    if k < 0.55:
        return f"{r.choice(['', '', 'zero ', 'oh '])}{point} {digit(r)} {digit(r)}" + r.choice(["", "", "", " " + digit(r)]) + \
            r.choice(["", "", " millimetres", " millimeters"])
    if k < 0.70:
        return f"{digit(r)} {digit(r)}"
    if k < 0.82:
        return spoken_number(r)
    if k < 0.92:
        return f"{digit(r)} {digit(r)} thou" if r.random() < 0.5 else f"{digit(r)} {point} {digit(r)} {digit(r)}"
    return r.choice(["one ", "two ", "three ", ""]) + "hundred" + r.choice([" ", " and "]) + spoken_number(r)


def valve(r):
    return r.choice(SIDES[:3]) + r.choice([" ", " ", " cylinder "]) + r.choice(DIGITS[:8] + ["ten", "eleven", "twelve"]) + r.choice(PLACES)


def domain(r):
    if r.random() < 0.45:
        return answer(r)
    k = r.random()
    if k < 0.22:
        return r.choice(CONTROL + STATES)
    if k < 0.34:
        return value(r)
    if k < 0.50:
        return f"{valve(r)}, {value(r)}" + r.choice(["", ", " + r.choice(STATES[:13])])
    if k < 0.60:
        return valve(r) + r.choice(["", " " + r.choice(STATES + CONTROL)])
    if k < 0.72:
        return " ".join(digit(r) for _ in range(r.randint(1, 7)))
    if k < 0.80:
        return ", ".join(r.choice(CONTROL + STATES) for _ in range(r.randint(2, 3)))
    if k < 0.86:
        return spoken_number(r) + " " + r.choice(["tools", "towels", "leads", "clips", "guards", "turns", "counted", "thou", "leaks"])
    words = " ".join(CONTROL + STATES + ANSWERS + THINGS + SIDES + DIGITS + TEENS + TENS + EXTRA).split()
    return " ".join(r.choice(words) for _ in range(r.randint(1, 5)))


def general(r, text):
    if r.random() < 0.7:
        words = r.choice(text)
        n = r.randint(2, 8)
        at = r.randrange(max(1, len(words) - n))
        return " ".join(words[at:at + n])
    return " ".join(r.choice(r.choice(text)) for _ in range(r.randint(1, 5)))


# Shares of the voices, and how words are written for those that have no dictionary of ours (RHVoice, Pico).
VOICES = dict(awb=0.12, rms=0.14, kal16=0.08, alan=0.09, bdl=0.16, clb=0.16, us=0.13, gb=0.12)
OWN_WORDS = ("awb", "rms", "kal16")
SPELLED = dict(torqued="torked", leads="leeds", lead="leed", reused="reyoozed")
# What those voices say otherwise than the dictionary's first pronunciation; gb drops the r as the South of England does.
SAID = dict(a="AH", thou="DH AW")
BRITISH = dict(half="HH AA F", past="P AA S T", passes="P AA S IH Z", fast="F AA S T", last="L AA S T", after="AA F T AH", **{"pass": "P AA S"})
VOWELS = set("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())


def phones_of(sentence, voice, dictionary):
    """Phones by word, or None if a word is not in the dictionary."""
    words = [SAID.get(w) or dictionary.get(w) for w in sentence]
    if None in words:
        return None
    words = [w.split() for w in words]
    if voice == "gb":
        words = [BRITISH[w].split() if w in BRITISH else p for w, p in zip(sentence, words)]
        following = [w[0] for w in words[1:]] + [""]
        words = [[{"ER": "AH"}.get(p, p) if k == len(w) - 1 and next_word not in VOWELS else p
                  for k, p in enumerate(w) if p != "R" or (w[k + 1] if k + 1 < len(w) else next_word) in VOWELS]
                 for w, next_word in zip(words, following)]
    return " | ".join(" ".join(w) for w in words)


def main(domain_count, general_count, seed, text_file, dictionary_file, prefix, parts):
    r = random.Random(int(seed))
    text = [line.split() for line in open(text_file) if line.strip()]
    dictionary = dict(line.rstrip("\n").split("\t") for line in open(dictionary_file))
    files = [open(f"{prefix}{i:02d}.list", "w") for i in range(int(parts))]
    lines = [domain(r) for _ in range(int(domain_count))] + [general(r, text) for _ in range(int(general_count))]
    r.shuffle(lines)
    for i, line in enumerate(lines):
        words = line.replace(",", "").split()
        voice = r.choices(list(VOICES), list(VOICES.values()))[0]
        phones = phones_of(words, voice, dictionary)
        if voice in OWN_WORDS or phones is None:
            voice = voice if voice in OWN_WORDS else r.choice(OWN_WORDS)
            spoken, phones = line, "-"
        else:
            spoken = " ".join(SPELLED.get(w.strip(","), w.strip(",")) + "," * w.endswith(",") for w in line.split())
        print(voice, round(r.uniform(0.75, 1.35), 2), round(r.uniform(75, 200)), spoken, " ".join(words), phones, sep="\t", file=files[i % int(parts)])


if __name__ == "__main__":
    main(*sys.argv[1:8])
