"""A small works of its own, made through the built command, and a server over it with a client that keeps its cookie."""

import atexit
import http.client
import json
import os
import resource
import signal
import subprocess
import time
from pathlib import Path

import numpy
import soundfile

RATE_HZ = 48000
SIDE_S = 12.0
PLAYED = ["--format", "7in-45"]


def run(words, status=(0, 1), folder=None):
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, cwd=folder, check=False)
    if done.returncode not in status:
        raise AssertionError(f"{' '.join(map(str, words))}: exit {done.returncode}\n{done.stderr}")
    return done


def tune():
    """Notes that run into each other without a break, so that what stands out of a play is the disc's own doing. They never
    come again in the same order: some seconds of a play lie at one place only."""
    frame = numpy.arange(int(SIDE_S * RATE_HZ))
    note = numpy.random.default_rng(7).permuted(numpy.tile(numpy.arange(24), (int(SIDE_S * 4) // 24 + 1, 1)), axis=1).ravel()
    note_Hz = 220.0 * 2.0 ** (note[frame * 4 // RATE_HZ] / 12.0)
    slide = numpy.convolve(note_Hz, numpy.ones(2400) / 2400.0, mode="same")
    left, right = (0.25 * numpy.sin(2.0 * numpy.pi * numpy.cumsum(slide * by) / RATE_HZ) for by in (1.0, 1.5))
    return numpy.stack([left + 0.3 * right, right + 0.3 * left], axis=1)


class Works:
    """One title with a cut of a few seconds, two stampers, a run of 50 discs, five tickets among the first 40."""

    def __init__(self, goodside, folder):
        self.goodside, self.folder = Path(goodside), Path(folder)
        run([goodside, "works", "init", folder, "--name", "Our Pressings", "--zone", "Europe/London"])
        (self.folder / "cuts").mkdir()
        soundfile.write(self.folder / "cuts" / "a.wav", tune(), RATE_HZ)
        self.title = self.add("title", 'name=Fallen Leaves', "artist=The Hedgerow", "catalogue=HR 17")
        self.side = self.add("side", f"title={self.title}", "letter=A", "format=7in-45")
        self.add("side", f"title={self.title}", "letter=B", "format=7in-45")
        self.add("cut", f"side={self.side}", "reference=cuts/a.wav")
        self.order = self.add("order", f"title={self.title}", "quantity=30", "due=2026-12-18", "customer=Hill & Daughters")
        self.stampers = [self.add("part", "kind=stamper", f"side={self.side}", "origin=bought", "supplier=Metal Ltd")
                         for _ in range(2)]
        self.batch = self.add("batch", "material=vinyl", "colour=black", "mass=80 kg")
        self.press = self.add("press", "name=Press 1")
        self.works("approve", self.order, "waived", "--words", "a repress")
        self.run = None
        for number, stamper in enumerate(self.stampers):
            mounting = self.works("mount", self.press, "--a", stamper, "--counter", 100 * number, "--reason", "new")["mounting"]
            if self.run is None:
                self.run = self.add("run", f"order={self.order}", f"press={self.press}")
            self.works("press", self.run, 20, "--batch", self.batch, "--counter", 100 * number + 20)
            self.works("unmount", mounting, "--counter", 100 * number + 20, "--reason", "worn")
        self.tickets = [self.works("ticket", self.run, n, "--reason", "sample", "--name", f"disc{n}")["ticket"]
                        for n in (5, 10, 15, 25, 35)]
        self.works("mount", self.press, "--a", self.stampers[1], "--counter", 200, "--reason", "cleaned")
        self.works("press", self.run, 10, "--batch", self.batch, "--counter", 210)

    def works(self, verb, *words):
        done = run([self.goodside, "works", verb, *words, "--in", self.folder, "--by", "Ida", "--json", "-"])
        return json.loads(done.stdout)

    def add(self, *words):
        return self.works("add", *words)["code"]

    def capture(self, name, seed=1, faults=("tick@5.0s,peak=-8",)):
        """A play of the cut, as a file to be sent."""
        path = self.folder / name
        words = [word for fault in faults for word in ("--fault", fault)]
        run([self.goodside, "play", self.folder / "cuts" / "a.wav", "--out", path, *PLAYED, "--rate", "48kHz", "--seed",
             seed, "--lead-in", "1s", "--run-out", "1s", *words])
        return path


class Client:
    """One browser: its cookie, its CSRF token, one connection."""

    def __init__(self, port, host="127.0.0.1"):
        self.port, self.host = port, host
        self.cookie = self.csrf = None
        self.connection, self.used = None, 0.0

    def ask(self, method, path, body=None, headers=None, raw=None):
        """(status, headers, body): JSON where the answer is."""
        sent = dict(headers or {})
        if self.cookie:
            sent.setdefault("Cookie", self.cookie)
        if self.csrf and method != "GET":
            sent.setdefault("X-CSRF-Token", self.csrf)
        if body is not None:
            raw = json.dumps(body)
            sent.setdefault("Content-Type", "application/json")
        now = time.monotonic()
        if self.connection is not None and now - self.used > 1.0:  # the server ends idle ones after 3 s
            self.connection.close()
            self.connection = None
        if self.connection is None:
            self.connection = http.client.HTTPConnection(self.host, self.port, timeout=60)
        self.connection.request(method, path, raw, sent)
        answer = self.connection.getresponse()
        data = answer.read()
        self.used = time.monotonic()
        for name, value in answer.getheaders():
            if name == "Set-Cookie":
                self.cookie = value.split(";")[0]
        if answer.getheader("Content-Type", "").startswith("application/json") and data:
            data = json.loads(data)
            if isinstance(data, dict) and data.get("csrf"):
                self.csrf = data["csrf"]
        return answer.status, answer.headers, data

    def get(self, path, **more):
        status, _, body = self.ask("GET", path, **more)
        if status != 200:
            raise AssertionError(f"GET {path}: {status} {body}")
        return body

    def post(self, path, body, expected=(200, 201)):
        status, _, answer = self.ask("POST", path, body)
        if status not in expected:
            raise AssertionError(f"POST {path}: {status} {answer}")
        return answer


class Server:
    def __init__(self, goodside, folder, *more, expect_account=False, environment=None, largest_file=None):
        environment = {**{key: value for key, value in os.environ.items() if key != "GOODSIDE_DIR"}, **(environment or {})}
        limit = None
        if largest_file is not None:
            def limit():
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))
        self.process = subprocess.Popen([str(goodside), "serve", "--works", str(folder), "--port", "0", *map(str, more)],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
                                        preexec_fn=limit, restore_signals=limit is None)
        atexit.register(self.process.kill)  # of a test that failed before it ended the server
        while True:
            line = self.process.stdout.readline()
            if not line:
                raise AssertionError("the server did not start: " + self.process.stderr.read())
            if " is served at " in line:
                break
        self.port = int(line.rstrip().rstrip("/").rsplit(":", 1)[1])
        self.token = None
        if not expect_account:
            self.token = self.process.stdout.readline().rsplit("#first=", 1)[1].strip()

    def client(self, name=None, password="a long password"):
        client = Client(self.port)
        if name:
            client.post("/api/sign-in", {"name": name, "password": password})
        return client

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.close()

    def end(self):
        """Asks it to end; its exit status."""
        self.process.send_signal(signal.SIGTERM)
        status = self.process.wait(timeout=60)
        self.close()
        return status

    def close(self):
        self.process.stdout.close()
        self.process.stderr.close()


def send(client, path, ticket, letter="A", piece=1 << 20, **more):
    """Sends a capture in pieces; the job that hears it."""
    data = Path(path).read_bytes()
    upload = client.post("/api/uploads", {"name": Path(path).name, "bytes": len(data), "ticket": ticket, "letter": letter, **more})
    for offset in range(0, len(data), piece):
        status, _, upload = client.ask("PATCH", f"/api/uploads/{upload['id']}", raw=data[offset:offset + piece],
                                       headers={"Upload-Offset": str(offset)})
        if status != 200:
            raise AssertionError(f"PATCH: {status} {upload}")
    return upload["job"]


def wav_samples(data):
    """A WAV's samples, 16 bit: frames by channels."""
    import io
    samples, rate = soundfile.read(io.BytesIO(data), dtype="int16")
    return numpy.atleast_2d(samples), rate
