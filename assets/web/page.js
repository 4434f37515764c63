// Loads the trainer and hands the page over to it. The address may carry
//
//   ?code=K3F0+9A2C+77VQ   a class is joined, its code typed in already if there is one
//   ?seed=21               the session's number, as the program's --seed
//   ?probe=1               what happens goes to the console as JSON lines, and
//                          into the array slowneedleEvents, for tests
"use strict";

(async () => {
  const at = id => document.getElementById(id);
  const asked = new URLSearchParams(location.search);
  navigator.getGamepads ??= () => []; // hidden from pages without HTTPS in some browsers, which would warn at every frame
  const go = new Go();
  go.argv = ["slowneedle"];
  if (/^\d{1,15}$/.test(asked.get("seed") ?? "")) go.argv.push("--seed", asked.get("seed"));
  if (asked.has("code")) go.argv.push("--code", /^[\w -]{1,40}$/.test(asked.get("code")) ? asked.get("code") : "");
  if (location.protocol.startsWith("http")) go.argv.push("--server", location.origin);
  if (asked.has("probe")) {
    go.env = { SLOWNEEDLE_PROBE: "-" };
    const events = globalThis.slowneedleEvents = [];
    const log = console.log;
    console.log = (...parts) => {
      if (typeof parts[0] === "string" && parts[0].startsWith("{")) events.push(JSON.parse(parts[0]));
      log(...parts);
    };
  }

  // load fetches the program and compiles it as it comes, and shows how far it has come.
  // The page has the length of the unpacked program; the answer's is that of the packed one.
  async function load(name) {
    const answer = await fetch(name);
    if (!answer.ok) throw new Error("the server answered " + answer.status + " for " + name);
    const whole = Number(at("bar").dataset.bytes);
    let have = 0;
    const counted = answer.body.pipeThrough(new TransformStream({
      transform(part, out) {
        have += part.length;
        at("bar").value = Math.min(1, have / whole);
        out.enqueue(part);
      },
      flush() { at("say").textContent = "Starting…"; },
    }));
    return await WebAssembly.instantiateStreaming(
      new Response(counted, { headers: { "Content-Type": "application/wasm" } }), go.importObject);
  }

  try {
    if (location.protocol === "file:") {
      throw new Error("a browser cannot start it from a folder. Serve the folder with " +
        "“markbook serve --data class --app FOLDER”, or with any web server, and open the address it has there");
    }
    const { instance } = await load("slowneedle.wasm");
    const ended = go.run(instance);
    at("wait").remove();
    if (isSecureContext) navigator.serviceWorker?.register("worker.js").catch(() => {}); // it then starts without a network
    await ended;
    throw new Error("it ended unexpectedly; reload the page");
  } catch (err) {
    const p = document.createElement("p");
    p.id = "trouble";
    p.setAttribute("role", "alert");
    p.textContent = "The trainer stopped: " + err.message;
    document.body.append(p);
    at("wait")?.remove();
  }
})();
