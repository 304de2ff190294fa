"""What an aircraft file may say: models of its sections, quantities with units, references."""

from holdshort.setup.catalogue import Shared
from holdshort.setup.load import FORMAT_KEY, Loaded, check_catalogue, load
from holdshort.setup.model import (
    Cable,
    ChannelEntry,
    FailsafeEntry,
    Fitted,
    LeadEnd,
    Place,
    Port,
    Setup,
)
from holdshort.setup.quantities import Quantity

__all__ = [
    "FORMAT_KEY",
    "Cable",
    "ChannelEntry",
    "FailsafeEntry",
    "Fitted",
    "LeadEnd",
    "Loaded",
    "Place",
    "Port",
    "Quantity",
    "Setup",
    "Shared",
    "check_catalogue",
    "load",
]
