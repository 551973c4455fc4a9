"""What a trial of the plan takes otherwise for some targets; nothing of it is written."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from nursery.planning.heavy import pd


@dataclass(frozen=True)
class Changes:
    """Container, protocol, assurance or season for some targets; None leaves each as the target has it."""

    targets: Collection[int]
    container_id: int | None = None
    protocol: str | None = None
    assurance: float | None = None
    season: int | None = None

    @property
    def is_empty(self) -> bool:
        """Whether everything stays as it is."""
        asked = (self.container_id, self.protocol, self.assurance, self.season)
        return not self.targets or all(one is None for one in asked)

    def made(self, targets: pd.DataFrame) -> pd.DataFrame:
        """The targets with the changes, in the order in which they are then served.

        A planting day that was pinned belongs to its season, and falls with it.
        """
        chosen = targets["target_id"].isin(list(self.targets))
        changed = targets.copy()
        for name in ("container_id", "protocol", "assurance", "season"):
            if (value := getattr(self, name)) is not None:
                kept = changed[name].astype(object)
                changed[name] = kept.where(~chosen, value)
        if self.season is None:
            return changed
        moved = chosen & (targets["season"] != self.season)
        changed["plant_on"] = changed["plant_on"].astype(object).where(~moved, None)
        changed["season"] = changed["season"].astype(int)
        served = ["priority", "season", "plant_on", "target_id"]
        return changed.sort_values(served, ignore_index=True, na_position="first")
