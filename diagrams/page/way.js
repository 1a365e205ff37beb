"use strict";
/* The way through a chart. Nothing here draws.

   All that is known is in the address: #KNOWLEDGE/READER/COMPLAINT/ANSWER/ANSWER/...  Each answer is STEP.KEY. Reading
   takes every answer again from the first, so reload, a bookmark and the browser's own Back work. After a change an
   answer of a step that is still ahead waits there, one of a step that is passed over is dropped and named. What a
   repair led to goes with it: a changed answer never turns a later one into something nobody said. */

const D = JSON.parse(document.getElementById("data").textContent);
const LETTERS = "abcdefgh"; // of the results of a check, in order; the first is the expected one
const UNKNOWN = "-"; // cannot tell; not done
const charts = new Map(D.charts.map((chart) => [`${chart.reader}/${chart.id}`, chart]));

const upper = (text) => text.charAt(0).toUpperCase() + text.slice(1);
const stepOf = (s) => s.chart.steps[s.n - 1];
const expected = (check) => D.checks[check].results[0][0];
const resultOf = (check, letter) => (D.checks[check].results[LETTERS.indexOf(letter)] || [])[0];
const words = (check, result) => (D.checks[check].results.find(([id]) => id === result) || ["", "cannot tell"])[1];
const told = (check, result) => `${D.checks[check].name}: ${words(check, result)}`;
const rowFor = (card, result) => card.rows.find((row) => !row.results || row.results.includes(result));
const codesIn = (text) => [...new Set(text.toUpperCase().match(/\b[PCBU][0-3][0-9A-F]{3}\b/g) || [])];

const unknown = (s) => (s.reader === "bay" ? "not on this car, or cannot tell" : "cannot tell");
const tried = (s, repair) => (s.facts.get(repair) || [])[0] === "done"; // in vain, or this would be the end

/** What a card shows as answered: here, or at an earlier step if that leads to nothing here. */
function answered(s, card, index) {
  const here = s.made[`${s.n}.${index}`], seen = s.known[card.check];
  return here !== undefined ? here : seen !== undefined && !rowFor(card, seen) ? seen : undefined;
}

const openCards = (s) => stepOf(s).cards.filter((card, index) => answered(s, card, index) === undefined);

/** Note a result. What a check shows after a repair stands beside what it showed before. */
function fact(s, check, result, after = check in s.known ? s.last : "") {
  s.known[check] = result;
  s.facts.set(after ? `${check}@${after}` : check, [result, told(check, result)]);
}

function log(s, text, tone = "") {
  s.log.push({ n: s.n, text, tone });
}

function enter(s, n) {
  const end = s.chart.reader === "phone" ? { how: "advice", advice: s.chart.advice } : { how: "open" };
  return Object.assign(s, n ? { view: "step", n } : { view: "end", n, ...end });
}

/** A chart without steps goes from its danger signs to its end. */
const first = (chart) => (chart.steps.length ? 1 : 0);

/** Down the way once every card of the step is answered. */
const settle = (s) => (openCards(s).length ? s : enter(s, stepOf(s).then));

/** The repair did not end it: the next one of its row, else on with the step. */
function failed(s) {
  const { row, k } = s.found;
  if (k + 1 < row.repairs.length) return Object.assign(s, { view: "repair", found: { ...s.found, k: k + 1 } });
  return row.off ? Object.assign(s, { view: "stop" }) : settle(Object.assign(s, { view: "step" }));
}

