"""`goodside serve` through the built command: every route with good and bad input and each role, each answer held
against docs/api/openapi.json; uploads and analyses over a killed server; malformed requests.

    serve_test.py GOODSIDE [unittest options]
"""

import atexit
import hashlib
import http.client
import json
import pathlib
import random
import re
import socket
import sys
import tempfile
import time
import unittest
import urllib.parse

import numpy
import soundfile

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "support"))
from checked_api import API, PASSWORD, REACHED, Checked, as_checked, children_of, finished, wait_for  # noqa: E402
from served_works import Client, Server, Works, run, send, wav_samples  # noqa: E402

GOODSIDE = str(pathlib.Path(sys.argv.pop(1)).resolve())
ROLES = ("viewer", "listener", "station", "engineer", "clerk")


class Shared:
    """One works and server for most tests: made once."""

    made = None

    @classmethod
    def get(cls):
        if cls.made is None:
            cls.made = cls()
            atexit.register(cls.made.close)
        return cls.made

    def __init__(self):
        self.held = tempfile.TemporaryDirectory()
        self.works = Works(GOODSIDE, pathlib.Path(self.held.name) / "works")
        pages = pathlib.Path(self.held.name) / "pages"
        (pages / "assets").mkdir(parents=True)
        (pages / "index.html").write_text("<!doctype html><title>goodside</title>", encoding="utf-8")
        (pages / "assets" / "page-1a2b.js").write_text("export const page = 1;\n" * 100, encoding="utf-8")
        (pathlib.Path(self.held.name) / "secret.txt").write_text("secret", encoding="utf-8")
        self.server = Server(GOODSIDE, self.works.folder, "--pages", pages)
        self.engineer = as_checked(self.server)
        self.engineer.post("/api/first", {"token": self.server.token, "name": "engineer", "password": PASSWORD})
        for role in ROLES:
            if role != "engineer":
                self.engineer.post("/api/accounts", {"name": role, "password": PASSWORD, "roles": [role]})
        self.engineer.post("/api/accounts", {"name": "Ida", "password": PASSWORD, "roles": ["listener", "viewer"]})
        self.capture = self.works.capture("play.wav", faults=("tick@5.1s,peak=-5", "pop@8.1s,peak=-5"))
        self.second = self.works.capture("second.wav", seed=2, faults=("tick@5.1s,peak=-5",))
        listener = as_checked(self.server, "listener")
        jobs = [send(listener, self.capture, self.works.tickets[0]), send(listener, self.second, "disc10")]
        self.jobs = [finished(listener, job) for job in jobs]
        self.report = self.jobs[0]["report"]

    def close(self):
        self.server.end()
        self.held.cleanup()


class Served(unittest.TestCase):
    def setUp(self):
        self.shared = Shared.get()
        self.works, self.server = self.shared.works, self.shared.server
        self.engineer = self.shared.engineer

    def signed(self, name):
        return as_checked(self.server, name)


