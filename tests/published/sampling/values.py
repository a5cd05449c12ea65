#!/usr/bin/python3
"""Prints the reference values of the sampling tests: SciPy's distributions, and plain recursions over every draw."""

from scipy.stats import binom, hypergeom

print("hypergeometric cdf")
for lot, drawn, count, marked in [
    (100, 20, 0, 1), (100, 20, 1, 5), (500, 50, 1, 20), (1000, 80, 2, 20), (300, 13, 0, 5), (100000, 1250, 21, 1000),
    (100000, 1250, 3, 2000), (50, 50, 3, 3), (200, 150, 100, 140),
]:
    print(f"{{{lot}, {marked}, {drawn}}}, {count}, {hypergeom.cdf(count, lot, marked, drawn):.13e}")
print("binomial cdf")
for n, c, p in [(13, 0, 0.05), (80, 2, 0.02), (315, 7, 0.05), (2000, 21, 0.02)]:
    print(f"{n}, {c}, {p}, {binom.cdf(c, n, p):.13e}")

print("least single plan of a lot: lot, D1, D2, a, b -> n, c")
for lot, d1, d2, a, b in [(500, 5, 33, 0.05, 0.10), (300, 3, 30, 0.05, 0.05), (1000, 10, 50, 0.05, 0.10), (120, 1, 12, 0.1, 0.1)]:
    best = None
    for n in range(1, lot + 1):
        for c in range(0, n):
            if hypergeom.cdf(c, lot, d2, n) <= b and hypergeom.cdf(c, lot, d1, n) >= 1 - a:
                best = (n, c)
                break
        if best:
            break
    print(lot, d1, d2, a, b, best)

print("double plan (80: 3/7, 160: 8/9) at 4 %: ships, mean heard without stopping early")
n = 80
for p in (0.02, 0.04, 0.08):
    ships = sum(binom.pmf(d, n, p) * (1 if d <= 3 else binom.cdf(8 - d, n, p)) for d in range(0, 7))
    second = sum(binom.pmf(d, n, p) for d in range(4, 7))
    print(p, f"{ships:.13e} {n + n * second:.13e}")


def sequential(p, most, h1, h2, s):
    """Ships and mean heard of Wald's lines by recursion over (heard, flawed)."""
    import math
    live, ships, mean = {0: 1.0}, 0.0, 0.0
    for m in range(1, most + 1):
        nxt = {}
        for d, w in live.items():
            nxt[d] = nxt.get(d, 0.0) + w * (1 - p)
            nxt[d + 1] = nxt.get(d + 1, 0.0) + w * p
        live = {}
        for d, w in nxt.items():
            last = m == most
            if d <= s * m - h1 or (last and d <= s * m + 0.5 * (h2 - h1)):
                ships += w
                mean += w * m
            elif d >= s * m + h2 or last:
                mean += w * m
            else:
                live[d] = w
    return ships, mean


print("Wald's lines p0 .01 p1 .06 a .05 b .10, to 2000 discs")
for p in (0.01, 0.028111, 0.06):
    print(p, "%.12e %.12e" % sequential(p, 2000, 1.2211492086806142, 1.5677999569546845, 0.028111034141301176))
