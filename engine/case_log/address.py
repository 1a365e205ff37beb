"""Where a case log is kept, in words: a file as it is named, a database without its name and password."""

HIDDEN = "..."


def is_database(place: str) -> bool:
    """True for the URL of a database (`postgresql://...`), False for a file."""
    return "://" in place


def shown(place: str) -> str:
    """The place for screens, messages and files: of a URL only scheme, host, port and database.

    Name, password and everything behind `?` are left out, as a password may stand in any of them. A URL that can be
    read in two ways (`?` or `@` in a password that is not written as `%3F`, `%40`) shows its scheme alone.
    """
    scheme, _, rest = place.partition("://")
    if not is_database(place) or scheme == "sqlite":
        return place
    before, _, server = rest.rpartition("@")
    server = server.partition("?")[0]
    port = server.partition("/")[0].rpartition("]")[2].partition(":")[2]  # behind the ] of an IPv6 address
    unclear = "?" in before or "@" in before or (port and not port.isdecimal())
    return f"{scheme}://{HIDDEN if unclear else server}"
