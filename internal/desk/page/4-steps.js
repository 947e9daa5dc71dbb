// The steps that are tried again with each change. Each has what it depends on, so that it
// is not run for nothing, and is run once more where something changed meanwhile.
const stepOf = { surface: "do-surface", rungs: "do-rungs", advise: "do-advise", before: "do-before", way: "do-way" };
const answers = {};

function dependsOn(step) {
  const c = kept;
  const h = c.heights, heights = h.from === "table" ? h.table : [h.file, h.reading], laid = [c.program, heights, h.from, c.depth, c.sharp, c.lenses, c.with, c.machine, c.keep_out];
  const versions = files.map((f) => f.name + f.size + f.kind);
  switch (step) {
    case "stock": return [c.program, heights, h.from, c.machine, c.keep_out, c.options.datum, c.options.shift, c.options.rotate, versions];
    case "surface": return [heights, h.from, h.reading, c.results.surface, versions];
    case "rungs": return [c.drafts.rungs, c.results.rungs];
    case "advise": return [laid, c.options, versions];
    case "before": return [laid, { ...c.options, use: "", detail: "", text: "", focus: "" }, versions];
  }
  return [laid, c.options, c.way, c.results, versions];
}

const running = {}, doneFor = {};
// again runs a step if what it depends on has changed.
async function again(step) {
  const want = JSON.stringify(dependsOn(step));
  if (running[step] || doneFor[step] === want) return;
  running[step] = true;
  const box = $(stepOf[step] || step);
  const late = setTimeout(() => box.classList.add("stale"), 250);
  const began = performance.now();
  let answer = null;
  try {
    answer = step === "stock" ? await ask("GET", "stock") : await ask("GET", "try", { step: step === "way" ? kept.way : step });
  } catch (e) {
    answer = { missing: [{ field: "", text: e.message }], commands: [], runs: [], wrong: [] };
  }
  clearTimeout(late);
  box.classList.remove("stale");
  running[step] = false;
  doneFor[step] = want;
  answers[step] = answer;
  box.dataset.took = Math.round(performance.now() - began);
  box.dataset.tried = String(Number(box.dataset.tried || 0) + 1);
  if (step === "stock") showStock(answer); else showStep(step, answer);
  if (JSON.stringify(dependsOn(step)) !== want) await again(step);
}

// refresh tries all steps again: first what the eye is on.
async function refresh() {
  await Promise.all([again("stock"), again("way"), again("surface")]);
  await Promise.all([again("advise"), again("before")]);
  if (c.drafts.rungs && c.drafts.rungs.sharp) again("rungs");
}

// force has all steps tried, changed or not.
function force() {
  for (const step in doneFor) delete doneFor[step];
  refresh();
}

const ways = { flat: "run flat", follow: "follow", split: "be split", "split-follow": "be split, and follow" };

// showStep shows what came of a step; what says the same stays as it is.
const shown = {};
function showStep(step, a) {
  const box = $(stepOf[step]), says = JSON.stringify([a.missing, a.commands, a.runs.map((r) => ({ ...r, seconds: 0 }))]);
  if (shown[step] === says) return cost(answers.way);
  shown[step] = says;
  for (const e of all("[data-fault-of='" + step + "']")) { fault(e.dataset.faultOn, ""); e.removeAttribute("data-fault-of"); }
  box.textContent = "";
  if (a.missing && a.missing.length) {
    const list = make("ul");
    for (const m of a.missing) {
      list.append(make("li", m.text));
      // What is merely not there yet is no fault of the field.
      if (m.field && $(m.field) && $(m.field).value && !/^z-|^x-|^y-/.test(m.field)) faultOf(step, m.field, m.text);
    }
    box.append(make("p", "Not yet:"), list);
  }
  a.runs.forEach((run) => box.append(...saidOf(step, run)));
  if (step === "advise") advised(a, box);
  if (step === "surface") surfaced(a);
  if (step === "way") cost(a);
  if (step === "before" || step === "way") cost(answers.way);
}

// faultOf is a fault of a field that a step found; it goes where the step finds none.
function faultOf(step, field, text) {
  fault(field, text);
  const f = $("fault-" + field);
  if (f) { f.dataset.faultOf = step; f.dataset.faultOn = field; }
}

// fieldOf is the field that a message is about: that of an option, or of a file.
function fieldOf(m) {
  if (m.option) {
    const name = { depth: "sharp", sharp: "sharp" }[m.option] || "option-" + m.option;
    if ($(name)) return name;
    if ($("reading-" + m.option)) return "reading-" + m.option;
  }
  if (!m.file) return "";
  if (c.heights.from === "file" && m.file === c.heights.file) return "heights-file";
  if (m.file === c.program) return "program";
  if (c.lenses.includes(m.file)) return "lenses";
  if (m.file === c.machine) return "machine";
  return m.file === c.keep_out ? "keep-out" : "";
}

