#!/usr/bin/python3
"""Prints corrections.txt or recipes.txt: random batches and recipes with their answers by SciPy's linprog (HiGHS).

    cases.py corrections | recipes

A correction is a line `n kind least worst most_volume batch` (kind restores, nearest), then a line
`fraction density tolerance stock weighed` an ingredient; masses in kg, volume in m3, tolerances as shares of the
target, an open stock or bowl is 1e300. The nearest mix is found by halving the share of the tolerance and asking
for any mix within it, which is another road than the programme's.
A recipe is a line `n found cost density_low density_high mass`, a line `role low high` for binder and filler, then
a line `role price density low high stock fraction` an ingredient."""
import sys

import numpy as np
from scipy.optimize import linprog

OPEN = 1e300
draw = np.random.default_rng(20261127)


def shown(*values):
    print(*(v if isinstance(v, (str, int)) else repr(float(min(v, OPEN))) for v in values))


def within(share, f, tolerance, density, stock, weighed, bowl):
    """Least addition so that |m - f M| <= share tol f M; None where there is none."""
    n = len(f)
    rows, right = [], []
    for i in range(n):
        for side in (1, -1):
            edge = f[i] * (1 + side * share * tolerance[i])
            rows.append([side * ((i == j) - edge) for j in range(n)])
            right.append(-side * (weighed[i] - edge * weighed.sum()))
    if bowl < OPEN:
        rows.append(list(1 / density / (weighed.sum() / 2000)))
        right.append((bowl - (weighed / density).sum()) / (weighed.sum() / 2000))
    answer = linprog(np.ones(n), A_ub=rows, b_ub=right, bounds=[(0, None if s >= OPEN else s) for s in stock],
                     method="highs")
    return answer.fun if answer.status == 0 else None


def correction():
    n = int(draw.integers(3, 21))
    f = draw.dirichlet(np.full(n, 0.7)) * 0.95 + 0.05 / n
    f /= f.sum()
    density = np.round(draw.uniform(1000, 4500, n), 0)
    tolerance = np.where(f > 0.1, 0.005, np.where(f > 0.01, 0.01, 0.02))
    batch = float(np.round(draw.uniform(20, 120), 1))
    weighed = f * batch * (1 + draw.normal(size=n) * tolerance * draw.choice([0.3, 1.5, 5]))
    stock = np.where(draw.random(n) < 0.15, draw.uniform(0, 0.05, n) * batch, OPEN)
    bowl = (weighed / density).sum() * draw.uniform(1.0, 1.06) if draw.random() < 0.6 else OPEN
    least = within(1, f, tolerance, density, stock, weighed, bowl)
    kind, worst = "restores", 1.0
    if least is None:
        kind, low, high = "nearest", 1.0, 1000.0
        for _ in range(60):
            worst = (low + high) / 2
            if within(worst, f, tolerance, density, stock, weighed, bowl) is None:
                low = worst
            else:
                high = worst
        least = within(worst * (1 + 1e-7), f, tolerance, density, stock, weighed, bowl) or 0.0
    shown(n, kind, least, worst, bowl, batch)
    for row in zip(f, density, tolerance, stock, weighed):
        shown(*row)


def recipe():
    n = int(draw.integers(4, 16))
    role = ["binder", "filler"] + list(draw.choice(["binder", "filler", "colour"], n - 2))
    f = draw.dirichlet(np.ones(n))
    price, density = np.round(draw.uniform(0.1, 12, n), 2), np.round(draw.uniform(1000, 4500, n), 0)
    low = np.round(np.maximum(0, f - draw.uniform(0, 0.3, n)), 4)
    high = np.round(np.minimum(1, f + draw.uniform(0, 0.4, n)), 4)
    mass = 1000.0
    stock = np.where(draw.random(n) < 0.3, np.round(f * mass * draw.uniform(0.2, 1.5, n), 1), OPEN)
    rho = 1 / (f / density).sum()
    d_low, d_high = round(rho * draw.uniform(0.9, 1.0), 1), round(rho * draw.uniform(1.0, 1.1), 1)
    rows, right, bounds = [], [], {}
    for one in ("binder", "filler"):
        share = sum(x for x, r in zip(f, role) if r == one)
        bounds[one] = (round(max(0, share - draw.uniform(0, 0.05)), 4), round(min(1, share + draw.uniform(0, 0.05)), 4))
        here = np.array([float(r == one) for r in role])
        rows += [here, -here]
        right += [bounds[one][1], -bounds[one][0]]
    rows += [1000 / density, -1000 / density]
    right += [1000 / d_low, -1000 / d_high]
    top = np.minimum(high, np.where(stock < OPEN, stock / mass, 1.0))
    answer = linprog(price, A_ub=rows, b_ub=right, A_eq=[np.ones(n)], b_eq=[1], bounds=list(zip(low, np.maximum(top, low))),
                     method="highs") if (top >= low).all() else None
    found = answer is not None and answer.status == 0
    shown(n, "found" if found else "none", answer.fun if found else 0.0, d_low, d_high, mass)
    for one, (a, b) in bounds.items():
        shown(one, a, b)
    for row in zip(role, price, density, low, high, stock, f):
        shown(str(row[0]), *row[1:])


if sys.argv[1:] not in (["corrections"], ["recipes"]):
    sys.exit(__doc__)
for _ in range(80):
    (correction if sys.argv[1] == "corrections" else recipe)()
