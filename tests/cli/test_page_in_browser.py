"""The page of one service in Chromium: every step reached, by hand, by keyboard and by ear; the note taken back."""

import json
import time
from itertools import pairwise
from pathlib import Path

import pytest

from comeback.cli.command_line import run as run_command
from comeback.diagrams.page.data import page_data
from comeback.diagrams.page.html import page_of
from comeback.diagrams.words import sheet_of
from comeback.engine.charts.planner import ladder_of
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience
from comeback.kb.yaml.reader import read_yaml
from support import browser as shown
from support.places import SMALL

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
SERVICE = "intake-cleaning"
FEW = ("rough-idle", "fuel-smell", "engine-light")
DATA = "return JSON.parse(document.getElementById('data').textContent)"
WALK = """
  const done = arguments[1], wrong = [], reached = new Set();
  const turn = (address) => new Promise((go) => {
    if (location.hash === address) return go();
    addEventListener("hashchange", () => go(), { once: true });
    location.hash = address;
  });
  const tap = (one) => new Promise((go) => {
    addEventListener("hashchange", () => go(), { once: true });
    one.click();
  });
  const one = (what) => document.querySelector(`#main ${what}`);
  const here = () => one("h2").textContent;
  const check = (fits, what) => fits || wrong.push([location.hash, here(), what]);

  /* From every card of the step on the screen: to advice, or to a repair with its proof; else it is noted. */
  async function station() {
    const start = location.hash, title = here();
    reached.add(title);
    for (let index = 0; index < document.querySelectorAll("#main .card").length; index++) {
      const before = document.getElementById("answered").children.length;
      const card = document.querySelectorAll("#main .card")[index];
      await tap(card.querySelector(".found") || card.querySelector("button"));
      check(document.getElementById("answered").children.length === before + 1, "nothing noted");
      check(here() === title || document.activeElement === one("h2"), "focus elsewhere");
      if (one("#proof")) {
        check(one(".ok"), "no proof");
        await tap(one(".ok"));
        check(here().includes("complaint gone"), "no last look");
      }
      await turn(start);
    }
  }

  (async () => {
    await turn(arguments[0]);
    if (one(".danger")) {
      for (let index = 0; index < document.querySelectorAll("#main .danger").length; index++) {
        const start = location.hash;
        await tap(document.querySelectorAll("#main .danger")[index]);
        check(here() === "STOP", "no stop");
        await turn(start);
      }
      await tap(one(".go"));
    }
    while (one(".number")) {
      if (!one("#codes")) {
        await station();
        await tap(one(".go"));
        continue;
      }
      const start = location.hash;
      reached.add(here());
      const { cards } = stepOf(shown);
      const of = (name, { results }) => results.flatMap((result) => (D.checks[name].codes[result] || []).slice(0, 1));
      for (const code of new Set(cards.flatMap(({ check: name, rows }) => rows.flatMap((row) => of(name, row))))) {
        one("#codes").value = code.toLowerCase();
        await tap(one("form .found"));
        check(one(".number"), `${code} leads nowhere`);
        if (!reached.has(here())) await station();
        await turn(start);
      }
      await tap(one("form .ok"));
    }
    done({ wrong, reached: [...reached], end: here() });
  })().catch((error) => done({ wrong: [[location.hash, String(error.stack)]], reached: [...reached], end: "" }));
"""


@pytest.fixture(scope="module")
def driver():
    with shown.chromium() as browser:
        if browser is None:
            pytest.skip(shown.NO_BROWSER)
        browser.set_script_timeout(120)
        yield browser


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """Address of a page with a few complaints."""
    place = tmp_path_factory.mktemp("page") / "few.html"
    assert run_command(["page", SERVICE, *(f"--complaint={one}" for one in FEW), "-o", str(place)]) == 0
    return place.as_uri()


@pytest.fixture
def page(driver, few):
    """The driver with that page, on a phone."""
    return opened(driver, few)


def opened(driver, address):
    driver.get("about:blank")
    driver.get_log("browser")
    shown.requests(driver)
    shown.look(driver)
    driver.get(address)
    return driver


