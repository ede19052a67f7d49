"""Where the site speaks of a provision or a condition: addresses that stay, relative to the top of the site."""

from __future__ import annotations

from urllib.parse import quote


def provision_page(name: str) -> str:
    """The page of a provision by its full name, such as `provisions/ibc.sensor-release.html`."""
    return f"provisions/{name}.html"


def page_of(identity: str) -> str:
    """The place of a provision, or of one of its conditions or values: `ibc.sensor-release/manual-release`."""
    name, slash, label = identity.partition("/")
    return provision_page(name) + (f"#{quote(label)}" if slash else "")
