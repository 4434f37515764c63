// Loads the trainer and hands the page over to it.
"use strict";

(async () => {
  const say = document.getElementById("say");
  try {
    const answer = await fetch("slowneedle.wasm");
    if (!answer.ok) throw new Error("the server answered " + answer.status + " for slowneedle.wasm");
    const go = new Go();
    const { instance } = await WebAssembly.instantiate(await answer.arrayBuffer(), go.importObject);
    document.getElementById("wait").remove();
    await go.run(instance);
  } catch (err) {
    say.textContent = "The trainer did not start: " + err.message;
    document.getElementById("bar").remove();
  }
})();
