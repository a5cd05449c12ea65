"""`goodside plate` as a user runs it: good runs, the record, the works' own table, and every bad input: exit 2, one line.

    plate_test.py GOODSIDE [unittest options]
"""

import json
import os
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()


class Plate(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.cwd = Path(self.folder.name)

    def run_it(self, *words, command="plate"):
        environment = {k: v for k, v in os.environ.items() if k != "GOODSIDE_DIR"}
        return subprocess.run(
            [GOODSIDE, *command.split(), *words], capture_output=True, text=True, cwd=self.cwd, env=environment
        )

    def answer(self, *words, status=0):
        done = self.run_it(*words, "--json", "-")
        self.assertEqual((done.returncode, done.stderr), (status, ""), words)
        return json.loads(done.stdout)

    def refused(self, *words, word=""):
        before = sorted(self.cwd.iterdir())
        done = self.run_it(*words)
        self.assertEqual(done.returncode, 2, (words, done.stdout, done.stderr))
        self.assertEqual(done.stdout, "", words)
        self.assertEqual(done.stderr.count("\n"), 1, (words, done.stderr))
        self.assertTrue(done.stderr.startswith("goodside plate: "), done.stderr)
        self.assertIn(word, done.stderr, words)
        self.assertEqual(sorted(self.cwd.iterdir()), before, words)

    # Worked by hand with F [CODATA2018]: a 320 mm disc, 6 A/dm2, 3 h, 97 %: 144.765 A h, 153.757 g, 214.617 um.
    def test_a_plain_run(self):
        got = self.answer("--current-density", "6 A/dm2", "--time", "3 h", "--efficiency", "97 %", "--target", "200um")
        self.assertAlmostEqual(got["charge_C"] / 3600, 144.765, 3)
        self.assertAlmostEqual(got["mass_kg"] * 1e3, 153.757, 3)
        self.assertAlmostEqual(got["mean_thickness_m"] * 1e6, 214.617, 3)
        self.assertAlmostEqual(got["target_time_s"], 3 * 3600 * 200 / 214.617, 1)

    def test_a_ramp_of_ones_own(self):
        got = self.answer("--ramp", "2 A for 1 h, to 10 A over 30 min, 10 A for 2 h", "--diameter", "200 mm")
        self.assertAlmostEqual(got["charge_C"] / 3600, 2 + 3 + 20, 9)
        self.assertEqual(got["time_s"], 3.5 * 3600)

    def test_the_run_ends_when_the_thinnest_place_has_the_target(self):
        got = self.answer("--target", "250um", "--shield", "290mm@50mm", "--start", "silvered")
        self.assertAlmostEqual(got["spread"]["band"]["least_m"] * 1e6, 250.0, 4)
        self.assertLess(got["spread"]["charge_balance"], 1e-8)
        inside = [h for r, h in zip(got["spread"]["radius_m"], got["spread"]["thickness_m"]) if 0.0604 < r < 0.1462]
        self.assertGreaterEqual(min(inside), got["spread"]["band"]["least_m"])

    def test_too_short_or_too_uneven_is_status_1(self):
        self.answer("--target", "250um", "--time", "1 h", status=1)
        self.answer("--spread", "--kinetics", "primary", "--within", "2 %", status=1)
        self.answer("--shield", "296mm@49mm", "--kinetics", "primary", "--within", "3 %", status=0)

    def test_every_metal_says_its_cautions(self):
        for metal, word in (
            ("nickel", "Nickel salts"),
            ("copper", "add acid to water"),
            ("chromium", "Chromium(VI)"),
            ("nickel-flash", "passive"),
            ("chromium-flash", "peels"),
        ):
            done = self.run_it("--metal", metal)
            text = " ".join(done.stdout.split())
            for one in (word, "Hydrogen", "Follow your local code and your licensed adviser"):
                self.assertIn(one, text, metal)
            self.assertLessEqual(max(map(len, done.stdout.splitlines())), 80, metal)

    def test_pictures_and_json_are_written_together_or_not_at_all(self):
        done = self.run_it(
            *("--shield none --kinetics primary --picture t.png --cell-picture c.svg --ramp-picture r.pdf --json j.json").split()
        )
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        for name, begins in (("t.png", b"\x89PNG"), ("c.svg", b"<?xml"), ("r.pdf", b"%PDF"), ("j.json", b"{")):
            self.assertTrue((self.cwd / name).read_bytes().startswith(begins), name)
        self.refused("--picture", "x.gif", word=".png")
        self.refused("--picture", "x.png", "--json", "no/such/folder.json")

    def test_stress_from_a_strip(self):
        got = self.answer("--strip", "length=100mm, thickness=1mm, deposit=50um, deflection=0.5mm, modulus=200GPa, poisson=0.31")
        self.assertAlmostEqual(got["stress"]["stress_Pa"] / 1e6, 96.618, 1)
        self.assertIsNone(got["stress"]["bow_m"])
        got = self.answer("--stress", "30 MPa", "--base-thickness", "1 mm", "--target", "50um")
        self.assertGreater(got["stress"]["bow_m"], 0)

    def test_a_table_of_the_works_own(self):
        (self.cwd / "own.toml").write_text(
            '[metals.nickel]\ncathode_efficiency = 0.5\n[metals.nickel.salts]\n"nickel sulfamate" = '
            '{concentration = "420 g/L", metal_share = 0.234}\n'
            '[metals.tin]\nmolar_mass = "118.710 g/mol"\ndensity = "7.287 g/cm3"\nelectrons = 2\n'
            'current_density = "1 A/dm2"\nhighest_current_density = "3 A/dm2"\nthickness = "5 um"\nconductivity = "20 S/m"\n'
            '[cells.small]\ndisc_radius = "90 mm"\ncell_radius = "140 mm"\nanode_distance = "120 mm"\n'
            'shield_opening_radius = "80 mm"\nshield_distance = "30 mm"\n'
        )
        got = self.answer("--metals", "own.toml", "--time", "1 h")
        self.assertEqual(got["metal"]["cathode_efficiency"], 0.5)
        self.assertEqual([one["what"] for one in got["upkeep"]["used"]], ["nickel sulfamate"])
        # Handbook value: 30.3913 um of tin for 1 A h/dm2.
        got = self.answer("--metals", "own.toml", "--metal", "tin", "--current-density", "1 A/dm2", "--time", "1 h")
        self.assertAlmostEqual(got["mean_thickness_m"] * 1e6, 30.3913, 3)
        got = self.answer("--metals", "own.toml", "--cell", "small", "--kinetics", "primary")
        self.assertEqual(got["disc_radius_m"], 0.09)
        self.assertEqual(got["spread"]["cell"]["shield"]["opening_radius_m"], 0.08)
        for text, word in (
            ("[metals.nickel]\ncathode_eficiency = 0.9", "cathode_efficiency"),
            ("[metals.nickel]\ncathode_efficiency = nan", "own2.toml:2"),
            ("[metals.nickel]\ncathode_efficiency = 3", "cathode efficiency"),
            ('[metals.nickel]\ndensity = "8 mm"', "own2.toml:2"),
            ('[metals.gold]\ndensity = "19 g/cm3"', "molar_mass"),
            ("[metals.nickel\n", "own2.toml"),
            ('[cells.x]\ndisc_radius = "90 mm"', "anode_distance"),
        ):
            (self.cwd / "own2.toml").write_text(text)
            self.refused("--metals", "own2.toml", word=word)

    def test_the_record_gives_the_start_and_keeps_the_run(self):
        def works(*words):
            done = self.run_it(*words, "--in", "w", "--json", "-", command="works")
            self.assertEqual(done.returncode, 0, done.stderr)
            return json.loads(done.stdout)

        self.assertEqual(self.run_it("init", "w", "--name", "W", command="works").returncode, 0)
        title = works("add", "title", "name=A", "artist=B")["code"]
        side = works("add", "side", f"title={title}", "letter=A", "format=10in-78")["code"]
        cut = works("add", "cut", f"side={side}", "pitch=100 lpi")["code"]
        lacquer = works("add", "part", "kind=lacquer", f"cut={cut}")["code"]
        works("log", lacquer, "silvered")
        father = works("add", "part", "kind=father", f"parent={lacquer}")["code"]
        part = ["--part", father, "--in", "w", "--diameter", "265mm"]
        got = self.answer(*part, "--target", "400um", "--spread", "--kinetics", "primary", "--log")
        self.assertEqual((got["part"], got["face"]), (father, "silvered"))
        self.assertAlmostEqual(got["spread"]["band"]["outer_radius_m"], 0.121, 3)
        shown = works("show", father)
        self.assertIn("grown", json.dumps(shown))
        for step in ("separated", "inspected", "passivated"):
            works("log", father, step)
        mother = works("add", "part", "kind=mother", f"parent={father}")["code"]
        got = self.answer("--part", mother, "--in", "w", "--diameter", "265mm", "--stress", "10 MPa")
        self.assertEqual(got["face"], "passivated")
        self.assertGreater(got["stress"]["base_thickness_m"], 390e-6)
        works("log", mother, "grown")
        works("log", mother, "separated")
        got = self.answer("--part", mother, "--in", "w", "--diameter", "265mm", "--log")
        self.assertEqual(got["metal"]["name"], "chromium-flash")
        self.assertIn("faced", json.dumps(works("show", mother)))
        self.refused("--part", father, "--in", "w", word="ready")
        self.refused("--part", "P-99999-X", "--in", "w")

    def test_bad_input(self):
        for words, word in (
            (["--current", "-5 A"], "--current"),
            (["--current", "0 A"], "current"),
            (["--current", "nan A"], "--current"),
            (["--current", "1e9 A"], "--current"),
            (["--current", "48 A", "--current-density", "6 A/dm2"], "not both"),
            (["--current-density", "6"], "A/dm2"),
            (["--area", "0 dm2"], "area"),
            (["--area", "8 dm2", "--spread"], "diameter"),
            (["--diameter", "0 mm"], ""),
            (["--diameter", "-320 mm"], "radius"),
            (["--diameter", "500 m"], "radius"),
            (["--time", "0 s"], "time"),
            (["--time", "-3 h"], "--time"),
            (["--target", "0 um"], "thickness"),
            (["--target", "-5 um"], "thickness"),
            (["--target", "2 m"], "thickness"),
            (["--efficiency", "0"], "efficiency"),
            (["--efficiency", "120 %"], "--efficiency"),
            (["--metal", "nickle"], "nickel"),
            (["--metals", "none.toml"], "none.toml"),
            (["--start", "wet"], "silvered"),
            (["--ramp", "6 A/dm2"], "stage"),
            (["--ramp", "6 V for 3 h"], "--ramp"),
            (["--ramp", "-6 A for 3 h"], "--ramp"),
            (["--ramp", "6 A for 0 s"], "stage"),
            (["--ramp", ""], "--ramp"),
            (["--ramp", "to 0 A over 1 h"], "charge"),
            (["--ramp", "5 A for 1 h, to 0 A over 1 h", "--target", "9 mm"], "never"),
            (["--cell", "rotary"], "rotary"),
            (["--cell-radius", "100 mm"], "larger than the cell"),
            (["--cell-radius", "nan mm"], "--cell-radius"),
            (["--level", "100 mm", "--anode-distance", "200 mm"], "dry"),
            (["--anode-radius", "2 m"], "anode"),
            (["--anode-distance", "0 mm"], "--anode-distance"),
            (["--anode-hole", "300 mm"], "anode"),
            (["--holder-radius", "100 mm"], "holder"),
            (["--rim", "900 mm"], "rim"),
            (["--conductivity", "0 S/m"], "--conductivity"),
            (["--conductivity", "9000 S/m"], "conductivity"),
            (["--shield", "700mm@50mm"], "larger than the cell"),
            (["--shield", "280mm@50mm", "--shield-radius", "900 mm"], "larger than the cell"),
            (["--shield", "0mm@50mm"], "shut"),
            (["--shield", "280mm@0mm"], "masks"),
            (["--shield", "280mm@-5mm"], "behind"),
            (["--shield", "280mm@500mm"], "anode"),
            (["--shield", "280mm@nanmm"], "--shield"),
            (["--shield", "280mm"], "@"),
            (["--shield", "best", "--anode-distance", "5 mm"], "shield"),
            (["--within", "0 %"], "--within"),
            (["--spread", "--kinetics", "fast"], "tafel"),
            (["--spread", "--kinetics", "linear"], "--surface-resistance"),
            (["--spread", "--tafel-slope", "0 mV"], "--tafel-slope"),
            (["--spread", "--tafel-slope", "90 V"], "slope"),
            (["--spread", "--exchange-current", "0 A/m2"], "--exchange-current"),
            (["--spread", "--format", "14in-33"], "--format"),
            (["--spread", "--diameter", "180 mm", "--format", "12in-33"], "band"),
            (["--spread", "--inner-radius", "150 mm", "--outer-radius", "60 mm"], "band"),
            (["--stress", "30"], "--stress"),
            (["--stress", "9000 GPa"], "stress"),
            (["--stress", "30 MPa", "--strip", "length=8mm"], "--strip"),
            (["--strip", "length=80mm, thickness=1mm, deposit=5um, deflection=900mm"], "deflection"),
            (["--strip", "length=80mm, thickness=1mm, deposit=0um, deflection=1mm"], "deposit"),
            (["--strip", "width=8mm"], "--strip"),
            (["--spiral", "turn=30"], "--spiral"),
            (["--base-thickness", "1 mm"], "stress"),
            (["--base-thickness", "0 mm", "--stress", "30 MPa"], "base"),
            (["--picture", "t.bmp"], ".png"),
            (["--log"], "--part"),
            (["--part", "P-00001-Q", "--in", "nowhere"], "nowhere"),
            (["--nonsense"], "--nonsense"),
        ):
            with self.subTest(words=words):
                self.refused(*words, word=word)

    def test_the_example_of_the_help_is_what_is_answered(self):
        shown = self.run_it("--help").stdout.split("Example\n")[1]
        lines = [line[2:] if line.startswith("  ") else line for line in shown.strip("\n").splitlines()]
        command, *rest = lines
        self.assertTrue(command.startswith("goodside plate "), command)
        done = self.run_it(*command.split()[2:])
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        expected = "\n".join(rest).strip("\n")
        self.assertTrue(done.stdout.startswith(expected), f"{expected}\n\n{done.stdout}")


if __name__ == "__main__":
    unittest.main()
