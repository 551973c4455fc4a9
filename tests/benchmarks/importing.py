"""An import of sites, checked and written with its history, against pandas writing the same file to a table."""

from __future__ import annotations

import datetime as dt
import io
import tempfile
import time
from pathlib import Path

import pandas as pd
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.database import make_engine, upgrade
from nursery.models import Site
from nursery.services import importing
from nursery.services.setup import set_up
from tests.benchmarks.growth import exponent

SIZES = (1_000, 10_000, 100_000)
ACTOR = "Ana Seabra"
DAY = dt.date(2026, 11, 25)


def run() -> None:
    """Print seconds and ratios for each size, and how they grow."""
    ours = []
    for size in SIZES:
        text = _file(size)
        took, plain = _import(text, size), _by_pandas(text)
        ours.append(took)
        print(f"import, {size} rows: {took:.2f} s, pandas {plain:.2f} s, {took / plain:.1f} ×")
    print(f"import: grows with the number of rows to the power {exponent(SIZES, ours):.2f}")


def _import(text: str, size: int) -> float:
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(f"sqlite:///{Path(folder) / 'sites.sqlite'}")
        upgrade(engine)
        with Session(engine) as session, session.begin():
            set_up(session, ACTOR)
        began = time.perf_counter()
        with Session(engine) as session, session.begin():
            upload = importing.keep_upload(
                session, ACTOR, kind="sites", file_name="sites.csv", content=text.encode()
            )
            importing.confirm(session, ACTOR, upload_id=upload.id, today=DAY)
        took = time.perf_counter() - began
        with Session(engine) as session:
            written = session.scalar(select(func.count()).select_from(Site))
        engine.dispose()
    assert written == size, written
    return took


def _by_pandas(text: str) -> float:
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(f"sqlite:///{Path(folder) / 'sites.sqlite'}")
        began = time.perf_counter()
        with engine.begin() as connection:
            pd.read_csv(io.StringIO(text)).to_sql("sites", connection, index=False)
        took = time.perf_counter() - began
        engine.dispose()
    return took


def _file(size: int) -> str:
    rows = (f"S-{number:06d},Site {number},{39 + number % 900 / 1000},-6.1,2.5" for number in range(size))
    return "\n".join(("code,name,latitude,longitude,area", *rows, ""))
