#!/usr/bin/python3
"""The period at which a record's surface recurs, by SciPy: autocorrelation of its whitened log envelope.

    ffmpeg -i lp_surface_01.mp3 lp_surface_01.wav && turn.py lp_surface_01.wav …

prints rpm, height in units of the autocorrelation's own spread, and the chance of such a height anywhere from 30 to
85 rpm. lp_surface_12 and _25 are of the same source and licence as _01 (LICENSE): jacbz/Lofi at 0e090ff,
client/assets/samples/loops/vinyl, Apache-2.0.
"""
import sys

import numpy as np
from scipy.io import wavfile
from scipy.ndimage import median_filter
from scipy.signal import butter, sosfiltfilt
from scipy.stats import norm, rankdata

CELL_S = 5e-3

for path in sys.argv[1:]:
    rate, samples = wavfile.read(path)
    band = sosfiltfilt(butter(2, [200, 9000], "band", fs=rate, output="sos"), samples / 32768, axis=0)
    cell = int(CELL_S * rate)
    cells = len(band) // cell
    level = np.log((band[: cells * cell] ** 2).reshape(cells, cell, -1).mean(axis=(1, 2)) + 1e-14)
    shaped = norm.ppf((rankdata(level) - 0.5) / cells)
    length = 1 << int(np.ceil(np.log2(2 * cells)))
    step_s = cell / rate
    power = np.abs(np.fft.rfft(shaped, length)) ** 2
    bin_Hz = 1 / (length * step_s)
    power /= median_filter(power, size=int(2 / bin_Hz) | 1, mode="mirror") / np.log(2)
    power = np.minimum(power, 5)
    power[: max(1, int(0.4 / bin_Hz))] = power.mean()
    lags = np.arange(length // 2)
    height = np.fft.irfft(power - power.mean(), length)[: length // 2] / np.sqrt(np.maximum(cells - lags, 1))
    told = (lags * step_s > 0.25) & (lags < 0.75 * cells)
    height /= 1.4826 * np.median(np.abs(height[told]))
    sought = np.flatnonzero((lags * step_s > 60 / 85) & (lags * step_s < 2))
    top = sought[height[sought].argmax()]
    print(f"{path}: {60 / (top * step_s):.2f} rpm, z {height[top]:.1f}, chance {norm.sf(height[top]) * len(sought):.1g}")
