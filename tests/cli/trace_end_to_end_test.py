"""From the groove to the part that did it, through the built command: discs are played with faults put on chosen parts,
the captures are heard, the reports are traced, and every planted plain fault's cause is named.

    trace_end_to_end_test.py GOODSIDE [unittest options]
"""

import sys
import tempfile
import unittest
from pathlib import Path

import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from programme import RATE_HZ, plucked  # noqa: E402
from traced_works import found, hear, names, reel, trace  # noqa: E402

GOODSIDE = Path(sys.argv.pop(1)).resolve()
LENGTH_S = 20.0
KEPT = Path(sys.argv.pop(1)) if len(sys.argv) > 1 and not sys.argv[1].startswith("-") else None

WORKS = reel()


class FromGrooveToPart(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        folder = KEPT or Path(cls.held.name)
        folder.mkdir(exist_ok=True)
        cut = folder / "cut.wav"
        soundfile.write(cut, plucked(LENGTH_S), RATE_HZ)
        hear(GOODSIDE, WORKS, cut, LENGTH_S, folder)
        cls.shown, cls.trace = trace(GOODSIDE, WORKS, folder)

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def test_every_planted_fault_is_found_once_on_the_discs_that_carry_it(self):
        for fault in WORKS.planted:
            with self.subTest(part=fault.part):
                there = found(self.trace, fault)
                self.assertEqual(len(there), 1)
                self.assertEqual(sorted(there[0]["on"]), sorted(f"D{n}" for n in WORKS.touched(fault)))
                self.assertEqual(there[0]["audibility"], "plain")

    def test_every_planted_fault_has_its_cause_named(self):
        for fault in WORKS.planted:
            with self.subTest(part=fault.part):
                for recurring in found(self.trace, fault):
                    self.assertTrue(names(recurring, fault.part), (recurring["cause"], recurring["alternatives"]))

    def test_nothing_else_recurs_plainly(self):
        # Slight residues of hearing at the programme's own attacks fall together too (docs/trace.md, limits): a matter
        # of listening, not judged here but that they stand below all plain ones.
        plain = [r for r in self.trace["recurring"] if r["audibility"] == "plain"]
        self.assertEqual(len(plain), len(WORKS.planted))
        self.assertEqual(plain, self.trace["recurring"][: len(plain)])
        self.assertEqual(self.trace["refused"], [])

    def test_the_onset_lies_in_its_interval(self):
        for fault in WORKS.planted:
            with self.subTest(part=fault.part):
                first = min(m[3] for m in WORKS.mountings if fault.part in WORKS.line_of(m[3]))
                truth = max(fault.since, first)
                for recurring in found(self.trace, fault):
                    onset = recurring["cause"]["onset"]
                    self.assertLessEqual(onset["low"], truth)
                    self.assertGreaterEqual(onset["high"], truth)

    def test_one_that_began_in_mid_life_is_told_to_have(self):
        (late,) = found(self.trace, WORKS.planted[-1])
        self.assertLess(late["cause"]["since_birth"], 0.5)
        self.assertLess(late["cause"]["onset"]["high"] - late["cause"]["onset"]["low"], 100)
        self.assertNotIn("K1", late["suspect"]["cartons"])
        self.assertIn("K5", late["suspect"]["cartons"])

    def test_the_terminal_names_each_and_what_to_do(self):
        self.assertIn(f"{len(self.trace['recurring'])} open recurring faults", self.shown)
        for word in ("MT5", "M1", "S1", "S4", "Next: ", "Caution: "):
            self.assertIn(word, self.shown)
        for line in self.shown.splitlines():
            self.assertLessEqual(len(line), 80, line)


if __name__ == "__main__":
    unittest.main()
