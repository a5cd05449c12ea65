#!/usr/bin/python3
"""Several discs of one cut, played by second_player.py, heard without the cut's audio: recall, precision and false alarms
with a consensus of 2, 3 and 5 captures beside those with the true cut.

    peer_cases.py --goodside PROGRAM --programme FOLDER --out FOLDER [--only 0,1] [--detail]

--programme holds the recordings named in TITLES, as .wav or .ogg. Each title becomes six discs, each with its own hole,
drive, surface and faults, all with the shared faults of the metal; made once, heard anew each time.

What counts
  found    a reported fault overlaps a true one of the heard disc (3 ms of grace); masked ones are never required.
  shared   ticks of the metal, on every disc, not all of them audible. Charged: reported of the disc. Listed: in reference.own_faults.
  leaked   a report that touches no fault of the heard disc but one of a peer's, by programme time.
  false    a report that touches nothing at all. Reports on the surface's own clicks count neither way.
"""
import argparse
import json
import pathlib
import subprocess
import tempfile
import time

import numpy as np
import soundfile
from scipy import signal

import make_cases
import second_player
from second_player import Player

GRACE_S = 0.004
DISCS = 6
TITLES = [
    ("strings on vinyl", "hungarian_dance_5", 0, 30, dict(hiss_dB=-62, rate_Hz=48000, **make_cases.LP), (10, -34, -12, "ttpb")),
    ("loud rock on vinyl", "rock", 30, 30, dict(hiss_dB=-56, rate_Hz=48000, **make_cases.LP), (10, -24, -6, "ttp")),
    ("quiet synth on vinyl, inner grooves", "synth", 30, 30, dict(hiss_dB=-62, rate_Hz=48000, **make_cases.LP_INNER), (10, -36, -12, "ttb")),
    ("strings on shellac", "hungarian_dance_5", 0, 30, dict(rate_Hz=48000, **make_cases.SHELLAC), (10, -18, -4, "ttp")),
]


def programme(folder, name, from_s, length_s):
    path = next(p for p in pathlib.Path(folder).iterdir() if p.stem.startswith(name))
    data, rate = second_player.read_audio(path)
    data = data[int(from_s * rate) : int((from_s + length_s) * rate)]
    fade = np.sin(np.linspace(0, np.pi / 2, int(0.05 * rate)))[:, None]
    data[: len(fade)] *= fade
    data[-len(fade) :] *= fade[::-1]
    return data * min(1.0, 0.9 / np.max(np.abs(data))), rate


def lay_tick(cut, at, rate, peak, rng):
    """A tick of the metal: in the groove of every disc, so on the cut that all are played from."""
    decay, hertz = rng.uniform(0.1e-3, 0.5e-3), rng.uniform(2e3, 9e3)
    t = np.arange(int(8 * decay * rate)) / rate
    wave = np.sin(2 * np.pi * hertz * t) * np.exp(-t / decay)
    cut[at : at + len(t)] += (peak * wave / np.max(np.abs(wave)))[:, None] * rng.choice([[1.0, 0.8], [1.0, -1.0], [1.0, 0.1]])[: cut.shape[1]]


def make(number, given):
    title, name, from_s, length_s, player, spread = TITLES[number]
    folder = pathlib.Path(given.out) / f"{number:02d}"
    if (folder / "disc5" / "truth.json").exists():
        return folder
    cut, rate = programme(given.programme, name, from_s, length_s)
    if player.get("mono"):
        cut = cut.mean(axis=1, keepdims=True)
    metal = np.random.default_rng(50 + number)
    shared = np.sort(metal.permutation(np.arange(1.5, length_s - 1.5, 1.7))[:8])
    pressed = cut.copy()
    for at in shared:
        lay_tick(pressed, int(at * rate), rate, 10 ** (metal.uniform(spread[1], spread[2] - 4) / 20), metal)
    for disc in range(DISCS):
        rng = np.random.default_rng(1000 * (number + 1) + disc)
        own = make_cases.scatter(rng, length_s, *spread)
        own = [f for f in own if np.min(np.abs(f["at_s"] - shared)) > 0.1]
        made = Player(seed=700 + 10 * number + disc, faults=tuple(own),
                      eccentricity_m=float(rng.uniform(5e-5, 3e-4)), direction_deg=float(rng.uniform(0, 360)),
                      speed_error_ppm=float(rng.uniform(-1500, 1500)), **make_cases.ARM, **player)
        capture, truth = second_player.play(pressed, rate, made)
        truth["shared"] = shared.tolist()
        second_player.write(folder / f"disc{disc}", capture, truth, cut, rate, second_player.options_of(made))
    return folder