class Reading(Served):
    def test_every_view_answers_and_is_as_documented(self):
        w, report = self.works, self.shared.report
        for path in ("/api/health", "/api/session", "/api/state", "/api/line", "/api/search?q=fallen", f"/api/things/{w.batch}",
                     f"/api/where/{w.stampers[0]}", "/api/titles?limit=1", f"/api/titles/{w.title}", f"/api/orders/{w.order}",
                     f"/api/parts/{w.stampers[0]}", f"/api/runs/{w.run}", f"/api/discs/{w.run}/5", "/api/events?limit=3",
                     "/api/sides", f"/api/sides/{w.side}", f"/api/sides/{w.side}/plays", f"/api/sides/{w.side}/sheet",
                     f"/api/sides/{w.side}/family", f"/api/sides/{w.side}/trace", f"/api/plays/{report}",
                     f"/api/plays/{report}/report", f"/api/plays/{report}/portrait", f"/api/plays/{report}/opinions",
                     "/api/tickets", "/api/uploads", "/api/jobs", f"/api/jobs/{self.shared.jobs[0]['id']}", "/api/accounts"):
            with self.subTest(path=path):
                status, headers, _ = self.engineer.ask("GET", path)
                self.assertEqual(status, 200)
                self.assertEqual(headers["X-Content-Type-Options"], "nosniff")
                self.assertIn("no-cache", headers["Cache-Control"])

    def test_bad_codes_and_figures_are_told_in_one_sentence(self):
        w = self.works
        for path, expected in {"/api/titles/T-9999-L": 404, "/api/titles/T-0001-A": 400, "/api/parts/nonsense": 400,
                               f"/api/runs/{w.title}": 404, f"/api/orders/{w.title}": 404, f"/api/sides/{w.title}": 404,
                               f"/api/discs/{w.run}/0": 404, f"/api/discs/{w.run}/51": 404, f"/api/discs/{w.run}/x": 400,
                               "/api/titles?limit=0": 400, "/api/titles?limit=201": 400, "/api/titles?after=x": 400,
                               "/api/search": 400, f"/api/search?q={'x' * 81}": 400, f"/api/sides/{w.side}/plays?verdict=maybe": 400,
                               f"/api/sides/{w.side}/plays?order=x": 400, f"/api/sides/{w.side}/sheet?limit=61": 400,
                               f"/api/sides/{w.title}/trace": 404, f"/api/sides/{w.title}/family": 404,
                               "/api/sides?limit=x": 400, "/api/events?limit=1e9": 400, "/api/jobs?limit=-1": 400,
                               "/api/jobs/nothing": 404, "/api/uploads/nothing": 404, "/api/tickets?limit=0": 400,
                               f"/api/plays/{w.title}": 404, f"/api/plays/{w.title}/report": 404, f"/api/plays/{w.title}/portrait": 404,
                               f"/api/plays/{w.title}/opinions": 404, f"/api/plays/{w.title}/audio?sound=cut&from_s=0&to_s=1": 404,
                               "/api/things/T-9999-L": 404, "/api/things/x": 400, "/api/where/T-9999-L": 404}.items():
            with self.subTest(path=path):
                status, _, body = self.engineer.ask("GET", path)
                self.assertEqual(status, expected, body)
                self.assertGreater(len(body["error"]), 8)
                self.assertNotIn("\n", body["error"])

    def test_the_line_counts_what_the_record_holds(self):
        line = self.engineer.get("/api/line")
        order = next(one for one in line["orders"] if one["code"] == self.works.order)
        where = self.works.works("where", self.works.order)["places"]
        self.assertEqual(order["impressions"], 50)
        self.assertEqual({k.replace("_", " "): n for k, n in order["counts"].items() if n}, where)
        shown = self.works.works("show", "ticket")
        heard = [t["heard"] for t in shown if not t.get("void")]
        self.assertEqual(order["heard"], {state: heard.count(state) for state in ("waiting", "good", "bad")})
        self.assertEqual([s["station"] for s in line["stations"]], ["metal", "compound", "press", "bench", "store", "dispatch"])

    def test_a_command_beside_the_server_is_seen(self):
        before = self.engineer.get("/api/state")["record"]["seq"]
        ticket = self.works.works("ticket", self.works.run, 30, "--reason", "extra")["ticket"]
        self.assertGreater(self.engineer.get("/api/state")["record"]["seq"], before)
        self.assertIn(ticket, [t["ticket"]["code"] for t in self.engineer.get("/api/tickets")["tickets"]])
        self.works.works("reverse", self.works.works("events", "--count", 1)[0]["seq"], "--reason", "not pulled")
        self.assertNotIn(ticket, [t["ticket"]["code"] for t in self.engineer.get("/api/tickets")["tickets"]])

    def test_search_takes_any_number(self):
        for query, code in {self.works.title: self.works.title, self.works.stampers[1].lower(): self.works.stampers[1],
                            "HR 17": self.works.title, "hedge": self.works.title, "disc25": self.works.tickets[3],
                            "hill &": self.works.order, f"{self.works.run} 7": f"{self.works.run}/7",
                            self.works.batch[:4]: self.works.batch, "press 1": self.works.press}.items():
            with self.subTest(query=query):
                hits = self.engineer.get("/api/search?" + urllib.parse.urlencode({"q": query}))["hits"]
                self.assertIn(code, [hit["code"] for hit in hits])

    def test_unchanged_is_304_and_a_change_is_not(self):
        for path in ("/api/line", f"/api/titles/{self.works.title}", "/api/state", f"/api/runs/{self.works.run}"):
            status, headers, _ = self.engineer.ask("GET", path)
            status, _, body = self.engineer.ask("GET", path, headers={"If-None-Match": headers["ETag"]})
            self.assertEqual((status, body), (304, b""), path)
            self.works.works("add", "spindle", "name=x")
            self.assertEqual(self.engineer.ask("GET", path, headers={"If-None-Match": headers["ETag"]})[0], 200, path)

    def test_pages_of_plays_follow_each_other(self):
        first = self.engineer.get(f"/api/sides/{self.works.side}/plays?limit=1")
        second = self.engineer.get(f"/api/sides/{self.works.side}/plays?limit=1&after={first['next']}")
        self.assertEqual([p["impression"] for page in (first, second) for p in page["plays"]], [[5, 5], [10, 10]])
        self.assertGreaterEqual(first["total"], 2)
        failed = self.engineer.get(f"/api/sides/{self.works.side}/plays?verdict=fail&order=newest")
        self.assertEqual(failed["total"], len(failed["plays"]))
        self.assertTrue(all(not p["pass"] for p in failed["plays"]))
        some = self.engineer.get(f"/api/sides/{self.works.side}/plays?stamper={self.works.stampers[0]}")
        self.assertEqual({p["stamper"] for p in some["plays"]}, {self.works.stampers[0]})
        self.assertEqual(self.engineer.get(f"/api/sides/{self.works.side}/plays?stamper=P-99999-X")["total"], 0)


