"""Prints the times of picks and clicks in a WAV file, in seconds: onsets.py FILE.

Method: the envelope above 8 kHz (by SciPy's Butterworth filter, which delays it by less than 0.1 ms) jumps at a pick or a click and falls quickly. A
jump is a block of 5 ms that is four times as loud as anything in the 15 ms before. Its onset is the first sample that reaches a tenth of the peak
within 3 ms.
"""

import json
import sys
import wave

import numpy as np
from scipy.signal import butter, sosfilt

with wave.open(sys.argv[1]) as file:
    rate = file.getframerate()
    samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2") / 32768

high = np.abs(sosfilt(butter(4, 8000, "highpass", fs=rate, output="sos"), samples))
block = rate * 5 // 1000
blocks = high[: len(high) // block * block].reshape(-1, block).max(axis=1)
before = np.max([np.concatenate([np.zeros(n), blocks[: len(blocks) - n]]) for n in (1, 2, 3)], axis=0)
floor = 3 / 32768

onsets = []
for index in np.flatnonzero(blocks > np.maximum(4 * before, floor)):
    start = index * block
    loudest = high[start : start + block + rate * 3 // 1000].max()
    onset = start + int(np.argmax(high[start : start + 2 * block] >= loudest / 10))
    if not onsets or onset - onsets[-1] > rate // 50:
        onsets.append(onset)
print(json.dumps([onset / rate for onset in onsets]))
