"""The digest of ./dev numbers moves with the golden outputs, their names included, and with nothing else."""

import shutil
import subprocess
import tempfile
import unittest
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


class Numbers(unittest.TestCase):
    def test_the_digest_follows_the_golden_outputs_alone(self):
        with tempfile.TemporaryDirectory() as folder:
            top = Path(folder)
            shutil.copy(ROOT / "dev", top / "dev")
            golden = top / "tests" / "disc" / "golden"
            golden.mkdir(parents=True)
            (golden / "side.txt").write_text("turns 833\n", encoding="utf-8")

            def digest():
                done = subprocess.run([top / "dev", "numbers"], capture_output=True, text=True, check=True)
                return done.stdout

            first = digest()
            self.assertRegex(first, r"^[0-9a-f]{64}\n$")
            (top / "tests" / "disc" / "side_test.cpp").write_text("// not golden\n", encoding="utf-8")
            self.assertEqual(digest(), first)
            (golden / "side.txt").write_text("turns 834\n", encoding="utf-8")
            self.assertNotEqual(digest(), first)
            (golden / "side.txt").write_text("turns 833\n", encoding="utf-8")
            self.assertEqual(digest(), first)
            (golden / "side.txt").rename(golden / "other.txt")
            self.assertNotEqual(digest(), first)

    def test_an_unknown_option_is_refused(self):
        done = subprocess.run([ROOT / "dev", "--fast"], capture_output=True, text=True, check=False)
        self.assertEqual(done.returncode, 2)
        self.assertIn("there is no option --fast", done.stderr)


if __name__ == "__main__":
    unittest.main()
