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

  // read fetches the program and shows how far it has come. The length is that
  // of the packed program, so the bar follows what the page says of the unpacked.
  async function read(name) {
    const answer = await fetch(name);
    if (!answer.ok) throw new Error("the server answered " + answer.status + " for " + name);
    const whole = Number(at("bar").dataset.bytes);
    const from = answer.body.getReader(), parts = [];
    let have = 0;
    for (let p = await from.read(); !p.done; p = await from.read()) {
      parts.push(p.value);
      have += p.value.length;
      if (whole) at("bar").value = Math.min(1, have / whole);
    }
    return await new Blob(parts).arrayBuffer();
  }

  try {
    if (location.protocol === "file:") {
      throw new Error("a browser cannot start it from a folder. Serve the folder with " +
        "“markbook serve --data class --app FOLDER”, or with any web server, and open the address it has there");
    }
    const program = await read("slowneedle.wasm");
    at("say").textContent = "Starting…";
    const { instance } = await WebAssembly.instantiate(program, go.importObject);
    const ended = go.run(instance);
    at("wait").remove();
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
