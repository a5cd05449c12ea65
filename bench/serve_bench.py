"""The server at the size of twenty years: each view's time, a capture of a 20-minute side, fifty viewers at once.

    serve_bench.py [--scale S | --record WORKS] [--build DIR] [--viewers N] [--seconds T] [--views-only]

A record of 500 000 heard discs is made (bench/serve_record.cpp; scale 1 takes some minutes and 3 GB). Views are timed
from this side of a kept connection, 30 times each, without If-None-Match. Then a 20-minute side is played, sent in pieces,
heard, and its portrait and windows are timed; last, viewers poll and look about while two captures are being heard. Bounds:
100 ms a view, 300 ms a window's sound, p99 of 250 ms for 50 viewers. Exit 1 where one is not kept.
"""

import argparse
import os
import pathlib
import random
import shutil
import sys
import tempfile
import threading
import time
import urllib.parse

import numpy
import soundfile

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1] / "tests" / "support"))
from served_works import Client, Server, run, send  # noqa: E402

PASSWORD = "a long password"
LONG_SIDE_S, RATE_HZ = 1200.0, 48000


def timed(client, path, times=30):
    """Milliseconds of each request, and the bytes of one answer."""
    spent = []
    size = 0
    for _ in range(times):
        begun = time.perf_counter()
        status, headers, _ = client.ask("GET", path)
        spent.append(1e3 * (time.perf_counter() - begun))
        assert status == 200, (path, status)
        size = int(headers.get("Content-Length") or 0)
    return numpy.array(spent), size


def rss_MB(pid):
    for line in pathlib.Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith(("VmHWM", "VmRSS")):
            yield line.split(":")[0], int(line.split()[1]) / 1024.0


