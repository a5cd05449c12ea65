#!/usr/bin/python3
"""Presses, hears and writes down the reel of Tarnholt, a works that never was: make.py GOODSIDE

Sixteen discs of four stampers are played with faults put on chosen parts and heard, all through the built command. What
tracing reads of their reports is kept beside this script, with the family file.
"""

import json
import sys
import tempfile
from pathlib import Path

import soundfile

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1] / "tests" / "support"))
from programme import RATE_HZ, plucked  # noqa: E402
from traced_works import family, hear, reel  # noqa: E402

KEPT = {"schema": None, "reference": ["duration_s"], "geometry": ["rpm", "format"],
        "alignment": ["found", "programme_sigma_s"], "heard": None, "noise": ["weighted_dB"],
        "wow": ["eccentricity_m", "eccentricity_direction_deg"], "faults": None, "patterns": None}
OF_FAULTS = ["id", "kind", "programme_s", "angle_deg", "radius_m", "duration_s", "excess_dB", "audibility", "pattern"]


def reduced(report):
    out = {}
    for key, fields in KEPT.items():
        value = report.get(key)
        out[key] = {f: value[f] for f in fields if f in value} if fields and value else value
    out["faults"] = [{f: fault[f] for f in OF_FAULTS} for fault in report["faults"]]
    return out


def main():
    goodside, length_s = Path(sys.argv[1]).resolve(), 20.0
    works = reel()
    with tempfile.TemporaryDirectory() as held:
        soundfile.write(Path(held) / "cut.wav", plucked(length_s), RATE_HZ)
        hear(goodside, works, Path(held) / "cut.wav", length_s, held)
        (HERE / "reports").mkdir(exist_ok=True)
        for file in sorted((Path(held) / "reports").glob("*.json")):
            kept = reduced(json.loads(file.read_text()))
            (HERE / "reports" / file.name).write_text(json.dumps(kept, indent=1) + "\n")
    (HERE / "family.json").write_text(json.dumps(family(works), indent=1) + "\n")


if __name__ == "__main__":
    main()
