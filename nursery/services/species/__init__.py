"""Species: what the catalogue holds of them, and the figures a nursery sets against it."""

from nursery.services.species.figures import FigureView, view_figure, view_figures
from nursery.services.species.listing import SpeciesQuery, SpeciesRow, list_species
from nursery.services.species.reading import SpeciesView, read_species
from nursery.services.species.writing import set_figure, take_back_figure

__all__ = [
    "FigureView",
    "SpeciesQuery",
    "SpeciesRow",
    "SpeciesView",
    "list_species",
    "read_species",
    "set_figure",
    "take_back_figure",
    "view_figure",
    "view_figures",
]
