"""Pages of the calculators. Nothing is written, so a form is a plain question, whose address can be kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Invalid
from nursery.services.calculators import CALCULATORS, calculate, find_calculator
from nursery.services.calculators.calculator import Calculator
from nursery.web.calculators.form import CalculatorForm, typed_values
from nursery.web.calculators.journey import JOURNEY
from nursery.web.calculators.showing import outcome
from nursery.web.links import whole_address

bp = Blueprint("calculators", __name__, url_prefix="/calculators")


@bp.get("")
def index() -> str:
    """All calculators, along the way of a plant."""
    return render_template(
        "calculators/index.html",
        section="calculators",
        journey=[(title, [CALCULATORS[name] for name in names]) for title, names in JOURNEY],
    )


@bp.get("/<name>")
def page(name: str) -> ResponseReturnValue:
    """The form, with the result of what is typed; 422 if the person asked for a result that cannot be."""
    calculator = find_calculator(name)
    asked = request.args.get("do", "")
    form = CalculatorForm(calculator, request.args, more_rows=asked == "rows")
    found: dict[str, Any] | None = None
    errors: dict[str, str] = {}
    if asked == "calculate" or (form.filled and asked != "rows"):
        try:
            found = calculate(name, form.payload)
        except Invalid as refused:
            errors = form.refuse(refused.errors) if asked == "calculate" else {}
    shown = render_template(
        "calculators/page.html",
        section="calculators",
        calculator=calculator,
        form=form,
        errors=errors,
        example=_filled_in(calculator, calculator.example),
        address=_filled_in(calculator, calculator.understand(form.payload)) if found else "",
        outcome=outcome(calculator, form.payload, found, whole_address("calculators_api.run", name=name))
        if found
        else None,
    )
    return shown, 422 if errors else 200


def _filled_in(calculator: Calculator, values: Mapping[str, Any]) -> str:
    """Address of the page with these values, which reads the same in every language."""
    words: dict[str, Any] = dict(typed_values(calculator, values))
    return url_for("calculators.page", name=calculator.name, do="calculate", **words)
