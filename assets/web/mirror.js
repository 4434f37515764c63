// The page's side of the trainer: what hands do on it, in the order in which they do it,
// and the texts and controls of the picture as elements, for screen readers, for the
// browser's own ways of typing, and for the tab key.
"use strict";

const slowneedle = globalThis.slowneedle = (() => {
  const done = []; // what hands did since the program asked last
  const post = (Kind, more) => done.push({ Kind, ...more });
  let canvas, root, live, screen = "", shown = new Map(), byFinger = false, composing = false;
  let fills = 0; // texts sent to the program, which answers with the number of the last it has

  // The browser's own keys stay its own: those with control, alt or command, and these.
  const browsers = new Set(["Tab", "F3", "F5", "F6", "F7", "F10", "F11", "F12"]);
  const isField = el => el?.classList?.contains("field") ?? false;
  const isControl = el => el?.parentNode === root;

  function keyDown(e) {
    if (!canvas) return;
    e.stopPropagation(); // the window library takes keys away from the browser
    if (e.isComposing || e.ctrlKey || e.metaKey || e.altKey || browsers.has(e.key)) return;
    if (isField(e.target) && !/^(Enter|Escape|ArrowUp|ArrowDown|F\d+)$/.test(e.key)) return;
    if (isControl(e.target) && e.target.tagName === "BUTTON" && (e.key === "Enter" || e.key === " ")) return; // a click follows
    e.preventDefault();
    if (e.repeat) return;
    post("key down", { Name: e.code || e.key, Shift: e.shiftKey });
    if ([...e.key].length === 1) post("typed", { Text: e.key });
  }

  function pointer(kind, e) {
    if (!canvas || !e.isPrimary || e.target !== canvas || kind !== "pointer move" && e.button > 0) return;
    byFinger = e.pointerType === "touch";
    if (kind === "pointer down") canvas.setPointerCapture(e.pointerId);
    const last = done[done.length - 1];
    if (kind === "pointer move" && last?.Kind === kind) done.pop(); // only where it is now
    post(kind, { X: e.clientX / canvas.clientWidth, Y: e.clientY / canvas.clientHeight, Touch: byFinger });
  }

  addEventListener("keydown", keyDown, true);
  addEventListener("keyup", e => canvas && post("key up", { Name: e.code || e.key }), true);
  addEventListener("pointerdown", e => pointer("pointer down", e), true);
  addEventListener("pointermove", e => pointer("pointer move", e), true);
  addEventListener("pointerup", e => pointer("pointer up", e), true);
  addEventListener("pointercancel", e => pointer("pointer up", e), true);
  addEventListener("blur", () => canvas && post("left"));
  addEventListener("wheel", e => {
    if (!canvas || e.target !== canvas) return;
    if (e.ctrlKey) e.stopPropagation(); // the browser's zoom
    else post("wheel", { Y: -e.deltaY });
  }, true);

  // stage takes the picture that the program has made into the page.
  function stage() {
    canvas = document.querySelector("canvas");
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "application");
    canvas.setAttribute("aria-label", "slowneedle");
    root = document.createElement("div");
    root.id = "mirror";
    live = document.createElement("p");
    live.id = "live";
    live.setAttribute("role", "status");
    const trainer = document.getElementById("trainer");
    trainer.append(canvas, root);
    root.append(live);
    canvas.focus();
  }

  const tags = { heading: "H1", text: "P", button: "BUTTON", field: "INPUT", slider: "INPUT" };

  function make(it) {
    const el = document.createElement(tags[it.Role]);
    const Name = it.Name, fill = () => post("fill", { Name, Text: el.value, Value: ++fills });
    switch (it.Role) {
      case "heading":
        el.tabIndex = -1;
        break;
      case "button":
        el.type = "button";
        el.addEventListener("click", () => post("press", { Name }));
        break;
      case "field":
        el.className = "field";
        el.autocomplete = "off";
        el.spellcheck = false;
        el.addEventListener("compositionstart", () => composing = true);
        el.addEventListener("compositionend", () => { composing = false; fill(); });
        el.addEventListener("input", () => composing || fill());
        break;
      case "slider":
        el.type = "range";
        el.addEventListener("input", () => post("slide", { Name, Value: Number(el.value) }));
        break;
    }
    if (Name) {
      el.addEventListener("focus", () => post("focus", { Name }));
      el.addEventListener("blur", () => isControl(document.activeElement) || post("focus", { Name: "" }));
    }
    return el;
  }

  function update(el, it, m) {
    if (it.Role === "field" || it.Role === "slider") el.setAttribute("aria-label", it.Label);
    else if (el.textContent !== it.Label) el.textContent = it.Label;
    if (it.Role === "button" && (it.On || el.hasAttribute("aria-pressed"))) el.setAttribute("aria-pressed", it.On);
    if (it.Role === "field") {
      el.style.background = m.Panel;
      el.style.color = m.Ink;
      el.style.fontSize = it.H * 45 + "vh";
      if (el.value !== it.Text && m.Filled === fills && !composing) {
        const behind = el.value.length - el.selectionEnd;
        el.value = it.Text;
        if (document.activeElement === el) el.setSelectionRange(it.Text.length - behind, it.Text.length - behind);
      }
    }
    for (const [side, v] of [["left", it.X], ["top", it.Y], ["width", it.W], ["height", it.H]]) el.style[side] = 100 * v + "%";
  }

  // show makes the elements those of a screen: each stays the same one as long as it is
  // there, so that it keeps the focus.
  function show(text) {
    if (!canvas) stage();
    const m = JSON.parse(text);
    const had = document.activeElement, fresh = m.Screen !== screen;
    screen = m.Screen;
    document.documentElement.lang = m.Language;
    const old = shown;
    shown = new Map();
    let before = null;
    for (const it of m.Items) {
      let key = it.Role + "." + (it.Name || it.Label);
      while (shown.has(key)) key += "'";
      const el = old.get(key) ?? make(it);
      old.delete(key);
      shown.set(key, el);
      update(el, it, m);
      const next = before ? before.nextSibling : root.firstChild;
      if (el !== next) root.insertBefore(el, next);
      before = el;
    }
    for (const el of old.values()) el.remove();
    const words = m.Items.filter(it => it.Live).map(it => it.Label).join(" ");
    if (live.textContent !== words) live.textContent = words;

    const field = m.Field && shown.get("field." + m.Field);
    if (had !== document.activeElement && had.isConnected) had.focus(); // it was moved
    if (field && !byFinger && (fresh || !isControl(document.activeElement) || isField(document.activeElement))) {
      if (document.activeElement !== field) {
        field.focus();
        field.select();
      }
    } else if (fresh && had !== document.activeElement && isControl(had)) {
      (root.querySelector("h1") ?? canvas).focus(); // what had it has gone
    } else if (document.activeElement === document.body) {
      canvas.focus();
    }
  }

  // set makes a slider stand where the program has it.
  function set(Name, least, most, step, value, words) {
    const el = shown.get("slider." + Name);
    if (!el) return;
    el.min = least, el.max = most, el.step = step, el.value = value;
    el.setAttribute("aria-valuetext", words);
  }

  // letter draws those that the trainer's own font lacks.
  const sketch = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  function letter(text, size, bold) {
    const font = (bold ? "bold " : "") + size + "px system-ui, sans-serif";
    sketch.font = font;
    const m = sketch.measureText(text);
    const x = Math.floor(-m.actualBoundingBoxLeft), y = Math.floor(-m.actualBoundingBoxAscent);
    const width = Math.max(1, Math.ceil(m.actualBoundingBoxRight) - x), height = Math.max(1, Math.ceil(m.actualBoundingBoxDescent) - y);
    sketch.canvas.width = width, sketch.canvas.height = height; // which forgets the font
    sketch.font = font;
    sketch.fillText(text, -x, -y);
    const alpha = sketch.getImageData(0, 0, width, height).data.filter((_, i) => i % 4 === 3);
    return { alpha: new Uint8Array(alpha), width, x, y, advance: m.width };
  }

  return { letter, take: () => done.length ? JSON.stringify(done.splice(0)) : null, show, set };
})();
