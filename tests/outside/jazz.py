"""Prints transcribed jazz lines as this project's text: one JSON line {"name", "text", "plain"} per line of music.

Usage: jazz.py DIR, where DIR has lines.jsonl: runs of eighth notes with chords from the Weimar Jazz Database (Jazzomat Research Project;
ODbL 1.0). Test input only: nothing it prints may be kept. "plain" lines are annotated as even eighths throughout.
"""

import json
import re
import sys
from pathlib import Path

LOWEST, HIGHEST = 40, 86  # E2 to D6: six strings, 22 frets
FLAT_NAMES = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]
BEATS = 4

SYMBOL = re.compile(r"([A-G][b#]?)([^/]*)(/[A-G][b#]?)?")
QUALITY = re.compile(r"(-|\+|o|sus|)(j?)((?:13|11|9|7|6)[b#]?)?((?:(?:13|11|9)[b#]?)*)")


def quality(text):
    """The data set's quality as musicians write it: `-79b` is m7b9, `7913` is 13, `j7911#` is maj9#11."""
    if text in ("m7b5", "7alt"):
        return text
    kind, major, first, rest = QUALITY.fullmatch(text).groups()
    steps = re.findall(r"(13|11|9)([b#]?)", rest)
    natural = [step for step, accidental in steps if not accidental]
    altered = "".join(accidental + step for step, accidental in steps if accidental)
    number = first or ""
    if natural:
        number = "69" if number == "6" else natural[-1]
    seventh = ("maj" if major else "") + number
    if kind == "+":
        return seventh + "#5" + altered if number else "+"
    if kind == "sus":
        return seventh + "sus" + altered
    if kind == "-":
        return (f"m({seventh})" if major else "m" + number) + altered
    return kind + seventh + altered


def chord(text):
    if text == "NC":
        return "@NC"
    root, kind, bass = SYMBOL.fullmatch(text).groups()
    return f"@{root}{quality(kind)}{bass or ''}"


def folded(midi):
    """Moves a line onto the neck by octaves: all of it if that is enough, otherwise just the notes that are off the neck."""
    for shift in (0, -12, 12):
        if LOWEST <= min(midi) + shift and max(midi) + shift <= HIGHEST:
            return [m + shift for m in midi]
    return [m - 12 if m > HIGHEST else m + 12 if m < LOWEST else m for m in midi]


def line_text(line):
    chords = {int(beat): chord(symbol) for beat, symbol in line["chords"]}
    midi = folded(line["midi"])
    before = line["beat"] - 1
    tokens = [f"r:{before}"] if before else []
    for beat in range(len(midi) // 2):
        if before + beat and (before + beat) % BEATS == 0:
            tokens.append("|")
        if beat in chords:
            tokens.append(chords[beat])
        tokens += [f"{FLAT_NAMES[m % 12]}{m // 12 - 1}" for m in midi[2 * beat : 2 * beat + 2]]
    after = -(before + len(midi) // 2) % BEATS
    tokens += [f"r:{after}"] if after else []
    tempo = round(min(max(line["bpm"], 30), 320))
    return f"meter: 4/4\ntempo: {tempo}\n\n{' '.join(tokens)} |\n"


for raw in (Path(sys.argv[1]) / "lines.jsonl").read_text().splitlines():
    line = json.loads(raw)
    name = f"jazz/{line['solo']}.{line['bar']}.{line['beat']}"
    print(json.dumps({"name": name, "text": line_text(line), "plain": set(line["code"]) == {"e"}}))
