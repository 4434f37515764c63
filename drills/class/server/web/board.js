// The live board. Everything that comes from learners is put in as text.
"use strict";
const said = JSON.parse(document.getElementById("said").textContent);
const at = id => document.getElementById(id);
const here = new URLSearchParams(location.search).get("sheet") || "";
let names = false, marks = true, managing = false, code = null, chosen = 0, last = null, wait = 1000, drawn = "";

// say fills a text's places in order; of {one|many} the first stands after 1.
function say(key, ...args) {
  let n = 0;
  return said[key].replace(/\{([^{}|]*)\|([^{}|]*)\}|%[ds]/g, (m, one, many) =>
    m[0] === "{" ? (String(args[n - 1]) === "1" ? one : many) : args[n++]);
}

function node(tag, cls, text) {
  const e = document.createElement(tag);
  if (cls) e.className = cls;
  if (text !== undefined) e.textContent = text;
  return e;
}

function sign(m) {
  if (m.in_window) return ["right", "●"];
  if (m.error_db > 0) return ["hot", "▲"];
  if (m.error_db < 0) return ["cold", "▼"];
  return ["wrong", "✕"];
}

// signed is a level difference, its minus a true one.
function signed(db, digits) {
  const size = Math.abs(db).toFixed(digits).replace(".", said["number.point"]);
  return (/[1-9]/.test(size) ? (db > 0 ? "+" : "−") : "") + size;
}

function mean(list) { return list.reduce((sum, m) => sum + m.error_db, 0) / list.length; }

function drawRounds(v) {
  const rounds = at("rounds");
  rounds.replaceChildren();
  for (let i = 0; i < v.rounds; i++) {
    const done = v.learners.filter(l => l.marks[i]);
    const right = done.filter(l => l.marks[i].in_window).length;
    const box = node("button", "", String(i + 1));
    box.append(node("br"), marks && done.length ? right + "/" + done.length : "–");
    const fill = node("span", "fill"), part = node("i");
    part.style.width = marks && done.length ? 100 * right / done.length + "%" : "0";
    fill.append(part);
    box.append(fill);
    box.setAttribute("aria-pressed", chosen === i + 1);
    box.onclick = () => { chosen = chosen === i + 1 ? 0 : i + 1; draw(last); };
    rounds.append(box);
  }
}

// drawSpread is how far the answers to one round lie from the aim, a column a
// decibel, the right ones below.
function drawSpread(v) {
  const box = at("spread"), i = (chosen || (v.together ? v.released : 0)) - 1;
  const list = i < 0 ? [] : v.learners.map(l => l.marks[i]).filter(m => m);
  box.hidden = !marks || list.length === 0;
  if (box.hidden) return;
  const right = new Array(13).fill(0), wrong = new Array(13).fill(0);
  for (const m of list) (m.in_window ? right : wrong)[6 + Math.max(-6, Math.min(6, Math.round(m.error_db)))]++;
  const most = Math.max(...right.map((n, k) => n + wrong[k]));
  const ns = "http://www.w3.org/2000/svg", svg = document.createElementNS(ns, "svg");
  svg.setAttribute("viewBox", "0 0 650 130");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", say("round_of", i + 1, v.rounds) + ": " + list.filter(m => m.in_window).length + "/" + list.length);
  const add = (kind, props, text) => {
    const e = document.createElementNS(ns, kind);
    for (const k in props) e.setAttribute(k, props[k]);
    if (text !== undefined) e.textContent = text;
    svg.append(e);
  };
  for (let k = 0; k < 13; k++) {
    const unit = 90 / most, x = 50 * k;
    add("rect", {x: x + 4, width: 42, y: 105 - unit * right[k], height: unit * right[k], fill: "var(--right)"});
    add("rect", {x: x + 4, width: 42, y: 105 - unit * (right[k] + wrong[k]), height: unit * wrong[k], fill: k > 6 ? "var(--hot)" : k < 6 ? "var(--cold)" : "var(--dim)"});
    if (right[k] + wrong[k]) add("text", {x: x + 25, y: 100 - unit * (right[k] + wrong[k])}, right[k] + wrong[k]);
    add("text", {x: x + 25, y: 124}, (k === 0 ? "≤ " : k === 12 ? "≥ " : "") + signed(k - 6, 0)); // the outer ones hold what lies beyond
  }
  box.replaceChildren(node("p", "dim", say("round_of", i + 1, v.rounds)), svg);
}

// same is how a learner is merged with another spelling of the name, or no longer.
function same(l, all) {
  if (l.as) {
    const b = node("button", "", say("not_same"));
    b.onclick = () => ask({do: "merge", id: l.id});
    return b;
  }
  const pick = node("select");
  pick.setAttribute("aria-label", say("same_as") + " " + l.who);
  pick.append(new Option(say("same_as"), ""));
  for (const o of all) if (o.id !== l.id && o.who) pick.append(new Option(o.who, o.id));
  pick.onchange = () => { pick.blur(); if (pick.value) ask({do: "merge", id: l.id, into: pick.value}); };
  return pick;
}

