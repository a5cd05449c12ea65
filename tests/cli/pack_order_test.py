"""An order of 2,400 discs walked from the press to its two places by the command line alone, with a quarantine in the middle,
discs that come back, and a credit. The ledger closes, and a count of its own, made disc by disc from the record's
export, finds each disc in exactly one place.

    pack_order_test.py GOODSIDE [unittest options]
"""

import collections
import json
import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
DEMO_TRACE = Path(__file__).resolve().parents[2] / "demo" / "trace"
PREFIX = "0614141"  # the company prefix of GS1's own example
PRESSED, WARM_UP, ON_A_SPINDLE = 2460, 4, 205
HURT = (700, 780)  # impressions of the run that the trace calls suspect
CODE = re.compile(r"\b[A-Z]{1,2}-[0-9]+-[0-9A-Z]\b")


def gs1_check_digit(payload):
    return str(-sum(int(digit) * (3, 1)[i % 2] for i, digit in enumerate(reversed(payload))) % 10)


class Works:
    def __init__(self, folder):
        self.folder = folder
        self.trace = folder / "trace.json"
        self.run("works", "init", folder, "--name", "Our Pressings", place=False)
        with open(folder / "goodside.toml", "a", encoding="utf-8") as settings:
            settings.write(f'\n[dispatch]\ngs1_prefix = "{PREFIX}"\nlifting_limit = "9 kg"\n')

    def call(self, *words, place=True):
        line = [str(GOODSIDE), *map(str, words)] + (["--in", str(self.folder)] if place else []) + ["--by", "Ida"]
        return subprocess.run(line, capture_output=True, text=True, check=False)

    def run(self, *words, place=True):
        said = self.call(*words, place=place)
        if said.returncode != 0:
            raise AssertionError(f"{words}: {said.returncode} {said.stderr}")
        return said.stdout

    def code(self, *words):
        return CODE.search(self.run(*words)).group()

    def answer(self, *words):
        return json.loads(self.run(*words, "--json", "-"))


def disc_by_disc(entries):
    """Where each impression lies, by moving one disc after another; a range that is not exact has no such answer."""
    place = {}
    for entry in entries:
        for row in entry["rows"]:
            if row["table"] != "movement":
                continue
            move = row["values"]
            discs = range(move["first"], move["last"] + 1)
            if len(discs) != move["quantity"]:
                raise AssertionError(f"not exact: {move}")
            where = (move["from_place"], move.get("from_at") or "")
            for disc in discs:
                there = place.pop((move["run"], disc), ("press", ""))
                if there != where:
                    raise AssertionError(f"{disc} is {there}, and left {where}")
                place[move["run"], disc] = (move["to_place"], move.get("to_at") or "")
    return place


