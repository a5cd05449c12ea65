#!/usr/bin/python3
"""Values of ar_model_test.cpp by SciPy."""
import numpy as np
from scipy.linalg import solve_toeplitz
from scipy.signal import lfilter

r = np.array([1, 0.8, 0.5, 0.2])
a = solve_toeplitz(r[:3], r[1:])
print("Levinson", a, 1 - a @ r[1:])

state, draws = 12345, []
for _ in range(20000):
    state = (1103515245 * state + 12345) % 2**31
    draws.append(state / 2**31 - 0.5)
x = lfilter([1], [1, -2.7607, 3.8106, -2.6535, 0.9238], draws)
lags = np.array([x[: len(x) - k] @ x[k:] for k in range(5)])
print("lags", lags)
print("AR(4)", solve_toeplitz(lags[:4], lags[1:]))
