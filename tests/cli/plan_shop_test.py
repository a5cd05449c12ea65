"""`plan schedule` and `plan promise` through the built command: a good run, a re-plan, every bad shop file.

    plan_shop_test.py GOODSIDE [unittest options]
"""

import json
import os
import re
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


class Recorded(unittest.TestCase):
    """Orders out of a record typed from the command line: what is in hand, on its way and awaited shortens the route."""

    def setUp(self):
        self.held = tempfile.TemporaryDirectory()
        self.addCleanup(self.held.cleanup)
        self.works = Path(self.held.name) / "works"
        subprocess.run([GOODSIDE, "works", "init", self.works, "--name", "Tried", "--zone", "Europe/London"], check=True,
                       capture_output=True)
        self.shop = (ROOT / "demo" / "plan" / "shop.toml").read_text().replace(
            "[hours.day]", 'now = "2026-11-26 12:00"\n[hours.day]', 1)
        self.file(self.shop)
        self.presses = [self.enter("add", "press", f"name=Press {number}") for number in (1, 2)]

    def file(self, text):
        (self.works / "shop.toml").write_text(text)

    def type(self, *words, status=0):
        done = subprocess.run([GOODSIDE, *map(str, words), "--in", self.works], capture_output=True, text=True, timeout=120)
        self.assertEqual(done.returncode, status, (words, done.stdout, done.stderr))
        return done.stdout if status != 2 else done.stderr

    def enter(self, *words):
        return re.search(r"\b[A-Z]{1,2}-[0-9]+-[0-9A-Z]\b", self.type("works", *words)).group()

    def step(self, part, *steps):
        for one in steps:
            self.type("works", "log", part, one)

    def plan(self, *words, status=0):
        """id of each work of the plan -> the work, and what was found."""
        told = json.loads(self.type("plan", "schedule", "--rounds", 0, "--json", "-", *words, status=status))
        self.found = told["found"]
        return {work["id"]: work for work in told["works"]}

    def title(self, due="2026-12-18", quantity=300):
        title = self.enter("add", "title", "name=Fallen Leaves")
        sides = [self.enter("add", "side", f"title={title}", f"letter={letter}", "format=12in-33") for letter in "AB"]
        order = self.enter("add", "order", f"title={title}", f"quantity={quantity}", f"due={due}", "format=12in-33",
                           "material=vinyl")
        return title, sides, order

    def test_an_order_from_its_cut_to_its_cartons(self):
        title, sides, order = self.title()
        self.assertIn(f"order {order}: title {title} has no cut and no metal", self.type("plan", "schedule", status=2))
        self.enter("add", "cut", f"side={sides[1]}")
        cut = self.enter("add", "cut", f"side={sides[0]}")
        begun = self.plan()
        steps = ["father", "mother", "stamper", "finish"]
        for side in "AB":
            for step in steps:
                self.assertIn(f"{order} {step} {side}", begun)
        self.assertEqual(max(w["end_s"] for w in begun.values()) > 72 * 3600, True)

        # A father grows: it is running, with what is left of its nine hours; then it is there.
        lacquer = self.enter("add", "part", "kind=lacquer", f"cut={cut}")
        self.step(lacquer, "silvered")
        father = self.enter("add", "part", "kind=father", f"parent={lacquer}", "at=2026-11-26 08:00")
        grows = self.plan()
        self.assertTrue(grows[f"{order} father A"]["fixed"])
        self.assertEqual(grows[f"{order} father A"]["end_s"], 5 * 3600)
        self.assertFalse(grows[f"{order} father B"]["fixed"])
        self.step(father, "grown", "separated", "inspected")
        self.assertNotIn(f"{order} father A", self.plan())

        # A second order of the title grows nothing: it waits for the first one's metal.
        later = self.enter("add", "order", f"title={title}", "quantity=100", "due=2027-01-15", "format=12in-33", "material=vinyl")
        both = self.plan()
        self.assertNotIn(f"{later} stamper A", both)
        self.assertGreaterEqual(both[f"{later} test"]["start_s"], both[f"{order} finish B"]["end_s"])
        self.assertIn(f"waits for the metal of {order}", " ".join(self.found))
        self.file(self.shop + f"[orders.{later}]\nleave_out = true\n")

        # Bought stampers: nothing to grow or finish. Compound for all of it: nothing to mix.
        stampers = [self.enter("add", "part", "kind=stamper", f"side={side}", "origin=bought", "state=ready") for side in sides]
        batch = self.enter("add", "batch", "material=vinyl", "mass=80 kg")
        works = self.plan()
        self.assertEqual(sorted(works), sorted(f"{order} {step}" for step in
                                               ("test", "test-listen", "approval", "labels", "run", "edge", "listen", "pack")))

        # Test pressings made, sent, approved.
        press = self.presses[0]
        self.enter("mount", press, "--a", stampers[0], "--b", stampers[1], "--counter", 0)
        test = self.enter("add", "run", f"order={order}", f"press={press}", "purpose=test")
        self.type("works", "press", test, 5, "--batch", batch, "--counter", 5)
        self.assertNotIn(f"{order} test", self.plan())
        ticket = self.enter("ticket", test, 3, "--reason", "test pressing")
        self.type("works", "approve", order, "sent", "--ticket", ticket)
        sent = self.plan()
        self.assertTrue(sent[f"{order} approval"]["fixed"])
        self.assertNotIn(f"{order} test-listen", sent)
        self.assertGreaterEqual(sent[f"{order} run"]["start_s"], sent[f"{order} approval"]["end_s"])
        self.type("works", "approve", order, "approved", "--ticket", ticket, "--words", "go ahead")

        # The run is under way: its press goes on with it; what is pressed takes the rest of the route as a lot of its own.
        run = self.enter("add", "run", f"order={order}", f"press={press}")
        self.type("works", "press", run, 100, "--batch", batch, "--counter", 105)
        works = self.plan()
        self.assertEqual((works[f"{order} run"]["unit"], works[f"{order} run"]["fixed"]), ("press-1", True))
        # 95 of 100 are reckoned good, 205 are wanted, and 216 pressed for them.
        self.assertEqual(works[f"{order} run"]["end_s"], 216 * 28)
        self.assertLess(works[f"{order} edge pressed"]["start_s"], works[f"{order} edge"]["start_s"])
        self.assertIn("100 pressed; 205 to press, under way on press-1; stampers 1 1; approved; compound in hand", self.found[0])

        # Good, packed, shipped: less and less is left, at last nothing.
        self.type("works", "press", run, 210, "--batch", batch, "--counter", 315)
        self.type("works", "move", run, "edge-finished", "--impressions", "1-310", "--from", "pressed")
        left = self.plan()
        self.assertIn(f"{order} pack edge-finished", left)
        self.assertNotIn(f"{order} edge edge-finished", left)
        self.assertEqual(left[f"{order} run"]["end_s"], 7 * 28)  # 294 of 310 are reckoned good
        self.type("works", "move", run, "good", "--impressions", "1-310", "--from", "edge-finished")
        self.assertEqual(list(self.plan()), [f"{order} pack good"])
        carton = self.enter("add", "carton", f"order={order}", "capacity=300")
        self.type("works", "move", run, "packed", "--impressions", "1-300", "--to-spot", carton)
        self.file(self.shop)
        self.assertNotIn(order, " ".join(self.plan()))

    def test_what_cannot_be_is_named_with_the_mend(self):
        title, sides, order = self.title(due="2026-11-28")
        for side in sides:
            self.enter("add", "cut", f"side={side}")
        wrong = self.type("plan", "schedule", status=2)
        self.assertIn(f"orders.{order}.due: 2026-11-29 00:00 cannot be kept even by an empty works", wrong)
        self.file(self.shop + f"[orders.{order}]\nlate = true\n")
        self.assertIn(f"{order} run", self.plan(status=1))
        cases = {
            'press = "Press 1"': ('press = "Pres 1"', 'machines.press-1.press: the record has no press "Pres 1"'),
            'lot = 800': ('lot = 800\nmaterials = ["shellac-type"]', f"orders.{order}: no route takes an order of 12in-33 in vinyl"),
            'yield = 0.95': ('yield = 0.95\nmeans = "pressing"', '"pressing" is nothing the record knows of'),
            '[routes.disc.steps.run]': ('[routes.disc.steps.run]\nmeans = "edge"', "no step of it is the run of the record"),
        }
        for old, (new, says) in cases.items():
            with self.subTest(says):
                self.file(self.shop.replace(old, new, 1))
                told = self.type("plan", "schedule", status=2)
                self.assertEqual(told.count("\n"), 1, told)
                self.assertIn(says, told)
        self.file(self.shop + '[orders.O-9]\nweight = 2\n')
        self.assertIn("orders.O-9: the record has no such order", self.type("plan", "schedule", status=2))
        (self.works / "shop.toml").unlink()
        self.assertIn("shop.toml: is not there", self.type("plan", "schedule", status=2))

    def test_lives_learned_from_the_record_feed_the_promise(self):
        title, sides, order = self.title(quantity=2000)
        stampers = [self.enter("add", "part", "kind=stamper", f"side={side}", "origin=bought", "state=ready") for side in sides]
        self.type("works", "approve", order, "waived", "--words", "again")

        def promised(*words):
            done = subprocess.run([GOODSIDE, "plan", "promise", "--replays", "400", "--rounds", "0", "--json", "-", "--in",
                                   str(self.works), *words], capture_output=True, text=True, timeout=120)
            self.assertIn(done.returncode, (0, 1), done.stderr)
            return json.loads(done.stdout)

        none = promised()
        self.assertIn("not reckoned with", none["lives"])
        short, long = promised("--life-scale", "150", "--life-shape", "2"), promised("--life-scale", "1e6", "--life-shape", "2")
        self.assertEqual(short["lives"], "scale 150, shape 2, as given")
        self.assertGreater(short["orders"][0]["half_s"], long["orders"][0]["half_s"])
        self.assertEqual(long["orders"][0]["half_s"], none["orders"][0]["half_s"])
        (self.works / "lives.csv").write_text("stamper,good_to,ended_by\n" + "".join(
            f"S{k},{100 + 10 * k},{140 + 10 * k}\n" for k in range(8)))
        learned = promised("--lives", str(self.works / "lives.csv"))
        self.assertIn("learned from 8 stampers, 8 ended", learned["lives"])
        self.assertGreater(learned["orders"][0]["half_s"], long["orders"][0]["half_s"])


if __name__ == "__main__":
    unittest.main()
