#!/usr/bin/python3
"""Seeded cases that judge the listening bench, played by second_player.py.

    make_cases.py --programme FOLDER --noise FOLDER --out FOLDER --unseen FOLDER [--only 0,3,5] [--from 0 --to 12]
                  [--seed N]

--programme holds the recordings named in CASES as .wav; --noise holds lp_surface_*.mp3 and the hand-moved
lp_backspin.flac, lp_rewind.flac. Every third case goes to the unseen folder: nobody tunes to those.
Each case is capture.wav, reference.wav|flac, truth.json (with the options the bench is given).
"""
import argparse
import json
import pathlib
import time

import numpy as np
import soundfile
from scipy import signal

import second_player
from second_player import Player

ARM = {"arm_length_m": 0.2300, "arm_mount_m": 0.2145}
LONG_ARM = {"arm_length_m": 0.3050, "arm_mount_m": 0.2930}
LP = {"rpm": 100 / 3, "outer_radius_m": 0.146, "pitch_m": 105e-6}
LP_INNER = {"rpm": 100 / 3, "outer_radius_m": 0.078, "pitch_m": 120e-6, "stylus_radius_m": 13e-6}
SINGLE = {"rpm": 45.0, "outer_radius_m": 0.0835, "pitch_m": 112e-6, "stylus_radius_m": 17e-6}
SHELLAC = {"rpm": 78.26, "outer_radius_m": 0.119, "pitch_m": 265e-6, "stylus_radius_m": 62e-6, "mono": True,
           "full_scale_m_s": 0.09, "hiss_dB": -50.0, "hiss_slope_dB_octave": -1.0, "crackle_per_s": 25.0,
           "crackle_dB": -44.0, "resonance_Hz": 14e3, "rumble_dB": -52.0}


def scatter(rng, length_s, count, low_dB, high_dB, kinds):
    """`count` faults at least 0.35 s apart over the programme, of the kinds t(ick) p(op) b(urst) d(ropout)."""
    slots = np.arange(1.2, length_s - 1.0, max(0.4, (length_s - 2.2) / (1.4 * count)))
    rng.shuffle(slots)
    out = []
    for at in np.sort(slots[:count]):
        at = float(at + rng.uniform(0, 0.05))
        kind = kinds[rng.integers(len(kinds))]
        channel = str(rng.choice(["left", "right", "both", "both"]))
        level = float(rng.uniform(low_dB, high_dB))
        if kind == "t":
            shape = str(rng.choice(["gaussian", "ring", "step", "skew"]))
            plane = str(rng.choice(["mixed", "lateral", "vertical"]))
            out.append({"kind": "tick", "at_s": at, "level_dB": level, "channel": channel, "shape": shape, "plane": plane})
        elif kind == "p":
            out.append({"kind": "pop", "at_s": at, "level_dB": level + 6, "channel": channel})
        elif kind == "b":
            out.append({"kind": "burst", "at_s": at, "level_dB": level - 3, "length_s": float(rng.uniform(0.02, 0.3)),
                        "channel": str(rng.choice(["left", "right"]))})
        else:
            out.append({"kind": "dropout", "at_s": at, "length_s": float(rng.uniform(0.005, 0.08)),
                        "depth_dB": float(rng.uniform(8, 40)), "channel": channel})
    return out


def scratch(turn, turns, angle_deg, level_dB):
    return {"kind": "scratch", "from_turn": turn, "turns": turns, "angle_deg": angle_deg, "level_dB": level_dB}


def arc(turn, turns, angle_deg, span_deg, level_dB):
    return {"kind": "arc", "from_turn": turn, "turns": turns, "angle_deg": angle_deg, "span_deg": span_deg,
            "level_dB": level_dB, "channel": "right"}


def dirt(count, from_s, to_s, level_dB):
    return {"kind": "dirt", "count": count, "from_s": from_s, "to_s": to_s, "level_dB": level_dB}


def case(title, programme, from_s, length_s, noise=None, *, reference_Hz=None, spread=None, reference="wav", wrong=None,
         subtype="PCM_24", hand=None, **player):
    """`wrong`: the reference shown is of another title. `hand`: the capture is that recording of a hand-moved record."""
    return {**locals()}


