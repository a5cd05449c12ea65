"""`goodside cycle` end to end: a good run, its pictures, the shortest, a fit, and every bad input in one line.

    cycle_test.py GOODSIDE [unittest options]
"""

import json
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()


def run(*words):
    done = subprocess.run([GOODSIDE, "cycle", *words], capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


class Cycle(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.at = Path(self.folder.name)

    def test_the_help_shows_what_the_command_answers(self):
        shown = run("--help")[1].split("goodside cycle --set water_time=12s\n")[1]
        shown = [line.strip() for line in shown.split("...")[0].splitlines() if line.strip()]
        answered = [line.strip() for line in run("--set", "water_time=12s")[1].splitlines() if line.strip()]
        self.assertEqual(shown, answered[: len(shown)])
        self.assertGreater(len(shown), 5)

    def test_a_usual_cycle_works_and_says_what_it_is_not(self):
        for compound in ("vinyl", "shellac"):
            status, out, err = run("--compound", compound)
            self.assertEqual((status, err), (0, ""))
            for words in ("The cycle works", "uncalibrated", "steam off", "Caution:", "two-hand", "Next:"):
                self.assertIn(words, out)
            self.assertLessEqual(max(map(len, out.splitlines())), 80)

    def test_json_closes_its_balance_and_pictures_are_drawn(self):
        status, out, _ = run("--json", "-")
        self.assertEqual(status, 0)
        answer = json.loads(out)
        self.assertEqual(answer["schema"], "goodside.cycle/1")
        self.assertFalse(answer["calibrated"])
        self.assertLess(abs(answer["result"]["balance"]["error"]), 1e-6)
        for plot in ("temperatures", "profile", "radius"):
            picture = self.at / f"{plot}.png"
            self.assertEqual(run("--plot", plot, "--picture", picture)[0], 0)
            self.assertEqual(picture.read_bytes()[:4], b"\x89PNG")
        small = ("--window", "steam=6bar..12bar,water_time=8s..16s", "--plot", "window", "--points", "4")
        self.assertEqual(run(*small, "--picture", self.at / "window.svg")[0], 0)
        self.assertTrue((self.at / "window.svg").read_text().startswith("<?xml"))

    def test_draws_do_not_hang_on_the_number_of_threads(self):
        one, two = (json.loads(run("--monte-carlo", "24", "--jobs", n, "--json", "-")[1]) for n in "13")
        self.assertEqual(one, two)

    def test_a_saved_press_is_read_back(self):
        saved = self.at / "press.toml"
        first = run("--set", "b.water=18C", "--set", "cover=5.5mm", "--save", saved)
        again = run("--press", saved)
        self.assertEqual(first[1], again[1])

    def test_a_press_is_fitted_to_its_logs(self):
        truth = ("--set", "steam_factor=0.45", "--set", "water_factor=1.1")
        moments = json.loads(run(*truth, "--json", "-")[1])["moments"]
        log, last = ["time_s,a_face,b_face"], -1.0
        for one in moments:
            if one["time_s"] > last + 0.4:
                last = one["time_s"]
                log.append(f"{last},{one['face_K'][0] - 273.15:.2f},{one['face_K'][1] - 273.15:.2f}")
        (self.at / "log.csv").write_text("\n".join(log) + "\n")
        flat = ("--set", "stop=0.5mm", "--set", "force=150kN")
        ladder = ["mass_g,diameter_mm,thickness_mm"]
        for mass in (110, 130, 150):
            result = json.loads(run(*truth, *flat, "--set", f"mass={mass}g", "--set", "consistency_factor=1.8",
                                    "--json", "-")[1])["result"]
            ladder.append(f"{mass},{2e3 * result['final_radius_m']:.2f},{1e3 * result['final_gap_m']:.3f}")
        (self.at / "ladder.csv").write_text("\n".join(ladder) + "\n")
        saved = self.at / "fitted.toml"
        run(*flat, "--fit", self.at / "log.csv", "--ladder", self.at / "ladder.csv", "--save", saved)
        status, out, err = run("--press", saved, "--set", "stop=0mm", "--set", "force=1000kN", "--json", "-")
        self.assertEqual((status in (0, 1), err), (True, ""))
        answer = json.loads(out)
        self.assertTrue(answer["calibrated"])
        self.assertAlmostEqual(answer["inputs"]["steam_factor"], 0.45, delta=0.02)
        self.assertAlmostEqual(answer["inputs"]["water_factor"], 1.1, delta=0.05)
        self.assertAlmostEqual(answer["inputs"]["consistency_factor"], 1.8, delta=0.2)

    def test_a_cycle_is_a_recipe_of_the_record(self):
        works = self.at / "works"
        for words in (["works", "init", str(works), "--name", "Tarnholt", "--by", "nora"],):
            done = subprocess.run([GOODSIDE, *words], capture_output=True, text=True)
            self.assertEqual(done.returncode, 0, done.stderr)
        status, out, err = run("--recipe", "twelve inch", "--in", works, "--by", "nora")
        self.assertEqual((status, err), (0, ""))
        code = out.split("recipe ")[-1].split()[0]
        shown = subprocess.run([GOODSIDE, "works", "show", code, "--in", works], capture_output=True, text=True)
        self.assertEqual(shown.returncode, 0, shown.stderr)
        for words in ("twelve inch", "uncalibrated", "25.3"):
            self.assertIn(words, shown.stdout)

    def test_bad_input_is_one_line_with_its_mend(self):
        (self.at / "bad.toml").write_text('steam = "9 bar"\nwater = "70 °C"\nstaem = 3\n')
        (self.at / "cut.csv").write_text("time_s,a_face\n0,20\n1,abc\n")
        (self.at / "place.csv").write_text("time_s,c_face\n0,20\n")
        (self.at / "seated.csv").write_text("mass_g,diameter_mm,thickness_mm\n150,270,1.9\n160,279,1.9\n")
        figures = {"a.die_thickness=10mm": "at least 13.5 mm", "water=70C": "can never set", "steam=1bar": "can never fill",
                   "a.stamper=-0.2mm": "cannot be", "water_time=nan": "is no time", "water_flow=0kg/s": "never set",
                   "steem=9bar": "did you mean", "open_time=inf": "is no time", "channel_pitch=8mm": "into each other",
                   "mass=20g": "heavier", "mass=-1g": "can be meant", "force": "name=value", "a.force=1kN": "whole press",
                   "steam_lead=9s": "shorter lead", "flow_exponent=0": "cannot be", "flow_temperature=50C": "must grow"}
        rows = [(("--set", figure), part) for figure, part in figures.items()]
        rows += [(("--compound", "wax"), "vinyl or shellac"), (("--press", self.at / "none.toml"), "no such file"),
                 (("--press", self.at / "bad.toml"), "bad.toml:3"), (("--window", "steam"), "give two"),
                 (("--window", "steam,steam"), "two different"), (("--window", "steam=9bar..6bar,water_time"), "high end"),
                 (("--monte-carlo", "3"), "whole number"), (("--jobs", "0"), "whole number"),
                 (("--plot", "window", "--picture", "w.png"), "no window"), (("--picture", "w.gif"), ".png"),
                 (("--fit", self.at / "cut.csv"), "cut.csv:3: a_face"), (("--fit", self.at / "place.csv"), "names no place"),
                 (("--ladder", self.at / "seated.csv"), "tells its volume"),
                 (("--best", "--set", "dish_limit=0.02mm", "--set", "b.water=30C"), "the one that breaks")]
        for words, part in rows:
            status, out, err = run(*words)
            self.assertEqual((status, out, err.count("\n")), (2, "", 1), f"{words}: {err}")
            self.assertIn(part, err)


if __name__ == "__main__":
    unittest.main()
