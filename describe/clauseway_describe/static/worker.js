// Runs the engine: messages in, JSON texts out. Everything comes from this folder.
import { loadPyodide } from "./python/pyodide.mjs";

const here = new URL("./", import.meta.url);
const books = new Set();

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

async function keep(desk, name) {
  if (books.has(name)) return;
  const response = await bytes(`books/${name}.json.gz`);
  const text = await new Response(response.body.pipeThrough(new DecompressionStream("gzip"))).text();
  desk.keep_rulebook(name, text);
  books.add(name);
}

// One after the other: an answer never overtakes the one before it.
let last = Promise.resolve();
onmessage = event => {
  const { id, book, call, given } = event.data;
  last = last.then(async () => {
    try {
      const desk = await ready;
      if (book) await keep(desk, book);
      const start = performance.now();
      const text = call ? desk[call](...(book ? [book] : []), ...given) : "";
      postMessage({ id, text, took: performance.now() - start });
    } catch (error) {
      postMessage({ id, failed: String(error).slice(0, 2000) });
    }
  });
};