class AnOrderOf2400(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.works = Works(Path(cls.held.name) / "pressings")
        cls.walk(cls.works)

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    @classmethod
    def refused(cls, *words, says):
        said = cls.works.call(*words)
        if said.returncode != 2 or says not in said.stderr or said.stderr.count("\n") != 1:
            raise AssertionError(f"{words}: {said.returncode} {said.stdout} {said.stderr}")

    @classmethod
    def walk(cls, works):
        title = works.code("works", "add", "title", "name=Fallen Leaves", "artist=The Hedgerow", "gtin=4006381333931")
        side = works.code("works", "add", "side", f"title={title}", "letter=A", "format=12in-33", "matrix=FL-1 A")
        works.code("works", "add", "side", f"title={title}", "letter=B", "format=12in-33", "matrix=FL-1 B")
        cls.order = works.code("works", "add", "order", f"title={title}", "quantity=2400", "due=2026-12-18")
        cls.bath = works.code("works", "add", "delivery", f"order={cls.order}", "to=Hill, Bath", "quantity=1500")
        cls.leeds = works.code("works", "add", "delivery", f"order={cls.order}", "to=Daughters, Leeds", "quantity=900")
        stamper = works.code("works", "add", "part", "kind=stamper", f"side={side}", "origin=bought")
        press = works.code("works", "add", "press", "name=Press 1")
        batch = works.code("works", "add", "batch", "material=vinyl", "mass=400 kg")
        works.run("works", "mount", press, "--a", stamper, "--counter", "1000")
        works.run("works", "approve", cls.order, "waived", "--words", "a re-pressing")
        run = works.code("works", "add", "run", f"order={cls.order}", f"press={press}")
        works.run("works", "press", run, WARM_UP, "--warm-up", "--batch", batch)
        spindles = []
        for _ in range(PRESSED // ON_A_SPINDLE):
            spindles.append(works.code("works", "add", "spindle"))
            works.run("works", "press", run, ON_A_SPINDLE, "--batch", batch, "--spindle", spindles[-1])
        cls.spindles = spindles
        ticket = works.code("works", "ticket", run, "1200", "--reason", "every 1200th")
        works.run("works", "hear", ticket, "good")
        works.run("works", "move", run, "edge-finished")
        works.run("works", "move", run, "scrap", "--impressions", "51-60", "--from", "edge-finished", "--reason", "chip")
        works.run("works", "move", run, "good")

        # Half of it is packed; 25 to a carton, as the plan has it.
        plan = works.answer("pack", "plan", "--order", cls.order, "--disc-mass", "140g")
        assert plan["carton"]["discs"] == 25 and plan["cartons"] == 96 and plan["last_carton_discs"] == 0, plan
        first = works.answer("pack", "fill", cls.order, "--per", 25, "--quantity", 1250)
        cls.first = first["cartons"]
        cls.refused("pack", "close", cls.first[0]["carton"], 24, says="the ledger has 25")
        cls.refused("pack", "close", cls.first[0]["carton"], 25, "--weighed", "9.2 kg", says="9.00 kg may be lifted")
        cls.numbers = []
        for carton in cls.first:
            closed = works.answer("pack", "close", carton["carton"], 25, "--weighed", "6.58 kg")
            cls.numbers.append(closed["sscc"])
        part = works.call("pack", "fill", cls.order, "--per", 25, "--quantity", 10)
        assert part.returncode == 2 and "--part" in part.stderr, part.stderr

        # A tick: the trace calls a range suspect; it is pulled out of the cartons again.
        cls.quarantine(works, side)
        held = [carton["carton"] for carton in cls.first
                if any(one["impressions"][0] <= HURT[1] and one["impressions"][1] >= HURT[0] for one in carton["from"])]
        shipment = works.code("works", "add", "shipment", f"order={cls.order}", f"delivery={cls.bath}", "to=Hill, Bath")
        cls.refused("pack", "ship", shipment, held[0], says="suspect discs")
        quarantine = works.code("works", "add", "spindle", "name=quarantine")
        pulled = works.answer("pack", "pull", run, "--spindle", quarantine)
        cls.pulled = pulled
        assert pulled["discs"] == HURT[1] - HURT[0] + 1, pulled
        assert sorted(one["carton"] for one in pulled["cartons"]) == sorted(held), pulled
        # Some turn out well, the others are scrap; the cartons are filled up with what is good.
        works.run("works", "release", run, "--impressions", f"{HURT[0]}-{HURT[0] + 29}")
        works.run("works", "move", run, "scrap", "--impressions", f"{HURT[0] + 30}-{HURT[1]}", "--from", "suspect",
                  "--reason", "tick")
        for one in pulled["cartons"]:
            if one["left"] == 0:
                continue
            # What is left goes back to the store: no part cartons in the middle of an order.
            works.run("pack", "take-out", one["carton"])
        more = works.answer("pack", "fill", cls.order, "--per", 25, "--part")
        rest = []
        for carton in more["cartons"]:
            works.run("pack", "close", carton["carton"], carton["discs"], *(["--part"] if carton["discs"] < 25 else []))
            rest.append(carton["carton"])
        cls.part_cartons = [one for one in more["cartons"] if one["discs"] < 25]
        untouched = [carton["carton"] for carton in cls.first if carton["carton"] not in held]

        # To Bath: 40 cartons on a pallet and 7 loose, then 13 more; to Leeds the rest.
        pallet = works.code("pack", "stack", cls.order, *untouched[:40])
        cls.refused("pack", "close", pallet, 39, says="has 40")
        works.run("pack", "close", pallet, 40)
        cls.refused("pack", "ship", shipment, untouched[0], says="stands on pallet")
        works.run("pack", "ship", shipment, pallet, *untouched[40:])
        cls.out = len(untouched) * 25
        left = (1500 - cls.out) // 25
        again = works.code("works", "add", "shipment", f"order={cls.order}", f"delivery={cls.bath}", "to=Hill, Bath")
        cls.refused("pack", "ship", again, *rest[: left + 1], says="too many")
        works.run("pack", "ship", again, *rest[:left])
        leeds = works.code("works", "add", "shipment", f"order={cls.order}", f"delivery={cls.leeds}", "to=Leeds")
        works.run("pack", "ship", leeds, *rest[left:])
        cls.owed_before = works.answer("pack", "owed", cls.order)

        # A carton comes back; another is destroyed there. What is not made good is credited.
        cls.back = works.answer("pack", "return", rest[-2], "--reason", "tick, A, 3:12")
        cls.owed_between = works.answer("pack", "owed", cls.order)
        owed = cls.owed_between["count"]["still_owed"]
        cls.refused("pack", "credit", cls.order, owed + 1, "--reason", "too much", says="still owed")
        works.run("pack", "credit", cls.order, owed, "--delivery", cls.leeds, "--reason", "not made again")
        works.run("pack", "credit", cls.order, 25, "--destroyed", rest[-3], "--delivery", cls.leeds, "--reason", "warped")
        cls.owed = works.answer("pack", "owed", cls.order)

    @classmethod
    def quarantine(cls, works, side):
        subprocess.run([GOODSIDE, "trace", "--family", DEMO_TRACE / "family.json", "--reports", DEMO_TRACE / "reports",
                        "--json", works.trace], capture_output=True, check=False)
        trace = json.loads(works.trace.read_text())
        fault = trace["recurring"][0]
        fault["suspect"]["impressions"] = [list(HURT)]
        works.trace.write_text(json.dumps(trace))
        said = works.answer("works", "quarantine", works.trace, "--fault", fault["id"], "--side", side)
        assert said["discs"] == HURT[1] - HURT[0] + 1, said

    def test_the_ledger_closes(self):
        said = self.works.run("works", "check")
        self.assertIn("every disc in one place", said)

    def test_each_disc_is_in_exactly_one_place(self):
        exported = self.works.folder / "export.jsonl"
        self.works.run("works", "export", exported)
        entries = [json.loads(line) for line in exported.read_text().splitlines()[1:]]
        place = disc_by_disc(entries)
        self.assertEqual(sorted(disc for _, disc in place), list(range(1, PRESSED + WARM_UP + 1)))
        counted = collections.Counter(where for where, _ in place.values())
        self.assertEqual(dict(counted), {one["place"]: one["discs"] for one in self.owed["places"] if one["discs"]})

    def test_what_is_owed_follows_what_left(self):
        good = PRESSED - 10 - 51 - 1  # chips, ticks, the sample
        shipped = self.owed_before["count"]["shipped"]
        self.assertEqual(shipped, good)
        self.assertEqual(self.owed_before["count"]["still_owed"], 2400 - good)
        self.assertEqual(self.owed_between["count"]["shipped"], good - self.back["discs"])
        self.assertEqual(self.owed["count"]["still_owed"], 0)
        self.assertEqual([one["count"]["still_owed"] for one in self.owed["deliveries"]], [0, 0])
        self.assertEqual(self.owed["deliveries"][0]["count"]["shipped"], 1500)
        self.assertEqual(len(self.owed["shipments"]), 3)

    def test_cartons_keep_spindles_and_impressions(self):
        # The third spindle holds impressions 415 to 619; the first carton from it names it.
        for carton in self.first:
            for one in carton["from"]:
                low, high = one["impressions"]
                spindle = self.spindles[(low - WARM_UP - 1) // ON_A_SPINDLE]
                self.assertEqual(one["spindle"], spindle)
                self.assertEqual((high - WARM_UP - 1) // ON_A_SPINDLE, (low - WARM_UP - 1) // ON_A_SPINDLE)
        shown = self.works.answer("pack", "show", self.first[0]["carton"])
        (content,) = shown["cartons"][0]["contents"]
        self.assertEqual(content["spindles"], [self.spindles[0]])
        self.assertEqual(content["holding"]["impressions"], [5, 29])

    def test_numbers_are_those_of_the_standard_and_found_by_them(self):
        self.assertEqual(len(set(self.numbers)), len(self.numbers))
        for number in self.numbers:
            self.assertEqual(len(number), 18)
            self.assertEqual(number[1:8], PREFIX)
            self.assertEqual(number[-1], gs1_check_digit(number[:-1]))
        shown = self.works.answer("pack", "show", f"(00){self.numbers[0]}")
        self.assertEqual(shown["code"], self.first[0]["carton"])

    def test_an_opened_cartons_number_is_void(self):
        gone = next(i for i, one in enumerate(self.first) if one["carton"] == self.pulled["cartons"][0]["carton"])
        self.refused("pack", "show", self.numbers[gone], says="no label")


if __name__ == "__main__":
    unittest.main(verbosity=1)
