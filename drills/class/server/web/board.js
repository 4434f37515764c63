// The live board. Everything that comes from learners is put in as text.
"use strict";
const at = id => document.getElementById(id);
let stream, names = false, marks = true, last;

function node(tag, cls, text) {
  const e = document.createElement(tag);
  if (cls) e.className = cls;
  if (text !== undefined) e.textContent = text;
  return e;
}

function sign(m) {
  if (m.r) return ["right", "●"];
  if (m.e > 0) return ["hot", "▲"];
  if (m.e < 0) return ["cold", "▼"];
  return ["wrong", "✕"];
}

// mean is the mean error so far, signed, in dB.
function mean(marks) {
  const e = marks.reduce((sum, m) => sum + m.e, 0) / marks.length;
  const size = Math.abs(e).toFixed(1);
  return (size === "0.0" ? "" : e > 0 ? "+" : "−") + size;
}

function draw(v) {
  last = v;
  const n = v.learners.length;
  const playing = v.learners.filter(l => !l.handed && l.round <= v.rounds).length;
  at("lead").textContent = n === 0 ? "Nobody has started yet." :
    n + (n === 1 ? " learner: " : " learners: ") + playing + " playing, " + v.handed + " handed in.";
  const rounds = at("rounds");
  rounds.replaceChildren();
  for (let i = 0; i < v.rounds; i++) {
    const done = v.learners.filter(l => l.marks.length > i);
    const right = done.filter(l => l.marks[i].r).length;
    const box = node("div", "round"), well = node("div", "well"), fill = node("div", "fill");
    fill.style.height = marks && done.length ? 100 * right / done.length + "%" : "0";
    well.append(fill);
    box.append(well, node("div", "", String(i + 1)), node("div", "", marks && done.length ? right + "/" + done.length : "–"));
    rounds.append(box);
  }
  const list = at("learners");
  list.replaceChildren();
  v.learners.forEach((l, i) => {
    const idle = !l.handed && l.idle_s > 180;
    const li = node("li", l.handed ? "in" : idle ? "idle" : "");
    li.append(node("span", "who", names && l.who ? l.who : "Learner " + (i + 1)));
    li.append(node("span", "state", l.handed ? "handed in" : l.round > v.rounds ? "done" :
      "round " + l.round + " of " + v.rounds + (idle ? " · idle for " + Math.round(l.idle_s / 60) + " min" : "")));
    const takes = node("span", "takes");
    if (marks) for (const m of l.marks) takes.append(node("span", ...sign(m)));
    if (!l.handed && l.round <= v.rounds) takes.append(node("span", "", "○"));
    if (marks && l.marks.some(m => m.e !== 0)) takes.append(node("span", "mean", "mean " + mean(l.marks) + " dB"));
    li.append(takes);
    list.append(li);
  });
}

function connect() {
  if (stream) stream.close();
  stream = new EventSource("/teacher/events" + (names ? "?names=1" : ""));
  stream.onopen = () => { at("link").textContent = "live"; };
  stream.onerror = () => { at("link").textContent = "not connected; trying again"; };
  stream.onmessage = e => draw(JSON.parse(e.data));
}

function setNames(on) {
  names = on;
  at("names").setAttribute("aria-pressed", on);
  at("names").firstChild.textContent = on ? "Hide aliases " : "Show aliases ";
  connect();
}

function setMarks(on) {
  marks = on;
  at("marks").setAttribute("aria-pressed", on);
  at("marks").firstChild.textContent = on ? "Hide answers " : "Show answers ";
  if (last) draw(last);
}

at("names").onclick = () => setNames(!names);
at("marks").onclick = () => setMarks(!marks);
addEventListener("keydown", e => {
  if (e.ctrlKey || e.metaKey || e.altKey) return;
  if (e.key === "a") setNames(!names);
  if (e.key === "m") setMarks(!marks);
});
connect();