class Listening(Served):
    def test_the_capture_was_heard_and_entered_under_its_sender(self):
        job = self.shared.jobs[0]
        self.assertEqual((job["state"], job["who"], job["attempts"], job["share"]), ("done", "listener", 1, 1))
        play = self.engineer.get(f"/api/plays/{job['report']}")
        self.assertEqual((play["disc"]["ticket"], play["play"]["stamper"]), (self.works.tickets[0], self.works.stampers[0]))
        self.assertGreaterEqual(play["play"]["plain"], 1)
        events = self.engineer.get(f"/api/events?subject={self.works.tickets[0]}")["events"]
        self.assertEqual(events[0]["who"], "listener")
        report = self.engineer.get(f"/api/plays/{job['report']}/report")
        self.assertEqual(report["schema"], "goodside.listen/1")
        self.assertEqual(report["capture"]["sha256"], hashlib.sha256(self.shared.capture.read_bytes()).hexdigest())
        portrait = self.engineer.get(f"/api/plays/{job['report']}/portrait")
        self.assertEqual([f["id"] for f in portrait["faults"]], [f["id"] for f in report["faults"]])
        self.assertEqual(self.works.works("check")["closes"], True)

    def test_what_is_heard_are_the_samples(self):
        report = self.shared.report
        played, rate = soundfile.read(self.shared.capture, always_2d=True)
        heard = {}
        for sound in ("capture", "cut", "difference"):
            status, headers, data = self.engineer.ask("GET", f"/api/plays/{report}/audio?sound={sound}&from_s=4&to_s=8")
            self.assertEqual((status, headers["Accept-Ranges"]), (200, "bytes"))
            heard[sound], shown = wav_samples(data)
            self.assertEqual((shown, heard[sound].shape), (48000, (4 * 48000, 2)))
        # The capture is at the window's rate: what is sent are its own samples, to a step of 16 bits.
        self.assertEqual(rate, 48000)
        expected = numpy.round(played[4 * rate:8 * rate] * 32768.0)
        self.assertLessEqual(numpy.abs(heard["capture"] - expected).max(), 2)
        left = heard["capture"].astype(int) - heard["cut"] - heard["difference"]
        self.assertLessEqual(numpy.abs(left).max(), 2)
        # The tick stands out of the difference where it was put.
        start_s = self.engineer.get(f"/api/plays/{report}/portrait")["programme_start_s"]
        where = numpy.abs(heard["difference"]).max(axis=1).argmax() / 48000.0 + 4.0 - start_s
        self.assertAlmostEqual(where, 5.1, delta=0.01)
        music = lambda name: numpy.sqrt((heard[name].astype(float)[24000:72000] ** 2).mean())  # noqa: E731
        self.assertLess(music("difference"), 0.1 * music("cut"))

    def test_the_portrait_is_drawn_to_be_saved(self):
        path = f"/api/plays/{self.shared.report}/picture"
        for more, begins in (("", b"<?xml"), ("?format=png&view=stamper", b"\x89PNG"), ("?format=pdf", b"%PDF")):
            self.assertTrue(self.engineer.ask("GET", path + more)[2].startswith(begins))
        drawn = {of: self.engineer.ask("GET", f"{path}?of={of}")[2] for of in ("portrait", "strip", "wow", "levels")}
        self.assertTrue(all(one.startswith(b"<?xml") for one in drawn.values()))
        self.assertEqual(len(set(drawn.values())), 4)
        limits = self.engineer.get(f"/api/plays/{self.shared.report}")["limits"]
        self.assertGreater(limits["eccentricity_m"], 0)  # the works' own, which it was judged by
        for more in ("?format=gif", "?view=label", "?of=label"):
            self.assertEqual(self.engineer.ask("GET", path + more)[0], 400)

    def test_ranges_are_those_of_rfc_9110(self):
        path = f"/api/plays/{self.shared.report}/audio?sound=capture&from_s=1&to_s=2"
        _, _, whole = self.engineer.ask("GET", path)
        size = len(whole)
        for asked, (status, part) in {
                "bytes=0-99": (206, whole[:100]), "bytes=100-": (206, whole[100:]), "bytes=-10": (206, whole[-10:]),
                f"bytes={size - 1}-": (206, whole[-1:]), f"bytes=0-{10 * size}": (206, whole),
                f"bytes=-{10 * size}": (206, whole), f"bytes={size}-": (416, None), "bytes=-0": (416, None),
                "bytes=0-1,5-9": (200, whole), "bytes=" + ",".join(["0-"] * 500): (200, whole), "lines=1-2": (416, None),
                f"bytes={10**17}-": (416, None)}.items():
            with self.subTest(range=asked[:40]):
                got, headers, body = self.engineer.ask("GET", path, headers={"Range": asked})
                self.assertEqual(got, status)
                if status == 416:
                    self.assertEqual(headers["Content-Range"], f"bytes */{size}" if asked.startswith("bytes") else None)
                    continue
                self.assertEqual(body, part)
                self.assertEqual(int(headers["Content-Length"]), len(part))
                if status == 206:
                    first, last, total = map(int, re.match(r"bytes (\d+)-(\d+)/(\d+)", headers["Content-Range"]).groups())
                    self.assertEqual((whole[first:last + 1], total), (part, size))

    def test_sounds_about_a_fault_and_bad_windows(self):
        base = f"/api/plays/{self.shared.report}/audio?sound=difference"
        fault = self.engineer.get(f"/api/plays/{self.shared.report}/portrait")["faults"][0]["id"]
        self.assertEqual(self.engineer.ask("GET", f"{base}&fault={fault}")[0], 200)
        for more, status in {"": 400, "&from_s=1": 400, "&from_s=x&to_s=2": 400, "&from_s=2&to_s=1": 422, "&from_s=0&to_s=61": 422,
                             "&from_s=-1&to_s=1": 422, "&from_s=nan&to_s=1": 400, "&from_s=1e300&to_s=1e301": 422,
                             "&fault=99999": 404, "&fault=-1": 400, f"&fault={fault}&about_s=0": 422}.items():
            with self.subTest(more=more):
                self.assertEqual(self.engineer.ask("GET", base + more)[0], status)
        self.assertEqual(self.engineer.ask("GET", base.replace("difference", "noise") + "&from_s=0&to_s=1")[0], 400)

    def test_a_listeners_ear_is_set_beside_the_report(self):
        ida = self.signed("Ida")
        path = f"/api/plays/{self.shared.jobs[1]['report']}/opinions"
        faults = self.engineer.get(path.replace("opinions", "portrait"))["faults"]
        ida.post(path, {"opinion": "disagree", "fault": faults[0]["id"]})
        after = ida.post(path, {"opinion": "agree", "fault": faults[0]["id"], "words": "on second thoughts"})
        self.assertEqual((after["agreed"], after["disagreed"]), (1, 0))
        after = ida.post(path, {"opinion": "added", "capture_s": 9.5, "what": "pop"})
        added = after["opinions"][-1]
        self.assertEqual((after["added"], added["who"], added["what"]), (1, "Ida", "pop"))
        start_s = self.engineer.get(path.replace("opinions", "portrait"))["programme_start_s"]
        self.assertAlmostEqual(added["programme_s"], 9.5 - start_s, delta=0.02)
        # Along the kept track it is where the engine itself puts a fault of the same moment.
        one = faults[0]
        exact = ida.post(path, {"opinion": "added", "capture_s": one["capture_s"], "what": one["kind"]})["opinions"][-1]
        self.assertAlmostEqual(exact["programme_s"], one["programme_s"], delta=1e-4)
        lead_in = ida.post(path, {"opinion": "added", "capture_s": 0.1, "what": "tick"})["opinions"][-1]
        self.assertIsNone(lead_in["programme_s"])
        for body, status in (({"opinion": "perhaps"}, 422), ({}, 400), ({"opinion": "agree", "fault": 4711}, 404),
                             ({"opinion": "added"}, 422), ({"opinion": "added", "capture_s": 1e9}, 422),
                             ({"opinion": "added", "capture_s": 1, "what": "bang"}, 422), ({"opinion": 3}, 400),
                             ({"opinion": "agree", "words": "x" * 5000}, 422)):
            with self.subTest(body=str(body)[:60]):
                self.assertEqual(ida.ask("POST", path, body)[0], status)
        self.assertEqual(ida.ask("POST", f"/api/plays/{self.works.title}/opinions", {"opinion": "agree"})[0], 404)

    def test_a_listener_takes_an_opinion_back(self):
        ida, listener = self.signed("Ida"), self.signed("listener")
        path = f"/api/plays/{self.shared.report}/opinions"
        before = self.engineer.get(path)
        remarks = lambda: self.works.works("show", "remark")  # noqa: E731
        stood = [one["code"] for one in remarks() if not one.get("void")]
        given = ida.post(path, {"opinion": "added", "capture_s": 6.5, "what": "tick"})
        code = given["opinions"][-1]["code"]
        self.assertEqual(len([one for one in remarks() if not one.get("void")]), len(stood) + 1)
        self.assertEqual(listener.ask("POST", f"{path}/{code}/undo", {})[0], 409)  # it was Ida who said it
        after = ida.post(f"{path}/{code}/undo", {"reason": "it was the door"})
        self.assertEqual(after, before)
        self.assertEqual([one["code"] for one in remarks() if not one.get("void")], stood)  # tracing does not weigh it either
        event = self.engineer.get("/api/events?limit=1")["events"][0]
        self.assertEqual((event["who"], event["what"]), ("Ida", "reverse: it was the door"))
        self.assertEqual(ida.ask("POST", f"{path}/{code}/undo", {})[0], 409)
        fault = self.engineer.get(path.replace("opinions", "portrait"))["faults"][0]["id"]
        ida.post(path, {"opinion": "disagree", "fault": fault})
        given = ida.post(path, {"opinion": "agree", "fault": fault})
        self.assertEqual((given["agreed"], given["disagreed"]), (1, 0))
        back = self.engineer.post(f"{path}/{given['opinions'][-1]['code']}/undo", {})
        self.assertEqual((back["agreed"], back["disagreed"]), (0, 1))  # the word before it counts again
        ida.post(f"{path}/{back['opinions'][-1]['code']}/undo", {})
        for code, status in ((self.works.tickets[0], 404), ("x", 400)):
            self.assertEqual(ida.ask("POST", f"{path}/{code}/undo", {})[0], status)
        self.assertTrue(self.works.works("check")["closes"])

    def test_by_ear(self):
        listener = self.signed("listener")
        heard = listener.post(f"/api/tickets/{self.works.tickets[3]}/hear", {"good": True, "words": "clean"})
        remarks = self.engineer.get(f"/api/things/{self.works.tickets[3]}")
        self.assertEqual(remarks["row"]["heard"], "good")
        self.assertIn(("remark", 1), [(one["kind"], one["count"]) for one in remarks["named_by"]])
        self.assertGreater(heard["entry"], 0)
        for path, body, status in ((f"/api/tickets/{self.works.title}/hear", {"good": True}, 404), ("/api/tickets/x/hear", {"good": True}, 400),
                                   (f"/api/tickets/{self.works.tickets[3]}/hear", {"good": "yes"}, 400)):
            self.assertEqual(listener.ask("POST", path, body)[0], status)

    def test_the_trace_is_made_in_the_background(self):
        path = f"/api/sides/{self.works.side}/trace"
        made = wait_for(lambda: (now := self.engineer.get(path))["state"] == "current" and now)
        self.assertEqual(made["trace"]["schema"], "goodside.trace/1")
        self.assertGreaterEqual(made["trace"]["reports"], 2)
        self.assertEqual(len(made["trace"]["recurring"]), 1)  # the tick on both discs
        family = self.engineer.get(f"/api/sides/{self.works.side}/family")
        self.assertEqual({d["id"] for d in family["discs"] if d["report"]}, set(self.works.tickets[:2]))
        self.works.works("ticket", self.works.run, 38, "--reason", "another")
        self.assertEqual(self.engineer.get(path)["state"], "stale")
        wait_for(lambda: self.engineer.get(path)["state"] == "current")
        self.assertEqual(self.engineer.get(f"/api/sides/{self.works.works('show', 'side')[0]['code']}/trace")["state"], "nothing heard")


