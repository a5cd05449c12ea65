#!/usr/bin/python3
"""Speed, memory and cost against length of `goodside listen`, beside plain_listen.py on the same side in one go.

    run_bench.py --goodside PROGRAM [--programme RECORDING] [--seconds 320] [--runs 3] [--no-plain] [--folder FOLDER]

One side is played by second_player.py (96 kHz, 24 bit, stereo, with faults and a hole off centre) from RECORDING, looped
as needed, or from a synthesised programme; then cut to a quarter, a half and the whole, as WAV, and the half as FLAC. Both
programs hear the half side; the quarter shows what start-up costs (80 s at the default length). Wall time is the best
of --runs, in a fresh process each, files in the page cache; memory is the process's peak resident set.
"""
import argparse
import os
import pathlib
import sys
import tempfile

import numpy as np
import soundfile
from scipy import signal

import measured
import second_player

RATE_HZ = 96000
HERE = pathlib.Path(__file__).resolve().parent


def synthesised(seconds, rate=RATE_HZ, seed=5):
    """Chords of plucked harmonics over brushed noise: dense enough to track, with rests and a wide image."""
    rng = np.random.default_rng(seed)
    out = np.zeros((int(seconds * rate), 2))
    at = 0.0
    while at < seconds - 2:
        t = np.arange(int(rng.uniform(0.6, 1.9) * rate)) / rate
        for _ in range(rng.integers(1, 5)):
            pitch = 110 * 2 ** (rng.integers(0, 36) / 12)
            tone = sum(np.sin(2 * np.pi * pitch * k * t + rng.uniform(0, 6)) / k**1.2 * np.exp(-t * (1 + 0.7 * k)) for k in range(1, 14)
                       if pitch * k < 16000)
            pan = rng.uniform(0.2, 0.8)
            n = int(at * rate)
            out[n : n + t.size] += (0.12 * tone[:, None] * np.array([1 - pan, pan]))[: len(out) - n]
        hiss = signal.lfilter([1, -0.6], 1, rng.standard_normal(int(0.08 * rate))) * np.exp(-np.arange(int(0.08 * rate)) / 1500)
        n = int(at * rate)
        out[n : n + hiss.size] += 0.03 * hiss[:, None]
        at += rng.choice([0.25, 0.25, 0.5, 0.75])
    return 0.7 * out / np.max(np.abs(out))


def programme_of(path, seconds):
    if path is None:
        return synthesised(seconds), RATE_HZ
    data, rate = second_player.read_audio(path)
    data = data[:, :2] if data.shape[1] > 1 else np.repeat(data, 2, axis=1)
    return np.tile(data, (int(np.ceil(seconds * rate / len(data))), 1))[: int(seconds * rate)], rate


def play_side(folder, seconds, path):
    """The whole side and its cuts. Returns {name: (capture, reference, seconds)} and the player."""
    reference, rate = programme_of(path, seconds)
    rng = np.random.default_rng(9)
    faults = tuple({"kind": "tick", "at_s": float(at), "level_dB": float(rng.uniform(-26, -10)), "channel": "both",
                    "shape": str(rng.choice(["gaussian", "ring", "skew"]))} for at in np.arange(5, seconds - 5, 7.3))
    player = second_player.Player(rate_Hz=RATE_HZ, eccentricity_m=1.5e-4, direction_deg=60, arm_length_m=0.23,
                                  arm_mount_m=0.2145, speed_error_ppm=700, faults=faults, pitch_m=100e-6)
    capture, truth = second_player.play(reference, rate, player)
    lead_s = truth["programme_start_s"]
    sides = {}
    for name, part, kind in (("quarter", 0.25, "wav"), ("half", 0.5, "wav"), ("whole", 1.0, "wav"), ("half", 0.5, "flac")):
        length = part * seconds
        files = [folder / f"{name}_{what}.{kind}" for what in ("capture", "reference")]
        soundfile.write(files[0], capture[: int((lead_s + length) * RATE_HZ)], RATE_HZ, subtype="PCM_24")
        soundfile.write(files[1], reference[: int((length + 2) * rate)], rate, subtype="PCM_24")
        sides[f"{name} {kind}"] = (*files, soundfile.info(files[0]).duration)
    return sides, player


def run(command, accepted=(0,)):
    """Wall seconds and peak resident MB of one process."""
    status, seconds, peak_MB, message = measured.measure(command)
    if status not in accepted:
        raise SystemExit(f"{command[0]} ended with {status}: {message}")
    return seconds, peak_MB


def best(command, runs, accepted=(0,)):
    return tuple(map(min, zip(*(run(command, accepted) for _ in range(runs)))))


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--goodside", required=True)
    parser.add_argument("--programme")
    parser.add_argument("--seconds", type=float, default=320.0, help="of the whole side; its quarter is the short one")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--no-plain", action="store_true")
    parser.add_argument("--folder", help="kept; else a temporary one")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as passing:
        folder = pathlib.Path(given.folder or passing)
        folder.mkdir(parents=True, exist_ok=True)
        sides, player = play_side(folder, given.seconds, given.programme)
        print(f"one side of {given.seconds:.0f} s, 96 kHz 24-bit stereo, {os.cpu_count()} cores; best of {given.runs}")
        print(f"{'side':14s} {'audio s':>8s} {'wall s':>8s} {'x real time':>12s} {'ms a second':>12s} {'peak MB':>8s}")
        figures = {}
        for name, (capture, reference, length) in sides.items():
            command = [given.goodside, "listen", str(capture), "--reference", str(reference), *second_player.options_of(player),
                       "--json", str(folder / "report.json")]
            wall, peak = best(command, given.runs, (0, 1))
            figures[name] = (length, wall)
            print(f"{name:14s} {length:8.1f} {wall:8.2f} {length / wall:12.1f} {1000 * wall / length:12.2f} {peak:8.1f}", flush=True)
        (short, t_short), (half, t_half), (whole, t_whole) = (figures[f"{n} wav"] for n in ("quarter", "half", "whole"))
        slope = (t_whole - t_short) / (whole - short)
        print(f"cost against length: {1000 * slope:.2f} ms a further second, {1000 * (t_short - slope * short):.0f} ms once; "
              f"the whole costs {t_whole / whole / (t_half / half):.2f} of the half, a second of audio")
        if not given.no_plain:
            capture, reference, length = sides["half wav"]
            wall, peak = run([sys.executable, str(HERE / "plain_listen.py"), str(capture), "--reference", str(reference), "--rpm",
                              str(player.rpm), "--outer-radius-mm", str(1e3 * player.outer_radius_m), "--pitch-um",
                              str(1e6 * player.pitch_m), "--json", str(folder / "plain.json")])
            print(f"{'plain script':14s} {length:8.1f} {wall:8.2f} {length / wall:12.1f} {1000 * wall / length:12.2f} {peak:8.1f}")
            print(f"goodside is {wall / t_half:.0f} times as fast as the plain script on the half side")


if __name__ == "__main__":
    main()
