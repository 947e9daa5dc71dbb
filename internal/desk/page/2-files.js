// What lies in the folder.
const kinds = {
  program: "a program", heights: "heights, as they are used", touches: "measured heights, to make a surface of",
  lens: "a lens record", machine: "a machine profile", boxes: "boxes to keep clear of", zones: "a folder of a divided job", other: "nothing that is used here",
};

function sizeOf(n) {
  if (n < 1000) return n + " bytes";
  return n < 1e6 ? Math.round(n / 1000) + " kB" : (n / 1e6).toFixed(1) + " MB";
}

async function look() {
  const said = await ask("GET", "all");
  files = said.files;
  names = said.names;
  $("note").textContent = said.note || "";
  if (c === null) {
    c = said.choices;
    kept = JSON.parse(JSON.stringify(c));
    version = said.version;
  }
  showFiles(said.more);
  return said;
}

function showFiles(more) {
  const box = $("files");
  box.textContent = "";
  const used = files.filter((f) => f.kind !== "other"), rest = files.filter((f) => f.kind === "other");
  if (!files.length) box.append(make("p", "The folder is empty: begin with the program and the heights of the stock."));
  const table = make("table");
  for (const f of used) table.append(make("tr", [make("td", f.name, { class: "path" }), make("td", kinds[f.kind]), make("td", f.kind === "zones" ? "" : sizeOf(f.size), { class: "size" })]));
  if (used.length) box.append(make("div", table, { class: "scroll" }));
  if (rest.length) {
    const list = make("ul");
    for (const f of rest) list.append(make("li", f.name + (f.why ? ": " + f.why : "")));
    box.append(make("details", [make("summary", rest.length === 1 ? "One more file, of no use here" : rest.length + " more files, of no use here"), list]));
  }
  if (more) box.append(make("p", "There are more files than are shown: use a folder for each job."));
  for (const e of all("select[data-files]")) choosing(e);
  lensBoxes();
  const read = $("read"), was = read.value;
  read.textContent = "";
  read.append(make("option", "a sheet", { value: "" }));
  for (const f of files) {
    if (f.kind === "zones") read.append(make("option", f.name + "/sheet.txt"));
    if (/sheet.*\.txt$/.test(f.name)) read.append(make("option", f.name));
  }
  read.value = was;
}

// choosing fills a list of files; what was chosen stays in it, there or not.
function choosing(e) {
  const want = e.dataset.files.split(" "), now = valueOf(e.dataset.keep) || "";
  e.textContent = "";
  e.append(make("option", e.dataset.none, { value: "" }));
  const list = files.filter((f) => want.includes(f.kind)).map((f) => f.name);
  if (now && !list.includes(now)) list.push(now);
  for (const name of list) e.append(make("option", name, { value: name }));
  e.value = now;
}

function lensBoxes() {
  const box = $("lenses");
  box.textContent = "";
  const list = files.filter((f) => f.kind === "lens").map((f) => f.name);
  for (const name of c.lenses) if (!list.includes(name)) list.push(name);
  if (!list.length) box.append("none is in the folder yet; make one below");
  for (const name of list) {
    const tick = make("input", null, { type: "checkbox", value: name });
    tick.checked = c.lenses.includes(name);
    tick.addEventListener("change", () => {
      c.lenses = all("#lenses input:checked").map((t) => t.value);
      if (tick.checked && c.depth !== "record") { c.depth = "record"; fill(); }
      arrange();
      changed();
    });
    box.append(make("label", [tick, " " + name + " "]));
  }
  const one = $("with");
  one.textContent = "";
  for (const name of c.lenses) one.append(make("option", name, { value: name }));
  one.value = c.lenses.includes(c.with) ? c.with : c.lenses[0] || "";
}

// take puts files into the folder, and chooses what there was none of.
async function take(list) {
  fault("dropped", "");
  for (const f of list) await put(f, false);
  await look();
  await send();
}

async function put(f, replace) {
  try {
    const said = await ask("POST", "file", { name: f.name, replace }, f);
    adopt(said.name, said.kind);
  } catch (e) {
    if (e.ask) return replacing("dropped", e, async () => { await put(f, true); await look(); await send(); });
    fault("dropped", f.name + ": " + e.message);
  }
}

// adopt chooses a file where nothing of its kind is chosen.
function adopt(name, kind) {
  if (kind === "program" && !c.program) c.program = name;
  if (kind === "machine" && !c.machine) c.machine = name;
  if (kind === "lens" && !c.lenses.length) { c.lenses = [name]; c.depth = "record"; }
  if (kind === "boxes" && !c.keep_out) c.keep_out = name;
  if ((kind === "heights" || kind === "touches") && !c.heights.file) { c.heights.file = name; c.heights.from = "file"; }
  changed();
  fill();
  arrange();
}

// replacing asks before something that is there is replaced.
function replacing(where, refused, again) {
  const box = $("ask-" + where);
  box.textContent = "";
  const yes = make("button", "replace " + refused.ask.join(" and "), { type: "button" });
  const no = make("button", "leave it", { type: "button" });
  yes.addEventListener("click", () => { box.textContent = ""; again(); });
  no.addEventListener("click", () => { box.textContent = ""; });
  box.append(make("div", [make("p", refused.message + "."), yes, " ", no], { class: "ask", role: "alert" }));
  yes.focus();
}

$("dropped").addEventListener("change", (e) => { const list = [...e.target.files]; e.target.value = ""; take(list); });
for (const when of ["dragover", "drop", "dragleave"]) addEventListener(when, (e) => {
  if (when === "dragleave" || !e.dataTransfer || ![...e.dataTransfer.types].includes("Files")) return $("drop").classList.remove("over");
  e.preventDefault();
  $("drop").classList.toggle("over", when === "dragover");
  if (when === "drop") take([...e.dataTransfer.files]);
});
