"use strict";
// The field sheet on a phone. The verdict is the sheets' own rule (xlsx_verdict.py) over the same limits:
// both sides of a comparison at 12 significant digits, a row's figures added so that none hides another.
const JOB = JSON.parse(document.getElementById("job").textContent);
const NEEDLESS = 0, GOOD = 1, MISSING = 1000, UNREAD = 1001, BAD = 1000000;
const CARRIED = ["instrument", "person"];
const SHOWN = 40;

const digits12 = (value) => Number(value.toPrecision(12));
const over = (value, limit) => digits12(value) > digits12(limit);
const under = (value, limit) => digits12(value) < digits12(limit);

// --- what is typed --------------------------------------------------------------------------------

const trimmed = (text) => (text || "").split(" ").filter(Boolean).join(" ");
const PLAIN = /^[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$/;
const THOUSANDS = /^[-+]?[1-9]\d{0,2},\d{3}$/;

/** Return what a text says for a column: {number, literal} or {word}, with {trouble} where it is no reading; null for a blank. */
function said(column, text) {
  const typed = trimmed(text);
  if (!typed) return null;
  if (column.kind !== "number" && column.kind !== "whole") return { word: typed };
  if (column.words.some((word) => word.toUpperCase() === typed.toUpperCase())) return { word: typed.toUpperCase() };
  if (!PLAIN.test(typed)) return { trouble: column.refusal };
  if (THOUSANDS.test(typed)) {
    const [whole, rest] = typed.split(",");
    return { trouble: `${typed} can be read in two ways: write ${whole}${rest} or ${whole}.${rest}` };
  }
  const literal = literalOf(typed), number = Number(literal);
  const outside = (column.low !== null && number < column.low) || (column.high !== null && number > column.high);
  return outside ? { number, literal, trouble: column.refusal } : { number, literal };
}

/** Return a number as JSON writes it, with every digit that was typed. */
function literalOf(typed) {
  const plain = typed.replace(",", ".").replace(/^\+/, "").replace(/^(-?)\./, "$10.").replace(/\.$/, "");
  return plain.replace(/^(-?)0+(?=\d)/, "$1");
}

// --- the verdict ----------------------------------------------------------------------------------

const isNumber = (value) => typeof value === "number";

function figureOfNumber(limits, value, least, most) {
  if (limits.least !== null && under(value, limits.least)) return UNREAD;
  const wrong = (least !== null && under(value, least)) || (most !== null && over(value, most));
  return wrong ? BAD : GOOD;
}

function standIn(sheet, limits, values, least, most, needed) {
  const numbers = limits.instead.map((key) => values[key]).filter(isNumber);
  const marks = limits.between.map((key) => values[key]).filter(isNumber);
  if (numbers.length || marks.length === 2) {
    const value = numbers.length ? Math.min(...numbers) : Math.abs(marks[0] - marks[1]);
    return figureOfNumber(limits, value, least, most);
  }
  return needed === false ? NEEDLESS : MISSING;
}

/** Return the figure of one reading of a row; `values` are numbers and texts by column. */
function figure(sheet, limits, values, bounds) {
  const cell = (key) => (key === null ? null : bounds[key]);
  const least = isNumber(cell(limits.low)) ? cell(limits.low) : null;
  const most = isNumber(cell(limits.high)) ? cell(limits.high) : null;
  const words = String(cell(limits.accepted) || "").toUpperCase();
  const needed = limits.needed === null ? null : `, ${bounds[limits.needed] || ""},`.includes(`, ${limits.need},`);
  const limited = least !== null || most !== null;
  if (needed === null && !limited && !words.trim()) return NEEDLESS;
  const value = values[limits.reading], unread = needed === false ? NEEDLESS : UNREAD;
  if (value === undefined || value === "") return standIn(sheet, limits, values, least, most, needed);
  const typed = isNumber(value) ? String(value) : value.toUpperCase();
  if (words.split("|").includes(typed)) return GOOD;
  if (!limited && (needed === null || words.trim())) return BAD;
  if (isNumber(value)) return figureOfNumber(limits, value, least, most);
  if (!sheet.beyond.includes(typed) || !limited) return unread;
  return most === null ? GOOD : BAD;
}

/** Return the word of a row: "", "pass", "incomplete" or "fail". */
function verdict(sheet, row, cells) {
  const values = {};
  for (const column of sheet.entries) {
    const one = said(column, cells[column.key]);
    if (one) values[column.key] = one.number === undefined ? one.word || trimmed(cells[column.key]) : one.number;
  }
  const read = sheet.judged.flatMap((limits) => [limits.reading, ...limits.instead, ...limits.between]);
  if (!read.some((key) => values[key] !== undefined)) return "";
  const bounds = boundsOf(sheet, row);
  const sum = sheet.judged.reduce((total, limits) => total + figure(sheet, limits, values, bounds), 0);
  return sum >= BAD ? "fail" : sum >= MISSING ? "incomplete" : sum >= GOOD ? "pass" : "";
}

function boundsOf(sheet, row) {
  const shared = sheet.shared[row.limits];
  return Object.fromEntries(sheet.limits.map((column, place) => [column.key, shared[place]]));
}

// --- rows and what is kept on the device -----------------------------------------------------------

const ROWS = JOB.sheets.flatMap((sheet) => sheet.rows.map((row) => {
  const given = Object.fromEntries(sheet.given.map((column, place) => [column.key, row.given[place]]));
  const position = sheet.position ? given[sheet.position] : "";
  const name = position ? `${given.circuit} ${sheet.position} ${position}` : given.circuit;
  const key = [sheet.medium, given.circuit, position].join("|");
  return { sheet, given, position, name, key, limits: row.limits, expected: row.expected, rounds: [{}] };
}));

let kept = true;
function store() {
  try { return window.localStorage; } catch (refused) { return null; }
}
function keep(row) {
  try {
    store().setItem(`${JOB.key}|${row.key}`, JSON.stringify(row.rounds));
  } catch (refused) {
    kept = false;
    document.getElementById("unkept").hidden = false;
  }
}
function recall() {
  const from = store();
  if (from === null) { document.getElementById("unkept").hidden = false; kept = false; return; }
  for (const row of ROWS) {
    try {
      const rounds = JSON.parse(from.getItem(`${JOB.key}|${row.key}`));
      if (Array.isArray(rounds) && rounds.length) row.rounds = rounds;
    } catch (damaged) { /* an entry that can't be read counts as none */ }
  }
}

const current = (row) => row.rounds[row.rounds.length - 1];
const words = new Map();
const wordOf = (row) => words.get(row);
const rejudge = (row) => words.set(row, verdict(row.sheet, row, current(row)));

// --- the list -------------------------------------------------------------------------------------

const $ = (id) => document.getElementById(id);
let which = "left", open = null;

function make(tag, properties, ...children) {
  const node = Object.assign(document.createElement(tag), properties);
  node.append(...children);
  return node;
}

function matches(row, wanted) {
  const text = [row.name, row.given.start, row.given.end, row.sheet.title].join(" ").toUpperCase();
  return wanted.split(" ").every((part) => text.includes(part));
}

function list() {
  const wanted = trimmed($("wanted").value).toUpperCase();
  const chosen = ROWS.filter((row) => which === "all" || (which === "bad" ? words.get(row) === "fail" : words.get(row) !== "pass"));
  // Who types an id means that circuit, whatever its state.
  const found = (wanted ? ROWS : chosen).filter((row) => matches(row, wanted));
  if (!open) $("found").replaceChildren(...found.slice(0, SHOWN).map((row) => item(row, words.get(row))));
  const rest = found.length - SHOWN;
  $("more").textContent = !found.length ? "No circuit here." : rest > 0 ? `${rest} more: type more of the id.` : "";
  const left = ROWS.filter((row) => words.get(row) !== "pass").length;
  $("counts").textContent = `${ROWS.length - left} of ${ROWS.length} pass, ${left} to do`;
}

function item(row, word) {
  const where = make("span", { className: "where" }, `${row.sheet.title}, to ${row.given.end || "the far end"}`);
  const button = make("button", { type: "button" }, make("span", {}, make("b", {}, row.name), " ", where),
    make("span", { className: "word" }, word || "not tested"));
  button.addEventListener("click", () => show(row));
  return make("li", {}, button);
}

// --- one circuit ----------------------------------------------------------------------------------

function show(row) {
  open = row;
  $("finder").hidden = true;
  $("sheet").hidden = false;
  $("caution").textContent = row.sheet.caution;
  draw();
  $("sheet-head").focus();
}

function draw() {
  const row = open, { sheet } = row;
  $("sheet-head").textContent = row.rounds.length > 1 ? `${row.name}, round ${row.rounds.length}` : row.name;
  const facts = [["Sheet", sheet.title], ["From", row.given.start], ["To", row.given.end],
    ...sheet.expected.map((column, place) => [column.title, expectation(column, row.expected[place])])];
  $("facts").replaceChildren(...facts.filter(([, value]) => value !== null && value !== "" && value !== undefined)
    .flatMap(([label, value]) => [make("dt", {}, label), make("dd", {}, shown(value))]));
  const earlier = row.rounds.slice(0, -1).map((cells, place) => `round ${place + 1}: ${verdict(sheet, row, cells) || "not tested"}`);
  $("earlier").textContent = earlier.join("; ");
  const bounds = boundsOf(sheet, row);
  const needs = `, ${bounds.needed || ""},`;
  const asked = new Set(sheet.judged.filter((limits) => needs.includes(`, ${limits.need},`))
    .flatMap((limits) => [limits.reading, ...limits.instead]));
  const readings = sheet.entries.filter((column) => column.reading);
  const taken = sheet.entries.filter((column) => !column.reading);
  const parts = [["Readings needed", readings.filter((column) => asked.has(column.key))],
    ["How it was taken", taken], ["Further readings", readings.filter((column) => !asked.has(column.key))]];
  $("entries").replaceChildren(...parts.filter(([, columns]) => columns.length).flatMap(([title, columns]) =>
    [make("h3", {}, title), ...columns.map((column) => field(row, column, bounds))]));
  judge();
}

const shown = (value) => (isNumber(value) ? String(digits12(value)) : String(value));
const expectation = (column, value) => (isNumber(value) ? Number(value.toFixed(column.decimals)) : value);

function limitOf(row, column, bounds) {
  const limits = row.sheet.judged.find((one) => one.reading === column.key || one.instead.includes(column.key));
  if (!limits) return column.prompt;
  const words = [];
  const least = limits.low === null ? null : bounds[limits.low], most = limits.high === null ? null : bounds[limits.high];
  const unit = column.unit ? ` ${column.unit}` : "";
  if (isNumber(least)) words.push(`at least ${rounded(least, column)}${unit}`);
  if (isNumber(most)) words.push(`at most ${rounded(most, column)}${unit}`);
  if (limits.accepted !== null && bounds[limits.accepted]) words.push(`good if ${bounds[limits.accepted].split("|").join(" or ")}`);
  return [words.join(", "), column.prompt].filter(Boolean).join(". ");
}

/** Return a limit with two digits more than the column shows: it decides, so it is not rounded away. */
const rounded = (value, column) => String(Number(value.toFixed(column.decimals + 2)));

function field(row, column, bounds) {
  const limit = limitOf(row, column, bounds), id = `entry-${column.key}`;
  const hint = make("p", { className: "limit", id: `${id}-limit` }, limit);
  const trouble = make("p", { className: "trouble", id: `${id}-trouble`, hidden: true });
  const choice = column.kind === "text" && column.words.length > 0;
  const box = make(choice ? "fieldset" : "div", { className: "entry" });
  box.dataset.key = column.key;
  if (choice) box.append(make("legend", {}, column.title), hint, wordsOf(row, column, id), trouble);
  else box.append(Object.assign(make("label", {}, column.title), { htmlFor: id }), hint, typed(row, column, id), trouble);
  if (!limit) hint.remove();
  return box;
}

function wordsOf(row, column, id) {
  const group = make("div", { className: "words" });
  const value = current(row)[column.key] || "";
  for (const word of [...column.words, ""]) {
    const radio = make("input", { type: "radio", name: id, value: word, checked: word === value });
    radio.addEventListener("change", () => enter(row, column, word));
    group.append(make("label", {}, radio, word || "blank"));
  }
  return group;
}

const TYPES = { number: "text", whole: "text", date: "date", time: "time", text: "text" };

function typed(row, column, id) {
  const input = make("input", { id, type: column.key === "time" ? "time" : TYPES[column.kind], value: current(row)[column.key] || "" });
  if (column.kind === "number") input.inputMode = "decimal";
  if (column.kind === "whole") input.inputMode = "numeric";
  input.setAttribute("aria-describedby", `${id}-limit ${id}-trouble`);
  input.autocomplete = "off";
  input.addEventListener("input", () => enter(row, column, input.value));
  const line = make("div", { className: "typed" }, input);
  if (column.kind === "number" && column.words.length) {
    const beyond = make("button", { type: "button" }, column.words[0]);
    beyond.setAttribute("aria-label", `${column.title}: ${column.words[0]}, beyond range`);
    beyond.addEventListener("click", () => { input.value = column.words[0]; enter(row, column, input.value); input.focus(); });
    line.append(beyond);
  }
  return line;
}

function enter(row, column, text) {
  const cells = current(row);
  if (trimmed(text)) cells[column.key] = text; else delete cells[column.key];
  if (column.reading) carry(row, cells);
  keep(row);
  judge();
}

/** Fill in who, with what and when at the first reading of a row. */
function carry(row, cells) {
  const now = new Date(), two = (part) => String(part).padStart(2, "0");
  const known = { ...carried, date: `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`,
    time: `${two(now.getHours())}:${two(now.getMinutes())}` };
  for (const key of [...CARRIED, "date", "time"]) {
    const column = row.sheet.entries.find((one) => one.key === key);
    if (!column || cells[key] !== undefined || !known[key]) continue;
    cells[key] = known[key];
    const input = $(`entry-${key}`);
    if (input) input.value = known[key];
  }
}
const carried = {};

function judge() {
  const row = open, cells = current(row);
  for (const column of row.sheet.entries) {
    const one = said(column, cells[column.key]), input = $(`entry-${column.key}`), note = $(`entry-${column.key}-trouble`);
    if (!note) continue;
    note.hidden = !(one && one.trouble);
    note.textContent = (one && one.trouble) || "";
    if (input) input.setAttribute("aria-invalid", String(Boolean(one && one.trouble)));
    if (CARRIED.includes(column.key) && cells[column.key]) carried[column.key] = cells[column.key];
  }
  rejudge(row);
  const word = wordOf(row);
  $("verdict").className = word;
  $("verdict").textContent = `Verdict: ${word || "nothing typed"}`;
  list();
}

function back() {
  open = null;
  $("sheet").hidden = true;
  $("finder").hidden = false;
  list();
  $("wanted").focus();
}

function next() {
  const from = ROWS.indexOf(open), order = [...ROWS.slice(from + 1), ...ROWS.slice(0, from)];
  const row = order.find((one) => wordOf(one) !== "pass");
  if (row) show(row); else back();
}

function again() {
  if (!Object.keys(current(open)).length) return;
  open.rounds.push({});
  keep(open);
  draw();
  $("sheet-head").focus();
}

// --- handing in -----------------------------------------------------------------------------------

/** Return the file of rows: numbers with every digit that was typed, the rest as text. */
function exported() {
  const sheets = [];
  for (const sheet of JOB.sheets) {
    const rows = ROWS.filter((row) => row.sheet === sheet).flatMap((row) => row.rounds.map((cells, place) => rowText(row, cells, place + 1)));
    const filled = rows.filter(Boolean);
    if (!filled.length) continue;
    const head = `"medium": ${JSON.stringify(sheet.medium)}, "lengths": ${JSON.stringify(JOB.lengths)}, "stated": {"dates": "ymd"}`;
    sheets.push(`{${head}, "rows": [\n${filled.join(",\n")}\n]}`);
  }
  return `{"dropledger_rows": 1, "job": ${JSON.stringify(JOB.name)}, "sheets": [${sheets.join(",\n")}]}\n`;
}

function rowText(row, cells, round) {
  const typed = Object.entries(cells);
  if (!typed.length) return "";
  const parts = row.position ? [[row.sheet.position, JSON.stringify(String(row.position))]] : [];
  for (const [key, text] of typed) {
    const column = row.sheet.entries.find((one) => one.key === key), one = column && said(column, text);
    if (one) parts.push([key, one.literal === undefined ? JSON.stringify(one.word || trimmed(text)) : one.literal]);
  }
  const inside = parts.map(([key, value]) => `${JSON.stringify(key)}: ${value}`).join(", ");
  return `{"circuit": ${JSON.stringify(row.given.circuit)}, "round": "${round}", "cells": {${inside}}}`;
}

function save() {
  const text = exported(), count = ROWS.reduce((sum, row) => sum + row.rounds.filter((cells) => Object.keys(cells).length).length, 0);
  if (!count) { $("saved").textContent = "Nothing is typed yet."; return; }
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type: "application/json" })), download: `${JOB.file}-readings.json` });
  document.body.append(link);
  link.click();
  link.remove();
  $("saved").textContent = `${count} rows saved as ${JOB.file}-readings.json.`;
}

// --- start ----------------------------------------------------------------------------------------

for (const button of document.querySelectorAll(".which")) {
  button.addEventListener("click", () => {
    which = button.dataset.which;
    for (const other of document.querySelectorAll(".which")) other.setAttribute("aria-pressed", String(other === button));
    list();
  });
}
$("wanted").addEventListener("input", list);
$("back").addEventListener("click", back);
$("next").addEventListener("click", next);
$("again").addEventListener("click", again);
$("save").addEventListener("click", save);
$("entries").addEventListener("submit", (event) => event.preventDefault());
document.addEventListener("keydown", (event) => { if (event.key === "Escape" && open) back(); });
window.addEventListener("beforeunload", (event) => { if (!kept) event.preventDefault(); });
$("helps").replaceChildren(...JOB.helps.map((line) => make("li", {}, line)));
recall();
ROWS.forEach(rejudge);
list();
