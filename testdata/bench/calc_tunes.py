#!/usr/bin/env python3
"""The tables of W(N) by formulas in LibreOffice Calc, as a peer of fettle. Started by `go run ./testdata/bench/run`; by
hand, with a Python that has the module uno (Debian's python3-uno):

    python3 calc_tunes.py (blocks|short) work.json RUNS cells.bin

It starts a soffice without windows, with a profile of its own, and writes one workbook: a sheet of conditions and
catalogues, a sheet of what depends on the cell alone, and a sheet for each map with its blocks of formulas.

blocks: a block of 20 rows by 24 columns for each rule, as one would write it to follow every number.
short:  two blocks, before and after the look-up, as one would write it to be quick.

A variant is computed by writing its four conditions and recalculating what depends on them: that is what the clock goes
around. The tables are read out only once, without the clock: that takes another millisecond a variant, most of it for
the cells to come through the pipe.
"""
import json
import os
import struct
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

ROWS, COLS = 20, 24


def letter(c):
    """The name of a column, from 0."""
    return chr(65 + c) if c < 26 else chr(64 + c // 26) + chr(65 + c % 26)


def put(sheet, row, col, cells):
    """Writes a block of numbers, texts and formulas."""
    block = tuple(tuple(repr(x) if isinstance(x, float) else str(x) for x in line) for line in cells)
    sheet.getCellRangeByPosition(col, row, col + len(block[0]) - 1, row + len(block) - 1).setFormulaArray(block)


def block(sheet, row, f):
    """Writes a table at a row: f gives the formula of a cell from its column's letter and its row within the table."""
    put(sheet, row, 1, [[f(letter(c + 1), r) for c in range(COLS)] for r in range(ROWS)])


def conditions(sheet, w):
    blends, pipes = list(w["blends"].items()), list(w["pipes"].items())
    put(sheet, 0, 0, [["altitude"], ["air_temp"], ["blend"], ["pipe"]])
    put(sheet, 10, 0, [[name, b["stoich"], b["octane"]] for name, b in blends])
    put(sheet, 20, 0, [[name, p["tuned"], p["trust"]] for name, p in pipes])

    def of(name, first, rows, col):  # a catalogue's value
        return f"INDEX(${col}${first}:${col}${first + len(rows) - 1};MATCH({name};$A${first}:$A${first + len(rows) - 1};0))"

    put(sheet, 0, 4, [
        ["thin", "=(1-B1/44330)^5.2559*SQRT(293.15/(B2+273.15))"],
        ["stoich", "=" + of('"pump98"', 11, blends, "B") + "/" + of("B3", 11, blends, "B")],
        ["octane", "=" + of('"pump98"', 11, blends, "C") + "/" + of("B3", 11, blends, "C")],
        ["trust", "=" + of("B4", 21, pipes, "C") + "/" + of('"stock"', 21, pipes, "C")],
        ["shift", "=" + of("B4", 21, pipes, "B") + "/" + of('"stock"', 21, pipes, "B")],
        ["cold", "=IF(B2<12;0.08;0)"],
        ["hot", "=IF(B2>28;1.5;0)"],
    ])


# The rows of the sheet `fixed`, from 1: revs in row 1, look-ups in rows 2 to 4, tables of 20 rows from these on.
HIT, LOW, FUEL, SPARK, FUEL_BENT, SPARK_BENT = 11, 41, 71, 101, 131, 161


def fixed(sheet, w):
    """What depends on the cell alone, and where each column stands when rpm is multiplied by the shift."""
    put(sheet, 0, 1, [w["cols"]])
    first, last = f"$B$1", f"${letter(COLS)}$1"
    cols = range(1, COLS + 1)
    put(sheet, 1, 1, [
        [f"=MAX({first};MIN({last};{letter(c)}1*$conditions.$F$5))" for c in cols],
        [f"=MIN({COLS - 1};MATCH({letter(c)}2;{first}:{last};1))" for c in cols],
        [f"=({letter(c)}2-INDEX({first}:{last};{letter(c)}3))/(INDEX({first}:{last};{letter(c)}3+1)-INDEX({first}:{last};{letter(c)}3))" for c in cols],
    ])
    for top in (HIT, LOW, FUEL, SPARK, FUEL_BENT, SPARK_BENT):
        put(sheet, top - 1, 0, [[t] for t in w["rows"]])

    def up(x, start, feather):
        return f"MAX(0;MIN(1;1-({start}-{x})/{feather}))"

    def down(x, end, feather):
        return f"MAX(0;MIN(1;1-({x}-{end})/{feather}))"

    block(sheet, HIT - 1, lambda c, r: f"={up(f'{c}$1', 8000, 1200)}*{down(f'{c}$1', 10500, 1200)}*{up(f'$A{HIT + r}', 40, 25)}")
    block(sheet, LOW - 1, lambda c, r: f"={down(f'{c}$1', 5000, 1500)}*{down(f'$A{LOW + r}', 30, 20)}")
    for top, cells in ((FUEL, w["fuel"]), (SPARK, w["spark"])):
        put(sheet, top - 1, 1, [cells[COLS * r:COLS * (r + 1)] for r in range(ROWS)])
    for top, a, b, d in ((FUEL_BENT, "+0.03", "-0.02", "+0.01"), (SPARK_BENT, "-0.02", "+0.01", "-0.01")):
        block(sheet, top - 1, lambda c, r: f"=1{a}*({c}$1/10000)*($A{top + r}/100){b}*({c}$1/10000)^2{d}*($A{top + r}/100)^2")


def rules(sheet, way, base, ratio, bent, guard, part, most):
    """The blocks of a map; the result's first row, from 0."""
    thin, burns, trust, less = (f"$conditions.$F${row}" for row in (1, ratio, 4, guard))

    def moved(row, c):  # a look-up in a line of this sheet
        line = f"$B{row}:${letter(COLS)}{row}"
        left = f"INDEX({line};$fixed.{c}$3)"
        return f"({left}+$fixed.{c}$4*(INDEX({line};$fixed.{c}$3+1)-{left}))"

    def at(top):  # a cell of `fixed` in the same place as row r of a table
        return lambda c, r: f"$fixed.{c}{top + r}"

    base, bent, part, hit = at(base), at(bent), at(part), at(HIT)
    if way == "short":
        blocks = [
            lambda c, r, above: f"={base(c, r)}*{thin}*{burns}*{trust}*(1+{hit(c, r)}*0.04)",
            lambda c, r, above: f"=MIN({moved(above, c)}*{bent(c, r)}-{less}*{part(c, r)};{most})",
        ]
    else:
        blocks = [
            lambda c, r, above: f"={base(c, r)}*{thin}",
            lambda c, r, above: f"={c}{above}*{burns}",
            lambda c, r, above: f"={c}{above}*{trust}",
            lambda c, r, above: f"={c}{above}*(1+{hit(c, r)}*0.04)",
            lambda c, r, above: f"={moved(above, c)}",
            lambda c, r, above: f"={c}{above}*{bent(c, r)}",
            lambda c, r, above: f"={c}{above}-{less}*{part(c, r)}",
            lambda c, r, above: f"=MIN({c}{above};{most})",
        ]
    step = ROWS + 2
    for i, f in enumerate(blocks):
        block(sheet, i * step, lambda c, r: f(c, r, (i - 1) * step + r + 1))
    return (len(blocks) - 1) * step


class Workbook:
    def __init__(self, doc, way, w):
        doc.enableAutomaticCalculation(False)
        sheets = doc.Sheets
        sheets.getByIndex(0).Name = "conditions"
        for i, name in enumerate(("fixed", "fuel", "spark")):
            sheets.insertNewByName(name, i + 1)
        self.doc, self.given = doc, sheets.getByName("conditions").getCellRangeByName("B1:B4")
        conditions(sheets.getByName("conditions"), w)
        fixed(sheets.getByName("fixed"), w)
        fuel, spark = sheets.getByName("fuel"), sheets.getByName("spark")
        tops = rules(fuel, way, FUEL, 2, FUEL_BENT, 6, LOW, 21), rules(spark, way, SPARK, 3, SPARK_BENT, 7, HIT, 29.5)
        self.results = [s.getCellRangeByPosition(1, top, COLS, top + ROWS - 1) for s, top in zip((fuel, spark), tops)]
        doc.calculateAll()

    def compute(self, t):
        self.given.setDataArray(((t["altitude"],), (t["air_temp"],), (t["blend"],), (t["pipe"],)))
        self.doc.calculate()

    def tables(self):
        for r in self.results:
            yield [x for line in r.getDataArray() for x in line]


def connect(pipe, soffice):
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    for _ in range(600):
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return context, context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        except NoConnectException:
            if soffice.poll() is not None:
                break
            time.sleep(0.1)
    soffice.kill()
    raise SystemExit("soffice doesn't answer")


def version(context):
    about = PropertyValue(Name="nodepath", Value="/org.openoffice.Setup/Product")
    provider = context.ServiceManager.createInstanceWithContext("com.sun.star.configuration.ConfigurationProvider", context)
    product = provider.createInstanceWithArguments("com.sun.star.configuration.ConfigurationAccess", (about,))
    return product.ooName + " " + product.ooSetupVersionAboutBox


def main():
    way, path, runs, cells = sys.argv[1:]
    with open(path) as f:
        w = json.load(f)
    with tempfile.TemporaryDirectory() as profile:
        pipe = f"fettle-bench-{os.getpid()}"
        soffice = subprocess.Popen(["soffice", f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--norestore",
                                    "--nologo", f"--accept=pipe,name={pipe};urp;"],
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        context, desktop = connect(pipe, soffice)
        try:
            print("version", version(context))
            hidden = PropertyValue(Name="Hidden", Value=True)
            book = Workbook(desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, (hidden,)), way, w)
            with open(cells, "wb") as out:
                for t in w["tunes"]:
                    book.compute(t)
                    for table in book.tables():
                        out.write(struct.pack(f"<{len(table)}d", *table))
            for _ in range(int(runs)):
                start = time.perf_counter_ns()
                for t in w["tunes"]:
                    book.compute(t)
                print("run", time.perf_counter_ns() - start, flush=True)
        finally:
            desktop.terminate()
            soffice.wait(60)


main()
