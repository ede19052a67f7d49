// Runs the engine: messages in, JSON texts out. Everything comes from this folder.
import { loadPyodide } from "./python/pyodide.mjs";

const here = new URL("./", import.meta.url);
const fetched = new Map();
const kept = new Set();

async function bytes(name) {
  const response = await fetch(new URL(name, here));
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  return response;
}

const ready = (async () => {
  const [python, engine] = await Promise.all([
    loadPyodide({ indexURL: new URL("python/", here).href }),
    bytes("engine.zip").then(response => response.arrayBuffer()),
  ]);
  python.unpackArchive(engine, "zip", { extractDir: "/engine" });
  python.runPython("import sys\nsys.path.insert(0, '/engine')");
  return python.pyimport("clauseway_describe.desk");
})();

// A rulebook is fetched as soon as it is named, beside whatever is computed then.
function book(name) {
  if (!fetched.has(name)) {
    const text = bytes(`books/${name}.json.gz`)
      .then(response => new Response(response.body.pipeThrough(new DecompressionStream("gzip"))).text());
    // Heard where it is waited for; what failed is tried again the next time.
    text.catch(() => fetched.delete(name));
    fetched.set(name, text);
  }
  return fetched.get(name);
}

async function keep(desk, name) {
  if (kept.has(name)) return;
  desk.keep_rulebook(name, await book(name));
  kept.add(name);
  fetched.delete(name);
}

// One after the other: an answer never overtakes the one before it.
let last = Promise.resolve();
onmessage = event => {
  const { id, book: name, call, given } = event.data;
  if (name && !kept.has(name)) book(name);
  last = last.then(async () => {
    try {
      const desk = await ready;
      if (name) await keep(desk, name);
      const start = performance.now();
      const text = call ? desk[call](...(name ? [name] : []), ...given) : "";
      postMessage({ id, text, took: performance.now() - start });
    } catch (error) {
      postMessage({ id, failed: String(error).slice(0, 2000) });
    }
  });
};
