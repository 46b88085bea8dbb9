"""The Python module against the program: same plate, same numbers.   PYTHONPATH=... module_test.py PROGRAM TESTDATA"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import unittest

import numpy

import platetally

PROGRAM, TESTDATA = sys.argv[1:3]
LANTERN = os.path.join(TESTDATA, "demo", "lantern.gcode.gz")
LABELS = os.path.join(TESTDATA, "demo", "labels.gcode.gz")


def told(*arguments):
    return subprocess.run([PROGRAM, *arguments], check=True, capture_output=True, text=True).stdout


class Tally(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.account = platetally.tally(LANTERN, machine="changer-5")
        cls.program = json.loads(told("tally", LANTERN, "--machine", "changer-5", "--json"))

    def test_all_but_the_layers_is_the_programs_json(self):
        apart = {key: value for key, value in self.account.items() if key != "layers"}
        wanted = {key: value for key, value in self.program.items() if key != "layers"}
        self.assertEqual(apart, wanted)

    def test_layers_are_columns_of_the_programs_rows(self):
        def compare(columns, rows):
            for key, column in columns.items():
                if isinstance(column, dict):
                    compare(column, [row[key] for row in rows])
                elif key == "order":
                    self.assertEqual(column, [row[key] for row in rows])
                else:
                    self.assertIsInstance(column, numpy.ndarray)
                    self.assertEqual(column.dtype, numpy.float64)
                    self.assertEqual(column.tolist(), [row[key] for row in rows], key)

        rows = self.program["layers"]
        self.assertEqual(set(self.account["layers"]), set(rows[0]))
        self.assertEqual(len(rows), 72)
        compare(self.account["layers"], rows)

    def test_sums_of_columns_are_the_totals(self):
        layers, totals = self.account["layers"], self.account["totals"]
        for of_layer, total in (("purge_g", totals["purge_g"]), ("energy_wh", totals["energy_wh"]),
                                ("time_s", totals["time_s"]), ("swaps", totals["swaps"])):
            self.assertAlmostEqual(layers[of_layer].sum(), total, delta=1e-9 * max(1.0, total))

    def test_options(self):
        prices = os.path.join(TESTDATA, "demo", "prices.toml")
        account = platetally.tally(LABELS, "switcher-4", prices=prices, copies=4, colours={1: "black"})
        self.assertGreater(account["totals"]["cost"], 0.0)
        self.assertEqual(account["totals"]["cost"],
                         4 * account["totals"]["cost_per_good_part"])
        self.assertEqual([tool["colour"] for tool in account["tools"]][1], "black")

    def test_bytes_are_the_same_plate(self):
        with open(LANTERN, "rb") as file:
            account = platetally.tally_bytes(file.read(), "changer-5", threads=1)
        self.assertEqual(account["totals"], self.account["totals"])

    def test_text_is_the_report(self):
        self.assertIn("213 swaps", platetally.text(LANTERN))

    def test_threads_at_once(self):
        results = [None] * 4

        def work(i):
            results[i] = platetally.tally(LABELS)["totals"]

        threads = [threading.Thread(target=work, args=(i,)) for i in range(len(results))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertTrue(all(result == results[0] for result in results))
        self.assertIsNotNone(results[0])

    def test_faults_say_why(self):
        for arguments, reason in (
            (("/nowhere/plate.gcode",), "/nowhere/plate.gcode: "),
            ((LANTERN, "no-such-machine"), "changer-5"),
            ((os.devnull,), "empty"),
        ):
            with self.subTest(arguments), self.assertRaisesRegex(platetally.PlateError, reason):
                platetally.tally(*arguments)
        with self.assertRaisesRegex(platetally.PlateError, "more colours than"):
            platetally.tally(LABELS, colours=["red"] * 99)
        with self.assertRaises(TypeError):
            platetally.tally(LABELS, colour=["red"])

    def test_machines_and_fields(self):
        self.assertIn("changer-5", platetally.machines())
        keys = [field["key"] for field in platetally.fields()]
        self.assertIn("totals.energy_wh", keys)
        self.assertEqual(platetally.schema(), json.loads(told("tally", "--json-schema")))


class History(unittest.TestCase):
    def test_columns_are_those_of_the_programs_report(self):
        with tempfile.TemporaryDirectory() as folder:
            plates = os.path.join(folder, "plates")
            os.mkdir(plates)
            for file in (LANTERN, LABELS):
                shutil.copy(file, plates)
            with open(os.path.join(plates, "broken.gcode"), "w", encoding="utf-8"):
                pass
            kept = os.path.join(folder, "tallies.sqlite")
            subprocess.run([PROGRAM, "audit", plates, "--machine", "changer-5", "--history", kept],
                           capture_output=True, check=False)
            history = platetally.history(kept)
            report = json.loads(told("audit", "--since", "1970-01-01", "--history", kept, "--json"))
            self.assertEqual(history["totals"], report["totals"])
            plates = history["plates"]
            self.assertEqual(plates["path"], [row["path"] for row in report["rows"]])
            good = [row for row in report["rows"] if row["error"] is None]
            self.assertEqual(len(good), 2)
            self.assertEqual(plates["purge_g"][:2].tolist(), [row["totals"]["purge_g"] for row in good])
            self.assertEqual(history["weeks"]["plates"].tolist(), [2.0])
            self.assertEqual(str(history["weeks"]["monday"][0]), report["weeks"][0]["monday"])
            with self.assertRaisesRegex(platetally.PlateError, "is no date"):
                platetally.history(kept, "yesterday")
        with self.assertRaisesRegex(platetally.PlateError, "no such history"):
            platetally.history(kept)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
