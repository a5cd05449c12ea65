#!/usr/bin/python3
"""Non-fill told from dirt: makes seeded sides with patches of either, and scores `goodside listen` on them.

    non_fill.py make  --goodside PROGRAM --programme FOLDER --noise FOLDER --out FOLDER [--from 0 --to 45] [--seed N]
    non_fill.py score --goodside PROGRAM FOLDER [--aside | --seen] [--again] [--detail]

Sides come from two players: bench/second_player.py, and `goodside play` (every fifth). --programme holds .wav files of
music and speech; --noise the lp_surface_*.mp3 of dusty records, which lie under every seventh side with nothing added:
whatever is found there is dirt. Every third side (number % 3 == 2) is kept aside: nobody tunes to those.

A group is one patch of non-fill or one area of dirt. It counts once the bench reports anything of it; it is right when
most of what it reports there carries its nature. The contract's own fields are judged beside it: most of a non-fill's
faults bursts, most of dirt's not.
"""
import argparse
import collections
import json
import pathlib
import subprocess

import numpy as np
import soundfile

import second_player
from make_cases import ARM, LP, SHELLAC, SINGLE
from second_player import Player

LENGTH_S = 28.0
HARD_FROM = 60
GRACE_S = 0.003


def stretch(path, from_s, mono):
    info = soundfile.info(path)
    length = int(LENGTH_S * info.samplerate)
    first = int(min(from_s * info.samplerate, max(0, info.frames - length)))
    data, rate = soundfile.read(path, start=first, frames=length, always_2d=True)
    data = data.mean(axis=1, keepdims=True) if mono else data[:, :2]
    return data * min(1.0, 0.9 / max(np.max(np.abs(data)), 1e-6)), rate


def level_at(reference, rate, at_s, length_s):
    """Level of the programme above 1 kHz about a place, dB re full scale."""
    part = second_player.high_pass(reference, rate)[int(max(0, at_s) * rate) : int((at_s + length_s) * rate)]
    return 20 * np.log10(max(np.sqrt(np.mean(part**2)), 1e-4))


def groups_of(rng, reference, rate, rpm, floor_dB, hard):
    """Two or three groups one after another, of either nature. Hard: fainter ground, smaller patches, denser dirt."""
    turn = 60 / rpm
    turns = len(reference) / rate / turn
    count = int(rng.integers(2, 4))
    out = []
    for k in range(count):
        low, high = turns * (k + 0.12) / count, turns * (k + 0.9) / count
        size = int(min(rng.integers(3, 13) if rpm < 60 else rng.integers(5, 16), high - low))
        first = int(rng.uniform(low, max(low, high - size)))
        angle = float(rng.uniform(0, 330))
        level = max(level_at(reference, rate, first * turn, size * turn), floor_dB)
        area = {"from_turn": first, "turns": size, "angle_deg": angle, "pattern": f"group {k}",
                "channel": str(rng.choice(["left", "right", "both"]))}
        if rng.uniform() < 0.5:
            out.append(area | {"kind": "nonfill", "span_deg": float(rng.uniform(3 if hard else 6, 55)),
                               "texture": str(rng.choice(["hash", "rips", "grains", "zipper"])),
                               "ground_dB": float(rng.uniform(-26 if hard else -16, -4)), "creep_deg": float(rng.uniform(-1.5, 1.5)),
                               "lean": float(rng.uniform(-0.8, 0.8)), "level_dB": level + float(rng.uniform(-2, 16))})
        else:
            span = float(rng.choice([10, 30, 90, 360]))
            out.append(area | {"kind": "specks", "span_deg": span, "clump": float(rng.choice([1, 3, 6, 12] if hard else [1, 1.5, 4, 8])),
                               "count": int(rng.integers(8, 110 if hard else 45)),
                               "level_dB": level + float(rng.uniform(4, 24 if hard else 20))})
    return out


