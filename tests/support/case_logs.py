"""Logs and closed cases for the tests of the case log; loaded by path, as tests import no tests."""

import os
import random

import pytest
import sqlalchemy as sa

from comeback.engine.case.events import Draft

AT = "2026-03-02T08:15:00+01:00"
POSTGRES = os.environ.get("COMEBACK_TEST_POSTGRES", "")
"""URL of a throw-away PostgreSQL that .ci/run starts; the tests make databases of their own there."""


def fresh_postgres():
    """The URL of an empty PostgreSQL, or a skip that says how to have one."""
    if not POSTGRES:
        pytest.skip("no PostgreSQL: .ci/run starts one if its binaries are there (apt-get install postgresql)")
    pytest.importorskip("psycopg", reason="pip install '.[postgres]'")
    url = sa.make_url(POSTGRES).set(drivername="postgresql+psycopg")
    name = "tests_" + os.environ.get("PYTEST_XDIST_WORKER", "alone")  # each test process has a database of its own
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        connection.execute(sa.text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return url.set(drivername="postgresql", database=name).render_as_string(hide_password=False)


def closed_case(log, seed=1, cause="lamp-loose", result="turns", proven=True, shop=None):
    """A case opened, answered, repaired and closed; its id."""
    opening = {"car": "green hatchback", "audience": "bay"} | ({"shop": shop} if shop else {})
    first = log.open_case(Draft("opened", AT, "Ida", opening), "k1", random.Random(seed).choice)
    closed = {"complaint": "dark", "words": "no light", "causes": [cause], "repairs": ["screw-in-lamp"],
              "proven": proven}  # fmt: skip
    drafts = [
        Draft("service", AT, "Ida", {"service": "lamp-change"}),
        Draft("complaint", AT, "Ida", {"complaint": "dark", "words": "no light"}),
        Draft("answered", AT, "Ida", {"results": {"lamp-turns": result, "spark": None}, "audience": "bay"}),
        Draft("repaired", AT, "Ida", {"repair": "screw-in-lamp"}),
        Draft("answered", AT, "Ida", {"results": {"lamp-turns": "tight"}, "audience": "bay"}),
        Draft("closed", AT, "Ida", closed),
    ]
    log.append(first.case, 1, drafts, "k1")
    return first.case
