#!/usr/bin/env python3
"""Measures how well Pourside understands speech through `listen`: synthetic voices, made noise, Debian's recogniser.

    cargo build -p hearing --example understand
    demo/voice/measure.py target/debug/examples/understand

Each clip is one press of the talk key: 0.35 s of noise, the voice, 0.35 s of noise. It goes through the grammar that
Pourside publishes, through `listen` with both of its decodings, and through Pourside's own reader of lines and numbers.
What comes out is right, or wrong (another phrase or value: what read-back is there for), or refused (the person is
asked to say it again).

Standard library only, and Debian's pocketsphinx, pocketsphinx-en-us, espeak-ng, flite, festival,
festvox-us-slt-hts and sox. The noise comes from seeded random numbers: the same packages give the same table.
"""

import argparse
import array
import importlib.machinery
import importlib.util
import math
import os
import random
import re
import subprocess
import sys
import tempfile
import wave
from concurrent.futures import ProcessPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
RATE = 16000
SEED = 20261129
PAD = int(0.35 * RATE)
NATURAL = {
    "flite awb": ["flite", "-voice", "awb"],
    "flite rms": ["flite", "-voice", "rms"],
    "flite slt": ["flite", "-voice", "slt"],
    "festival slt": ["text2wave", "-eval", "(voice_cmu_us_slt_arctic_hts)"],
}
BUZZING = {
    "flite kal16": ["flite", "-voice", "kal16"],
    "espeak us": ["espeak-ng", "-v", "en-us", "-s", "160"],
    "espeak gb": ["espeak-ng", "-v", "en-gb", "-s", "165"],
    "espeak scotland": ["espeak-ng", "-v", "en-gb-scotland", "-s", "155"],
    "espeak us f3": ["espeak-ng", "-v", "en-us+f3", "-s", "165"],
}
# Pink noise at 40 dB is a quiet room: no microphone is silent, and digital silence upsets the recogniser.
NOISES = [("pink", 40), ("pink", 20), ("pink", 10), ("pink", 5), ("site", 20), ("site", 10), ("site", 5)]
# An instrument as Pourside publishes it, and values that are marks of it as people say them.
FIELDS = {
    "slump, 0 to 12 in by 1/4": ("0.25 0 12 in", [
        "four and a quarter", "two and three quarters", "six", "five and a half", "three point two five"]),
    "temperature, 0 to 150 F by 0.1": ("0.1 0 150 °F", [
        "seventy two point four", "sixty eight point nine", "five zero point five", "eighty one point three",
        "seven six point two"]),
    "air, 0 to 15 % by 0.1": ("0.1 0 15 %", [
        "five point six", "six point two", "four point nine", "seven point oh", "five point eight percent"]),
    "mass, 0 to 200 lb by 0.01": ("0.01 0 200 lb", [
        "forty one point three six", "one two nine point oh five", "eight point two five", "thirty seven point one",
        "four three point one eight"]),
    "strength, 0 to 9999 psi by 1": ("1 0 9999 psi", [
        "four thousand two hundred", "one five six two", "eight hundred and fifty", "two seven four zero",
        "three one one five"]),
}
BESIDE_A_NUMBER = ["AGAIN", "UNDO", "TIME", "WRONG"]
QUESTION = ["CONFIRM", "DENY", "AGAIN"]


def load_listen():
    loader = importlib.machinery.SourceFileLoader("listen", os.path.join(HERE, "listen"))
    module = importlib.util.module_from_spec(importlib.util.spec_from_loader("listen", loader))
    sys.dont_write_bytecode = True
    loader.exec_module(module)
    return module


def phrases():
    """The program's own phrases, by name."""
    with open(os.path.join(HERE, "../../crates/coach/src/screen/hands/phrases.rs")) as file:
        found = re.findall(r'pub const (\w+): &str = "([a-z\' ]+)";', file.read())
    return {name: words for name, words in found if " " in words}


class Understand:
    """Pourside's own reader of lines."""

    def __init__(self, program):
        self.child = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8")

    def put(self, line):
        self.child.stdin.write(line + "\n")
        self.child.stdin.flush()

    def hear(self, line):
        self.put("hear " + line)
        return self.child.stdout.readline().strip()

    def grammar(self, scale, words):
        self.put("phrase none")
        self.put("scale " + scale)
        for phrase in words:
            self.put("phrase " + phrase)
        self.put("grammar")
        return "".join(iter(self.child.stdout.readline, "end\n"))


