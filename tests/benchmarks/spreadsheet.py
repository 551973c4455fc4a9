"""The same 5,000 lines worked back by a spreadsheet (recalculated by LibreOffice) and by the planner."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np
import openpyxl

from nursery.planning.calendars import schedule_lines
from nursery.planning.quantities import quantities

LINES = 5_000
SEED = 20261125
#: Spreadsheet days are counted from 30 December 1899.
SERIAL_OF_1970 = 25_569
FORMAT = "xlsx:Calc MS Excel 2007 XML"
PHASES = (30, 40, 150, 45)
HEADINGS = (
    "plants", "germination", "emergence", "establishment", "hardening", "cull", "handling loss", "field survival",
    "seeds per cell", "cells per tray", "TSW g", "purity", "plant on",
    "plants to plant", "ready plants", "seedlings", "cells", "trays", "cells sown", "seeds", "grams", "start",
)  # fmt: skip
FORMULAS = (
    "=ROUNDUP(A{r}/H{r}-1E-9,0)",
    "=ROUNDUP(A{r}/H{r}/(1-G{r})-1E-9,0)",
    "=ROUNDUP(A{r}/H{r}/(1-G{r})/((1-F{r})*E{r}*D{r})-1E-9,0)",
    "=ROUNDUP(A{r}/H{r}/(1-G{r})/((1-F{r})*E{r}*D{r})/(1-(1-B{r}*C{r})^I{r})-1E-9,0)",
    "=ROUNDUP(A{r}/H{r}/(1-G{r})/((1-F{r})*E{r}*D{r})/(1-(1-B{r}*C{r})^I{r})/J{r}-1E-9,0)",
    "=R{r}*J{r}",
    "=S{r}*I{r}",
    "=T{r}*K{r}/1000/L{r}",
    f"=M{{r}}-{sum(PHASES)}",
)


def run() -> None:
    """Print the ratio of times, and whether all values agree."""
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        print("spreadsheet: LibreOffice is not installed here, so there is nothing to compare with")
        return
    inputs = _inputs()
    with tempfile.TemporaryDirectory() as folder:
        sheet = Path(folder) / "lines.xlsx"
        _write(sheet, inputs)
        began = time.perf_counter()
        subprocess.run(
            [office, "--headless", f"-env:UserInstallation=file://{folder}/profile", "--convert-to", FORMAT,
             "--outdir", f"{folder}/out", str(sheet)],
            check=True, capture_output=True, timeout=300,
        )  # fmt: skip
        by_sheet = time.perf_counter() - began
        theirs = _read(Path(folder) / "out" / "lines.xlsx")
    began = time.perf_counter()
    ours = _planner(inputs)
    by_planner = time.perf_counter() - began
    worst = max(float(np.max(np.abs(theirs[:, n] - column))) for n, column in enumerate(ours))
    print(
        f"spreadsheet, {LINES} lines × {len(FORMULAS)} formulas: LibreOffice {by_sheet:.2f} s with its start, "
        f"planner {by_planner * 1000:.1f} ms, ratio {by_sheet / by_planner:.0f}; largest difference {worst:.1e}"
    )
    if worst > 1e-6:
        raise SystemExit("the spreadsheet and the planner disagree")


def _inputs() -> dict[str, np.ndarray]:
    rng = np.random.default_rng(SEED)

    def rate(low: float, high: float) -> np.ndarray:
        return np.round(rng.uniform(low, high, LINES), 3)

    return {
        "plants": rng.integers(20, 5_000, LINES),
        "germination": rate(0.2, 0.95),
        "emergence": rate(0.6, 1.0),
        "establishment": rate(0.7, 1.0),
        "hardening": rate(0.85, 1.0),
        "cull": rate(0.0, 0.2),
        "handling_loss": rate(0.0, 0.05),
        "field_survival": rate(0.4, 1.0),
        "seeds_per_cell": rng.integers(1, 6, LINES),
        "cells_per_tray": rng.choice([28, 40, 54, 77, 104], LINES),
        "tsw_g": rate(0.5, 4_000.0),
        "purity": rate(0.6, 1.0),
        "plant_on": np.datetime64("2027-11-01") + rng.integers(0, 100, LINES),
    }


def _write(file: Path, inputs: dict[str, np.ndarray]) -> None:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("lines")
    sheet.append(HEADINGS)
    for row, values in enumerate(zip(*(column.tolist() for column in inputs.values()), strict=True), start=2):
        sheet.append([*values, *(formula.format(r=row) for formula in FORMULAS)])
    book.save(file)


def _read(file: Path) -> np.ndarray:
    sheet = openpyxl.load_workbook(file, data_only=True, read_only=True).worksheets[0]
    first = len(HEADINGS) - len(FORMULAS)
    rows = [list(row[first:]) for row in sheet.iter_rows(min_row=2, values_only=True)]
    return np.array([[*row[:-1], row[-1] - SERIAL_OF_1970] for row in rows], dtype=np.float64)


def _planner(inputs: dict[str, np.ndarray]) -> list[np.ndarray]:
    rates = {name: column for name, column in inputs.items() if name != "plant_on"}
    found = quantities(method="direct", **rates)
    start = schedule_lines(inputs["plant_on"], np.array(PHASES)).start[:, 0]
    columns = (
        found.plants_to_plant,
        found.ready_plants,
        found.seedlings,
        found.cells,
        found.trays,
        found.cells_sown,
    )
    return [*columns, found.seeds, found.grams, start.astype(np.float64)]
