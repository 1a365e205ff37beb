"""Invented knowledge of any size with realistic sparsity, in memory; same arguments, same knowledge.

Causes belong to regions of the car. A region has one symptom that its complaint reports, shown by 10 to
25 causes (those of the region and some from elsewhere), and its own checks. A cause shows in 6 to 10
checks: its symptom, mostly checks of its region, a few from elsewhere. Two or three results; five
set-ups; one repair per cause, every fifth removes its neighbour too. Nothing here is a fact.
"""

import numpy as np

from comeback.kb.schema import Advice, Cause, Check, Complaint, KnowledgeBase, Proof, Repair, Service, Settings, SetUp
from comeback.kb.schema import Step as ServiceStep
from comeback.kb.vocabulary import Audience, CauseKind, Disposition, Tier

REGION = 13
"""Causes of a region; others show its symptom too, so that 10 to 25 share it."""
SET_UPS = {"hoist": 5.0, "warm": 10.0, "cold": 45.0, "tool": 3.0, "cover": 2.0}


def invented_knowledge(causes: int, checks: int, seed: int = 1) -> KnowledgeBase:
    """`causes` causes, `checks` checks (the symptoms among them), one service "service"."""
    rng = np.random.default_rng((seed, causes, checks))
    regions = max(1, causes // REGION)
    made = {f"x{k}": _check(k, symptom=k < regions, rng=rng) for k in range(checks)}
    home = np.array([k % regions for k in range(checks)])
    entries = {f"c{i}": _cause(i, i % regions, home, made, rng) for i in range(causes)}
    return KnowledgeBase.model_construct(
        version=f"invented-{seed}-{causes}-{checks}",
        scale={},
        settings=Settings.model_construct(rate_per_hour=120.0, hand_over_minutes=600.0),
        sources={},
        dispositions={d: _advice(d) for d in Disposition},
        cautions={},
        set_ups={n: SetUp.model_construct(id=n, name=n, minutes=m, ends=_ends(n)) for n, m in SET_UPS.items()},
        services={"service": Service.model_construct(id="service", steps={"do": ServiceStep(do="Do it.")})},
        complaints={f"k{r}": _complaint(r) for r in range(regions)},
        causes=entries,
        checks=made,
        repairs={f"r{i}": _repair(i, entry, made, rng) for i, entry in enumerate(entries.values())},
        procedures={},
        panels={},
        codes={},
    )


def _ends(name: str) -> tuple[str, ...]:
    return {"warm": ("cold",), "cold": ("warm",)}.get(name, ())


def _advice(level: Disposition) -> Advice:
    burden, harm = ((0, 0), (10, 50), (40, 300), (150, 1500), (200, 9000))[level]
    return Advice.model_construct(id=level.name, burden=burden, harm=harm)


def _complaint(region: int) -> Complaint:
    return Complaint.model_construct(id=f"k{region}", reports={f"x{region}": "bad"}, red_flags=(), services=())


def _check(number: int, symptom: bool, rng: np.random.Generator) -> Check:
    names = ("good", "bad") if symptom or rng.random() < 0.7 else ("good", "bad", "worse")
    otherwise = {name: float(rng.uniform(0.001, 0.02)) for name in names[1:]}
    needed = tuple(str(n) for n in rng.choice(list(SET_UPS), 1)) if not symptom and rng.random() < 0.5 else ()
    return Check.model_construct(
        id=f"x{number}", tier=Tier(int(rng.integers(2, 5))), minutes=float(rng.uniform(0.5, 15)),
        audience=(Audience.PHONE, Audience.BAY) if symptom or rng.random() < 0.3 else (Audience.BAY,), panel=None,
        set_up=needed, results={name: name for name in names}, otherwise=otherwise,
    )  # fmt: skip


def _cause(number: int, region: int, home: np.ndarray, made: dict[str, Check], rng: np.random.Generator) -> Cause:
    regions = int(home.max()) + 1
    own = np.flatnonzero(home == region)[1:]
    chosen = {region} | ({int(rng.integers(0, regions))} if rng.random() < 0.35 else set())
    chosen |= {int(k) for k in rng.choice(own, min(own.size, int(rng.integers(4, 8))), replace=False)}
    chosen |= {int(k) for k in rng.choice(home.size, int(rng.integers(1, 3)))}
    shows = {f"x{k}": _shown(made[f"x{k}"], rng) for k in sorted(chosen)}
    return Cause.model_construct(
        id=f"c{number}", kind=CauseKind.WEAR, service=None, step=None, frequency=float(10 ** rng.uniform(-1, 1.3)),
        drive=Disposition(int(rng.integers(0, 4))), only_if={}, shows=shows,
    )  # fmt: skip


def _shown(check: Check, rng: np.random.Generator) -> dict[str, float]:
    abnormal = check.names[1:]
    whole = float(rng.choice([0.2, 0.5, 0.8, 0.95]))
    return dict(zip(abnormal, (whole * rng.dirichlet(np.ones(len(abnormal)))).tolist(), strict=True))


def _repair(number: int, cause: Cause, made: dict[str, Check], rng: np.random.Generator) -> Repair:
    removes = {cause.id: 0.95} | ({f"c{number - 1}": 0.9} if number % 5 == 4 else {})
    proof = min(cause.shows, key=lambda check: made[check].minutes)
    return Repair.model_construct(
        id=f"r{number}", removes=removes, minutes=float(rng.uniform(5, 120)), parts=float(rng.uniform(0, 100)),
        tier=Tier.TOOL, set_up=(), proof=Proof(check=proof, result="good"), only_if={},
    )  # fmt: skip
