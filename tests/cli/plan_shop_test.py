"""`plan schedule` and `plan promise` through the built command: a good run, a re-plan, every bad shop file.

    plan_shop_test.py GOODSIDE [unittest options]
"""

import json
import os
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = sys.argv.pop(1)
ROOT = Path(__file__).resolve().parents[2]
SHOP = ROOT / "demo" / "plan" / "works.toml"


def run(*words, folder):
    return subprocess.run([GOODSIDE, "plan", *map(str, words)], cwd=folder, capture_output=True, text=True, timeout=120)


class Planned(unittest.TestCase):
    def setUp(self):
        self.held = tempfile.TemporaryDirectory()
        self.folder = Path(self.held.name)
        self.addCleanup(self.held.cleanup)

    def schedule(self, *words):
        return run("schedule", "--rounds", "1", *words, folder=self.folder)

    def test_schedule_says_and_writes_the_same_for_any_number_of_threads(self):
        one = self.schedule("--shop", SHOP, "--json", "one.json", "--picture", "plan.png", "--jobs", 1)
        two = self.schedule("--shop", SHOP, "--json", "two.json", "--jobs", 3)
        self.assertEqual((one.returncode, one.stderr), (0, ""))
        self.assertTrue(one.stdout.startswith("all 4 orders on time"), one.stdout)
        self.assertEqual(one.stdout, two.stdout)
        self.assertEqual((self.folder / "one.json").read_bytes(), (self.folder / "two.json").read_bytes())
        plan = json.loads((self.folder / "one.json").read_text())
        self.assertEqual(plan["schema"], "goodside.plan/1")
        self.assertEqual(plan["plan"]["late"], 0)
        self.assertTrue((self.folder / "plan.png").read_bytes().startswith(b"\x89PNG"))
        units = {}
        for work in plan["works"]:
            if work["unit"]:
                units.setdefault(work["unit"], []).append((work["start_s"], work["end_s"]))
        for spans in units.values():
            spans.sort()
            for (_, end), (start, _) in zip(spans, spans[1:]):
                self.assertGreaterEqual(start, end)

    def test_replan_keeps_what_is_frozen(self):
        self.schedule("--shop", SHOP, "--json", "first.json")
        text = SHOP.read_text().replace('now = "2026-11-26 06:00"', 'now = "2026-11-26 16:00"')
        (self.folder / "later.toml").write_text(text)
        again = self.schedule("--shop", "later.toml", "--earlier", "first.json", "--frozen", "12 h", "--json", "again.json")
        self.assertIn(again.returncode, (0, 1), again.stderr)
        first = {w["id"]: w for w in json.loads((self.folder / "first.json").read_text())["works"]}
        fixed = [w for w in json.loads((self.folder / "again.json").read_text())["works"] if w["fixed"]]
        self.assertTrue(fixed)
        for work in fixed:
            self.assertEqual(work["unit"], first[work["id"]]["unit"])
            self.assertEqual(work["start_s"] + 10 * 3600, first[work["id"]]["start_s"])

    def test_examples_of_the_help_run_as_printed(self):
        demo = self.folder / "demo"
        demo.symlink_to(ROOT / "demo")
        for words in (["plan", "schedule"], ["plan", "promise"], ["chart"], ["accept", "lots"]):
            with self.subTest(words=words):
                told = subprocess.run([GOODSIDE, *words, "--help"], capture_output=True, text=True).stdout
                line, shown = told[told.index("\nExample\n"):].strip().removeprefix("Example\n").strip().split("\n\n", 1)
                done = subprocess.run([GOODSIDE, *line.split()[1:]], capture_output=True, text=True, cwd=self.folder,
                                      env={**os.environ, "NO_COLOR": "1"})
                self.assertIn(done.returncode, (0, 1), done.stderr)
                for one in shown.splitlines():
                    self.assertIn(one.strip().rstrip("…"), done.stdout)

    def test_promise(self):
        done = run("promise", "--shop", SHOP, "--rounds", "1", "--replays", "300", "--json", "promise.json", "--picture",
                   "promise.svg", folder=self.folder)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertIn("of 300 replays", done.stdout)
        promise = json.loads((self.folder / "promise.json").read_text())
        for order in promise["orders"]:
            self.assertLessEqual(order["half_s"], order["ninety_s"])
            self.assertLessEqual(order["ninety_s"], order["ninety_five_s"])
            self.assertLessEqual(order["on_time"]["low"], order["on_time"]["value"])

    def test_bad_shops_are_named_with_the_mend(self):
        good = SHOP.read_text()
        cases = {
            "due too soon": ('due = "2026-12-09 14:00"', 'due = "2026-11-28 14:00"',
                             "orders.O-2.due: 2026-11-28 14:00 cannot be kept even by an empty works"),
            "no cut": ('[titles.T-2]\nformat = "12in"\ncut = true', '[titles.T-2]\nformat = "12in"',
                       'title "T-2" has no approved cut'),
            "no station": ('[machines.press-1]\nstation = "press"', '[machines.press-1]\nstation = "pres"',
                           'there is no station "pres"; did you mean'),
            "no hours": ('[machines.bench-1]\nstation = "bench"\nhours = "day"',
                         '[machines.bench-1]\nstation = "bench"\nhours = "dya"', 'there is no table of hours "dya"'),
            "no skill": ('skills = ["ears"]', 'skills = ["eyes"]', 'no hand has the skill "ears"'),
            "no step": ('in_hand = ["stamper"]', 'in_hand = ["stampers"]', 'there is no step "stampers"'),
            "no route": ('route = "lp"\ncompound = "red"', 'route = "ep"\ncompound = "red"', 'there is no route "ep"'),
            "circle": ('after = "father"', 'after = "stamper"', "circle"),
            "bad date": ('due = "2026-12-08 14:00"', 'due = "2026-12-32 14:00"', "is no date"),
            "bad shift": ("mon-fri 06:00-14:00", "mon-fry 06:00-14:00", "is no shift"),
            "no discs": ("quantity = 300", "quantity = 0", "cannot be; from 1"),
            "absurd": ("quantity = 300", "quantity = 99999999999", "cannot be; from 1"),
            "not a number": ("weight = 2", "weight = nan", "not a finite number"),
            "unknown key": ("weight = 2", "wieght = 2", "did you mean"),
            "torn": (good[-40:], '[orders.O-9', "not TOML"),
            "yield": ("yield = 0.95", "yield = 1.5", "cannot be"),
        }
        for name, (old, new, says) in cases.items():
            with self.subTest(name):
                self.assertIn(old, good)
                (self.folder / "bad.toml").write_text(good.replace(old, new, 1))
                for verb in ("schedule", "promise"):
                    done = run(verb, "--shop", "bad.toml", "--json", "out.json", folder=self.folder)
                    self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
                    self.assertEqual(done.stdout, "")
                    self.assertEqual(done.stderr.count("\n"), 1, done.stderr)
                    self.assertIn(says, done.stderr)
                    self.assertIn("bad.toml", done.stderr)
                    self.assertFalse((self.folder / "out.json").exists())

    def test_bad_options(self):
        for words in (["--shop", "nowhere.toml"], ["--shop", SHOP, "--rounds", "-1"], ["--shop", SHOP, "--seed", "x"],
                      ["--shop", SHOP, "--earlier", SHOP], ["--shop", SHOP, "--picture", "plan.bmp"]):
            with self.subTest(words):
                done = run("schedule", *words, folder=self.folder)
                self.assertEqual(done.returncode, 2, done.stdout + done.stderr)
                self.assertEqual(done.stderr.count("\n"), 1, done.stderr)
                self.assertEqual(list(self.folder.iterdir()), [])


if __name__ == "__main__":
    unittest.main()
