#!/usr/bin/env python3
"""Prints the table of equalisation_test.cpp with SciPy, in dB relative to 1 kHz."""
import numpy as np
from scipy.signal import freqs

# T1 bass, T2 turnover, T3 treble, T4 rumble, in seconds; 0: absent.
CURVES = [
    (3180e-6, 318e-6, 75e-6, 0),
    (3180e-6, 318e-6, 75e-6, 7950e-6),
    (3180e-6, 450e-6, 50e-6, 0),
    (3180e-6, 636e-6, 0, 0),
    (0, 318e-6, 100e-6, 0),
    (0, 398e-6, 63.7e-6, 0),
    (0, 636e-6, 25e-6, 0),
    (1590e-6, 318e-6, 100e-6, 0),
]
BANDS = [20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500,
         3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000]


def gains_dB(bass, turnover, treble, rumble):
    over, under = [turnover, 1], np.polymul([bass, 1] if bass else [1, 0], [treble, 1])
    if rumble:
        over, under = np.polymul(over, [rumble, 0]), np.polymul(under, [rumble, 1])
    _, response = freqs(over, under, 2 * np.pi * np.array(BANDS + [1000]))
    level = 20 * np.log10(np.abs(response))
    return level[:-1] - level[-1]


columns = [gains_dB(*curve) for curve in CURVES]
for row, band in enumerate(BANDS):
    print("    {" + ", ".join([f"{band:g}"] + [f"{column[row] + 0.0:.3f}" for column in columns]) + "},")
