"""The record as titled sections for people: the customer's folder, a screen, a page."""

from collections.abc import Collection, Iterable, Iterator

from comeback.cli.records.record import NOT_ASKED, Line, Record
from comeback.cli.screens import wording
from comeback.cli.screens.advice_now import clock
from comeback.cli.screens.endings import NO_CORRECTION, cause_text
from comeback.cli.screens.event_text import complaints_text, first_of, plate_text, solved_text
from comeback.cli.version import VERSION
from comeback.cli.words.spelling import spelt
from comeback.engine.belief.network import Vehicle
from comeback.engine.case.case import AGREED, NOT_AGREED, NOT_TAKEN, READ_OUT, Override, Told
from comeback.kb.vocabulary import FEATURE_LABELS, FEATURE_VALUES, Disposition

MOST_NOT_CHECKED = 8
TO_FILL_IN = "____________________"
Row = tuple[str, ...]
"""A label and its text; or a time, a person, and what happened."""
Section = tuple[str, list[Row]]
OUTCOMES = {AGREED: "caller agreed", NOT_AGREED: "caller said no", READ_OUT: "read out", NOT_TAKEN: "REFUSED"}
BRIEF = ("Case", "Ending", "Advice", "Danger signs", "Findings and repairs", "Notes")
"""Titles of the sections that a screen shows."""


def sections(record: Record, only: Collection[str] = ()) -> list[Section]:
    """Title and rows (`only` of these titles), none without rows: how it ended goes before what led there."""
    intact = "intact" if record.intact else "BROKEN: someone changed it"
    found: list[Section] = [
        ("Case", [row for row in _case_rows(record) if row[-1] != NOT_ASKED]),
        ("Ending", list(_ending_rows(record))),
        ("Advice", list(_advice_rows(record))),
        ("Danger signs", list(_sign_rows(record))),
        ("Findings and repairs", _timed(record, record.work)),
        ("Causes", list(_cause_rows(record))),
        ("Notes", _timed(record, (Line(*note) for note in record.case.notes))),
        ("Changed answers", _timed(record, (Line(e.at, e.by, f"{old} ({why})") for e, old, why in record.changes))),
        ("Not asked or not known", list(_open_rows(record))),
        ("Record", [
            ("Events", f"{len(record.events)}, {len(record.changes)} taken back; chain {intact}"),
            ("Knowledge", f"{', '.join(record.versions)}, program {VERSION}"), ("Limits", wording.LIMITS),
        ]),
        ("Sign-off", [(who, f"{TO_FILL_IN}  date __________") for who in ("Work done by", "Checked by")]),
    ]  # fmt: skip
    return [(title, rows) for title, rows in found if rows and (not only or title in only)]


def _timed(record: Record, lines: Iterable[Line]) -> list[Row]:
    """Rows with the time of day, and the date where it is not that of the opening."""
    return [(clock(line.at, record.case.opened_at), line.by, line.text) for line in lines]


def _case_rows(record: Record) -> Iterator[Row]:
    case = record.case
    plate = f"{case.registration} ({spelt(case.registration)}; typed twice)" if case.registration else plate_text(case)
    people = ", ".join(f"{person.name} ({person.role.value})" for person in record.people)
    service = " + ".join(record.name("services", one) for one in case.services)
    complaint = complaints_text(record.knowledge, case.complaints)
    yield from (
        ("State", record.state), ("Shop", record.shop or TO_FILL_IN), ("License plate", plate or TO_FILL_IN),
        ("Opened", case.opened_at[:16].replace("T", " ")), ("People", people),
    )  # fmt: skip
    for label, text in (
        ("Car", case.car), ("Call back", case.phone), ("Location", case.place), *_built(case.vehicle),
        ("Caller driving", record.driving), ("Service", service), ("Complaint", complaint),
        ("In their words", case.words),
    ):  # fmt: skip
        yield (label, text or NOT_ASKED)
    for at, _, words in case.said:
        yield (f"Said {clock(at, case.opened_at)}", words or "nothing has changed")


def _built(vehicle: Vehicle) -> list[Row]:
    """How the car is built, a row each."""
    return [(FEATURE_LABELS[name], FEATURE_VALUES[value]) for name, value in vehicle] or [("Fuel", "")]


