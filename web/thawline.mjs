// Thawline in a browser or in Node: text in, text out. `load` takes the bytes of thawline.wasm.

// Crates of the solver look at a clock, on which nothing hangs. Theirs stands still: it, and the objects
// that they find it by, are 0. Whatever else is asked of the outside ends the call.
const STILL = /^(__wbg_(performance|now|static_accessor|__wbindgen_is_undefined)_|__wbindgen_(object|externref)_)/;

function imports(module) {
  const all = {};
  for (const { module: from, name } of WebAssembly.Module.imports(module)) {
    const refuse = () => {
      throw new Error(`thawline.wasm asked for ${name}`);
    };
    (all[from] ??= {})[name] = STILL.test(name) ? () => 0 : refuse;
  }
  return all;
}

export async function load(bytes) {
  const module = await WebAssembly.compile(bytes);
  const { exports } = await WebAssembly.instantiate(module, imports(module));
  const ask = (question) => {
    const text = new TextEncoder().encode(JSON.stringify(question));
    const room = exports.thawline_room(text.length);
    new Uint8Array(exports.memory.buffer, room, text.length).set(text);
    const answer = exports.thawline_plan(room, text.length);
    // The memory may have grown, and moved.
    const length = new DataView(exports.memory.buffer).getUint32(answer, true);
    const told = new TextDecoder().decode(new Uint8Array(exports.memory.buffer, answer + 4, length));
    exports.thawline_free(answer);
    return told;
  };
  return {
    // `name`: the season file's, `season`: its text, `files`: texts by the names that the season gives them.
    // The answer is JSON text: a plan, or findings.
    plan: ({ name, season, files = {} }) => ask({ name, season, files }),
    memoryBytes: () => exports.memory.buffer.byteLength,
  };
}
