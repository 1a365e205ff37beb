/* What is on the screen, for each view of the way. Text only ever becomes text, never markup. */

const $ = (id) => document.getElementById(id);

function el(name, more, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(more)) made.setAttribute(key, value);
  made.append(...inside.flat(Infinity).filter(Boolean));
  return made;
}

function button(tone, address, ...inside) {
  const made = el("button", { type: "button", class: tone }, inside);
  made.addEventListener("click", () => (location.hash = address));
  return made;
}

const heading = (level, ...inside) => el(level, { tabindex: -1 }, inside);
const list = (kind, items, more = {}) => items.length && el(kind, more, items.map((item) => el("li", {}, item)));
const listAt = (reader) => `#${D.knowledge}/${reader}`;
const chartAt = (reader, id) => `${listAt(reader)}/${id}`;
const at = (s, answers) => [chartAt(s.reader, s.chart.id), ...answers].join("/");
const answer = (s, key) => at(s, [...s.answers, `${s.n}.${key}`, ...s.later]);
const changed = (s, index) => at(s, [...without(s.answers, index), ...s.later]);
const back = (s) => (s.answers.length ? changed(s, s.answers.length - 1) : listAt(s.reader));

const onward = (s, n) => (n ? `go on at ${n}` : s.reader === "phone" ? "advice" : "the end");

/** Cautions with their signal words (ANSI Z535): DANGER always in full, WARNING if `full`, the others to be opened. */
function cautions(ids, full) {
  return ids.length && el("div", { class: "cautions" }, ids.map((id) => {
    const [word, short, all] = D.cautions[id];
    const sign = el("strong", { class: "word" }, word === "NOTICE" ? word : `⚠ ${word}`);
    if (word === "DANGER" || (full && word === "WARNING")) return el("p", { class: `caution ${word}` }, sign, " ", all);
    return el("details", { class: `caution ${word}` }, el("summary", {}, sign, ` ${short}`), el("p", {}, all));
  }));
}

/** A button for each result of a check. `tone(result)` says what it leads to, `key(letter)` the answer. */
const results = (s, check, tone, key) => D.checks[check].results.map(([id, text], i) =>
  button(tone(id), answer(s, key(LETTERS[i])), tone(id) === "ok" && "✓ ", text, tone(id) === "noted" && el("small", {}, " (noted, go on)")));

const signs = (s) => [
  s.chart.now && el("p", { class: "stop" }, s.chart.now),
  el("p", { class: "stop" }, `STOP if you find one: ${s.chart.stop}.`),
  el("div", { class: "choices" }, s.chart.signs.map(([check, only], i) => D.checks[check].results.map(([id, text], j) =>
    only.includes(id) && button("danger", answer(s, `!${i}${LETTERS[j]}`), el("small", {}, D.checks[check].name), text)))),
];

function cardOf(s, card, index) {
  const check = D.checks[card.check], seen = answered(s, card, index), before = s.known[card.check];
  const name = check ? check.name : D.repairs[card.rows[0].repairs[0]].name;
  if (seen !== undefined) {
    const what = seen === UNKNOWN ? (check ? unknown(s) : "skipped") : check ? words(card.check, seen) : "did not fix it";
    return el("p", { class: "seen" }, check && seen === expected(card.check) && "✓ ", el("b", {}, name), `: ${what}`);
  }
  const tone = (id) => (rowFor(card, id) ? "found" : id === expected(card.check) ? "ok" : "noted");
  const title = el("h3", { tabindex: -1, id: `card-${index}` }, name), bay = s.reader === "bay";
  const own = bay && check ? check.cautions.filter((id) => !stepOf(s).cautions.includes(id)) : [];
  const again = !check && tried(s, card.rows[0].repairs[0]);
  return el("section", { class: "card", "aria-labelledby": title.id }, title,
    before && el("p", { class: "soft" }, `Seen before: ${words(card.check, before)}`), again && triedBefore(),
    cautions(own, false),
    check && (bay ? el("p", {}, check.where && check.where !== name && el("b", {}, `${check.where}. `), check.how)
      : el("p", { class: "aloud" }, `“${check.say}”`)),
    el("div", { class: "choices", role: "group", "aria-labelledby": title.id },
      check ? results(s, card.check, tone, (letter) => index + letter)
        : button("found", answer(s, `${index}+`), again ? "Do it again" : "Do this"),
      button("quiet", answer(s, index + UNKNOWN), !check ? "Skip it" : bay ? "Not on this car, or cannot tell" : "Cannot tell")));
}

