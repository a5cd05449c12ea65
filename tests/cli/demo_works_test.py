"""The demo's works, made by its script with the built program: the record holds, and its trace names the hurt stamper.

    demo_works_test.py GOODSIDE [unittest options]
"""

import json
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
MAKE = Path(__file__).resolve().parents[2] / "demo" / "make_works"
# As the script's remark says; the stamper pressed five test discs before the run.
HURT_S, HURT_FROM = 17.3, 5 + 150


def run(*words):
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False)


class DemoWorks(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        folder = Path(cls.held.name)
        cls.works = folder / "tarnholt"
        # What a call that was killed has left.
        (folder / "tarnholt.part" / "works").mkdir(parents=True)
        (folder / "tarnholt.part" / "works" / "record.db").write_text("half made")
        cls.made = run(MAKE, GOODSIDE, cls.works, folder / "no-demo-yet")
        if cls.made.returncode != 0:
            raise AssertionError(cls.made.stdout + cls.made.stderr)
        traced = folder / "trace.json"
        cls.status = run(GOODSIDE, "trace", "--works", cls.works, "--side", "SD-0001-A", "--json", traced)
        cls.trace = json.loads(traced.read_text())

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def test_the_record_holds_and_nothing_half_made_is_left(self):
        checked = run(GOODSIDE, "works", "check", "--in", self.works)
        self.assertEqual(checked.returncode, 0, checked.stderr)
        self.assertIn("every disc in one place", checked.stdout)
        self.assertFalse(self.works.with_name("tarnholt.part").exists())
        self.assertEqual(self.made.stderr, "")

    def test_the_trace_names_the_stamper_that_was_hurt_in_mid_run(self):
        self.assertEqual(self.status.returncode, 1, self.status.stderr)
        (recurring,) = self.trace["recurring"]
        self.assertAlmostEqual(recurring["programme_s"], HURT_S, delta=2e-3)
        cause = recurring["cause"]
        first = run(GOODSIDE, "works", "from", "R-00003-5", "130", "--in", self.works).stdout
        later = run(GOODSIDE, "works", "from", "R-00003-5", "320", "--in", self.works).stdout
        self.assertIn(cause["id"], first)
        self.assertNotIn(cause["id"], later)
        self.assertEqual(cause["level"], "stamper")
        self.assertLessEqual(cause["onset"]["low"], HURT_FROM)
        self.assertGreaterEqual(cause["onset"]["high"], HURT_FROM)
        self.assertLess(cause["since_birth"], 0.5)

    def test_a_folder_that_is_whole_stays_as_it_is(self):
        head = run(GOODSIDE, "works", "check", "--in", self.works).stdout
        again = run(MAKE, GOODSIDE, self.works, "nowhere")
        self.assertEqual((again.returncode, again.stdout, again.stderr), (0, "", ""))
        self.assertEqual(run(GOODSIDE, "works", "check", "--in", self.works).stdout, head)

    def test_a_folder_of_somebody_else_is_left_alone(self):
        other = Path(self.held.name) / "letters"
        other.mkdir()
        (other / "letter.txt").write_text("dear all")
        refused = run(MAKE, GOODSIDE, other)
        self.assertEqual(refused.returncode, 2)
        self.assertEqual(len(refused.stderr.splitlines()), 1)
        self.assertEqual([path.name for path in other.iterdir()], ["letter.txt"])


if __name__ == "__main__":
    unittest.main()