def long_tune():
    frame = numpy.arange(int(LONG_SIDE_S * RATE_HZ))
    note_Hz = 220.0 * 2.0 ** ((frame * 4 // RATE_HZ * 7 % 24 + frame // (30 * RATE_HZ) % 5) / 12.0)
    phase = 2.0 * numpy.pi * numpy.cumsum(note_Hz) / RATE_HZ
    return 0.25 * numpy.stack([numpy.sin(phase), numpy.sin(1.5 * phase)], axis=1).astype(numpy.float32)


def keep_not_heard(folder, discs=6000):
    """What the server keeps of each disc heard, where the largest title's reports are rows alone (bench/serve_record.cpp)."""
    kept = folder / "serve" / "portraits"
    kept.mkdir(parents=True)
    for number in range(1, discs + 1):
        (kept / f"{number:064x}.heard").write_text("0 31.5\n")


class Bench:
    def __init__(self, build, folder):
        self.goodside = build / "bin" / "goodside"
        self.folder, self.missed = folder, []

    def tell(self, what, spent, bound, more=""):
        p50, p99, most = numpy.percentile(spent, 50), numpy.percentile(spent, 99), spent.max()
        mark = "" if p99 <= bound else "   OVER"
        if mark:
            self.missed.append(what)
        print(f"{what:<44} p50 {p50:7.1f}  p99 {p99:7.1f}  max {most:7.1f} ms  bound {bound:.0f}{more}{mark}", flush=True)

    def verdict(self):
        if self.missed:
            print("over its bound: " + ", ".join(self.missed))
        return 1 if self.missed else 0

    def views(self, client):
        side = client.get("/api/sides?limit=1&after=0")["sides"][0]
        titles = client.get("/api/titles?limit=200")
        title = client.get("/api/search?q=T-0001")["hits"][0]["code"]
        big = next(s["code"] for s in client.get(f"/api/titles/{title}")["sides"] if s["letter"] == "A")
        play = client.get(f"/api/sides/{big}/plays?limit=1")["plays"][0]
        order = client.get(f"/api/titles/{title}")["orders"][0]["code"]
        views = {"line": "/api/line", "state": "/api/state", "titles": "/api/titles?limit=200", "title (largest)": f"/api/titles/{title}",
                 "title": f"/api/titles/{titles['titles'][5]['code']}", "order (largest)": f"/api/orders/{order}",
                 "part": f"/api/parts/{play['stamper']}", "run": f"/api/runs/{play['run']}", "disc": f"/api/discs/{play['run']}/250",
                 "events": "/api/events?limit=50", "sides": "/api/sides?limit=50", "side (largest)": f"/api/sides/{big}",
                 "side": f"/api/sides/{side['code']}", "plays": f"/api/sides/{big}/plays?limit=200",
                 "plays, newest, failed": f"/api/sides/{big}/plays?order=newest&verdict=fail&limit=200",
                 "contact sheet of 60": f"/api/sides/{big}/sheet?limit=60", "family (largest)": f"/api/sides/{big}/family",
                 "tickets": "/api/tickets", "jobs": "/api/jobs", "thing": f"/api/things/{title}",
                 "where, a stamper": f"/api/where/{play['stamper']}", "where, a title (largest)": f"/api/where/{title}",
                 "presses": "/api/presses", "inspection table": "/api/inspection", "packing (largest)": f"/api/orders/{order}/packing",
                 "what is owed (largest)": f"/api/orders/{order}/owed", "parts of a title (largest)": f"/api/titles/{title}/parts",
                 "what may be done to a part": f"/api/parts/{play['stamper']}/acts", "ledger": "/api/ledger",
                 "movements": "/api/ledger/movements?limit=50", "a run's neighbours": f"/api/flow/{play['run']}",
                 "a part's neighbours": f"/api/flow/{play['stamper']}", "a title's neighbours": f"/api/flow/{title}",
                 "kinds": "/api/kinds"}
        for query in ("S-250000", "title 1999", "an artist", f"{play['run']} 17", "nothing like it"):
            views[f"search “{query}”"] = "/api/search?" + urllib.parse.urlencode({"q": query})
        for what, path in views.items():
            spent, size = timed(client, path)
            self.tell(what, spent, 100.0, f"  {size / 1e3:.0f} kB")

    def calculations(self, client, times=5):
        """Each a process of its own at low priority, with its pictures; the bound is when somebody looks up."""
        shop = client.ask("POST", "/api/calculations/files?name=works.toml",
                          raw=(HERE.parents[1] / "demo" / "plan" / "works.toml").read_bytes())[2]["id"]
        recipe = client.ask("POST", "/api/calculations/files?name=shellac.toml",
                            raw=(HERE.parents[1] / "demo" / "compound" / "shellac.toml").read_bytes())[2]["id"]
        readings = ["0=38um", "60=88um", "120=52um", "180=-43um", "240=-93um", "300=-58um"]
        for what, name, options in (
                ("is it enough", "sampling-next", {"lot": "500", "heard": "20"}), ("centre", "centre", {"readings": readings}),
                ("mix", "mix", {"recipe": recipe, "mass": "60 kg"}), ("plate", "plate", {"target": "250 um"}),
                ("plate with its spread", "plate", {"target": "250 um", "spread": True}), ("press cycle", "cycle", {}),
                ("press cycle, map of 9 × 9", "cycle", {"window": "steam,water_time", "points": "9"}),
                ("plan of four orders", "schedule", {"shop": shop}), ("promise of four orders", "promise", {"shop": shop})):
            spent = []
            for _ in range(times):
                begun = time.perf_counter()
                client.post(f"/api/calculations/{name}", {"options": options})
                spent.append(1e3 * (time.perf_counter() - begun))
            self.tell(f"calculation: {what}", numpy.array(spent), 30_000.0)

    def works(self, verb, *words):
        import json
        return json.loads(run([self.goodside, "works", verb, *words, "--in", self.folder, "--by", "bench", "--json", "-"]).stdout)

    def long_side(self, client, server):
        """A 20-minute side: its tickets, and its capture on disk."""
        (self.folder / "cuts").mkdir(exist_ok=True)
        soundfile.write(self.folder / "cuts" / "long.wav", long_tune(), RATE_HZ, subtype="PCM_24")
        add = lambda *words: self.works("add", *words)["code"]  # noqa: E731
        title = add("title", "name=A long side")
        side = add("side", f"title={title}", "letter=A", "format=12in-33")
        add("cut", f"side={side}", "reference=cuts/long.wav")
        order = add("order", f"title={title}", "quantity=100")
        self.works("approve", order, "waived", "--words", "bench")
        stamper = add("part", "kind=stamper", f"side={side}", "origin=bought", "supplier=x")
        press, batch = add("press", "name=Long"), add("batch", "material=vinyl")
        self.works("mount", press, "--a", stamper, "--counter", 0, "--reason", "new")
        pressed = add("run", f"order={order}", f"press={press}")
        self.works("press", pressed, 50, "--batch", batch, "--counter", 50)
        tickets = [self.works("ticket", pressed, n, "--reason", "bench")["ticket"] for n in (10, 20, 30)]
        faults = [word for s in range(60, 1150, 40) for word in ("--fault", f"tick@{s}.3s,peak=-8")]
        capture = self.folder / "long_capture.wav"
        run([self.goodside, "play", self.folder / "cuts" / "long.wav", "--out", capture, "--format", "12in-33", "--rate", "48kHz",
             "--offset", "0.1mm", *faults])
        size = capture.stat().st_size
        begun = time.perf_counter()
        job = send(client, capture, tickets[0], piece=16 << 20)
        sent_s = time.perf_counter() - begun
        memory = dict(rss_MB(server.process.pid))
        print(f"sent {size / 1e6:.0f} MB in {sent_s:.1f} s ({size / 1e6 / sent_s:.0f} MB/s, hashed, checked, on disk); "
              f"server's memory {memory['VmRSS']:.0f} MB, at most {memory['VmHWM']:.0f} MB")
        begun = time.perf_counter()
        while (now := client.get(f"/api/jobs/{job}"))["state"] in ("queued", "running"):
            time.sleep(0.5)
        assert now["state"] == "done", now
        print(f"heard in {time.perf_counter() - begun:.0f} s")
        report = now["report"]
        for what in ("portrait", "report"):
            spent, size = timed(client, f"/api/plays/{report}/{what}")
            self.tell(f"20-minute side: {what}", spent, 100.0, f"  {size / 1e3:.0f} kB")
        spent = numpy.array([timed(client, f"/api/plays/{report}/audio?sound={sound}&from_s={at}&to_s={at + 2}", 1)[0][0]
                             for at in range(100, 1100, 50) for sound in ("capture", "cut", "difference")])
        self.tell("a window's first sound, made anew", spent[::3], 300.0)
        self.tell("its cut and difference", numpy.concatenate([spent[1::3], spent[2::3]]), 100.0)
        return capture, tickets, report, side

    def viewers(self, server, cookie, paths, count, seconds, busy):
        """Each polls the state once a second and looks at something else every two."""
        spent, failed, end = [], [], time.monotonic() + seconds

        def view(number):
            client, rng = Client(server.port), random.Random(number)
            client.cookie = cookie
            time.sleep(rng.uniform(0, 1))
            turn, tag = 0, None
            while time.monotonic() < end:
                begun = time.perf_counter()
                if turn % 2:
                    status, _, _ = client.ask("GET", rng.choice(paths))
                else:
                    status, headers, _ = client.ask("GET", "/api/state", headers={"If-None-Match": tag} if tag else None)
                    tag = headers["ETag"]
                spent.append(1e3 * (time.perf_counter() - begun))
                if status not in (200, 304):
                    failed.append(status)
                turn += 1
                time.sleep(rng.uniform(0.4, 0.6))

        threads = [threading.Thread(target=view, args=(number,)) for number in range(count)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert not failed, failed[:5]
        self.tell(f"{count} viewers, {busy}", numpy.array(spent), 250.0, f"  {len(spent) / seconds:.0f} requests/s")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--build", type=pathlib.Path, default=HERE.parents[1] / "build" / "release")
    parser.add_argument("--viewers", type=int, default=50)
    parser.add_argument("--record", type=pathlib.Path, help="a works folder that serve_record filled")
    parser.add_argument("--views-only", action="store_true", help="no 20-minute side, no viewers")
    parser.add_argument("--seconds", type=float, default=30.0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as held:
        folder = asked.record or pathlib.Path(held) / "works"
        bench = Bench(asked.build.resolve(), folder)
        if not asked.record:
            run([bench.goodside, "works", "init", folder, "--name", "Bench"])
            begun = time.monotonic()
            made = run([asked.build / "bin" / "serve_record", folder, asked.scale]).stdout.splitlines()[-1]
            print(f"{made}, entered in {time.monotonic() - begun:.0f} s")
        shutil.rmtree(folder / "serve", ignore_errors=True)
        keep_not_heard(folder)
        print(f"record.db {(folder / 'record.db').stat().st_size / 1e6:.0f} MB; load {os.getloadavg()[0]:.1f}", flush=True)
        for what in ("first start", "next start"):
            begun = time.monotonic()
            server = Server(bench.goodside, folder, expect_account=what == "next start")
            print(f"{what}: {time.monotonic() - begun:.1f} s", flush=True)
            if what == "first start":
                Client(server.port).post("/api/first", {"token": server.token, "name": "bench", "password": PASSWORD})
                server.end()
        client = server.client("bench", PASSWORD)
        bench.views(client)
        bench.calculations(client)
        print("memory after the views: " + ", ".join(f"{k} {v:.0f} MB" for k, v in rss_MB(server.process.pid)))
        if asked.views_only:
            server.end()
            return bench.verdict()
        capture, tickets, report, side = bench.long_side(client, server)
        paths = ["/api/line", f"/api/plays/{report}", f"/api/plays/{report}/portrait", f"/api/sides/{side}", "/api/sides?limit=50",
                 f"/api/sides/{side}/sheet", "/api/search?q=title+17", "/api/jobs", "/api/tickets",
                 f"/api/plays/{report}/audio?sound=capture&from_s=100&to_s=102"]
        bench.viewers(server, client.cookie, paths, asked.viewers, asked.seconds, "nothing analysed")
        for ticket in tickets[1:]:
            send(client, capture, ticket, piece=16 << 20)
        bench.viewers(server, client.cookie, paths, asked.viewers, asked.seconds, "two captures being analysed")
        running = [job for job in client.get("/api/jobs")["jobs"] if job["state"] == "running"]
        print(f"still being heard at the end: {len(running)}; load {os.getloadavg()[0]:.1f}")
        server.end()
        return bench.verdict()


if __name__ == "__main__":
    sys.exit(main())
