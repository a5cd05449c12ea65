#!/usr/bin/python3
"""One press cycle as a straightforward SciPy script: the peer that `goodside cycle` is compared with.

    plain_cycle.py --goodside GOODSIDE [--compound vinyl|shellac] [--set NAME=VALUE ...] [--samples N]

The same model (docs/press.md), written by the method of lines on a mesh of its own, even within each
layer, and left to scipy.integrate.solve_ivp (BDF) from event to event; the state that repeats itself
by running cycles. Inputs and the channels' films come from goodside's JSON; everything else is its own.
Prints the largest differences of the temperatures, of the times, and how long each takes for a cycle.
Exit status 1 where a face or the middle differs by more than 0.1 K anywhere.
"""
import argparse
import json
import resource
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

STEEL_K = ([300, 400, 600], [41.0, 42.2, 39.7])
STEEL_C = ([300, 400, 600], [434.0, 487.0, 559.0])
NICKEL_K = ([300, 400, 600], [90.7, 80.2, 65.6])
NICKEL_C = ([300, 400, 600], [444.0, 485.0, 592.0])
COPPER_K = ([300, 400, 600], [401.0, 393.0, 379.0])
COPPER_C = ([300, 400, 600], [385.0, 397.0, 417.0])
VINYL_C = ([293.15, 338.15, 358.15, 453.15], [1000.0, 1100.0, 1500.0, 1650.0])
GAS = 8.31446261815324
ATMOSPHERE = 101325.0


def saturation_K(pressure):
    """IAPWS-IF97 equation 31."""
    n = [0, 1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333,
         14.91510861353, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798]
    beta = (pressure / 1e6) ** 0.25
    e = beta**2 + n[3] * beta + n[6]
    f = n[1] * beta**2 + n[4] * beta + n[7]
    g = n[2] * beta**2 + n[5] * beta + n[8]
    d = 2 * g / (-f - np.sqrt(f * f - 4 * e * g))
    return (n[10] + d - np.sqrt((n[10] + d) ** 2 - 4 * (n[9] + n[10] * d))) / 2


