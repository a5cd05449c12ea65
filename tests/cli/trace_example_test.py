"""The worked example of docs/tour.md: the command that it shows answers what it shows.

    trace_example_test.py GOODSIDE [unittest options]
"""

import os
import subprocess
import sys
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
ROOT = Path(__file__).resolve().parents[2]
COMMAND = "goodside trace --family demo/trace/family.json --reports demo/trace/reports"


TOUR = ROOT / "docs" / "tour.md"
SHOWN_FAULTS = (4, 5)


def excerpt(answer):
    """The first line and the blocks of the faults that the tour shows, as it indents them."""
    blocks = answer.split("\n\n")
    kept = [blocks[0]] + [b for b in blocks[1:] if any(b.startswith(f"{n:>3}  ") for n in SHOWN_FAULTS)]
    return "\n".join(f"    {line}" if line else "" for line in "\n\n".join(kept).splitlines())


class Example(unittest.TestCase):
    def test_the_tour_shows_what_the_command_answers(self):
        self.assertIn(COMMAND, (ROOT / "README.md").read_text())
        before, after = TOUR.read_text().split(f"    {COMMAND}\n\n")
        shown, rest = after.split("\n\nFault 4")
        done = subprocess.run([GOODSIDE, *COMMAND.split()[1:]], capture_output=True, text=True, cwd=ROOT)
        self.assertEqual((done.returncode, done.stderr), (1, ""))
        now = excerpt(done.stdout)
        if os.environ.get("GOODSIDE_GOLDEN") == "rewrite":
            TOUR.write_text(f"{before}    {COMMAND}\n\n{now}\n\nFault 4{rest}")
        else:
            self.assertEqual(shown, now, "./dev golden rewrites it")


if __name__ == "__main__":
    unittest.main()
