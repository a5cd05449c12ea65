"""Papers and labels of a small order, read back from their pixels: texts with pdftotext, codes with two readers that are not
ours; and what cannot be packed or printed, refused in one line.

    pack_papers_test.py GOODSIDE [unittest options]
"""

import json
import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

GOODSIDE = Path(sys.argv.pop(1)).resolve()
CODE = re.compile(r"\b[A-Z]{1,2}-[0-9]+-[0-9A-Z]\b")
PREFIX, GTIN = "0614141", "4006381333931"
TITLE = ("Fallen Leaves and other songs of the long and never ending autumn of the valley, sung at the mill by those who "
         "stayed (春の海 · 落ち葉)")


def out_of(*words, timeout=60):
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False, timeout=timeout)
    if done.returncode != 0:
        raise AssertionError(f"{words}: {done.returncode} {done.stdout} {done.stderr}")
    return done.stdout


def plain(text):
    """Without the breaks that wrapping made."""
    return "".join(text.split())


def bars_of(picture):
    """What zbar reads of an image: {kind: [content]}; FNC1 at the start of GS1-128 is not told by it."""
    said = out_of("zbarimg", "--quiet", picture)
    return sorted(line.split(":", 1)[1] for line in said.splitlines())


class Papers(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = Path(cls.held.name)
        cls.works = cls.folder / "works"
        cls.run_line("works", "init", cls.works, "--name", "Our Pressings", place=False)
        with open(cls.works / "goodside.toml", "a", encoding="utf-8") as settings:
            settings.write(f'\n[dispatch]\ngs1_prefix = "{PREFIX}"\naddress = "The Mill\\nBath"\n')
        cls.title = cls.code("works", "add", "title", f"name={TITLE}", "artist=The Hedgerow", f"gtin={GTIN}")
        cls.side = cls.code("works", "add", "side", f"title={cls.title}", "letter=A", "format=12in-33", "matrix=FL-1 A")
        cls.code("works", "add", "track", f"side={cls.side}", "number=1", "name=落ち葉の歌", "isrc=gbabc2600001",
                 "duration=3:42")
        cls.order = cls.code("works", "add", "order", f"title={cls.title}", "quantity=60", "customer=Hill & Daughters")
        cls.stamper = cls.code("works", "add", "part", "kind=stamper", f"side={cls.side}", "origin=bought")
        press = cls.code("works", "add", "press", "name=Press 1")
        cls.batch = cls.code("works", "add", "batch", "material=vinyl", "mass=80 kg")
        cls.run_line("works", "add", "weighing", f"batch={cls.batch}", "ingredient=pellets", "lot=7781", "asked=76 kg")
        cls.run_line("works", "mount", press, "--a", cls.stamper, "--counter", "1000")
        cls.run_line("works", "approve", cls.order, "waived", "--words", "a re-pressing")
        cls.press_run = cls.code("works", "add", "run", f"order={cls.order}", f"press={press}")
        cls.run_line("works", "press", cls.press_run, "61", "--batch", cls.batch, "--counter", "1061")
        cls.ticket = cls.code("works", "ticket", cls.press_run, "30", "--reason", "every 30th")
        cls.run_line("works", "hear", cls.ticket, "good")
        cls.run_line("works", "move", cls.press_run, "good")
        filled = json.loads(cls.run_line("pack", "fill", cls.order, "--per", "25", "--part", "--json", "-"))
        cls.cartons = [one["carton"] for one in filled["cartons"]]
        cls.numbers = [json.loads(cls.run_line("pack", "close", one["carton"], one["discs"], "--part", "--json", "-"))["sscc"]
                       for one in filled["cartons"]]
        cls.pallet = cls.code("pack", "stack", cls.order, *cls.cartons[:2])
        cls.run_line("pack", "close", cls.pallet, "2")
        cls.shipment = cls.code("works", "add", "shipment", f"order={cls.order}", "to=12 Long Acre, Bath", "carrier=Dray")
        cls.run_line("pack", "ship", cls.shipment, cls.pallet, cls.cartons[2])

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    @classmethod
    def call(cls, *words, place=True):
        line = [str(GOODSIDE), *map(str, words)] + (["--in", str(cls.works)] if place else []) + ["--by", "Ida"]
        return subprocess.run(line, capture_output=True, text=True, check=False)

    @classmethod
    def run_line(cls, *words, place=True):
        said = cls.call(*words, place=place)
        if said.returncode != 0:
            raise AssertionError(f"{words}: {said.returncode} {said.stderr}")
        return said.stdout

    @classmethod
    def code(cls, *words):
        return CODE.search(cls.run_line(*words)).group()

    def refused(self, *words, says):
        said = self.call(*words)
        self.assertEqual(said.returncode, 2, f"{words}: {said.stdout}{said.stderr}")
        self.assertEqual(said.stderr.count("\n"), 1, said.stderr)
        self.assertIn(says, said.stderr, words)
        self.assertEqual(said.stdout, "")

    def paper(self, *words, ending="pdf"):
        file = self.folder / f"{words[1]}-{words[2]}.{ending}"
        self.run_line(*words, "--out", file)
        return file

    def test_every_paper_reads_back_with_its_title_and_its_code(self):
        for kind, code, size, more in [("traveller", self.press_run, "a4", ["B-0001-G", "1–61"]),
                                       ("traveller", self.stamper, "letter", ["stamper"]),
                                       ("label-proof", self.title, "a4", ["落ち葉の歌", "GB-ABC-26-00001", "33⅓rpm"]),
                                       ("packing-list", self.shipment, "letter", [*self.cartons, *self.numbers, "60"]),
                                       ("certificate", self.shipment, "a4", [self.ticket, "good,byear"]),
                                       ("consignment-note", self.shipment, "a4", ["TheMill", "12LongAcre,Bath", "Dray"]),
                                       ("weigh-up", self.batch, "letter", ["pellets", "7781", "76.000kg"])]:
            file = self.paper("pack", "paper", kind, code, "--paper", size)
            said = plain(out_of("pdftotext", "-layout", file, "-"))
            for wanted in [code, "OurPressings", *more]:
                self.assertIn(plain(wanted), said, kind)
            if kind != "weigh-up":
                # In reading order the long title is whole, however often it wrapped.
                self.assertIn(plain(TITLE)[:100], plain(out_of("pdftotext", "-raw", file, "-")), kind)
            width = 612 if size == "letter" else 595
            self.assertRegex(out_of("pdfinfo", file), rf"Page size: +{width}(\.\d+)? x")
            # The print's own pixels, at the desk's 150 dots an inch, read by a scanner's library.
            out_of("pdftoppm", "-r", "150", "-png", "-f", "1", "-l", "1", "-singlefile", "-x", width * 2 - 280, "-y", "0",
                   "-W", "340", "-H", "260", file, self.folder / "head")
            self.assertEqual(out_of("dmtxread", "-N", "1", "-m", "60000", self.folder / "head.png", timeout=120), code)

    def test_cautions_stand_where_work_can_hurt(self):
        for kind, code, caution in [("traveller", self.press_run, "platens crush"), ("packing-list", self.shipment, "Lifting"),
                                    ("weigh-up", self.batch, "Nips of mixer")]:
            file = self.paper("pack", "paper", kind, code)
            self.assertIn(plain(caution), plain(out_of("pdftotext", file, "-")))

    def test_labels_are_read_by_a_scanner(self):
        for code, number, discs in [(self.cartons[0], self.numbers[0], 25), (self.cartons[2], self.numbers[2], 10)]:
            label = self.paper("pack", "label", code, ending="png")
            self.assertEqual(bars_of(label), sorted(["00" + number, f"020{GTIN}37{discs}"]))
            self.assertEqual(out_of("dmtxread", "-N", "1", "-m", "60000", label, timeout=120).replace("\x1d", ""),
                             f"00{number}020{GTIN}37{discs}")
        for size in ["4x6in", "a5", "148x105mm"]:
            label = self.folder / f"pallet-{size}.png"
            self.run_line("pack", "label", self.pallet, "--paper", size, "--out", label)
            self.assertIn(f"020{GTIN}3750", bars_of(label), size)
        ticket = self.folder / "ticket.png"
        self.run_line("pack", "label", self.ticket, "--paper", "62x100", "--out", ticket)
        self.assertEqual(bars_of(ticket), [self.ticket])
        self.assertEqual(out_of("dmtxread", "-N", "1", "-m", "60000", ticket, timeout=120), self.ticket)
        whole = self.folder / "whole.pdf"
        self.run_line("pack", "label", self.shipment, "--out", whole)
        self.assertIn("Pages:           4", out_of("pdfinfo", whole))

    def test_a_works_without_a_prefix_has_plain_numbers(self):
        text = (self.works / "goodside.toml").read_text()
        (self.works / "goodside.toml").write_text(text.replace(f'gs1_prefix = "{PREFIX}"', ""))
        try:
            order = self.code("works", "add", "order", f"title={self.title}", "quantity=5")
            carton = self.code("works", "add", "carton", f"order={order}", "capacity=5")
            self.assertEqual(bars_of(self.paper("pack", "label", carton, ending="png")), [carton])
        finally:
            (self.works / "goodside.toml").write_text(text)

    def test_svg_and_png_are_a_file_a_sheet(self):
        for ending in ["svg", "png"]:
            answer = json.loads(self.run_line("pack", "paper", "label-proof", self.title, "--out",
                                              self.folder / f"proof.{ending}", "--json", "-"))
            self.assertEqual(len(answer["files"]), answer["sheets"])
            for file in answer["files"]:
                self.assertGreater(Path(file).stat().st_size, 1000)
        # Without a file it lies in the works' papers.
        self.run_line("pack", "paper", "weigh-up", self.batch)
        self.assertTrue((self.works / "papers" / f"weigh-up-{self.batch}.pdf").is_file())

    def test_what_cannot_be_is_refused_in_one_line(self):
        entries = json.loads(self.run_line("works", "check", "--json", "-"))["entries"]
        carton, order = self.cartons[0], self.order
        for words, says in [
                (("pack", "plan"), "--order"),
                (("pack", "plan", "--format", "13in-33", "--discs", "10"), "13in-33"),
                (("pack", "plan", "--format", "12in-33", "--discs", "0"), "0 discs"),
                (("pack", "plan", "--format", "12in-33", "--discs", "nan"), "--discs"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--disc-mass", "nan"), "--disc-mass"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--disc-mass", "900kg"), "disc mass"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--density", "7"), "--density"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--lift-limit", "0.5kg"), "not one disc"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--lift-limit", "1e9kg"), "--lift-limit"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--reach", "2m"), "lifting equation"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--pallet", "1x1"), "1200x800"),
                (("pack", "plan", "--format", "12in-33", "--discs", "10", "--per", "0"), "--per"),
                (("pack", "plan", "--order", order), "nothing of order"),
                (("pack", "fill", order, "--per", "25"), "no good stock"),
                (("pack", "fill", "O-9999-9", "--per", "25"), "O-9999"),
                (("pack", "fill", order, "--per", "0"), "--per"),
                (("pack", "fill", order, "--per", "25", "--impressions", "9-1"), "--impressions"),
                (("pack", "fill", carton, "--per", "25"), "order or run"),
                (("pack", "close", carton, "25"), "is gone"),
                (("pack", "close", carton, "-1"), "whole number"),
                (("pack", "close", "K-999999-Z", "25"), "K-999999"),
                (("pack", "close", carton, "25", "--weighed", "heavy"), "--weighed"),
                (("pack", "open", carton, "--reason", "x"), "is gone"),
                (("pack", "open", carton), "--reason"),
                (("pack", "split", carton), "--quantity"),
                (("pack", "split", carton, "--quantity", "2"), "is gone"),
                (("pack", "take-out", carton, "--to", carton), "another"),
                (("pack", "pull", order), "no suspect discs"),
                (("pack", "stack", order, carton), "is gone"),
                (("pack", "show", "(00)106141412345678908"), "no label"),
                (("pack", "show", "106141412345678909"), "106141412345678909"),
                (("pack", "ship", self.shipment, carton), "has left"),
                (("pack", "return", carton, "--quantity", "26", "--reason", "x"), "26"),
                (("pack", "return", order, "--quantity", "2", "--reason", "x"), "carton or run"),
                (("pack", "return", carton), "--reason"),
                (("pack", "credit", order, "1", "--reason", "x"), "still owed"),
                (("pack", "credit", order, "0", "--reason", "x"), "at least one"),
                (("pack", "owed", carton), "order"),
                (("pack", "agree", order, "59", "--reason", "x"), "60 discs are ordered"),
                (("pack", "agree", order, "many", "--reason", "x"), "whole number"),
                (("pack", "unstack", carton), "is gone"),
                (("pack", "unstack", self.cartons[2]), "no pallet"),
                (("pack", "paper", "poem", order), "packing-list"),
                (("pack", "paper", "packing-list", order), "no shipment"),
                (("pack", "paper", "packing-list", self.shipment, "--paper", "a9"), "--paper"),
                (("pack", "paper", "packing-list", self.shipment, "--paper", "a6"), "too small"),
                (("pack", "paper", "packing-list", self.shipment, "--out", "x.doc"), "--out"),
                (("pack", "paper", "packing-list", self.shipment, "--out", self.folder / "none" / "x.pdf"), "none"),
                (("pack", "paper", "packing-list", self.shipment, "--date", "\x07"), "control"),
                (("pack", "label", order), order),
                (("pack", "label", carton, "--paper", "40x40"), "too small"),
                (("works", "add", "title", "name=x", "gtin=4006381333932"), "would be 1"),
                (("works", "add", "track", f"side={self.side}", "number=2", "name=x", "isrc=GB-1"), "ISRC"),
                (("works", "add", "order", f"title={self.title}", "quantity=5", "most=4"), "most"),
                (("works", "add", "delivery", f"order={order}", "to=x", "quantity=61"), "it is for 60")]:
            with self.subTest(words=words):
                self.refused(*words, says=says)
        bird = self.code("works", "add", "title", "name=𓅃 bird")
        self.code("works", "add", "side", f"title={bird}", "letter=A", "format=12in-33")
        self.refused("pack", "paper", "label-proof", bird, "--out", self.folder / "bird.pdf", says="U+13143")
        self.assertFalse((self.folder / "bird.pdf").exists())
        # Nothing was entered but the title and its side.
        self.assertEqual(json.loads(self.run_line("works", "check", "--json", "-"))["entries"], entries + 2)
        text = (self.works / "goodside.toml").read_text()
        for broken, says in [('gs1_prefix = "12"', "company prefix"), ('lifting_limit = "nan kg"', "lifting_limit"),
                             ('pallet = "round"', "1200x800"), ('palet = "1200x800"', "pallet"), ("address = 7", "address")]:
            (self.works / "goodside.toml").write_text(text[: text.rindex("[dispatch]")] + "[dispatch]\n" + broken + "\n")
            with self.subTest(broken=broken):
                self.refused("pack", "plan", "--order", order, says=says)
        (self.works / "goodside.toml").write_text(text)

    def test_help_keeps_within_eighty_columns(self):
        verbs = re.findall(r"^  ([a-z-]+) ", subprocess.run([GOODSIDE, "pack", "--help"], capture_output=True, text=True,
                                                            check=False).stdout, re.M)
        self.assertGreaterEqual(len(verbs), 17)
        for verb in verbs:
            said = subprocess.run([GOODSIDE, "pack", verb, "--help"], capture_output=True, text=True, check=False).stdout
            self.assertIn("goodside pack " + verb, said)
            self.assertLessEqual(max(map(len, said.splitlines())), 80, verb)

    def test_the_example_of_the_plan_prints_what_it_says(self):
        said = subprocess.run([GOODSIDE, "pack", "plan", "--help"], capture_output=True, text=True, check=False).stdout
        example = re.search(r"goodside (pack plan --format .*)\n+ *(.*)", said)
        printed = subprocess.run([GOODSIDE, *example.group(1).split()], capture_output=True, text=True, check=False).stdout
        self.assertEqual(printed.splitlines()[0], example.group(2))

    def test_every_verb_prints_what_its_example_shows(self):
        """The same words as the help's example, with the codes and figures of an order of this record."""
        order = self.code("works", "add", "order", f"title={self.title}", "quantity=50")
        self.run_line("works", "approve", order, "waived", "--words", "a re-pressing")
        press = self.code("works", "add", "press", "name=Press 2")
        self.run_line("works", "mount", press, "--a", self.code("works", "add", "part", "kind=stamper", f"side={self.side}",
                                                                "origin=bought"), "--counter", "0")
        run = self.code("works", "add", "run", f"order={order}", f"press={press}")
        self.run_line("works", "press", run, "60", "--batch", self.batch, "--counter", "60")
        self.run_line("works", "move", run, "good")
        self.said("agree", order, "55", "--reason", "by telephone")
        cartons = lambda: {one for one in CODE.findall(self.run_line("works", "show", "carton")) if one.startswith("K-")}  # noqa: E731
        before = cartons()
        self.said("fill", order, "--per", "10", "--quantity", "50")
        carton = sorted(cartons() - before)
        self.said("close", carton[0], "10", "--weighed", "2.2kg")
        self.said("show", carton[0])
        self.said("open", carton[0], "--reason", "wrong sleeves")
        new = CODE.search(self.said("split", carton[0], "--quantity", "3").split("now in")[1]).group()
        self.said("take-out", carton[0], "--quantity", "2", "--to", new)
        held = self.run_line("works", "hold", run, "--impressions", "11-12", "--reason", "a look")
        self.assertIn("2 discs", held)
        self.said("pull", run, "--impressions", "11-12")
        for one in carton[2:]:
            self.run_line("pack", "close", one, "10")
        pallet = CODE.search(self.said("stack", order, carton[2], carton[3], carton[4])).group()
        self.said("unstack", carton[4])
        self.run_line("pack", "close", pallet, "2")
        shipment = self.code("works", "add", "shipment", f"order={order}", "to=Bath", "carrier=Dray")
        self.said("ship", shipment, pallet)
        self.said("return", carton[2], "--reason", "tick, A")
        self.said("credit", order, "10", "--reason", "tick, A")
        self.said("owed", order)
        self.said("label", carton[3], "--paper", "a6", "--out", self.folder / "label.png")
        self.said("paper", "packing-list", shipment, "--paper", "letter", "--out", self.folder / "list.pdf")

    def said(self, verb, *words):
        """What it says; its lines are those of the help's example, codes and figures aside."""
        example = subprocess.run([GOODSIDE, "pack", verb, "--help"], capture_output=True, text=True,
                                 check=False).stdout.split("\nExample\n")[1].strip().splitlines()
        alike = lambda line: re.sub(r"[0-9]+", "0", re.sub(r"\S*\.(pdf|png)", "file", CODE.sub("CODE", line))).replace(  # noqa: E731
            "cartons", "carton").replace("sheets", "sheet").strip()
        shown = [alike(line) for line in example[example.index("") + 1:]]
        said = self.run_line("pack", verb, *words)
        self.assertEqual([alike(line) for line in said.splitlines()][:len(shown)], shown, verb)
        return said


if __name__ == "__main__":
    unittest.main(verbosity=1)
