// Loads the trainer and hands the page over to it.
"use strict";

(async () => {
  const say = document.getElementById("say");
  const bar = document.getElementById("bar");

  // The program asks these for what only a page can do.
  globalThis.slowneedleQuit = () => { say.textContent = "Closed. Load the page again to go on."; };

  try {
    const answer = await fetch("slowneedle.wasm");
    if (!answer.ok) throw new Error("the server answered " + answer.status + " for slowneedle.wasm");
    const total = Number(answer.headers.get("X-Full-Length")) || 0;
    const bytes = [];
    let got = 0;
    const reader = answer.body.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      bytes.push(value);
      got += value.length;
      if (total) bar.value = got / total;
    }
    const go = new Go();
    const { instance } = await WebAssembly.instantiate(await new Blob(bytes).arrayBuffer(), go.importObject);
    document.getElementById("wait").remove();
    await go.run(instance);
  } catch (err) {
    say.textContent = "The trainer did not start: " + err.message;
    bar.remove();
  }
})();