CASES = [
    case("loud rock LP, real noise, ticks and pops", "rock_war", 20, 60, "lp_surface_11.mp3", noise_dB=-54,
         eccentricity_m=1.2e-4, direction_deg=70, **ARM, speed_error_ppm=1200, lines=((0.6, 2e-4), (7.3, 1.5e-4)),
         spread=(26, -26, -8, "ttp"), hum_dB=-66, **LP),
    case("strings LP, clean, no fault", "hungarian_dance_5", 0, 45.8, eccentricity_m=6e-5, direction_deg=200,
         **ARM, speed_error_ppm=-600, hiss_dB=-64, rumble_dB=-50, **LP),
    case("quiet synth LP outer, every kind, 48 k reference", "synth_nebula", 30, 75, "lp_surface_01.mp3", noise_dB=-58,
         eccentricity_m=2.5e-4, direction_deg=310, **LONG_ARM, lines=((1.1, 1e-4), (9.0, 2.5e-4)), all_pass_Hz=9e3,
         spread=(34, -40, -16, "ttpbd"), **LP),
    case("shellac 78, guitar, heavy-tailed crackle", "guitar_feelings", 50, 60, eccentricity_m=3e-4, direction_deg=25,
         speed_error_ppm=4200, wander_rms=5e-4, hiss_polar_dB=5, spread=(20, -20, -6, "ttpb"), **ARM, **SHELLAC),
    case("45 single, synth, skips and repeats", "synth_apex", 5, 70, eccentricity_m=1.8e-4, direction_deg=140, **ARM,
         jumps=((20.0, 1), (33.0, -1), (48.5, 2)), spread=(14, -30, -12, "ttd"), rate_Hz=48000, **SINGLE),
    case("LP inner grooves, loud rock, tracing distortion", "rock_escape", 60, 60, "lp_surface_05.mp3", noise_dB=-52,
         eccentricity_m=1e-4, direction_deg=260, **ARM, spread=(20, -24, -6, "ttb"), equalisation_error=(0.03, -0.04, 0.06),
         **LP_INNER),
    case("real noise over real music, nothing added", "vibe_ace", 0, 61.5, "lp_surface_15.mp3", noise_dB=-50,
         eccentricity_m=9e-5, direction_deg=15, **ARM, rate_Hz=44100, **LP),
    case("wrong title", "rock_metal", 10, 60, wrong="rock_feelings", eccentricity_m=1e-4, direction_deg=90, **LP),
    case("inverted and swapped, non-fill bursts and an arc", "synth_coherence", 40, 64, eccentricity_m=1.4e-4,
         direction_deg=330, **ARM, polarity=-1, swap=True, faults=(arc(8, 9, 200, 35, -24),), hiss_dB=-58,
         spread=(16, -28, -12, "bbt"), tilt_dB_octave=-0.4, **LP),
    case("speech 78, pauses, crackle", "speech", 0, 44, eccentricity_m=2e-4, direction_deg=120, speed_error_ppm=-2500,
         wander_rms=3e-4, spread=(14, -22, -8, "tp"), hiss_polar_dB=4, **SHELLAC),
    case("excerpt of 20 s from a longer side, 192 k", "synth_journey", 60, 90, eccentricity_m=2e-4, direction_deg=45,
         **ARM, excerpt_s=(41.3, 61.3), rate_Hz=192000, spread=(40, -36, -14, "ttp"), **LP),
    case("radial scratch, dirt and dropouts, strings", "hungarian_dance_5", 0, 45.8, "lp_surface_21.mp3",
         noise_dB=-60, eccentricity_m=5e-5, direction_deg=180, **ARM, warp_m=4e-4, balance_dB=-1.5, reference="flac",
         faults=(scratch(6, 8, 77, -24), dirt(12, 25, 40, -30)), spread=(8, -34, -18, "d"), **LP),
    case("hand-moved record, backspin", "vibe_ace", 0, 60, hand="lp_backspin.flac", **LP),
    case("locked groove near the end", "rock_feelings", 100, 55, eccentricity_m=1.5e-4, direction_deg=10, **ARM,
         jumps=((40.0, -1),) * 5, spread=(8, -22, -8, "t"), **LP),
    case("echo at one turn, quiet synth", "synth_journey", 0, 70, echo_lag_dB=-46.0, echo_lead_dB=-42.0, eccentricity_m=1e-4,
         direction_deg=95, **ARM, hiss_dB=-70, **LP),
    case("limiter and shelf between reference and cut", "rock_metal", 20, 60, "lp_surface_24.mp3", noise_dB=-54,
         cut_shelf_dB=-2.5, cut_limit=0.7, eccentricity_m=8e-5, direction_deg=235, **ARM, spread=(16, -22, -6, "ttp"), **LP),
    case("shellac 78, strings, no added fault", "hungarian_dance_5", 0, 45.8, eccentricity_m=4e-4, direction_deg=290,
         **ARM, speed_error_ppm=-8000, wander_rms=6e-4, hiss_polar_dB=6, **SHELLAC),
    case("45 single, loud synth, clipped capture", "synth_enemy", 60, 50, clip=0.72, eccentricity_m=2.2e-4, direction_deg=60,
         **ARM, spread=(10, -20, -6, "t"), rate_Hz=44100, **SINGLE),
    case("well-centred disc on a poor drive", "vibe_ace", 0, 61.5, wander_rms=8e-4,
         lines=((0.5556, 1e-4), (2.2, 4e-4), (8.8, 4e-4)), eccentricity_m=1.5e-5, direction_deg=150, **ARM,
         spread=(10, -30, -14, "t"), **LP),
    case("hand-moved record, rewind", "synth_apex", 0, 60, hand="lp_rewind.flac", **LP),
    case("far off centre, long synth", "synth_awakening", 20, 100, "lp_surface_03.mp3", noise_dB=-56, eccentricity_m=8e-4,
         direction_deg=350, **ARM, spread=(24, -30, -10, "ttpbd"), **LP),
    case("78 loud rock, worn, much crackle", "rock_war", 60, 60, eccentricity_m=2.5e-4, direction_deg=170, speed_error_ppm=2000,
         spread=(18, -14, -2, "ttpb"), **ARM, **(SHELLAC | {"crackle_per_s": 60.0, "crackle_dB": -38.0, "hiss_dB": -44.0})),
    case("mono programme in a stereo groove, flac reference", "speech", 0, 44, "lp_surface_12.mp3", noise_dB=-58,
         eccentricity_m=1.1e-4, direction_deg=280, **ARM, reference="flac", spread=(12, -30, -14, "t"), **LP),
    case("excerpt of 20 s, inner grooves", "synth_coherence", 100, 60, eccentricity_m=1.5e-4, direction_deg=30, **ARM,
         excerpt_s=(30.0, 50.0), spread=(24, -30, -10, "ttb"), **LP_INNER),
    case("16-bit, quiet, strong hum and rumble", "synth_journey", 200, 60, hum_dB=-42, rumble_dB=-38, gain_dB=-16,
         subtype="PCM_16", eccentricity_m=1e-4, direction_deg=215, **ARM, spread=(18, -46, -24, "ttp"), **LP),
    case("192 k capture, 96 k reference, ticks", "synth_nebula", 150, 50, reference_Hz=96000, rate_Hz=192000,
         eccentricity_m=1.3e-4, direction_deg=5, **ARM, spread=(20, -40, -16, "t"), **LP),
    case("skips on a 78", "guitar_feelings", 150, 55, eccentricity_m=3e-4, direction_deg=80, **ARM,
         jumps=((18.0, 1), (36.0, -1)), spread=(8, -16, -6, "t"), **SHELLAC),
    case("long side, LP, real noise", "synth_enemy", 0, 255, "lp_surface_25.mp3", noise_dB=-54, eccentricity_m=1.6e-4,
         direction_deg=125, **ARM, rate_Hz=48000, spread=(60, -24, -6, "ttpbd"), lines=((3.3, 2e-4),), **LP),
    case("long side, clean", "synth_coherence", 0, 228, eccentricity_m=7e-5, direction_deg=65, **ARM, rate_Hz=44100, **LP),
    case("long 78, shellac, nearly 4 minutes", "guitar_feelings", 20, 230, eccentricity_m=2e-4, direction_deg=240, **ARM,
         rate_Hz=48000, speed_error_ppm=1500, spread=(50, -20, -6, "ttpb"), hiss_polar_dB=4, **SHELLAC),
]


