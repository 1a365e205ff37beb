"""The trainer's sheet at the car: a drill on paper, with the key and every answer that the car gives."""

from collections.abc import Sequence

from comeback.cli.drill import call_sheet, words
from comeback.cli.drill.words import put
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.record import new_drill
from comeback.engine.rehearsal.rehearsal import needless_repairs
from comeback.engine.rehearsal.simulation import car_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

MARKS = (
    "[ ] danger signs first   [ ] cautions read first   [ ] advice not too mild",
    "    A miss of one of these three ends the drill.",
    "checks ____   minutes ____   checks that showed nothing new ____",
    "repairs while another cause was still 1 in 5 or more ____",
    "cause found  yes  no",
)


def sheets(
    knowledge: KnowledgeBase, mode: str, seeds: Sequence[int], service: str | None, complaint: str | None, look: Look
) -> list[Styled]:
    """The sheets of the cars that these seeds hide, one after the other: at the car, or the caller's lines."""
    narrow = "".join(f" --{name} {given}" for name, given in (("service", service), ("complaint", complaint)) if given)
    out: list[Styled] = []
    for number, seed in enumerate(seeds, 1):
        kind = Mode.PHONE if mode == Mode.PHONE else Mode.EXAM
        drill = new_drill(knowledge, hide_car(knowledge, seed, service, complaint), kind)
        of = f"exam, car {number} of {len(seeds)}, seed {seed}" if mode == Mode.EXAM else f"drill with seed {seed}"
        first = f" --seed {seeds[0]} --cars {len(seeds)}" if mode == Mode.EXAM else f" --seed {seed}"
        same = f"The same: comeback drill --mode {mode}{first}{narrow}   knowledge {knowledge.version}"
        head: list[Styled] = [("title", f"Trainer's sheet: {of}"), *(("faint", x) for x in look.wrap(same))]
        body = call_sheet.lines(drill, look) if isinstance(drill, PhoneDrill) else lines(drill, look)
        out += [*([("faint", look.rule)] if out else []), *head, *body]
    return [*out, *(("faint", line) for line in look.wrap(wording.LIMITS))]


def lines(drill: Drill, look: Look) -> list[Styled]:
    """What the trainer reads aloud, what the car answers, the key, and the marks to give."""
    out: list[Styled] = [("plain", ""), ("title", "Read to the learner"), *put(look, words.story(drill))]
    parts = (
        ("When asked for the danger signs", _signs(drill)),
        ("What the car answers until it is repaired", _answers(drill)),
        ("Key", _key(drill)),
    )
    return [*out, *words.parts_of_sheet(parts, MARKS, look)]


def _signs(drill: Drill) -> list[str]:
    car, names = car_of(drill.knowledge, drill.car.comeback), drill.knowledge.dispositions
    signs = list(words.seen(drill.knowledge, {check: car.result(check) for check in drill.danger_checks()}, True))
    drill.look_at_signs()
    least, best = names[drill.floor()].name, names[drill.best_advice()].name
    return [*signs, f"The least advice on driving by the signs: {least}. The program's advice: {best}."]


def _answers(drill: Drill) -> list[str]:
    """Every bay check that is not as it should be; all others are."""
    known, car = drill.knowledge.checks, car_of(drill.knowledge, drill.car.comeback)
    names = [name for name in known if name in drill.walk.view.network.observables]
    results = {name: car.result(name) for name in names if Audience.BAY in known[name].audience}
    rest = "Everything else is OK (the first result of each check)."
    return [*words.seen(drill.knowledge, results, False), rest]


def _key(drill: Drill) -> list[str]:
    """What was wrong, and the program's path with what it showed."""
    known, car = drill.knowledge, drill.car
    others = sorted(set(car.comeback.causes) - car.behind)
    out = [f"{known.causes[cause].name}. {known.causes[cause].explain}" for cause in sorted(car.behind)]
    out += [f"Also there, but not behind the complaint: {known.causes[cause].name}." for cause in others]
    out.append(f"The program's path, {car.minutes:.0f} min:")
    for number, played in enumerate(car.path, 1):
        results = {check: played.after.view.results.get(check) for check in words.checks_of(played.step)}
        seen = "; ".join(text.partition(": ")[2] for text in words.seen(known, results, len(results) == 1))
        out.append(f"{number:3d}  {words.title(known, played.step)}{f' - {seen}' if seen else ''}")
    idle = needless_repairs(known, car.comeback, list(car.repairs))
    return [*out, f"{words.count(len(car.repairs), 'repair')}, {idle} of them unneeded"]