def tap(page, text):
    """Tap the button that begins with this text; as a finger would, where it is."""
    button = next(one for one in page.find_elements("css selector", "button") if one.is_displayed()
                  and one.text.replace("\n", " ").lstrip("✓ ").startswith(text))  # fmt: skip
    page.execute_script("arguments[0].scrollIntoView({block: 'center'})", button)
    before = page.current_url
    button.click()
    wait(lambda: page.current_url != before)


def wait(fits):
    end = time.monotonic() + 10
    while not fits():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)


def title(page):
    return page.find_element("css selector", "#main h2").text


def down_to(page, data, chart, number, *more):
    """Open a step of a chart of the bay after all that is above it was as it should be, and after these answers."""
    keys = {"codes": "none"}
    above = [f"{step['n']}.{keys.get(step['kind'], 'go')}" for step in chart["steps"][: number - 1]]
    way = "/".join([data["knowledge"], "bay", chart["id"], "0.ok", *above, *more])
    opened(page, f"{page.current_url.split('#')[0]}#{way}")


def focused(page):
    return page.switch_to.active_element.text


def quiet(page):
    """No error on the console, and no request but for the file itself."""
    assert [entry["message"] for entry in page.get_log("browser")] == []
    assert {address.split(":")[0] for address in shown.requests(page)} <= {"file"}


def walked(driver, address):
    """(chart, what came of it) for every chart of the page at the address."""
    data = opened(driver, address).execute_script(DATA)
    for chart in data["charts"]:
        yield chart, driver.execute_async_script(WALK, f"#{data['knowledge']}/{chart['reader']}/{chart['id']}")


def test_every_step_of_every_chart_of_a_service_is_reached(driver, tmp_path):
    place = tmp_path / "all.html"
    assert run_command(["page", SERVICE, "-o", str(place)]) == 0
    assert place.stat().st_size < 1_500_000
    charts = 0
    for chart, found in walked(driver, place.as_uri()):
        charts += 1
        assert found["wrong"] == [], chart["id"]
        assert set(found["reached"]) == {f"{step['n']} {step['title']}" for step in chart["steps"]}, chart["id"]
        assert found["end"] in ("Not found: hand over", chart["advice"]), chart["id"]
    assert charts > 100
    quiet(driver)


def test_a_repair_that_does_not_help_leads_on_and_one_that_does_to_the_end(page):
    for one in ("Rough idle", "None of these", "Moves, screw loose"):
        tap(page, one)
    assert title(page) == "Seat the MAP sensor with a new seal"
    text = page.find_element("css selector", "#main").text
    assert text.index("CAUTION") < text.index("Take the sensor out.") < text.index("Fixed when: Sits flat")
    tap(page, "Sits flat")
    tap(page, "Still there")
    assert title(page).startswith("1 ")
    assert focused(page) != "MAP sensor seating"  # it has been seen
    tap(page, "Cap missing")
    tap(page, "Cap in place")
    tap(page, "Gone")
    assert title(page) == "Fixed"
    quiet(page)


def test_a_danger_sign_can_be_told_at_any_step_and_leads_to_its_chart(page):
    tap(page, "Rough idle")
    tap(page, "None of these")
    page.find_element("id", "stop").click()
    assert "call the foreman" in page.find_element("css selector", "dialog").text
    page.find_element("css selector", "dialog .ok").click()
    assert not page.find_element("css selector", "dialog").is_displayed()
    tap(page, "Moves, screw loose")  # not only at a step: with the tools in hand too
    page.find_element("id", "stop").click()
    tap(page, "Raw gasoline smell")
    assert not page.find_element("css selector", "dialog").is_displayed()
    assert title(page) == "STOP"
    assert "call the foreman" in page.find_element("css selector", "#main").text
    assert "come back to Rough idle: it must be gone too" in page.find_element("css selector", "#main").text
    tap(page, "What to do about it: Gas smell")
    assert page.find_element("css selector", "h1").text.startswith("Gas smell")


