"""Hazards on paper: which cautions a step has, and the warning boxes that stand before it."""

from collections.abc import Iterable, Iterator

from comeback.diagrams.captions import Caption, Captions, Kind, within
from comeback.diagrams.phrases import AS_BEFORE
from comeback.engine import steps
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, SignalWord

SIGN = "▲"
"""Stands for the safety alert symbol; a NOTICE has none, since nobody gets hurt."""


def cautions(captions: Captions, step: steps.Step) -> tuple[str, ...]:
    """Cautions that stand before the step, each once; a caller handles nothing, so has none."""
    if captions.audience is Audience.PHONE:
        return ()
    return tuple(dict.fromkeys(_cautions(captions.knowledge, step)))


def _cautions(knowledge: KnowledgeBase, step: steps.Step) -> Iterator[str]:
    checks, set_ups, repairs = knowledge.checks, knowledge.set_ups, knowledge.repairs
    match step:
        case steps.DangerScreen(names):
            for name in names:
                yield from checks[name].cautions
        case steps.MakeCheck(check=check, set_up=needed):
            for name in needed:
                yield from set_ups[name].cautions
            yield from checks[check].cautions
        case steps.ProveRepair(check=check):
            for name in checks[check].set_up:
                yield from set_ups[name].cautions
            yield from checks[check].cautions
        case steps.ReadPanel(checks=names, set_up=needed):
            for name in needed:
                yield from set_ups[name].cautions
            for name in names:
                yield from checks[name].cautions
        case steps.DoRepair(repair=repair):
            yield from repairs[repair].cautions
        case steps.HandOver(repair=str(repair)):
            yield from repairs[repair].cautions


def warnings(captions: Captions, names: Iterable[str], seen: dict[str, int], number: int) -> tuple[Caption, ...]:
    """Warning boxes before step `number`: in full the first time on a page, then one reminder for all.

    The gravest comes first. `seen` maps a caution to the step that it stood before on this page; it is added to.
    """
    order = list(SignalWord)
    gravest = sorted(names, key=lambda name: order.index(captions.knowledge.cautions[name].word))
    new = [name for name in gravest if name not in seen]
    old = [name for name in gravest if name in seen]
    boxes = [_full(captions, name) for name in new]
    if old:
        boxes.append(_reminder(captions, old, max(seen[name] for name in old)))
    seen.update(dict.fromkeys(new, number))
    return tuple(boxes)


def _full(captions: Captions, name: str) -> Caption:
    caution = captions.knowledge.cautions[name]
    title = signal(caution.word)
    return Caption(Kind.WARNING, title, within(title, (caution.avoid, caution.consequence)))


def _reminder(captions: Captions, names: list[str], number: int) -> Caption:
    word = captions.knowledge.cautions[names[0]].word
    plain = ", ".join(name.replace("-", " ") for name in names)
    return Caption(Kind.REMINDER, AS_BEFORE.format(word=signal(word), number=number, names=plain))


def signal(word: SignalWord) -> str:
    """The signal word with its symbol."""
    return word.value if word is SignalWord.NOTICE else f"{SIGN} {word.value}"