class Holding(Served):
    def test_one_action_holds_and_one_lets_go(self):
        station = self.signed("station")
        before = self.engineer.get(f"/api/runs/{self.works.run}")
        made = station.post("/api/holds", {"run": self.works.run, "impressions": [[41, 44]], "reason": "tick at 0:05"})
        during = self.engineer.get(f"/api/runs/{self.works.run}")
        self.assertIn(made["entry"], [hold["entry"] for hold in during["holds"]])
        self.assertEqual(self.engineer.get("/api/events?limit=1")["events"][0]["who"], "station")
        path = f"/api/holds/{made['entry']}/undo"
        self.assertEqual(station.ask("POST", path, {"reason": "no"})[0], 403)
        self.engineer.post(path, {"reason": "the microscope shows nothing"})
        after = self.engineer.get(f"/api/runs/{self.works.run}")
        self.assertEqual((after["counts"], after["holds"]), (before["counts"], before["holds"]))
        self.assertEqual(self.engineer.ask("POST", path, {"reason": "again"})[0], 409)
        self.assertEqual(self.engineer.ask("POST", "/api/holds/1/undo", {"reason": "x"})[0], 409)
        self.assertEqual(self.engineer.ask("POST", "/api/holds/999999/undo", {"reason": "x"})[0], 404)
        self.assertEqual(self.engineer.ask("POST", "/api/holds/x/undo", {"reason": "x"})[0], 400)
        made = station.post("/api/holds", {"title": self.works.title, "impressions": [[41, 42], [45, 48]], "reason": "the trace"})
        self.assertEqual((made["discs"], made["shipped"], made["uncounted"]), (6, 0, []))
        self.assertIn((made["entry"], "station"), [(h["entry"], h["who"]) for h in self.engineer.get(f"/api/runs/{self.works.run}")["holds"]])
        again = station.post("/api/holds", {"side": self.works.side, "impressions": [[41, 42]], "reason": "the trace", "fault": 1})
        self.assertEqual((again["entry"], again["discs"], again["already"]), (None, 0, 2))
        self.engineer.post(f"/api/holds/{made['entry']}/undo", {"reason": "a mistake"})
        self.assertEqual(self.engineer.get(f"/api/runs/{self.works.run}")["counts"], before["counts"])
        for body, status in (({"run": self.works.run, "impressions": [[1, 2]], "reason": ""}, 422),
                             ({"title": "T-9999-L", "impressions": [[1, 2]], "reason": "x"}, 404),
                             ({"side": "SD-9999-Q", "impressions": [[1, 2]], "reason": "x"}, 422),
                             ({"title": self.works.title, "impressions": [], "reason": "x"}, 422),
                             ({"title": self.works.title, "run": self.works.run, "impressions": [[1, 2]], "reason": "x"}, 400),
                             ({"impressions": [[1, 2]], "reason": "x"}, 400),
                             ({"run": self.works.run, "impressions": [[1, 2], [4, 5]], "reason": "x"}, 422),
                             ({"run": self.works.run, "impressions": [[2, 1]], "reason": "x"}, 422),
                             ({"run": self.works.run, "impressions": ["x"], "reason": "x"}, 422),
                             ({"run": "R-99999-?", "impressions": [[1, 2]], "reason": "x"}, 422),
                             ({"run": self.works.run, "impressions": 3, "reason": "x"}, 400)):
            with self.subTest(body=body):
                self.assertEqual(self.engineer.ask("POST", "/api/holds", body)[0], status)


