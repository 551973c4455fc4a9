"""The form of a nursery."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from babel.support import LazyProxy

from nursery.i18n import format_number, month_name
from nursery.i18n import lazy as _l
from nursery.services.nurseries import BOUNDS, MEAN_C
from nursery.web.coordinates import CoordinateFields
from nursery.web.fields import NumberField, TextField
from nursery.web.forms import Group, RecordForm


def _mean(month: int) -> NumberField:
    return NumberField(
        LazyProxy(month_name, month, "wide", enable_cache=False), bounds=MEAN_C, unit="°C", digits=2
    )


MONTHS = tuple(f"mean_{month}" for month in range(1, 13))


class NurseryForm(CoordinateFields, RecordForm):
    """One growing place."""

    name = TextField(_l("Name"), most=120, needed=True)
    elevation_m = NumberField(_l("Elevation"), bounds=BOUNDS["elevation_m"], unit="m")
    bench_area_m2 = NumberField(
        _l("Bench area"),
        bounds=BOUNDS["bench_area_m2"],
        unit="m²",
        digits=2,
        description=_l("Usable area of all benches and beds."),
    )
    mean_1, mean_2, mean_3, mean_4 = _mean(1), _mean(2), _mean(3), _mean(4)
    mean_5, mean_6, mean_7, mean_8 = _mean(5), _mean(6), _mean(7), _mean(8)
    mean_9, mean_10, mean_11, mean_12 = _mean(9), _mean(10), _mean(11), _mean(12)

    groups = (
        Group(_l("The nursery"), (("name",), ("bench_area_m2",))),
        Group(_l("Where it lies"), (("latitude", "longitude"), ("elevation_m",))),
        Group(
            _l("Monthly mean temperatures"),
            (MONTHS[0:3], MONTHS[3:6], MONTHS[6:9], MONTHS[9:12]),
            _l("Only needed for phases counted in degree-days: all twelve or none."),
        ),
        Group(_l("More"), (("notes",),)),
    )

    @classmethod
    def stored(cls, row: Any) -> dict[str, Any]:
        """The twelve means, each in its field."""
        return dict(zip(MONTHS, row.monthly_mean_c or (), strict=False))

    def values(self) -> dict[str, Any]:
        """The means as one list; no bench counts as none."""
        values = super().values()
        means = [values.pop(name) for name in MONTHS]
        typed = any(mean is not None for mean in means)
        return {
            **values,
            "bench_area_m2": values["bench_area_m2"] or 0.0,
            "monthly_mean_c": means if typed else None,
        }

    def refuse(self, errors: Mapping[str, str]) -> None:
        """What is wrong with the means stands at the first one that is missing."""
        missing = next((name for name in MONTHS if self._fields[name].data is None), MONTHS[0])
        super().refuse({missing if name == "monthly_mean_c" else name: told for name, told in errors.items()})

    def show(self, column: str, value: Any) -> str:
        """The means in one line."""
        if column == "monthly_mean_c" and value:
            return means_text(value)
        return super().show(column, value)

    def labels(self) -> dict[str, str]:
        """With the means' common label."""
        return {**super().labels(), "monthly_mean_c": str(self.groups[2].legend)}


def means_text(means: Sequence[float]) -> str:
    """Twelve temperatures with their months."""
    return (
        " · ".join(f"{month_name(month)} {format_number(mean, 1)}" for month, mean in enumerate(means, 1)) + " °C"
    )
