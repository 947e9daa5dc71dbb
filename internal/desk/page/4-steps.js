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
  const began = performance.now(), on = version;
  let answer = null;
  try {
    answer = step === "stock" ? await ask("GET", "stock") : await ask("GET", "try", { step: step === "way" ? kept.way : step });
  } catch (e) {
    if (e.status === 409 || e.status === 412 && on !== version) { // it was overtaken, and is tried again
      clearTimeout(late);
      box.classList.remove("stale");
      running[step] = false;
      return void setTimeout(() => again(step), 200);
    }
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
  const later = a.runs.length && a.runs.every((run) => run.status === 0) ? a.commands.slice(a.runs.length) : [];
  if (later.length) box.append(make("p", "Once it is written, proved again by:"), ...later.map((c) => make("code", c, { class: "typed" })));
  if (step !== "surface") drawn(step, a, box);
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
  const option = m.option || (/--([a-z][a-z-]*)/.exec(m.text) || [])[1];
  if (option) {
    const name = { depth: "sharp", sharp: "sharp", use: "option-use", lens: "lenses", machine: "machine" }[option] || "option-" + option;
    if (option === "surface-error" && c.heights.from === "table") return "table-error";
    if ($(name)) return name;
    if ($("reading-" + option)) return "reading-" + option;
  }
  if (!m.file) return "";
  if (c.heights.from === "file" && m.file === c.heights.file) return "heights-file";
  if (m.file === c.program) return "program";
  if (c.lenses.includes(m.file)) return "lenses";
  if (m.file === c.machine) return "machine";
  return m.file === c.keep_out ? "keep-out" : "";
}

// failed puts what ended a run beside the field that it is about, and shows that.
function failed(step, run) {
  if (run.status < 2) return;
  const m = run.messages.find((m) => /--[a-z]/.test(m.text) && fieldOf(m)) || run.messages.find(fieldOf);
  if (!m) return;
  const field = fieldOf(m);
  faultOf(step, field, run.messages.map((m) => m.text).slice(0, 2).join("; "));
  const closed = $(field).closest("details:not([open])");
  if (closed) closed.open = true;
}

// shows tells which of what a command says is seen at once: what a person has to know of
// this step. The rest is a press away.
function shows(step, run, m) {
  if (run.status >= 2 || step === "surface" && !/^errors by|^bow |^roughness|^greatest slope|^to touch next|^\d+\. X|and \d+ more/.test(m.text)) return true;
  if (step === "before") return /holds?\b|^caution/.test(m.text) || /: line \d+: (burn|travel|move)/.test(m.text);
  if (run.status === 1) return true;
  return /^caution|holds|^proved|refused|^EITHER|^set the focus|^lens .* zones?\b|^\d+ zones|^head clearance not/.test(m.text);
}

// saidOf is what a command was, said and drew.
function saidOf(step, run) {
  const parts = [make("code", run.command, { class: "typed" })];
  const list = make("ul"), more = make("ul"), most = step === "before" ? 5 : 14;
  failed(step, run);
  run.messages.forEach((m, k) => {
    const item = make("li", m.text);
    if (m.source) item.append(make("pre", m.source, { class: "as-is" }));
    const last = k === run.messages.length - 1;
    (shows(step, run, m) && (list.children.length < most || last) ? list : more).append(item);
  });
  if (step === "advise" && run.figures && run.figures.figures) parts.push(...sentences(run.figures));
  if (list.children.length) parts.push(list);
  if (run.said) parts.push(make("details", [make("summary", "The whole of the advice, lens by lens"), make("pre", run.said, { class: "as-is" })]));
  if (more.children.length) parts.push(make("details", [make("summary", (list.children.length || run.said ? "What else it says: " : "What it says: ") + more.children.length + (more.children.length === 1 ? " line" : " lines")), more]));
  if (run.picture) parts.push(picture(run.picture, "what " + run.command + " draws"));
  return parts;
}