def fetch(folder, name, from_s, length_s, rate_Hz):
    """A stretch of a programme, faded at both ends; "speech" joins the two readings with pauses."""
    folder = pathlib.Path(folder)
    if name == "speech":
        one, two = (second_player.read_audio(folder / f"{n}.wav") for n in ("speech_3436", "speech_198"))
        gap = np.zeros((int(0.9 * one[1]), 1))
        data = np.concatenate([gap, one[0], gap, two[0] * 1.6, gap, one[0]])
        data, rate = signal.resample_poly(data, 441, 160, axis=0), 44100
    else:
        data, rate = second_player.read_audio(folder / f"{name}.wav")
    data = data[int(from_s * rate) : int((from_s + length_s) * rate)].copy()
    fade = np.sin(np.linspace(0, np.pi / 2, int(0.05 * rate)))[:, None]
    data[: len(fade)] *= fade
    data[-len(fade) :] *= fade[::-1]
    data *= min(1.0, 0.9 / np.max(np.abs(data)))
    if rate_Hz and rate_Hz != rate:
        common = np.gcd(rate_Hz, rate)
        data = signal.resample_poly(data, rate_Hz // common, rate // common, axis=0, window=("kaiser", 9.0))
        rate = rate_Hz
    return data, rate


def moved_by_hand(path, seconds):
    """The recording to and fro for `seconds`, and a truth that wants nothing found."""
    data, rate = second_player.read_audio(path)
    data = np.tile(data, (int(np.ceil(seconds * rate / len(data))), 1))[: seconds * rate]
    truth = {"schema": "goodside.second_player/1", "found": False, "player": {"rate_Hz": rate, **LP},
             "faults": [], "jumps": [], "own_clicks": [], "clipped": []}
    return data, truth


def make(number, spec, given, folder):
    def stretch(name):
        return fetch(given.programme, name, spec["from_s"] + 3 * given.seed, spec["length_s"], spec["reference_Hz"])

    reference, rate = stretch(spec["programme"])
    fields = dict(spec["player"])
    if spec["spread"]:
        laid = scatter(np.random.default_rng(1000 + number + 10000 * given.seed), len(reference) / rate, *spec["spread"])
        fields["faults"] = (*fields.get("faults", ()), *laid)
    player = Player(seed=100 + number + 10000 * given.seed, **fields)
    if player.mono:
        reference = reference.mean(axis=1, keepdims=True)
    if spec["hand"]:
        capture, truth = moved_by_hand(pathlib.Path(given.noise) / spec["hand"], 12)
    else:
        noise = pathlib.Path(given.noise) / spec["noise"] if spec["noise"] else None
        capture, truth = second_player.play(reference, rate, player, noise)
    if spec["wrong"]:
        truth["found"] = False
        reference, rate = stretch(spec["wrong"])
    truth["title"] = spec["title"]
    second_player.write(folder, capture, truth, reference, rate, second_player.options_of(player), spec["reference"],
                        spec["subtype"])


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    for name in ("programme", "noise", "out", "unseen"):
        parser.add_argument(f"--{name}", required=True)
    parser.add_argument("--only", default="")
    parser.add_argument("--seed", type=int, default=0, help="another set: fresh faults and drive, programme from 3 s later on")
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--to", type=int, default=len(CASES))
    given = parser.parse_args()
    chosen = [int(v) for v in given.only.split(",") if v] or range(given.first, min(given.to, len(CASES)))
    for number in chosen:
        began = time.time()
        folder = pathlib.Path(given.unseen if number % 3 == 2 else given.out) / f"{number:02d}"
        make(number, CASES[number], given, folder)
        truth = json.loads((folder / "truth.json").read_text())
        count = {k: sum(f["audibility"] == k for f in truth["faults"]) for k in ("plain", "slight", "masked")}
        length = soundfile.info(folder / "capture.wav").duration
        print(f"{folder}  {CASES[number]['title']}: {length:.0f} s, {count}, {len(truth['jumps'])} jumps, "
              f"{len(truth['own_clicks'])} of the surface's own; {time.time() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