function drawLearners(v) {
  const list = at("learners");
  if (document.activeElement.tagName === "SELECT" && list.contains(document.activeElement)) return; // it is being chosen from
  list.replaceChildren();
  for (const l of v.learners) {
    const li = node("li", l.state);
    li.append(node("span", "who", names && l.who ? l.who : say("learner", l.n)));
    let state = l.state === "in" ? say("in") : l.state === "done" ? say("done") : say("round_of", l.round, v.rounds);
    if (l.late) state += " · " + say("late");
    if (l.state === "idle") state += " · " + say("idle", l.idle);
    const waits = v.together && l.state === "playing" && l.round > v.released;
    if (waits) state = say("waiting");
    li.append(node("span", "state", state));
    const takes = node("span", "takes");
    const played = l.marks.filter(m => m);
    if (marks) for (const m of l.marks) takes.append(node("span", ...(m ? sign(m) : ["", "·"])));
    if (!waits && (l.state === "playing" || l.state === "idle")) takes.append(node("span", "", "○"));
    if (marks && played.some(m => m.error_db !== 0)) takes.append(node("span", "mean", say("mean", signed(mean(played), 1))));
    li.append(takes);
    if (names && l.as) li.append(node("span", "takes", "= " + l.as));
    if (managing) {
      const b = node("button", "", say("remove"));
      b.onclick = () => { if (confirm(say("remove_sure"))) ask({do: "remove", id: l.id}); };
      const manage = node("span", "manage");
      manage.append(b);
      if (names) manage.append(same(l, v.learners));
      li.append(manage);
    }
    list.append(li);
  }
  const absent = v.absent || [];
  at("absent").textContent = absent.length ? say("absent", absent.length) + (names ? ": " + absent.join(", ") : "") : "";
}

function drawSheets(v) {
  const list = at("sheets");
  list.replaceChildren();
  for (const s of v.sheets) {
    const li = node("li");
    const link = node("a", "code", s.code);
    link.href = "/teacher?sheet=" + s.code.replaceAll(" ", "");
    const b = node("button", "", say(s.open ? "close" : "open"));
    b.onclick = () => { if (!s.exam || !s.open || confirm(say("exam_close_sure"))) ask({do: "open", code: s.code, on: !s.open}); };
    li.append(link, node("span", "dim", s.words), node("span", "", s.when || say(s.open ? "sheet_open" : "sheet_shut")), b);
    list.append(li);
  }
}

function draw(v) {
  if (!v) return;
  last = v;
  const n = v.learners.length, handed = v.learners.filter(l => l.state === "in").length;
  const playing = v.learners.filter(l => l.state === "playing" || l.state === "idle").length;
  at("lead").textContent = n === 0 ? say("nobody") : say("lead", n, playing, handed);
  const big = code === null ? n === 0 : code;
  document.body.classList.toggle("joining", big);
  at("code").setAttribute("aria-pressed", big);
  at("play").hidden = n === 0;
  at("key").hidden = v.withheld;
  at("withheld").hidden = !v.withheld;
  at("release").hidden = !v.together || v.released >= v.rounds;
  at("release").textContent = say("release", v.released + 1);
  at("together").textContent = say(v.together ? "together_off" : "together_on");
  at("joining").textContent = say(v.joining ? "shut_out" : "let_in");
  drawRounds(v);
  drawSpread(v);
  drawLearners(v);
  drawSheets(v);
}

// ask has the server do something, and shows its sentence if it does not.
async function ask(what) {
  let told = "";
  try {
    const r = await fetch("/teacher/do", {method: "POST", body: JSON.stringify(what), headers: {"Content-Type": "application/json"}});
    if (!r.ok) told = (await r.json()).error;
  } catch (e) { told = say("lost"); }
  at("told").textContent = told;
  look();
}

let timer, looking = false;

// look asks for the board, every second, and less often while it gets no answer;
// what the server says in its place is shown.
async function look() {
  if (looking) return;
  looking = true;
  clearTimeout(timer);
  try {
    const q = new URLSearchParams();
    if (names) q.set("names", "1");
    if (here) q.set("sheet", here);
    const r = await fetch("/teacher/board.json?" + q, {signal: AbortSignal.timeout(8000), cache: "no-store"});
    const text = await r.text();
    if (!r.ok) throw new Error(JSON.parse(text).error);
    wait = 1000;
    at("link").textContent = say("live");
    if (text !== drawn) { drawn = text; draw(JSON.parse(text)); }
  } catch (e) {
    wait = Math.min(2 * wait, 15000);
    const own = e instanceof TypeError || e instanceof SyntaxError || e.name === "TimeoutError" || e.name === "AbortError";
    at("link").textContent = say("lost") + (own ? "" : " (" + e.message + ")");
  }
  looking = false;
  if (!document.hidden) timer = setTimeout(look, wait);
}

function toggle(id, set) {
  at(id).onclick = () => {
    const on = at(id).getAttribute("aria-pressed") !== "true";
    at(id).setAttribute("aria-pressed", on);
    set(on);
    draw(last);
    look();
  };
}
toggle("names", on => { names = on; });
toggle("marks", on => { marks = on; });
toggle("code", on => { code = on; });
toggle("managing", on => { managing = on; });
at("release").onclick = () => ask({do: "release", code: last.code});
at("together").onclick = () => ask({do: "together", code: last.code, on: !last.together});
at("joining").onclick = () => ask({do: "joining", on: !last.joining});
at("newkey").onclick = () => { if (confirm(say("new_key_sure"))) ask({do: "key"}); };
at("add").onsubmit = e => { e.preventDefault(); ask({do: "add", code: at("addcode").value}); at("addcode").value = ""; };
addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
look();
