// The page: shows what the engine says, and hands it what people type. Nothing is decided here.
const find = id => document.getElementById(id);
const worker = new Worker(new URL("./worker.js", import.meta.url), { type: "module" });
const waiting = new Map();
let count = 0;

worker.onmessage = event => {
  const { id, text, failed, took } = event.data;
  const { done, fail } = waiting.get(id);
  waiting.delete(id);
  if (failed) fail(new Error(failed));
  else { document.documentElement.dataset.took = String(Math.round(took)); done(text); }
};
worker.onerror = () => { find("state").textContent = "The engine could not be loaded. The page must be served by a web server; opened from a disk it may not load it."; };

const call = (name, book, ...given) => new Promise((done, fail) => {
  count += 1;
  waiting.set(count, { done, fail });
  worker.postMessage({ id: count, call: name, book, given });
});

async function asked(name, book, ...given) {
  let told;
  try {
    told = JSON.parse(await call(name, book, ...given));
  } catch (error) {
    told = { problems: [{ found: `The engine failed; nothing was changed. ${error.message.trim().split("\n").at(-1)}` }] };
  }
  if (told.problems) {
    const lines = told.problems.map(each => [each.found, each.expected && `expected: ${each.expected}`, each.nearest && `did you mean: ${each.nearest}?`].filter(Boolean).join("\n"));
    find("problem").textContent = lines.join("\n\n");
    find("problem").hidden = false;
    // The bar it stands in stays in sight, but on a low screen.
    if (getComputedStyle(find("problem").parentElement).position === "static") find("problem").scrollIntoView({ block: "nearest" });
    return null;
  }
  find("problem").hidden = true;
  return told.result;
}

// --- making elements -------------------------------------------------------------------------------------------

function make(name, { text, ...attributes } = {}, ...children) {
  const element = document.createElement(name);
  if (text !== undefined) element.textContent = text;
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children.filter(child => child !== null && child !== undefined));
  return element;
}

const verdicts = { "does-not-comply": "does not comply", undetermined: "not decided", "needs-approval": "needs approval", complies: "no violation found" };
const standing = { met: "yes", unmet: "no", undetermined: "open", "needs-approval": "after approval", "not-applicable": "does not apply" };

function clause(citation) {
  const words = [citation.code, citation.edition, citation.section].filter(Boolean).join(" ") + (citation.item ? `, item ${citation.item}` : "");
  return words + (citation.basis === "memory" ? " (from memory)" : "");
}

function ruled(each) {
  return make("a", { href: `../${each.page}`, text: each.id });
}

// --- state -----------------------------------------------------------------------------------------------------

let law = null;
let data = null;
let opening = "";

function readings() {
  const chosen = law.places.find(place => place.id === find("place").value);
  if (!chosen) return { book: find("place").value, all: [] };
  const day = find("day").value || law.today;
  const period = chosen.periods.filter(each => each.since <= day).at(-1) ?? chosen.periods[0];
  return { all: period.readings, why: period.why };
}

function book() {
  const { all, book } = readings();
  if (book) return law.codes.find(each => each.id === book).book;
  return all.length ? all[Math.min(find("reading").selectedIndex < 0 ? 0 : find("reading").selectedIndex, all.length - 1)].book : "";
}

function showLaw() {
  const { all, why, book: code } = readings();
  find("day").disabled = Boolean(code);
  const before = find("reading").selectedIndex;
  find("reading").replaceChildren(...all.map((each, number) => make("option", { value: number, text: each.label || "the only one" })));
  find("reading").selectedIndex = Math.max(0, Math.min(before, all.length - 1));
  find("reading-label").hidden = all.length < 2;
  const chosen = all[find("reading").selectedIndex];
  find("law").textContent = code ? `${law.codes.find(each => each.id === code).title} by itself, without the amendments of any place.`
    : chosen ? `Governing: ${chosen.codes.join(", ")}${chosen.layers.length ? `; amended by ${chosen.layers.join(", ")}` : ""}` : why || "Nothing that is encoded governs there on that day.";
}

