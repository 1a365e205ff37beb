"""The ladder of a complaint after a service, for either reader."""

from comeback.engine.belief.network import Vehicle
from comeback.engine.charts.ladder import Ladder
from comeback.engine.charts.phone import phone_ladder
from comeback.engine.charts.planner import bay_ladder
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience


def ladder_of(
    knowledge: KnowledgeBase, service: str, complaint: str, audience: Audience, vehicle: Vehicle = ()
) -> Ladder:
    """The ladder, chosen and measured. Raises what `posterior` raises if the findings exclude each other."""
    make = phone_ladder if audience is Audience.PHONE else bay_ladder
    return make(knowledge, service, complaint, vehicle)