def test_not_fixed_after_a_sign_that_keeps_the_engine_off_is_a_stop(page):
    data = page.execute_script(DATA)
    chart = next(one for one in data["charts"] if one["id"] == "fuel-smell" and one["reader"] == "bay")
    cards = [(step["n"], k, card) for step in chart["steps"] for k, card in enumerate(step["cards"])]
    step, index, card = next(one for one in cards if any(row.get("off") for row in one[2]["rows"]))
    row = next(row for row in card["rows"] if row.get("off"))
    results = [name for name, _ in data["checks"][card["check"]]["results"]]
    seen = f"{step}.{index}{'abcdefgh'[results.index(row['results'][0])]}"
    down_to(page, data, chart, step, seen, *([f"{step}.r-"] * len(row["repairs"])))
    assert title(page) == "STOP"


def test_keys_alone_lead_from_the_list_to_an_answer_and_back(page):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    def press(*keys):
        ActionChains(page).send_keys(*keys).perform()

    def to(text):
        for _ in range(60):
            press(Keys.TAB)
            if focused(page).lstrip("✓ ").replace("\n", " ").startswith(text):
                return
        raise AssertionError(f"{text} is not reached with Tab")

    to("Rough idle")
    press(Keys.ENTER)
    wait(lambda: focused(page) == "First: any of these?")
    to("None of these")
    press(Keys.SPACE)
    wait(lambda: focused(page).startswith("1 Engine off"))
    to("On its lip")
    press(Keys.ENTER)
    wait(lambda: focused(page) == "MAF sensor connector")
    assert (
        page.find_element("css selector", "[role=status]#said")
        .get_property("textContent")
        .startswith("Noted. Intake duct")
    )
    assert page.execute_script(
        "const r = document.activeElement.getBoundingClientRect(); return r.top >= 0 && r.top < 100"
    )
    to("← Back")
    press(Keys.ENTER)
    wait(lambda: "Sits flat" in page.find_element("css selector", "#main").text)
    assert page.execute_script("return [...document.querySelectorAll('[tabindex]')].every((one) => one.tabIndex <= 0)")


def test_the_place_outlives_a_reload_and_the_browsers_own_back(page):
    for one in ("Rough idle", "None of these", "Sits flat", "Cap missing"):
        tap(page, one)
    parts = [page.find_element("css selector", part) for part in ("main", "aside")]
    before = [part.text for part in parts]
    page.refresh()
    assert [page.find_element("css selector", part).text for part in ("main", "aside")] == before
    page.back()
    wait(lambda: title(page).startswith("1 "))
    assert "✓ MAP sensor seating" in page.find_element("css selector", "#main").text


def test_what_leads_nowhere_here_is_noted_and_says_so(page):
    data = page.execute_script(DATA)
    chart = next(one for one in data["charts"] if one["id"] == "engine-light" and one["reader"] == "bay")
    looks = [step for step in chart["steps"] if step["kind"] == "look"]
    step, index, name, text = next(
        (step, index, name, text)
        for step in looks for index, card in enumerate(step["cards"]) if card["check"]
        for name, text in data["checks"][card["check"]]["results"][1:]
        if not any(name in row["results"] for row in card["rows"])
    )  # fmt: skip
    down_to(page, data, chart, step["n"])
    assert "(noted, go on)" in page.find_element("css selector", f"[aria-labelledby=card-{index}] .noted").text
    tap(page, text)
    assert f"{step['cards'][index]['check']}: {name}  #" in page.find_element("id", "note").text


def test_an_earlier_answer_is_changed_without_losing_the_others(page):
    for one in ("Rough idle", "None of these", "On its lip", "Cap in place"):
        tap(page, one)
    changed = page.find_element("css selector", "[aria-label^='Change: Intake duct and clamps']")
    page.execute_script("arguments[0].click()", changed)
    wait(lambda: "✓ Cap on the service port" in page.find_element("css selector", "#main").text)
    assert focused(page) == "Intake duct and clamps"
    assert [one.text.split("\n")[0] for one in page.find_elements("css selector", "#answered li")] == [
        "None of the danger signs", "1 Cap on the service port: Cap in place and tight",
    ]  # fmt: skip


