#!/usr/bin/python3
"""The five loudest clicks of lp_surface_01 by SciPy: peaks of the signal above 3 kHz over the median about them.

    ffmpeg -i lp_surface_01.mp3 lp_surface_01.wav && clicks.py lp_surface_01.wav
"""
import sys

import numpy as np
from scipy.io import wavfile
from scipy.ndimage import maximum_filter1d, median_filter
from scipy.signal import butter, sosfiltfilt

rate, samples = wavfile.read(sys.argv[1])
high = np.abs(sosfiltfilt(butter(4, 3000, "high", fs=rate, output="sos"), samples / 32768, axis=0)).max(axis=1)
cell = rate // 1000
cells = high[: len(high) // cell * cell].reshape(-1, cell).max(axis=1)
over = cells / median_filter(cells, 101)
peaks = [k for k in np.argsort(-over) if over[k] == maximum_filter1d(over, 41)[k] and 100 < k < len(over) - 100][:5]
print(sorted(round((k * cell + int(np.argmax(high[k * cell : (k + 1) * cell]))) / rate, 4) for k in peaks))
