"""A small picture for tests that send one."""

from __future__ import annotations

import io
from typing import Any

from PIL import Image


def picture(form: str = "PNG", size: tuple[int, int] = (30, 20), colour: str = "#397030", **options: Any) -> bytes:
    """A leaf's green."""
    made = io.BytesIO()
    Image.new("RGB", size, colour).save(made, form, **options)
    return made.getvalue()