class Plain:
    def __init__(self, answer):
        self.i = i = answer["inputs"]
        self.films = answer["exchange"]
        self.vinyl = answer["compound"] == "vinyl"
        pick = lambda name, side: i[name][side] if isinstance(i[name], list) else i[name]
        rows, self.plane, self.face = [], [], []
        for side in (0, 1):
            d, cover = pick("channel_diameter", side), pick("cover", side)
            bored = 1 - np.pi * d / (4 * pick("channel_pitch", side))
            behind = pick("die_thickness", side) - cover - d
            contact = pick("stamper_contact", side) * i["contact_factor"]
            layers = [("steel", behind, 20, 1, 0), ("steel", d / 2, 16, bored, 0), ("steel", d / 2, 16, bored, 0),
                      ("steel", cover, 24, 1, contact)]
            if pick("backing", side) > 0:
                layers.append(("copper", pick("backing", side), 6, 1, 0))
            layers.append(("nickel", pick("stamper", side), 6, 1, 0))
            cells = []
            for kind, thick, n, share, resist in layers:
                cells += [[kind, thick / n, share, 0.0] for _ in range(n)]
                cells[-1][3] = resist
            plane = 20 + 16 - 1
            if side == 1:
                resist = [c[3] for c in cells]
                cells = [c[:3] + [0.0] for c in cells[::-1]]
                for k in range(len(cells) - 1):
                    cells[k][3] = resist[len(cells) - 2 - k]
                plane = len(cells) - 1 - (plane + 1)
            rows.append(cells)
            self.plane.append(plane)
        self.nc = 72
        x = 2 * np.arange(self.nc + 1) / self.nc - 1
        self.bounds = 0.5 * (1 + np.tanh(1.9 * x) / np.tanh(1.9))
        middle = [["compound", 1.0, 1, 0.0] for _ in range(self.nc)]
        middle[-1][3] = i["compound_contact"]
        rows[0][-1][3] = i["compound_contact"]
        self.cells = rows[0] + middle + rows[1]
        self.first, self.end = len(rows[0]), len(rows[0]) + self.nc
        self.plane[1] += self.end
        kinds = np.array([c[0] for c in self.cells])
        self.steel, self.nickel, self.copper, self.comp = (kinds == k for k in ("steel", "nickel", "copper", "compound"))
        self.thick = np.array([c[1] for c in self.cells])
        self.full = np.array([c[2] for c in self.cells], float)
        self.resist = np.array([c[3] for c in self.cells])
        self.area = np.pi / 4 * i["diameter"] ** 2
        self.volume = i["mass"] / i["density"]
        self.radius = i["diameter"] / 2
        self.stop = i["stop"] or i["thickness"]
        self.h0 = self.volume / (np.pi / 4 * i["biscuit_diameter"] ** 2)

    def k(self, T):
        k = np.empty_like(T)
        k[self.steel] = np.interp(T[self.steel], *STEEL_K) * self.i["steel_factor"]
        k[self.nickel] = np.interp(T[self.nickel], *NICKEL_K)
        k[self.copper] = np.interp(T[self.copper], *COPPER_K)
        k[self.comp] = self.i["conductivity"] * self.i["conductivity_factor"]
        return k

    def capacity(self, T):
        c = np.empty_like(T)
        c[self.steel] = 7850 * np.interp(T[self.steel], *STEEL_C)
        c[self.nickel] = 8900 * np.interp(T[self.nickel], *NICKEL_C)
        c[self.copper] = 8933 * np.interp(T[self.copper], *COPPER_C)
        own = np.interp(T[self.comp], *VINYL_C) if self.vinyl else self.i["heat_capacity"]
        c[self.comp] = self.i["density"] * own * self.i["heat_capacity_factor"]
        return c * self.full

    def log_shift(self, T):
        i = self.i
        if not self.vinyl:
            return i["activation"] / GAS * (1 / T - 1 / i["consistency_at"])
        wlf = lambda t: -np.log(10) * 17.44 * (t - i["glass_temperature"]) / (51.6 + t - i["glass_temperature"])
        end = i["glass_temperature"] + 100
        held = np.clip(T, i["glass_temperature"] - 25.8, end)
        beyond = np.where(T > end, i["activation"] / GAS * (1 / T - 1 / end), 0.0)
        return wlf(held) + beyond - wlf(i["consistency_at"])

    def squeeze(self, T, h):
        """Speed, force and where the work goes."""
        i = self.i
        n = i["flow_exponent"]
        m = i["consistency"] * i["consistency_factor"]
        phi = np.where(T < i["solid_below"], 0.0, np.exp(-self.log_shift(T)))
        if phi.max() <= 0 or h <= self.stop:
            return 0.0, 0.0, phi
        power = lambda z0, p: np.diff(np.abs(self.bounds - z0) ** p)
        z0 = brentq(lambda z: np.sum(phi * power(z, 1 / n + 1)), 0, 1)
        signed = np.sign(self.bounds - z0) * np.abs(self.bounds - z0) ** (1 / n + 2)
        parts = phi * np.diff(signed) / (1 / n + 2)
        s = parts.sum() * m ** (-1 / n)
        r = min(self.radius, np.sqrt(self.volume / (np.pi * h)))
        gap = 2 * s * h ** (2 + 1 / n)
        speed = min(i["closing_speed"], gap * ((n + 3) * i["force"] / (np.pi * r ** (n + 3))) ** (1 / n))
        force = np.pi / (n + 3) * r ** (n + 3) * (speed / gap) ** n
        return speed, force, parts / parts.sum()

    def channels(self, t, phase, T):
        out = []
        for side in (0, 1):
            pick = lambda name: self.i[name][side] if isinstance(self.i[name], list) else self.i[name]
            if phase == "steam":
                supply = pick("steam") + ATMOSPHERE
                hot = saturation_K(supply - (supply - ATMOSPHERE) * np.exp(-(t - self.steam_on) / self.i["steam_lag"]))
                here = 0.5 * (T[self.plane[side]] + T[self.plane[side] + 1])
                out.append((self.films[side]["steam_W_per_m2K"] if here < hot else 0.0, hot))
            elif phase == "water":
                ramp = -np.expm1(-(t - self.water_on) / self.i["water_lag"])
                out.append((self.films[side]["water_W_per_m2K"] * ramp, pick("water")))
            else:
                out.append((0.0, 300.0))
        return out

    def geometry(self, h):
        thick, share = self.thick.copy(), np.ones(len(self.cells))
        thick[self.comp] = h * np.diff(self.bounds)
        share[self.comp] = min(1.0, self.volume / h / self.area)
        return thick, share

    def rhs(self, t, y, phase, closed):
        T, h = y[:-1], y[-1]
        thick, share = self.geometry(h)
        k = self.k(T)
        half = thick / (2 * k)
        touching = np.minimum(share[:-1], share[1:])
        link = touching / (half[:-1] + self.resist[:-1] + half[1:])
        if not closed:
            link[self.first - 1] = link[self.end - 1] = 0.0
        gain = np.zeros_like(T)
        for (film, hot), p in zip(self.channels(t, phase, T), self.plane):
            a, b = 1 / half[p], 1 / half[p + 1]
            link[p] = a * b / (a + b + film)
            for cell, g in ((p, a), (p + 1, b)):
                gain[cell] += film * g / (a + b + film) * (hot - T[cell])
        flux = link * (T[:-1] - T[1:])
        gain[:-1] -= flux
        gain[1:] += flux
        room = self.i["room"]
        for cell, film in [(0, self.i["back_loss"]), (-1, self.i["back_loss"])] + (
                [] if closed else [(self.first - 1, self.i["face_loss"]), (self.end, self.i["face_loss"])]):
            gain[cell] += (room - T[cell]) / (half[cell] + 1 / film)
        speed = 0.0
        if closed:
            speed, force, parts = self.squeeze(T[self.comp], h)
            gain[self.comp] += speed * force / self.area * parts
        return np.append(gain / (self.capacity(T) * thick * share), -speed)

    def cycle(self, T):
        i = self.i
        self.steam_on = i["open_time"] - i["steam_lead"]
        off = i["open_time"] + i["steam_time"]
        self.water_on = off + i["drain_time"]
        end = self.water_on + i["water_time"]
        T = T.copy()
        T[self.comp] = i["biscuit_temperature"]
        y = np.append(T, self.h0)
        times, states = [], []
        for until, phase, closed in ((self.steam_on, "off", False), (i["open_time"], "steam", False), (off, "steam", True),
                                     (self.water_on, "drain", True), (end, "water", True),
                                     (end + i["rest_time"], "off", True)):
            begin = times[-1][-1] if times else 0.0
            if until - begin < 1e-9:
                continue
            run = solve_ivp(self.rhs, (begin, until), y, method="BDF", args=(phase, closed), rtol=1e-6, atol=1e-4,
                            max_step=0.1, first_step=1e-4)
            times.append(run.t)
            states.append(run.y)
            y = run.y[:, -1].copy()
        return np.concatenate(times), np.concatenate(states, axis=1), y[:-1]