def change(page, text):
    """Tap Change beside the answer that begins with this text."""
    before = page.current_url
    changed = page.find_element("css selector", f"[aria-label^='Change: {text}']")
    page.execute_script("arguments[0].click()", changed)
    wait(lambda: page.current_url != before)


def noted(page):
    return [one.text.split("\n")[0] for one in page.find_elements("css selector", "#answered li")]


def test_answers_of_later_steps_outlive_a_change_of_an_earlier_one(page):
    """They were once erased without a word."""
    for one in ("Rough idle", "None of these", "All OK", "All OK"):
        tap(page, one)
    assert title(page).startswith("3 ")
    change(page, "All OK: Intake duct")
    assert title(page).startswith("1 ")
    assert "Answers given further down are kept: 1." in page.find_element("css selector", "#main").text
    tap(page, "Moves, screw loose")
    tap(page, "Sits flat")
    tap(page, "Still there")
    assert title(page).startswith("1 ")
    tap(page, "The rest OK")
    assert title(page).startswith("3 ")  # step 2 is answered
    assert [one for one in noted(page) if one.startswith("2 All OK")]
    quiet(page)


def test_a_change_says_which_later_answers_go(page):
    """Codes lead over steps whose answers then count no more."""
    data = page.execute_script(DATA)
    chart = next(one for one in data["charts"] if one["id"] == "engine-light" and one["reader"] == "bay")
    codes = next(step for step in chart["steps"] if step["kind"] == "codes")
    card, row = min(((card, row) for card in codes["cards"] for row in card["rows"]), key=lambda both: both[1]["to"])
    code, coded = data["checks"][card["check"]]["codes"][row["results"][0]][0], row["to"]
    down_to(page, data, chart, codes["n"], f"{codes['n']}.{code}", f"{coded}.go")
    change(page, "Stored codes")
    tap(page, "No codes stored")
    text = page.find_element("css selector", "#main").text
    assert f"Dropped, the way has changed: Step {coded}: nothing found" in text
    assert f"Dropped: Step {coded}" in page.find_element("id", "said").get_property("textContent")  # by ear too
    quiet(page)


def test_the_proof_of_a_repair_goes_with_the_finding_that_led_to_it(page):
    """A changed finding leads to another repair: its proof was seen by nobody."""
    for one in ("Rough idle", "None of these", "Moves, screw loose", "Sits flat", "Still there", "Cap in place"):
        tap(page, one)
    change(page, "MAP sensor seating: Moves")
    assert noted(page) == ["None of the danger signs", "1 Cap on the service port: Cap in place and tight"]
    assert "reseat-map-sensor" not in page.find_element("id", "note").text


def test_where_an_answer_led_elsewhere_it_is_shown_with_the_way_back(page):
    tap(page, "Rough idle")
    tap(page, "None of these")
    tap(page, "Moves, screw loose")
    assert page.find_element("css selector", ".chosen").text.startswith("Last answer: MAP sensor seating: Moves, screw")
    tap(page, "← Change it")
    assert title(page).startswith("1 ")
    assert not page.find_elements("css selector", ".chosen")
    page.find_element("id", "list").click()
    tap(page, "On the phone")
    tap(page, "Rough idle")
    tap(page, "The brake pedal is hard")
    assert "The brake pedal is hard" in page.find_element("css selector", ".chosen").text


def test_the_test_of_a_long_repair_is_one_tap_away_on_a_phone(page):
    """Its buttons were once screens below."""
    tap(page, "Rough idle")
    tap(page, "None of these")
    tap(page, "A hose is off its port")
    jump = page.find_element("id", "to-proof")
    wait(jump.is_displayed)
    jump.click()
    wait(lambda: not jump.is_displayed())
    assert focused(page).startswith("Fixed when")
    ok = page.find_element("css selector", "[aria-labelledby=proof] .ok")
    assert page.execute_script(
        "const r = arguments[0].getBoundingClientRect();"
        "return r.top >= 0 && r.bottom <= document.getElementById('nav').getBoundingClientRect().top", ok
    )  # fmt: skip
    tap(page, "Every hose on its port")
    assert not jump.is_displayed()


