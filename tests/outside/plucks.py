"""Writes takes of plucked notes with known starts: one JSON line {"name", "file", "rate", "starts"} per take. Files are 32-bit floats.

Usage: plucks.py DIR, the folder to write to. Nothing in it may be kept. The notes come from two sources:
- the `pluck` of sox's synthesizer (Debian);
- freepats (Debian; GPL 2 or later, with an exception for compositions): recorded notes of nylon, steel, jazz and clean electric guitar.

A take is a line of random notes, up to 8 dB apart, in eighths, triplets and sixteenths at one tempo, none shorter than 60 ms. They end in one of
four ways: `short`, before the next one starts; `damped`, exactly when it starts; `ringing`, up to 0.15 s later; `held`, up to 0.5 s later, so that
dense ones pile up more than any line on a guitar. White noise is 20 dB below the take's mean power.

A recorded note counts as starting where it first reaches a tenth of the peak of its first 100 ms.
"""

import json
import random
import struct
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np

PATCHES = Path("/usr/share/midi/freepats/Tone_000")
GUITARS = {
    "nylon": "024_Nylon_Guitar.pat",
    "steel": "025_Steel_Guitar.pat",
    "jazz": "026_Jazz_Guitar.pat",
    "clean": "027_Clean_Electric_Guitar.pat",
}
NOISE_DB = -20
RHYTHMS = [[1 / 2], [1 / 3], [2 / 3, 2 / 3, 1 / 3, 1 / 3], [3 / 4, 1 / 4], [1 / 4], [1 / 2, 1 / 4, 1 / 4, 1]]
NOTES = 48
ENDS = {"short": (-0.4, 0, 0), "damped": (0, 0, 0), "ringing": (0, 0.02, 0.15), "held": (0, 0.05, 0.5)}  # fraction of the note; seconds from, to
LONGEST = 3  # seconds
LEAD = 0.01  # seconds to keep before the start of a recorded note


@cache
def recorded(patch):
    """The samples of a patch file (Gravis UltraSound), each with its rate and its pitch at that rate."""
    data = (PATCHES / patch).read_bytes()
    assert data.startswith(b"GF1PATCH110")
    at, notes = 239, []
    for _ in range(data[198]):
        length, rate = *struct.unpack_from("<I", data, at + 8), *struct.unpack_from("<H", data, at + 20)
        root = struct.unpack_from("<I", data, at + 30)[0] / 1000
        modes = data[at + 55]
        assert modes & 1 and not modes & 2, "signed, 16 bits"
        sound = np.frombuffer(data, "<i2", length // 2, at + 96) / 32768
        start = int(np.argmax(np.abs(sound) >= np.abs(sound[: rate // 10]).max() / 10))
        notes.append((rate, root, sound, start))
        at += 96 + length
    return notes


def guitar(patch, rate, midi):
    """A recorded note at this pitch and rate, and the sample where it starts."""
    pitch = 440 * 2 ** ((midi - 69) / 12)
    own, root, sound, start = min(recorded(patch), key=lambda note: abs(np.log(note[1] / pitch)))
    speed = own / rate * pitch / root
    skip = max(0, start - int(LEAD * own))
    places = np.arange(skip, min(len(sound) - 1, skip + LONGEST * own), speed)
    return np.interp(places, np.arange(len(sound)), sound), (start - skip) / speed


@cache
def sox(rate, midi):
    command = ["sox", "-n", "-t", "f32", "-r", str(rate), "-c", "1", "-", "synth", "1.5", "pluck", f"%{midi - 69}"]
    return np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, "<f4"), 0


def take(source, rate, tempo, rhythm, ends, chance):
    starts, at = [], 0.5
    for index in range(NOTES):
        starts.append(at)
        at += max(0.06, rhythm[index % len(rhythm)] * 60 / tempo)
    sound = np.zeros(int((at + 2) * rate))
    known = {}
    midi = 57
    for start, end in zip(starts, starts[1:] + [at]):
        midi = min(max(midi + chance.choice([-5, -3, -2, -1, 0, 1, 2, 3, 4]), 40), 80)
        note, before = known.get(midi) or known.setdefault(midi, source(rate, midi))
        part, least, most = ends
        length = (end - start) * (1 + part) + chance.uniform(least, most)
        note = note[: int(before + length * rate)] * 10 ** (chance.uniform(-8, 0) / 20)
        fade = int(0.008 * rate)
        note[-fade:] *= np.linspace(1, 0, fade)[: len(note)]
        first = round(start * rate - before)
        sound[first : first + len(note)] += note
    sound *= 0.5 / np.abs(sound).max()
    noise = np.random.default_rng(chance.randrange(2**32)).normal(size=len(sound))
    heard = sound[int(starts[0] * rate) : int(at * rate)]
    sound += noise * np.sqrt(np.mean(heard**2)) * 10 ** (NOISE_DB / 20)
    return sound, starts


sources = {"sox": sox, **{name: lambda rate, midi, file=file: guitar(file, rate, midi) for name, file in GUITARS.items()}}
folder = Path(sys.argv[1])
folder.mkdir(parents=True, exist_ok=True)
for source, make in sources.items():
    for index, rhythm in enumerate(RHYTHMS):
        for end, ends in ENDS.items():
            chance = random.Random(f"{source} {index} {end}")
            rate, tempo = chance.choice([44_100, 48_000]), chance.randrange(80, 221)
            sound, starts = take(make, rate, tempo, rhythm, ends, chance)
            name = f"{source}-{end}-{index + 1}"
            file = folder / f"{name}.f32"
            sound.astype("<f4").tofile(file)
            print(json.dumps({"name": name, "file": str(file), "rate": rate, "starts": starts, "tempo": tempo}))
