"""What could be done now, and the step for what was chosen of it."""

from collections.abc import Iterable

from comeback.engine.choosing.valuation import CheckOption, Valuation, value_options
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.steps import ChooseCondition, MakeCheck, ReadPanel
from comeback.kb.vocabulary import FEATURES


def valued(
    view: CaseView,
    askable: list[str] | None = None,
    retry: bool = False,
    running: bool = True,
    power: bool = True,
    paid: Iterable[str] = (),
) -> Valuation:
    """What could be done now; `askable`: the checks to look at.

    Without `running` nothing that runs the engine, without `power` nothing with the ignition on either. `paid`:
    set-ups that cost nothing more, as they are needed in any case.
    """
    checks, repairs, known = view.askable(retry) if askable is None else askable, view.repairs(), view.knowledge
    if not running:
        off = (lambda name: known.checks[name].runs_engine) if power else known.switches_on
        checks = [name for name in checks if not off(name)]
        repairs = [name for name in repairs if not view.runs_engine(name)]
    return value_options(
        known, view.network, view.evidence, checks, repairs, view.standing_set_ups | {*paid}, view.sets,
        view.audience,
    )  # fmt: skip


def make_check(view: CaseView, option: CheckOption) -> MakeCheck | ReadPanel:
    """The step for a chosen option: one check, or a panel on one screen."""
    checks = view.knowledge.checks
    new = view.missing(name for check in option.checks for name in checks[check].set_up)
    despite = view.despite(any(checks[check].runs_engine for check in option.checks))
    if option.panel is not None and len(option.checks) > 1:
        return ReadPanel(option.panel, option.checks, option.minutes, option.gain, new, despite)
    return MakeCheck(option.checks[0], option.minutes, option.gain, option.chances, new, despite=despite)


def condition_first(view: CaseView, entry: str) -> ChooseCondition | None:
    """A vehicle condition that the chosen check or repair hangs on and nobody has asked."""
    case, known = view.case, view.knowledge
    chosen = known.checks.get(entry) or known.repairs[entry]
    unknown = (f for f in chosen.only_if if f not in dict(case.vehicle) and f not in case.unknown_conditions)
    feature = next(unknown, None)
    return ChooseCondition(feature, FEATURES[feature]) if feature else None