class Uploading(Served):
    def announce(self, client, **more):
        body = {"name": "a.wav", "bytes": 1000, "ticket": self.works.tickets[4], "letter": "A", **more}
        return client.ask("POST", "/api/uploads", body)

    def test_bad_announcements(self):
        listener = self.signed("listener")
        for more, status in (({"name": "a.txt"}, 422), ({"name": "../a.wav"}, 422), ({"name": ""}, 422), ({"bytes": 0}, 422),
                             ({"bytes": 1 << 50}, 413), ({"bytes": 1.5}, 400), ({"ticket": "nobody"}, 404), ({"letter": "AB"}, 422),
                             ({"after": "kicked"}, 422), ({"bench": "none such"}, 404), ({"sha256": "xyz"}, 422), ({"name": None}, 400)):
            with self.subTest(more=more):
                status_got, _, body = self.announce(listener, **more)
                self.assertEqual(status_got, status, body)
        self.assertEqual(listener.ask("POST", "/api/uploads", raw="{", headers={"Content-Type": "application/json"})[0], 400)
        self.assertEqual(listener.ask("POST", "/api/uploads", raw="[]", headers={"Content-Type": "application/json"})[0], 400)

    def test_offsets_sums_and_bytes_that_are_no_capture(self):
        listener = self.signed("listener")
        upload = self.announce(listener)[2]
        path = f"/api/uploads/{upload['id']}"
        self.assertEqual(listener.ask("PATCH", path, raw=b"x" * 10, headers={"Upload-Offset": "5"})[0], 409)
        self.assertEqual(listener.ask("PATCH", path, raw=b"x" * 10)[0], 400)
        self.assertEqual(listener.ask("PATCH", path, raw=b"x" * 400, headers={"Upload-Offset": "0"})[2]["offset"], 400)
        self.assertEqual(listener.ask("PATCH", path, raw=b"x" * 700, headers={"Upload-Offset": "400"})[0], 413)
        self.assertEqual(listener.get(path)["offset"], 400)
        status, _, body = listener.ask("PATCH", path, raw=b"x" * 600, headers={"Upload-Offset": "400"})
        self.assertEqual(status, 422)
        self.assertIn("a.wav", body["error"])
        self.assertEqual(listener.ask("GET", path)[0], 404)
        self.assertEqual(list((self.works.folder / "incoming").iterdir()), [])
        data = self.shared.capture.read_bytes()
        upload = self.announce(listener, bytes=len(data), sha256="0" * 64)[2]
        status, _, body = listener.ask("PATCH", f"/api/uploads/{upload['id']}", raw=data, headers={"Upload-Offset": "0"})
        self.assertEqual(status, 422)
        self.assertIn("SHA-256", body["error"])

    def test_giving_up(self):
        listener = self.signed("listener")
        upload = self.announce(listener)[2]
        path = f"/api/uploads/{upload['id']}"
        listener.ask("PATCH", path, raw=b"x" * 10, headers={"Upload-Offset": "0"})
        self.assertIn(upload["id"], [u["id"] for u in listener.get("/api/uploads")["uploads"]])
        self.assertEqual(listener.ask("DELETE", path)[0], 204)
        self.assertEqual(listener.ask("DELETE", path)[0], 404)
        self.assertEqual(list((self.works.folder / "incoming").iterdir()), [])

    def test_one_play_twice_and_a_job_that_is_cancelled_and_tried_again(self):
        listener = self.signed("listener")
        job = send(listener, self.shared.second, self.works.tickets[2], piece=300_000,
                   sha256=hashlib.sha256(self.shared.second.read_bytes()).hexdigest(), after="brushed")
        status, _, body = listener.ask("POST", f"/api/jobs/{job}/cancel", {})
        if status == 200:
            ended = finished(listener, job)
            self.assertEqual(ended["state"], "cancelled")
            self.assertEqual(listener.ask("POST", f"/api/jobs/{job}/cancel", {})[0], 409)
            listener.post(f"/api/jobs/{job}/retry", {})
        ended = finished(listener, job)
        self.assertEqual(ended["state"], "done", ended["error"])
        self.assertEqual(listener.ask("POST", f"/api/jobs/{job}/retry", {})[0], 409)
        self.assertEqual(listener.ask("POST", "/api/jobs/none/retry", {})[0], 404)
        again = finished(listener, send(listener, self.shared.second, self.works.tickets[2]))
        self.assertEqual(again["report"], ended["report"])  # the same bytes, the same report, entered once
        captures = self.engineer.get(f"/api/things/{self.works.tickets[2]}")["named_by"]
        self.assertEqual([n["count"] for n in captures if n["kind"] == "capture"], [1])
        self.assertEqual(next(n for n in captures if n["kind"] == "capture")["rows"][0]["after"], "brushed")


