"""Measures the notes in a WAV file: tuning.py FILE SECONDS NAME... Each note takes SECONDS, and sounds for the first three quarters of that.

Prints for each note name (as music21 reads it): {"name", "cents", "rms", "peak", "mean", "start", "end"}.

Source of the pitch: music21.pitch, equal temperament with A4 = 440 Hz (ISO 16). Method: the frequency near that pitch where the Fourier transform of
the note, under a Blackman window, is largest. A decaying partial is symmetric around its frequency there, and its neighbors are far away.
`start` and `end` are the largest jumps between two samples in the note's first 0.2 ms and around its end, as fractions of the note's largest jump.
"""

import json
import sys
import wave

import numpy as np
from music21 import pitch

with wave.open(sys.argv[1]) as file:
    rate = file.getframerate()
    samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2") / 32768
each = int(float(sys.argv[2]) * rate)


def frequency(note, near):
    """Where the spectrum is largest within a half step of a frequency: the top of a parabola through the highest point in dB and its neighbors."""
    size = 1 << 18
    spectrum = np.log(np.abs(np.fft.rfft(note * np.blackman(len(note)), size)) + 1e-12)
    first, last = (int(near * 2 ** (by / 12) * size / rate) for by in (-1, 1))
    top = first + int(np.argmax(spectrum[first:last]))
    below, at, above = spectrum[top - 1 : top + 2]
    return (top + (below - above) / (2 * (below - 2 * at + above))) * rate / size


for index, name in enumerate(sys.argv[3:]):
    note = samples[index * each : (index + 1) * each]
    held = each * 3 // 4
    near = pitch.Pitch(name).frequency
    cents = 1200 * np.log2(frequency(note[rate // 50 : held], near) / near)
    jumps = abs(np.diff(note))
    about_end = jumps[held - rate // 1000 : held + rate // 20]
    print(
        json.dumps(
            {
                "name": name,
                "cents": cents,
                "rms": np.sqrt(np.mean(note[: rate * 3 // 10] ** 2)),
                "peak": abs(note).max(),
                "mean": note.mean(),
                "start": jumps[: rate // 5000].max() / jumps.max(),
                "end": about_end.max() / jumps.max(),
            }
        )
    )