async function show() {
  showLaw();
  const chosen = book();
  if (!chosen) { find("answer").replaceChildren(); find("details").replaceChildren(); find("questions").replaceChildren(); return; }
  const seen = await asked("view", chosen, JSON.stringify(data), opening);
  if (seen) draw(seen);
}

async function change(name, ...given) {
  const start = performance.now();
  const next = name === "forget" ? await asked("forget", "", JSON.stringify(data), ...given) : await asked(name, book(), JSON.stringify(data), ...given);
  if (next) {
    data = next;
    await show();
    document.documentElement.dataset.answered = String(Math.round(performance.now() - start));
  }
  return next !== null;
}

// --- drawing ---------------------------------------------------------------------------------------------------

const several = (count, one, many) => `${count} ${count === 1 ? one : many}`;

// What a person has opened or closed stays so when the page is drawn anew.
const folds = new Map();

function fold(key, open, summary, ...children) {
  const details = make("details", { open: folds.get(key) ?? open }, make("summary", { text: summary, "data-at": key }), ...children);
  details.addEventListener("toggle", () => folds.set(key, details.open));
  return details;
}

const headings = { questions: "h-ask", things: "h-said", details: "h-why" };

// The keyboard stays where it was: on the same control, or at the heading of its part where that is gone.
function keepingFocus(redraw) {
  const at = document.activeElement;
  const part = Object.keys(headings).find(id => find(id).contains(at));
  const name = each => each.dataset.at || each.getAttribute("aria-label");
  const sought = part && name(at);
  redraw();
  if (!part) return;
  const same = sought && [...find(part).querySelectorAll("[aria-label], [data-at]")].find(each => name(each) === sought);
  (same || find(headings[part])).focus({ preventScroll: true });
}

function findings(heading, list) {
  if (!list.length) return [];
  return [make("h3", { text: heading }), make("ul", {}, ...list.map(each => make("li", {},
    make("span", { text: each.says, class: each.memory ? "memory" : "" }),
    each.remedy ? make("p", { text: `To do: ${each.remedy}` }) : null,
    make("p", { class: "soft", text: `${each.citations.map(clause).join("; ")} ` }, ruled(each)))))];
}

function arrangements(list) {
  if (!list.length) return [];
  const ways = list.map(each => fold(`way ${each.id} ${each.subject}`, false,
    `${each.title}${each.claimed ? " (meant)" : ""}: permitted: ${standing[each.permitted]}; met: ${standing[each.verdict]}`,
    make("p", { class: "soft", text: `${clause(each.citation)} ` }, ruled(each)),
    make("ul", {}, ...each.lacks.map(lack => make("li", { text: `${lack.says} (${standing[lack.verdict]})` })))));
  return [fold("ways", list.some(each => each.claimed), `Ways of locking it (${ways.length})`, ...ways)];
}

const works = { yes: "It works, as far as it is described.", no: "It does not work as it is described.", undetermined: "Whether it works is not known yet.", "not-described": "" };

function draw(seen) { keepingFocus(() => redraw(seen)); }

