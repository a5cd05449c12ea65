"""The record written by hand through `goodside serve`: an order from its entry to the last carton, each answer held against
docs/api/openapi.json and against what the commands say of the same record; what is refused, and in whose name things are.

    by_hand_test.py GOODSIDE [unittest options]
"""

import json
import pathlib
import sys
import tempfile
import threading
import unittest
import urllib.parse

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "support"))
from checked_api import API, PASSWORD, REACHED, as_checked, wait_for  # noqa: E402
from served_works import Server, run  # noqa: E402

GOODSIDE = str(pathlib.Path(sys.argv.pop(1)).resolve())


class ByHand(unittest.TestCase):
    """Tests in the order of their names: one order goes through the works."""

    at = {}  # what was entered, by name

    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.held.name) / "works"
        run([GOODSIDE, "works", "init", cls.folder, "--name", "Our Pressings", "--zone", "Europe/London"])
        cls.server = Server(GOODSIDE, cls.folder)
        cls.engineer = as_checked(cls.server)
        cls.engineer.post("/api/first", {"token": cls.server.token, "name": "ada", "password": PASSWORD})
        for role in ("clerk", "station", "viewer", "listener"):
            cls.engineer.post("/api/accounts", {"name": role, "password": PASSWORD, "roles": [role]})
        cls.clerk, cls.station, cls.viewer, cls.listener = (as_checked(cls.server, role) for role in
                                                            ("clerk", "station", "viewer", "listener"))

    @classmethod
    def tearDownClass(cls):
        cls.server.end()
        cls.held.cleanup()

    def command(self, *words):
        return json.loads(run([GOODSIDE, *words, "--in", self.folder, "--json", "-"]).stdout)

    def refused(self, status, client, path, body, words=""):
        got, _, answer = client.ask("POST", path, body)
        self.assertEqual(got, status, (path, body, answer))
        self.assertNotIn("\n", answer["error"])
        self.assertIn(words, answer["error"])

    def enter(self, client, kind, /, **fields):
        return client.post("/api/entered", {"kind": kind, "fields": fields})["code"]

    def test_a_order(self):
        kinds = {one["kind"]: one for one in self.clerk.get("/api/kinds")["kinds"]}
        self.assertTrue(kinds["order"]["may"])
        self.assertFalse(kinds["part"]["may"])
        self.assertIn("quantity", [f["name"] for f in kinds["order"]["fields"] if f["required"]])
        wanted = {"new_title": {"name": "Fallen Leaves", "artist": "The Hedgerow"},
                  "sides": [{"letter": "A", "format": "12in-33"}, {"letter": "B", "format": "12in-33"}],
                  "order": {"quantity": 60, "due": "2026-12-18", "customer": "Hill & Daughters", "format": "12in-33"},
                  "deliveries": [{"to": "Hill, Bath", "quantity": 40}, {"to": "Daughters, Leeds", "quantity": 20}]}
        before = self.engineer.get("/api/state")["record"]["seq"]
        self.refused(422, self.clerk, "/api/orders", {**wanted, "order": {"quantity": "many"}})
        self.refused(422, self.clerk, "/api/orders", {**wanted, "order": {"quantity": 60, "due": "someday"}})
        self.refused(409, self.clerk, "/api/orders", {**wanted, "deliveries": [{"to": "x", "quantity": 61}]}, "deliveries")
        self.refused(422, self.clerk, "/api/orders", {"order": {"quantity": 3}}, "title")
        self.refused(400, self.clerk, "/api/orders", {"title": "T-0001-W"}, "order")
        self.refused(400, self.clerk, "/api/orders", {**wanted, "sides": "A"})
        self.refused(403, self.station, "/api/orders", wanted)
        self.assertEqual(self.engineer.get("/api/state")["record"]["seq"], before)  # nothing half-written
        made = self.clerk.post("/api/orders", wanted)
        self.assertEqual(made["entry"], before + 1)  # title, sides, order and places in one
        event = self.engineer.get("/api/events?limit=1")["events"][0]
        self.assertEqual((event["who"], event["what"], event["subject"]), ("clerk", "add order", made["title"]))
        self.at.update(entry=made["entry"], order=made["code"], title=made["title"], side_a=made["sides"][0], side_b=made["sides"][1],
                       bath=made["deliveries"][0], leeds=made["deliveries"][1])
        again = self.clerk.post("/api/orders", {"title": made["title"], "order": {"quantity": 5}})
        self.clerk.post(f"/api/entries/{again['entry']}/undo", {"reason": "entered twice"})
        self.assertEqual([o["code"] for o in self.engineer.get(f"/api/titles/{made['title']}")["orders"]], [made["code"]])
        owed = self.clerk.get(f"/api/orders/{made['code']}/owed")
        self.assertEqual((owed["ordered"], owed["owed"], [d["owed"] for d in owed["deliveries"]]), (60, 60, [40, 20]))
        self.refused(422, self.clerk, f"/api/orders/{made['code']}/approvals", {"decision": "waived"}, "words")
        self.refused(422, self.clerk, f"/api/orders/{made['code']}/approvals", {"decision": "perhaps"})
        self.refused(404, self.clerk, "/api/orders/O-9999-X/approvals", {"decision": "waived", "words": "x"})
        self.assertEqual(self.clerk.ask("GET", "/api/orders/O-9999-X/owed")[0], 404)

    def test_b_entering_by_fields(self):
        self.refused(403, self.clerk, "/api/entered", {"kind": "part", "fields": {}}, "part")
        self.refused(403, self.station, "/api/entered", {"kind": "title", "fields": {"name": "x"}})
        self.refused(422, self.engineer, "/api/entered", {"kind": "spaceship", "fields": {}})
        self.refused(422, self.engineer, "/api/entered", {"kind": "title", "fields": {}}, "name")
        self.refused(422, self.engineer, "/api/entered", {"kind": "title", "fields": {"name": "x", "colour": "red"}})
        self.refused(400, self.engineer, "/api/entered", {"kind": "title", "fields": [1]})
        self.refused(400, self.engineer, "/api/entered", {"kind": "title", "fields": {"name": ["x"]}})
        self.refused(400, self.engineer, "/api/entered", {"kind": "title"})
        self.refused(422, self.engineer, "/api/entered", {"kind": "mounting", "fields": {}})
        self.at["press"] = self.enter(self.engineer, "press", name="Press 1")
        self.at["batch"] = self.enter(self.station, "batch", material="vinyl", mass="80 kg")
        self.enter(self.station, "batch", material="shellac-type", mass="60 kg")
        self.at["spindle"] = self.enter(self.station, "spindle", name="7")
        self.at["other"] = self.enter(self.station, "spindle", name="8")
        self.at["cut"] = self.enter(self.engineer, "cut", side=self.at["side_a"], reference="cuts/a.wav", pitch="240 lpi")
        self.refused(403, self.station, f"/api/entries/{self.at['entry']}/undo", {"reason": "x"}, "clerk")
        self.refused(409, self.engineer, "/api/entries/2/undo", {"reason": "x"}, "shop")  # an account
        self.refused(404, self.engineer, "/api/entries/99999/undo", {"reason": "x"})
        self.refused(400, self.engineer, "/api/entries/x/undo", {"reason": "x"})

    def steps(self, part, *steps):
        for step in steps:
            done = self.station.post(f"/api/parts/{part}/steps", {"step": step})
        return done["state"]

    def test_c_metal_is_grown(self):
        lacquer = self.enter(self.station, "part", kind="lacquer", cut=self.at["cut"])
        acts = self.station.get(f"/api/parts/{lacquer}/acts")
        self.assertIn("silvered", [one["step"] for one in acts["steps"] if one["may"]])
        father = next(one for one in acts["grows"] if one["kind"] == "father")
        self.assertFalse(father["may"])
        self.assertIn("silvered", father["why_not"])
        self.refused(409, self.station, "/api/entered", {"kind": "part", "fields": {"kind": "father", "parent": lacquer}}, "silvered")
        self.refused(409, self.station, f"/api/parts/{lacquer}/steps", {"step": "punched"})
        self.refused(422, self.station, f"/api/parts/{lacquer}/steps", {"step": "danced"})
        self.refused(404, self.station, "/api/parts/P-99999-H/steps", {"step": "washed"})
        self.steps(lacquer, "silvered")
        father = self.enter(self.station, "part", kind="father", parent=lacquer)
        grown = self.station.post(f"/api/parts/{father}/steps",
                                  {"step": "grown", "readings": {"thickness": "420 um", "bath": "2"}, "note": "slow start"})
        self.assertEqual(grown["state"], "growing")
        self.refused(400, self.station, f"/api/parts/{father}/steps", {"step": "separated", "readings": [1]})
        self.assertEqual(self.steps(father, "separated", "inspected", "passivated"), "ready")
        readings = self.station.get(f"/api/parts/{father}")["steps"][0]["readings"]
        self.assertEqual({(r["name"], r.get("value")) for r in readings}, {("thickness_m", 420e-6), ("bath", 2.0)})
        mother = self.enter(self.station, "part", kind="mother", parent=father)
        self.steps(mother, "grown", "separated", "inspected")
        for name in ("stamper", "second"):
            self.steps(mother, "passivated")
            stamper = self.at[name] = self.enter(self.station, "part", kind="stamper", parent=mother)
            self.assertEqual(self.steps(stamper, "grown", "separated", "faced", "backed", "centred", "punched", "trimmed",
                                        "inspected"), "ready")
        self.at.update(lacquer=lacquer, father=father, mother=mother)
        self.at["back"] = self.enter(self.station, "part", kind="stamper", side=self.at["side_b"], origin="bought")
        tree = self.station.get(f"/api/titles/{self.at['title']}/parts")
        parents = {one["code"]: one["parent"] for one in tree["parts"]}
        self.assertEqual([parents[self.at[name]] for name in ("stamper", "mother", "father", "lacquer")],
                         [mother, father, lacquer, None])
        self.assertEqual(self.station.ask("GET", "/api/titles/T-9999-L/parts")[0], 404)
        self.assertEqual(self.station.ask("GET", "/api/parts/P-99999-H/acts")[0], 404)
        self.refused(409, self.station, f"/api/parts/{self.at['stamper']}/hold", {"reason": "scratch"}, "nothing was pressed")

    def test_d_press_and_approval(self):
        mounting = {"a": self.at["stamper"], "b": self.at["back"], "counter": 1000, "reason": "new order"}
        press = f"/api/presses/{self.at['press']}/mount"
        self.refused(422, self.station, press, {**mounting, "a": "P-00001-?"}, "a:")
        self.refused(422, self.station, press, {**mounting, "counter": -1})
        self.refused(404, self.station, "/api/presses/PR-99-N/mount", mounting)
        self.refused(403, self.clerk, press, mounting)
        self.at["mounting"] = self.station.post(press, mounting)["code"]
        self.refused(409, self.station, press, {**mounting, "a": self.at["second"]}, "taken")
        test = self.enter(self.station, "run", order=self.at["order"], press=self.at["press"], purpose="test")
        made = self.station.post(f"/api/runs/{test}/pressings", {"quantity": 3, "batch": self.at["batch"], "counter": 1003})
        self.assertEqual(made["impressions"], [1, 3])
        ticket = self.station.post(f"/api/runs/{test}/tickets", {"impressions": [2, 2], "reason": "test pressing"})
        run_code = self.at["run"] = self.enter(self.station, "run", order=self.at["order"], press=self.at["press"])
        pressings = f"/api/runs/{run_code}/pressings"
        self.refused(409, self.station, pressings, {"quantity": 5}, "test pressing")
        approvals = f"/api/orders/{self.at['order']}/approvals"
        self.clerk.post(approvals, {"decision": "sent", "ticket": ticket["code"]})
        self.refused(403, self.station, approvals, {"decision": "approved", "ticket": ticket["code"]})
        self.clerk.post(approvals, {"decision": "approved", "ticket": ticket["code"], "words": "lovely"})
        self.station.post(pressings, {"quantity": 4, "purpose": "warm up", "counter": 1007})
        self.refused(422, self.station, pressings, {"quantity": 5, "purpose": "fun"})
        self.refused(422, self.station, pressings, {"quantity": -5})
        self.refused(422, self.station, pressings, {"quantity": 40, "counter": 1010}, "counter")
        made = self.station.post(pressings, {"quantity": 40, "from_impression": 5, "spindle": self.at["spindle"],
                                             "batch": self.at["batch"], "counter": 1047})
        self.refused(409, self.station, pressings, {"quantity": 40, "from_impression": 5}, "claimed before")
        self.refused(422, self.station, pressings, {"counter": 1047}, "entered before")
        # The counter alone, read by two stations at once: the discs since the last reading, once.
        told = []
        stations = [as_checked(self.server, "station") for _ in range(2)]
        both = [threading.Thread(target=lambda client=client: told.append(
            client.ask("POST", pressings, {"spindle": self.at["other"], "counter": 1077}))) for client in stations]
        for thread in both:
            thread.start()
        for thread in both:
            thread.join()
        self.assertEqual(sorted(status for status, _, _ in told)[0], 201)
        self.assertIn(sorted(status for status, _, _ in told)[1], (409, 422))
        self.assertEqual(next(body for status, _, body in told if status == 201)["impressions"], [45, 74])
        now = self.station.get("/api/presses")
        press = now["presses"][0]
        self.assertEqual((press["mounting"]["closings"], press["mounting"]["counter"], press["runs"][0]["code"],
                          press["runs"][0]["impressions"]), (77, 1077, run_code, 74))
        self.assertEqual(press["runs"][0]["batch"], self.at["batch"])  # not the newest of any material
        self.assertEqual([one["code"] for one in now["ready"]], [self.at["second"]])
        self.assertIn("guards", now["caution"])
        pulled = self.station.post(f"/api/runs/{run_code}/tickets", {"counter": 1047, "reason": "every 40th", "name": "disc44"})
        self.assertEqual((pulled["impressions"], pulled["held"] > 0), ([44, 44], True))
        self.refused(404, self.station, f"/api/runs/{run_code}/tickets", {"impressions": [44, 44], "reason": "again"})
        self.refused(422, self.station, f"/api/runs/{run_code}/tickets", {"impressions": [9, 2], "reason": "x"}, "range")
        self.listener.post(f"/api/tickets/{pulled['code']}/hear", {"good": True})
        self.at["ticket"] = pulled["code"]
        end = f"/api/mountings/{self.at['mounting']}/end"
        self.refused(422, self.station, end, {"counter": 4}, "1000")
        self.station.post(end, {"counter": 1077, "reason": "end of the order"})
        self.refused(409, self.station, end, {"counter": 1080})
        self.refused(409, self.station, pressings, {"counter": 1080}, "nothing is mounted")

    def test_e_quarantine_by_part(self):
        hold = f"/api/parts/{self.at['mother']}/hold"
        self.refused(403, self.clerk, hold, {"reason": "scratch"})
        self.refused(422, self.station, hold, {"reason": ""}, "reason")
        held = self.station.post(hold, {"reason": "scratch at 3:12"})
        self.assertGreater(held["discs"], 60)
        counts = self.engineer.get(f"/api/runs/{self.at['run']}")["counts"]
        self.assertEqual(counts["suspect"], 69)  # all but the sample and the warm-up
        undo = f"/api/entries/{held['entry']}/undo"
        self.refused(403, self.station, undo, {"reason": "it is on the table, not the metal"}, "engineer")  # no way round release
        self.engineer.post(undo, {"reason": "it is on the table, not the metal"})
        self.assertEqual(self.engineer.get(f"/api/runs/{self.at['run']}")["counts"]["suspect"], 0)
        held = self.station.post("/api/holds", {"run": self.at["run"], "impressions": [[5, 9]], "reason": "tick"})
        self.refused(403, self.station, f"/api/runs/{self.at['run']}/release", {"impressions": [5, 9]})
        self.assertEqual(self.engineer.post(f"/api/runs/{self.at['run']}/release", {"impressions": [5, 9]})["discs"], held["discs"])
        self.refused(404, self.engineer, f"/api/runs/{self.at['run']}/release", {"impressions": [5, 9]})

    def stack(self, name):
        stacks = self.station.get("/api/inspection")["stacks"]
        return next((s for s in stacks if (s["run"], s["spindle"]) == (self.at["run"], self.at[name])), None)

    def test_f_inspection(self):
        table = self.station.get("/api/inspection")
        for reason in ("chip", "edge", "label off", "stain", "blister", "warp"):
            self.assertIn(reason, table["reasons"])
        rejects, passed = (f"/api/runs/{self.at['run']}/{act}" for act in ("rejects", "passed"))
        self.refused(422, self.station, rejects, {"spindle": self.at["spindle"], "reason": "ugly"})
        self.refused(422, self.station, rejects, {"spindle": self.at["spindle"], "reason": "chip", "quantity": 0})
        self.refused(409, self.station, rejects, {"spindle": self.at["spindle"], "reason": "chip", "quantity": 500}, "39")
        self.refused(403, self.viewer, rejects, {"spindle": self.at["spindle"], "reason": "chip"})
        moves = f"/api/runs/{self.at['run']}/moves"
        self.assertEqual(self.station.post(moves, {"to": "edge finished", "spindle": self.at["spindle"], "impressions": [5, 20]})["discs"], 16)
        self.refused(422, self.station, moves, {"to": "shipped"}, "move")
        self.refused(422, self.station, moves, {"to": "the moon"})
        made = [self.station.post(rejects, {"spindle": self.at["spindle"], "reason": reason})
                for reason in ("chip", "warp", "chip", "stain")]
        self.assertEqual([one["left"] for one in made], [38, 37, 36, 35])
        self.assertEqual(len({one["code"] for one in made}), 1)  # one inspection
        stack = self.stack("spindle")
        self.assertEqual({t["reason"]: t["quantity"] for t in stack["inspection"]["tallies"]}, {"chip": 2, "warp": 1, "stain": 1})
        self.assertEqual(stack["inspection"]["last"], {"entry": made[-1]["entry"], "who": "station", "what": "stain"})
        for one in reversed(made[2:]):  # the key that takes back, twice
            last = self.stack("spindle")["inspection"]["last"]
            self.assertEqual(last["entry"], one["entry"])
            self.station.post(f"/api/entries/{last['entry']}/undo", {"reason": "wrong key"})
        stack = self.stack("spindle")
        self.assertEqual((stack["discs"], stack["inspection"]["rejected"]), (37, 2))
        self.assertTrue(self.command("works", "check")["closes"])
        type(self).server.kill()  # what was acknowledged is there, and nothing else
        type(self).server = Server(GOODSIDE, self.folder, expect_account=True)
        for client in (self.engineer, self.clerk, self.station, self.viewer, self.listener):
            client.port, client.connection = self.server.port, None
        stack = self.stack("spindle")
        self.assertEqual((stack["discs"], stack["inspection"]["rejected"]), (37, 2))
        self.refused(409, self.station, passed, {"spindle": self.at["spindle"], "counted": 36}, "37")
        done = self.station.post(passed, {"spindle": self.at["spindle"], "counted": 37})
        self.assertEqual((done["good"], done["rejected"]), (37, 2))
        self.assertIsNone(self.stack("spindle"))
        shown = self.command("works", "show", done["code"])
        self.assertEqual((shown["looked"], shown["spindle"]), (39, self.at["spindle"]))
        self.refused(404, self.station, passed, {"spindle": self.at["spindle"]})
        self.refused(404, self.station, rejects, {"spindle": self.at["spindle"], "reason": "chip"})
        self.assertEqual(self.station.post(passed, {"spindle": self.at["other"]})["good"], 30)
        places = self.command("works", "where", self.at["run"])["places"]
        self.assertEqual(places["good stock"], 67)
        self.assertEqual(places["scrap"], 6)  # 4 of the warm-up

    def test_g_packing(self):
        order = self.at["order"]
        cartons = f"/api/orders/{order}/cartons"
        scan = lambda text: self.station.get("/api/scan?" + urllib.parse.urlencode({"q": text}))  # noqa: E731
        self.assertEqual((scan(self.at["spindle"])["next"], scan(self.at["spindle"])["order"]), ("fill", order))
        self.refused(422, self.station, cartons, {"per_carton": -1})
        self.refused(403, self.viewer, cartons, {"per_carton": 20})
        filled = self.station.post(cartons, {"per_carton": 20, "spindle": self.at["spindle"]})
        self.assertEqual((filled["discs"], filled["left"] >= 17), (20, True))
        filled["cartons"] += self.station.post(cartons, {"per_carton": 20, "quantity": 40})["cartons"]
        codes = [one["code"] for one in filled["cartons"]]
        self.assertEqual(len(codes), 3)
        self.refused(409, self.station, cartons, {"per_carton": 20, "part": True}, "60")  # no more than the customer takes
        self.assertEqual(scan(codes[0])["next"], "count")
        close = f"/api/units/{codes[0]}/close"
        self.refused(409, self.station, close, {"counted": 19}, "19")
        self.refused(422, self.station, close, {"counted": 20, "weighed_kg": -3.5})
        self.refused(409, self.station, close, {"counted": 20, "weighed_kg": 30}, "kg")
        self.refused(404, self.station, "/api/units/K-999999-P/close", {"counted": 20})
        self.assertEqual(self.station.post(close, {"counted": 20, "weighed_kg": 5.2})["discs"], 20)
        self.assertEqual(scan(codes[0])["next"], "load")
        self.station.post(f"/api/units/{codes[0]}/open", {"reason": "a sleeve is torn"})
        self.refused(409, self.station, f"/api/units/{codes[0]}/open", {"reason": "again"})
        for code in codes:
            self.station.post(f"/api/units/{code}/close", {"counted": 20})
        held = self.station.post("/api/holds", {"run": self.at["run"], "impressions": [[7, 7]], "reason": "seen late"})
        pulled = self.station.post(f"/api/orders/{order}/pull", {"to_spindle": self.at["other"]})
        self.assertTrue(pulled["cartons"][0]["opened"])
        self.refused(404, self.station, f"/api/orders/{order}/pull", {})
        opened = pulled["cartons"][0]["code"]
        seq = self.engineer.get("/api/events?limit=1")["events"][0]["seq"]
        self.engineer.post(f"/api/entries/{seq}/undo", {"reason": "a mistake"})
        self.engineer.post(f"/api/holds/{held['entry']}/undo", {"reason": "a mistake"})
        state = {c["code"]: c["state"] for c in self.station.get(f"/api/orders/{order}/packing")["cartons"]}
        if state[opened] == "open":
            self.station.post(f"/api/units/{opened}/close", {"counted": 20})
        self.at["cartons"] = codes
        self.assertEqual(self.station.ask("GET", "/api/orders/O-9999-X/packing")[0], 404)
        self.assertEqual(self.station.ask("GET", "/api/scan?q=K-999999-P")[0], 404)
        self.assertEqual(self.station.ask("GET", "/api/scan")[0], 400)
        self.assertEqual(scan(self.at["ticket"])["next"], "look")
        self.assertEqual(scan(order)["next"], "order")

    def test_h_shipments(self):
        order, cartons = self.at["order"], self.at["cartons"]
        pallet = self.station.post(f"/api/orders/{order}/pallets", {"cartons": cartons[:2]})["code"]
        self.refused(409, self.station, f"/api/orders/{order}/pallets", {"cartons": cartons[:1]})
        self.refused(400, self.station, f"/api/orders/{order}/pallets", {"cartons": [1]})
        self.station.post(f"/api/units/{pallet}/close", {"counted": 2})
        bath = self.enter(self.clerk, "shipment", order=order, to="Hill, Bath", delivery=self.at["bath"])
        leeds = self.enter(self.station, "shipment", order=order, to="Daughters, Leeds", delivery=self.at["leeds"])
        self.assertEqual(self.station.get(f"/api/scan?q={bath}")["next"], "ship")
        self.refused(409, self.station, f"/api/shipments/{leeds}/ship", {"units": [pallet]}, "20")  # 40 are more than is owed there
        self.refused(422, self.station, f"/api/shipments/{bath}/ship", {"units": []})
        self.refused(404, self.station, "/api/shipments/SH-9999-5/ship", {"units": [pallet]})
        self.assertEqual(self.station.post(f"/api/shipments/{bath}/ship", {"units": [pallet]})["discs"], 40)
        self.refused(409, self.station, f"/api/shipments/{bath}/ship", {"units": [cartons[2]]})
        owed = self.clerk.get(f"/api/orders/{order}/owed")
        self.assertEqual((owed["owed"], owed["packed"], [d["owed"] for d in owed["deliveries"]]), (20, 20, [0, 20]))
        told = self.command("pack", "owed", order)["count"]
        self.assertEqual((told["still_owed"], told["shipped"]), (owed["owed"], owed["shipped"]))
        self.station.post(f"/api/shipments/{leeds}/ship", {"units": [cartons[2]]})
        self.assertEqual(self.clerk.get(f"/api/orders/{order}/owed")["owed"], 0)
        self.at.update(shipment=bath, pallet=pallet)

    def test_i_papers(self):
        for path, begins in ((f"/api/labels/{self.at['cartons'][0]}", b"%PDF"), (f"/api/labels/{self.at['ticket']}?format=svg", b"<?xml"),
                             (f"/api/labels/{self.at['ticket']}?format=png&paper=62x100", b"\x89PNG"),
                             (f"/api/papers/packing-list/{self.at['shipment']}", b"%PDF"),
                             (f"/api/papers/traveller/{self.at['stamper']}?format=svg&paper=a5", b"<?xml"),
                             (f"/api/papers/certificate/{self.at['order']}", b"%PDF")):
            status, headers, data = self.viewer.ask("GET", path)
            self.assertEqual((status, data[:len(begins)]), (200, begins), path)
            self.assertIn("inline", headers["Content-Disposition"])
        for path, status in ((f"/api/papers/poem/{self.at['order']}", 422), (f"/api/papers/traveller/{self.at['order']}", 404),
                             (f"/api/papers/packing-list/SH-9999-5", 404), (f"/api/labels/K-999999-P", 404),
                             (f"/api/labels/{self.at['ticket']}?format=gif", 400), (f"/api/labels/{self.at['ticket']}?paper=stamp", 422),
                             (f"/api/labels/{self.at['ticket']}?format=svg&sheet=9", 400)):
            got, _, body = self.viewer.ask("GET", path)
            self.assertEqual(got, status, (path, body))

    def test_j_ledger(self):
        now = self.viewer.get("/api/ledger")
        self.assertTrue(now["closes"])
        self.assertEqual((now["counts"]["shipped"], now["impressions"], sum(now["counts"].values())), (60, 77, 77))
        first = self.viewer.get(f"/api/ledger/movements?limit=3&run={self.at['run']}")
        rest = self.viewer.get(f"/api/ledger/movements?limit=200&before={first['next']}")
        self.assertLess(rest["movements"][0]["id"], first["movements"][-1]["id"])
        self.assertEqual({m["who"] for m in first["movements"]}, {"station"})
        self.assertEqual(self.viewer.ask("GET", "/api/ledger/movements?limit=0")[0], 400)
        self.assertEqual(self.viewer.ask("POST", "/api/ledger/check", {})[0], 403)
        self.clerk.post("/api/ledger/check", {}, expected=(202,))
        done = wait_for(lambda: (state := self.viewer.get("/api/ledger/check"))["state"] == "done" and state)
        told = self.command("works", "check")
        self.assertEqual((done["result"]["closes"], done["result"]["impressions"], done["who"]), (True, told["impressions"], "clerk"))

    def test_k_from_any_subject_to_the_next(self):
        def flow(code, way):
            return {group["kind"]: [one["code"] for one in group["things"]] for group in self.viewer.get(f"/api/flow/{code}")[way]}
        # A whole day, forwards and back again, a step each.
        walk = [("title", "title"), ("order", "order"), ("run", "run"), ("carton", "cartons"), ("pallet", "pallet"), ("shipment", "shipment")]
        for (_, now), (kind, then) in zip(walk, walk[1:]):
            code, expected = (self.at[x][0] if x == "cartons" else self.at[x] for x in (now, then))
            self.assertIn(expected, flow(code, "after")[kind], (now, then))
        for (kind, now), (_, then) in zip(walk, walk[1:]):
            expected, code = (self.at[x][0] if x == "cartons" else self.at[x] for x in (now, then))
            self.assertIn(expected, flow(code, "before")[kind], (then, now))
        self.assertEqual(flow(self.at["stamper"], "before")["part"], [self.at["mother"]])
        self.assertEqual(flow(self.at["stamper"], "after")["mounting"], [self.at["mounting"]])
        self.assertIn(self.at["run"], flow(self.at["mounting"], "after")["run"])
        self.assertIn(self.at["mounting"], flow(self.at["run"], "before")["mounting"])
        self.assertEqual(self.viewer.ask("GET", "/api/flow/T-9999-L")[0], 404)
        for code in (self.at["spindle"], self.at["cartons"][0], self.at["ticket"], self.at["pallet"], "disc44"):
            hits = self.viewer.get("/api/search?" + urllib.parse.urlencode({"q": code}))["hits"]
            self.assertTrue(hits, code)

    def test_l_bytes_that_are_no_request(self):
        for template, methods in API["paths"].items():
            if "post" not in methods or "by hand" not in methods["post"]["tags"]:
                continue
            path = template.replace("{code}", self.at["order"]).replace("{unit}", self.at["pallet"]).replace("{entry}", "1")
            if path == "/api/ledger/check":
                continue
            for raw in ("{", "[]", "null", '{"a": 1e999}', "\x00", '{"reason": {"deep": []}}'):
                status, _, body = self.engineer.ask("POST", path, raw=raw, headers={"Content-Type": "application/json"})
                self.assertIn(status, (400, 404, 409, 422), (path, raw, body))
                self.assertNotIn("\n", body["error"])
        self.assertTrue(self.command("works", "check")["closes"])

    def test_z_every_route_was_reached_with_good_and_bad_input(self):
        for template, methods in API["paths"].items():
            for method, route in methods.items():
                if "by hand" not in route["tags"]:
                    continue
                reached = {status for verb, path, status in REACHED if (verb, path) == (method.upper(), template)}
                with self.subTest(route=f"{method} {template}"):
                    self.assertTrue(any(status < 300 for status in reached), reached)
                    if "parameters" in route:
                        self.assertTrue(any(status >= 400 for status in reached), reached)


if __name__ == "__main__":
    unittest.main(warnings="ignore")
