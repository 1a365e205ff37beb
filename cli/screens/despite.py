"""The box that stands first on a step that runs the engine although a danger sign says to keep it off."""

from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.cli.screens.spoken import sign_aloud, worst
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Disposition, SignalWord


def signs_against(step: steps.Step) -> tuple[str, ...]:
    """The danger signs despite which the step runs the engine."""
    match step:
        case steps.MakeCheck() | steps.ReadPanel() | steps.DoRepair() | steps.ProveRepair():
            return step.despite
    return ()


def despite_lines(walk: Walk, look: Look) -> list[Styled]:
    """DANGER if one of the signs sends people away from the car, else WARNING; nothing if no sign stands."""
    signs = [sign for sign in signs_against(walk.step) if sign in walk.knowledge.checks]
    if not signs:
        return []
    checks, results = walk.knowledge.checks, walk.view.results
    seen = {sign: results.get(sign) or worst(checks[sign]) for sign in signs}
    grave = any(checks[sign].red_flag.get(result) is Disposition.GET_CLEAR for sign, result in seen.items())
    word = (SignalWord.DANGER if grave else SignalWord.WARNING).value
    lead = f"{look.alert} {word}  "
    named = "; ".join(sign_aloud(checks[sign], result) for sign, result in seen.items())
    text = wording.DESPITE.format(signs=named[:1].upper() + named[1:])
    return [("caution", line) for line in look.wrap(text, len(lead), lead)]
