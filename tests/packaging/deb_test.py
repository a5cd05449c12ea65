"""The Debian package: what is in it, that its declared dependencies hold every library, and that it runs unpacked.

    deb_test.py BUILD_FOLDER [unittest options]     in a release build whose program stands
"""

import re
import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

import soundfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from programme import RATE_HZ, notes  # noqa: E402

BUILD = Path(sys.argv.pop(1)).resolve()


def run(*words, **options):
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False, **options)


def said(*words):
    done = run(*words)
    if done.returncode != 0:
        raise AssertionError(f"{words}: {done.stderr}")
    return done.stdout


def with_all_they_need(packages):
    """The installed packages that these draw in, themselves included."""
    reached, waiting = set(), list(packages)
    while waiting:
        package = waiting.pop()
        if package in reached:
            continue
        shown = run("dpkg-query", "--show", "--showformat=${Pre-Depends}, ${Depends}\n", package)
        if shown.returncode != 0:
            continue
        reached.add(package)
        waiting += re.findall(r"[a-z0-9][a-z0-9+.-]+", re.sub(r"\([^)]*\)", "", shown.stdout))
    return reached


def owner(library):
    """The package that holds a library; one of the two names it has where /lib is a link to /usr/lib."""
    real = Path(library).resolve()
    for name in (library, str(real), str(real).removeprefix("/usr"), "/usr" + str(real)):
        found = run("dpkg-query", "--search", name)
        if found.returncode == 0:
            return found.stdout.split(":")[0]
    return f"nobody's {library}"


class Deb(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        top = Path(cls.folder.name)
        said("cpack", "-G", "DEB", "--config", BUILD / "CPackConfig.cmake", "-B", top / "packed")
        (cls.deb,) = (top / "packed").glob("*.deb")
        cls.root = top / "root"
        said("dpkg-deb", "--extract", cls.deb, cls.root)
        cls.goodside = cls.root / "usr/bin/goodside"

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def field(self, name):
        return said("dpkg-deb", "--field", self.deb, name).strip()

    def test_says_what_it_is(self):
        self.assertEqual(self.field("Package"), "goodside")
        self.assertEqual(said(self.goodside, "--version"), f"goodside {self.field('Version')}\n")
        self.assertTrue(self.deb.name.startswith(f"goodside_{self.field('Version')}_"), self.deb.name)
        self.assertIn("pressed record", self.field("Description"))

    def test_holds_program_page_and_licence_and_no_more(self):
        files = sorted(str(path.relative_to(self.root)) for path in self.root.rglob("*") if path.is_file())
        share = "usr/share/goodside/web/"
        page = [name for name in files if name.startswith(share)]
        self.assertIn(share + "index.html", page)
        self.assertEqual({name.rsplit(".", 1)[1] for name in page}, {"html", "js", "css", "svg"})
        files = [name for name in files if name not in page]
        doc = "usr/share/doc/goodside/"
        self.assertEqual(
            files,
            ["usr/bin/goodside", doc + "changelog.gz", doc + "copyright", "usr/share/man/man1/goodside.1.gz"],
        )
        self.assertIn("GPL-3.0-or-later", (self.root / doc / "copyright").read_text(encoding="utf-8"))
        owners = {line.split()[1] for line in said("dpkg-deb", "--contents", self.deb).splitlines()}
        self.assertEqual(owners, {"root/root"})

    def test_the_manual_page_knows_every_command(self):
        page = said("gzip", "-dc", self.root / "usr/share/man/man1/goodside.1.gz")
        commands = re.findall(r"^  goodside ([a-z-]+) ", said(self.goodside, "--help"), flags=re.MULTILINE)
        self.assertIn("listen", commands)
        for command in commands:
            self.assertIn("\n.B " + command.replace("-", "\\-") + "\n", page)

    def test_every_library_comes_from_a_declared_dependency(self):
        depends = re.findall(r"[a-z0-9][a-z0-9+.-]+", re.sub(r"\([^)]*\)", "", self.field("Depends")))
        self.assertIn("fonts-dejavu-core", depends)
        libraries = re.findall(r"(?:=> )?(/\S+) \(0x", said("ldd", self.goodside))
        self.assertGreater(len(libraries), 10)
        undeclared = {owner(library) for library in libraries} - with_all_they_need(depends)
        self.assertEqual(undeclared, set())

    def test_plays_and_hears_a_side_unpacked(self):
        with tempfile.TemporaryDirectory() as folder:
            bare = {"PATH": "/nowhere", "HOME": folder}
            soundfile.write(Path(folder) / "cut.wav", notes(20), RATE_HZ)
            played = run(self.goodside, "play", "cut.wav", "--out", "side.wav", "--format", "7in-45",
                         "--pitch", "0.2mm", "--fault", "pop@9s,peak=-6", cwd=folder, env=bare)
            self.assertEqual((played.returncode, played.stderr), (0, ""))
            heard = run(self.goodside, "listen", "side.wav", "--reference", "cut.wav", "--format", "7in-45",
                        "--pitch", "0.2mm", "--picture", "side.png", cwd=folder, env=bare)
            print(heard.stdout)
            self.assertEqual((heard.returncode, heard.stderr), (0, ""))
            self.assertIn("1 plain and 0 slight faults", heard.stdout)
            self.assertRegex(heard.stdout, r"0:09\.00\d .* pop ")
            self.assertTrue((Path(folder) / "side.png").read_bytes().startswith(b"\x89PNG"))


if __name__ == "__main__":
    unittest.main()