def asked(goodside, options, extra):
    done = subprocess.run([goodside, "cycle", *options, "--json", "-", *extra], capture_output=True, text=True)
    if done.returncode > 1:
        sys.exit(done.stderr)
    return json.loads(done.stdout)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--goodside", required=True)
    parser.add_argument("--compound", default="vinyl")
    parser.add_argument("--set", action="append", default=[], dest="figures")
    parser.add_argument("--samples", type=int, default=400)
    args = parser.parse_args()
    options = ["--compound", args.compound] + [w for f in args.figures for w in ("--set", f)]
    answer = asked(args.goodside, options, [])
    plain = Plain(answer)
    T = np.full(len(plain.cells), answer["inputs"]["set_temperature"])
    for count in range(1, 31):
        begin = time.process_time()
        times, states, end = plain.cycle(T)
        plain_s = time.process_time() - begin
        dies = ~plain.comp
        change = np.abs(end[dies] - T[dies]).max()
        T = end
        if change < 0.01:
            break
    moments = answer["moments"]
    worst = {}
    for name, ours, theirs in (
            ("face A", [m["face_K"][0] for m in moments], "a"), ("face B", [m["face_K"][1] for m in moments], "b"),
            ("middle", [m["middle_K"] for m in moments], "m")):
        k = plain.k(states[:-1, -1])
        differences = []
        for moment, value in zip(moments, ours):
            t = moment["time_s"]
            closing = abs(t - answer["result"]["schedule"]["close_s"]) < 1e-6
            if value is None or closing or t <= 0 or t >= times[-1]:
                continue
            y = np.array([np.interp(t, times, row) for row in states])
            h, full = y[-1], y[:-1]
            thick, _ = plain.geometry(h)
            closed = moment["gap_m"] is not None
            if theirs == "m":
                m = (plain.first + plain.end) // 2
                here = (9 * (full[m - 1] + full[m]) - full[m - 2] - full[m + 1]) / 16
            else:
                a, b = (plain.first - 1, plain.first) if theirs == "a" else (plain.end, plain.end - 1)
                half_a, half_b = thick[a] / (2 * plain.k(full)[a]), thick[b] / (2 * plain.k(full)[b])
                here = full[a]
                if closed:
                    here -= half_a * (full[a] - full[b]) / (half_a + answer["inputs"]["compound_contact"] + half_b)
            differences.append((abs(here - value), t))
        d = np.array([one[0] for one in differences])
        at = differences[int(d.argmax())][1]
        worst[name] = (d.max(), np.sqrt(np.mean(d**2)))
        print(f"{name:<7} root mean square {worst[name][1]:.3f} K, largest {d.max():.3f} K at {at:.2f} s")
    used = lambda: resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    begin = used()
    asked(args.goodside, options, ["--monte-carlo", "10", "--jobs", "1"])
    few = used() - begin
    begin = used()
    asked(args.goodside, options, ["--monte-carlo", str(args.samples + 10), "--jobs", "1"])
    ours_s = (used() - begin - few) / args.samples
    print(f"a cycle: plain SciPy {plain_s:.2f} s, goodside {1e3 * ours_s:.2f} ms, ratio {plain_s / ours_s:.0f}; "
          f"{count} plain cycles until they repeat")
    return 1 if any(most > 0.1 for most, _ in worst.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