class Doors(Served):
    def test_each_route_lets_in_the_roles_that_the_document_names(self):
        clients = {role: self.signed(role) for role in ROLES}
        nobody = Checked(self.server.port)
        for template, methods in API["paths"].items():
            for method, route in methods.items():
                path = re.sub(r"\{[^}]*\}", "none", template)
                if route["x-roles"] == "open":
                    continue
                if template == "/api/sign-out":
                    continue
                with self.subTest(route=f"{method} {template}"):
                    self.assertEqual(nobody.ask(method.upper(), path, {} if method != "get" else None)[0], 401)
                    allowed = ROLES if route["x-roles"] == "any account" else re.split(r",\s*", route["x-roles"])
                    for role, client in clients.items():
                        status, _, body = client.ask(method.upper(), path, {} if method != "get" else None)
                        self.assertEqual(status == 403, role not in allowed, (role, status, body))
                        if method != "get":
                            self.assertEqual(client.ask(method.upper(), path, {}, headers={"X-CSRF-Token": "0" * 64})[0], 403)

    def test_a_session_ends(self):
        viewer = self.signed("viewer")
        cookie = viewer.cookie
        self.assertEqual(viewer.ask("POST", "/api/sign-out")[0], 204)
        viewer.cookie = cookie
        self.assertEqual(viewer.ask("GET", "/api/line")[0], 401)
        self.assertFalse(viewer.get("/api/session")["signed_in"])

    def test_the_cookie_is_closed_to_scripts_and_other_sites(self):
        client = Checked(self.server.port)
        _, headers, _ = client.ask("POST", "/api/sign-in", {"name": "viewer", "password": PASSWORD})
        for word in ("HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=86400"):
            self.assertIn(word, headers["Set-Cookie"])
        self.assertNotIn(PASSWORD, (self.works.folder / "serve" / "serve.db").read_bytes().decode("latin-1"))
        self.assertNotIn(headers["Set-Cookie"].split("=")[1].split(";")[0],
                         (self.works.folder / "serve" / "serve.db").read_bytes().decode("latin-1"))
        for more in ({"Origin": "http://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}):
            self.assertEqual(client.ask("POST", "/api/sign-out", {}, headers=more)[0], 403)
        self.assertEqual(client.ask("GET", "/api/health", headers={"Host": "elsewhere.example"})[0], 421)
        self.assertEqual(client.ask("POST", "/api/sign-in", raw="name=x", headers={"Content-Type": "text/plain"})[0], 415)

    def test_accounts_are_kept_by_engineers_and_noted_in_the_log(self):
        made = self.engineer.post("/api/accounts", {"name": "Ben", "password": PASSWORD, "roles": ["viewer"]})
        self.assertEqual((made["roles"], made["disabled"]), (["viewer"], False))
        event = self.engineer.get("/api/events?limit=1")["events"][0]
        self.assertEqual((event["who"], event["what"], event["subject"]), ("engineer", "account", "Ben"))
        self.assertNotIn("argon2", run([GOODSIDE, "works", "events", "--count", "3", "--in", self.works.folder, "--json", "-"]).stdout)
        self.assertEqual(self.engineer.ask("POST", "/api/accounts", {"name": "Ben", "password": PASSWORD, "roles": ["viewer"]})[0], 409)
        for body in ({"name": "", "password": PASSWORD, "roles": ["viewer"]}, {"name": "C", "password": "short", "roles": ["viewer"]},
                     {"name": "C", "password": PASSWORD, "roles": []}, {"name": "C", "password": PASSWORD, "roles": ["king"]},
                     {"name": "two\nlines", "password": PASSWORD, "roles": ["viewer"]}):
            self.assertEqual(self.engineer.ask("POST", "/api/accounts", body)[0], 422, body)
        ben = self.signed("Ben")
        changed = self.engineer.ask("PUT", "/api/accounts/Ben", {"roles": ["clerk"], "disabled": True})[2]
        self.assertEqual((changed["roles"], changed["disabled"]), (["clerk"], True))
        self.assertEqual(ben.ask("GET", "/api/line")[0], 401)
        self.assertEqual(Checked(self.server.port).ask("POST", "/api/sign-in", {"name": "Ben", "password": PASSWORD})[0], 401)
        self.assertEqual(self.engineer.ask("PUT", "/api/accounts/engineer", {"roles": ["viewer"]})[0], 409)
        self.assertEqual(self.engineer.ask("PUT", "/api/accounts/nobody", {"disabled": True})[0], 404)

    def test_ones_own_password(self):
        self.engineer.post("/api/accounts", {"name": "Cleo", "password": PASSWORD, "roles": ["viewer"]})
        cleo, other = self.signed("Cleo"), self.signed("Cleo")
        self.assertEqual(cleo.ask("POST", "/api/password", {"old": "not this one", "new": "another password"})[0], 422)
        self.assertEqual(cleo.ask("POST", "/api/password", {"old": PASSWORD, "new": "another password"})[0], 200)
        self.assertEqual(cleo.ask("GET", "/api/line")[0], 200)
        self.assertEqual(other.ask("GET", "/api/line")[0], 401)

    def test_strange_paths_and_methods(self):
        for method, path, status in (("GET", "/api/nothing", 404), ("POST", "/api/nothing", 404), ("DELETE", "/api/line", 405),
                                     ("PATCH", "/api/line", 405), ("POST", "/", 405), ("GET", "/api", 404)):
            with self.subTest(path=path, method=method):
                self.assertEqual(self.engineer.ask(method, path)[0], status)


class ServedPages(Served):
    def test_pages_with_strict_headers(self):
        client = Client(self.server.port)
        for path in ("/", "/bench/L-000001-3", "/index.html"):
            status, headers, body = client.ask("GET", path)
            self.assertEqual((status, headers["Cache-Control"]), (200, "no-cache"), path)
            self.assertIn(b"<title>goodside", body)
            policy = headers["Content-Security-Policy"]
            for part in ("default-src 'none'", "script-src 'self';", "frame-ancestors 'none'", "base-uri 'none'"):
                self.assertIn(part, policy)
            self.assertNotIn("unsafe", policy)
            self.assertEqual((headers["X-Frame-Options"], headers["Referrer-Policy"]), ("DENY", "no-referrer"))
        status, headers, body = client.ask("GET", "/assets/page-1a2b.js", headers={"Accept-Encoding": "gzip, br"})
        self.assertEqual((status, headers["Content-Encoding"]), (200, "gzip"))
        self.assertIn("immutable", headers["Cache-Control"])
        self.assertEqual(client.ask("GET", "/", headers={"If-None-Match": client.ask("GET", "/")[1]["ETag"]})[0], 304)

    def test_nothing_outside_the_folder(self):
        for path in ("/../secret.txt", "/%2e%2e/secret.txt", "/assets/../../secret.txt", "/..%2fsecret.txt", "/.hidden", "//secret.txt"):
            status, _, body = Client(self.server.port).ask("GET", path)
            self.assertNotIn(b"secret", body if isinstance(body, bytes) else json.dumps(body).encode(), path)


class Malformed(Served):
    """Bytes that are no request, or a cunning one: an answer or a closed connection, and the server stands."""

    def talk(self, data, seconds=2.0, half=True):
        with socket.create_connection(("127.0.0.1", self.server.port), timeout=seconds) as line:
            line.settimeout(seconds)
            out = b""
            try:
                line.sendall(data)
                if half:
                    line.shutdown(socket.SHUT_WR)
                while chunk := line.recv(65536):
                    out += chunk
                    if not half:
                        line.settimeout(0.3)
            except OSError:
                pass
            return out

    def test_random_bytes_and_mutated_requests(self):
        rng = random.Random(20261126)
        whole = (f"POST /api/uploads HTTP/1.1\r\nHost: 127.0.0.1:{self.server.port}\r\nCookie: {self.engineer.cookie}\r\n"
                 f"X-CSRF-Token: {self.engineer.csrf}\r\nContent-Type: application/json\r\nContent-Length: 60\r\n\r\n"
                 '{"name":"a.wav","bytes":10,"ticket":"disc5","letter":"A"}   ').encode()
        for case in range(300):
            if case % 3 == 0:
                data = rng.randbytes(rng.randrange(1, 400)) + b"\r\n\r\n"
            else:
                data = bytearray(whole)
                for _ in range(rng.randrange(1, 6)):
                    at = rng.randrange(len(data))
                    data[at:at + rng.randrange(0, 4)] = rng.randbytes(rng.randrange(0, 4))
                data = bytes(data)
            answer = self.talk(data)
            self.assertNotRegex(answer, rb"^HTTP/1.1 5\d\d", (case, data))
        self.assertEqual(self.engineer.ask("GET", "/api/health")[0], 200)

    def test_cunning_requests(self):
        host = f"Host: 127.0.0.1:{self.server.port}\r\n"
        for name, data, expected in (
                ("no length", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Type: application/json\r\n\r\n", b" 400 "),
                ("negative length", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Length: -5\r\n\r\n{{}}", b" 400 "),
                ("two lengths", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Length: 2\r\nContent-Length: 3\r\n\r\n{{}}", b" 400 "),
                ("length and chunks", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", b" 400 "),
                ("a bomb", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Encoding: gzip\r\nContent-Length: 2\r\n\r\nxx", b" 415 "),
                ("a form", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 2\r\n\r\nxx", b" 415 "),
                ("a huge body", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Length: 99999999999\r\n\r\nxx", b" 413 "),
                ("a long path", f"GET /{'x' * 3000} HTTP/1.1\r\n{host}\r\n", b" 414 "),
                ("a longer path", f"GET /{'x' * 30000} HTTP/1.1\r\n{host}\r\n", b" 414 "),
                ("a method of its own", f"BREW /api/line HTTP/1.1\r\n{host}\r\n", b" 400 "),
                ("deep JSON", f"POST /api/sign-in HTTP/1.1\r\n{host}Content-Type: application/json\r\nContent-Length: 20000\r\n\r\n" + "[" * 20000, b" 400 ")):
            with self.subTest(name=name):
                answer = self.talk(data.encode(), half=False)
                self.assertIn(expected, answer.split(b"\r\n")[0] + b" ", answer[:200])
        # A request hidden in another's body is not answered.
        hidden = f"GET /api/health HTTP/1.1\r\n{host}\r\n"
        answer = self.talk(f"GET /api/health HTTP/1.1\r\n{host}Content-Length: {len(hidden)}\r\n\r\n{hidden}".encode(), half=False)
        self.assertEqual(answer.count(b"HTTP/1.1 "), 1)
        answer = self.talk(f"PATCH /api/uploads/x HTTP/1.1\r\n{host}Content-Length: {len(hidden)}\r\n\r\n{hidden}".encode(), half=False)
        self.assertEqual(answer.count(b"HTTP/1.1 "), 1)

    def test_a_slow_sender_blocks_nobody(self):
        lines = [socket.create_connection(("127.0.0.1", self.server.port)) for _ in range(100)]
        try:
            for line in lines:
                line.sendall(b"GET /api/he")
            begun = time.monotonic()
            self.assertEqual(Client(self.server.port).ask("GET", "/api/health")[0], 200)
            self.assertLess(time.monotonic() - begun, 2.0)
        finally:
            for line in lines:
                line.close()


class Alone(unittest.TestCase):
    """Starts, ends and kills: each with a server of its own over one works."""

    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.works = Works(GOODSIDE, pathlib.Path(cls.held.name) / "works")
        cls.capture = cls.works.capture("play.wav")

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def test_a_the_first_account(self):
        server = Server(GOODSIDE, self.works.folder)
        client = as_checked(server)
        self.assertTrue(client.get("/api/session")["first_start"])
        self.assertEqual(client.ask("GET", "/api/line")[0], 401)
        first = {"token": server.token, "name": "ada", "password": PASSWORD}
        self.assertEqual(client.ask("POST", "/api/first", {**first, "token": "0" * 64})[0], 403)
        self.assertEqual(client.ask("POST", "/api/first", {**first, "password": "short"})[0], 422)
        self.assertEqual(client.ask("POST", "/api/first", {"token": server.token})[0], 400)
        made = client.post("/api/first", first)
        self.assertEqual((made["name"], set(made["roles"])), ("ada", set(ROLES)))
        self.assertEqual(client.ask("GET", "/api/line")[0], 200)
        self.assertEqual(Checked(server.port).ask("POST", "/api/first", {**first, "name": "eve"})[0], 409)
        # Wrong passwords are rationed.
        guess = Checked(server.port)
        statuses = [guess.ask("POST", "/api/sign-in", {"name": "ada", "password": f"guess number {n}"})[0] for n in range(7)]
        self.assertEqual(statuses[0], 401)
        self.assertEqual(statuses[-1], 429)
        self.assertNotIn(200, statuses)
        self.assertEqual(server.end(), 0)

    def test_b_the_folder_and_the_port_are_one_process_s(self):
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        second = run([GOODSIDE, "serve", "--works", self.works.folder, "--port", "0"], status=(2,))
        self.assertIn("another process", second.stderr)
        other = pathlib.Path(self.held.name) / "other"
        run([GOODSIDE, "works", "init", other, "--name", "Other"])
        taken = run([GOODSIDE, "serve", "--works", other, "--port", server.port], status=(2,))
        self.assertRegex(taken.stderr, rf"^goodside serve: port {server.port} at 127.0.0.1 cannot be taken .*--port\n$")
        beyond = run([GOODSIDE, "serve", "--works", other, "--bind", "0.0.0.0", "--port", "0"], status=(2,))
        self.assertIn("TLS", beyond.stderr)
        begun = time.monotonic()
        self.assertEqual(server.end(), 0)
        self.assertLess(time.monotonic() - begun, 8.0)
        for words in (["--port", "99999"], ["--port", "x"], ["--analyses", "0"], ["--tls-cert", "x"], ["--works", "nowhere"]):
            self.assertEqual(run([GOODSIDE, "serve", *(words if "--works" in words else ["--works", other, *words])], status=(2,)).stderr.count("\n"), 1)

    def test_c_tls_and_beyond_this_computer(self):
        folder = pathlib.Path(self.held.name)
        run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj",
             "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-keyout", folder / "key.pem", "-out", folder / "cert.pem"])
        tls = ["--tls-cert", folder / "cert.pem", "--tls-key", folder / "key.pem"]
        other = folder / "without_accounts"
        run([GOODSIDE, "works", "init", other, "--name", "Other"])
        self.assertIn("account", run([GOODSIDE, "serve", "--works", other, "--bind", "0.0.0.0", "--port", "0", *tls], status=(2,)).stderr)
        self.assertEqual(run([GOODSIDE, "serve", "--works", other, "--port", "0", "--tls-cert", folder / "key.pem", "--tls-key",
                              folder / "key.pem"], status=(2,)).stderr.count("\n"), 1)
        server = Server(GOODSIDE, self.works.folder, "--bind", "0.0.0.0", *tls, expect_account=True)
        import ssl
        context = ssl.create_default_context(cafile=str(folder / "cert.pem"))
        line = http.client.HTTPSConnection("localhost", server.port, context=context)
        line.request("POST", "/api/sign-in", json.dumps({"name": "ada", "password": PASSWORD}), {"Content-Type": "application/json"})
        answer = line.getresponse()
        self.assertEqual(answer.status, 200)
        self.assertIn("Secure", answer.getheader("Set-Cookie"))
        self.assertTrue(answer.getheader("Set-Cookie").startswith("__Host-"))
        self.assertIn("max-age", answer.getheader("Strict-Transport-Security"))
        line.close()
        self.assertEqual(server.end(), 0)

    def test_d_killed_in_mid_upload_and_in_mid_analysis(self):
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        ada = as_checked(server, "ada")
        data = self.capture.read_bytes()
        upload = ada.post("/api/uploads", {"name": "play.wav", "bytes": len(data), "ticket": "disc5", "letter": "A"})
        path = f"/api/uploads/{upload['id']}"
        half = len(data) // 2
        self.assertEqual(ada.ask("PATCH", path, raw=data[:half], headers={"Upload-Offset": "0"})[2]["offset"], half)
        # A request that is on its way when the server is killed.
        with socket.create_connection(("127.0.0.1", server.port)) as line:
            line.sendall((f"PATCH {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {ada.cookie}\r\nX-CSRF-Token: {ada.csrf}\r\n"
                          f"Upload-Offset: {half}\r\nContent-Length: {len(data) - half}\r\n\r\n").encode() + data[half:half + 100_000])
            time.sleep(0.3)
            server.kill()
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        cookie, csrf = ada.cookie, ada.csrf
        ada = Checked(server.port)
        ada.cookie, ada.csrf = cookie, csrf  # the session outlives the server
        offset = ada.get(path)["offset"]
        self.assertGreaterEqual(offset, half)
        status, _, done = ada.ask("PATCH", path, raw=data[offset:], headers={"Upload-Offset": str(offset)})
        self.assertEqual(status, 200, done)
        job = done["job"]
        wait_for(lambda: ada.get(f"/api/jobs/{job}")["state"] == "running")
        child = wait_for(lambda: children_of(server.process.pid))
        nice = lambda: int(pathlib.Path(f"/proc/{child[0]}/stat").read_text().rsplit(")", 1)[1].split()[16])  # noqa: E731
        wait_for(lambda: nice() >= 10, 5)  # a child begins as its parent's twin
        server.kill()
        wait_for(lambda: not pathlib.Path(f"/proc/{child[0]}").exists(), 5)  # nothing of it stays behind
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        ada.port, ada.connection = server.port, None
        ended = finished(ada, job)
        self.assertEqual((ended["state"], ended["attempts"]), ("done", 2), ended["error"])
        capture = next(self.works.folder.glob("captures/*"))
        self.assertEqual(capture.read_bytes(), data)
        self.assertEqual(len(self.works.works("show", "report")), 1)
        self.assertEqual(len(self.works.works("show", "capture")), 1)
        self.assertTrue(self.works.works("check")["closes"])
        self.assertEqual(list((self.works.folder / "incoming").iterdir()), [])
        self.assertEqual(server.end(), 0)

    def test_e_asked_to_end_in_mid_analysis(self):
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        ada = as_checked(server, "ada")
        job = send(ada, self.capture, "disc25")
        wait_for(lambda: ada.get(f"/api/jobs/{job}")["state"] == "running")
        self.assertEqual(server.end(), 0)
        server = Server(GOODSIDE, self.works.folder, expect_account=True)
        ada = as_checked(server, "ada")
        self.assertEqual(finished(ada, job)["state"], "done")
        self.assertEqual(server.end(), 0)


class Z(Served):
    """After all others."""

    def test_every_route_was_reached_with_good_and_bad_input(self):
        for template, methods in API["paths"].items():
            if template.startswith(("/api/recordings", "/api/calculations")):
                continue  # record_test.py, calculations_test.py
            for method, route in methods.items():
                if "by hand" in route["tags"]:
                    continue  # by_hand_test.py
                reached = {status for verb, path, status in REACHED if (verb, path) == (method.upper(), template)}
                with self.subTest(route=f"{method} {template}"):
                    self.assertTrue(any(status < 300 for status in reached), reached)
                    if any(int(status) >= 400 for status in route["responses"]) and "parameters" in route:
                        self.assertTrue(any(status >= 400 for status in reached), reached)


if __name__ == "__main__":
    unittest.main(warnings="ignore")
