"""An audio interface for tests: ALSA's own file plugin, which reads what a pipe brings, and what is played into it."""

import fcntl
import os
import struct
import termios
import threading
import time
from pathlib import Path

import numpy

RATE_HZ = 48000
PIECE = RATE_HZ // 20  # what the server reads at once, so that a pipe never gives it half
FLOOR = 2.0 ** 31 * 10.0 ** (-84.0 / 20.0)


class SoundBench:
    """A pipe that always brings the bench's own noise, and between it what is played."""

    def __init__(self, folder, name="bench_a", speed=8.0):
        self.name, self.speed = name, speed
        pipe = Path(folder) / f"{name}.pipe"
        os.mkfifo(pipe)
        self.pipe = os.open(pipe, os.O_RDWR)
        fcntl.fcntl(self.pipe, fcntl.F_SETPIPE_SZ, 1 << 20)
        self.config = Path(folder) / f"{name}.conf"
        self.config.write_text(f'pcm.{name} {{ type file slave.pcm {{ type null }} file "/dev/null" infile "{pipe}" format raw '
                               f'hint {{ show on description "Bench A, phono input" }} }}\n', encoding="utf-8")
        self.environment = {"ALSA_CONFIG_PATH": str(self.config)}
        self.random = numpy.random.default_rng(3)
        self.waiting, self.left, self.hushing = [], threading.Event(), threading.Event()
        self.ending = False
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def play(self, samples):
        """Samples in [-1, 1], two channels; they come as soon as possible."""
        whole = numpy.round(samples * 2.0 ** 23).astype(numpy.int64) << 8
        short = -len(whole) % PIECE
        self.left.clear()
        self.waiting.extend(numpy.split(numpy.concatenate([whole, numpy.zeros((short, 2), numpy.int64)]),
                                        (len(whole) + short) // PIECE))

    def hush(self):
        """Drops what was to be played and what nobody has read of it."""
        self.waiting.clear()
        self.hushing.set()
        while self.hushing.is_set():
            time.sleep(0.01)

    def held(self):
        return struct.unpack("i", fcntl.ioctl(self.pipe, termios.FIONREAD, b"\0" * 4))[0]

    def run(self):
        while not self.ending:
            if self.hushing.is_set():
                while self.held() > 0:
                    os.read(self.pipe, self.held())
                self.hushing.clear()
            if self.held() > 10 * PIECE * 8:  # nobody listens
                time.sleep(0.01)
                continue
            noise = self.random.normal(0.0, FLOOR, (PIECE, 2))
            noise = numpy.round(noise / 256).astype(numpy.int64) * 256
            if self.waiting:
                # The bench's noise gives way, so that what is recorded can be held against what was played.
                piece = self.waiting.pop(0)
                if not self.waiting:
                    self.left.set()
            else:
                piece = noise
            os.write(self.pipe, numpy.clip(piece, -2 ** 31, 2 ** 31 - 1).astype("<i4").tobytes())
            time.sleep(PIECE / RATE_HZ / self.speed)

    def end(self):
        self.ending = True
        self.thread.join()
        os.close(self.pipe)