def test_before_the_work_warnings_stand_in_full_and_lesser_cautions_in_a_few_words(page):
    """All of them in full once filled two screens of a phone before the first line of the work."""
    for one in ("Rough idle", "None of these", "Moves, screw loose"):
        tap(page, one)
    every = page.find_elements("css selector", "#main .caution")
    lesser = [one for one in every if one.tag_name == "details"]
    words = [one.get_attribute("class").split()[-1] for one in lesser]
    assert lesser
    assert set(words) <= {"CAUTION", "NOTICE"}
    assert not {"CAUTION", "NOTICE"} & {one.get_attribute("class").split()[-1] for one in every if one not in lesser}


def test_what_is_not_on_the_car_has_an_answer_that_leads_on(page):
    tap(page, "Rough idle")
    tap(page, "None of these")
    tap(page, "Not on this car, or cannot tell")
    assert title(page).startswith("1 ")
    assert noted(page)[-1].endswith(": not on this car, or cannot tell")


def test_a_repair_that_did_not_help_is_marked_where_it_is_offered_again(page):
    data = page.execute_script(DATA)
    for chart in data["charts"]:
        plain = [(step["n"], k, card["rows"][0]["repairs"][0]) for step in chart["steps"]
                 for k, card in enumerate(step["cards"]) if not card["check"]]  # fmt: skip
        found = next(((n, k, card, row, then) for step in chart["steps"] for n in [step["n"]]
                      for k, card in enumerate(step["cards"]) for row in card["rows"] for then in plain
                      if card["check"] and row.get("repairs", [""])[0] == then[2] and n < then[0]
                      and step["kind"] == "look"), None)  # fmt: skip
        if chart["reader"] == "bay" and found:
            break
    n, k, card, row, (later, index, repair) = found
    letter = "abcdefgh"[[one for one, _ in data["checks"][card["check"]]["results"]].index(row["results"][0])]
    check, good, _ = data["repairs"][repair]["proof"]
    proof = "abcdefgh"[[one for one, _ in data["checks"][check]["results"]].index(good)]
    tried = [f"{n}.{k}{letter}", f"{n}.r{proof}", f"{n}.still"]
    tried += [f"{n}.r-"] * (len(row["repairs"]) - 1)
    rest = [f"{step['n']}.{'none' if step['kind'] == 'codes' else 'go'}" for step in chart["steps"][n - 1 : later - 1]]
    down_to(page, data, chart, n, *tried, *rest)
    assert title(page).startswith(f"{later} ")
    offered = page.find_element("css selector", f"[aria-labelledby=card-{index}]").text
    assert "Tried before: it did not fix it." in offered
    assert "Do it again" in offered


def test_codes_without_a_step_here_say_to_go_on(page):
    tap(page, "Check-engine light on")
    tap(page, "None of these")
    while not page.find_elements("id", "codes"):
        tap(page, "All OK")
    page.find_element("id", "codes").send_keys("P0A0F\n")
    wait(lambda: page.find_elements("css selector", ".number + *") or not page.find_elements("id", "codes"))
    assert "P0A0F (no step for them here: go on)" in page.find_element("css selector", ".chosen").text


def test_a_step_whose_looks_were_all_made_before_leads_on_and_skips_nothing(page):
    """A code's step once offered to skip what stood there as answered."""
    data = page.execute_script(DATA)
    for chart in data["charts"]:
        codes = next((step for step in chart["steps"] if step["kind"] == "codes"), None)
        for card, row in [(one, row) for one in codes["cards"] for row in one["rows"]] if codes else []:
            looks = {look["check"] for look in chart["steps"][row["to"] - 1]["cards"]}
            above = {look["check"] for step in chart["steps"][: codes["n"] - 1] for look in step["cards"]}
            if looks <= above - {""}:
                code = data["checks"][card["check"]]["codes"][row["results"][0]][0]
                down_to(page, data, chart, codes["n"], f"{codes['n']}.{code}")
                assert page.find_element("css selector", "#main .go").text.startswith("Go on at ")
                return
    raise AssertionError("no such code on this page")


