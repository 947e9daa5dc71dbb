// What the way costs, in figures.
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
  const before = figuresOf(answers.before, "verify"), follow = figuresOf(a, "follow"), split = figuresOf(a, "split");
  const after = figuresOf(a, "verify"), b = before && before.figures, f = after ? after.figures : split && split.figures.proof;
  if (!f && !split) return;
  const zones = f && f.zones, total = (k) => (zones ? zones.reduce((s, z) => s + z[k], 0) : f && f[k]);
  const worst = (k) => (zones ? zones.reduce((s, z) => (Math.abs(z[k]) > Math.abs(s) ? z[k] : s), 0) : f && f[k]);
  const rows = [["", "as it is", ways[c.way] === undefined ? "" : "to " + ways[c.way]]];
  const row = (what, was, now) => rows.push([what, was === undefined || was === null ? "" : was, now === undefined || now === null ? "" : now]);
  row("places where it does not hold", b && String(b.failure_count), f && String(f.failure_count));
  row("greatest defocus, mm", b && b.greatest_defocus_mm.toFixed(3), f && worst("greatest_defocus_mm").toFixed(3));
  const made = follow ? follow.figures : zones ? null : f, inert = [b, made].some((x) => x && x.z_burns !== undefined);
  row("time it takes, " + (inert ? "with the inertia of the axes" : "by feeds alone"), b && minutes(b.seconds), follow ? minutes(follow.figures.seconds) : f && minutes(total("seconds")));
  row("travel of Z, mm", b && b.z_travel_mm.toFixed(1), f && total("z_travel_mm").toFixed(1));
  row("Z rate at most on a burn, mm/min", b && b.z_peak_rate_mm_min.toFixed(0), f && worst("z_peak_rate_mm_min").toFixed(0));
  if (inert) inertia(row, b, made);
  if (follow) row("burns given a lower feed", "", String(follow.figures.burns_slowed));
  if (zones || split) row("settings of the focus", "1", String((zones || split.figures.zones).length));
  const table = make("table", null, { class: "figures" });
  rows.forEach((r, k) => table.append(make("tr", r.map((v, i) => make(k && i ? "td" : "th", v)))));
  box.append(make("div", table, { class: "scroll" }));
  if (inert) return;
  const give = make("button", "give the accelerations", { type: "button" });
  give.addEventListener("click", async () => {
    if (c.machine) await begin("machine", c.machine);
    toField("machine-accel_mm_s2");
  });
  box.append(make("p", ["Times are by feeds alone, as " + (c.machine || "a machine with no profile") + " has no accelerations. With those of X and Y and of Z, times are as the controller takes them, " +
    "and it is told what burns slower for the inertia of the axes, and darker. ", give]));
}

// inertia has the rows of what the axes can do.
function inertia(row, was, made) {
  const step = (x) => x && x.z_speed_step_mm_s !== undefined && Number(x.z_speed_step_mm_s.toPrecision(3)) + "";
  const least = 0.0005; // less is what rounding does
  const percent = (part) => (part < least ? 0 : Number((100 * part).toPrecision(2))) + "";
  row("greatest step of the speed of Z on burns, mm/s", step(was), step(made));
  if (!made || made.slow_part === undefined) return;
  row("of the burned length more than a tenth slower than as it is, %", "", percent(made.slow_part));
  row("and darker, as the power does not follow the speed, %", "", percent(made.slow_part_dark));
  const most = made.slowed_most;
  if (most && most.part_of_original < 1 - least) row("the burn that is slowed most, % of its speed as it is", "", percent(most.part_of_original) + " (line " + most.line + ")");
}

// toField leads to a field, wherever it is folded away.
function toField(id) {
  for (let e = $(id).closest("details"); e; e = e.parentElement.closest("details")) e.open = true;
  $(id).scrollIntoView({ block: "center" });
  $(id).focus({ preventScroll: true });
}

// begin fills a form of records in with what a record has that is there.
async function begin(kind, name) {
  fault("result-" + kind, "");
  try {
    const said = await ask("GET", "form", { kind, name });
    c.drafts[kind] = said.fields;
    c.results[kind] = said.name;
    fill();
    changed();
  } catch (e) { fault("result-" + kind, e.message); }
}
for (const b of all("[data-begin]")) b.addEventListener("click", () => begin(b.dataset.begin, b.dataset.name));

// beginnings offers the records that forms can begin with.
function beginnings() {
  for (const b of all("[data-begin]")) {
    b.dataset.name = b.dataset.begin === "machine" ? c.machine : c.lenses.includes(c.with) ? c.with : c.lenses[0] || "";
    b.hidden = !b.dataset.name;
    b.textContent = "fill it in from " + b.dataset.name;
  }
}
