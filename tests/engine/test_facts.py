"""Every kind of event is one dataclass that writes and reads itself; its types say what may leave the shop."""

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Annotated, Any, get_args, get_origin

import pytest

from comeback.engine.case import facts
from comeback.engine.case.events import Draft, Kind, chain
from comeback.engine.case_log.nameless import LEFT_OUT, without_names
from comeback.kb.vocabulary import Audience

AT = "2026-03-02T08:15:00+01:00"


def sample(hint, full):
    """A value of the type: `full` or empty."""
    origin, args = get_origin(hint), get_args(hint)
    if hint is Any:
        return {"rpm": 780} if full else None
    if hint == facts.Word:
        return "tow"
    if hint is Audience:
        return Audience.PHONE
    if type(None) in args:
        return sample(args[0], full) if full else None
    if origin is Annotated or hint is str:
        return "SECRET" if full else ""
    if origin is tuple:
        return tuple(sample(arg, full) for arg in args if arg is not ...) if full or args[-1] is not ... else ()
    if origin is Mapping:
        return {sample(args[0], True): sample(args[1], full)} if full else {}
    return hint(full)


def of_every_kind(full):
    for kind in Kind:
        made = facts.Fact.of_kind[kind]
        yield made(**{name: sample(hint, full) for name, hint in facts.hints_of(kind).items()})


@pytest.mark.parametrize("full", [True, False])
def test_every_kind_reads_back_what_it_wrote(full):
    for fact in of_every_kind(full):
        draft = fact.draft(AT, "Ida")
        assert draft.kind == fact.kind
        assert facts.fact_of(draft) == fact


def test_a_field_left_at_its_empty_default_is_not_written():
    assert facts.Closed("dark", proven=False).draft(AT, "Ida").payload == {"complaint": "dark", "proven": False}
    assert facts.Registered("K7 RT", read_back=False).draft(AT, "Ida").payload["read_back"] is False
    assert facts.ConditionNamed("drive", None).draft(AT, "Ida").payload == {"feature": "drive", "value": None}


@pytest.mark.parametrize(
    ("kind", "payload", "field"),
    [
        ("closed", {"proven": "yes"}, "proven"),
        ("closed", {"causes": "lamp-loose"}, "causes"),
        ("advised", {"disposition": "fly"}, "disposition"),
        ("warned", {"stop": "fly", "word": "told"}, "stop"),
        ("answered", {"results": {"spark": 1}}, "results"),
        ("answered", {"results": {}, "audience": "roof"}, "audience"),
        ("taken-back", {"number": True}, "number"),
    ],
)
def test_what_no_program_of_ours_writes_is_named(kind, payload, field):
    with pytest.raises(ValueError, match=f"`{field}` is not what this program writes"):
        facts.fact_of(Draft(kind, AT, "Ida", payload))


def test_a_new_kind_says_nothing_and_a_new_key_is_passed_over():
    assert facts.fact_of(Draft("new-kind", AT, "Ida", {"new": 1})) is None
    assert facts.fact_of(Draft("noted", AT, "Ida", {"text": "a", "new": 1})) == facts.Noted("a")


def test_words_of_every_kind_are_left_out_without_names_and_ids_stay():
    for fact in of_every_kind(full=True):
        hints = facts.hints_of(fact.kind)
        ids = {one.name: "an-id" for one in fields(fact) if hints[one.name] == facts.Id}
        draft = replace(fact, **ids).draft(AT, "Ida")
        kept = without_names(chain("AAAA", 2, draft, "k1", "")).payload
        words = [name for name, hint in hints.items() if hint is str]
        assert [kept[name] for name in words] == [LEFT_OUT] * len(words)
        assert {name: kept[name] for name in ids} == ids
        assert not [name for name, hint in hints.items() if facts.Name in (hint, *get_args(hint)) and kept[name]]
        assert not {"since", "readings", "said", "raw", "codes"} & kept.keys() - {"codes"}
