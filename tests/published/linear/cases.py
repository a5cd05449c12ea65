#!/usr/bin/python3
"""Prints cases.txt: random linear programmes with the least cost by SciPy (linprog and milp, HiGHS).
A case is a line `variables rows whole|real found cost`, a line `cost low high` a variable, then a line
`low high factors…` a row. An open side is 1e300."""
import numpy as np
from scipy.optimize import LinearConstraint, Bounds, milp

OPEN = 1e300
draw = np.random.default_rng(20261126)


def shown(value):
    return repr(float(np.clip(value, -OPEN, OPEN)))


for number in range(60):
    whole = number % 3 == 2
    n, m = int(draw.integers(2, 14)), int(draw.integers(1, 10))
    cost = np.round(draw.normal(size=n), 3)
    low = np.where(draw.random(n) < 0.8, 0.0, -5.0)
    high = np.where(draw.random(n) < 0.6, np.round(draw.uniform(1, 9, n), 2), np.inf)
    if whole:
        high = np.where(np.isinf(high), 9.0, np.floor(high))
    matrix = np.round(draw.normal(size=(m, n)), 2) * (draw.random((m, n)) < 0.7)
    at = np.clip(draw.uniform(0, 4, n), low, high)
    at = matrix @ (np.round(at) if whole else at)
    if number % 10 == 9:
        at = at + draw.normal(size=m) * 40
    slack = draw.uniform(0, 2, m) * (draw.random(m) < 0.7)
    row_low = np.where(draw.random(m) < 0.6, np.round(at - slack, 3), -np.inf)
    row_high = np.where((draw.random(m) < 0.6) | np.isinf(row_low), np.round(at + slack, 3) + 0.0, np.inf)
    row_high = np.maximum(row_high, row_low)
    answer = milp(cost, constraints=LinearConstraint(matrix, row_low, row_high), bounds=Bounds(low, high),
                  integrality=np.full(n, 1 if whole else 0), options={"mip_rel_gap": 0.0})
    found = {0: "best", 2: "none", 3: "endless", 4: "none-or-endless"}[answer.status]
    print(n, m, "whole" if whole else "real", found, repr(float(answer.fun)) if answer.status == 0 else 0.0)
    for j in range(n):
        print(shown(cost[j]), shown(low[j]), shown(high[j]))
    for i in range(m):
        print(shown(row_low[i]), shown(row_high[i]), *(shown(x) for x in matrix[i]))
