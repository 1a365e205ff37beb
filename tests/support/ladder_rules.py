"""What must hold for any ladder, told as a list of what does not."""

from comeback.engine.charts.cars import cars_of
from comeback.engine.charts.ladder import END, Kind, Ladder
from comeback.engine.charts.offers import Offers
from comeback.engine.charts.strip import start, without_signs
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience


def broken(knowledge: KnowledgeBase, ladder: Ladder) -> list[str]:
    """What is wrong with a bay ladder, read from its data."""
    out = [
        f"numbers {[one.number for one in ladder.stations]}"
        for _ in [0]
        if [one.number for one in ladder.stations] != [*range(1, len(ladder.stations) + 1)]
    ]
    out += _reached(ladder)
    view = without_signs(start(knowledge, ladder.service, ladder.complaint, Audience.BAY), ladder.dangers)
    offers = Offers(cars_of(view))
    for station in ladder.stations:
        for row in station.rows:
            out += [f"{row.check} {name} is no result" for name in row.results if name not in _names(knowledge, row)]
            for result in row.results:
                own = offers.own.get((row.check, result), ())
                if own and not set(own) & set(row.repairs) and station.kind is not Kind.CODES:
                    out.append(f"step {station.number}: {row.check} {result} seen, but {row.repairs} done")
                if row.repairs and offers.keeps_off(knowledge.checks[row.check], result, row.repairs) > row.stays_off:
                    out.append(f"step {station.number}: {row.check} {result} does not keep the engine off")
            if not (row.repairs or row.to or row.stays_off):
                out.append(f"step {station.number}: {row.check} {row.results} leads nowhere")
        made: list[str] = []
        for check in station.checks:
            made.append(check)
            late = [name for name in knowledge.checks[check].needs if name in station.checks and name not in made]
            out += [f"step {station.number}: {check} before {name}" for name in late]
        running = [knowledge.checks[check].runs_engine for check in station.checks]
        if any(running) and not station.runs_engine:
            out.append(f"step {station.number} runs the engine and does not say so")
        if running != sorted(running):
            out.append(f"step {station.number} runs the engine before it is looked at with it off")
    return out


def _names(knowledge: KnowledgeBase, row: object) -> tuple[str, ...]:
    return knowledge.checks[row.check].names  # type: ignore[attr-defined]


def _reached(ladder: Ladder) -> list[str]:
    """Stations that nothing leads to, or that lead back."""
    led = {1} | {one.then for one in ladder.stations} | {row.to for one in ladder.stations for row in one.rows}
    out = [f"nothing leads to {one.number}" for one in ladder.stations if one.number not in led]
    places = {one.number: k for k, one in enumerate(ladder.trunk)}
    for one in ladder.trunk:
        if one.then != END and places[one.then] != places[one.number] + 1:
            out.append(f"{one.number} leads to {one.then}")
        for row in one.rows:
            if row.to and ladder.station(row.to).then != one.then:
                out.append(f"{row.to} does not lead back to {one.then}")
    return out
