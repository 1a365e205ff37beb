"""`comeback readout` as a user runs it; the adapter is a scripted peer of our own behind a pseudo-terminal."""

import json
import os
import select
import threading

import pytest

from comeback.cli import exit_codes
from comeback.cli.readout import adapter as adapters
from comeback.cli.readout.adapter import Adapter

CAR = {
    "ATZ": "ATZ\r\rv1.5", "ATE0": "ATE0\rOK", "ATI": "v1.5",
    "0100": "SEARCHING...\r7E8 06 41 00 BE 3F A8 13", "0120": "7E8 06 41 20 80 01 80 01",
    "0140": "7E8 06 41 40 40 04 00 00",
    "03": "7E8 06 43 02 01 71 05 07", "07": "7E8 02 47 00", "0A": "7E8 02 4A 00", "0101": "7E8 06 41 01 82 07 65 04",
    "020200": "7E8 05 42 02 00 01 71", "020C00": "7E8 05 42 0C 00 0B 54", "020D00": "7E8 04 42 0D 00 00",
    "020400": "7E8 04 42 04 00 40", "0130": "7E8 03 41 30 28", "0131": "7E8 04 41 31 00 C8",
    "0121": "7E8 04 41 21 00 2A",
    "010C": "7E8 04 41 0C 11 94", "010D": "7E8 03 41 0D 00", "0103": "7E8 04 41 03 02 00", "0105": "7E8 03 41 05 7B",
    "010F": "7E8 03 41 0F 3E", "010B": "7E8 03 41 0B 34", "0106": "7E8 03 41 06 85", "0107": "7E8 03 41 07 97",
    "0110": "7E8 04 41 10 02 58",
}  # fmt: skip
"""A lean engine idling at 1125 rpm: P0171 and P0507, trims +22 %, 52 kPa."""


class Peer:
    """Answers commands from a table; `pull` closes its end at that command, `noise` answers with that instead."""

    def __init__(self, answers, pull=None, noise=None):
        self.answers, self.pull, self.noise = dict(answers), pull, noise
        self.asked = []
        self.master, self.slave = os.openpty()
        self.port = os.ttyname(self.slave)
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self):
        waiting = b""
        while not self._over.is_set():
            if not select.select([self.master], [], [], 0.05)[0]:
                continue
            try:
                waiting += os.read(self.master, 256)
            except OSError:
                return
            while b"\r" in waiting:
                line, _, waiting = waiting.partition(b"\r")
                command = line.decode("latin-1")
                self.asked.append(command)
                if command == self.pull:
                    self._close()
                    return
                os.write(self.master, self._answer(command))

    def _answer(self, command):
        if self.noise is not None:
            return self.noise
        return f"{self.answers.get(command, 'OK' if command.startswith('AT') else 'NO DATA')}\r\r>".encode()

    def _close(self):
        for end in (self.slave, self.master):
            os.close(end)
        self.slave = self.master = -1

    def stop(self):
        self._over.set()
        self._thread.join(2)
        if self.master >= 0:
            self._close()


@pytest.fixture
def peer():
    pytest.importorskip("serial", reason="reading from a car needs the extra `car`")
    made = []

    def make(**how):
        made.append(Peer(CAR, **how))
        return made[-1]

    yield make
    for one in made:
        one.stop()


NEW = ("--service", "intake-cleaning", "--complaint", "high-idle")


def test_typed_codes_and_values_are_shown_with_band_and_reason(readout):
    code, out, _ = readout("P0171", "idle", "LTFT1=18%", "STFT1=4", "MAP=52kPa")
    assert code == exit_codes.DONE
    assert "Mixture too lean" in out
    assert "band 10 to 100 %" in out
    assert "bank 1 +22.0 %" in out
    assert "Not recorded" in out


def test_no_line_is_wider_than_the_screen(readout):
    _, out, _ = readout(
        "P0171", "P0300", "P1234", "U0100", "idle", "LTFT1=18%", "MAP=52", "CLEARKM=3", "WARMUPS=1", *NEW
    )
    assert max(map(len, out.splitlines())) < 80