def by_our_player(given, groups, player, folder, reference, rate, seed):
    """The same groups as `goodside play` lays them: an arc with bursts standing out of it; specks as dirt and ticks."""
    rng = np.random.default_rng(seed)
    turn = 60 / player.rpm
    options = []
    for group in groups:
        at, level = (group["from_turn"] + group["angle_deg"] / 360) * turn, group["level_dB"]
        if group["kind"] == "nonfill":
            options.append(f"arc@{at:.4f}s,turns={group['turns']},span={group['span_deg']:.1f},peak={level + group['ground_dB'] + 4:.1f}dB,channel={group['channel']}")
            for k in range(group["turns"]):
                for _ in range(int(rng.integers(0, 4))):
                    where = at + (k + rng.uniform(0.1, 0.9) * group["span_deg"] / 360) * turn
                    options.append(f"burst@{where:.4f}s,duration={rng.uniform(5, 30):.1f}ms,peak={level + rng.normal(0, 2):.1f}dB,channel={group['channel']}")
        else:
            options.append(f"dirt@{at:.4f}s,turns={group['turns']},span={group['span_deg']:.0f},count={group['count']},peak={level:.1f}dB,channel={group['channel']}")
    command = [given.goodside, "play", str(folder / "reference.wav"), "--out", str(folder / "capture.wav"), "--rpm", f"{player.rpm}",
               "--outer-radius", f"{player.outer_radius_m * 1e3} mm", "--pitch", f"{player.pitch_m * 1e6} um", "--truth",
               str(folder / "played.json"), "--seed", str(seed)]
    for option in options:
        command += ["--fault", option]
    soundfile.write(folder / "reference.wav", reference, rate, subtype="PCM_24")
    subprocess.run(command, check=True, capture_output=True)
    played = json.loads((folder / "played.json").read_text())
    faults = []
    for fault in played["faults"]:
        k = next(i for i, g in enumerate(groups)
                 if g["from_turn"] - 1 <= fault["revolution"] <= g["from_turn"] + g["turns"] + 1)
        half = fault["duration_s"] / 2
        faults.append({"pattern": f"group {k}", "onset_s": fault["capture_s"] - half, "end_s": fault["capture_s"] + half})
    return {"faults": faults, "options": second_player.options_of(player), "reference": "reference.wav"}


def make(number, given):
    rng = np.random.default_rng(5000 + number + 1000 * given.seed)
    folder = pathlib.Path(given.out) / f"{number:03d}"
    folder.mkdir(parents=True, exist_ok=True)
    programmes = sorted(pathlib.Path(given.programme).glob("*.wav"))
    surfaces = sorted(pathlib.Path(given.noise).glob("lp_surface_*.mp3"))
    format_of = [LP, SHELLAC, LP, SINGLE][number % 4]
    dusty, ours = number % 7 == 6, number % 5 == 4
    path = programmes[int(rng.integers(len(programmes)))]
    mono = format_of is SHELLAC
    reference, rate = stretch(path, float(rng.uniform(5, 60)), mono)
    fields = dict(format_of) | ARM | {"eccentricity_m": float(rng.uniform(2e-5, 3e-4)), "speed_error_ppm": float(rng.normal(0, 1500)),
                                      "direction_deg": float(rng.uniform(0, 360)), "rate_Hz": int(rng.choice([48000, 96000])),
                                      "tilt_dB_octave": float(rng.uniform(-0.4, 0.4))}
    noise = None
    if not mono:
        fields["hiss_dB"] = float(rng.uniform(-70, -54))
        if dusty or rng.uniform() < 0.5:
            noise = str(surfaces[int(rng.integers(len(surfaces)))])
            fields["noise_dB"] = float(rng.uniform(-50, -34) if dusty else rng.uniform(-64, -50))
    floor_dB = -46 if mono else -52
    groups = [] if dusty else groups_of(rng, reference, rate, fields["rpm"], floor_dB, number >= HARD_FROM)
    player = Player(seed=number + 1000 * given.seed, faults=tuple(groups), **fields)
    if ours and not dusty:
        truth = by_our_player(given, groups, player, folder, reference, rate, number + 1)
    else:
        capture, truth = second_player.play(reference, rate, player, noise)
        second_player.write(folder, capture, truth, reference, rate, second_player.options_of(player))
        truth["reference"], truth["options"] = "reference.wav", second_player.options_of(player)
    truth["groups"], truth["dusty"], truth["programme"] = groups, dusty, path.name
    truth["by"] = "goodside play" if ours and not dusty else "second player"
    (folder / "truth.json").write_text(json.dumps({k: v for k, v in truth.items() if k not in ("track", "surface_100Hz_dB")}))
    print(f"{folder} {path.name} rpm {player.rpm:.1f}: " + ("dusty" if dusty else ", ".join(
        g.get("texture", f"specks {g.get('clump')}") + f" {g['level_dB']:.0f} dB" for g in groups)), flush=True)