/** One function for each view: takes a key, or returns false if it does not fit. */
const take = {
  danger(s, key) {
    if (key !== "ok") return false;
    for (const [check] of s.chart.signs) fact(s, check, expected(check));
    log(s, "None of the danger signs", "ok");
    return enter(s, first(s.chart));
  },

  /** A danger sign, at any step: `!`, its number, the letter of its result. */
  sign(s, key) {
    const sign = s.chart.signs[parseInt(key.slice(1), 10)], result = sign && resultOf(sign[0], key.slice(-1));
    if (!sign || !sign[1].includes(result)) return false;
    fact(s, sign[0], result);
    log(s, told(sign[0], result), "found");
    return Object.assign(s, { view: "stop", sign });
  },

  step(s, key) {
    const here = stepOf(s), index = parseInt(key, 10), card = here.cards[index], last = key.slice(-1);
    if (here.kind === "codes") return take.codes(s, key, here);
    if (key === "go") {
      const rest = openCards(s).map(({ check }) => check).filter(Boolean);
      for (const check of rest) fact(s, check, expected(check));
      const names = rest.map((check) => D.checks[check].name).join(", ");
      log(s, names ? `${upper(here.exit)}: ${names}` : openCards(s).length ? "Skipped the rest" : "Went on", "ok");
      return enter(s, here.then);
    }
    if (!card || answered(s, card, index) !== undefined) return false;
    const result = card.check ? resultOf(card.check, last) : "";
    if (!result && last !== UNKNOWN && (card.check || last !== "+")) return false;
    s.made[`${s.n}.${index}`] = result || last;
    if (result) fact(s, card.check, result);
    else if (card.check) s.facts.set(card.check, ["d", told(card.check, "")]);
    const row = last === UNKNOWN ? undefined : rowFor(card, result);
    if (card.check) log(s, result ? told(card.check, result) : `${D.checks[card.check].name}: ${unknown(s)}`, row ? "found" : result === expected(card.check) ? "ok" : "");
    else log(s, `${last === UNKNOWN ? "Skipped" : "Tried"}: ${D.repairs[card.rows[0].repairs[0]].name}`);
    if (last === UNKNOWN && here.kind === "ask") return Object.assign(s, { view: "end", how: "call-back" });
    if (!row) return settle(s);
    if (row.advice) return Object.assign(s, { view: "end", how: "advice", advice: row.advice });
    return row.to ? enter(s, row.to) : Object.assign(s, { view: "repair", found: { card, row, result, k: 0 } });
  },

  /** All stored codes; the topmost of the code table leads on. */
  codes(s, key, here) {
    const codes = codesIn(key);
    if (key !== "none" && key !== "skip" && codes.join("+") !== key) return false;
    const meant = ({ check }, row) => row.results.some((one) => (D.checks[check].codes[one] || []).some((code) => codes.includes(code)));
    const steps = here.cards.flatMap((card) => card.rows.filter((row) => meant(card, row)).map((row) => row.to));
    if (key !== "skip") s.facts.set(here.panel[0], [codes.join(" ") || "n", "Stored codes"]);
    const what = codes.join(", ") || { none: "none", skip: "cannot tell" }[key];
    const strange = codes.length && !steps.length;
    log(s, `Stored codes: ${what}${strange ? " (no step for them here: go on)" : ""}`, steps.length ? "found" : strange ? "" : "ok");
    return enter(s, steps.length ? Math.min(...steps) : here.then);
  },

  repair(s, key) {
    const id = s.found.row.repairs[s.found.k], { name, proof: [check, good] } = D.repairs[id];
    const result = key[0] === "r" && resultOf(check, key.slice(1)), done = result ? "done" : "skip";
    if (!result && key !== `r${UNKNOWN}`) return false;
    s.facts.set(id, [done, name]);
    if (result) fact(s, check, result, (s.last = id));
    log(s, result ? `${name}. ${told(check, result)}` : `Not done: ${name}`, result === good ? "ok" : "found");
    return result === good ? Object.assign(s, { view: "confirm" }) : failed(s);
  },

  confirm(s, key) {
    const gone = key === "gone";
    if (!gone && key !== "still") return false;
    for (const [check, seen] of Object.entries(s.chart.reports)) fact(s, check, gone ? expected(check) : seen, s.last);
    log(s, gone ? "The complaint is gone" : "The complaint is still there", gone ? "ok" : "found");
    return gone ? Object.assign(s, { view: "end", how: "fixed" }) : failed(s);
  },

  stop: () => false,
  end: () => false,
};

