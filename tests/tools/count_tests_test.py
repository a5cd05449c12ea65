"""tools/count_tests reads what CTest itself writes: passed, failed, disabled and not run are told apart."""

import subprocess
import tempfile
import unittest
from pathlib import Path

TOOL = Path(__file__).resolve().parents[2] / "tools" / "count_tests"


def counted(tests):
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "CTestTestfile.cmake").write_text(tests, encoding="utf-8")
        report = Path(folder) / "tests.xml"
        command = ["ctest", "--test-dir", folder, "--output-junit", report]
        subprocess.run(command, capture_output=True, check=False)
        return subprocess.run([TOOL, report], capture_output=True, text=True, check=True).stdout


class CountTests(unittest.TestCase):
    def test_all_pass(self):
        self.assertEqual(counted("add_test(a true)\nadd_test(b true)\n"), "2 0\n")

    def test_one_fails(self):
        self.assertEqual(counted("add_test(a true)\nadd_test(b false)\n"), "2 1\n")

    def test_a_missing_program_has_not_passed(self):
        self.assertEqual(counted("add_test(a true)\nadd_test(b no_such_program)\n"), "2 1\n")

    def test_a_disabled_test_has_not_passed(self):
        tests = "add_test(a true)\nadd_test(b true)\nset_tests_properties(b PROPERTIES DISABLED TRUE)\n"
        self.assertEqual(counted(tests), "2 1\n")

    def test_a_skipped_test_has_not_passed(self):
        tests = 'add_test(a true)\nadd_test(b sh -c "exit 4")\nset_tests_properties(b PROPERTIES SKIP_RETURN_CODE 4)\n'
        self.assertEqual(counted(tests), "2 1\n")


if __name__ == "__main__":
    unittest.main()
