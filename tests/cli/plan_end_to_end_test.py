"""accept, chart and plan need through the built command: a good run of each, the examples of their --help against what
they print, and every bad input: one line on standard error that ends in the mend, exit status 2, nothing written.

    plan_end_to_end_test.py GOODSIDE [unittest options]
"""

import json
import os
import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
ROOT = Path(__file__).resolve().parents[2]
CHARTS = ROOT / "tests" / "published" / "charts"

LIFE = ["--life-scale", "1400", "--life-shape", "2"]
LOTS = "lot,discs,flawed\n1,500,0\n2,500,2\n3,500,0\n4,500,2\n5,500,0\n"
ORDERS = "order,title,quantity,stampers_a,age_a\nO1,Leaves,500,1,300\nO2,Leaves,300,,\nO3,Rain,1000,,\n"
LIVES = "stamper,good_to,ended_by,cause\n" + "".join(
    f"S{i},{good},{end},{cause}\n"
    for i, (good, end, cause) in enumerate(
        [(700, 740, "wear"), (1190, 1240, "wear"), (1500, "", ""), (900, 980, "crack"), (1300, 1350, "wear"),
         (600, "", ""), (1000, 1100, "wear"), (820, 860, "damage")]))
FIGURES = "[need]\nscrap = 0.03\nbiscuit_kg = 0.15\n[need.recipe]\npellets = 0.97\nblack = 0.03\n"


