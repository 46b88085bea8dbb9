"""The Python module against the program: same plate, same numbers.   PYTHONPATH=... module_test.py PROGRAM TESTDATA"""

import io
import json
import os
import pickle
import shutil
import signal
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
        self.assertIn("213 swaps", platetally.text(LANTERN, "changer-5"))
        self.assertEqual(self.account.text(), platetally.text(LANTERN, "changer-5"))

    def test_threads_at_once(self):
        results = [None] * 4

        def work(i):
            results[i] = platetally.tally(LABELS, "changer-5")["totals"]

        threads = [threading.Thread(target=work, args=(i,)) for i in range(len(results))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertTrue(all(result == results[0] for result in results))
        self.assertIsNotNone(results[0])

    def test_faults_say_why(self):
        for arguments, reason in (((LANTERN, "no-such-machine"), "changer-5"), ((os.devnull, "changer-5"), "empty")):
            with self.subTest(arguments), self.assertRaisesRegex(platetally.PlateError, reason):
                platetally.tally(*arguments)
        with self.assertRaisesRegex(platetally.PlateError, "more colours than"):
            platetally.tally(LABELS, "changer-5", colours=["red"] * 99)
        with self.assertRaises(TypeError):
            platetally.tally(LABELS, "changer-5", colour=["red"])

    def test_paths_that_cannot_be_opened_are_pythons_own_errors(self):
        with tempfile.TemporaryDirectory() as folder:
            missing = os.path.join(folder, "plate.gcode")
            for call in (lambda path: platetally.tally(path, "changer-5"),
                         lambda path: platetally.text(path, "changer-5"),
                         lambda path: platetally.order(path, "changer-5"),
                         lambda path: platetally.compare([LABELS, path], "changer-5"),
                         lambda path: platetally.tally(LABELS, "changer-5", prices=path),
                         lambda path: platetally.tally(LABELS, "changer-5", materials=path)):
                with self.assertRaises(FileNotFoundError) as caught:
                    call(missing)
                self.assertEqual(caught.exception.filename, missing)
                with self.assertRaises(IsADirectoryError):
                    call(folder)
                with self.assertRaises(ValueError):
                    call("plate\0.gcode")
            with self.assertRaises(FileNotFoundError):
                platetally.audit(missing, "changer-5")
            if os.geteuid() != 0:
                locked = os.path.join(folder, "locked.gcode")
                os.close(os.open(locked, os.O_CREAT, 0))
                with self.assertRaises(PermissionError):
                    platetally.tally(locked, "changer-5")

    def test_zero_bytes_end_no_name_early(self):
        for call in (lambda: platetally.tally(LABELS, "changer-5\0"),
                     lambda: platetally.tally(LABELS, "changer-5", member="a\0b"),
                     lambda: platetally.tally(LABELS, "changer-5", colours=["black\0"]),
                     lambda: platetally.history("kept\0.sqlite")):
            with self.assertRaisesRegex(ValueError, "zero byte"):
                call()

    def test_the_machine_has_to_be_said(self):
        for call in (lambda: platetally.tally(LABELS), lambda: platetally.text(LABELS),
                     lambda: platetally.tally_bytes(b"G28\n"), lambda: platetally.order(LABELS),
                     lambda: platetally.compare(LABELS, []), lambda: platetally.audit(LABELS)):
            with self.assertRaisesRegex(TypeError, "say which machine.*changer-5"):
                call()

    def test_one_text_is_no_list_of_colours(self):
        for colours in ("black", b"black"):
            with self.assertRaisesRegex(TypeError, "colours"):
                platetally.tally(LABELS, "changer-5", colours=colours)
        with self.assertRaises(TypeError):
            platetally.audit(LABELS, "changer-5", include="*.gcode")

    def test_files_and_iterables_are_the_same_plate(self):
        def of(plate):
            account = platetally.tally(plate, "changer-5")
            return account["totals"], account["made_from"]["plates"][0]["hash"]

        with open(LABELS, "rb") as file:
            data = file.read()
        wanted = of(LABELS)
        self.assertEqual(of(io.BytesIO(data)), wanted)
        self.assertEqual(of(data[i : i + 1000] for i in range(0, len(data), 1000)), wanted)
        self.assertEqual(of([memoryview(data)[:7], bytearray(data[7:])]), wanted)
        with open(LABELS, "rb", buffering=0) as file:
            self.assertEqual(of(file), wanted)
        with self.assertRaisesRegex(TypeError, "binary mode"):
            of(io.StringIO("G28\nG1 X10 E1 F600\n"))
        with self.assertRaisesRegex(platetally.PlateError, "empty"):
            of(iter(()))

        def breaks():
            yield data[:1000]
            raise ZeroDivisionError("of the caller")

        with self.assertRaisesRegex(ZeroDivisionError, "of the caller"):
            of(breaks())

    def test_progress_is_told_and_what_it_raises_cancels(self):
        told_bytes = []
        account = platetally.tally(LANTERN, "changer-5", progress=told_bytes.append)
        self.assertEqual(told_bytes, sorted(told_bytes))
        self.assertEqual(told_bytes[-1], account["job"]["bytes"])

        class Enough(Exception):
            pass

        def refuse(_):
            raise Enough("by the caller")

        calls = (lambda: platetally.tally(LANTERN, "changer-5", progress=refuse),
                 lambda: platetally.tally(io.BytesIO(b"G28\n"), "changer-5", progress=refuse),
                 lambda: platetally.order(LABELS, "changer-5", progress=refuse),
                 lambda: platetally.compare(LABELS, ["changer-5", "switcher-4"], progress=refuse),
                 lambda: platetally.audit(LABELS, "changer-5", progress=refuse))
        for call in calls:
            with self.assertRaisesRegex(Enough, "by the caller"):
                call()
        with self.assertRaises(TypeError):
            platetally.tally(LABELS, "changer-5", progress=5)

    def test_an_interrupt_is_heard_while_a_plate_is_read(self):
        # A plate without an end: only the interrupt can end this.
        def endless():
            yield b"G28\nM83\n"
            while True:
                yield b"G1 X10 Y10 E1 F600\nG1 X20 Y10 E1\n" * 1000

        told_bytes = []

        def interrupts(read):
            told_bytes.append(read)
            if len(told_bytes) == 5:
                os.kill(os.getpid(), signal.SIGINT)

        with self.assertRaises(KeyboardInterrupt):
            platetally.tally(endless(), "changer-5", progress=interrupts)

    def test_others_run_while_a_plate_is_read(self):
        ran = []
        done = threading.Event()

        def run():
            while not done.is_set():
                ran.append(1)
                done.wait(0.001)

        thread = threading.Thread(target=run)
        thread.start()
        platetally.tally(LANTERN, "changer-5")
        done.set()
        thread.join()
        self.assertGreater(len(ran), 1)

    def test_limits_are_those_of_the_program(self):
        purge_g = self.account["totals"]["purge_g"]
        over = self.account.limits({"purge_g": purge_g / 2, "swaps": 1000})
        self.assertEqual(over, {"passes": False, "over": [{"key": "purge_g", "value": purge_g, "limit": purge_g / 2}],
                                "not_checked": [], "partial": False})
        self.assertTrue(self.account.limits({"purge_g": purge_g})["passes"])
        self.assertFalse(self.account.limits({"cost": 5})["passes"])
        with self.assertRaisesRegex(platetally.PlateError, "purge"):
            self.account.limits({"purge_grams": 5})

    def test_an_account_is_a_dict_that_can_be_pickled(self):
        again = pickle.loads(pickle.dumps(self.account))
        self.assertEqual(again["totals"], self.account["totals"])
        self.assertIs(type(again), dict)

    def test_layers_to_a_data_frame(self):
        flat = platetally.flat(self.account["layers"])
        self.assertEqual(flat["energy_by.bed"].tolist(), self.account["layers"]["energy_by"]["bed"].tolist())
        try:
            import pandas
        except ImportError:
            self.skipTest("pandas is not installed (Debian: python3-pandas)")
        frame = pandas.DataFrame(platetally.flat(self.account["layers"]))
        self.assertEqual(len(frame), 72)
        self.assertAlmostEqual(frame["purge_g"].sum(), self.account["totals"]["purge_g"], delta=1e-9)
        self.assertEqual(frame["energy_by.bed"].dtype, numpy.float64)

    def test_other_reports_are_the_programs(self):
        def program(*arguments):
            run = subprocess.run([PROGRAM, *arguments, "--json"], check=False, capture_output=True, text=True)
            return json.loads(run.stdout)

        prices = os.path.join(TESTDATA, "demo", "prices.toml")
        on = ("--machine", "switcher-4")
        self.assertEqual(platetally.order(LABELS, "switcher-4"), program("order", LABELS, *on))
        self.assertEqual(platetally.order(LABELS, "switcher-4", by="money", first=1, before=[(0, 1)], prices=prices),
                         program("order", LABELS, *on, "--by", "money", "--first", "1", "--before", "0:1",
                                 "--prices", prices))
        self.assertEqual(platetally.compare([LABELS, LANTERN], ["changer-5", "switcher-4"], copies=3, prices=prices),
                         program("compare", LABELS, LANTERN, "--machine", "changer-5", "--machine", "switcher-4",
                                 "--copies", "3", "--prices", prices))
        self.assertEqual(platetally.audit([LABELS, LANTERN], "changer-5", limits={"purge_g": 5}, sort="swaps"),
                         program("audit", LABELS, LANTERN, "--machine", "changer-5", "--limit", "purge_g=5",
                                 "--sort", "swaps"))
        with tempfile.TemporaryDirectory() as folder:
            kept = os.path.join(folder, "kept.sqlite")
            platetally.audit(LABELS, "changer-5", history=kept)
            self.assertEqual(len(platetally.history(kept)["plates"]["path"]), 1)
        with self.assertRaisesRegex(platetally.PlateError, "by: expected"):
            platetally.order(LABELS, "switcher-4", by="weight")

    def test_what_it_was_made_from(self):
        made = self.account["made_from"]
        self.assertEqual(made["program"], platetally.__version__)
        self.assertEqual(made["machines"][0]["name"], "changer-5")
        self.assertEqual(made["options"], {})
        other = platetally.tally(LANTERN, "changer-5", colours={0: "black"}, copies=2,
                                 prices=os.path.join(TESTDATA, "demo", "prices.toml"))["made_from"]
        self.assertEqual(other["plates"], made["plates"])
        self.assertEqual(other["machines"], made["machines"])
        self.assertEqual(set(other["options"]), {"colours", "prices", "copies"})

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