# ------------------------------------------------------------------------------------------------ voice and noise


def speak(command, text, folder):
    raw, made = folder + "/raw.wav", folder + "/made.raw"
    if command[0] == "flite":
        subprocess.run(command + ["-t", text, "-o", raw], check=True)
    elif command[0] == "espeak-ng":
        subprocess.run(command + ["-w", raw, text], check=True)
    else:
        subprocess.run(command + ["-o", raw], input=text.encode(), check=True)
    form = ["-t", "raw", "-e", "signed", "-b", "16", "-c", "1", "-r", str(RATE)]
    subprocess.run(["sox", "-R", raw, *form, made, "norm", "-3"], check=True, stderr=subprocess.DEVNULL)
    with open(made, "rb") as file:
        values = array.array("h")
        values.frombytes(file.read())
    return values


def pink(n, chance):
    """White noise through a filter that falls by 3 dB an octave."""
    state = [0.0] * 6
    poles = [(0.99886, 0.0555179), (0.99332, 0.0750759), (0.969, 0.153852), (0.8665, 0.3104856), (0.55, 0.5329522),
             (-0.7616, -0.016898)]
    made, delayed = array.array("f"), 0.0
    for _ in range(n):
        white = chance.gauss(0, 1)
        for at, (pole, gain) in enumerate(poles):
            state[at] = pole * state[at] + gain * white
        made.append(sum(state) + delayed + white * 0.5362)
        delayed = white * 0.115926
    return made