def test_a_caution_of_one_look_stands_with_it(page):
    tap(page, "Rough idle")
    tap(page, "None of these")
    look = page.find_element("css selector", "[aria-labelledby=card-1]").text
    assert look.index("NOTICE") < look.index("Tug the connector")


def test_a_place_in_another_knowledge_is_the_list(page):
    place = page.current_url.split("#")[0]
    opened(page, f"{place}#000000000000/bay/rough-idle/0.ok/1.0b")
    assert page.find_element("css selector", "h1").text.startswith("What is wrong")
    assert page.find_elements("css selector", "#answered li") == []


@pytest.mark.parametrize(
    "bad", ["1.0z", "7.0a", "0.ok/0.ok/1.0b", "0.ok/1.99a", "0.ok/1.ra", "0.ok/1.gone", "0.!9a", "__proto__", "%E0"]
)
def test_an_answer_that_does_not_fit_is_no_answer(page, bad):
    data = page.execute_script(DATA)
    opened(page, f"{page.current_url.split('#')[0]}#{data['knowledge']}/bay/rough-idle/{bad}")
    note = page.find_element("css selector", "#note").text
    assert "0b" not in note.replace(data["knowledge"], "")
    assert len(page.find_elements("css selector", "#answered li")) == bad.startswith("0.ok")
    quiet(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("contrast", ["no-preference", "more"])
def test_it_can_be_read_and_tapped_on_a_phone_and_a_tablet(page, scheme, contrast):
    """Contrast: WCAG 2.2, 1.4.3 (4.5 to 1). Targets: 2.5.5 (44 px)."""
    ways = [[], ["Rough idle"], ["None of these"], ["Moves, screw loose"], ["Sits flat"], ["Gone"]]
    for way in ways:
        for one in way:
            tap(page, one)
        for size in (shown.PHONE, shown.TABLET):
            shown.look(page, size, scheme, contrast)
            assert page.execute_script(shown.CONTRAST, 4.5) == []
            assert page.execute_script(shown.TOO_SMALL, 44, 44) == []
            assert page.execute_script("return document.documentElement.scrollWidth") <= size[0]


def test_assistive_technology_is_told_roles_names_and_headings(page):
    for way in ([], ["Rough idle"], ["None of these"], ["Moves, screw loose"]):
        for one in way:
            tap(page, one)
        told = shown.roles(page)
        levels = [more["level"] for role, _, more in told if role == "heading"]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
        for role, name, _ in told:
            if role in (
                "button",
                "textbox",
                "searchbox",
                "heading",
                "group",
                "navigation",
                "complementary",
                "region",
                "main",
            ):
                assert name or role in ("main", "group"), (role, way)
        assert {"main", "button", "status"} <= {role for role, *_ in told}
    assert page.find_element("css selector", "html").get_attribute("lang") == "en"


def test_the_note_that_is_copied_closes_the_case(page, comeback, tmp_path):
    page.execute_cdp_cmd("Browser.grantPermissions", {"permissions": ["clipboardReadWrite", "clipboardSanitizedWrite"]})
    for one in ("Rough idle", "None of these", "Sits flat", "Cap missing", "Cap in place", "Gone"):
        tap(page, one)
    page.execute_script("document.getElementById('copy').scrollIntoView()")
    page.find_element("id", "copy").click()
    wait(lambda: page.find_element("id", "copy").text == "Copied")
    note = page.execute_async_script(
        "navigator.clipboard.readText().then(arguments[0], (error) => arguments[0](String(error)))"
    )
    Path("note.yaml").write_text(note)
    code, out, err = comeback("triage", "--answers", "note.yaml", "--json")
    assert (code, err) == (0, "")
    case = json.loads(out)
    assert case["closed"]["causes"] == ["port-cap-missing"]
    assert case["closed"]["proven"] is True
    known = {answer["check"]: answer["result"] for answer in reversed(case["answers"])}  # the first of each
    assert known["raw-fuel"] == "none"
    assert known["port-cap"] == "missing"


def test_codes_are_typed_and_go_into_the_note(page):
    tap(page, "Check-engine light on")
    tap(page, "None of these")
    while not page.find_elements("id", "codes"):
        tap(page, "All OK")
    field = page.find_element("id", "codes")
    field.send_keys("none yet\n")
    wait(lambda: "No code: NONE YET." in page.find_element("id", "hint").text)
    field.clear()
    field.send_keys("p0171 p03o2\n")  # no code is dropped unseen
    wait(lambda: "No code: P03O2." in page.find_element("id", "hint").text)
    field.clear()
    field.send_keys("p0442, p0171\n")
    wait(lambda: page.find_element("css selector", ".number"))
    assert "codes: P0442 P0171" in page.find_element("id", "note").text
    assert "P0442" in title(page)  # the topmost of the table


@pytest.mark.parametrize("typed", ["ROUGH", "rou'gh", "rou’gh"])
def test_a_complaint_is_found_whatever_apostrophe_the_keyboard_has(page, typed):
    """Tablets type a curly one and many people none: none of them counts."""
    page.find_element("id", "find").send_keys(typed)
    wait(lambda: "Rough idle" in page.find_element("css selector", "#main").text)


def test_the_caller_is_read_the_words_of_the_advice(page, comeback):
    tap(page, "On the phone")
    tap(page, "Rough idle")
    tap(page, "The brake pedal is hard")
    assert title(page) == "Do not drive; we send a tow truck"
    assert "“Please do not drive the car.”" in page.find_element("css selector", "#main").text
    Path("note.yaml").write_text(page.find_element("id", "note").text)
    code, out, err = comeback("call", "--answers", "note.yaml", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["disposition"] == "tow"


@pytest.mark.parametrize("asked", [True, False])
def test_a_danger_sign_that_is_not_known_is_not_none_in_the_note(page, comeback, asked):
    tap(page, "On the phone")
    tap(page, "Rough idle")
    if asked:
        tap(page, "Nothing")
        quiet_one = page.find_elements("css selector", ".card .quiet")[0]
        page.execute_script("arguments[0].click()", quiet_one)
        wait(lambda: title(page) == "Do not drive")
    note = page.find_element("id", "note").text
    assert "raw-fuel: d" in note
    assert ("hood-smoke: none" in note) == asked
    Path("note.yaml").write_text(note)
    code, out, err = comeback("call", "--answers", "note.yaml", "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["disposition"] == "tow"


def test_hostile_text_stays_text_and_a_foreign_script_does_not_run(driver, tmp_path):
    known = load_knowledge(SMALL)
    hostile = "</script><script>hacked = 1</script><img src=x onerror='hacked = 1'>\u2028repair: done\x85spark: yes"
    known = known.model_copy(
        update={"complaints": {"dark": known.complaints["dark"].model_copy(update={"name": hostile})}}
    )
    ladder = ladder_of(known, "lamp-change", "dark", Audience.BAY)
    (tmp_path / "x.html").write_text(
        page_of(page_data([(ladder, sheet_of(ladder, known))], known, [])), encoding="utf-8"
    )
    page = opened(driver, (tmp_path / "x.html").as_uri())
    tap(page, hostile.split("\u2028")[0])
    assert page.find_element("css selector", "h1").get_property("textContent").startswith(hostile)
    note = page.find_element("id", "note").get_property("textContent")
    assert set(read_yaml(note, "note").data) == {"service", "complaint", "unasked", "repair", "otherwise"}
    assert read_yaml(note, "note").data["repair"] == "pause"
    assert page.execute_script("return typeof hacked") == "undefined"
    quiet(page)
    page.execute_script(
        "const s = document.createElement('script'); s.textContent = 'hacked = 1'; document.body.append(s)"
    )
    assert page.execute_script("return typeof hacked") == "undefined"
