"""Keys pressed without a terminal: prompt_toolkit's pipe input and dummy output, a log of its own each."""

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from comeback.cli.conversation import Conversation, LogOpener
from comeback.cli.look import Look
from comeback.cli.readers import TerminalReader
from comeback.engine.walk import Walk, open_walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience


@pytest.fixture(scope="session")
def knowledge():
    return load_knowledge()


@pytest.fixture
def log(tmp_path, monkeypatch):
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    opener = LogOpener(str(tmp_path / "cases.db"))
    yield opener
    if opener._log is not None:
        opener._log.engine.dispose()


@pytest.fixture
def press(knowledge, log, capsys):
    """press(audience, keys, case=None) -> (exit code, what was on the screen, the walk)."""

    def run(audience, keys, case=None):
        audience = Audience(audience)
        with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
            pipe.send_text(keys)
            walk = Walk(knowledge, log().events(case), audience) if case else open_walk(knowledge, audience)
            conversation = Conversation(walk, TerminalReader(), Look(), log, "Ida")
            if case:
                conversation.take_over()
            code = conversation.run()
        return code, capsys.readouterr().out, conversation.walk

    return run
