"""Doing what a form asks: refusals come back at its fields, and what was typed stays."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import abort
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlalchemy.orm import joinedload

from nursery.errors import Invalid, NurseryError
from nursery.models import Batch
from nursery.web import outage
from nursery.web.forms import RecordForm
from nursery.web.session import db


def get_batch(record_id: int) -> Batch:
    """The batch, or the page that says there is none."""
    row = db().get(
        Batch, record_id, options=[joinedload(Batch.species), joinedload(Batch.lot), joinedload(Batch.container)]
    )
    return row if row is not None else abort(404)


def attempt(form: RecordForm, write: Callable[[], Any]) -> Any:
    """Do it if the form is sound; None, and the reasons at their fields, if it or the service refuses."""
    if not form.validate():
        return None
    try:
        return write()
    except Invalid as refused:
        db().rollback()  # the page is drawn from the database, not from half-made changes
        form.refuse(refused.errors)
    except NurseryError as refused:
        db().rollback()
        form.form_errors.append(str(refused))
    except (IntegrityError, OperationalError) as error:
        db().rollback()
        form.form_errors.append(outage.busy(error))
    return None