/** An answer in words wherever it stands; empty if it is none of this chart, or only makes sense after another. */
function inWords(chart, answer) {
  const [n, key = ""] = answer.split("."), step = chart.steps[n - 1], card = step && step.cards[parseInt(key, 10)];
  const sign = key[0] === "!" && chart.signs[parseInt(key.slice(1), 10)];
  if (sign) return told(sign[0], resultOf(sign[0], key.slice(-1)));
  if (!step) return "";
  if (step.kind === "codes") return `Stored codes: ${key}`;
  if (!card) return key === "go" ? `Step ${n}: ${step.exit}` : "";
  if (!card.check) return D.repairs[card.rows[0].repairs[0]].name;
  const result = resultOf(card.check, key.slice(-1));
  return result || key.endsWith(UNKNOWN) ? told(card.check, result) : "";
}

/** Whether an answer of step n may still come: the step lies ahead, or is this one and something is done first. */
function ahead(s, n) {
  const { steps } = s.chart;
  for (let step = steps[(s.n || first(s.chart)) - 1]; step; step = steps[step.then - 1]) {
    if (step.n === n) return step.n !== s.n || s.view !== "step";
    if (step.cards.some((card) => card.rows.some(({ to }) => to === n))) return true;
  }
  return false;
}

/** The answers without one of them and what its repair led to. */
function without(answers, index) {
  const after = answers.slice(index + 1), next = after.findIndex((answer) => !/\.(r|gone|still)/.test(answer));
  return [...answers.slice(0, index), ...(next < 0 ? [] : after.slice(next))];
}

/** The state that an address stands for; without a chart the list of complaints for a reader. */
function read(address) {
  const [knowledge, reader, id, ...answers] = address.slice(1).split("/");
  const chart = charts.get(`${reader}/${id}`);
  if (knowledge !== D.knowledge || !chart) return { reader: reader === "phone" ? "phone" : "bay", answers: [] };
  const s = { chart, reader, answers: [], later: [], gone: [], made: {}, known: {}, facts: new Map(), log: [], last: "" };
  if (chart.signs.length) Object.assign(s, { view: "danger", n: 0 });
  else enter(s, first(chart));
  for (let rest = answers; rest.length; ) {
    const [answer] = rest, [n, key] = answer.split(".");
    if (Number(n) === s.n && key && take[key[0] === "!" ? "sign" : s.view](s, key)) {
      s.answers.push(answer);
      rest = rest.slice(1);
    } else {
      const said = inWords(chart, answer);
      if (said && ahead(s, Number(n))) s.later = rest;
      if (!said || s.later.length) break;
      s.gone.push(said);
      rest = without(rest, 0);
    }
  }
  return s;
}

/** The rest of a line of YAML, which ends at more signs than a line of text does. */
const comment = (text) => `# ${text.replace(/[\s\x7f-\x9f]+/g, " ")}`;

/** What was answered as a file for --answers: ids for the program, words for people. */
function note(s) {
  // By phone a danger sign that was not asked about is not known, which counts as the worse answer.
  const unasked = s.reader === "phone" ? s.chart.flags.filter((check) => !s.facts.has(check)) : [];
  const rest = s.view === "stop" || s.how === "open" ? "hand-over" : s.how === "fixed" ? "skip" : "pause";
  return [
    comment(`${s.chart.title}, ${D.service.after}; knowledge ${D.knowledge}`),
    `service: ${D.service.id}`,
    `complaint: ${s.chart.id}`,
    ...[...s.facts].map(([key, [value, name]]) => `${key}: ${value}  ${comment(name)}`),
    ...unasked.map((check) => `${check}: d`),
    ...(s.reader === "bay" ? ["unasked: tell", `repair: ${rest}`] : []),
    "otherwise: d",
    "",
  ].join("\n");
}
