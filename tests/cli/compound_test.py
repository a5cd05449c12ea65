"""`mix` and `biscuit` through the built command: what they answer, their worked examples, and every bad input: one
line on standard error with the mend, exit status 2, nothing on standard output and nothing written.

    compound_test.py GOODSIDE [unittest options]
"""

import csv
import json
import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
ROOT = Path(__file__).resolve().parents[2]

VINYL = """name = "Clear"
kind = "vinyl"
[ingredient.pellets]
role = "pellets"
fraction = 0.80
density = "1.36 g/cm3"
lot = "7781"
moisture = "0.1 %"
most_moisture = "0.2 %"
[ingredient.mill]
role = "regrind"
fraction = 0.20
density = "1.36 g/cm3"
[mixer]
volume = "30 l"
holdup = "0.4 kg"
"""
TABLE = """name,role,parts,density_g_per_cm3,price,stock_kg,low,high
copolymer,binder,65,1.36,2.4,500,50 %,75 %
homopolymer,binder,31.2,1.40,1.1,80,20 %,45 %
black,colour,0.2,1.8,3,,,
tin,stabiliser,1.6,1.2,9,,,
"""


class Compound(unittest.TestCase):
    def setUp(self):
        self.held = tempfile.TemporaryDirectory()
        self.folder = Path(self.held.name)
        self.addCleanup(self.held.cleanup)

    def file(self, name, text):
        (self.folder / name).write_text(text)
        return name

    def run_it(self, *words, cwd=None):
        return subprocess.run([GOODSIDE, *words], capture_output=True, text=True, cwd=cwd or self.folder)

    def told(self, *words, status=0):
        done = self.run_it(*words, "--json", "-")
        self.assertEqual((done.returncode, done.stderr), (status, ""), done.stderr)
        return json.loads(done.stdout)

    def refused(self, *words, says):
        before = sorted(p.name for p in self.folder.iterdir())
        done = self.run_it(*words)
        self.assertEqual((done.returncode, done.stdout), (2, ""), done.stdout + done.stderr)
        self.assertEqual(done.stderr.count("\n"), 1, done.stderr)
        self.assertIn(says, done.stderr)
        self.assertEqual(sorted(p.name for p in self.folder.iterdir()), before)

    def test_the_worked_examples_are_what_is_printed(self):
        for command in ("mix", "biscuit"):
            shown = self.run_it(command, "--help").stdout
            example = shown[shown.rindex(f"goodside {command} "):].splitlines()
            first = next(i for i, line in enumerate(example) if not line)
            words = re.findall(r'"[^"]*"|\S+', " ".join(example[:first]))[1:]
            done = self.run_it(*[w.strip('"') for w in words], cwd=ROOT)
            answer = done.stdout.splitlines()
            lines = [line for line in example[first + 1:] if line.strip() not in ("", "...")]
            self.assertGreater(len(lines), 4)
            at = 0
            for line in lines:
                found = [i for i in range(at, len(answer)) if answer[i].strip() == line.strip()]
                self.assertTrue(found, f"{command}: {line!r} is not in\n{done.stdout}")
                at = found[0]
            self.assertLessEqual(max(len(line) for line in answer), 80)

    def test_a_sheet_of_the_demo_sums_to_its_batch(self):
        told = self.told("mix", ROOT / "demo/compound/shellac.toml", "--mass", "60 kg")
        self.assertEqual(told["schema"], "goodside.mix/1")
        lines = told["weigh_up"]["lines"]
        self.assertAlmostEqual(sum(line["weigh_kg"] for line in lines), 60.0, places=9)
        self.assertEqual({line["ingredient"]: line["weigh_kg"] for line in lines}["slate"], 22.5)

    def test_pellets_regrind_and_purge(self):
        told = self.told("mix", self.file("clear.toml", VINYL), "--purge", "0.1 %")
        self.assertIsNone(told["mixture"]["binder_mass"])
        self.assertAlmostEqual(told["regrind"]["through"][2], 0.8 * 0.04)
        self.assertEqual(told["purge"]["batches"], 2)
        self.assertGreater(told["weigh_up"]["water_kg"], 0.0)
        wet = self.file("wet.toml", VINYL.replace('moisture = "0.1 %"', 'moisture = "0.3 %"', 1))
        self.assertIn("dry it first", self.told("mix", wet, status=1)["remarks"][0])

    def test_a_table_with_parts_is_a_recipe(self):
        told = self.told("mix", self.file("vinyl.csv", TABLE), "--mass", "98 kg", "--scale", "1 g")
        self.assertAlmostEqual(told["weigh_up"]["lines"][0]["weigh_kg"], 65.0)

    def test_the_cheapest_recipe_keeps_to_the_stock(self):
        table = self.file("vinyl.csv", TABLE)
        free = self.told("mix", table, "--mass", "98 kg", "--cheapest")
        self.assertAlmostEqual(free["cheapest"]["lines"][1]["after"], 0.45, places=9)
        short = self.told("mix", table, "--mass", "98 kg", "--cheapest", "--for", "200 kg")
        self.assertAlmostEqual(short["cheapest"]["lines"][1]["after"], 0.4, places=9)
        none = self.told("mix", table, "--mass", "98 kg", "--cheapest", "--for", "900 kg", status=1)
        self.assertTrue(any("stock" in limit for limit in none["cheapest"]["broken"]))

    def test_additions_restore_the_batch_on_the_scale(self):
        told = self.told("mix", ROOT / "demo/compound/shellac.toml", "--mass", "60 kg", "--weighed",
                         ROOT / "demo/compound/weighed.csv", status=1)
        self.assertEqual(told["correction"]["kind"], "restores")
        recipe = {one["name"]: one for one in told["recipe"]["ingredients"]}
        with open(ROOT / "demo/compound/weighed.csv", newline="") as file:
            unit = {"kg": 1.0, "g": 1e-3}
            mass = {row["ingredient"]: float(row["mass"].split()[0]) * unit[row["mass"].split()[1]]
                    for row in csv.DictReader(file)}
        for line in told["correction"]["lines"]:
            mass[line["ingredient"]] += line["add_weighed_kg"]
        total = sum(mass.values())
        for line in told["weigh_up"]["lines"]:
            share = recipe[line["ingredient"]]["fraction"]
            off = abs(mass[line["ingredient"]] / total - share) * 60.0
            self.assertLessEqual(off, line["tolerance_kg"] * (1 + 1e-6), line["ingredient"])

    def test_pictures_and_paper_are_written(self):
        demo = ROOT / "demo/compound"
        self.assertEqual(self.run_it("mix", demo / "shellac.toml", "--mass", "60 kg", "--weighed", demo / "weighed.csv",
                                     "--picture", "off.png", "--sheet", "sheet.pdf").returncode, 1)
        self.assertTrue((self.folder / "off.png").read_bytes().startswith(b"\x89PNG"))
        self.assertTrue((self.folder / "sheet.pdf").read_bytes().startswith(b"%PDF"))
        self.assertEqual(self.run_it("biscuit", "--density", "1.92 g/cm3", "--diameter", "10in", "--thickness", "1.8mm",
                                     "--weighed", demo / "biscuits.csv", "--picture", "b.svg").returncode, 0)
        self.assertIn("<svg", (self.folder / "b.svg").read_text())

    def test_a_biscuit_from_recipe_and_profile(self):
        self.file("shape.csv", "radius_mm,thickness_mm\n3.62,2.2\n50,2.2\n50,1.8\n148,1.8\n148,2.2\n150.5,2.2\n")
        told = self.told("biscuit", "--recipe", ROOT / "demo/compound/shellac.toml", "--profile", "shape.csv",
                         "--puck", "100 mm")
        self.assertGreater(told["disc"]["disc_kg"], 0.25)
        self.assertAlmostEqual(told["biscuit"]["biscuit_kg"] / told["disc"]["disc_kg"], 1.07)

    def works(self, *words, adds=False):
        done = self.run_it("works", *words, "--in", "here", "--by", "me", *(["--json", "-"] if adds else []))
        self.assertEqual(done.returncode, 0, done.stderr)
        return json.loads(done.stdout)["code"] if adds else done.stdout

    def test_a_disc_finds_batch_additions_and_biscuits_again(self):
        demo = ROOT / "demo/compound"
        self.assertEqual(self.run_it("works", "init", "here", "--name", "Tarnholt", "--zone", "UTC").returncode, 0)
        record = ["--in", "here", "--by", "me"]
        said = self.run_it("mix", demo / "shellac.toml", "--mass", "60 kg", "--weighed", demo / "weighed.csv", "--log",
                           *record)
        batch = re.search(r"batch (B-\S+) is in the record", said.stdout).group(1)
        lines = self.told("mix", demo / "shellac.toml", "--batch", batch, *record, status=1)["correction"]["lines"]
        additions = [w for line in lines if line["add_weighed_kg"] > 0
                     for w in ("--said", f"{line['ingredient']}={line['add_weighed_kg']:.4f} kg")]
        done = self.run_it("mix", demo / "shellac.toml", "--batch", batch, *additions, "--log", *record)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertIn("has the additions", done.stdout)
        again = self.told("mix", demo / "shellac.toml", "--batch", batch, *record)
        self.assertEqual(again["correction"]["kind"], "none needed")
        self.assertEqual(self.run_it("biscuit", "--density", "1.92 g/cm3", "--diameter", "10in", "--thickness", "1.8mm",
                                     "--weighed", demo / "biscuits.csv", "--batch", batch, "--log",
                                     *record).returncode, 0)
        title = self.works("add", "title", "name=Leaves", adds=True)
        side = self.works("add", "side", f"title={title}", "letter=A", "format=10in-78", adds=True)
        stamper = self.works("add", "part", "kind=stamper", f"side={side}", "origin=bought", adds=True)
        order = self.works("add", "order", f"title={title}", "quantity=10", adds=True)
        press = self.works("add", "press", "name=One", adds=True)
        self.works("mount", press, "--a", stamper, "--counter", "0", "--reason", "new order")
        cycled = self.run_it("cycle", "--compound", "shellac", "--recipe", "ten inch", *record)
        self.assertIn(cycled.returncode, (0, 1), cycled.stderr)
        recipe = re.search(r"Y-\d+-\w", cycled.stdout + cycled.stderr).group()
        run = self.works("add", "run", f"order={order}", f"press={press}", "purpose=test", f"recipe={recipe}", adds=True)
        self.works("press", run, "5", "--batch", batch, "--counter", "5")
        ticket = re.search(r"S-\d+-\w", self.works("ticket", run, "3", "--reason", "sample")).group()
        # By the disc's impression, and by the ticket on the disc.
        for asked in ((run, "3"), (ticket,)):
            origin = self.works("from", *asked)
            for words in (batch, "shellac", "lot TH-17", "asked", "added to put the batch right", "BI-", "aim 181.9 g",
                          recipe, "ten inch", "uncalibrated"):
                self.assertIn(words, origin)
        node = json.loads(self.works("from", run, "3", "--json", "-"))
        self.assertEqual((node["recipe"]["code"], node["batch"]["code"], len(node["biscuits"])), (recipe, batch, 1))
        self.assertTrue(any(lot.get("note") == "added to put the batch right" for lot in node["lots"]))
        self.refused("mix", demo / "shellac.toml", "--batch", "B-0001-X", *record, says="B-0001-X")
        self.refused("mix", demo / "shellac.toml", "--mass", "60 kg", "--log", *record, says="nothing was weighed")
        self.refused("biscuit", "--density", "1.92 g/cm3", "--diameter", "10in", "--thickness", "1.8mm", "--log",
                     *record, says="give both, or neither")

    def test_bad_recipes(self):
        good = (ROOT / "demo/compound/shellac.toml").read_text()
        for old, new, says in [
            ('fraction = "13.5 %"', 'fraction = "12.5 %"', "the fractions sum to 0.9900, 0.0100 short of 1; mend one"),
            ('density = "2.71 g/cm3"', 'density = "-2.71 g/cm3"', "no density that can be meant"),
            ('density = "2.71 g/cm3"', "density = 2.71", "give a number with g/cm3 or kg/m3"),
            ('fraction = "13.5 %"', "fraction = nan", "not a finite number"),
            ('fraction = "13.5 %"', "fraction = 13.5", "give one from 0 to 1"),
            ('role = "colour"', 'role = "color"', "did you mean `colour`?"),
            ('role = "colour"', 'role = "magic"', "there are binder, extender, pellets"),
            ('role = "colour"', "", "role is missing"),
            ('density = "1.8 g/cm3"', "", "density is missing"),
            ("fill = 0.70", "fill = 1.7", "give one from 0 to 1"),
            ('volume = "45 l"', "", "volume is missing"),
            ('dump = "110 °C"', 'dump = "130 °C"', "above the recipe's highest"),
            ('division = "10 g"', 'division = "0 g"', "give a division above nought"),
            ("kind =", "kid =", "did you mean `kind`?"),
            ('low = "40 %"', 'low = "50 %"', "see which is which"),
            ("[mixer]", "[mixer", "not TOML"),
        ]:
            with self.subTest(new=new or old):
                self.assertIn(old, good)
                self.refused("mix", self.file("bad.toml", good.replace(old, new, 1)), says=says)
        self.refused("mix", "nowhere.toml", says="nowhere.toml")
        self.refused("mix", self.file("empty.toml", ""), says="holds no ingredient")
        self.refused("mix", self.file("one.csv", TABLE.replace("homopolymer", "copolymer")), "--mass", "1 kg",
                     says="copolymer: stands twice")
        self.refused("mix", self.file("mixed.csv", TABLE.replace(",1.6,", ",,")), says="fraction is missing")
        self.refused("mix", self.file("nan.csv", TABLE.replace("1.36", "nan")), says="nan.csv:2: density_g_per_cm3")
        self.refused("mix", self.file("lone.csv", TABLE), says="how much is to be mixed?")

    def test_bad_requests(self):
        demo = str(ROOT / "demo/compound/shellac.toml")
        for words, says in [
            (["--mass", "80 kg"], "the bowl holds 33.75 l"),
            (["--mass", "-1 kg"], "no mass that can be meant"),
            (["--mass", "60 kg", "--total", "90 kg"], "give one of them"),
            (["--said", "shelac=8kg"], "did you mean `shellac`?"),
            (["--said", "shellac=nan kg"], "nan kg"),
            (["--said", "shellac"], "write NAME=FIGURE"),
            (["--aim", "0", "--said", "shellac=8kg"], "aim of 0"),
            (["--price", "shellac=dear"], "no price"),
            (["--regrind", "100 %"], "give 0 to below 1"),
            (["--sheet", "sheet.gif"], ".pdf"),
            (["--picture", "x.gif"], ".png"),
        ]:
            with self.subTest(words=words):
                self.refused("mix", demo, *words, says=says)
        bad = self.file("w.csv", "ingredient,mass\nshellac,eight\n")
        self.refused("mix", demo, "--weighed", bad, says="w.csv:2: mass")
        self.refused("mix", demo, "--weighed", self.file("v.csv", "what,mass\nshellac,8 kg\n"), says="v.csv:1")
        own = self.file("own.csv", TABLE)
        self.refused("mix", own, "--mass", "9 kg", "--json", own, says="write to another file")
        self.assertEqual((self.folder / own).read_text(), TABLE)

    def test_bad_biscuits(self):
        shape = ["--diameter", "10in", "--thickness", "1.8mm"]
        for words, says in [
            ([*shape], "how dense is the compound?"),
            (["--density", "1.92 g/cm3"], "what is the disc's shape?"),
            (["--density", "nan g/cm3", *shape], "no density"),
            (["--density", "1.92 g/cm3", "--diameter", "10in", "--thickness", "90mm"], "thickness of 90 mm cannot be"),
            (["--density", "1.92 g/cm3", *shape, "--knives", "140mm"], "give the sheet's thickness"),
            (["--density", "1.92 g/cm3", *shape, "--pitch", "100 lpi"], "give all four, or none"),
            (["--density", "1.92 g/cm3", *shape, "--flash", "700 %"], "flash"),
            (["--density", "1.92 g/cm3", *shape, "--short", "0"], "chance of falling short"),
            (["--density", "1.92 g/cm3", *shape, "--picture", "b.png"], "weigh biscuits"),
        ]:
            with self.subTest(words=words):
                self.refused("biscuit", *words, says=says)
        base = ["biscuit", "--density", "1.92 g/cm3"]
        self.refused(*base, *shape, "--weighed", self.file("b.csv", "mass_g\n183\nnan\n"), says="b.csv:3: mass")
        self.refused(*base, *shape, "--weighed", self.file("c.csv", "weight\n183\n"), says="no column mass")
        self.refused(*base, *shape, "--weighed", self.file("d.csv", "mass_g\n183\n-4\n"), says="d.csv:3")
        self.refused(*base, "--profile", self.file("p.csv", "radius_mm,thickness_mm\n50,1.8\n3,1.8\n"),
                     says="from the hole outwards")


if __name__ == "__main__":
    unittest.main()
