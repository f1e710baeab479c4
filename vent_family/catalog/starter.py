"""What a folder begins with: rows of each family, a fan curve, a table of the shop's rates."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

CATALOGUE: Final = "catalog.csv"
FAN: Final = "fan.csv"
SHOP: Final = "shop.toml"
_FAN_FROM: Final = "tank-hall-92.csv"
_FAN_NOTE: Final = """\
# A fan curve to start from. Put in your fan's: flow and pressure from its data sheet.
# A row of the catalogue names the file in its column fan.
"""
_SHOP_NOTE: Final = """\
# A shop table to start from. EVERY RATE IN IT IS INVENTED: put in your own before you trust any
# price, and pass it with --shop shop.toml.

"""


def starter_files() -> dict[str, bytes]:
    """Return the files by name, as they are written.

    Fan curve and shop table are copies of the packaged ones, with a note in front.

    Examples
    --------
    >>> sorted(starter_files())
    ['catalog.csv', 'fan.csv', 'shop.toml']
    """
    package = files("vent_family")
    fan = (package / "fans" / _FAN_FROM).read_bytes()
    shop = (package / "base" / SHOP).read_bytes()
    return {
        CATALOGUE: (package / "starter" / CATALOGUE).read_bytes(),
        FAN: _FAN_NOTE.encode() + fan,
        SHOP: _SHOP_NOTE.encode() + shop,
    }
