"""Pops well over a programme of pure tones, which a few cycles of a tone could be fitted to: none is taken for the programme.

    loud_pops_test.py GOODSIDE [unittest options]
"""

import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

import soundfile

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "support"))
import programme  # noqa: E402

GOODSIDE = str(pathlib.Path(sys.argv.pop(1)).resolve())
SIDE = ("--format", "7in-45", "--pitch", "0.2mm")
POPS_S = (1.07, 3.57, 6.07, 8.07, 10.57, 13.07, 16.57)  # between the changes of the note


class LoudPops(unittest.TestCase):
    def test_each_is_a_fault(self):
        with tempfile.TemporaryDirectory() as held:
            cut, capture, report = (pathlib.Path(held) / name for name in ("cut.wav", "side.wav", "side.json"))
            soundfile.write(cut, programme.notes(20.0), programme.RATE_HZ, subtype="PCM_24")
            pops = [word for at_s in POPS_S for word in ("--fault", f"pop@{at_s}s,peak=-6")]
            subprocess.run([GOODSIDE, "play", cut, "--out", capture, *SIDE, *pops], check=True, capture_output=True)
            heard = subprocess.run([GOODSIDE, "listen", capture, "--reference", cut, *SIDE, "--json", report], check=False,
                                   capture_output=True, text=True)
            self.assertEqual(heard.returncode, 1, heard.stdout)
            faults = [(fault["programme_s"], fault["audibility"]) for fault in json.loads(report.read_text())["faults"]]
            self.assertEqual(len(faults), len(POPS_S), faults)
            for at_s, (found_s, audibility) in zip(POPS_S, sorted(faults)):
                self.assertAlmostEqual(found_s, at_s, delta=0.003)
                self.assertEqual(audibility, "plain")


if __name__ == "__main__":
    unittest.main(verbosity=1)
