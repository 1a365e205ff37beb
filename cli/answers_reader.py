"""Answers by id from a YAML file, in place of a person at the keyboard."""

from collections.abc import Mapping
from typing import Any

from comeback.cli.errors import UsageError
from comeback.cli.text_files import read_text
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.yaml.reader import read_yaml


class AnswersReader:
    """Answers by id from a YAML file: `service: ...`, `complaint: ...`, a check id, a repair id.

    An answer that only holds after the k-th repair is given as `check-id@k`. Red flags may be given
    one by one; those not mentioned are "none". `otherwise: d` (don't know) or `otherwise: expected`
    (nothing wrong) answers everything that is not listed.
    """

    interactive = False
    scripted = True

    def __init__(self, file: str) -> None:
        self.file = file
        self.answers = _read_answers(file)
        self._again: str | None = None
        self._times = 0

    def ask(self, walk: Walk | None) -> str:
        """The file's answer to the walk's step; UsageError if it has none or it was not accepted."""
        assert walk is not None
        keys = answer_keys(walk)
        for key in keys:
            if key in self.answers:
                return self._once(key, self.answers[key])
        if isinstance(walk.step, steps.DangerScreen):
            return self._once("danger signs", self._danger(walk, walk.step.checks))
        if isinstance(walk.step, steps.ReadPanel) and any(check in self.answers for check in walk.step.checks):
            given = [f"{c}:{self.answers[c]}" for c in walk.step.checks if c in self.answers]
            return self._once(walk.step.panel, " ".join(given))
        if isinstance(walk.step, steps.Advise | steps.CloseCase | steps.HandOver):
            return self._once(keys[0], "y")
        if "otherwise" in self.answers:
            return self._once(keys[0], self._otherwise(walk))
        raise UsageError(f"{self.file}: no answer for '{keys[0]}'. Add the line `{keys[0]}: ...`.")

    def _otherwise(self, walk: Walk) -> str:
        """`d`, or with `otherwise: expected` what a car with nothing wrong would give."""
        given = self.answers["otherwise"]
        match walk.step:
            case steps.MakeCheck(check=check) if given == "expected":
                return walk.knowledge.checks[check].expected
            case steps.ProveRepair(result=result) if given == "expected":
                return result
            case steps.ReadPanel() if given == "expected":
                return "n"
            case steps.ChooseCondition() | steps.MakeCheck() if given == "expected":
                return "d"
        return given

    def _once(self, key: str, text: str) -> str:
        """A step that asks the same thing again did not accept the answer."""
        self._times = self._times + 1 if key == self._again else 0
        self._again = key
        if self._times > 1:
            raise UsageError(f"{self.file}: '{text}' is not an answer for '{key}'. Correct that line.")
        return text

    def _danger(self, walk: Walk, checks: tuple[str, ...]) -> str:
        tokens = []
        for number, name in enumerate(checks, 1):
            check, given = walk.knowledge.checks[name], self.answers.get(name)
            if given is None or given == check.expected:
                continue
            if given in ("d", "don't know"):
                tokens.append(f"{number}?")
            elif given in check.names:
                letter = "abcdefg"[check.names.index(given) - 1] if len(check.names) > 2 else ""
                tokens.append(f"{number}{letter}")
            else:
                raise UsageError(f"{self.file}: '{given}' is not a result of '{name}'. Use: {', '.join(check.names)}.")
        return " ".join(tokens) or "n"


def answer_keys(walk: Walk) -> tuple[str, ...]:
    """Ids by which an answers file may answer the current step, the most exact first."""
    match walk.step:
        case steps.ChooseService():
            return ("service",)
        case steps.ChooseComplaint():
            return ("complaint",)
        case steps.ChooseCondition(feature=feature):
            return (feature,)
        case steps.DangerScreen(retry=retry):
            return ("danger-signs-again", "danger-signs") if retry else ("danger-signs",)
        case steps.MakeCheck(check=check):
            return (
                (check, f"{check}@{walk.case.epoch}") if not walk.case.epoch else (f"{check}@{walk.case.epoch}", check)
            )
        case steps.ProveRepair(check=check):
            return (f"{check}@{walk.case.epoch}",)
        case steps.ReadPanel(panel=panel):
            return (f"{panel}@{walk.case.epoch}", panel)
        case steps.DoRepair(repair=repair):
            return (repair, "repair")
        case steps.Advise():
            return ("advice",)
        case steps.HandOver():
            return ("hand-over",)
        case _:
            return ("close",)


def _read_answers(file: str) -> Mapping[str, str]:
    data: Any = read_yaml(read_text(file), file).data or {}
    if not isinstance(data, dict):
        raise UsageError(f"{file}: an answers file is made of `id: answer` lines. This one isn't.")
    return {str(key): str(value) for key, value in data.items()}