// saidOf is what a command was, said and drew.
function saidOf(step, run) {
  const parts = [make("code", run.command, { class: "typed" })];
  const list = make("ul"), more = make("ul");
  let first = true;
  for (const m of run.messages) {
    const item = make("li", m.text);
    if (m.source) item.append(make("pre", m.source, { class: "as-is" }));
    const failed = run.status !== 0 && run.status !== 1;
    if (failed && first && fieldOf(m)) faultOf(step, fieldOf(m), m.text);
    first = false;
    const matters = run.status !== 0 || step === "surface" || /^caution|holds|refused|^EITHER|^set the focus|^lens .* zones?\b|^\d+ zones/.test(m.text);
    (matters && list.children.length < 14 ? list : more).append(item);
  }
  if (run.said) parts.push(make("pre", run.said, { class: "as-is scroll" }));
  if (list.children.length) parts.push(list);
  if (more.children.length) parts.push(make("details", [make("summary", (list.children.length ? "What else it says: " : "What it says: ") + more.children.length + (more.children.length === 1 ? " line" : " lines")), more]));
  if (run.picture) parts.push(picture(run.picture, "what " + run.command + " draws"));
  return parts;
}

// picture shows an SVG as an image: nothing in it can act.
function picture(svg, says) {
  const url = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  const img = make("img", null, { src: url, alt: says });
  const size = /<svg[^>]*?width="([\d.]+)(?:pt|px|mm)?"[^>]*?height="([\d.]+)/.exec(svg);
  if (size) { img.width = Math.round(size[1] * 4 / 3); img.height = Math.round(size[2] * 4 / 3); } // so that nothing moves when it is there
  img.addEventListener("load", () => URL.revokeObjectURL(url));
  return make("p", img, { class: "picture" });
}

// surfaced offers a surface where one is to be made.
function surfaced(a) {
  const f = files.find((f) => f.name === c.heights.file);
  const well = a.runs.length > 0 && a.runs[0].status === 0;
  $("make-surface").hidden = !well;
  $("said-heights").textContent = c.heights.from !== "file" || !f ? "" :
    f.kind === "touches" ? "These are measured heights: make a surface of them, and take that." :
      "These can be used as they are. What would be made of them by a fit stands beside.";
}

// advised lets the advice be taken by a press.
function advised(a, box) {
  const g = a.runs.length ? a.runs[0].figures : null;
  if (!g || !g.figures || a.runs[0].status !== 0) return;
  const way = { flat: "flat", follow: "follow", split: "split", mixed: "split-follow" }[g.verdict];
  if (way && way !== c.way) {
    const b = make("button", "take that: the program is to " + ways[way], { type: "button" });
    b.addEventListener("click", () => {
      c.way = way;
      if (g.figures.focus_mm !== undefined) c.options.focus = String(g.figures.focus_mm);
      fill(); arrange(); changed();
    });
    box.prepend(make("p", b));
  }
  const rows = g.figures.table || [], one = rows.find((r) => g.figures.lenses.includes(r.lens)) || rows[0];
  const best = $("best-focus");
  best.hidden = !one;
  if (one) {
    best.textContent = "where it serves best: " + one.focus_mm.toFixed(3);
    best.onclick = () => { c.options.focus = one.focus_mm.toFixed(3); fill(); changed(); };
  }
}

const minutes = (s) => (s >= 90 ? Math.floor(s / 60) + " min " + Math.round(s % 60) + " s" : s.toFixed(1) + " s");

// figuresOf are those of a command that was run.
function figuresOf(a, command) {
  for (const r of a ? a.runs : []) if (r.figures && r.figures.command === command) return r.figures;
  return null;
}

// cost says what the way costs, in figures, beside what running flat gives.
function cost(a) {
  const box = $("cost");
  box.textContent = "";
  const before = figuresOf(answers.before, "verify"), after = figuresOf(a, "verify"), follow = figuresOf(a, "follow"), split = figuresOf(a, "split");
  if (!after && !split) return;
  const b = before && before.figures, f = after && after.figures;
  const zones = f && f.zones, total = (k) => (zones ? zones.reduce((s, z) => s + z[k], 0) : f && f[k]);
  const worst = (k) => (zones ? zones.reduce((s, z) => (Math.abs(z[k]) > Math.abs(s) ? z[k] : s), 0) : f && f[k]);
  const rows = [["", "as it is", ways[c.way] === undefined ? "" : "to " + ways[c.way]]];
  const row = (what, was, now) => rows.push([what, was === undefined || was === null ? "" : was, now === undefined || now === null ? "" : now]);
  row("what does not hold", b && String(b.failure_count), f && String(f.failure_count));
  row("greatest defocus, mm", b && b.greatest_defocus_mm.toFixed(3), f && worst("greatest_defocus_mm").toFixed(3));
  row("time it takes", b && minutes(b.seconds), follow ? minutes(follow.figures.seconds) : f && minutes(total("seconds")));
  row("travel of Z, mm", b && b.z_travel_mm.toFixed(1), f && total("z_travel_mm").toFixed(1));
  row("Z rate at most on a burn, mm/min", b && b.z_peak_rate_mm_min.toFixed(0), f && worst("z_peak_rate_mm_min").toFixed(0));
  if (follow) row("burns slowed down", "", String(follow.figures.burns_slowed));
  if (zones || split) row("settings of the focus", "1", String((zones || split.figures.zones).length));
  const table = make("table", null, { class: "figures" });
  rows.forEach((r, k) => table.append(make("tr", r.map((v, i) => make(k && i ? "td" : "th", v)))));
  box.append(make("div", table, { class: "scroll" }));
}