def site(n, chance):
    """An engine at 75 Hz with its harmonics, rumble, hiss, and knocks of metal on metal. Invented, not recorded."""
    made = array.array("f", bytes(4 * n))
    start = [chance.uniform(0, 2 * math.pi) for _ in range(12)]
    phase, speed, rumble = 0.0, 75.0, 0.0
    for at in range(n):
        speed += chance.gauss(0, 0.02) - (speed - 75) * 0.0005
        phase += 2 * math.pi * speed / RATE
        engine = sum(math.sin(phase * (k + 1) + start[k]) / (k + 1) ** 0.8 for k in range(12))
        rumble += 0.02 * (chance.gauss(0, 1) - rumble)
        made[at] = engine * 0.5 + rumble * 6 + 0.25 * chance.gauss(0, 1)
    at = 0
    while True:
        at += int(chance.expovariate(1.2) * RATE)
        if at >= n:
            return made
        tones, loud = [chance.uniform(600, 4500) for _ in range(4)], chance.uniform(2, 6)
        for k in range(min(RATE // 4, n - at)):
            ring = sum(math.sin(2 * math.pi * tone * k / RATE) for tone in tones) / 4
            made[at + k] += loud * math.exp(-k / (0.04 * RATE)) * ring


def level(values):
    """The level of a voice while it speaks: frames of 20 ms within 30 dB of the loudest."""
    frames = [sum(v * v for v in values[at : at + 320]) / 320 for at in range(0, len(values) - 320, 320)]
    loud = [power for power in frames if power > max(frames) / 1000]
    return math.sqrt(sum(loud) / len(loud))


def mixed(voice, noise, decibels, chance):
    n = len(voice) + 2 * PAD
    begin = chance.randrange(len(noise) - n)
    part = noise[begin : begin + n]
    gain = level(voice) / 10 ** (decibels / 20) / math.sqrt(sum(v * v for v in part) / n)
    made = [gain * v for v in part]
    for at, v in enumerate(voice):
        made[PAD + at] += v
    scale = min(1.0, 32000 / max(abs(v) for v in made))
    return array.array("h", (int(v * scale) for v in made))


# ------------------------------------------------------------------------------------------------ measuring


def measure(task):
    """One table row's clips of one voice: (row, is natural, noise, said, outcome, first decoding's outcome, words)."""
    understand, row, scale, valid, said, voice, command, seed = task
    listen, outcomes = load_listen(), []
    reader = Understand(understand)
    grammar = reader.grammar(scale, valid)
    noises = {}
    with tempfile.TemporaryDirectory() as folder:
        for kind, make in (("pink", pink), ("site", site)):
            noises[kind] = make(12 * RATE, random.Random("%d %s" % (seed, kind)))
        clips = []
        for text in said:
            sound = speak(command, text, folder)
            for kind, decibels in NOISES:
                chance = random.Random("%d %s %s %s %d" % (seed, voice, text, kind, decibels))
                clips.append((text, (kind, decibels), mixed(sound, noises[kind], decibels, chance)))
        heard = listen.Recogniser(folder).hear(grammar, [clip for _, _, clip in clips])
        for (text, noise, _), (sure, words, _) in zip(clips, heard):
            meant = reader.hear(text)
            assert not meant.startswith("refused"), (text, meant)
            first = reader.hear(words or "nothing clear")
            taken = first if sure >= 0.5 else "refused by its confidence"
            outcomes.append((row, voice in NATURAL, noise, text, judged(meant, taken), judged(meant, first), words))
    reader.child.stdin.close()
    reader.child.wait()
    return outcomes


def judged(meant, heard):
    return "refused" if heard.startswith("refused") else "right" if heard == meant else "wrong"


def share(outcomes, at):
    n = len(outcomes)
    shares = [100 * sum(o[at] == kind for o in outcomes) / n for kind in ("right", "wrong", "refused")]
    return " / ".join("%.0f" % s for s in shares)


def table(title, rows, outcomes, at):
    names = ["quiet" if noise == ("pink", 40) else "%s %d" % noise for noise in NOISES]
    print("\n%s\n" % title)
    print("| | n | " + " | ".join(names) + " |")
    print("|---|--:|" + "---|" * len(names))
    for name, is_row in rows:
        chosen = [o for o in outcomes if is_row(o)]
        cells = [share([o for o in chosen if o[2] == noise], at) for noise in NOISES]
        print("| %s | %d | %s |" % (name, len(chosen) // len(NOISES), " | ".join(cells)))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("understand", help="the example program of crates/hearing, built")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    args = parser.parse_args()
    ours = phrases()
    question = [ours[name] for name in QUESTION]
    beside = [ours[name] for name in BESIDE_A_NUMBER]
    rows = [("phrases", "none", list(ours.values()), list(ours.values())), ("question", "none", question, question)]
    rows += [(name, scale, beside, said) for name, (scale, said) in FIELDS.items()]
    voices = {**NATURAL, **BUZZING}
    tasks = [(args.understand, *row, voice, command, args.seed) for row in rows for voice, command in voices.items()]
    with ProcessPoolExecutor(args.jobs) as pool:
        outcomes = [outcome for done in pool.map(measure, tasks) for outcome in done]
    packages = ["pocketsphinx", "pocketsphinx-en-us", "espeak-ng", "flite", "festival", "festvox-us-slt-hts", "sox"]
    shown = subprocess.run(["dpkg-query", "-W", *packages], stdout=subprocess.PIPE, text=True).stdout
    print("; ".join(" ".join(line.split()) for line in shown.splitlines()) + "; seed %d" % args.seed)
    print("%d phrases: %s" % (len(ours), ", ".join(ours.values())))
    numbers = [name for name in FIELDS]
    chosen = [
        ("all phrases, natural voices", lambda o: o[0] == "phrases" and o[1]),
        ("all phrases, buzzing voices", lambda o: o[0] == "phrases" and not o[1]),
        ("read-back's answer, natural", lambda o: o[0] == "question" and o[1]),
        ("read-back's answer, buzzing", lambda o: o[0] == "question" and not o[1]),
        ("numbers, natural voices", lambda o: o[0] in numbers and o[1]),
        ("numbers, buzzing voices", lambda o: o[0] in numbers and not o[1]),
    ]
    chosen += [(name + ", all voices", lambda o, name=name: o[0] == name) for name in numbers]
    table("% right / wrong / refused, as `listen` and Pourside take it", chosen, outcomes, 4)
    table("The same from one decoding alone, nothing refused for its confidence", chosen, outcomes, 5)
    print("\nPhrases at 10 dB and more, all voices: right / wrong / refused, and what they were taken for\n")
    for phrase in ours.values():
        of = [o for o in outcomes if o[0] == "phrases" and o[3] == phrase and o[2][1] >= 10]
        took = sorted({o[6] for o in of if o[4] == "wrong"})
        print("| %s | %s | %s |" % (phrase, share(of, 4), ", ".join(took)))
    confirm = ours["CONFIRM"]
    false = [o for o in outcomes if o[4] == "wrong" and o[6] == confirm]
    print("\nTaken for “%s” though it was something else: %d of %d clips" % (
        confirm, len(false), sum(o[3] != confirm for o in outcomes)))
    for o in false:
        print("  %s, %s %d" % (o[3], *o[2]))


if __name__ == "__main__":
    main()
