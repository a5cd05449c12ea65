"""The stations' calculations of `goodside serve`: each answer is the command's own, to the last figure; what may be given
is what the command's help names; each role; what is entered in the record; bad input. Each answer is held against
docs/api/openapi.json.

    calculations_test.py GOODSIDE [unittest options]
"""

import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
import unittest

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "support"))
from checked_api import API, PASSWORD, REACHED, Checked, as_checked, children_of, wait_for  # noqa: E402
from disc_photograph import Scene  # noqa: E402
from served_works import Server, run  # noqa: E402

GOODSIDE = str(pathlib.Path(sys.argv.pop(1)).resolve())
DEMO = HERE.parents[2] / "demo"
ROLES = ("viewer", "listener", "station", "engineer", "clerk")
READINGS = ["0=38um", "60=88um", "120=52um", "180=-43um", "240=-93um", "300=-58um"]


class Calculations(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.held.cleanup)
        cls.folder = pathlib.Path(cls.held.name) / "works"
        run([GOODSIDE, "works", "init", cls.folder, "--name", "Our Pressings", "--zone", "Europe/London"])
        for own, file in (("recipes", "compound/shellac.toml"), ("plans", "plan/works.toml")):
            (cls.folder / own).mkdir()
            (cls.folder / own / pathlib.Path(file).name).write_bytes((DEMO / file).read_bytes())
        (cls.folder / "recipes" / "notes.txt").write_text("not for calculations")
        title = cls.works("add", "title", "name=Fallen Leaves")["code"]
        side = cls.works("add", "side", f"title={title}", "letter=A", "format=10in-78")["code"]
        cut = cls.works("add", "cut", f"side={side}", "pitch=100 lpi")["code"]
        cls.lacquer = cls.works("add", "part", "kind=lacquer", f"cut={cut}")["code"]
        cls.works("log", cls.lacquer, "silvered")
        cls.father = cls.works("add", "part", "kind=father", f"parent={cls.lacquer}")["code"]
        cls.server = Server(GOODSIDE, cls.folder)
        cls.addClassCleanup(cls.server.end)
        cls.engineer = as_checked(cls.server)
        cls.engineer.post("/api/first", {"token": cls.server.token, "name": "engineer", "password": PASSWORD})
        for role in ROLES:
            if role != "engineer":
                cls.engineer.post("/api/accounts", {"name": role, "password": PASSWORD, "roles": [role]})

    @classmethod
    def works(cls, verb, *words):
        return json.loads(run([GOODSIDE, "works", verb, *words, "--in", cls.folder, "--by", "Ida", "--json", "-"]).stdout)

    def asks(self, name, options, client=None):
        status, _, body = (client or self.engineer).ask("POST", f"/api/calculations/{name}", {"options": options})
        return status, body

    def answer(self, name, **options):
        status, body = self.asks(name, {key.replace("_", "-"): value for key, value in options.items()})
        self.assertEqual(status, 200, body)
        return body

    def refused(self, name, options, says, status=422):
        answered, body = self.asks(name, options)
        self.assertEqual(answered, status, body)
        self.assertRegex(body["error"], says)
        self.assertNotIn("\n", body["error"])
        self.assertNotIn(self.held.name, body["error"])  # no path of the server's

    def test_each_answer_is_the_commands_own(self):
        files = {one["name"]: one["id"] for one in self.engineer.get("/api/calculations")["files"]}
        self.assertNotIn("notes.txt", files)
        shellac, shop = files["shellac.toml"], files["works.toml"]
        status, _, given = self.engineer.ask("POST", "/api/calculations/files?name=biscuits.csv",
                                             raw=(DEMO / "compound/biscuits.csv").read_bytes())
        self.assertEqual(status, 201, given)
        lots = self.engineer.ask("POST", "/api/calculations/files?name=lots.csv", raw=(DEMO / "plan/lots.csv").read_bytes())[2]
        recipe, masses, plan = DEMO / "compound/shellac.toml", DEMO / "compound/biscuits.csv", DEMO / "plan/works.toml"
        # name, options, the command's words, pictures, whether something there can hurt
        for name, options, words, pictures, hurts in (
                ("plate", {"target": "250 um", "start": "silvered", "spread": True, "kinetics": "primary"},
                 ["plate", "--target", "250 um", "--start", "silvered", "--spread", "--kinetics", "primary"], 3, True),
                ("plate", {"time": "3 h", "spread": False}, ["plate", "--time", "3 h"], 1, True),
                ("back", {"plate": "6 mm"}, ["back", "--plate", "6 mm"], 1, True),
                ("centre", {"readings": READINGS, "format": "12in-33"}, ["centre", *READINGS], 1, True),
                ("mix", {"recipe": shellac, "mass": "60 kg", "said": ["shellac=8.35 kg"]},
                 ["mix", recipe, "--mass", "60 kg", "--said", "shellac=8.35 kg"], 1, True),
                ("biscuit", {"density": "1.92 g/cm3", "diameter": "10 in", "thickness": "1.8 mm", "weighed": given["id"]},
                 ["biscuit", "--density", "1.92 g/cm3", "--diameter", "10 in", "--thickness", "1.8 mm", "--weighed", masses],
                 1, True),
                ("cycle", {"set": ["water_time=12 s"], "window": "steam,water_time", "points": "3"},
                 ["cycle", "--set", "water_time=12 s", "--window", "steam,water_time", "--points", "3"], 2, True),
                ("sampling-next", {"lot": "500", "heard": "20"}, ["accept", "next", "--lot", "500", "--heard", "20"], 1, False),
                ("sampling-table", {"lot": "500", "aql": "1.0"}, ["accept", "table", "--lot", "500", "--aql", "1.0"], 1, False),
                ("sampling-design", {"lot": "500"}, ["accept", "design", "--lot", "500"], 1, False),
                ("sampling-places",
                 {"impressions": "1000", "side-time": "22 min", "life-scale": "1400", "life-shape": "2"},
                 ["accept", "places", "--impressions", "1000", "--side-time", "22 min", "--life-scale", "1400",
                  "--life-shape", "2"], 1, False),
                ("sampling-lots", {"file": lots["id"], "aql": "1.0"}, ["accept", "lots", DEMO / "plan/lots.csv", "--aql", "1.0"], 0,
                 False),
                ("chart", {"file": given["id"], "value": "mass_g", "first": "25"},
                 ["chart", masses, "--value", "mass_g", "--first", "25"], 1, False),
                ("need", {"discs": "3000", "life-scale": "1400", "life-shape": "2"},
                 ["plan", "need", "--discs", "3000", "--life-scale", "1400", "--life-shape", "2"], 1, True),
                ("schedule", {"shop": shop, "rounds": "1", "more": ["press=1"]},
                 ["plan", "schedule", "--shop", plan, "--rounds", "1", "--more", "press=1"], 1, False),
                ("promise", {"shop": shop, "rounds": "1", "replays": "200"},
                 ["plan", "promise", "--shop", plan, "--rounds", "1", "--replays", "200"], 1, False)):
            with self.subTest(name=name):
                status, got = self.asks(name, options)
                self.assertEqual(status, 200, got)
                done = run([GOODSIDE, *words, "--json", self.folder / "own.json"], folder=self.folder)
                self.assertEqual(got["result"], json.loads((self.folder / "own.json").read_text(encoding="utf-8")))
                self.assertEqual(got["within"], done.returncode == 0)
                said = done.stdout
                self.assertEqual(got["words"], said)
                self.assertEqual(got["headline"], said.split("\n")[0])
                self.assertEqual(len(got["pictures"]), pictures)
                for picture in got["pictures"]:
                    self.assertIn("<svg", picture["svg"][:300])
                self.assertEqual(bool(got["cautions"]), hurts, got["words"])
                if hurts:
                    self.assertRegex(" ".join(got["cautions"]), "[Ll]ocal code")
                # The terminal's caution, its lines joined: nothing of it is lost, nothing else in it.
                flat = re.sub(r"\s+", " ", said)
                for caution in got["cautions"]:
                    self.assertIn(caution, flat)
                self.assertTrue(got["next"], got["words"])
                self.assertIn(got["next"], flat)

    def test_nothing_may_be_given_that_the_command_has_not(self):
        for one in self.engineer.get("/api/calculations")["calculations"]:
            told = run([GOODSIDE, *one["command"].split(), "--help"]).stdout
            names = set(re.findall(r"^  --([a-z0-9-]+)", told, re.MULTILINE))
            own = {option["name"] for option in one["options"]} - names
            self.assertLessEqual(own, {"readings-file", "readings", "recipe", "file", "order", "run"}, one["name"])
            self.assertFalse({"json", "in", "by", "log", "picture", "save", "jobs", "limits", "metals", "figures"}
                             & {option["name"] for option in one["options"]}, one["name"])

    def test_bad_input_is_one_sentence(self):
        for name, options, says in (
                ("plate", {"target": "12 parsec"}, "--target: .*no length"), ("plate", {"target": "-5 um"}, "thickness of -5"),
                ("plate", {"target": "nan um"}, "--target"), ("plate", {"target": 250}, "--target: give a text"),
                ("plate", {"spread": "yes"}, "--spread: give true or false"), ("plate", {"target": ""}, "--target: give 1 to"),
                ("plate", {"target": "x" * 201}, "--target: give 1 to 200"), ("plate", {"target": "2\n3"}, "--target: give one line"),
                ("plate", {"json": "/tmp/x"}, "--json: this cannot be given"), ("plate", {"in": "/"}, "--in: this cannot"),
                ("plate", {"picture": "/tmp/x.svg"}, "--picture: this cannot"), ("plate", {"log": True}, "--log: this cannot"),
                ("plate", {"part": "P-99999-X"}, "P-99999-X"), ("back", {}, "--plate"),
                ("centre", {"readings": ["--json=/tmp/x"]}, "begins with a dash"), ("centre", {"readings": ["0=1um"]}, "angles"),
                ("centre", {"readings": "x" * 300}, "--readings"), ("centre", {"readings": [1]}, "--readings: give a text"),
                ("centre", {"readings": ["0=1um"] * 201}, "--readings: give a list of at most 200"),
                ("centre", {"photo": "/etc/passwd"}, "there is no file"), ("centre", {"photo": "../record.db"}, "there is no file"),
                ("mix", {"recipe": "recipes/../goodside.toml"}, "there is no file"), ("mix", {"recipe": "recipes/none.toml"}, "there is no file"),
                ("mix", {"recipe": ["recipes/shellac.toml"]}, "--recipe: give a text"), ("mix", {}, "RECIPE is missing"),
                ("cycle", {"set": ["no_such=1"]}, "no_such"), ("chart", {"of": "nothing"}, "nothing"),
                ("sampling-runs", {}, "^no run has pressed"), ("sampling-runs", {"run": "-R"}, "begins with a dash"),
                ("schedule", {}, "^shop.toml: is not there"), ("promise", {}, "^shop.toml: is not there"),
                ("schedule", {"shop": "plans/works.toml", "more": ["pres"]}, "did you mean `press`"),
                ("schedule", {"shop": "plans/works.toml", "due": ["O-1=yesterday"]}, "no date"),
                ("schedule", {"shop": "plans/works.toml", "hours": ["press=monday"]}, "no shift")):
            with self.subTest(name=name, options=str(options)[:60]):
                self.refused(name, options, says)
        self.refused("none", {}, "there is no calculation none", 404)
        self.refused("plate", [], "options: give an object", 400)
        self.refused("plate", None, "options: give an object", 400)
        for raw, status in (("{", 400), ("[1]", 400), ('{"options": {"target": ' + "[" * 200 + "]" * 200 + "}}", 400)):
            answered = self.engineer.ask("POST", "/api/calculations/plate", raw=raw, headers={"Content-Type": "application/json"})
            self.assertEqual(answered[0], status, answered[2])

    def test_a_file_is_called_by_its_own_name(self):
        client = self.engineer
        for name, raw, status in (("a.csv", b"", 400), ("a.exe", b"x", 415), ("", b"x", 400), ("a/b.csv", b"x", 400),
                                  ("x" * 130 + ".csv", b"x", 400), ("big.csv", b"x" * (33 << 20), 413)):
            answered, _, body = client.ask("POST", f"/api/calculations/files?name={name.replace('/', '%2F')}", raw=raw)
            self.assertEqual(answered, status, body)
        status, _, wrong = client.ask("POST", "/api/calculations/files?name=Ours%20%C3%BCber.toml", raw=b"name = [")
        self.assertEqual(status, 201)
        self.assertEqual(client.ask("POST", "/api/calculations/files?name=again.toml", raw=b"name = [")[2]["id"], wrong["id"])
        self.assertEqual([one["name"] for one in client.get("/api/calculations")["files"] if one["id"] == wrong["id"]],
                         ["again.toml"])
        self.refused("mix", {"recipe": wrong["id"]}, "^again.toml")
        scene = Scene(size_px=(1100, 1100), scale_px_per_mm=3.4)
        photo = pathlib.Path(self.held.name) / "plate.png"
        scene.save(photo)
        given = client.ask("POST", "/api/calculations/files?name=plate.png", raw=photo.read_bytes())[2]
        got = self.answer("centre", photo=given["id"])
        # Where the photograph's maker put the hole; a tenth of a pixel is 29 um here.
        self.assertAlmostEqual(got["result"]["offset"]["x_m"], scene.offset_mm[0] * 1e-3, delta=29e-6)
        self.assertAlmostEqual(got["result"]["offset"]["y_m"], scene.offset_mm[1] * 1e-3, delta=29e-6)
        self.assertNotIn(self.held.name, json.dumps(got))

    def test_whoever_may_calculate_and_log(self):
        stranger = Checked(self.server.port)
        self.assertEqual(self.asks("plate", {}, stranger)[0], 401)
        self.assertEqual(stranger.ask("GET", "/api/calculations")[0], 401)
        for role in ROLES:
            client = as_checked(self.server, role)
            self.assertEqual(self.asks("sampling-next", {"lot": "50"}, client)[0], 200, role)
            status = client.ask("POST", "/api/calculations/plate/log", {"options": {}, "to": "P-99999-X"})[0]
            self.assertEqual(status, 422 if role in ("station", "engineer") else 403, role)
        csrf, self.engineer.csrf = self.engineer.csrf, "old"
        self.assertEqual(self.asks("plate", {})[0], 403)
        self.engineer.csrf = csrf

    def log(self, client, name, options, to=None, status=201):
        body = {"options": options} if to is None else {"options": options, "to": to}
        answered, _, got = client.ask("POST", f"/api/calculations/{name}/log", body)
        self.assertEqual(answered, status, str(got)[:300])
        return got

    def test_an_answer_is_entered_as_the_command_enters_it(self):
        station = as_checked(self.server, "station")
        run_of = {"target": "400 um", "diameter": "265 mm"}
        before = self.answer("plate", **run_of, part=self.father)
        logged = self.log(station, "plate", run_of, self.father)
        self.assertEqual(logged["result"], before["result"])
        entry = self.works("events", "--count", 1)[0]
        self.assertEqual((entry["seq"], entry["who"]), (logged["entry"], "station"))
        step = self.engineer.get(f"/api/parts/{self.father}")["steps"][-1]
        self.assertEqual(step["step"]["what"] if "what" in step["step"] else step["step"]["step"], "grown")
        thickness = next(one["value"] for one in step["readings"] if "thickness_m" in (one.get("what"), one.get("name")))
        self.assertAlmostEqual(float(thickness) / before["result"]["mean_thickness_m"], 1.0, 8)
        self.assertIn(self.lacquer, self.log(station, "plate", run_of, self.lacquer, 422)["error"])  # it is not plated
        # Taken back, it can be entered anew: nothing else has built on it.
        undone = station.post(f"/api/entries/{logged['entry']}/undo", {"reason": "another tank"})
        self.assertEqual(self.works("events", "--count", 1)[0]["seq"], undone["entry"])
        again = self.log(station, "plate", {**run_of, "part": self.father})
        self.assertGreater(again["entry"], logged["entry"])
        told = self.log(station, "plate", {**run_of, "part": self.father}, self.lacquer, 422)
        self.assertEqual(told["error"], f"to: this was calculated for {self.father}; calculate it for {self.lacquer} first")
        files = {one["name"]: one["id"] for one in station.get("/api/calculations")["files"]}
        weighed = {"recipe": files["shellac.toml"], "mass": "60 kg", "said": ["shellac=8.1 kg", "slate=22.5 kg"]}
        batch = self.log(station, "mix", weighed)
        code = re.search(r"batch (B-\S+) is in the record", batch["words"]).group(1)
        more = self.log(station, "mix", {"recipe": files["shellac.toml"], "said": ["limestone=1 kg"]}, code)
        self.assertIn("has the additions", more["words"])
        self.log(station, "mix", {"recipe": files["shellac.toml"], "mass": "60 kg"}, None, 422)  # nothing was weighed
        cycle = self.log(station, "cycle", {"set": ["water_time=14 s"]}, "Long water")
        self.assertEqual([one["name"] for one in self.works("show", "recipe")], ["Long water"])
        self.assertEqual(self.works("events", "--count", 1)[0]["seq"], cycle["entry"])
        for name, to, says in (("plate", None, "to: name the part"), ("plate", "nonsense", "^to: "), ("cycle", None, "to: name"),
                               ("sampling-next", "x", "nothing of this"), ("biscuit", None, "to: name the batch")):
            self.assertRegex(self.log(station, name, {"lot": "5"} if "next" in name else {}, to, 422)["error"], says)
        self.assertTrue(self.works("check")["closes"])

    def test_many_at_once_all_have_an_answer(self):
        answers, viewer = [], as_checked(self.server, "viewer")

        def one():
            client = Checked(self.server.port)
            client.cookie, client.csrf = viewer.cookie, viewer.csrf
            answers.append(self.asks("sampling-next", {"lot": "500"}, client)[0])

        threads = [threading.Thread(target=one) for _ in range(16)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual(len(answers), 16)
        self.assertLessEqual(set(answers), {200, 503})
        self.assertGreaterEqual(answers.count(200), 10)  # two run and eight wait

    def test_zy_what_runs_ends_with_the_server(self):
        client = as_checked(self.server, "viewer")
        seen = []
        thread = threading.Thread(target=lambda: seen.append(self.asks(
            "cycle", {"window": "steam,water_time", "points": "60"}, client)))
        thread.start()
        child = wait_for(lambda: children_of(self.server.process.pid))
        # At low priority: the 19th field of its status.
        nice = int(pathlib.Path(f"/proc/{child[0]}/stat").read_text().rsplit(")", 1)[1].split()[16])
        self.assertGreaterEqual(nice, 10)
        began = time.monotonic()
        os.kill(self.server.process.pid, signal.SIGTERM)
        thread.join(15)
        self.assertFalse(thread.is_alive())
        self.assertEqual(self.server.process.wait(10), 0)
        self.assertLess(time.monotonic() - began, 10)
        self.assertEqual(seen[0][0], 503)
        self.assertFalse(pathlib.Path(f"/proc/{child[0]}").exists())

    def test_zz_every_route_was_reached_with_good_and_bad_input(self):
        for template, methods in API["paths"].items():
            if not template.startswith("/api/calculations"):
                continue
            for method in methods:
                reached = {status for verb, path, status in REACHED if (verb, path) == (method.upper(), template)}
                with self.subTest(route=f"{method} {template}"):
                    self.assertTrue(any(status < 300 for status in reached), reached)
                    self.assertTrue(any(status >= 400 for status in reached), reached)


if __name__ == "__main__":
    unittest.main(warnings="ignore")
