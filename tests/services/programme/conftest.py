"""A plan, and needs of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy.orm import Session

from tests.handmade_plans import a_line, a_need, a_plan


@pytest.fixture
def plan(session: Session) -> Any:
    return a_plan(session)


@pytest.fixture
def need(session: Session, maker: Any, plan: Any) -> Callable[..., Any]:
    """A need of cork oak in region R1 for a site in the middle."""

    def make(species: Any = None, **values: Any) -> Any:
        made = a_need(session, plan, species or maker.species(), **values)
        a_line(session, plan, maker.target(species=species or maker.species()), need_id=made.id)
        return made

    return make