// drawn offers to draw what a step comes to, as that takes longer than its figures.
function drawn(step, a, box) {
  if (!a.runs.some((r) => r.draws && !r.picture)) return;
  const held = make("div"), b = make("button", step === "before" ? "draw it as it is" : "draw it", { type: "button" });
  b.addEventListener("click", async () => {
    b.disabled = true;
    try {
      const d = await ask("GET", "try", { step: step === "way" ? kept.way : step, draw: true });
      held.textContent = "";
      const last = d.runs.filter((r) => r.picture).pop();
      held.append(last ? picture(last.picture, "what " + last.command + " draws") : make("p", "There is nothing to draw."));
    } catch (e) { held.textContent = e.message; }
    b.disabled = false;
  });
  box.append(make("p", b), held);
}

// sentences are the advice as one says it.
function sentences(g) {
  const f = g.figures, does = { flat: "Run it flat", follow: "Follow the surface", split: "Split it", mixed: "Split it, and follow within each part", none: "It cannot be done with what is known" };
  const lenses = (f.lenses || []).join(" and ");
  const with_ = lenses && lenses !== "given as --depth" ? ", with lens " + lenses : "";
  const parts = [make("p", make("strong", does[g.verdict] + with_ + ".")), make("p", "Because " + f.reason + ".")];
  if (f.cheap && f.cheap.length) {
    const list = make("ul");
    for (const x of f.cheap) list.append(make("li", x.what));
    parts.push(make("p", "Cheaper, and to be tried first:"), list);
  }
  parts.push(make("p", "The burns lie on heights from " + f.height_low_mm.toFixed(3) + " to " + f.height_high_mm.toFixed(3) + " mm; the smallest detail is " +
    (f.detail_guessed ? "guessed as " : "") + f.detail_mm.toFixed(2) + " mm."));
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

// surfaced says what can be seen of the stock by eye, where a sign or a unit is easily
// wrong, and offers a surface where one is to be made.
function surfaced(a) {
  const f = files.find((f) => f.name === c.heights.file), box = $("do-surface");
  const well = a.runs.length > 0 && a.runs[0].status === 0;
  $("make-surface").hidden = !well;
  $("said-heights").textContent = c.heights.from !== "file" || !f ? "" :
    f.kind === "touches" ? "These are measured heights: make a surface of them, and take that." :
      "These can be used as they are. What would be made of them by a fit stands beside.";
  const line = well && a.runs[0].messages.map((m) => /heights from (\S+) mm at (X\S+ Y\S+) to (\S+) mm at (X\S+ Y\S+);/.exec(m.text)).find(Boolean);
  if (!line) return;
  const [, low, lowAt, high, highAt] = line, all = Number(high) - Number(low);
  const ends = (at) => at.replace(/(\.\d*?)0+(?= |$)/g, "$1").replace(/\.(?= |$)/g, "");
  if (!(all > 0.02)) return;
  const inches = c.heights.from === "table" ? c.heights.table.units === "in" : a.runs[0].messages.some((m) => /; in[ ;(]|inch/.test(m.text));
  const said = make("p", "Look at the stock: it should be highest, nearest to the lens, about " + ends(highAt) + ", and lowest about " + ends(lowAt) +
    "; between them are " + all.toFixed(2) + " mm. If high and low are the other way round, the readings grow away from the lens. " +
    (inches ? "" : "If it should be " + (all * 25.4).toFixed(1) + " mm, they are in inches. "));
  const table = c.heights.from === "table";
  const turn = make("button", "they grow away from the lens", { type: "button" });
  turn.addEventListener("click", () => {
    if (table) c.heights.table.down = !c.heights.table.down;
    else { c.heights.reading.down = "true"; c.heights.reading.up = ""; }
    fill();
    changed();
  });
  const unit = make("button", "they are in inches", { type: "button" });
  unit.addEventListener("click", () => {
    if (table) c.heights.table.units = "in"; else c.heights.reading.units = "mm,mm,in";
    fill();
    changed();
  });
  said.append(turn);
  if (!inches) said.append(" ", unit);
  box.insertBefore(said, box.children[1] || null);
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
