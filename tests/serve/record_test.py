"""The bench records: `goodside serve` with an audio interface that is a file to ALSA; what is kept over a kill and a
full disk; each answer held against docs/api/openapi.json.

    record_test.py GOODSIDE [unittest options]
"""

import pathlib
import sys
import tempfile
import unittest

import numpy
import soundfile

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "support"))
from checked_api import API, PASSWORD, REACHED, as_checked, finished, wait_for  # noqa: E402
from served_works import Server, Works  # noqa: E402
from sound_bench import RATE_HZ, SoundBench  # noqa: E402

GOODSIDE = str(pathlib.Path(sys.argv.pop(1)).resolve())


def music(seconds, seed):
    """Another tune, under a groove's noise."""
    draws = numpy.random.default_rng(seed)
    frame = numpy.arange(int(seconds * RATE_HZ))
    note_Hz = 180.0 * 2.0 ** (draws.integers(0, 24, int(seconds * 4) + 1)[frame * 4 // RATE_HZ] / 12.0)
    wave = 0.2 * numpy.sin(2.0 * numpy.pi * numpy.cumsum(note_Hz) / RATE_HZ)
    return numpy.stack([wave, wave], axis=1) + draws.normal(0.0, 1e-3, (len(frame), 2))


class Recording(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.held.name)
        cls.works = Works(GOODSIDE, folder / "works")
        cls.bench = SoundBench(folder)
        cls.server = Server(GOODSIDE, cls.works.folder, environment=cls.bench.environment)
        engineer = as_checked(cls.server)
        engineer.post("/api/first", {"token": cls.server.token, "name": "ada", "password": PASSWORD})
        engineer.post("/api/accounts", {"name": "Ida", "password": PASSWORD, "roles": ["listener"]})
        cls.capture = cls.works.capture("play.wav", faults=("tick@5.1s,peak=-5",))
        cls.played, _ = soundfile.read(cls.capture, always_2d=True)

    @classmethod
    def tearDownClass(cls):
        cls.server.end()
        cls.bench.end()
        cls.held.cleanup()

    def setUp(self):
        self.bench.hush()
        self.ida = as_checked(self.server, "Ida")

    def arm(self, ticket, letter="A", **more):
        return self.ida.post("/api/recordings", {"device": "bench_a", "ticket": ticket, "letter": letter,
                                                 "sample_rate_Hz": RATE_HZ, **more})["id"]

    def now(self, recording):
        return self.ida.get(f"/api/recordings/{recording}")

    def until(self, recording, *states):
        return wait_for(lambda: (one := self.now(recording))["state"] in states and one)

    def incoming(self):
        return sorted(path.name for path in (self.works.folder / "incoming").iterdir())

    def assert_recorded(self, path, played, to_the_end=True):
        """Every sample that was played lies in the file, unchanged, behind two seconds of the bench's own noise."""
        recorded, rate = soundfile.read(path, dtype="int32", always_2d=True)
        self.assertEqual(rate, RATE_HZ)
        wanted = numpy.round(played * 2.0 ** 23).astype(numpy.int64) << 8
        loud = numpy.abs(wanted[:len(wanted) if to_the_end else 4 * RATE_HZ]).max(axis=1).argmax()
        at = next(i for i in numpy.flatnonzero(recorded[:, 0] == wanted[loud, 0]) if i >= loud
                  and (recorded[i - 500:i + 500] == wanted[loud - 500:loud + 500]).all()) - loud
        common = min(len(recorded) - at, len(wanted))
        self.assertTrue((recorded[at:at + common] == wanted[:common]).all())
        if to_the_end:
            self.assertEqual(common, len(wanted))
        self.assertGreaterEqual(at / RATE_HZ, 1.0)
        self.assertLess(numpy.sqrt((recorded[:at].astype(float) ** 2).mean()), 2.0 ** 31 * 10.0 ** (-70 / 20))

    def test_a_side_is_recorded_by_itself_and_heard(self):
        devices = self.ida.get("/api/recordings/devices")["devices"]
        self.assertEqual(devices, [{"name": "bench_a", "words": "Bench A, phono input"}])
        ticket = self.works.tickets[0]
        recording = self.arm(ticket)
        waiting = self.until(recording, "waiting")
        self.assertLess(waiting["floor_dB"], -80)
        self.assertEqual((waiting["title"], waiting["channels"], waiting["programme_s"]), ("Fallen Leaves", 2, 12.0))
        self.assertEqual(self.incoming(), [f"{recording}.wav"])
        self.bench.play(self.played)
        running = self.until(recording, "recording")
        self.assertGreater(max(running["peak_dB"]), -60)
        self.assertEqual(self.ida.ask("POST", f"/api/recordings/{recording}/send", {})[0], 409)
        sent = self.until(recording, "sent", "held")
        self.assertEqual((sent["state"], sent["ended"], sent["overruns_s"], sent["clipped"]), ("sent", "lifted", [], 0), sent)
        self.assertEqual(self.incoming(), [])
        job = finished(self.ida, sent["job"])
        self.assertEqual((job["state"], job["who"]), ("done", "Ida"), job["error"])
        self.assert_recorded(self.works.folder / "captures" / f"{ticket}_A.wav", self.played)
        report = self.ida.get(f"/api/plays/{job['report']}/report")
        self.assertIn(True, [abs(fault["programme_s"] - 5.1) < 0.01 for fault in report["faults"]])
        self.assertEqual(self.ida.get(f"/api/events?subject={ticket}")["events"][0]["who"], "Ida")
        self.assertEqual(self.ida.ask("DELETE", f"/api/recordings/{recording}")[0], 409)
        self.assertEqual(self.ida.ask("POST", f"/api/recordings/{recording}/end", {})[0], 409)

    def test_b_another_side_on_the_platter_is_not_charged_to_the_disc(self):
        ticket = self.works.tickets[1]
        recording = self.arm("disc10")
        self.until(recording, "waiting")
        self.bench.play(music(14.0, 5))
        job = finished(self.ida, self.until(recording, "sent")["job"])
        self.assertEqual((job["state"], job["report"]), ("failed", None))
        self.assertIn("side A of Fallen Leaves is not in this recording", job["error"])
        self.assertEqual(self.ida.get(f"/api/things/{ticket}")["row"]["heard"], "waiting")
        self.ida.post(f"/api/jobs/{job['id']}/retry", {})  # it is the disc that is wrong, says the listener
        self.assertEqual(finished(self.ida, job["id"])["state"], "done")
        self.assertEqual(self.ida.get(f"/api/things/{ticket}")["row"]["heard"], "bad")

    def test_c_a_person_begins_and_ends_and_gives_up(self):
        recording = self.arm(self.works.tickets[2], after="brushed")
        self.until(recording, "waiting")
        status, _, body = self.ida.ask("POST", "/api/recordings", {"device": "bench_a", "ticket": "disc25", "letter": "A"})
        self.assertEqual(status, 409, body)
        self.ida.post(f"/api/recordings/{recording}/begin", {})
        self.bench.play(music(4.0, 6))
        wait_for(lambda: self.now(recording)["recorded_s"] > 3.0)
        self.ida.post(f"/api/recordings/{recording}/end", {})
        sent = self.until(recording, "sent")
        self.assertEqual((sent["ended"], sent["after"]), ("by hand", "brushed"))
        finished(self.ida, sent["job"])
        recording = self.arm(self.works.tickets[2])
        self.assertEqual(self.ida.ask("DELETE", f"/api/recordings/{recording}")[0], 204)
        self.assertEqual(self.ida.ask("GET", f"/api/recordings/{recording}")[0], 404)
        recording = self.arm(self.works.tickets[2])
        self.ida.post(f"/api/recordings/{recording}/end", {})  # before the stylus was down
        held = self.until(recording, "held")
        self.assertEqual(held["error"], "nothing was recorded")
        self.assertEqual(self.ida.ask("DELETE", f"/api/recordings/{recording}")[0], 204)
        self.assertEqual(self.incoming(), [])

    def test_d_what_cannot_be_recorded(self):
        good = {"device": "bench_a", "ticket": self.works.tickets[3], "letter": "A"}
        for more, expected in (({"device": f"file:'{self.works.folder}/goodside.toml',raw"}, 422), ({"device": "null"}, 422),
                               ({"device": ""}, 422), ({"device": 3}, 400), ({"ticket": "nobody"}, 404), ({"letter": "C"}, 422),
                               ({"letter": "AB"}, 422), ({"after": "kicked"}, 422), ({"bench": "none such"}, 404),
                               ({"sample_rate_Hz": 5}, 422), ({"sample_rate_Hz": 10 ** 12}, 422), ({"sample_rate_Hz": "x"}, 400)):
            with self.subTest(more=more):
                status, _, body = self.ida.ask("POST", "/api/recordings", {**good, **more})
                self.assertEqual(status, expected, body)
        for method, path in (("GET", ""), ("POST", "/begin"), ("POST", "/end"), ("POST", "/send"), ("DELETE", "")):
            self.assertEqual(self.ida.ask(method, "/api/recordings/none" + path, {} if method == "POST" else None)[0], 404)
        self.assertEqual(self.incoming(), [])

    def test_e_killed_in_mid_recording(self):
        ticket = self.works.tickets[3]
        recording = self.arm(ticket)
        self.until(recording, "waiting")
        self.bench.play(self.played)
        kept = wait_for(lambda: (one := self.now(recording))["kept_s"] > 9.0 and one)
        self.server.kill()
        type(self).server = Server(GOODSIDE, self.works.folder, environment=self.bench.environment, expect_account=True)
        self.ida = as_checked(self.server, "Ida")
        held = self.ida.get("/api/recordings")["recordings"]
        self.assertEqual([(one["id"], one["state"]) for one in held], [(recording, "held")])
        self.assertGreaterEqual(held[0]["kept_s"], kept["kept_s"])
        self.assertIn("server ended", held[0]["error"])
        self.bench.left.wait(30)
        sent = self.ida.post(f"/api/recordings/{recording}/send", {})
        self.assertEqual(sent["state"], "sent")
        self.assert_recorded(self.works.folder / "captures" / f"{ticket}_A.wav", self.played, to_the_end=False)
        job = finished(self.ida, sent["job"])
        self.assertEqual(job["state"], "done", job["error"])
        sheet = self.ida.get(f"/api/sides/{self.works.side}/sheet")["plays"]
        not_heard = {one["play"]["report"]: one["not_heard"] for one in sheet}
        if not_heard[job["report"]]:  # what a side's beginning has not heard is told
            self.assertEqual(len(not_heard[job["report"]]), 1)
            self.assertAlmostEqual(not_heard[job["report"]][0][1], 12.0, delta=0.01)
        self.assertIn([], not_heard.values())
        self.assertEqual(self.incoming(), [])

    def test_f_a_full_disk(self):
        self.server.end()
        type(self).server = Server(GOODSIDE, self.works.folder, environment=self.bench.environment, expect_account=True,
                                   largest_file=2_500_000)
        self.ida = as_checked(self.server, "Ida")
        recording = self.arm(self.works.tickets[4])
        self.until(recording, "waiting")
        self.bench.play(self.played)
        held = self.until(recording, "held", "sent")
        self.assertEqual(held["error"], "the recording cannot be written (the disk is full)")
        self.assertAlmostEqual(held["kept_s"], 2_500_000 / 6 / RATE_HZ, delta=0.2)
        self.bench.left.wait(30)
        self.assertEqual(self.ida.ask("DELETE", f"/api/recordings/{recording}")[0], 204)
        self.assertEqual(self.incoming(), [])

    def test_z_every_route_was_reached_with_good_and_bad_input(self):
        for template, methods in API["paths"].items():
            if not template.startswith("/api/recordings"):
                continue
            for method, route in methods.items():
                reached = {status for verb, path, status in REACHED if (verb, path) == (method.upper(), template)}
                with self.subTest(route=f"{method} {template}"):
                    self.assertTrue(any(status < 300 for status in reached), reached)
                    if "parameters" in route:
                        self.assertTrue(any(status >= 400 for status in reached), reached)


if __name__ == "__main__":
    unittest.main(warnings="ignore")
