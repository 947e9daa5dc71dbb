"use strict";
// The token comes in the address, and goes from there; this page alone keeps it.
const token = new URLSearchParams(location.search).get("token");
sessionStorage.setItem("sagitta-desk", token);
history.replaceState(null, "", "/" + location.hash);

const $ = (id) => document.getElementById(id);
const all = (what) => [...document.querySelectorAll(what)];

// make makes an element: of its name, what it says, and its attributes.
function make(name, says, attributes) {
  const e = document.createElement(name);
  if (says !== undefined && says !== null) e.append(...[].concat(says));
  for (const [k, v] of Object.entries(attributes || {})) e.setAttribute(k, v);
  return e;
}

// Refused is an answer that is none.
class Refused extends Error {
  constructor(status, said) {
    super(said.error || "the desk did not answer (" + status + ")");
    this.status = status;
    this.field = said.field;
    this.ask = said.ask;
  }
}

// ask asks the desk for something.
async function ask(method, path, query, body) {
  const q = new URLSearchParams({ ...query, ...(c === null ? {} : { on: version }) }).toString();
  let r;
  try {
    r = await fetch(path + (q ? "?" + q : ""), { method, body, headers: { "Sagitta-Desk-Token": token }, keepalive: method === "POST" && body && body.length < 60000 });
  } catch (e) {
    throw new Refused(0, { error: "The desk does not answer: it was closed. What was typed before is kept in desk.json; start sagitta desk again." });
  }
  let said = {};
  try { said = await r.json(); } catch (e) { /* a refusal has no text */ }
  if (r.status === 403) throw new Refused(403, { error: "This page is of a desk that was closed: open the address of the one that runs." });
  if (!r.ok) throw new Refused(r.status, said);
  return said;
}

// c are the choices as they are on the page, and kept those that the desk has: what it
// answers is of these, and of no other version, as there may be other pages of it.
let c = null, kept = null, version = 0;
let files = [];
let names = {};

// at gives the object and the key that a path of names leads to.
function at(path) {
  const parts = path.split(".");
  let o = c;
  for (const p of parts.slice(0, -1)) o = o[p] || (o[p] = {});
  return [o, parts[parts.length - 1]];
}
function valueOf(path) { const [o, k] = at(path); return o[k]; }

// Choices are sent one after the other, and the latest soon. trouble is why those of the page
// are not what the desk has.
let sending = null, unsent = false, timer = 0, trouble = "";
function changed() {
  unsent = true;
  clearTimeout(timer);
  timer = setTimeout(send, 60);
}
async function send() {
  clearTimeout(timer);
  if (sending) { await sending; }
  if (!unsent) return;
  unsent = false;
  sending = (async () => {
    const text = JSON.stringify(c);
    try {
      const said = await ask("POST", "choices", null, text);
      names = said.names;
      version = said.version;
      kept = JSON.parse(text);
      trouble = "";
    } catch (e) {
      trouble = e.message;
      $("state").className = "fault";
    }
    $("state").textContent = trouble;
  })();
  await sending;
  sending = null;
  showNames();
  refresh();
}
// sent wants the desk to have what the page shows.
async function sent() {
  await send();
  if (trouble) throw new Refused(0, { error: "What is chosen here is not what the desk has: " + trouble });
}
// What was typed last is not to be lost where the page is closed.
for (const when of ["pagehide", "visibilitychange"]) addEventListener(when, () => { if (unsent) send(); });

// Fields of the page are kept by the path that they bear.
function bind(e) {
  const path = e.dataset.keep;
  e.addEventListener("input", () => {
    const [o, k] = at(path);
    if (e.type === "checkbox") o[k] = e.checked ? "true" : "";
    else if (e.type === "radio") { if (e.checked) o[k] = e.value; }
    else if (path === "heights.table.down") o[k] = e.value === "true";
    else o[k] = e.value;
    fault(e.id, "");
    arrange();
    changed();
  });
}

// fill puts the choices into the fields.
function fill() {
  for (const e of all("[data-keep]")) {
    const v = valueOf(e.dataset.keep);
    if (e.type === "checkbox") e.checked = v === "true";
    else if (e.type === "radio") e.checked = v === e.value;
    else if (e.dataset.keep === "heights.table.down") e.value = v ? "true" : "";
    else if (e.type === "range") e.value = v || "0.5";
    else if (e !== document.activeElement) e.value = v === undefined ? "" : v;
  }
}

// fault says beside a field what is wrong with it.
function fault(field, says) {
  const e = $(field), f = $("fault-" + field) || (/^[xyz]-/.test(field) ? $("fault-table") : null);
  if (f) f.textContent = says;
  if (!e) return;
  if (says) e.setAttribute("aria-invalid", "true");
  else e.removeAttribute("aria-invalid");
}

// showNames shows how results will be called where nothing is typed.
function showNames() {
  for (const e of all("[data-name]")) e.placeholder = names[e.dataset.name] || "";
}
