"""The trainer's sheet: a drill on paper, with the key and every answer that the car gives."""

from comeback.cli.drill import call_sheet as drill_call_sheet
from comeback.cli.drill.screens import abnormal, checks_of, story, title
from comeback.cli.look import Look, Styled
from comeback.cli.screens import wording
from comeback.engine.drill import record as drill_record
from comeback.engine.drill.drill import Drill, Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.rehearsal.rehearsal import needless_repairs
from comeback.engine.rehearsal.simulation import car_of
from comeback.engine.walk import steps
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience


def sheet(
    knowledge: KnowledgeBase, mode: str, seed: int, service: str | None, complaint: str | None, look: Look
) -> list[Styled]:
    """The sheet of the car that this seed hides: at the car, or the caller's lines for the phone."""
    kind = Mode.PHONE if mode == Mode.PHONE else Mode.FREE
    drill = drill_record.new_drill(knowledge, hide_car(knowledge, seed, service, complaint), kind)
    narrow = "".join(f" --{name} {given}" for name, given in (("service", service), ("complaint", complaint)) if given)
    command = f"comeback drill --mode {mode} --seed {seed}{narrow}"
    if isinstance(drill, PhoneDrill):
        return drill_call_sheet.lines(drill, command, look)
    return lines(drill, command, look)


def lines(drill: Drill, command: str, look: Look) -> list[Styled]:
    """What the trainer reads aloud, what the car answers, the key, and the marks to give."""
    out: list[Styled] = [("title", f"Trainer's sheet: drill with seed {drill.car.seed}")]
    out += [("faint", f"The same car: {command}   knowledge {drill.knowledge.version}")]
    out += [("plain", ""), ("title", "Read to the trainee")]
    out += [("plain", line) for name, text in story(drill) for line in look.wrap(text, 14, f"  {name}")]
    out += [("plain", ""), ("title", "When asked for the danger signs"), *_signs(drill, look)]
    out += [("plain", ""), ("title", "What the car answers until it is repaired"), *_answers(drill, look)]
    out += [("plain", ""), ("title", "Key"), *_key(drill, look)]
    out += [("plain", ""), ("title", "Marks"), *_marks(look)]
    return [*out, *(("faint", line) for line in look.wrap(wording.LIMITS))]


def _signs(drill: Drill, look: Look) -> list[Styled]:
    known, car = drill.knowledge.checks, car_of(drill.knowledge, drill.car.comeback)
    out: list[Styled] = []
    for check in drill.danger_checks():
        text = f"{known[check].name}: {known[check].results[car.result(check)]}"
        out += [("plain", line) for line in look.wrap(text, 4, "  ")]
    drill.look_at_signs()
    least = drill.knowledge.dispositions[drill.floor()].name
    best = drill.knowledge.dispositions[drill.best_advice()].name
    text = f"The least to be told about driving: {least}. The program tells: {best}."
    return [*out, *(("say", line) for line in look.wrap(text, 4, "  "))]


def _answers(drill: Drill, look: Look) -> list[Styled]:
    """Every bay check that is not as expected; all others are."""
    known, car = drill.knowledge.checks, car_of(drill.knowledge, drill.car.comeback)
    there = drill.walk.situation.network.observables
    names = [name for name in known if name in there and Audience.BAY in known[name].audience]
    shown = abnormal(drill, {name: car.result(name) for name in names}, every=False)
    texts = [f"{known[name].name}: {known[name].results[result]}" for name, result in shown]
    out: list[Styled] = [("plain", line) for text in texts for line in look.wrap(text, 4, "  ")]
    return [*out, ("say", "  Everything else is as it should be (the first result of each check).")]


def _key(drill: Drill, look: Look) -> list[Styled]:
    known = drill.knowledge
    out: list[Styled] = []
    for cause in sorted(drill.car.behind):
        entry = known.causes[cause]
        out += [("say", line) for line in look.wrap(f"{entry.name}. {entry.explain}", 4, "  ")]
    others = set(drill.car.comeback.causes) - drill.car.behind
    for cause in sorted(others):
        text = f"Also there, but not behind the complaint: {known.causes[cause].name}."
        out += [("plain", line) for line in look.wrap(text, 4, "  ")]
    out.append(("plain", f"  The program's path, {drill.car.minutes:.0f} min:"))
    for number, step in enumerate(drill.car.path, 1):
        after = drill.car.path[number].walk if number < len(drill.car.path) else None
        results = {c: after.situation.results.get(c) for c in checks_of(step.step)} if after else {}
        seen = abnormal(drill, results, len(results) == 1)
        tail = "; ".join(known.checks[c].results[r] for c, r in seen)
        text = f"{title(drill, step.step)}{' - ' + tail if tail else ''}"
        out += [("plain", line) for line in look.wrap(text, 8, f"  {number:3d}   ")]
    done = [p.step.repair for p in drill.car.path if isinstance(p.step, steps.DoRepair)]
    idle = needless_repairs(known, drill.car.comeback, done)
    return [*out, ("faint", f"  {len(done)} repairs, {idle} of them needless")]


def _marks(look: Look) -> list[Styled]:
    rows = (
        "[ ] danger signs first   [ ] cautions read first   [ ] advice not too mild",
        "    A miss of one of these three ends the drill.",
        "checks ____   minutes ____   checks that told nothing new ____",
        "conclusions while another cause was still 1 in 5 or more ____",
        "cause found  yes  no",
    )
    return [("plain", f"  {row}") for row in rows]
