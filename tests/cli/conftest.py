"""Keys pressed without a terminal: prompt_toolkit's pipe input and dummy output, a log of its own each."""

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli import main
from comeback.cli.command_line import run
from comeback.cli.look import Look
from comeback.cli.prompt.log_opener import LogOpener
from comeback.cli.prompt.loop import run as run_prompt
from comeback.cli.prompt.resume import take_over
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.readers import TerminalReader
from comeback.engine.case_log.store import open_log
from comeback.engine.walk.walk import Walk, open_walk
from comeback.kb.vocabulary import Audience


@pytest.fixture
def log(tmp_path, monkeypatch):
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    opener = LogOpener(str(tmp_path / "cases.db"))
    yield opener
    if opener._log is not None:
        opener._log.engine.dispose()


@pytest.fixture
def press(knowledge, log, capsys):
    """press(audience, keys, case=None, known=None, **settings) -> (exit code, what was on the screen, the walk).

    `known`: other knowledge than the shipped one; settings are fields of the session.
    """

    def run(audience, keys, case=None, known=None, **settings):
        audience, known = Audience(audience), known or knowledge
        with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
            pipe.send_text(keys + "\x04")  # Ctrl-D: keys that run out end the sitting instead of waiting for more
            walk = Walk(known, log().events(case), audience) if case else open_walk(known, audience)
            reader = settings.pop("reader", None) or TerminalReader()
            by = settings.pop("by", "Ida")
            session, state = PromptSession(reader, Look(), log, by, **settings), ScreenState(walk)
            code, state = run_prompt(session, take_over(session, state) if case else state)
        return code, capsys.readouterr().out, state.walk

    return run


@pytest.fixture
def readout(tmp_path, monkeypatch, capsys):
    """readout(*arguments) -> (exit code, output, errors); cases are kept in a log of the test's own."""
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    monkeypatch.setenv("COMEBACK_BY", "Ben")

    def call(*arguments):
        code = run(["readout", *map(str, arguments)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.fixture
def events(tmp_path):
    """events(case id) -> all events of the case."""

    def read(case):
        log = open_log(tmp_path / "cases.db")
        found = log.events(case)
        log.engine.dispose()
        return found

    return read


@pytest.fixture
def comeback(tmp_path, monkeypatch, capsys):
    """comeback(arguments ...) -> (exit code, standard output, standard error), in a folder and log of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    monkeypatch.setenv("COMEBACK_BY", "Ida")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def run(*arguments):
        try:
            code = main([*arguments])
        except SystemExit as end:
            code = int(end.code)
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        assert "should not happen" not in said.err, said.err
        return code, said.out, said.err

    return run
