#!/usr/bin/python3
"""Scores `goodside listen` without --reference on the cases of make_cases.py against their truth.

    score_alone.py --goodside PROGRAM FOLDER...

FOLDER is one case, or a folder of cases. Found: a report overlaps the true fault (3 ms of grace). False: it touches no
true fault, no click of the surface's own, no clipped stretch and no seam.
"""
import argparse
import json
import pathlib
import tempfile
from collections import Counter

import measured

GRACE_S, SEAM_S = 0.003, 0.06


def touches(fault, from_s, to_s):
    return fault["capture_s"] - GRACE_S <= to_s and fault["capture_s"] + fault["duration_s"] + GRACE_S >= from_s


def side_options(options):
    """What the bench is given, less what needs the programme's time."""
    return [word for word in options if not word.startswith("--reference")]


def score(program, folder, target):
    truth = json.loads((folder / "truth.json").read_text())
    command = [program, "listen", str(folder / "capture.wav"), *side_options(truth["options"]), "--json", str(target)]
    status, seconds, peak_MB, message = measured.measure(command)
    if status not in (0, 1):
        print(f"{folder.name}  exit {status}: {message}")
        return None
    report = json.loads(target.read_text())
    faults, length_s = report["faults"], report["capture"]["duration_s"]
    known = [(f["onset_s"], f["end_s"]) for f in truth["faults"]]
    known += [(c["capture_s"] - GRACE_S, c["capture_s"] + GRACE_S) for c in truth["own_clicks"]]
    known += [(c["from_s"], c["to_s"]) for c in truth["clipped"]]
    known += [(j["capture_s"] - SEAM_S, j["capture_s"] + SEAM_S) for j in truth["jumps"]]
    wrong = sum(not any(touches(f, *span) for span in known) for f in faults)
    found, wanted = Counter(), Counter()
    for true in truth["faults"]:
        if true["audibility"] != "plain":
            continue
        wanted[true["kind"]] += 1
        found[true["kind"]] += any(touches(f, true["onset_s"], true["end_s"]) for f in faults)
    told = ", ".join(f"{found[kind]}/{wanted[kind]} {kind}" for kind in sorted(wanted)) or "no plain fault"
    print(f"{folder.name}  {truth.get('title', '')}: {told}; {len(faults)} reported, {wrong} false; "
          f"{length_s / seconds:.0f} x real time, {peak_MB:.0f} MB")
    return found, wanted, wrong, length_s


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--goodside", required=True)
    parser.add_argument("folders", nargs="+", type=pathlib.Path)
    given = parser.parse_args()
    cases = sorted(p.parent for top in given.folders for p in top.glob("**/truth.json"))
    found, wanted, wrong, length_s = Counter(), Counter(), 0, 0.0
    with tempfile.TemporaryDirectory() as folder:
        for case in cases:
            if one := score(given.goodside, case, pathlib.Path(folder) / "report.json"):
                found, wanted = found + one[0], wanted + one[1]
                wrong, length_s = wrong + one[2], length_s + one[3]
    told = ", ".join(f"{found[kind]}/{wanted[kind]} {kind}" for kind in sorted(wanted))
    print(f"plain faults found: {told}; {wrong} false in {length_s / 60:.1f} min, {60 * wrong / max(length_s, 1):.2f} a minute")


if __name__ == "__main__":
    main()