def hear(given, arguments):
    with tempfile.TemporaryDirectory() as scratch:
        target = pathlib.Path(scratch) / "report.json"
        began = time.time()
        done = subprocess.run(["/usr/bin/time", "-f", "%M", given.goodside, "listen", *arguments, "--json", str(target)],
                              capture_output=True, text=True)
        seconds = time.time() - began
        if done.returncode not in (0, 1):
            raise SystemExit(f"exit {done.returncode}: {done.stderr}")
        return json.loads(target.read_text()), seconds, int(done.stderr.split()[-1]) / 1024


def spans(faults):
    """(from, to, programme time) of true faults, in capture time."""
    return [(f["onset_s"], f["end_s"], f["programme_s"]) for f in faults]


def touches(report, span):
    at, length = report["capture_s"], report.get("duration_s") or 0.0
    return at - GRACE_S <= span[1] and at + length + GRACE_S >= span[0]


def score(report, truths, peers, offset_s):
    truth = truths[0]
    own, track = truth["faults"], truth["track"]
    at_s = np.interp(truth["shared"], track["programme_s"], track["time_s"])
    shared = [(at - 0.001, at + 0.004) for at in at_s]
    reports = report["faults"]
    found = {k: [sum(any(touches(r, s) for r in reports) for s in spans([f])) for f in own
                 if f["audibility"] == k and f["required"]] for k in ("plain", "slight")}
    charged = [r for r in reports if any(touches(r, s) for s in shared) and not any(touches(r, s) for s in spans(own))]
    listed = 0
    marked = report["reference"].get("own_faults", [])
    for at in truth["shared"]:
        listed += any(a - 0.01 <= at + offset_s <= b + 0.01 for a, b in marked)
    rest = [r for r in reports if not any(touches(r, s) for s in [*spans(own), *shared])
            and not any(c["capture_s"] - GRACE_S <= r["capture_s"] + (r.get("duration_s") or 0) + GRACE_S
                        and c["capture_s"] + 0.02 >= r["capture_s"] - GRACE_S for c in truth["own_clicks"])]
    leaked, false = [], []
    for r in rest:
        at = float(np.interp(r["capture_s"], track["time_s"], track["programme_s"]))
        of_peer = [f"disc {k}: {f['kind']} {1e3 * (f['end_s'] - f['onset_s']):.0f} ms {f['audibility']}" for k in peers
                   for f in truths[k]["faults"] if -0.05 - (f["end_s"] - f["onset_s"]) < f["programme_s"] - at < 0.05]
        r["of"] = "; ".join(of_peer)
        (leaked if of_peer else false).append(r)
    return found, charged, leaked, false, listed, len(shared), len(marked)


def share(values):
    return f"{sum(values)}/{len(values)}"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("goodside", "programme", "out"):
        parser.add_argument(f"--{name}", required=True)
    parser.add_argument("--only", default="")
    parser.add_argument("--detail", action="store_true")
    given = parser.parse_args()
    for number in [int(v) for v in given.only.split(",") if v] or range(len(TITLES)):
        folder = make(number, given)
        truths = [json.loads((folder / f"disc{d}" / "truth.json").read_text()) for d in range(DISCS)]
        files = [str(folder / f"disc{d}" / "capture.wav") for d in range(DISCS)]
        options = truths[0]["options"] + (["--surface", "shellac"] if TITLES[number][4].get("mono") else [])
        print(TITLES[number][0])
        runs = [("cut", ["--reference", str(folder / "disc0" / truths[0]["reference"])], [])]
        runs += [(f"{n} captures", ["--peers", *files[1:n]], list(range(1, n))) for n in (2, 3, 5)]
        runs += [("one pressing", ["--reference", files[1], "--reference-kind", "approved pressing"], [1])]
        for name, how, peers in runs:
            report, seconds, peak_MB = hear(given, [files[0], *how, *options])
            start = (report.get("alignment") or {}).get("programme_start_s") or 0.0
            # the reference's time at the programme's first moment
            offset_s = truths[0]["programme_start_s"] - start
            found, charged, leaked, false, listed, shared, marked = score(report, truths, peers, offset_s)
            print(f"  {name:13} plain {share(found['plain']):6} slight {share(found['slight']):6} reported {len(report['faults']):3}"
                  f"  shared: charged {len(charged)}, listed {listed}/{shared} of {marked} marks;  leaked {len(leaked)}"
                  f"  false {len(false)}   noise {report['noise']['weighted_dB']}  {seconds:.1f} s {peak_MB:.0f} MB", flush=True)
            if given.detail:
                for label, rows in (("charged", charged), ("leaked", leaked), ("false", false)):
                    for r in rows:
                        print(f"      {label:8} {r['kind']:7} {r['capture_s']:.4f} s excess {r['excess_dB']:.1f} {r['audibility']} {r.get('of', '')}")


if __name__ == "__main__":
    main()