def _ending_rows(record: Record) -> Iterator[Row]:
    closed, handed_over, solved = record.case.closed, record.case.handed_over, record.case.solved
    if closed is None and solved is not None:
        yield ("Solved", f"on the phone: {solved_text(record.knowledge, record.case)}")
        yield ("Cause", f"{', '.join(record.name('causes', cause) for cause in solved.causes)} (the caller's word)")
        return
    if closed is None:
        yield ("Handed over", handed_over) if handed_over is not None else ("Ending", "not finished: this is a draft")
        return
    yield ("Cause", cause_text(record.knowledge, closed))
    for label, repairs in (("Correction", closed.repairs), ("Unneeded", closed.in_vain)):
        names = ", ".join(record.name("repairs", repair) for repair in repairs)
        if names or label == "Correction":
            yield (label, names or NO_CORRECTION.get(closed.cause_named, "not found"))
    unproven = NO_CORRECTION.get(closed.cause_named, "not everything could be checked")
    yield ("Proven", "yes" if closed.proven else f"no: {unproven}")


def _advice_rows(record: Record) -> Iterator[Row]:
    """Each reading-out in its words and each decision of a person, in order; then what is due."""
    dispositions, now = record.knowledge.dispositions, record.now
    both: list[Told | Override] = [*record.case.told, *record.case.overrides]
    read = {event.number: str(event.payload.get("read_back") or "") for event in record.events}
    before = ""
    for one in sorted(both, key=lambda one: one.number):
        yield from _timed(record, [Line(one.at, one.by, _advice_text(record, one))])
        if isinstance(one, Told):
            said = " ".join(record.said_aloud(one))
            texts = (("Said", "" if said == before else said), ("Read back", read[one.number]))
            before = said
            yield from (("", "", f"{label}: {text}") for label, text in texts if text)
    if now.due is not None:
        how = f"read out {now.heard.at[11:16]}, not agreed" if now.heard is not None else "NOT TOLD"
        text = f"{now.due.word}, {dispositions[now.due].name}: due since then, {how}"
        yield from _timed(record, [Line(now.due_at, "", text)])
    if not both and now.due is None:
        yield ("Advice", "none was given")


def _advice_text(record: Record, one: Told | Override) -> str:
    if isinstance(one, Override):
        agreed = f", agreed by {one.second}" if one.second else ""
        return f"set from {one.ruled} to {one.to}: {one.reason}{agreed}"
    entry = record.knowledge.dispositions[Disposition.of(one.disposition)]
    words = f": {one.words}" if one.words else ""
    return f"{one.disposition}, {entry.name} ({entry.within}): {OUTCOMES[one.how]}{words}"


def _sign_rows(record: Record) -> Iterator[Row]:
    for sign in record.signs:
        if sign.answer != NOT_ASKED:
            yield (sign.name, f"{sign.answer}{'  DANGER SIGN' if sign.raised else ''}")
        for line in sign.named:
            when = clock(line.at, record.case.opened_at)
            yield (sign.name, f"ADDED later: {line.text} ({line.by}, {when})")


def _cause_rows(record: Record) -> Iterator[Row]:
    """While none is proven: the likely ones with their chance; the others in a line of names each."""
    if record.case.closed is not None and record.case.closed.proven:
        return
    groups = record.standing
    for cause, chance in groups.likely.items():
        yield ("Likely", f"{record.name('causes', cause)}, {100 * chance:.0f} %")
    for label, causes in (
        ("Possible", groups.possible), ("Ruled out", groups.ruled_out), ("Less likely", groups.less_likely)
    ):  # fmt: skip
        if causes:
            yield (label, "; ".join(record.name("causes", cause) for cause in causes))


def _open_rows(record: Record) -> Iterator[Row]:
    """What nobody asked or could tell, in a few lines."""
    checks = record.standing
    fields = [row[0] for row in _case_rows(record) if row[-1] == NOT_ASKED]
    signs = [sign.name for sign in record.signs if sign.answer == NOT_ASKED]
    not_checked = first_of([record.name("checks", check) for check in checks.not_asked], MOST_NOT_CHECKED)
    all_of_them = "; --format json lists all" if len(checks.not_asked) > MOST_NOT_CHECKED else ""
    for label, texts in (
        ("Not known", [record.name("checks", check) for check in checks.not_known]),
        ("Not asked", [*fields, *signs]),
        ("Not checked", [not_checked + all_of_them] if record.status == "draft" and not_checked else []),
    ):
        if texts:
            yield (label, "; ".join(texts))
