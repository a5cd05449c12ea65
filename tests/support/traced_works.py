"""A works that presses one side, hears some discs and traces them, all through the built command.

A works is a tree of metal with mountings, faults put on chosen parts (and on discs alone), discs that are heard, and the
truth. `hear` plays each disc (`goodside play`) with the faults that its parts carry at its impression, and listens to the
capture (`goodside listen`); `trace` writes the family file and traces it (`goodside trace`).
"""

import json
import subprocess
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy

PLAYED = ["--format", "7in-45", "--pitch", "0.2mm"]


@dataclass
class Planted:
    """A fault of one part or mounting: on every disc of it from impression `since` to `until`."""

    level: str
    part: str
    at_s: float
    kind: str = "tick"
    peak_dB: float = -11.0
    since: int = 1
    until: int = 10**9
    more: str = ""  # of the fault on the command line: ",turns=5"

    def option(self, peak_dB):
        return f"{self.kind}@{self.at_s:.6f}s,peak={peak_dB:.2f}{self.more}"


@dataclass
class Works:
    parts: list  # (id, kind, parent, grown)
    mountings: list  # (id, stamper, press, first, last)
    planted: list
    heard: list  # impressions
    stock: list = field(default_factory=list)  # (carton, first, last)
    own_faults: int = 1  # of each disc alone
    seed: int = 1
    costs: dict = field(default_factory=dict)

    def mounting_of(self, impression):
        return next(m for m in self.mountings if m[3] <= impression <= m[4])

    def line_of(self, impression):
        """The disc's mounting, stamper and all the metal above."""
        mounting = self.mounting_of(impression)
        parent = {p[0]: p[2] for p in self.parts}
        line, part = {mounting[0]}, mounting[1]
        while part:
            line.add(part)
            part = parent[part]
        return line

    def carried(self, impression):
        line = self.line_of(impression)
        return [f for f in self.planted if f.part in line and f.since <= impression <= f.until]

    def touched(self, fault):
        return [n for n in self.heard if fault in self.carried(n)]


def reel():
    """Four stampers of two mothers, two mountings each; a fault on each level of the tree, one that begins in mid-life.

    None is on the last stamper of a mother from its birth: a mother hurt just before would have touched the same discs.
    """
    return Works(
        parts=[("C1", "cut", None, None), ("F1", "father", "C1", 1), ("M1", "mother", "F1", 1), ("M2", "mother", "F1", 2),
               ("S1", "stamper", "M1", 1), ("S2", "stamper", "M1", 2), ("S3", "stamper", "M2", 1), ("S4", "stamper", "M2", 2)],
        mountings=[("MT1", "S1", "P1", 1, 100), ("MT2", "S1", "P1", 101, 200), ("MT3", "S2", "P1", 201, 300),
                   ("MT4", "S2", "P1", 301, 400), ("MT5", "S3", "P1", 401, 500), ("MT6", "S3", "P1", 501, 600),
                   ("MT7", "S4", "P1", 601, 700), ("MT8", "S4", "P1", 701, 800)],
        planted=[Planted("cut", "C1", 3.1), Planted("father", "F1", 5.6, peak_dB=-9.0), Planted("mother", "M1", 8.2),
                 Planted("stamper", "S1", 10.7), Planted("mounting", "MT5", 13.3),
                 Planted("stamper", "S4", 16.4, since=650)],
        heard=[20, 90, 150, 220, 290, 350, 410, 450, 490, 520, 570, 612, 640, 668, 712, 760],
        stock=[("K1", 1, 200), ("K2", 201, 400), ("K3", 401, 600), ("K4", 601, 655), ("K5", 656, 800)],
    )


def run(words, status=(0, 1)):
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True)
    if done.returncode not in status:
        raise AssertionError(f"{' '.join(str(w) for w in words)}: exit {done.returncode}\n{done.stderr}")
    return done


def hear(goodside, works, cut, length_s, folder, played=PLAYED, cores=2):
    """Plays and hears every disc; a listening report D<impression>.json each. The bench's figures differ from disc to disc."""
    folder = Path(folder)
    (folder / "reports").mkdir(exist_ok=True)
    taken = [f.at_s for f in works.planted]

    def one(impression):
        rng = numpy.random.default_rng([works.seed, impression])
        options = []
        for fault in works.carried(impression):
            options += ["--fault", fault.option(fault.peak_dB + rng.normal(0.0, 0.7))]
        for _ in range(works.own_faults):
            at_s = rng.uniform(0.8, length_s - 0.8)
            while min(abs(at_s - t) for t in taken) < 0.25:
                at_s = rng.uniform(0.8, length_s - 0.8)
            options += ["--fault", f"{rng.choice(['tick', 'pop'])}@{at_s:.4f}s,peak={rng.uniform(-16, -9):.1f}"]
        capture = folder / f"D{impression}.wav"
        run([goodside, "play", cut, "--out", capture, *played, "--rate", "48kHz", "--seed", int(rng.integers(2**31)),
             "--offset", f"{rng.uniform(0.02, 0.15):.3f}mm", "--offset-direction", f"{rng.uniform(0, 360):.0f}",
             "--speed-error", f"{rng.normal(0, 800):.0f}ppm", "--clock-ppm", f"{rng.normal(0, 20):.1f}",
             "--noise", f"{rng.uniform(-68, -63):.1f}", "--lead-in", "1s", "--run-out", "1s", *options])
        run([goodside, "listen", capture, "--reference", cut, *played, "--jobs", 1,
             "--json", folder / "reports" / f"D{impression}.json"])
        capture.unlink()

    with ThreadPoolExecutor(cores) as pool:
        list(pool.map(one, works.heard))


def family(works):
    discs = []
    for n in works.heard:
        mounting = works.mounting_of(n)
        discs.append({"id": f"D{n}", "stamper": {"A": mounting[1], "B": None}, "mounting": mounting[0], "impression": n,
                      "press": mounting[2]})
    return {"schema": "goodside.family/1",
            "parts": [{"id": i, "kind": k, "parent": p, "grown": g} for i, k, p, g in works.parts],
            "discs": discs,
            "stock": [{"carton": c, "impressions": [a, b], "fetchable": True} for c, a, b in works.stock],
            "steps": [{"mounting": m[0], "at": m[3], "what": "mounted"} for m in works.mountings],
            "reports": [{"disc": f"D{n}", "side": "A", "file": f"D{n}.json"} for n in works.heard],
            **({"costs": works.costs} if works.costs else {})}


def trace(goodside, works, folder, more=()):
    """(what the terminal shows, the trace)"""
    folder = Path(folder)
    (folder / "family.json").write_text(json.dumps(family(works), indent=1))
    done = run([goodside, "trace", "--family", folder / "family.json", "--reports", folder / "reports",
                "--json", folder / "trace.json", *more], status=(0, 1))
    return done.stdout, json.loads((folder / "trace.json").read_text())


def found(trace, fault, within_s=2e-3):
    """The recurring faults at the place of a planted one."""
    return [r for r in trace["recurring"] if abs(r["programme_s"] - fault.at_s) <= within_s]


def names(recurring, part):
    """Whether the part is named as the cause, alone or among those that touched the same discs."""
    cause = recurring["cause"]
    return part == cause["id"] or part in cause["same_discs"]
