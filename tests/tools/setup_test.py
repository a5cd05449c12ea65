"""tools/setup, with the package tools of the machine replaced by ones that only say what they were asked."""

import os
import subprocess
import tempfile
import unittest
from pathlib import Path

TOOL = Path(__file__).resolve().parents[2] / "tools" / "setup"

DPKG_QUERY = """#!/bin/sh
for last; do :; done
case " $INSTALLED " in *" $last "*) echo installed ;; *) exit 1 ;; esac
"""
APT_GET = """#!/bin/sh
echo "$@" >>"$ASKED"
case "$1" in
  update) touch "$ASKED.fresh" ;;
  install) [ "$APT" = works ] || { [ "$APT" = stale ] && [ -e "$ASKED.fresh" ]; } || { echo "E: cannot find it"; exit 100; } ;;
esac
"""


class Setup(unittest.TestCase):
    def run_setup(self, *sets, installed="", apt="works", user="0", more=()):
        with tempfile.TemporaryDirectory() as folder:
            programs = {name: "#!/bin/sh\n" for name in more}
            programs |= {"dpkg-query": DPKG_QUERY, "apt-get": APT_GET, "id": f"#!/bin/sh\necho {user}\n"}
            if user != "0":
                programs["sudo"] = '#!/bin/sh\necho sudo >>"$ASKED"\nexec "$@"\n'
            for name, text in programs.items():
                path = Path(folder) / name
                path.write_text(text, encoding="utf-8")
                path.chmod(0o755)
            asked = Path(folder) / "asked"
            asked.touch()
            environment = {
                "PATH": folder + os.pathsep + os.environ["PATH"],
                "INSTALLED": installed,
                "ASKED": str(asked),
                "APT": apt,
            }
            done = subprocess.run([TOOL, *sets], capture_output=True, text=True, env=environment, check=False)
            return done, asked.read_text(encoding="utf-8").splitlines()

    def everything(self, *sets):
        listed = subprocess.run([TOOL, "--list", *sets], capture_output=True, text=True, check=True).stdout
        return listed.split()

    def test_silent_when_all_is_there(self):
        done, asked = self.run_setup("build", "test", installed=" ".join(self.everything("build", "test")))
        self.assertEqual((done.returncode, done.stdout, done.stderr, asked), (0, "", "", []))

    def test_installs_only_what_is_missing(self):
        there = [package for package in self.everything("build") if package not in ("ninja-build", "libsndfile1-dev")]
        done, asked = self.run_setup("build", installed=" ".join(there))
        self.assertEqual(done.returncode, 0)
        self.assertEqual(asked, ["install --yes --quiet --no-install-recommends ninja-build libsndfile1-dev"])

    def test_refreshes_stale_lists_and_tries_again(self):
        done, asked = self.run_setup("style", apt="stale")
        self.assertEqual(done.returncode, 0)
        self.assertEqual([line.split()[0] for line in asked], ["install", "update", "install"])

    def test_says_so_when_apt_cannot(self):
        done, _ = self.run_setup("style", apt="broken")
        self.assertEqual(done.returncode, 1)
        self.assertIn("apt could not install clang-format", done.stderr)

    def test_asks_sudo_for_anybody_but_root(self):
        done, asked = self.run_setup("style", user="1000")
        self.assertEqual(done.returncode, 0)
        self.assertEqual(asked[0], "sudo")

    def test_the_sets_for_fuzzing_and_packing_are_known(self):
        self.assertEqual(self.everything("fuzz"), ["clang-14", "libclang-rt-14-dev"])
        self.assertIn("debootstrap", self.everything("deb"))

    def test_the_server_s_libraries_are_built_with_and_its_answers_checked(self):
        for package in ("libcpp-httplib-dev", "libbrotli-dev", "libssl-dev", "zlib1g-dev", "libsodium-dev"):
            self.assertIn(package, self.everything("build"))
        for package in ("python3-jsonschema", "openssl"):
            self.assertIn(package, self.everything("test"))

    def test_the_page_takes_node_and_npm_and_its_journeys_a_browser(self):
        self.assertEqual(self.everything("web"), ["nodejs", "npm"])
        self.assertEqual(self.everything("browser"), ["chromium"])

    def test_an_npm_that_is_there_without_a_package_is_left_alone(self):
        done, asked = self.run_setup("web", installed="nodejs", more=["npm"])
        self.assertEqual((done.returncode, asked), (0, []))

    def test_an_unknown_set_is_refused(self):
        done, asked = self.run_setup("pictures")
        self.assertEqual((done.returncode, asked), (2, []))
        self.assertIn("no package set 'pictures'", done.stderr)


if __name__ == "__main__":
    unittest.main()