const triedBefore = () => el("p", { class: "strong" }, "Tried before: it did not fix it.");

function codesForm(s, here) {
  const field = el("input", { id: "codes", autocomplete: "off", autocapitalize: "characters", spellcheck: "false", "aria-describedby": "hint" });
  const hint = el("p", { id: "hint", role: "status" }, "All that are stored, for example P0171 P0302.");
  const form = el("form", { class: "card" }, el("p", {}, here.panel[1]), el("label", { for: "codes" }, "Codes"), field, hint,
    el("div", { class: "choices" }, el("button", { class: "found" }, "Look up"),
      button("ok", answer(s, "none"), `✓ No codes stored: ${onward(s, here.then)}`),
      button("quiet", answer(s, "skip"), "Cannot read them")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const codes = codesIn(field.value), strange = field.value.toUpperCase().split(/[\s,;+]+/).filter((one) => one && !codes.includes(one));
    if (codes.length && !strange.length) location.hash = answer(s, codes.join("+"));
    else hint.textContent = `No code: ${strange.join(" ") || "nothing typed"}. A code is a letter and four digits, for example P0171.`;
  });
  return form;
}

const screens = {
  danger: (s) => [heading("h2", "First: any of these?"), signs(s), button("ok go", answer(s, "ok"), `✓ None of these: ${onward(s, first(s.chart))}`)],

  step(s) {
    const here = stepOf(s), cards = openCards(s), open = cards.some(({ check }) => check);
    const exit = `✓ ${upper(cards.length < here.cards.length ? here.exit.replace("all ", "the rest ") : here.exit)}`;
    const onto = onward(s, here.then), label = cards.length ? `${open ? exit : "Skip these"}: ${onto}` : upper(onto);
    return [heading("h2", el("span", { class: "number" }, `${here.n}`), " ", here.title), el("p", { class: "soft" }, here.state),
      !s.chart.signs.length && here.n === 1 && el("p", { class: "stop" }, `${s.chart.now} ${s.chart.stop}.`),
      cautions(here.cautions, false), here.note && el("p", {}, here.note),
      here.kind === "codes" ? codesForm(s, here) : [here.cards.map((card, index) => cardOf(s, card, index)),
        button("ok go", answer(s, "go"), label)]];
  },

  repair(s) {
    const { row, k } = s.found, repair = D.repairs[row.repairs[k]], [check, good, more] = repair.proof;
    const again = D.checks[check].cautions.filter((id) => !repair.cautions.includes(id));
    return [k > 0 && el("p", { class: "soft" }, "Not fixed yet. Next:"),
      heading("h2", repair.name), tried(s, row.repairs[k]) && triedBefore(), cautions(repair.cautions, true),
      repair.never && el("p", { class: "strong" }, repair.never),
      row.off && el("p", { class: "stop" }, "The engine stays off until this is fixed."),
      repair.set_up.length > 0 && el("p", {}, `First: ${repair.set_up.join("; ")}.`), list("ol", repair.steps),
      repair.then.map(([name, when, done, ...steps]) =>
        [el("h3", {}, name), el("p", {}, `First: ${when}.`), list("ol", steps), el("p", {}, `Done when: ${done}.`)]),
      repair.put_back.length > 0 && [el("h3", {}, "Put back"), list("ul", repair.put_back)],
      el("section", { class: "card", "aria-labelledby": "proof" },
        el("h3", { id: "proof", tabindex: -1 }, `${s.chart.heads[3]}: ${words(check, good)}`), cautions(again, false),
        el("p", {}, el("b", {}, `${D.checks[check].name}. `), D.checks[check].how), more && el("p", {}, more),
        el("div", { class: "choices", role: "group", "aria-labelledby": "proof" },
          results(s, check, (id) => (id === good ? "ok" : "failed"), (letter) => `r${letter}`),
          button("quiet", answer(s, `r${UNKNOWN}`), "Not done, or not tested")))];
  },

  confirm: (s) => [heading("h2", "Test passed. Is the complaint gone?"), el("p", {}, "Use the car as the customer does. It should be:"),
    list("ul", Object.keys(s.chart.reports).map((check) => told(check, expected(check)))),
    el("div", { class: "choices" }, button("ok", answer(s, "gone"), "✓ Gone: fixed"), button("found", answer(s, "still"), "Still there"))],

  stop(s) {
    const check = s.sign && s.sign[0]; // the complaint that reports this sign and nothing else says what to do about it
    const chart = D.charts.find(({ reader, reports }) => reader === "bay" && Object.keys(reports).join() === check && reports[check] === s.known[check]);
    return [heading("h2", "STOP"), el("p", { class: "stop" }, `${s.chart.stop}.`),
      chart && button("found", chartAt("bay", chart.id), `What to do about it: ${chart.title}`),
      chart && el("p", {}, `When that is fixed, come back to ${s.chart.title}: it must be gone too.`)];
  },

  end(s) {
    const spoken = s.how === "advice" && s.chart.spoken[s.advice], title = { open: "Not found: hand over", "call-back": "Do not drive" };
    if (s.how === "fixed") return [heading("h2", "Fixed"), el("p", {}, "Put cause and repair on record: copy the note. Then close the case.")];
    if (!spoken) return [heading("h2", title[s.how]), el("p", {}, s.chart.end[1])];
    return [heading("h2", s.advice), el("p", {}, "Read aloud:"),
      list("ul", spoken.say.map((one) => `“${one}”`), { class: "aloud" }), list("ul", spoken.promise_not)];
  },
};

