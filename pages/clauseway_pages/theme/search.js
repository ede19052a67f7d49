// Finds pages by section number, name, synonym or word. The index is a script beside this one.
"use strict";
(() => {
  const input = document.getElementById("find");
  const list = document.getElementById("found");
  const count = document.getElementById("count");
  const most = 30;
  const idle = new Set("a an and are at by can do for how i in is it may my of on or the to what when where which with".split(" "));
  const kinds = { list: 6, guide: 5, section: -2, fact: 2, finding: -6, thing: 4, computation: 2, code: 4, edition: 0, jurisdiction: 4 };
  let entries = [];
  let vocabulary = [];

  const words = (text) =>
    text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f§]/g, "").match(/[a-z0-9]+(?:[.'’_/-][a-z0-9]+)*/g) || [];

  // A word with its parts, so that `lock.on` and `sensor-release` are found by any of theirs.
  const parts = (text) =>
    words(text).flatMap((word) =>
      /^[\d.]+$/.test(word) ? [word] : [word, word.replace(/['’-]/g, ""), ...word.split(/[.'’_/-]/)],
    );

  const near = (a, b) => {
    if (Math.abs(a.length - b.length) > 1) return false;
    let i = 0;
    while (i < a.length && a[i] === b[i]) i++;
    const swapped = a.length === b.length && a[i] === b[i + 1] && a[i + 1] === b[i] && a.slice(i + 2) === b.slice(i + 2);
    return swapped || a.slice(i + 1) === b.slice(i + 1) || a.slice(i + 1) === b.slice(i) || a.slice(i) === b.slice(i + 1);
  };

  window.clausewaySearch = (rows) => {
    const all = new Set();
    entries = rows.map(([address, title, kind, summary, more, also]) => {
      const weights = new Map();
      const put = (text, weight) => {
        for (const word of parts(text)) {
          const own = kind !== "guide" && /^\d+(\.\d+)+$/.test(word) ? Math.max(weight, 10) : weight;
          weights.set(word, Math.max(own, weights.get(word) || 0));
        }
      };
      put(more, 3);
      put(summary, 4);
      put(title, 10);
      put(also, 12);
      for (const word of weights.keys()) all.add(word);
      const said = also ? also.split(", ") : [];
      return { address, title, kind, summary, weights, said: said.map((each) => words(each).join(" ")) };
    });
    vocabulary = [...all].sort();
    find();
  };

  // The words of the index that a typed word may mean, each with how well it fits.
  const meant = (typed) => {
    const hits = new Map();
    for (const word of new Set([typed, typed.replace(/['’-]/g, "")])) meantBy(word, hits);
    return hits;
  };

  const meantBy = (word, hits) => {
    for (const known of vocabulary) {
      if (known === word) hits.set(known, 1);
      else if (known === word.replace(/s$/, "") || known.replace(/s$/, "") === word) hits.set(known, 0.95);
      else if (known.startsWith(word) && (word.length > 2 || /\d/.test(word))) hits.set(known, 0.6 * (word.length / known.length) + 0.2);
    }
    if (!hits.size && word.length > 3 && !/\d/.test(word)) {
      for (const known of vocabulary) if (near(word, known)) hits.set(known, 0.4);
    }
  };

  const ranked = (typed) => {
    const kept = words(typed).filter((word) => !idle.has(word));
    const asked = kept.length ? kept : words(typed);
    const whole = words(typed).join(" ");
    const options = asked.map(meant);
    const scored = entries.map((entry) => {
      let score = 0;
      let matched = 0;
      for (const hits of options) {
        let best = 0;
        for (const [known, fit] of hits) {
          const weight = entry.weights.get(known);
          if (weight) best = Math.max(best, weight * fit);
        }
        if (best) matched++;
        score += best;
      }
      if (matched) score += kinds[entry.kind] ?? 3;
      if (matched && words(entry.title).join(" ") === whole) score += 20;
      if (entry.said.includes(whole)) score += 15;
      if (matched && entry.address === `codes/${whole}.html`) score += 20;
      return { entry, score, matched };
    });
    const full = scored.filter((each) => each.matched === asked.length && asked.length);
    const some = full.length ? full : scored.filter((each) => each.matched);
    return some.sort((a, b) => b.matched - a.matched || b.score - a.score || (a.entry.address < b.entry.address ? -1 : 1));
  };

  const find = () => {
    const typed = input.value.trim();
    list.replaceChildren();
    if (!entries.length || !typed) {
      count.textContent = "";
      return;
    }
    const found = ranked(typed);
    count.textContent = found.length ? `${found.length} found${found.length > most ? `, the first ${most} shown` : ""}.` : `Nothing found for “${typed}”.`;
    for (const { entry } of found.slice(0, most)) {
      const item = document.createElement("li");
      const link = document.createElement("a");
      link.href = entry.address;
      link.textContent = entry.title;
      const kind = document.createElement("span");
      kind.className = "kind";
      kind.textContent = entry.kind;
      const about = document.createElement("p");
      about.textContent = entry.summary;
      item.append(link, " ", kind, about);
      list.append(item);
    }
  };

  input.value = new URLSearchParams(location.search).get("q") || "";
  input.addEventListener("input", find);
  input.form.addEventListener("submit", (event) => {
    event.preventDefault();
    find();
  });
  input.focus();
})();
