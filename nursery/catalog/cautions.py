"""Cautions printed where a task or a species can hurt; they defer to labels, local rules and trained people."""

from __future__ import annotations

from nursery.catalog.vocabulary import N_
from nursery.i18n import gettext

CAUTIONS: dict[str, str] = {
    "acid": N_(
        "Concentrated sulphuric acid burns and blinds: only trained people, with goggles, face shield, "
        "apron and acid-proof gloves, outdoors or under a hood; pour acid into water, never the reverse; "
        "follow the product label and local rules."
    ),
    "lye": N_(
        "Lye burns skin and eyes: wear goggles and gloves, add lye to water slowly, rinse the seed well; "
        "follow the product label and local rules."
    ),
    "hot-water": N_("Boiling water scalds: pour off the heat, away from others, with gloves and closed shoes."),
    "dry-heat": N_("Hot ovens and trays burn: use heat-proof gloves and keep flammable material away."),
    "sharp-tools": N_(
        "Cracking, clipping and cutting: cut away from the hand, wear cut-proof gloves and goggles."
    ),
    "toxic-sap": N_(
        "All parts are highly toxic, also sap, smoke and soaking water: wear gloves, never burn the "
        "waste, wash before eating."
    ),
    "toxic-seed": N_(
        "The stones are toxic when crushed or eaten: keep them and the washings from children and animals."
    ),
    "toxic-fruit": N_("The fruit is toxic to people: wear gloves when cleaning, do not eat it, label the lots."),
    "toxic-raw": N_(
        "Leaves, stems and raw seed are mildly toxic: wear gloves when cleaning, do not eat raw fruit."
    ),
    "spiny": N_("Spiny or prickly: wear thick gloves, long sleeves and eye protection."),
    "river": N_("River banks: work in pairs, watch the water level and the weather, mind soft banks and floods."),
    "climbing": N_(
        "Tall trees: collect from the ground with poles; climbing is for trained people with equipment."
    ),
    "ash-dieback": N_("Host of ash dieback: check the movement rules before seed or plants leave the area."),
    "water-hygiene": N_(
        "Phytophthora is spread by water and soil: clean boots and tools, use clean substrate and "
        "treated water, discard sick trays."
    ),
    "fire-blight": N_("Host of fire blight: check the rules of protected zones before plants are moved."),
    "xylella": N_(
        "Host of Xylella fastidiosa: check plant-passport and demarcated-area rules before plants are moved."
    ),
    "elm-disease": N_("Dutch elm disease: take material from healthy trees, use tolerant clones where available."),
    "flammable": N_(
        "Sticky and very flammable: no fire or sparks near cut material, mind allergies to the resin."
    ),
    "hybrids": N_("Hybrids are common: check the identity of each mother plant before collecting."),
    "empty-seed": N_("Many seeds are empty: make a cut test of each mother plant before collecting."),
}


def caution_text(key: str) -> str:
    """A caution in the reader's language."""
    return gettext(CAUTIONS[key])
