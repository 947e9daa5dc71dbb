// The table of heights that is typed. A cell is at row j and column i; row -1 has the X
// and column -1 the Y of the nodes.
const mostNodes = 60;

function table() { return c.heights.table; }

function cellName(j, i) {
  if (j < 0 && i < 0) return "corner";
  return j < 0 ? "x-" + i : i < 0 ? "y-" + j : "z-" + j + "-" + i;
}

function cellValue(j, i) {
  const t = table();
  return j < 0 ? (i < 0 ? "" : t.x[i]) : i < 0 ? t.y[j] : t.z[j][i];
}

function setCell(j, i, text) {
  const t = table();
  if (j < 0 && i < 0) return;
  if (j < 0) t.x[i] = text;
  else if (i < 0) t.y[j] = text;
  else t.z[j][i] = text;
}

// cellSays names a cell for those who do not see where it is.
function cellSays(j, i) {
  const t = table();
  if (j < 0 && i < 0) return "paste a whole table here";
  if (j < 0) return "X of column " + (i + 1);
  return i < 0 ? "Y of row " + (j + 1) : "height at X" + t.x[i] + " Y" + t.y[j];
}

// even makes the rows as long as there are columns.
function even() {
  const t = table();
  t.z = t.y.map((_, j) => t.x.map((_, i) => (t.z[j] || [])[i] || ""));
}

function drawTable() {
  even();
  const t = table(), box = $("table");
  for (const row of [...box.querySelectorAll("tr")]) row.remove();
  for (let j = -1; j < t.y.length; j++) {
    const row = make("tr");
    for (let i = -1; i < t.x.length; i++) {
      const cell = make("input", null, { id: cellName(j, i), "aria-label": cellSays(j, i), "aria-describedby": "fault-table", autocomplete: "off", inputmode: "text" });
      cell.value = cellValue(j, i);
      if (j < 0 && i < 0) cell.placeholder = "Y \\ X";
      cell.addEventListener("input", () => { setCell(j, i, cell.value); fault(cell.id, ""); tableSays(); changed(); });
      cell.addEventListener("keydown", (e) => keys(e, j, i));
      cell.addEventListener("paste", (e) => paste(e, j, i));
      row.append(make(j < 0 || i < 0 ? "th" : "td", cell, j < 0 ? { scope: "col" } : i < 0 ? { scope: "row" } : {}));
    }
    box.append(row);
  }
  tableSays();
}

const aNumber = /^[-+\u2212]?(\d+[.,]?\d*|[.,]\d+)$/;

// tableSays says what is missing and, in its cell, what is no number.
function tableSays() {
  const t = table();
  let missing = 0, first = "", wrong = "";
  for (let j = -1; j < t.y.length; j++) for (let i = -1; i < t.x.length; i++) {
    if (j < 0 && i < 0) continue;
    const text = cellValue(j, i).trim(), cell = $(cellName(j, i));
    if (text === "" && j >= 0 && i >= 0) { missing++; first = first || "X" + t.x[i] + " Y" + t.y[j]; }
    const bad = text !== "" ? !aNumber.test(text) : j < 0 || i < 0;
    if (bad) wrong = wrong || cellSays(j, i) + ": " + (text === "" ? "nothing is typed" : "\u201c" + text + "\u201d is not a number") + ".";
    if (cell) { if (bad) cell.setAttribute("aria-invalid", "true"); else cell.removeAttribute("aria-invalid"); }
  }
  $("fault-table").textContent = wrong;
  const n = t.x.length * t.y.length;
  $("said-table").textContent = missing === 0 ? "All " + n + " heights are typed." :
    missing === n ? "No height is typed yet." : missing + " of " + n + " heights are missing, the first at " + first + ".";
}

// keys moves about: arrows anywhere, Enter to the next height of the row, then of the next row.
function keys(e, j, i) {
  const t = table(), cell = e.target;
  const atStart = cell.selectionStart === 0 && cell.selectionEnd === 0, atEnd = cell.selectionStart === cell.value.length;
  const whole = cell.selectionStart === 0 && cell.selectionEnd === cell.value.length;
  let to = null;
  if (e.key === "ArrowUp") to = [j - 1, i];
  else if (e.key === "ArrowDown") to = [j + 1, i];
  else if (e.key === "ArrowLeft" && (atStart || whole)) to = [j, i - 1];
  else if (e.key === "ArrowRight" && (atEnd || whole)) to = [j, i + 1];
  else if (e.key === "Enter" && e.shiftKey) to = i > 0 ? [j, i - 1] : [j - 1, t.x.length - 1];
  else if (e.key === "Enter") to = i + 1 < t.x.length ? [j, i + 1] : [j + 1, j < 0 ? -1 : 0];
  if (!to || e.altKey || e.ctrlKey || e.metaKey) return;
  e.preventDefault();
  const next = $(cellName(to[0], to[1]));
  if (next && to[0] >= -1 && to[1] >= -1) { next.focus(); next.select(); }
}

