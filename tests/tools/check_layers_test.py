"""tools/check_layers refuses each breach it promises to refuse, and nothing else. One small tree a case."""

import subprocess
import sys
import tempfile
import unittest
from pathlib import Path

TOOL = Path(__file__).resolve().parents[2] / "tools" / "check_layers"


def run(files):
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        done = subprocess.run([sys.executable, TOOL, folder], capture_output=True, text=True, check=False)
        return done.returncode, done.stdout


def module(name, uses="", include="", file="a", extra=""):
    """A module of one header."""
    return {
        f"{name}/CMakeLists.txt": f"goodside_module({name} HEADERS {file}.hpp USES {uses})\n{extra}",
        f"{name}/{file}.hpp": f"#pragma once\n{include}\n",
    }


class CheckLayers(unittest.TestCase):
    def refused(self, files, words):
        status, said = run(files)
        self.assertEqual(status, 1, said)
        self.assertIn(words, said)
        self.assertEqual(said.count("\n"), 1, said)

    def passes(self, files):
        self.assertEqual(run(files), (0, ""))

    def test_arrows_down_pass(self):
        tree = {**module("base"), **module("disc", "base", '#include "base/a.hpp"')}
        tree |= module("listen", "base disc", '#include "base/a.hpp"\n#include "disc/a.hpp"')
        tree |= module("line", "listen", '#include "listen/a.hpp"\n#include <chrono>')
        tree |= module("cli", "line", '#include "line/a.hpp"\n#include <CLI/CLI.hpp>\n#include <sys/types.h>')
        self.passes(tree)

    def test_upward(self):
        tree = {**module("disc"), **module("base", "disc", '#include "disc/a.hpp"')}
        self.refused(tree, "src/base/a.hpp:2: base may not include disc/a.hpp")

    def test_sideways_between_stations(self):
        tree = {**module("listen"), **module("disc", "listen", '#include "listen/a.hpp"')}
        self.refused(tree, "disc may not include listen/a.hpp")

    def test_sideways_from_edge_to_station(self):
        tree = {**module("listen"), **module("draw", "listen", '#include "listen/a.hpp"')}
        self.refused(tree, "draw may not include listen/a.hpp")

    def test_foundation_to_its_right(self):
        tree = {**module("works"), **module("signal", "works", '#include "works/a.hpp"')}
        self.refused(tree, "signal may not include works/a.hpp")

    def test_the_commands_start_the_server_and_not_the_other_way(self):
        self.passes({**module("serve"), **module("cli", "serve", '#include "serve/a.hpp"')})
        tree = {**module("cli"), **module("serve", "cli", '#include "cli/a.hpp"')}
        self.refused(tree, "serve may not include cli/a.hpp")

    def test_include_without_uses(self):
        tree = {**module("base"), **module("disc", "", '#include "base/a.hpp"')}
        self.refused(tree, "without base in its USES")

    def test_uses_without_include(self):
        tree = {**module("base"), **module("disc", "base")}
        self.refused(tree, "src/disc/CMakeLists.txt: USES base, but nothing of it is included")

    def test_include_without_its_folder(self):
        self.refused(module("disc", "", '#include "groove.hpp"'), 'write "groove.hpp" as "module/file.hpp"')

    def test_clock_and_files_in_a_station(self):
        self.refused(module("disc", "", "#include <chrono>"), "disc is pure and may not include <chrono>")
        self.refused(module("signal", "", "#include <fstream>"), "signal is pure and may not include <fstream>")

    def test_third_party_headers_have_one_owner(self):
        for header, owner in {
            "fftw3.h": "signal",
            "sndfile.h": "intake",
            "toml.hpp": "intake",
            "openssl/evp.h": "base",
            "sqlite3.h": "ledger",
            "libpq-fe.h": "ledger",
            "zlib.h": "intake",
            "boost/math/distributions/beta.hpp": "stats",
            "nlohmann/json.hpp": "json",
            "CLI/CLI.hpp": "cli",
            "cairo/cairo.h": "draw",
            "pango/pangocairo.h": "draw",
            "httplib.h": "serve",
            "sodium.h": "serve",
            "opencv2/imgproc.hpp": "intake",
            "zint.h": "draw",
            "glpk.h": "maths",
            "alsa/asoundlib.h": "serve",
        }.items():
            self.passes(module(owner, "", f"#include <{header}>"))
            self.refused(module("line", "", f"#include <{header}>"), f"<{header}> belongs to src/{owner} alone")

    def test_an_unlisted_library_in_two_folders(self):
        tree = {**module("disc", "", "#include <boost/rational.hpp>")}
        tree |= module("listen", "", "#include <boost/rational.hpp>")
        self.refused(tree, "belongs to src/disc alone")

    def test_libraries_that_are_exempt(self):
        tree = {**module("disc", "", "#include <Eigen/Dense>\n#include <fmt/format.h>")}
        tree |= module("listen", "", "#include <Eigen/Dense>\n#include <fmt/format.h>")
        self.passes(tree)

    def test_forgotten_files(self):
        self.refused({**module("disc"), "disc/groove.cpp": ""}, "src/disc/groove.cpp: is compiled by nobody")
        self.refused({**module("disc"), "disc/groove.hpp": ""}, "src/disc/groove.hpp: is not among the HEADERS")
        self.passes({**module("cli", extra="add_executable(goodside main.cpp)"), "cli/main.cpp": ""})

    def test_own_header_first(self):
        tree = {
            "disc/CMakeLists.txt": "goodside_module(disc HEADERS a.hpp SOURCES a.cpp)",
            "disc/a.hpp": "#pragma once\n",
            "disc/a.cpp": '#include <vector>\n\n#include "disc/a.hpp"\n',
        }
        self.refused(tree, 'src/disc/a.cpp: must include its own "disc/a.hpp" first')

    def test_a_folder_outside_every_layer(self):
        self.refused(module("utils"), "src/utils: is in no layer")

    def test_nothing_to_check_is_a_failure(self):
        self.refused({"README.md": ""}, "holds no modules")


if __name__ == "__main__":
    unittest.main()