def test_new_case_saves_evidence_before_answers(readout, events):
    code, out, _ = readout("P0171", "idle", "MAP=52", *NEW, "--json")
    assert code == exit_codes.DONE
    data = json.loads(out)
    kinds = [event.kind for event in events(data["case"])]
    assert kinds == ["opened", "service", "complaint", "evidence", "answered", "answered"]
    evidence = events(data["case"])[3].payload
    assert evidence["codes"] == {"typed": ["P0171"]}
    assert evidence["values"] == {"idle": {"MAP": 52.0}}
    assert evidence["raw"] == ["P0171", "idle", "MAP=52"]
    assert "idle-map" in data["recorded"]


def test_second_readout_goes_into_the_same_case_and_keeps_what_was_answered(readout, events):
    case = json.loads(readout("P0171", "idle", "MAP=52", *NEW, "--json")[1])["case"]
    code, out, _ = readout("idle", "MAP=33", "--case", case.lower())
    assert code == exit_codes.DONE
    assert "already answered" in out
    assert [e.kind for e in events(case)][-1] == "evidence"


def test_captured_log_with_two_control_units(readout, tmp_path):
    (tmp_path / "log.txt").write_text("> 03\n7E8 04 43 01 01 71\n7E9 04 43 01 07 00\n> 07\n7E8 02 47 00\nstatic\n")
    code, out, _ = readout("--from", tmp_path / "log.txt")
    assert code == exit_codes.DONE
    assert "unit 7E9: P0700" in out
    assert "1 lines were not understood" in out


def test_pasted_bytes_one_a_word(readout):
    out = readout("43", "01", "71", "03", "00", "00", "00")[1]
    assert "P0171" in out
    assert "P0300" in out


@pytest.mark.parametrize(
    ("since", "age"), [("200", "before"), ("350km", "before"), ("330 miles", "since"), ("530 km", "since")]
)
def test_the_odometer_is_read_in_miles_or_kilometers(readout, since, age):
    """The light is on for 500 km, 311 mi (1 mi is 1.609344 km by definition)."""
    out = " ".join(readout("MILKM=500", "--since-service", since)[1].split())
    assert "check-engine light on for 311 mi (500 km)" in out
    assert {"before": ": Longer than since", "since": ": Not longer than since"}[age] in out


def test_the_altitude_is_given_in_feet_or_meters(readout):
    """5000 ft are 1524 m."""
    typed = ("key-on", "MAP=85")
    feet, meters = (readout(*typed, "--altitude", height)[1] for height in ("5000", "1524m"))
    assert "standard air at 1524 m" in " ".join(feet.split())
    assert feet == meters


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "Nothing to read"),
        (("frog",), "'frog' is no code"),
        (("P0171", "--case", "ZZZZ"), "no case 'ZZZZ'"),
        (("P0171", "--service", "intake-cleaning"), "both --service and --complaint"),
        (("P0171", "--service", "soap", "--complaint", "high-idle"), "no service 'soap'"),
        (("--from", "nowhere.txt"), "nowhere.txt"),
        (("P0171", "--at", "fast"), "not an engine state"),
        (("P0171", "--altitude", "90000"), "no road"),
        (("P0171", "--since-service", "a week"), "is not a number"),
        (("--port", "/dev/not-there"), "cannot be opened"),
    ],
)
def test_mistakes_get_one_line_and_a_documented_exit_code(readout, arguments, said):
    if "--port" in arguments:
        pytest.importorskip("serial")
    code, _, err = readout(*arguments)
    assert code in (exit_codes.USAGE, exit_codes.FILES)
    assert said in err
    assert len(err.strip().splitlines()) == 1


