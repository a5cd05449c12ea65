"""centre and back through the built command: a good run of each, the examples of --help, photographs with known
offsets, and every bad input: one line, exit status 2, nothing written.

    metal_test.py GOODSIDE [--wide] [unittest options]
"""

import json
import math
import re
import shlex
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from disc_photograph import Scene, drawn_at_random  # noqa: E402

GOODSIDE = Path(sys.argv.pop(1)).resolve()
WIDE = "--wide" in sys.argv and bool(sys.argv.remove("--wide") or True)
COINS = Path(__file__).resolve().parents[1] / "published" / "centring" / "coins.png"


class Metal(unittest.TestCase):
    def setUp(self):
        held = tempfile.TemporaryDirectory()
        self.addCleanup(held.cleanup)
        self.folder = Path(held.name)

    def run_line(self, line):
        words = shlex.split(line) if isinstance(line, str) else line
        return subprocess.run([GOODSIDE, *words], capture_output=True, text=True, cwd=self.folder,
                              env={"PATH": "/usr/bin:/bin", "HOME": str(self.folder)})

    def centred(self, scene, name="plate.png", *more):
        scene.save(self.folder / name)
        grooves = [word for one in scene.grooves_mm for word in ("--groove-diameter", f"{one}mm")]
        return self.run_line(["centre", "--photo", name, "--hole-diameter", f"{scene.hole_mm}mm", *grooves, "--json", "-",
                              *more])

    def error_px(self, scene, done):
        offset = json.loads(done.stdout)["offset"]
        return math.hypot(offset["x_m"] * 1e3 - scene.offset_mm[0],
                          offset["y_m"] * 1e3 - scene.offset_mm[1]) * scene.scale_px_per_mm

    def test_the_examples_answer_what_they_show(self):
        for command in ("centre", "back"):
            example = self.run_line([command, "--help"]).stdout
            begin = example.index(f"goodside {command} ", example.index("xample"))
            lines = [line.strip() for line in example[begin:].splitlines()]
            shown = [line for line in lines[1:lines.index("...")] if line]
            done = self.run_line(lines[0].removeprefix("goodside "))
            answered = [line.strip() for line in done.stdout.splitlines()]
            self.assertEqual(answered[:len(shown)], shown)

    def test_readings_give_the_move_the_json_and_the_picture(self):
        rows = ["angle_deg,position"]
        for k in range(8):
            t = math.radians(45 * k)
            rows.append(f"{45 * k},{53.2 + 0.300 * math.cos(t) - 0.04 * math.sin(t) + 0.002 * (-1) ** k:.4f} mm")
        (self.folder / "groove.csv").write_text("\n".join(rows) + "\n")
        done = self.run_line("centre --readings groove.csv --json out.json --picture out.svg")
        self.assertEqual((done.returncode, done.stderr), (1, ""))
        self.assertIn("two-hand control", done.stdout)
        answer = json.loads((self.folder / "out.json").read_text())
        self.assertEqual(answer["schema"], "goodside.centre/1")
        self.assertEqual(answer["standing"], "outside")
        self.assertAlmostEqual(answer["move_x_m"], -300e-6, delta=1e-6)
        self.assertAlmostEqual(answer["move_y_m"], 40e-6, delta=1e-6)
        self.assertAlmostEqual(answer["wow"][1]["peak"], math.hypot(0.3, 0.04) / 60.325, delta=1e-5)
        self.assertIn("<svg", (self.folder / "out.svg").read_text()[:400])
        # Clockwise angles, +x where 90 was read: the same plate in other axes.
        turned = json.loads(self.run_line("centre --readings groove.csv --json - --angles clockwise --x-at 90").stdout)
        self.assertAlmostEqual(turned["offset"]["x_m"], -40e-6, delta=1e-6)
        self.assertAlmostEqual(turned["offset"]["y_m"], 300e-6, delta=1e-6)

    def test_what_was_heard_is_laid_beside(self):
        reports = sorted((Path(__file__).resolve().parents[2] / "demo" / "trace" / "reports").glob("*.json"))
        line = ["centre", *(f"{a}={p}um" for a, p in ((0, 38), (60, 88), (120, 52), (180, -43), (240, -93), (300, -58)))]
        self.assertIn("they agree", " ".join(self.run_line([*line, "--heard", *map(str, reports)]).stdout.split()))
        far = ["centre", *(f"{a}={p}um" for a, p in ((0, 138), (60, 288), (120, 152), (180, -143), (240, -293), (300, -158)))]
        self.assertIn("they differ", " ".join(self.run_line([*far, "--heard", *map(str, reports)]).stdout.split()))
        self.assertEqual(self.run_line([*line, "--heard", "none.json"]).returncode, 2)

    def works(self, *words, adds=False):
        done = self.run_line(["works", *words, "--in", "here", "--by", "me", *(["--json", "-"] if adds else [])])
        self.assertEqual(done.returncode, 0, done.stderr)
        return json.loads(done.stdout)["code"] if adds else done.stdout

    def pressed_part(self):
        """A works with a stamper of side A that grew in two baths, as far as finishing; the side and the stamper's code."""
        self.assertEqual(self.run_line("works init here --name Works --zone UTC").returncode, 0)
        title = self.works("add", "title", "name=Leaves", adds=True)
        side = self.works("add", "side", f"title={title}", "letter=A", "format=12in-33", adds=True)
        mother = self.works("add", "part", "kind=mother", f"side={side}", "origin=bought", adds=True)
        self.works("log", mother, "passivated")
        part = self.works("add", "part", "kind=stamper", f"parent={mother}", "presses=yes", adds=True)
        return title, part

    def test_calculators_start_from_the_parts_own_data(self):
        _, part = self.pressed_part()
        record = ["--part", part, "--in", "here", "--by", "me"]
        plated = self.run_line(["plate", *record, "--target", "180um", "--log"])
        self.assertEqual(plated.returncode, 0, plated.stderr)
        # A second bath: copper on the part's own fresh nickel.
        plated = self.run_line(["plate", *record, "--metal", "copper", "--target", "600um", "--log"])
        self.assertEqual(plated.returncode, 0, plated.stderr)
        self.works("log", part, "separated")
        backed = self.run_line(["back", *record, "--plate", "6mm", "--alloy", "Sn96.5Ag3Cu0.5", "--json", "-"])
        self.assertIn(backed.returncode, (0, 1), backed.stderr)
        layers = {one["name"]: one["thickness_m"] for one in json.loads(backed.stdout)["layers"]}
        self.assertAlmostEqual(layers["nickel"], 180e-6, delta=1e-6)
        self.assertAlmostEqual(layers["copper"], 600e-6, delta=1e-6)
        own = self.run_line(["back", *record, "--plate", "6mm", "--nickel", "0.3mm", "--json", "-"])
        layers = {one["name"]: one["thickness_m"] for one in json.loads(own.stdout)["layers"]}
        self.assertEqual((layers["nickel"], round(layers["copper"], 7)), (0.3e-3, 0.6e-3))
        said = " ".join(self.run_line(["back", *record, "--plate", "6mm"]).stdout.split())
        self.assertIn("nickel 0.18 mm, copper 0.6 mm", said)

    def test_what_the_record_heard_is_laid_beside_by_itself(self):
        title, part = self.pressed_part()
        record = ["--part", part, "--in", "here", "--by", "me"]
        none = self.run_line(["centre", *record])
        self.assertEqual((none.returncode, len(none.stderr.splitlines())), (2, 1))
        self.assertIn("holds no centring", none.stderr)
        self.works("log", part, "grown", "thickness=200 um")
        self.works("log", part, "separated")
        readings = [f"{a}={p}um" for a, p in ((0, 38), (60, 88), (120, 52), (180, -43), (240, -93), (300, -58))]
        logged = self.run_line(["centre", *readings, *record, "--log"])
        self.assertEqual(logged.returncode, 0, logged.stderr)
        self.assertNotIn("heard", logged.stdout.split("Next:")[0])
        for step in ("punched", "trimmed", "inspected"):
            self.works("log", part, step)
        order = self.works("add", "order", f"title={title}", "quantity=10", adds=True)
        press = self.works("add", "press", "name=One", adds=True)
        batch = self.works("add", "batch", "material=vinyl", "mass=10 kg", adds=True)
        self.works("mount", press, "--a", part, "--counter", "0", "--reason", "new order")
        run = self.works("add", "run", f"order={order}", f"press={press}", "purpose=test", adds=True)
        self.works("press", run, "6", "--batch", batch, "--counter", "6")
        report = json.loads((Path(__file__).resolve().parents[1] / "json" / "golden" / "listening_report.json").read_text())
        for number in (1, 2, 3):
            ticket = re.search(r"S-\d+-\w", self.works("ticket", run, str(2 * number), "--reason", "sample")).group()
            report["wow"].update(eccentricity_m=150e-6 + 2e-6 * number, eccentricity_direction_deg=40.0)
            report["capture"]["sha256"] = f"{number:064x}"
            (self.folder / f"{number}.json").write_text(json.dumps(report))
            heard = self.run_line(["works", "hear", ticket, "--side", "A", "--report", f"{number}.json", *record[2:]])
            self.assertIn(heard.returncode, (0, 1), heard.stderr)
        done = self.run_line(["centre", *record])
        said = " ".join(done.stdout.split())
        self.assertEqual(done.returncode, 1, done.stderr)
        self.assertRegex(said, r"3 discs heard \d+ µm off centre \(\d+ to \d+, 90 %\), the plate read \d+ to \d+ µm "
                               r"\(90 %\): they differ")
        self.assertIn("(the record)", said)
        beside = json.loads(self.run_line(["centre", *record, "--json", "-"]).stdout)
        self.assertEqual((beside["source"], beside["heard"]["discs"], beside["heard"]["agree"]), ("record", 3, False))
        again = [f"{a}={round(1.65 * p)}um" for a, p in ((0, 38), (60, 88), (120, 52), (180, -43), (240, -93), (300, -58))]
        self.assertIn("they agree", " ".join(self.run_line(["centre", *again, *record]).stdout.split()))

    def test_three_readings_are_not_sure(self):
        done = self.run_line("centre 0=53.2mm 120=53.25mm 240=53.21mm")
        self.assertEqual(done.returncode, 1)
        self.assertIn("Not decided", done.stdout)
        self.assertIn("more readings", done.stdout)

    def test_a_backed_plate_and_a_bare_one(self):
        done = self.run_line("back --plate 3mm --json back.json --picture back.png")
        self.assertEqual((done.returncode, done.stderr), (1, ""))
        self.assertIn("never water into acid", done.stdout)
        answer = json.loads((self.folder / "back.json").read_text())
        self.assertEqual([one["name"] for one in answer["layers"]], ["nickel", "copper", "solder", "steel"])
        rows = ["radius_mm,angle_deg,thickness_um"]
        rows += [f"{r},{a},{200 + 0.04 * r * math.cos(math.radians(a - 60)):.3f}" for r in (20, 80, 150) for a in
                 range(0, 360, 45)]
        (self.folder / "map.csv").write_text("\n".join(rows) + "\n")
        done = self.run_line("back --map map.csv --roughness 2um --form-edge 3mm --json - --picture map.svg")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        map_found = json.loads(done.stdout)["map"]
        self.assertAlmostEqual(map_found["wedge_m"], 2 * 0.04e-6 * 160, delta=2e-9)
        self.assertAlmostEqual(map_found["thick_towards_deg"], 60, delta=0.1)

    def test_photographs_are_right_to_a_tenth_of_a_pixel(self):
        scenes = [Scene(hole_mm=20.0), Scene(hole_mm=20.0, tilt_deg=2.5, tilt_axis_deg=70, distance_mm=700, blur_px=1.6),
                  Scene(hole_mm=38.2, ground=30, plate=190, band=150, line=60, fan=80, glare=90, gradient=0.5, dust=80, jpeg=80,
                        offset_mm=(-0.3, 0.2))]
        for scene in scenes:
            done = self.centred(scene)
            self.assertIn(done.returncode, (0, 1), done.stderr)
            self.assertLess(self.error_px(scene, done), 0.1)

    def test_a_line_that_black_clips_over_part_of_the_turn_leans_nowhere(self):
        # Regression, 2026-11-26: glare lifts a part of the turn over black, the rest is clipped; 0.12 pixel out, sigma 0.018.
        scene = drawn_at_random(1043)
        done = self.centred(scene)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertLess(self.error_px(scene, done), 0.05)

    def test_a_label_near_the_locked_groove_draws_it_nowhere(self):
        # Regression, 2026-11-26: a label 0.3 mm off centre, blurred into the window that the groove is read in; 0.18 pixel.
        scene = drawn_at_random(1029)
        done = self.centred(scene)
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertLess(self.error_px(scene, done), 0.1)

    def test_photographs_drawn_at_random_are_right_or_refused(self):
        answered = 0
        seeds = range(1000, 1060) if WIDE else range(15, 18)
        for seed in seeds:
            scene = drawn_at_random(seed)
            done = self.centred(scene)
            if done.returncode == 2:
                self.assertEqual(done.stdout, "")
                self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)
                continue
            answered += 1
            self.assertLess(self.error_px(scene, done), 0.1, f"seed {seed}")
        self.assertGreater(answered, len(seeds) // 4)

    def test_one_groove_is_refused_unless_scanned(self):
        scene = Scene(hole_mm=20.0, grooves_mm=(106.4, 292.6))
        scene.save(self.folder / "plate.png")
        line = "centre --photo plate.png --hole-diameter 20mm --groove-diameter 106.4mm"
        refused = self.run_line(line)
        self.assertEqual(refused.returncode, 2)
        self.assertIn("tilted camera", refused.stderr)
        done = self.run_line(line + " --scan --json - --picture over.png")
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertLess(self.error_px(scene, done), 0.1)
        self.assertGreater((self.folder / "over.png").stat().st_size, 20000)

    def test_bad_input_is_one_line(self):
        files = {"text.png": b"a letter\n" * 50, "empty.csv": b"", "head.csv": b"angle_deg,position_mm\n",
                 "word.csv": b"angle_deg,position_mm\n0,far\n90,1\n180,2\n", "nan.csv": b"angle_deg,position_mm\n0,nan\n",
                 "column.csv": b"angle,position_mm\n0,1\n", "two.csv": b"angle_deg,position_mm\n0,1\n90,2\n",
                 "few.csv": b"x_mm,y_mm,thickness_um\n0,0,200\n10,0,201\n",
                 "both.csv": b"x_mm,y_mm,thickness_um,thickness_mm\n0,0,200,0.2\n",
                 "line.csv": b"x_mm,y_mm,thickness_um\n" + b"".join(b"%d,0,200\n" % k for k in range(9)),
                 "cut.png": COINS.read_bytes()[:5000], "coins.png": COINS.read_bytes()}
        for name, data in files.items():
            (self.folder / name).write_bytes(data)
        # A head that claims 60,000 pixels a side, over nothing.
        bomb = bytearray(COINS.read_bytes()[:200])
        bomb[16:24] = (60000).to_bytes(4, "big") * 2
        (self.folder / "bomb.png").write_bytes(bomb)
        before = sorted(path.name for path in self.folder.iterdir())
        for line in ["centre", "centre 0=1mm 90=2mm", "centre 45=1mm 45=2mm 405=3mm", "centre 0=1mm 4=1mm 8=1mm 12=1mm",
                     "centre 0=1mm 90=nan 180=2mm", "centre 0=1mm 90=inf 180=2mm", "centre 0=1mm 90=2 180=3mm",
                     "centre 0=1mm 90=2m 180=3mm", "centre 0=1mm 90=5mm here 180=3mm", "centre --readings none.csv",
                     "centre --readings empty.csv", "centre --readings head.csv", "centre --readings word.csv",
                     "centre --readings nan.csv", "centre --readings column.csv", "centre --readings two.csv",
                     "centre 0=1mm 90=1mm 180=1mm --limit 0mm", "centre 0=1mm 90=1mm 180=1mm --format 13in-33",
                     "centre 0=1mm 90=1mm 180=1mm --x-at north", "centre 0=1mm 90=1mm 180=1mm --angles up",
                     "centre 0=1mm 90=1mm 180=1mm --reading-sigma 0um", "centre 0=1mm 90=1mm 180=1mm --picture x.gif",
                     "centre --photo none.png", "centre --photo text.png", "centre --photo cut.png",
                     "centre --photo bomb.png", "centre --photo coins.png", "centre --photo coins.png --scan",
                     "centre --photo coins.png --hole-diameter 10mm --groove-diameter 15mm --scan",
                     "centre --photo coins.png --hole-diameter 20mm --groove-diameter 15mm",
                     "centre --photo coins.png 0=1mm", "back", "back --plate 0mm", "back --plate -3mm", "back --plate 3",
                     "back --plate 3mm --metal tin", "back --plate 3mm --alloy Sn99", "back --plate 3mm --press hot",
                     "back --plate 3mm --press 900C", "back --plate 3mm --diameter 9m", "back --map none.csv",
                     "back --map few.csv", "back --map both.csv", "back --map line.csv", "back --roughness 0um",
                     "back --roughness 2um --spacing -1mm", "back --form-edge 0mm", "back --plate 200mm"]:
            done = self.run_line(line)
            self.assertEqual((done.returncode, done.stdout), (2, ""), line)
            self.assertEqual(len(done.stderr.splitlines()), 1, line + "\n" + done.stderr)
            self.assertGreater(len(done.stderr), 30, line)
        self.assertEqual(sorted(path.name for path in self.folder.iterdir()), before)


if __name__ == "__main__":
    unittest.main()
