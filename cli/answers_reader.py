"""Answers by id from a YAML file, in place of a person at the keyboard."""

from comeback.cli.errors import UsageError
from comeback.cli.files import read_text
from comeback.engine.walk import steps
from comeback.engine.walk.closing import alternatives
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience
from comeback.kb.yaml.reader import read_yaml

LOOKING = steps.ChooseCondition | steps.MakeCheck | steps.ReadPanel | steps.LookRound | steps.DoRepair | steps.HandOver
"""Steps before which something else that was found can be told."""


class AnswersReader:
    """Answers by id from a YAML file: `service: ...`, `complaint: ...`, a check id, a repair id.

    An answer that only holds after the k-th repair is given as `check-id@k`, after a certain one as
    `check-id@repair-id`. Red flags may be given one by one; those not mentioned are "none".
    `otherwise: d` (don't know) or `otherwise: expected` (nothing wrong) answers everything that is
    not listed. `pause` leaves the case there, saved. `unasked: tell` tells the checks that are listed
    even if the walk in the bay would not ask for them.
    """

    interactive = False
    scripted = True

    def __init__(self, file: str) -> None:
        data = read_yaml(read_text(file), file).data or {}
        if not isinstance(data, dict):
            raise UsageError(f"{file}: an answers file is made of `id: answer` lines. This one isn't.")
        self.file = file
        self.answers = {str(key): str(value) for key, value in data.items()}
        self._again = ("", "")
        self._times = 0

    def ask(self, walk: Walk | None) -> str:
        """The file's answer to the walk's step; UsageError if it has none or it was not accepted."""
        assert walk is not None
        keys, untold = answer_keys(walk), self._untold(walk)
        if untold and keys[0] not in self.answers:
            return self._once("unasked", f"saw {untold}", untold)
        for key in keys:
            if key in self.answers:
                return self._once(key, _typed(walk, self.answers[key]), keys[0])
        match walk.step:
            case steps.DangerScreen(checks=checks):
                return self._once("danger signs", self._typed(walk, checks) or "n")
            case (steps.LookRound() | steps.ProofRound()) as step if any(
                self._listed(walk, check) is not None for check in step.checks
            ):
                rest = self.answers.get("otherwise", "d")
                return self._once(step.checks[0], self._typed(walk, step.checks, rest) or "y")
            case steps.ReadPanel(panel=panel, checks=checks) if any(check in self.answers for check in checks):
                given = [f"{check}:{self.answers[check]}" for check in checks if check in self.answers]
                return self._once(panel, " ".join(given))
            case steps.CloseCase() as step if alternatives(walk.knowledge, step):
                return self._once(keys[0], "d")  # nobody said which of them it was
            case steps.Advise() | steps.CloseCase() | steps.HandOver():
                return self._once(keys[0], "y")
        if "otherwise" in self.answers:
            return self._once(keys[0], self._otherwise(walk))
        raise UsageError(f"{self.file}: no answer for '{keys[0]}'. Add the line `{keys[0]}: ...`.")

    def _untold(self, walk: Walk) -> str | None:
        """With `unasked: tell` the next check of the bay that is listed and not yet on record."""
        if (
            self.answers.get("unasked") != "tell"
            or walk.audience is not Audience.BAY
            or not isinstance(walk.step, LOOKING)
        ):
            return None
        told, checks = {answer.check for answer in walk.case.answers}, walk.knowledge.checks
        here = (name for name in self.answers if name in walk.view.network.observables and name not in told)
        return next((name for name in here if Audience.BAY in checks[name].audience), None)

    def _otherwise(self, walk: Walk) -> str:
        """`d`, or with `otherwise: expected` what a car with nothing wrong would give."""
        given = self.answers["otherwise"]
        match walk.step:
            case _ if given != "expected":
                return given
            case steps.MakeCheck(check=check):
                return walk.knowledge.checks[check].expected
            case steps.ProveRepair(result=result):
                return result
            case steps.ReadPanel():
                return "n"
            case steps.LookRound() | steps.ProofRound():
                return "y"
            case steps.ChooseCondition():
                return "d"
        return given

    def _once(self, key: str, text: str, step: str = "") -> str:
        """A step that asks the same thing again did not accept the answer. Raises EOFError for `pause`."""
        if text == "pause":
            raise EOFError
        self._times = self._times + 1 if (key, step) == self._again else 0
        self._again = key, step  # one line may answer several steps, as `repair: skip` does
        if self._times > 1:
            raise UsageError(f"{self.file}: '{text}' is not an answer for '{key}'. Correct that line.")
        return text

    def _listed(self, walk: Walk, check: str) -> str | None:
        """The answer listed for one of several checks on the screen."""
        return next((self.answers[key] for key in check_keys(walk, check) if key in self.answers), None)

    def _typed(self, walk: Walk, checks: tuple[str, ...], otherwise: str = "expected") -> str:
        """Results as they are typed on a screen of several checks; `otherwise`: of those that are not listed."""
        tokens = []
        for number, name in enumerate(checks, 1):
            check, given = walk.knowledge.checks[name], self._listed(walk, name) or otherwise
            if given in (check.expected, "expected"):
                continue
            if given in ("d", "don't know"):
                tokens.append(f"{number}?")
            elif given in check.names:
                letter = "abcdefg"[check.names.index(given) - 1] if len(check.names) > 2 else ""
                tokens.append(f"{number}{letter}")
            elif check.reading is not None:
                tokens.append(f"{number}={given.replace(' ', '')}")
            else:
                raise UsageError(f"{self.file}: '{given}' is not a result of '{name}'. Use: {', '.join(check.names)}.")
        return " ".join(tokens)


def _typed(walk: Walk, given: str) -> str:
    """A result by its number, since its id may be a command at the prompt, such as `open`."""
    if isinstance(walk.step, steps.MakeCheck | steps.ProveRepair):
        check = walk.knowledge.checks[walk.step.check]
        if given in check.names and check.reading is None:
            return str(check.names.index(given) + 1)
    return given


def check_keys(walk: Walk, check: str) -> tuple[str, ...]:
    """Ids by which an answers file may answer the check now, the most exact first."""
    now, step = f"{check}@{walk.case.epoch}", walk.step
    if isinstance(step, steps.ProveRepair | steps.ProofRound):
        return (f"{check}@{step.repair}", now)
    after = [f"{check}@{done.repair}" for done in reversed(walk.case.repairs)]
    return (now, *after, check) if after else (check, now)


def answer_keys(walk: Walk) -> tuple[str, ...]:
    """Ids by which an answers file may answer the current step, the most exact first."""
    now = f"@{walk.case.epoch}"
    match walk.step:
        case steps.ChooseService():
            return ("service",)
        case steps.ChooseComplaint():
            return ("complaint",)
        case steps.ChooseCondition(feature=feature):
            return (feature,)
        case steps.DangerScreen(retry=retry):
            return ("danger-signs-again", "danger-signs") if retry else ("danger-signs",)
        case steps.LookRound(checks) | steps.ProofRound(checks=checks):
            return (check_keys(walk, checks[0])[-1] + ", and what shares its screen",)
        case steps.MakeCheck(check=check) | steps.ProveRepair(check=check):
            return check_keys(walk, check)
        case steps.ReadPanel(panel=panel):
            return (panel + now, panel)
        case steps.DoRepair(repair=repair):
            return (repair, "repair")
        case steps.Advise():
            return ("advice",)
        case steps.HandOver():
            return ("hand-over",)
        case _:
            return ("close",)