// cellsOf takes a block apart that was copied from a spreadsheet or a file.
function cellsOf(text) {
  const lines = text.replace(/\r/g, "").replace(/\n+$/, "").split("\n");
  const by = text.includes("\t") ? "\t" : text.includes(";") ? ";" : null;
  return lines.filter((l) => !/^\s*#/.test(l)).map((l) => (by ? l.split(by) : [l]).map((v) => v.trim()));
}

// paste puts a block into the table, which grows to hold it.
function paste(e, j, i) {
  const text = e.clipboardData.getData("text"), rows = cellsOf(text);
  if (rows.length < 2 && rows[0].length < 2) return; // one number, as usual
  e.preventDefault();
  const t = table(), most = Math.max(...rows.map((r) => r.length));
  if (i + most > mostNodes || j + rows.length > mostNodes) {
    $("fault-table").textContent = "The block has " + most + " by " + rows.length + " cells; " + mostNodes + " by " + mostNodes + " are the most here: drop it as a file.";
    return;
  }
  while (t.x.length < i + most) t.x.push("");
  while (t.y.length < j + rows.length) t.y.push("");
  if (j < 0 && i < 0) { t.x.length = most - 1; t.y.length = rows.length - 1; }
  even();
  rows.forEach((row, a) => row.forEach((v, b) => setCell(j + a, i + b, v)));
  drawTable();
  changed();
}

// layOut spaces nodes evenly; heights stay in their rows and columns.
function layOut() {
  const of = (id) => Number($(id).value.replace(",", ".").replace("\u2212", "-"));
  const nodes = (n, from, to) => Array.from({ length: n }, (_, k) => String(+(from + (to - from) * k / (n - 1)).toFixed(4)));
  const nx = of("lay-nx"), ny = of("lay-ny"), good = (n) => Number.isInteger(n) && n >= 2 && n <= mostNodes;
  const ends = ["lay-x0", "lay-x1", "lay-y0", "lay-y1"].map(of);
  if (!good(nx) || !good(ny) || ends.some((v) => !isFinite(v)) || ends[0] === ends[1] || ends[2] === ends[3]) {
    $("fault-table").textContent = "Wants from 2 to " + mostNodes + " columns and rows, and two different ends for X and for Y.";
    return;
  }
  table().x = nodes(nx, ends[0], ends[1]);
  table().y = nodes(ny, ends[2], ends[3]);
  drawTable();
  changed();
  $("z-0-0").focus();
}

// grow adds a column or a row, or takes the last away; what is typed there is asked for.
function grow(axis, by) {
  const t = table(), nodes = t[axis], n = nodes.length;
  if (n + by < 2 || n + by > mostNodes) return;
  if (by > 0) {
    const step = Number(nodes[n - 1]) - Number(nodes[n - 2]);
    nodes.push(isFinite(step) ? String(+(Number(nodes[n - 1]) + step).toFixed(4)) : "");
  } else {
    const lost = axis === "x" ? t.z.some((r) => r[n - 1]) : t.z[n - 1].some((v) => v);
    if (lost) { $("fault-table").textContent = "The last " + (axis === "x" ? "column" : "row") + " has heights: clear them first."; return; }
    nodes.pop();
  }
  drawTable();
  changed();
}

$("lay").addEventListener("click", layOut);
for (const [id, axis, by] of [["more-x", "x", 1], ["less-x", "x", -1], ["more-y", "y", 1], ["less-y", "y", -1]])
  $(id).addEventListener("click", () => grow(axis, by));

async function keepTable(replace) {
  fault("result-table", "");
  try {
    await sent();
    const said = await ask("POST", "heights", { replace });
    await look();
    $("said-table").textContent += " They are kept as " + said.name + ".";
    force();
  } catch (e) {
    if (e.ask) return replacing("table", e, () => keepTable(true));
    fault(e.field || "result-table", e.message);
    if (e.field && $(e.field)) $(e.field).focus();
  }
}
$("keep-table").addEventListener("click", () => keepTable(false));

// Boxes that stand on the bench: rows of five numbers, kept with semicolons between.
const sides = ["from X", "from Y", "to X", "to Y", "height"];

function drawBoxes() {
  const rows = c.drafts.boxes || (c.drafts.boxes = {}), n = Math.max(1, ...Object.keys(rows).map((k) => Number(k) + 1)), box = $("boxes");
  for (const row of [...box.querySelectorAll("tr")]) row.remove();
  box.append(make("tr", sides.map((s) => make("th", s, { scope: "col" }))));
  for (let k = 0; k < n; k++) {
    const parts = (rows[k] || ";;;;").split(";");
    box.append(make("tr", sides.map((side, i) => {
      const cell = make("input", null, { id: "box-" + k + "-" + i, "aria-label": side + " of box " + (k + 1), "aria-describedby": "fault-boxes", autocomplete: "off" });
      cell.value = parts[i] || "";
      cell.addEventListener("input", () => {
        parts[i] = cell.value.replace(/;/g, "");
        rows[k] = parts.join(";");
        cell.removeAttribute("aria-invalid");
        $("fault-boxes").textContent = "";
        changed();
      });
      return make("td", cell);
    })));
  }
}
$("more-box").addEventListener("click", () => {
  const n = Object.keys(c.drafts.boxes).length ? Math.max(...Object.keys(c.drafts.boxes).map(Number)) + 1 : 1;
  if (n >= 60) return;
  c.drafts.boxes[n] = ";;;;";
  drawBoxes();
  $("box-" + n + "-0").focus();
});

async function keepBoxes(replace) {
  fault("result-boxes", "");
  try {
    await sent();
    const said = await ask("POST", "boxes", { replace });
    await look();
    c.keep_out = said.name;
    taken();
    force();
    $("ask-boxes").textContent = said.name + " is written, and kept clear of.";
  } catch (e) {
    if (e.ask) return replacing("boxes", e, () => keepBoxes(true));
    const cell = e.field && $(e.field);
    if (cell) { $("fault-boxes").textContent = e.message; cell.setAttribute("aria-invalid", "true"); cell.focus(); } else fault("result-boxes", e.message);
  }
}
$("keep-boxes").addEventListener("click", () => keepBoxes(false));