function redraw(seen) {
  const { counts } = seen;
  const parts = [make("p", { class: `verdict ${seen.verdict}`, text: verdicts[seen.verdict] })];
  parts.push(make("p", { text: [`${counts.unmet} not met, ${counts.approvals} to be approved, ${counts.open} open, ${counts.met} met.`, works[seen.works]].filter(Boolean).join(" ") }));
  if (seen.resting) parts.push(make("p", { class: "soft", text: `${seen.resting} of ${several(seen.findings, "finding", "findings")} rest on what nobody has checked against the printed code.` }));
  find("answer").replaceChildren(...parts);
  find("details").replaceChildren(
    ...findings("Does not meet", seen.unmet),
    ...findings("Departs from guidance (another way may do; the authority decides)", seen.departs),
    ...(seen.conflicts.length ? [make("h3", { text: "Codes in conflict: ask each authority" }), make("ul", {}, ...seen.conflicts.map(each => make("li", { text: `${each.ids.join(" and ")}: ${each.why}` })))] : []),
    ...findings("An authority must approve", seen.approvals),
    ...findings("Will it work (practice, no code)", seen.practice),
    ...(seen.permits.length ? [make("h3", { text: "Permitted by" }), make("ul", {}, ...seen.permits.map(each => make("li", { text: `${each.title} (${clause(each.citation)}) ` }, ruled(each))))] : []),
    ...arrangements(seen.arrangements),
    ...(seen.relies_on.length ? [make("h3", { text: "Relies on what is claimed" }), make("ul", {}, ...seen.relies_on.map(each => make("li", { text: each })))] : []),
  );
  const cards = seen.questions.map(each => card(each.ask, each, each.about, `Who would know: ${each.knows}. ${several(each.waiting, "finding waits", "findings wait")} for it, such as ${each.for.join(", ")}.`));
  const later = cards.splice(FIRST_QUESTIONS);
  if (seen.more_questions) later.push(make("p", { class: "soft", text: `and ${seen.more_questions} more, once these are answered` }));
  if (later.length) cards.push(fold("later", false, `More questions (${seen.questions.length - FIRST_QUESTIONS + seen.more_questions})`, ...later));
  find("questions").replaceChildren(...(cards.length ? cards : [make("p", { text: "Nothing more needs to be said." })]));
  find("things").replaceChildren(...seen.things.map(thing));
}

const FIRST_QUESTIONS = 6;

function card(title, each, about, more) {
  const field = input(each, each.input);
  return make("form", { "data-path": each.path, "data-name": each.name, onsubmit: event => { event.preventDefault(); answer(each, field.value()); } },
    make("fieldset", {}, make("legend", { text: title }),
      about ? make("p", { class: "soft", text: about }) : null,
      make("div", { class: "row" }, ...field.elements),
      more ? make("p", { class: "soft", text: more }) : null));
}

async function answer(each, text) {
  if (text.trim()) await change("say", each.path, each.kind, each.name, text);
}

function input(each, how) {
  const label = `Answer to: ${each.ask ?? each.name}`;
  if (how.sort === "yes-no" || how.sort === "approval") {
    return { value: () => "", elements: ["yes", "no"].map(word => make("button", { type: "button", text: word, "aria-label": `${word}. ${each.ask ?? ""}`, onclick: () => answer(each, word) })) };
  }
  const button = make("button", { type: "submit", text: "Say it" });
  if (how.sort === "choice") {
    const select = make("select", { "aria-label": label }, make("option", { value: "", text: "not known" }), ...how.values.map(([name, about]) => make("option", { value: name, title: about, text: name })));
    return { value: () => select.value, elements: [select, button] };
  }
  if (how.sort === "choices") {
    const select = make("select", { multiple: true, size: Math.min(6, how.values.length), "aria-label": label }, ...how.values.map(([name, about]) => make("option", { value: name, title: about, text: name })));
    const none = make("button", { type: "button", text: "none of them", onclick: () => answer(each, "none") });
    return { value: () => [...select.selectedOptions].map(option => option.value).join(", "), elements: [select, button, none] };
  }
  if (how.sort === "names") {
    const text = make("input", { type: "text", "aria-label": label, placeholder: "names, with commas between", autocomplete: "off" });
    const words = how.may_be.filter(word => !word.startsWith("names") && !word.startsWith("new "));
    return { value: () => text.value, elements: [text, button, ...words.map(word => make("button", { type: "button", text: word, onclick: () => answer(each, word.split(",")[0]) }))] };
  }
  const text = make("input", { type: how.sort === "date" ? "date" : "text", "aria-label": label, placeholder: how.example ?? "", autocomplete: "off" });
  return { value: () => text.value, elements: [text, button] };
}

