"""Every bad input through the built command: one line on standard error that names what and where and ends in the
mend, exit status 2, nothing on standard output, and nothing written or changed in the folder.

    bad_input_test.py GOODSIDE [unittest options]
"""

import hashlib
import math
import os
import resource
import signal
import struct
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

import numpy
import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from programme import RATE_HZ, notes as tune  # noqa: E402

GOODSIDE = Path(sys.argv.pop(1)).resolve()
NOBODY = 65534
SIDE = ["--format", "7in-45", "--pitch", "0.2mm"]


def wav(samples, *, rate_Hz=RATE_HZ, channels=1, floats=False, claimed=None, riff=None):
    """A plain WAV file; `claimed` and `riff` are what its size fields say instead of the truth."""
    width = 4 if floats else 2
    data = numpy.asarray(samples).astype("<f4" if floats else "<i2").tobytes()
    head = struct.pack("<HHIIHH", 3 if floats else 1, channels, rate_Hz, rate_Hz * channels * width, channels * width,
                       8 * width)
    return (b"RIFF" + struct.pack("<I", riff or 36 + len(data)) + b"WAVEfmt " + struct.pack("<I", 16) + head + b"data"
            + struct.pack("<I", len(data) if claimed is None else claimed) + data)


def rf64(samples, claimed):
    data = numpy.asarray(samples).astype("<i2").tobytes()
    head = struct.pack("<HHIIHH", 1, 1, RATE_HZ, RATE_HZ * 2, 2, 16)
    return (b"RF64\xff\xff\xff\xffWAVEds64" + struct.pack("<IQQQI", 28, claimed + 72, claimed, claimed // 2, 0)
            + b"fmt " + struct.pack("<I", 16) + head + b"data\xff\xff\xff\xff" + data)


class Bad(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.folder = Path(cls.held.name)
        cls.folder.chmod(0o777)
        notes = 32767 * tune(8)
        files = {
            "cut.wav": wav(notes),
            "empty.wav": b"",
            "broken.wav": wav(notes)[:200000],
            "headless.wav": wav(notes)[:20],
            "no_samples.wav": wav([]),
            "silent.wav": wav(notes * 0),
            "clipped.wav": wav(numpy.clip(notes * 6, -32768, 32767)),
            "ruined.wav": wav(numpy.clip(notes * 40, -32768, 32767)),
            "nan.wav": wav(numpy.where(numpy.arange(notes.size) % 9 == 5, math.nan, notes / 32768), floats=True),
            "infinite.wav": wav(numpy.where(numpy.arange(notes.size) == 99999, math.inf, notes / 32768), floats=True),
            "huge.wav": wav(notes, floats=True),
            "slow_rate.wav": wav(notes, rate_Hz=4000),
            "fast_rate.wav": wav(notes, rate_Hz=1000000),
            "no_rate.wav": wav(notes, rate_Hz=0),
            "six_channels.wav": wav(notes, channels=6),
            "text.wav": b"This is a letter, not a recording.\n" * 40,
            "claims_4_GiB.wav": wav(notes, claimed=0xFFFFFFF0, riff=0xFFFFFFFE),
            "open_ended.wav": wav(notes, claimed=0xFFFFFFFF, riff=0xFFFFFFFF),
            "claims_a_terabyte.rf64": rf64(notes, 1 << 40),
            "locked.wav": wav(notes),
            "blip.wav": wav(notes[:1000]),
            "bad_limits.toml": b"[limits.default\neccentricity_m = 1\n",
            "nan_limits.toml": b"[limits.default]\neccentricity_m = nan\n",
            "wrong_limits.toml": b"[limits.default]\neccentricty_m = 1e-4\n",
            "binary.toml": bytes(range(256)) * 8,
            "bad_pitch.csv": b"programme_s,pitch_um\n0,120\nsoon,130\n",
            "backward_pitch.csv": b"programme_s,pitch_um\n9,120\n3,130\n",
        }
        for name, content in files.items():
            (cls.folder / name).write_bytes(content)
        soundfile.write(cls.folder / "whole.flac", numpy.random.default_rng(1).normal(0, 0.1, RATE_HZ * 8), RATE_HZ)
        flac = (cls.folder / "whole.flac").read_bytes()
        (cls.folder / "broken.flac").write_bytes(flac[: len(flac) // 2])
        (cls.folder / "locked.wav").chmod(0)
        with open(cls.folder / "wrapped.wav", "wb") as file:
            file.write(wav(notes))
            file.truncate(5 << 30)  # sparse: it takes no room
        os.mkfifo(cls.folder / "pipe.wav")
        for name, mode in (("folder.wav", 0o755), ("closed", 0o555), ("works", 0o755), ("bare", 0o755)):
            (cls.folder / name).mkdir()
            (cls.folder / name).chmod(mode)
        (cls.folder / "works/goodside.toml").write_text(
            '[bench.broken]\narm_length = "230"\n[bench.bent]\narm_length = "200 mm"\narm_mount = "230 mm"\n'
            '[bench.nan]\nclock_error_ppm = nan\n', encoding="utf-8")

    @classmethod
    def tearDownClass(cls):
        cls.held.cleanup()

    def run_it(self, *words, **options):
        # Root may read and write anything: what anybody else may not do is tried as nobody.
        somebody = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}
        environment = {name: value for name, value in os.environ.items() if name != "GOODSIDE_DIR"}
        usual = {"stdout": subprocess.PIPE, "stdin": subprocess.DEVNULL, "timeout": 120}
        return subprocess.run([str(GOODSIDE), *words], cwd=self.folder, stderr=subprocess.PIPE, check=False,
                              env=environment, **somebody, **{**usual, **options})

    def state(self):
        def content(path):
            if not path.is_file() or path.stat().st_size > 1 << 30 or path.name == "locked.wav":
                return ""
            return hashlib.sha256(path.read_bytes()).hexdigest()

        return {str(path): content(path) for path in sorted(self.folder.rglob("*"))}

    def refused(self, *words, says, **options):
        before = self.state()
        done = self.run_it(*words, **options)
        line = done.stderr.decode("utf-8", "replace")
        with self.subTest(words=" ".join(words)):
            self.assertEqual(done.returncode, 2, line)
            self.assertEqual(done.stdout or b"", b"")
            self.assertRegex(line, r"\Agoodside[a-z ]*: [^\n]*\n\Z")
            self.assertIn(says, line)
            self.assertRegex(line, r"[;?:] ?\S", "the mend")
            self.assertNotRegex(line, r"::|Internal error|At Most", "no words of a library")
            self.assertLess(len(line), 500)
            self.assertEqual(self.state(), before)

    RECORDINGS = {
        "empty.wav": "empty (0 bytes)",
        "broken.wav": "broken off",
        "headless.wav": "headless.wav: ",
        "no_samples.wav": "a header without samples",
        "broken.flac": "broken.flac: ",
        "silent.wav": "silent",
        "nan.wav": "not a number (NaN)",
        "infinite.wav": "infinite",
        "huge.wav": "times full scale",
        "slow_rate.wav": "give 8 to 192 kHz",
        "fast_rate.wav": "give 8 to 192 kHz",
        "no_rate.wav": "make no sense",
        "six_channels.wav": "6 channels",
        "text.wav": "text.wav: ",
        "folder.wav": "this is a folder",
        "missing.wav": "there is no such file",
        "pipe.wav": "a pipe or a device",
        "/dev/full": "a pipe or a device",
        "locked.wav": "permission",
        "claims_4_GiB.wav": "the header promises",
        "claims_a_terabyte.rf64": "the header promises",
        "open_ended.wav": "never wrote the length",
        "wrapped.wav": "has wrapped",
    }

    def test_recordings_that_cannot_be_heard(self):
        for name, says in self.RECORDINGS.items():
            outputs = ["--json", "out.json", "--picture", "out.png", "--report", "out.html", "--finder", "out.pdf"]
            self.refused("listen", name, *SIDE, *outputs, says=says)
            self.refused("listen", name, "--reference", "cut.wav", *SIDE, *outputs, says=says)
            self.refused("listen", "cut.wav", "--reference", name, *SIDE, *outputs, says=says)

    def test_programmes_that_cannot_be_played(self):
        for name, says in self.RECORDINGS.items():
            if name == "silent.wav":  # a silent groove is a programme like any other
                continue
            self.refused("play", name, "--out", "out.wav", "--truth", "out.json", *SIDE, says=says)

    def test_a_blip_is_too_short_to_hear(self):
        self.refused("listen", "blip.wav", *SIDE, says="shorter than")
        self.refused("listen", "blip.wav", "--reference", "cut.wav", *SIDE, says="blip.wav")

    def test_one_bad_capture_among_many_is_told_beside_the_others(self):
        done = self.run_it("listen", "text.wav", "nan.wav", "--reference", "cut.wav", *SIDE)
        self.assertEqual(done.returncode, 2)
        self.assertIn("2 cannot be used", done.stdout.decode())

    def test_clipping_is_heard_and_remarked(self):
        # Regression, 2026-11-26: where the cut was not found the remark that told why was left out.
        for name in ("clipped.wav", "ruined.wav"):
            done = self.run_it("listen", name, "--reference", "cut.wav", *SIDE)
            self.assertIn(done.returncode, (0, 1), done.stderr)
            self.assertRegex(done.stdout.decode(), "remark .*clipped")

    def test_absurd_options_of_listen(self):
        heard = ["listen", "cut.wav", "--reference", "cut.wav"]
        for option, values in {
            "--rpm": ("nan", "inf", "1e300", "-45", "0", "fast", "45 m", ""),
            "--outer-radius": ("nan mm", "inf mm", "1e300 m", "-146 mm", "0 mm", "146", "146 furlong", "mm", ""),
            "--inner-radius": ("nan", "-60 mm", "1e-300 mm", "90 mm", "60 parsec"),
            "--pitch": ("nan mm", "-0.2 mm", "0 mm", "1e300 lpi", "5 kg", "20 mm"),
            "--arm-length": ("nan mm", "-230 mm", "1e9 mm"),
            "--clock-ppm": ("nan", "inf", "1e300", "12 x"),
            "--jobs": ("nan", "0", "-3", "1e300", "2.5", "many"),
            "--mark": ("nan=60mm", "0:01=nan", "1:00", "=", "-3s=60mm", "0:01=1e300m"),
            "--format": ("13in-33", "", "nan"),
            "--equalise": ("loud", "nan/318/75", "1e300/1e300/1e300", "-1/318/75"),
            "--landmark": ("nan=notch", "1e300=notch", "133"),
            "--surface": ("wax", ""),
            "--show": ("hum",),
            "--view": ("lid",),
            "--paper": ("A5",),
        }.items():
            for value in values:
                side = [] if option == "--format" else SIDE[:2] if option == "--pitch" else SIDE
                self.refused(*heard, *side, f"{option}={value}", says=option)
        self.refused(*heard, *SIDE, "--pitch", "0.1mm", says="--pitch takes one value, given once")
        self.refused(*heard, says="--format")
        self.refused(*heard, *SIDE, "--referense", "x", says="--reference")
        self.refused("listen", says="--help")
        self.refused("lissen", says="listen")

    def test_peers_that_cannot_vote(self):
        heard = ["listen", "cut.wav", *SIDE]
        self.refused(*heard, "--peers", "text.wav", "whole.flac", says="text.wav")
        self.refused(*heard, "--peers", "missing.wav", says="missing.wav")
        self.refused(*heard, "--peers", "cut.wav", says="given twice")
        self.refused(*heard, "--reference", "whole.flac", "--save-reference", "kept.wav", says="--save-reference")
        self.refused(*heard, "--peers", "whole.flac", "--save-reference", "nowhere/kept.wav", says="make it first")

    def test_absurd_options_of_play_and_demo(self):
        played = ["play", "cut.wav", "--out", "out.wav", "--truth", "out.json"]
        for option, values in {
            "--rpm": ("nan", "-45", "1e300"),
            "--outer-radius": ("nan mm", "-80 mm", "1e300 m", "80 leagues"),
            "--inner-radius": ("-60 mm", "99 mm"),
            "--pitch": ("0 mm", "nan mm"),
            "--offset": ("nan mm", "-1 m", "1e300 m", "0.2"),
            "--offset-direction": ("nan", "1e300"),
            "--speed-error": ("nan %", "1e300 %", "0.3", "-100%"),
            "--wander": ("nan %", "-1 %", "50 %"),
            "--flutter": ("10Hz", "nan Hz=1%", "10Hz=nan", "1e300Hz=1%"),
            "--clock-ppm": ("nan", "1e300"),
            "--noise": ("nan", "inf dB", "1e300", "60"),
            "--crackle": ("nan", "-1", "1e300"),
            "--fault": ("tick", "tick@", "tick@nan", "tick@1e300s", "crack@1s", "tick@1s,peak=nan",
                        "scratch@60mm/88,turns=1e300", "tick@1s,turns=-1"),
            "--from": ("nan", "-1 s", "1e300 s", "1:00"),
            "--to": ("nan", "0 s"),
            "--lead-in": ("nan", "-3s", "1e300s", "1e8 s"),
            "--rate": ("nan", "0 Hz", "1 Hz", "1e300 Hz", "48000.5 Hz"),
            "--seed": ("nan", "-1", "1e300", "0.5"),
            "--stylus": ("nan um", "-1 um", "1 m"),
            "--warp": ("nan mm", "-1 mm", "1 m"),
        }.items():
            for value in values:
                side = SIDE[:2] if option == "--pitch" else SIDE
                self.refused(*played, *side, f"{option}={value}", says="")
        self.refused("play", "cut.wav", "--out", "out.mp3", *SIDE, says=".flac")
        self.refused("play", "cut.wav", "--out", "out.wav", says="--format")
        for jobs in ("nan", "0", "-1", "1e300", "two"):
            self.refused("demo", "--out", "tarnholt", "--jobs", jobs, says="--jobs")

    def test_broken_limits_benches_and_profiles(self):
        heard = ["listen", "cut.wav", "--reference", "cut.wav", *SIDE, "--json", "out.json"]
        for name, says in {
            "bad_limits.toml": "bad_limits.toml:1",
            "nan_limits.toml": "nan_limits.toml:2",
            "wrong_limits.toml": "eccentricty_m",
            "binary.toml": "binary.toml:1",
            "empty.wav.toml": "there is no such file",
            "folder.wav": "this is a folder",
            "wrapped.wav": "larger than",
            "locked.wav": "permission",
        }.items():
            self.refused(*heard, "--limits", name, says=says)
        for name, says in {"broken": "arm_length", "bent": "arm", "nan": "clock_error_ppm", "none": "none"}.items():
            self.refused(*heard, "--in", "works", "--bench", name, says=says)
        self.refused(*heard, "--in", "bare", "--bench", "one", says="goodside.toml")
        self.refused(*heard, "--in", "nowhere", "--bench", "one", says="nowhere")
        for name, says in {
            "bad_pitch.csv": "bad_pitch.csv:3",
            "backward_pitch.csv": "backward_pitch.csv:3",
            "text.wav": "text.wav:1",
            "missing.csv": "there is no such file",
        }.items():
            self.refused(*heard, "--pitch-profile", name, says=says)

    def test_outputs_that_cannot_be(self):
        heard = ["listen", "cut.wav", "--reference", "whole.flac", *SIDE]
        for option, ending in (("--json", "json"), ("--picture", "png"), ("--report", "html"), ("--finder", "pdf")):
            self.refused(*heard, option, f"nowhere/out.{ending}", says="make it first")
            self.refused(*heard, option, f"closed/out.{ending}", says="closed/out")
        for option, ending in (("--picture", "bmp"), ("--report", "txt"), ("--finder", "png")):
            self.refused(*heard, option, f"out.{ending}", says=f"out.{ending}")
        self.refused(*heard, "--json", "cut.wav", says="over the recording")
        self.refused(*heard, "--json", "whole.flac", says="over the recording")
        self.refused(*heard, "--json", "./works/../cut.wav", says="over the recording")
        self.refused(*heard, "--json", "/dev/full", says="a pipe or a device")
        played = ["play", "cut.wav", *SIDE]
        self.refused(*played, "--out", "cut.wav", says="over the programme")
        self.refused(*played, "--out", "nowhere/out.wav", says="nowhere")
        self.refused(*played, "--out", "closed/out.wav", says="closed/out.wav")
        self.refused(*played, "--out", "folder.wav", says="folder")
        self.refused(*played, "--out", "same.wav", "--truth", "same.wav", says="two files")
        self.refused(*played, "--out", "out.wav", "--truth", "closed/out.json", says="closed/out.json")
        self.refused(*played, "--out", "out.wav", "--truth", "cut.wav", says="over the programme")
        self.refused("demo", "--out", "cut.wav", says="cut.wav")
        self.refused("demo", "--out", "closed/tarnholt", says="closed/tarnholt")

    def full_disk(self, limit_bytes):
        """No file may grow beyond this: as a full disk, without one."""
        def limit():
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, limit_bytes))
        return limit

    def test_a_full_disk(self):
        heard = ["listen", "cut.wav", "--reference", "cut.wav", *SIDE, "--jobs", "1"]
        # The report alone would fit, the page would not: neither is left.
        self.refused(*heard, "--json", "out.json", "--report", "out.html", says="cannot be written",
                     preexec_fn=self.full_disk(40000))
        self.refused("play", "cut.wav", "--out", "out.wav", "--truth", "out.json", *SIDE, says="out.wav",
                     preexec_fn=self.full_disk(100000))
        with open("/dev/full", "wb") as full:
            self.refused(*heard, says="standard output", stdout=full)
            self.refused("--version", says="standard output", stdout=full)

    def test_closed_standard_streams(self):
        heard = ["listen", "cut.wav", "--reference", "cut.wav", *SIDE, "--jobs", "1"]
        done = self.run_it(*heard, stdin=None, preexec_fn=lambda: os.close(0))
        self.assertIn(done.returncode, (0, 1), done.stderr)
        # Date: 2026-11-26. Cause: with standard output closed, the next file opened took its number.
        self.refused(*heard, says="standard output", stdout=None, preexec_fn=lambda: os.close(1))


if __name__ == "__main__":
    unittest.main()