class Plan(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = Path(cls.held.name)
        for name, text in {"lots.csv": LOTS, "orders.csv": ORDERS, "lives.csv": LIVES, "figures.toml": FIGURES,
                           "mass.csv": "n,mass_g\n" + "".join(
                               f"{i},{150 + (i * 7 % 11 - 5) / 10 + (1.9 if i == 34 else 0)}\n" for i in range(40)),
                           "edges.csv": "day,flawed,looked\n" + "".join(
                               f"{i},{i * 5 % 7},{100 + i % 3}\n" for i in range(25))}.items():
            (cls.folder / name).write_text(text)

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def type(self, *words):
        environment = {**os.environ, "NO_COLOR": "1"}
        environment.pop("GOODSIDE_DIR", None)
        return subprocess.run([GOODSIDE, *map(str, words)], capture_output=True, text=True, cwd=self.folder,
                              env=environment)

    def good(self, *words, status=0):
        done = self.type(*words)
        self.assertEqual((done.returncode, done.stderr), (status, ""), words)
        self.assertLessEqual(max(len(line) for line in done.stdout.splitlines()), 80, done.stdout)
        return done.stdout

    def tell(self, *words, status=0):
        done = self.type(*words, "--json", "-")
        self.assertEqual((done.returncode, done.stderr), (status, ""), words)
        return json.loads(done.stdout)

    def test_a_table_plan_is_the_printed_one(self):
        told = self.tell("accept", "table", "--lot", 500, "--aql", "1.0")
        self.assertEqual(told["letter"], "H")
        self.assertEqual(told["stages"], [{"heard": 50, "accept": 1, "reject": 2}])
        self.assertIn("Hear 50 discs: ship at 1 flawed", self.good("accept", "table", "--lot", 500, "--aql", "1.0%"))
        twice = self.good("accept", "table", "--lot", 1000, "--aql", 2.5, "--double")
        self.assertIn("from memory", twice)
        reduced = self.tell("accept", "table", "--lot", 500, "--aql", 1, "--inspection", "reduced")
        self.assertEqual(reduced["stages"], [{"heard": 20, "accept": 0, "reject": 2}])

    def test_lots_under_the_switching_rules(self):
        told = self.tell("accept", "lots", "lots.csv", "--aql", 1)
        self.assertEqual([lot["inspection"] for lot in told["lots"]], ["normal"] * 4 + ["tightened"])
        self.assertIn("tightened: 2 of 5", self.good("accept", "lots", "lots.csv", "--aql", 1))

    def test_plans_of_stated_risks_and_the_next_disc(self):
        told = self.tell("accept", "design", "--lot", 500)
        self.assertEqual(told["plans"][0]["stages"], [{"heard": 76, "accept": 2, "reject": 3}])
        for plan in told["plans"]:
            self.assertLessEqual(plan["producer_risk"], 0.05)
            self.assertLessEqual(plan["consumer_risk"], 0.10)
        heard = [plan["heard_good"] for plan in told["plans"]]
        self.assertEqual(heard, sorted(heard, reverse=True))
        first = self.tell("accept", "next", "--lot", 500, status=1)
        self.assertEqual(first["act"], "hear more")
        enough = self.tell("accept", "next", "--lot", 500, "--heard", first["at_least"])
        self.assertEqual(enough["act"], "ship")
        short = self.tell("accept", "next", "--lot", 500, "--heard", first["at_least"] - 1, status=1)
        self.assertEqual(short["at_least"], 1)
        self.assertEqual(self.tell("accept", "next", "--lot", 500, "--heard", 9, "--flawed", 5, status=1)["act"], "hold")

    def test_places_to_hear(self):
        told = self.tell("accept", "places", "--impressions", 1000, "--side-time", "22min", *LIFE)
        self.assertEqual(told["at"][-1], 1000)
        self.assertEqual(told["discs_behind"], 88)
        self.assertLessEqual(told["cost"], told["cost_even"])
        bounded = self.tell("accept", "places", "--impressions", 1000, "--side-time", "22min", "--most-flawed", 200, *LIFE)
        gaps = [b - a for a, b in zip([0] + bounded["at"], bounded["at"])]
        self.assertLessEqual(max(gaps) + 88, 200)
        learned = self.good("accept", "places", "--impressions", 800, "--side-time", "22min", "--lives", "lives.csv")
        self.assertIn("8 stampers, 6 ended", learned)

    def test_charts(self):
        rings = self.tell("chart", CHARTS / "spc_pistonrings.csv", "--value", "diameter", "--group", "sample",
                          "--first", 25, "--spec-low", 73.95, "--spec-high", 74.05, status=1)
        self.assertEqual(rings["kind"], "xbar-r")
        self.assertAlmostEqual(rings["centre"], 74.001176, 6)
        self.assertGreater(rings["capability"]["cpk"]["value"], 1.0)
        mass = self.good("chart", "mass.csv", "--value", "mass_g", "--first", 25, status=1)
        self.assertIn("▲ mass_g", mass)
        edges = self.tell("chart", "edges.csv", "--count", "flawed", "--size", "looked", "--kind", "p")
        self.assertAlmostEqual(edges["centre"], sum(i * 5 % 7 for i in range(25)) / sum(100 + i % 3 for i in range(25)))
        for kind in ("cusum", "ewma"):
            self.assertIn("a false signal every 500 points",
                          self.type("chart", "mass.csv", "--value", "mass_g", "--kind", kind, "--false-every", 500).stdout)

    def test_need_of_orders(self):
        one = self.tell("plan", "need", "--discs", 3000, *LIFE)
        title = one["titles"][0]
        self.assertGreaterEqual(title["chance"], 0.95)
        self.assertEqual(title["labels"], -(-2 * title["biscuits"] * 100 // 98))
        self.assertGreater(2 * title["pairs_if_scrapped_whole"], title["good_stampers_a"] + title["good_stampers_b"])
        risk = title["stampers_against_risk"]
        self.assertEqual([one["a"] + one["b"] for one in risk], list(range(len(risk))))
        self.assertEqual([one["enough"] for one in risk], sorted(one["enough"] for one in risk))
        many = self.tell("plan", "need", "--orders", "orders.csv", "--lives", "lives.csv", "--figures", "figures.toml")
        self.assertEqual([t["title"] for t in many["titles"]], ["Leaves", "Rain"])
        self.assertEqual(many["titles"][0]["quantity"], 800)
        kg = many["all"]["ingredients_kg"]
        self.assertAlmostEqual(kg["pellets"] / (kg["pellets"] + kg["black"]), 0.97, 9)
        text = self.good("plan", "need", "--orders", "orders.csv", "--lives", "lives.csv")
        self.assertIn("Caution:", text)

    def test_pictures(self):
        for words in (["accept", "design", "--lot", 500], ["accept", "table", "--lot", 500, "--aql", 1],
                      ["accept", "places", "--impressions", 500, "--side-time", "20min", *LIFE],
                      ["plan", "need", "--discs", 2000, *LIFE]):
            self.good(*words, "--picture", "picture.svg")
            self.assertIn("<svg", (self.folder / "picture.svg").read_text())
            (self.folder / "picture.svg").unlink()
        self.type("chart", "mass.csv", "--value", "mass_g", "--picture", "chart.png")
        self.assertEqual((self.folder / "chart.png").read_bytes()[1:4], b"PNG")
        (self.folder / "chart.png").unlink()

    def test_the_examples_of_the_help_are_what_is_printed(self):
        for name in ("accept table", "accept design", "accept next", "accept places", "plan need"):
            shown = self.type(*name.split(), "--help").stdout
            example = shown[shown.index("goodside " + name, shown.index("xample")):].splitlines()
            command = example[0].strip()
            answer = [line.strip() for line in example[1:] if line.strip() and line.strip() != "…"]
            printed = [line.strip() for line in self.type(*command.split()[1:]).stdout.splitlines()]
            for line in answer:
                self.assertIn(line, printed, name)

    def test_bad_input_is_one_line_with_its_mend(self):
        files = {
            "empty.csv": "", "gap.csv": "lot,discs,flawed\n1,500,\n", "more.csv": "lot,discs,flawed\n1,500,51\n",
            "word.csv": "n,mass_g\n1,heavy\n2,150\n", "nan.csv": "n,mass_g\n1,nan\n2,150\n", "flat.csv": "m\n" + "1\n" * 9,
            "twice.csv": "order,title,quantity\nO1,T,5\nO1,T,5\n", "none.csv": "order,title,quantity\nO1,T,0\n",
            "huge.csv": "order,title,quantity\nO1,T,99999999999\n", "odd.csv": "order,titel,quantity\nO1,T,5\n",
            "scrap.toml": "[need]\nscrap = 1.5\n", "name.toml": "[need]\nscarp = 0.1\n", "inf.toml": "[need]\nscrap = inf\n",
            "recipe.toml": "[need.recipe]\na = 0.5\nb = 0.4\n", "alive.csv": "stamper,good_to,ended_by\nS1,500,\n",
        }
        for name, text in files.items():
            (self.folder / name).write_text(text)
        need = ["plan", "need"]
        cases = [
            (["accept", "table", "--lot", 500, "--aql", 2], "1.5 and 2.5"),
            (["accept", "table", "--lot", 500, "--aql", "nan"], "--aql"),
            (["accept", "table", "--lot", 1, "--aql", 1], "--lot"),
            (["accept", "table", "--lot", 500], "--aql PERCENT is missing"),
            (["accept", "table", "--lot", 500, "--aql", 1, "--level", "IV"], "--level"),
            (["accept", "table", "--lot", 500, "--aql", 1, "--picture", "x.gif"], ""),
            (["accept", "lots", "gap.csv", "--aql", 1], "gap.csv:2: flawed"),
            (["accept", "lots", "more.csv", "--aql", 1], "51 flawed of 50"),
            (["accept", "lots", "empty.csv", "--aql", 1], "empty.csv"),
            (["accept", "lots", "absent.csv", "--aql", 1], "absent.csv"),
            (["accept", "design", "--lot", 500, "--good", "7%"], "the bad one greater"),
            (["accept", "design", "--lot", 500, "--bad", "inf"], "--bad"),
            (["accept", "next", "--lot", 500, "--heard", 3, "--flawed", 4], "cannot be"),
            (["accept", "next", "--lot", 5, "--heard", 6], "cannot be"),
            (["accept", "next", "--lot", -5], "--lot"),
            (["accept", "places", "--impressions", 900, "--side-time", "22min"], "--life-scale"),
            (["accept", "places", "--impressions", 900, "--side-time", "22", *LIFE], "--side-time"),
            (["accept", "places", "--impressions", 900, "--side-time", "22min", "--most-flawed", 50, *LIFE], "is the least"),
            (["accept", "places", "--impressions", 900, "--side-time", "22min", "--lives", "alive.csv"], "ended yet"),
            (["accept", "places", "--impressions", 900, "--side-time", "22min", "--life-scale", 1e12], "--life-scale"),
            (["accept", "runs"], "works"),
            (["chart"], "--of"),
            (["chart", "mass.csv"], "--value"),
            (["chart", "mass.csv", "--value", "mass"], "mass_g"),
            (["chart", "word.csv", "--value", "mass_g"], "word.csv:2: mass_g"),
            (["chart", "nan.csv", "--value", "mass_g"], "nan.csv:2: mass_g"),
            (["chart", "flat.csv", "--value", "m"], "all alike"),
            (["chart", "mass.csv", "--value", "mass_g", "--first", 99], "there are 40"),
            (["chart", "mass.csv", "--value", "mass_g", "--kind", "xbar"], "xbar-r"),
            (["chart", "mass.csv", "--value", "mass_g", "--kind", "p"], "--kind"),
            (["chart", "mass.csv", "--value", "mass_g", "--rules", "all"], "nelson"),
            (["chart", "mass.csv", "--value", "mass_g", "--spec-low", 9, "--spec-high", 8], "the upper limit"),
            (["chart", "edges.csv", "--count", "flawed", "--size", "looked"], "--kind p"),
            (["chart", "edges.csv", "--count", "flawed", "--size", "looked", "--kind", "np"], "want the kind p"),
            (["chart", "--of", "nois"], "works"),
            ([*need, "--discs", 0, *LIFE], "--discs"),
            ([*need, "--discs", 1000], "--life-scale"),
            ([*need, "--discs", 1000, "--life-shape", 2], "--life-scale too"),
            ([*need, "--discs", 1000, *LIFE, "--lives", "lives.csv"], "give one of them"),
            ([*need, "--discs", 1000, *LIFE, "--chance", 1], "99.99"),
            ([*need, "--discs", 1000, *LIFE, "--scrap", "95%"], "--scrap"),
            ([*need, "--discs", 1000, "--life-scale", 2], "split the order"),
            ([*need, "--orders", "twice.csv", *LIFE], "twice.csv:3: order"),
            ([*need, "--orders", "none.csv", *LIFE], "none.csv:2: quantity"),
            ([*need, "--orders", "huge.csv", *LIFE], "huge.csv:2: quantity"),
            ([*need, "--orders", "odd.csv", *LIFE], "title"),
            ([*need, "--discs", 100, *LIFE, "--figures", "scrap.toml"], "scrap.toml:2"),
            ([*need, "--discs", 100, *LIFE, "--figures", "name.toml"], "scrap"),
            ([*need, "--discs", 100, *LIFE, "--figures", "inf.toml"], "inf.toml:2"),
            ([*need, "--discs", 100, *LIFE, "--figures", "recipe.toml"], "must make 1"),
            ([*need, "--discs", 100, *LIFE, "--orders", "orders.csv"], "one of them"),
        ]
        before = sorted(path.name for path in self.folder.iterdir())
        for words, wanted in cases:
            with self.subTest(" ".join(map(str, words))):
                done = self.type(*words)
                self.assertEqual((done.returncode, done.stdout), (2, ""), done.stderr)
                self.assertRegex(done.stderr, r"\Agoodside[^\n]*\n\Z")
                self.assertIn(wanted, done.stderr)
        self.assertEqual(sorted(path.name for path in self.folder.iterdir()), before)


class Record(unittest.TestCase):
    """A record typed from the command line: its runs judged, its orders' need, its series charted."""

    def test_runs_orders_and_series_of_a_record(self):
        with tempfile.TemporaryDirectory() as held:
            folder = Path(held) / "works"

            def type_(*words, status=0):
                done = subprocess.run([GOODSIDE, *map(str, words), "--in", folder], capture_output=True, text=True)
                self.assertEqual(done.returncode, status, (words, done.stderr))
                return done.stdout

            def add(*words):
                return re.search(r"\b[A-Z]{1,2}-[0-9]+-[0-9A-Z]\b", type_("works", *words)).group()

            subprocess.run([GOODSIDE, "works", "init", folder, "--name", "Tried"], check=True, capture_output=True)
            title = add("add", "title", "name=Fallen Leaves")
            empty = subprocess.run([GOODSIDE, "accept", "runs", "--in", folder], capture_output=True, text=True)
            self.assertEqual(empty.returncode, 2, empty.stderr)
            order = add("add", "order", f"title={title}", "quantity=300")
            no_cut = subprocess.run([GOODSIDE, "plan", "need", order, "--in", folder, *LIFE], capture_output=True, text=True)
            self.assertEqual(no_cut.returncode, 2)
            self.assertIn("no cut", no_cut.stderr)
            sides = [add("add", "side", f"title={title}", f"letter={letter}", "format=12in-33") for letter in "AB"]
            stampers = [add("add", "part", "kind=stamper", f"side={side}", "origin=bought", "state=ready") for side in sides]
            batch = add("add", "batch", "material=vinyl", "mass=80 kg")
            press = add("add", "press", "name=Press 1")
            add("mount", press, "--a", stampers[0], "--b", stampers[1], "--counter", 0)
            run = add("add", "run", f"order={order}", f"press={press}")
            type_("works", "approve", order, "waived", "--words", "again")
            type_("works", "press", run, 4, "--warm-up", "--counter", 4)
            type_("works", "press", run, 310, "--batch", batch, "--counter", 314)
            judged = json.loads(type_("accept", "runs", "--json", "-", status=1))["runs"]
            self.assertEqual([(one["run"], one["act"]) for one in judged], [(run, "hear more")])
            self.assertEqual((judged[0]["lot"], judged[0]["places"][-1]), (310, 314))
            for _ in range(12):
                if judged[0]["act"] != "hear more":
                    break
                for place in judged[0]["places"]:
                    ticket = add("ticket", run, place, "--reason", "asked for")
                    type_("works", "hear", ticket, "good")
                told = subprocess.run([GOODSIDE, "accept", "runs", run, "--json", "-", "--in", folder], capture_output=True,
                                      text=True)
                judged = json.loads(told.stdout)["runs"]
            self.assertEqual((judged[0]["act"], judged[0]["flawed"]), ("ship", 0))
            self.assertGreater(judged[0]["heard"], 25)
            for mass in (150.1, 149.8, 150.3, 149.9, 150.0, 150.2):
                add("add", "biscuit", f"batch={batch}", "quantity=10", f"mass={mass} g")
            chart = json.loads(type_("chart", "--of", "biscuit-mass", "--json", "-"))
            self.assertAlmostEqual(chart["centre"], 150.05)
            self.assertEqual(chart["unit"], "g")
            for of, wanted in (("noise", "holds no surface noise"), ("faults", "holds no"), ("eccentricty", "eccentricity"),
                               ("reading:temperature_K", "holds no temperature_K")):
                none = subprocess.run([GOODSIDE, "chart", "--of", of, "--in", folder], capture_output=True, text=True)
                self.assertEqual((none.returncode, none.stdout), (2, ""))
                self.assertIn(wanted, none.stderr)
            need = json.loads(type_("plan", "need", order, "--json", "-", *LIFE))
            self.assertEqual(need["titles"][0]["a"]["in_hand"], 1)
            self.assertEqual(need["titles"][0]["quantity"], 300)


if __name__ == "__main__":
    unittest.main()