def test_live_readout_through_an_adapter_fills_a_case(readout, events, peer):
    car = peer()
    code, out, err = readout("--port", car.port, *NEW, "--json")
    assert code == exit_codes.DONE, err
    data = json.loads(out)
    results = {found["check"]: found["result"] for found in data["findings"]}
    assert results["codes-lean"] == "lean"
    assert results["codes-idle"] == "high"
    assert results["trim-idle"] == "lean"
    assert results["idle-map"] == "high"
    assert results["freeze-frame"] == "at-idle"
    evidence = events(data["case"])[3]
    assert evidence.kind == "evidence"
    assert evidence.payload["readiness"]["incomplete"] == ["EVAP"]
    assert evidence.payload["freeze_frame"]["code"] == "P0171"
    assert "7E8 06 43 02 01 71 05 07" in evidence.payload["raw"]
    assert "04" not in car.asked
    assert "0902" not in car.asked


def test_pulled_cable_keeps_what_was_read(readout, events, peer):
    car = peer(pull="010B")
    code, out, err = readout("--port", car.port, *NEW, "--json")
    assert code == exit_codes.FILES
    assert "the adapter is gone" in err
    assert "04" not in car.asked
    data = json.loads(out)
    assert data["codes"]["stored"] == ["P0171", "P0507"]
    assert "codes-lean" in data["recorded"]
    assert events(data["case"])[3].payload["codes"]["stored"] == ["P0171", "P0507"]


@pytest.mark.parametrize(
    ("noise", "said"),
    [(b"\xf3\x00\x91\x87\xfe\xc3" * 4, "are garbled"), (b"", "no answer within"), (b"41 0C", "did not end")],
    ids=["wrong speed", "silent", "never ends"],
)
def test_peer_that_is_no_adapter_gets_one_clear_line(monkeypatch, readout, peer, noise, said):
    monkeypatch.setattr(adapters, "PATIENCE", 1.5)
    code, _, err = readout("--port", peer(noise=noise).port, "--baud", "38400")
    assert code == exit_codes.FILES
    assert said in err


class Recorder:
    """A stream that notes what is written and answers with an empty prompt."""

    def __init__(self):
        self.sent = []

    def write(self, data):
        self.sent.append(data)

    def read(self, size=1):
        return b">"

    def close(self):
        pass


@pytest.mark.parametrize("command", ["04", "0 4", "08 01", "10 03", "14FF00", "2E", "31", "ATPP", "ATCAF0", "03\r04"])
def test_whatever_does_more_than_read_never_reaches_the_wire(command):
    stream = Recorder()
    with pytest.raises(ValueError, match="more than read"):
        Adapter(stream, "test").ask(command)
    assert stream.sent == []


def test_interrupted_reading_keeps_what_was_read(readout, events, peer, monkeypatch):
    ask = Adapter.ask

    def stop(adapter, command, *more):
        if command == "010C":
            raise KeyboardInterrupt
        return ask(adapter, command, *more)

    monkeypatch.setattr(Adapter, "ask", stop)
    code, out, err = readout("--port", peer().port, *NEW, "--json")
    assert code == exit_codes.INTERRUPTED
    assert "kept" in err
    data = json.loads(out)
    assert events(data["case"])[3].payload["codes"]["stored"] == ["P0171", "P0507"]


def test_bytes_that_name_the_car_are_not_kept(readout, events, tmp_path):
    (tmp_path / "log.txt").write_text("49 02 01 " + "31 " * 17 + "\n43 01 71 00 00 00 00\n")
    case = json.loads(readout("--from", tmp_path / "log.txt", *NEW, "--json")[1])["case"]
    assert "raw" not in events(case)[3].payload


def test_adapter_that_cannot_be_opened_leaves_no_empty_readout_in_the_log(readout, tmp_path):
    pytest.importorskip("serial", reason="reading from a car needs the extra `car`")
    code, out, err = readout("--port", "/dev/not-there", *NEW)
    assert (code, out) == (exit_codes.FILES, "")
    assert "cannot be opened" in err
    assert not (tmp_path / "cases.db").exists() or "evidence" not in (tmp_path / "cases.db").read_bytes().decode(
        "latin-1"
    )