function thing(each) {
  const title = each.id && each.path ? `${each.title} ${each.id}` : each.title;
  const said = each.said.map(fact => make("li", {}, make("span", { text: `${fact.ask} ` }), make("strong", { text: fact.value }), " ",
    make("button", { type: "button", text: "take back", "aria-label": `take back: ${fact.ask}`, onclick: () => change("forget", each.path, fact.name) })));
  const more = make("select", { "aria-label": `Something else of ${title}` }, make("option", { value: "", text: "say something else" }), ...each.may_say.map(fact => make("option", { value: fact.name, text: fact.ask })));
  const place = make("div");
  more.addEventListener("change", () => {
    const fact = each.may_say.find(one => one.name === more.value);
    place.replaceChildren(...(fact ? [card(fact.ask, { path: each.path, kind: each.kind, ...fact }, fact.about, "")] : []));
  });
  const lists = each.lists.map(list => make("li", {}, `${list.name}: ${list.members.join(", ") || "none listed"}${list.whole ? " (all)" : ""} `, adder(each, list),
    ...(list.whole ? [] : [make("button", { type: "button", text: "these are all", "aria-label": `these are all ${list.name} of ${title}`, onclick: () => change("say", each.path, each.kind, list.name, "yes") })])));
  return fold(`thing ${each.path}`, each.said.length > 0 && each.path.split("/").length <= 2, `${title} (${each.said.length} said)`,
    make("ul", {}, ...said, ...lists), more, place);
}

function adder(each, list) {
  const text = make("input", { type: "text", size: 10, "aria-label": `name of one more in ${list.name} of ${each.title} ${each.id}`, autocomplete: "off" });
  return make("form", { class: "row", onsubmit: event => { event.preventDefault(); if (text.value.trim()) change("add", each.path, list.name, text.value); } }, text, make("button", { type: "submit", text: "add" }));
}

// --- files -----------------------------------------------------------------------------------------------------

function save(name, text, type) {
  const link = make("a", { href: URL.createObjectURL(new Blob([text], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

function openings(names) {
  find("opening").replaceChildren(...names.map(name => make("option", { value: name, text: name })));
  find("opening-label").hidden = names.length < 2;
  opening = names[0] ?? "";
}

async function begin() {
  data = JSON.parse(await call("starting", ""));
  openings(Object.keys(data.openings));
  await show();
}

find("new").addEventListener("click", begin);
find("opening").addEventListener("change", () => { opening = find("opening").value; show(); });
for (const id of ["place", "day", "reading"]) find(id).addEventListener("change", show);
find("open").addEventListener("change", async () => {
  const [file] = find("open").files;
  if (!file) return;
  if (file.size > 4_000_000) { find("problem").textContent = "This file is larger than 4 MB."; find("problem").hidden = false; return; }
  const told = await asked("opened", book(), await file.text(), file.name);
  find("open").value = "";
  if (told && told.openings.length) { data = told.data; openings(told.openings); await show(); }
});
find("save").addEventListener("click", async () => { const text = await asked("as_yaml", "", JSON.stringify(data)); if (text) save("openings.yaml", text, "text/yaml"); });
find("save-json").addEventListener("click", () => save("openings.json", JSON.stringify(data, null, 2) + "\n", "application/json"));
find("save-answer").addEventListener("click", async () => save("answer.json", await call("report", book(), JSON.stringify(data), "openings.json"), "application/json"));

async function load() {
  law = await (await fetch(new URL("law.json", import.meta.url))).json();
  find("place").append(
    make("optgroup", { label: "Places" }, ...law.places.map(place => make("option", { value: place.id, text: `${place.name} (${place.id})` }))),
    make("optgroup", { label: "A code by itself" }, ...law.codes.map(code => make("option", { value: code.id, text: code.title }))));
  find("place").value = law.first;
  const now = new Date();
  law.today = [now.getFullYear(), String(now.getMonth() + 1).padStart(2, "0"), String(now.getDate()).padStart(2, "0")].join("-");
  find("day").value = law.today;
  showLaw();
  // The rulebook is fetched while the engine starts.
  if (book()) call("", book()).catch(() => {});
  await begin();
  find("state").hidden = true;
  find("desk").hidden = false;
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
}

// For tests and for people who script their browser: the engine's calls by name.
globalThis.clauseway = { call, book };
load().catch(error => { find("state").textContent = `The page could not be loaded: ${String(error).slice(0, 300)}. It must be served by a web server.`; });
