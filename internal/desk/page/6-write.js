// What is written, and read again.
function arrange() {
  $("from-file").hidden = c.heights.from !== "file";
  $("from-table").hidden = c.heights.from !== "table";
  $("with-lens").hidden = c.depth !== "record" || c.lenses.length < 2 || c.way.startsWith("split");
  $("flat-focus").hidden = c.way !== "flat";
  $("spend").hidden = c.way === "flat";
  $("divide").hidden = !c.way.startsWith("split");
  const kind = c.way.startsWith("split") ? "split" : c.way;
  for (const e of all("#names [data-for]")) e.hidden = e.dataset.for !== kind;
  $("use-now").textContent = Math.round(100 * Number(c.options.use || "0.5")) + " %";
  $("write").textContent = { flat: "write the bench sheet, and prove it", follow: "write the program, and prove it", split: "write the programs, and prove them" }[kind];
  beginnings();
  const one = $("with");
  if (one.options.length !== c.lenses.length) lensBoxes();
}

// write runs a step in the folder.
async function write(what, replace) {
  const step = what === "way" ? c.way : what, where = what === "way" ? "written" : "do-" + what;
  $("ask-" + what).textContent = "";
  if ($("fault-write")) fault("write", "");
  const button = document.querySelector("[data-write='" + what + "']");
  button.disabled = true;
  try {
    await sent();
    const a = await ask("POST", "write", { step, replace });
    showWritten(what, a, $(where));
  } catch (e) {
    if (e.ask) replacing(what, e, () => write(what, true));
    else {
      const field = e.field || (what === "way" ? "write" : "result-" + what);
      fault(field, e.message);
      if ($(field)) $(field).focus();
    }
  } finally {
    button.disabled = false;
  }
}

// verdict is what a check says in the end, with what it did not look at.
function verdict(run) {
  const says = run.messages.map((m) => m.text).filter((t) => / holds/.test(t)).pop();
  return says ? says.replace(/^[^:]*: it/, "It") + "." : "";
}

function showWritten(what, a, box) {
  if (a.missing && a.missing.length) {
    const m = a.missing[0];
    if (what === "way" || what === "report") fault(what === "way" ? "write" : "result-report", "Not yet: " + m.text + ".");
    if (m.field && $(m.field)) { fault(m.field, m.text); $(m.field).focus(); }
    return;
  }
  box.textContent = "";
  const holds = a.runs.every((r) => r.status === 0);
  const last = a.runs[a.runs.length - 1];
  if (what === "way") {
    box.append(make("p", holds ? "Written and proved. " + verdict(last) :
      a.files && a.files.length ? "Written, and does not hold: do not burn it." : "Nothing is written."));
  }
  for (const run of a.runs) box.append(...saidOf("written", run));
  if (a.files && a.files.length) {
    const table = make("table", [make("tr", ["file", "size", "digest"].map((t) => make("th", t)))]);
    for (const f of a.files) table.append(make("tr", [make("td", f.name), make("td", sizeOf(f.size), { class: "size" }), make("td", make("code", f.digest, { class: "digest" }))]));
    box.append(make("div", table, { class: "scroll" }));
  }
  look().then(() => {
    const sheet = (a.files || []).map((f) => f.name).find((n) => /sheet\.txt$/.test(n));
    if (sheet && what === "way") read(sheet);
    if (what === "report" && (a.files || []).length) showReport(a.files[0].name);
    if (what === "surface" && holds) { c.heights.from = "file"; c.heights.file = a.files[0].name; c.heights.reading = {}; taken(); }
    if (what === "rungs" && holds) { c.depth = "record"; if (!c.lenses.includes(a.files[0].name)) c.lenses.push(a.files[0].name); taken(); }
    force();
  });
}

// showReport shows a report in a frame, in which it reaches nothing.
async function showReport(name) {
  const frame = $("report");
  try {
    frame.src = (await ask("GET", "ticket", { name })).address;
    frame.hidden = false;
  } catch (e) { fault("result-report", e.message); }
}

// taken shows what was chosen for the person.
function taken() {
  for (const e of all("select[data-files]")) choosing(e);
  lensBoxes();
  fill();
  arrange();
  changed();
}

// record writes a record whose form was filled in.
async function record(kind, replace) {
  for (const e of all("[id^='fault-" + kind + "-']")) e.textContent = "";
  for (const e of all("[id^='" + kind + "-'][aria-invalid]")) e.removeAttribute("aria-invalid");
  fault("result-" + kind, "");
  try {
    await sent();
    const said = await ask("POST", "record", { kind, replace });
    await look();
    if (kind === "machine") c.machine = said.name;
    else { c.depth = "record"; if (!c.lenses.includes(said.name)) c.lenses.push(said.name); }
    taken();
    force();
    $("ask-" + kind).textContent = said.name + " is written, and taken.";
  } catch (e) {
    if (e.ask) return replacing(kind, e, () => record(kind, true));
    const field = e.field && $(e.field) ? e.field : "result-" + kind;
    fault(field, e.message);
    $(field).focus();
  }
}

// read shows a sheet.
async function read(name) {
  const box = $("sheet");
  box.hidden = $("print").hidden = !name;
  if (!name) return;
  $("read").value = name;
  try { box.textContent = (await ask("GET", "file", { name })).text; } catch (e) { box.textContent = e.message; }
}

for (const b of all("[data-write]")) b.addEventListener("click", () => write(b.dataset.write, false));
for (const b of all("[data-record]")) b.addEventListener("click", () => record(b.dataset.record, false));
$("read").addEventListener("change", (e) => read(e.target.value));
$("print").addEventListener("click", () => print());
$("with").addEventListener("change", (e) => { c.with = e.target.value; });