/** The complaints: those that the service can cause first, the likeliest first; fewer while words are typed. */
function complaints({ reader }) {
  const find = el("input", { id: "find", type: "search", autocomplete: "off" }), place = el("div", {});
  const all = D.charts.filter((chart) => chart.reader === reader);
  const fill = () => {
    const plain = (text) => text.toLowerCase().replace(/['’]/g, ""); // a tablet types a curly one, many type none
    const typed = plain(find.value).split(/\s+/);
    const fit = all.filter(({ id, title }) => typed.every((word) => plain(`${title} ${D.words[id]}`).includes(word)));
    const first = D.likely.flatMap((id) => fit.filter((chart) => chart.id === id));
    const groups = [["After this service, the likeliest first", first], ["Other complaints", fit.filter((chart) => !first.includes(chart))]];
    place.replaceChildren(...groups.filter(([, some]) => some.length).flatMap(([title, some]) =>
      [el("h2", {}, title), el("div", { class: "choices" }, some.map(({ id, title: name }) => button("way", chartAt(reader, id), name)))]));
    if (!fit.length) place.append(el("p", {}, "No complaint has these words. Try fewer."));
  };
  find.addEventListener("input", () => {
    fill();
    $("said").textContent = `${place.querySelectorAll("button").length} complaints`;
  });
  fill();
  const readers = { bay: "In the bay", phone: "On the phone" };
  const choice = Object.keys(readers).map((one) => {
    const made = button("", listAt(one), readers[one]);
    made.setAttribute("aria-pressed", String(one === reader));
    return made;
  });
  return [heading("h1", `What is wrong, ${D.service.after}?`), el("div", { class: "readers", role: "group", "aria-label": "Where" }, choice),
    el("label", { for: "find" }, "Find"), find, place];
}

/** What was chosen, where it led somewhere else, with the way back. */
function chosen(s) {
  const last = s.log.at(-1);
  if (!last || last.tone === "ok" || (s.view === "step" && last.n === s.n)) return "";
  return el("p", { class: "chosen" }, el("span", {}, "Last answer: ", el("b", {}, last.text)), button("quiet", back(s), "← Change it"));
}

/** What became of later answers once an earlier one was changed. */
const kept = (s) => [
  s.later.length > 0 && el("p", { class: "seen" }, `Answers given further down are kept: ${s.later.length}. They count when you get there.`),
  s.gone.length > 0 && el("p", { class: "seen" }, el("b", {}, "Dropped, the way has changed: "), s.gone.join("; ")),
];

let shown = null; // the state on the screen

function show() {
  const s = read(location.hash), walking = Boolean(s.chart);
  const drawn = walking ? [el("h1", { class: "title" }, `${s.chart.title}, ${D.service.after}`), kept(s), chosen(s), ...screens[s.view](s)] : complaints(s);
  $("main").replaceChildren(...drawn.flat(Infinity).filter(Boolean));
  for (const id of ["aside", "nav"]) $(id).hidden = !walking;
  $("stop").hidden = !walking || !s.chart.signs.length || ["danger", "stop"].includes(s.view);
  $("signs").close();
  document.title = walking ? `${s.view === "step" ? `Step ${s.n}` : upper(s.view)}: ${s.chart.title}` : D.service.name;
  $("foot").textContent = `${walking ? `${s.chart.figures} ` : ""}${D.limits} Knowledge ${D.knowledge}.`;
  if (walking) soFar(s);
  watchProof();
  const last = walking && shown && s.answers.length > shown.answers.length && s.log.at(-1);
  const gone = walking && s.gone.length ? ` Dropped: ${s.gone.join("; ")}.` : "";
  $("said").textContent = `${last ? `Noted. ${last.text}` : ""}${gone}`;
  if (shown) focusOn(walking && s.view === "step" && shown.view === "step" && shown.chart === s.chart && shown.n === s.n);
  shown = s;
}

const watcher = new IntersectionObserver((entries) => ($("to-proof").hidden = entries.at(-1).isIntersecting), { rootMargin: "0px 0px -130px" });

/** While the buttons of a repair's proof are off the screen, one in the bar leads to them. */
function watchProof() {
  watcher.disconnect();
  $("to-proof").hidden = true;
  if ($("proof")) watcher.observe(document.querySelector("[aria-labelledby=proof].choices"));
}

/** To the next card of the same step, else to the heading of what is new. */
function focusOn(sameStep) {
  const card = sameStep && document.querySelector(".card h3"), target = card || document.querySelector("main [tabindex]");
  target.focus({ preventScroll: true });
  if (card) card.parentNode.scrollIntoView();
  else scrollTo(0, 0);
}

function soFar(s) {
  $("answered").replaceChildren(...s.log.map(({ n, text, tone }, i) => {
    const change = button("quiet", changed(s, i), "Change");
    change.setAttribute("aria-label", `Change: ${text}`);
    return el("li", { class: tone }, el("span", {}, n > 0 && `${n} `, text), change);
  }));
  $("note").textContent = note(s);
  $("command").textContent = `comeback ${s.reader === "phone" ? "call" : "triage"} --answers note.yaml`;
  $("so-far").textContent = `Note: ${s.log.length}`;
}

$("back").addEventListener("click", () => (location.hash = back(shown)));
$("to-proof").addEventListener("click", () => {
  $("proof").focus({ preventScroll: true });
  $("proof").parentNode.scrollIntoView();
});
$("stop").addEventListener("click", () => {
  const none = el("button", { type: "button", class: "ok go" }, "✓ None of these: back");
  none.addEventListener("click", () => $("signs").close());
  $("signs").replaceChildren(...signs(shown), none);
  $("signs").showModal();
});
$("list").addEventListener("click", () => (location.hash = listAt(shown.reader)));
$("so-far").addEventListener("click", () => {
  $("so-far-title").focus();
  $("aside").scrollIntoView();
});
$("copy").addEventListener("click", async () => {
  getSelection().selectAllChildren($("note"));
  const copied = await navigator.clipboard?.writeText($("note").textContent).then(() => true, () => false);
  $("said").textContent = $("copy").textContent = copied || document.execCommand("copy") ? "Copied" : "Selected: copy it";
});
addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((one) => (one.open = true)));
addEventListener("hashchange", show);
show();
