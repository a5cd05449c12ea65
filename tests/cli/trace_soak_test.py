"""The long run from the groove to the part: works drawn at random, each heard and traced through the built command.

    trace_soak_test.py GOODSIDE [unittest options]

With GOODSIDE_MUSIC naming a folder of recordings (.wav, .flac, .ogg, 30 s or longer) these are cut in turn, else plucked
strings are. Every works has 1 to 3 mothers, 3 to 6 stampers of two mountings each, 30 heard discs and 8 faults on parts
drawn at random, a third of which begin in mid-life, and two faults of each disc alone. Asked for: every planted fault
on three heard discs or more is found and its cause named (alone, or with those that touched the same discs), and nothing
else recurs plainly.
"""

import os
import sys
import tempfile
import unittest
from pathlib import Path

import numpy
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from programme import RATE_HZ, plucked  # noqa: E402
from traced_works import Planted, Works, found, hear, names, trace  # noqa: E402

GOODSIDE = Path(sys.argv.pop(1)).resolve()
MUSIC = os.environ.get("GOODSIDE_MUSIC", "")
WORKS, DISCS, FAULTS, LENGTH_S = 3, 30, 8, 30.0


def programme(seed):
    """Half a minute of stereo at 48 kHz."""
    files = sorted(p for p in Path(MUSIC).glob("*") if p.suffix in (".wav", ".flac", ".ogg")) if MUSIC else []
    files = [p for p in files if soundfile.info(p).duration >= LENGTH_S + 2.0]
    if not files:
        return plucked(LENGTH_S, seed=seed)
    audio, rate_Hz = soundfile.read(files[seed % len(files)], always_2d=True, frames=int((LENGTH_S + 2.0) * 96000))
    from scipy import signal

    audio = signal.resample_poly(audio, RATE_HZ, rate_Hz)[int(1.0 * RATE_HZ):int((1.0 + LENGTH_S) * RATE_HZ)]
    audio = numpy.repeat(audio, 2, axis=1)[:, :2] if audio.shape[1] == 1 else audio[:, :2]
    return 0.4 * audio / numpy.abs(audio).max()


def drawn(seed):
    rng = numpy.random.default_rng([seed, 5])
    mothers = int(rng.integers(1, 4))
    stampers = int(rng.integers(max(3, mothers), 7))
    parts = [("C1", "cut", None, None), ("F1", "father", "C1", 1)]
    parts += [(f"M{m + 1}", "mother", "F1", m + 1) for m in range(mothers)]
    mountings, grown = [], {}
    span = 1200 // (2 * stampers)
    for s in range(stampers):
        mother = f"M{s * mothers // stampers + 1}"
        grown[mother] = grown.get(mother, 0) + 1
        parts.append((f"S{s + 1}", "stamper", mother, grown[mother]))
        for k in range(2):
            first = (2 * s + k) * span + 1
            mountings.append((f"MT{2 * s + k + 1}", f"S{s + 1}", f"P{s % 2 + 1}", first, first + span - 1))
    last = mountings[-1][4]
    heard = sorted(int(n) for n in rng.choice(numpy.arange(1, last + 1), DISCS, replace=False))
    works = Works(parts=parts, mountings=mountings, planted=[], heard=heard, own_faults=2, seed=seed,
                  stock=[(f"K{k + 1}", 50 * k + 1, min(50 * k + 50, last)) for k in range((last + 49) // 50)])
    places = numpy.linspace(1.5, LENGTH_S - 1.5, FAULTS) + rng.uniform(-0.3, 0.3, FAULTS)
    for at_s in places:
        level = str(rng.choice(["cut", "mother", "stamper", "stamper", "mounting"]))
        if level == "cut":
            part, first, end = "C1", 1, last
        elif level == "mounting":
            part, _, _, first, end = mountings[rng.integers(len(mountings))]
        else:
            part = str(rng.choice([p[0] for p in parts if p[1] == level]))
            own = [m for m in mountings if part in works.line_of(m[3])]
            first, end = own[0][3], own[-1][4]
        late = level == "stamper" and rng.uniform() < 0.5
        since = int(rng.integers(first, first + (end - first) // 2)) if late else first
        works.planted.append(Planted(level, part, float(at_s), str(rng.choice(["tick", "pop"])),
                                     float(rng.uniform(-13, -8)), since=since))
    return works


class Soak(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.runs = []
        cls.held = tempfile.TemporaryDirectory()
        for seed in range(WORKS):
            folder = Path(cls.held.name) / str(seed)
            folder.mkdir()
            soundfile.write(folder / "cut.wav", programme(seed), RATE_HZ)
            works = drawn(seed)
            hear(GOODSIDE, works, folder / "cut.wav", LENGTH_S, folder, cores=os.cpu_count() or 1)
            cls.runs.append((works, *trace(GOODSIDE, works, folder)))

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def test_every_planted_fault_is_found_and_its_cause_named(self):
        for seed, (works, _, traced) in enumerate(self.runs):
            for fault in works.planted:
                if len(works.touched(fault)) < 3:
                    continue
                with self.subTest(works=seed, part=fault.part, at_s=fault.at_s):
                    there = found(traced, fault)
                    self.assertEqual(len(there), 1)
                    self.assertTrue(names(there[0], fault.part), (fault, there[0]["on"], there[0]["cause"],
                                                                  there[0]["alternatives"]))

    def test_nothing_recurs_plainly_that_was_not_planted(self):
        for works, _, traced in self.runs:
            for recurring in (r for r in traced["recurring"] if r["audibility"] == "plain"):
                self.assertTrue(any(recurring in found(traced, f) for f in works.planted), recurring["programme_s"])

    def test_the_onset_lies_in_its_interval_but_for_one_in_ten(self):
        inside = told = 0
        for works, _, traced in self.runs:
            for fault in works.planted:
                for recurring in found(traced, fault):
                    onset = recurring["cause"]["onset"]
                    told += 1
                    inside += onset["low"] <= fault.since <= onset["high"]
        self.assertGreater(told, 10)
        self.assertGreaterEqual(inside, 0.8 * told)


if __name__ == "__main__":
    unittest.main()
