"""Makes the values that tests/metal/offset_fit_test.cpp names NumPy and SciPy for (1.24, 1.10).

    /usr/bin/python3 values.py
"""

import numpy as np
from scipy import stats

ANGLE_DEG = np.array([3, 40, 95, 131, 180, 222, 260, 305, 341.0])
POSITION_UM = np.array([53269.7, 53235.0, 53148.1, 53120.5, 53145.7, 53182.4, 53218.2, 53259.2, 53270.3])


t = np.radians(ANGLE_DEG)
columns = np.column_stack([np.ones(t.size), np.cos(t), np.sin(t), np.cos(2 * t), np.sin(2 * t)])
zero = POSITION_UM.mean()
at, residual, _, _ = np.linalg.lstsq(columns, POSITION_UM - zero, rcond=None)
freedom = t.size - at.size
covariance = residual[0] / freedom * np.linalg.inv(columns.T @ columns)
np.set_printoptions(precision=15)
sigma = np.sqrt(np.diag(covariance))
print("at", at, "sigma", sigma, "correlation", covariance[1, 2] / sigma[1] / sigma[2])
print("90 %:", [at[i] + side * stats.t.ppf(0.95, freedom) * sigma[i] for i in (1, 2) for side in (-1, 1)])
harmonic = at[3:] @ np.linalg.solve(covariance[3:, 3:], at[3:]) / 2
print("out-of-round chance", stats.f.sf(harmonic, 2, freedom))
values, vectors = np.linalg.eigh(covariance[1:3, 1:3])
print("half axes", np.sqrt(2 * stats.f.ppf(0.9, 2, freedom) * values[::-1]),
      np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])))
print("F", stats.f.ppf(0.9, 2, 4), stats.f.ppf(0.9, 2, 7), stats.f.sf(3.3, 2, 7), stats.f.sf(2.0, 2, 11))
