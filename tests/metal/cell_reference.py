"""Values of tests/metal/field_test.cpp by roads that src/metal does not take. Prints C++ rows; needs SciPy.

    cell_reference.py

1. A disc in the floor of an insulating tube whose far end is the anode, primary and with linear kinetics: Fourier-Bessel
   series of the tube, Galerkin over Legendre polynomials on the disc.
2. A whole cell with shield, rim and hanging anode: bilinear finite elements on nodes (potentials from above, where finite
   volumes come from below), three meshes, extrapolated.
"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from scipy.special import eval_legendre, j0, jn_zeros, spherical_jn


def tube_primary(b, length, terms=24, modes=200000):
    """R kappa a and i / i_avg at radii; a = kappa = 1."""
    lam = np.concatenate([jn_zeros(1, 2000), (np.arange(2001, modes + 1) + 0.25) * np.pi])
    lam[2000:] -= 3.0 / (8.0 * lam[2000:])  # McMahon's expansion of the zeros of J1
    lam /= b
    k = np.arange(terms)
    p0 = np.abs(eval_legendre(2 * k, 0.0))
    ends = []
    for count in (modes // 2, modes):
        l = lam[:count]
        t = p0[:, None] * np.array([spherical_jn(2 * n, l) for n in k])  # transform of P2k(s)/s
        weight = 2.0 / (b * b * j0(l * b) ** 2) * np.tanh(l * length) / l
        mean = np.where(k == 0, 1.0, 0.0)  # integral of i r dr
        matrix = (t * weight) @ t.T + 2.0 / (b * b) * length * np.outer(mean, mean)
        # Galerkin: potential of the disc is V against each test function
        x = np.linalg.solve(matrix, mean)
        ends.append(np.concatenate([[1.0 / (2.0 * np.pi * x[0])], x]))
    first, second = ends  # the tail of the sum falls as 1 / modes
    best = 2.0 * second - first
    r = np.array([0.1, 0.5, 0.8, 0.9])
    s = np.sqrt(1.0 - r * r)
    i = sum(best[1 + n] * eval_legendre(2 * n, s) / s for n in k) / (2.0 * best[1])
    return best[0], i


def tube_linear(b, length, wa, terms=40, modes=3000):
    """The same with eta = wa i at the disc."""
    lam = jn_zeros(1, modes) / b
    x, w = np.polynomial.legendre.leggauss(4000)
    s, w = 0.5 * (x + 1.0), 0.5 * w
    k = np.arange(terms)
    p = np.array([eval_legendre(2 * n, s) for n in k])
    t = (p * (s * w)) @ j0(np.outer(np.sqrt(1.0 - s * s), lam))
    weight = 2.0 / (b * b * j0(lam * b) ** 2) * np.tanh(lam * length) / lam
    mean = p @ (s * w)
    matrix = (t * weight) @ t.T + 2.0 / (b * b) * length * np.outer(mean, mean) + wa * (p * (s * w)) @ p.T
    c = np.linalg.solve(matrix, mean)
    total = 2.0 * np.pi * (mean @ c)
    r = np.array([0.1, 0.5, 0.8, 0.9])
    sr = np.sqrt(1.0 - r * r)
    i = sum(c[n] * eval_legendre(2 * n, sr) for n in k) * np.pi / total
    return 1.0 / total, i


def graded(places, sizes, growth):
    """Nodes through places; element sizes grow by a factor from each."""
    lines = [places[0]]
    for (p, q), (a, b) in zip(zip(places, places[1:]), zip(sizes, sizes[1:])):
        left, right = [p], [q]
        while True:
            la = a * growth ** (len(left) - 1)
            lb = b * growth ** (len(right) - 1)
            gap = right[-1] - left[-1]
            if gap <= la + lb:
                break
            if la <= lb:
                left.append(left[-1] + la)
            else:
                right.append(right[-1] - lb)
        lines += left[1:] + right[::-1]
    return np.array(lines)


class Cell:
    a, holder, wall, level = 0.16, 0.18, 0.26, 0.30
    behind, rim = 0.03, 0.006
    anode_low, anode_high, anode_inner, anode_outer = 0.20, 0.25, 0.04, 0.17
    shield = (0.12, 0.26, 0.05, 0.056)  # inner, outer, low, high
    kappa = 8.0


def elements(cell, n, current, law):
    """V, and current through rings of the disc bounded by radii, by nodal finite elements. law: None or (i0, slope V)."""
    edge, plain, growth = 4e-4 / 4**n, 6e-3 / 2**n, 1.0 + 0.5 / 2**n
    r = graded(
        [0, cell.anode_inner, cell.shield[0], cell.a, cell.anode_outer, cell.holder, cell.wall],
        [plain, plain / 2, edge, edge, plain / 2, plain, plain],
        growth,
    )
    z = graded(
        [-cell.behind, 0, cell.rim, cell.shield[2], cell.shield[3], cell.anode_low, cell.anode_high, cell.level],
        [plain, edge, edge * 4, edge, edge, plain / 2, plain / 2, plain],
        growth,
    )
    nr, nz = len(r), len(z)
    rm, zm = 0.5 * (r[1:] + r[:-1]), 0.5 * (z[1:] + z[:-1])
    R, Z = np.meshgrid(rm, zm)
    inside = lambda r0, r1, z0, z1: (R > r0) & (R < r1) & (Z > z0) & (Z < z1)
    anode = inside(cell.anode_inner, cell.anode_outer, cell.anode_low, cell.anode_high)
    solid = inside(-1, cell.holder, -1, 0) | inside(cell.a, cell.holder, 0, cell.rim)
    solid |= inside(cell.shield[0], cell.shield[1], cell.shield[2], cell.shield[3])
    wet = ~(solid | anode)
    node = lambda i, j: j * nr + i
    jj, ii = np.nonzero(wet)
    dr, dz, rc = r[ii + 1] - r[ii], z[jj + 1] - z[jj], rm[ii]
    corners = np.array([node(ii, jj), node(ii + 1, jj), node(ii, jj + 1), node(ii + 1, jj + 1)])
    # Integrals of r times products of linear shapes along r, plain ones along z.
    m00 = dr * (rc / 3 - dr / 12)
    m11 = dr * (rc / 3 + dr / 12)
    m01 = dr * rc / 6
    MR = np.array([[m00, m01], [m01, m11]])
    KR = np.array([[rc / dr, -rc / dr], [-rc / dr, rc / dr]])
    MZ = np.array([[dz / 3, dz / 6], [dz / 6, dz / 3]])
    KZ = np.array([[1 / dz, -1 / dz], [-1 / dz, 1 / dz]])
    rows, cols, vals = [], [], []
    for p in range(4):
        for q in range(4):
            pr, pz, qr, qz = p % 2, p // 2, q % 2, q // 2
            rows.append(corners[p])
            cols.append(corners[q])
            vals.append(2 * np.pi * cell.kappa * (KR[pr, qr] * MZ[pz, qz] + MR[pr, qr] * KZ[pz, qz]))
    size = nr * nz
    K = coo_matrix((np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols))), (size, size)).tocsr()
    used = np.zeros(size, bool)
    used[corners.ravel()] = True
    ja, ia = np.nonzero(anode)
    fixed_a = np.zeros(size, bool)
    for di in (0, 1):
        for dj in (0, 1):
            fixed_a[node(ia + di, ja + dj)] = True
    face = int(np.argmin(np.abs(z)))
    ring = np.nonzero(r <= cell.a * (1 + 1e-12))[0]
    disc = node(ring, face)
    # Lumped share of the disc's area that each node has.
    area = np.zeros(len(ring))
    for k in range(len(ring) - 1):
        d, c = r[k + 1] - r[k], 0.5 * (r[k + 1] + r[k])
        area[k] += 2 * np.pi * d * (c / 2 - d / 12)
        area[k + 1] += 2 * np.pi * d * (c / 2 + d / 12)
    if law is None:
        phi = np.zeros(size)
        phi[fixed_a] = 1.0
        held = fixed_a.copy()
        held[disc] = True
        free = used & ~held
        phi[free] = spsolve(K[free][:, free], -(K[free][:, held] @ phi[held]))
        flow = -(K @ phi)[disc]
        return current / flow.sum(), r[ring], flow / flow.sum()
    i0, slope = law
    free = used & ~fixed_a
    idx = -np.ones(size, int)
    idx[free] = np.arange(free.sum())
    Kff = K[free][:, free]
    ka = np.asarray(K[free][:, fixed_a].sum(axis=1)).ravel()
    d = idx[disc]
    mean = slope * np.log10(current / area.sum() / i0)
    V, phi = mean + 0.1, np.full(free.sum(), mean)
    for _ in range(80):
        i = i0 * 10 ** (phi[d] / slope)
        F = Kff @ phi + ka * V
        F[d] += area * i
        J = Kff.copy().tolil()
        g = np.zeros(len(phi))
        g[d] = area * i * np.log(10) / slope
        J = Kff + coo_matrix((g, (np.arange(len(phi)), np.arange(len(phi)))), Kff.shape).tocsr()
        y = spsolve(J, np.stack([-ka, F], axis=1))
        by_anode, by_rest = y[:, 0], y[:, 1]
        dV = (current - area @ i + g @ by_rest) / (g @ by_anode)
        step = dV * by_anode - by_rest
        limit = min(1.0, 0.1 / max(1e-30, np.abs(step[d]).max()))
        phi, V = phi + limit * step, V + limit * dV
        if limit == 1.0 and np.abs(step).max() < 1e-11:
            break
    i = i0 * 10 ** (phi[d] / slope)
    flow = area * i
    return V, r[ring], flow / flow.sum()


def whole_cell(law):
    ends = []
    for n in (0, 1, 2):
        V, r, share = elements(Cell, n, 48.0, law)
        inside = np.cumsum(share)
        # A node's share reaches to about the middle of its elements; the totals within radii are smooth.
        middle = np.append(0.5 * (r[1:] + r[:-1]), r[-1])
        ends.append([V] + [np.interp((x * Cell.a) ** 2, middle**2, inside) for x in (0.25, 0.5, 0.75, 0.9)])
    ends = np.array(ends)
    return ends, (4 * ends[2] - ends[1]) / 3


if __name__ == "__main__":
    np.set_printoptions(precision=6, linewidth=140)
    for b, length in ((2.0, 1.0), (1.1, 0.4), (5.0, 3.0)):
        R, i = tube_primary(b, length)
        print("primary", b, length, f"{R:.6f}", i)
    for b, length, wa in ((2.0, 1.0, 0.2), (1.1, 0.4, 0.1), (5.0, 3.0, 1.0)):
        R, i = tube_linear(b, length, wa)
        print("linear", b, length, wa, f"{R:.6f}", i)
    for law in (None, (0.01, 0.12)):
        ends, best = whole_cell(law)
        print("cell", law, ends.tolist(), best)