def hear(given, folder, truth):
    target = folder / "report.json"
    if given.again or not target.exists():
        command = [given.goodside, "listen", str(folder / "capture.wav"), "--reference", str(folder / truth["reference"]),
                   *truth["options"], "--json", str(target)]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode not in (0, 1):
            raise SystemExit(f"{folder}: {done.stderr}")
    return json.loads(target.read_text())


def answers(reported):
    """What most of the reported faults say: by nature, and by kind."""
    natures = collections.Counter(f.get("nature") for f in reported)
    bursts = sum(f["kind"] == "burst" for f in reported)
    nature = None
    if natures["non-fill"] or natures["dirt"]:
        nature = "non-fill" if natures["non-fill"] > natures["dirt"] else "dirt"
    return nature, "non-fill" if 2 * bursts > len(reported) else "dirt", natures


def score(given):
    folders = sorted(p.parent for p in pathlib.Path(given.folder).glob("*/truth.json"))
    table, faults = collections.defaultdict(collections.Counter), collections.defaultdict(collections.Counter)
    for folder in folders:
        number = int(folder.name)
        if (given.aside and number % 3 != 2) or (given.seen and number % 3 == 2):
            continue
        truth = json.loads((folder / "truth.json").read_text())
        report = hear(given, folder, truth)
        heard = [f for f in report["faults"] if f["kind"] in ("tick", "pop", "burst")]
        if truth["dusty"]:
            nature, kind, natures = answers(heard)
            wrong = natures["non-fill"]
            table["dusty record"]["right" if 10 * wrong <= len(heard) else "wrong"] += 1
            for name, count in natures.items():
                faults["dusty record"][name] += count
            if given.detail:
                print(number, "dusty", truth["programme"], dict(natures))
            continue
        for k, group in enumerate(truth["groups"]):
            laid = [f for f in truth["faults"] if f["pattern"] == f"group {k}"]
            mine = [r for r in heard if any(r["capture_s"] - GRACE_S <= f["end_s"] and
                                            r["capture_s"] + r["duration_s"] + GRACE_S >= f["onset_s"] for f in laid)]
            want = "non-fill" if group["kind"] == "nonfill" else "dirt"
            row = f"{want}, {truth['by']}"
            if not mine:
                table[row]["not heard"] += 1
                continue
            nature, kind, natures = answers(mine)
            table[row]["right" if nature == want else "not told" if nature is None else "wrong"] += 1
            table[row]["right by kind"] += kind == want
            for name, count in natures.items():
                faults[row][name] += count
            if given.detail:
                patterns = collections.Counter(p["kind"] for p in report["patterns"] if set(p["faults"]) & {f["id"] for f in mine})
                print(number, "ok " if nature == want else "BAD", want, group.get("texture", group.get("clump")),
                      f"{group['level_dB']:.0f} dB span {group['span_deg']:.0f} x {group['turns']}", group.get("ground_dB"),
                      dict(natures), dict(collections.Counter(f["kind"] for f in mine)), dict(patterns), truth["programme"])
    total = collections.Counter()
    for row in sorted(table):
        print(f"{row:28s} {dict(table[row])}   faults {dict(faults[row])}")
        total += table[row]
    told = total["right"] + total["wrong"] + total["not told"]
    groups = told - table["dusty record"]["right"] - table["dusty record"]["wrong"]
    right = total["right"] - table["dusty record"]["right"]
    print(f"groups right by nature: {right} of {groups} = {100 * right / max(groups, 1):.1f} %; by kind: "
          f"{total['right by kind']} = {100 * total['right by kind'] / max(groups, 1):.1f} %; not heard {total['not heard']}")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    verbs = parser.add_subparsers(dest="verb", required=True)
    maker, scorer = verbs.add_parser("make"), verbs.add_parser("score")
    for name in ("programme", "noise", "out"):
        maker.add_argument(f"--{name}", required=True)
    for name, value in (("from", 0), ("to", 45), ("seed", 0)):
        maker.add_argument(f"--{name}", type=int, default=value, dest="first" if name == "from" else name)
    scorer.add_argument("folder")
    for name in ("aside", "seen", "again", "detail"):
        scorer.add_argument(f"--{name}", action="store_true")
    for verb in (maker, scorer):
        verb.add_argument("--goodside", required=True)
    given = parser.parse_args()
    if given.verb == "score":
        return score(given)
    for number in range(given.first, given.to):
        make(number, given)


if __name__ == "__main__":
    main()
