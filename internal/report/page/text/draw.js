// The picture of the path: above what c may be and is, below how fast Z goes and by how much
// that steps.
const SVG = "http://www.w3.org/2000/svg";
const make = (parent, name, attributes, text) => {
  const e = document.createElementNS(SVG, name);
  for (const key in attributes) e.setAttribute(key, attributes[key]);
  if (text !== undefined) e.textContent = text;
  parent.appendChild(e);
  return e;
};

// view is what is shown of the path, and where the read-out is.
const view = { by: "time", from: 0, to: 1, at: 0 };
const layout = () => along[view.by];
// plot is where things stand on the screen, in pixels.
const plot = { left: 50, right: 14, top: 20, between: 34, bottom: 42, width: 0, height: 0, split: 0 };
const across = (v) => plot.left + (v - view.from) / (view.to - view.from) * (plot.width - plot.left - plot.right);
const back = (x) => view.from + (x - plot.left) / (plot.width - plot.left - plot.right) * (view.to - view.from);

// shown are the samples in view and one beyond either end.
const shown = () => {
  const last = samples.stretch.length - 1;
  return [Math.max(0, nearest(layout(), view.from) - 1), Math.min(last, nearest(layout(), view.to) + 1)];
};

// extent is that of what is shown, upwards.
const extent = (first, last) => {
  let low = 0, high = 0, any = false;
  const take = (v) => {
    if (v === null || v === undefined) return;
    if (!any) { low = high = v; any = true; }
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (let k = first; k <= last; k++) {
    const s = samples.stretch[k], w = windowAt(k);
    if (burns(s)) {
      if (w) { take(w[0]); take(w[1]); }
      take(samples.h[k]);
      take(stretches.c_lo[s]);
      take(stretches.c_hi[s]);
    } else take(cAt(k));
  }
  const pad = Math.max(0.05 * (high - low), 0.02);
  return [low - pad, high + pad];
};

// stepAt is where in the layout the speed of Z steps most within a stretch, and steepest the
// stretch in which it does of all.
const stepAt = (s) => {
  const l = layout(), lasts = stretches.until[s] - stretches.at[s];
  return l.from[s] + (lasts > 0 ? (stretches.z_step_at[s] - stretches.at[s]) / lasts : 0) * (l.to[s] - l.from[s]);
};
const steepest = path ? stretches.z_step.reduce((most, v, s) => v > stretches.z_step[most] ? s : most, 0) : 0;
// bench says what the bench can do, where that is known.
const bench = (v) => v > 0 ? ` (the bench: ${short(v)})` : "";
const drawAxes = (svg, low, high, top) => {
  const narrow = plot.width < 560;
  const right = plot.width - plot.right, up = (v) => plot.split - (v - low) / (high - low) * (plot.split - plot.top);
  const step = stepOf(low, high, 6);
  for (const v of ticks(low, high, step)) {
    make(svg, "path", { class: "grid", d: `M${plot.left} ${up(v)}H${right}` });
    make(svg, "text", { x: plot.left - 6, y: up(v) + 4, "text-anchor": "end" }, fixed(v, decimalsOf(step)));
  }
  make(svg, "text", { x: 2, y: 12 }, "c, mm");
  const floor = plot.height - plot.bottom, ceiling = plot.split + plot.between;
  const fast = (v) => floor - v / top * (floor - ceiling);
  const stepZ = stepOf(0, top, 2);
  for (const v of ticks(0, top, stepZ)) {
    make(svg, "path", { class: "grid", d: `M${plot.left} ${fast(v)}H${right}` });
    make(svg, "text", { x: plot.left - 6, y: fast(v) + 4, "text-anchor": "end" }, fixed(v, decimalsOf(stepZ)));
  }
  make(svg, "text", { x: 2, y: plot.split + 22 }, "Z speed, mm/s" + bench(path.z_speed_mm_s) + (path.inertia ? ", and its steps" + bench(path.z_step_mm_s) : ""));
  const most = Math.max(2, Math.floor((plot.width - plot.left) / (narrow ? 80 : 100)));
  const time = view.by === "time", stepX = stepOf(view.from, view.to, most, time ? SECONDS : [1, 2, 5, 10]);
  for (const v of ticks(view.from, view.to, stepX)) {
    const x = across(v), anchor = x > right - 24 ? "end" : "middle";
    make(svg, "path", { class: "grid", d: `M${x} ${plot.top}V${plot.split}M${x} ${ceiling}V${floor}` });
    make(svg, "text", { x: anchor === "end" ? right : x, y: floor + 16, "text-anchor": anchor }, time ? secondsText(v, stepX) : fixed(v, 0));
  }
  make(svg, "text", { x: right, y: floor + 34, "text-anchor": "end" }, time ? "time from the beginning" : path.programs.length > 1 ? "lines, one program behind the other" : "line of the program");
  return { up, fast, floor, ceiling, right };
};

const drawPath = () => {
  const box = element("chart"), svg = document.createElementNS(SVG, "svg");
  plot.width = Math.max(240, box.clientWidth);
  plot.height = Math.max(240, box.clientHeight);
  plot.split = plot.top + (plot.height - plot.top - plot.between - plot.bottom) * 0.68;
  for (const key of ["width", "height"]) svg.setAttribute(key, plot[key]);
  svg.setAttribute("aria-hidden", "true");
  const [first, last] = shown(), [low, high] = extent(first, last);
  // Of travels, which may go as fast as Z does, no more is shown than of burns.
  let top = 0;
  stretches.z_speed.forEach((v, s) => { if (stretches.kind[s] === BURNS) top = Math.max(top, v); });
  for (const v of stretches.z_step) top = Math.max(top, v);
  if (top === 0) for (const v of stretches.z_speed) top = Math.max(top, v);
  const limits = [["limit", path.z_speed_mm_s], ["limit step", path.z_step_mm_s]].filter((l) => l[1] > 0);
  for (const [, v] of limits) if (v < 3 * top) top = Math.max(top, v);
  const axes = drawAxes(svg, low, high, top > 0 ? top * 1.08 : 1);
  const defs = make(svg, "defs", {}), clip = make(defs, "clipPath", { id: "inside" });
  make(clip, "rect", { x: plot.left, y: plot.top, width: axes.right - plot.left, height: axes.floor - plot.top });
  const inside = make(svg, "g", { "clip-path": "url(#inside)" });
  const f = (v) => v.toFixed(1);

  // Windows of burns, as long as they go on; the height of the stock; c.
  let bands = "", stock = "", c = "", idle = "", spread = "", run = [];
  const close = () => {
    if (run.length > 1) bands += "M" + run.map((r) => f(r[0]) + " " + f(r[2])).join("L") + "L" + run.reverse().map((r) => f(r[0]) + " " + f(r[1])).join("L") + "Z";
    run = [];
  };
  let pen = false, drawn = -2, was = -1;
  for (let k = first; k <= last; k++) {
    const s = samples.stretch[k], x = across(alongAt(layout(), k)), w = windowAt(k);
    if (burns(s) && w) {
      // It goes on from the end of the stretch before.
      if (s !== was && samples.part[k] > 0 && k > 0) {
        const from = across(layout().from[s]), h = samples.h[k - 1], p = askedOf(s);
        const edge = exact(s) && h !== null ? [h + p.defocus_mm - p.near_mm + stretches.less[s], h + p.defocus_mm + p.far_mm - stretches.less[s]]
          : [w[0] - (stretches.c_to[s] - stretches.c_from[s]) * samples.part[k], w[1] - (stretches.c_to[s] - stretches.c_from[s]) * samples.part[k]];
        run.push([from, axes.up(edge[0]), axes.up(edge[1])]);
      }
      run.push([x, axes.up(w[0]), axes.up(w[1])]);
    } else close();
    was = s;
    if (samples.h[k] !== null) {
      stock += (pen ? "L" : "M") + f(x) + " " + f(axes.up(samples.h[k]));
      pen = true;
    } else pen = false;
  }
  close();
  let speed = "", steps = "";
  const s0 = samples.stretch[first], s1 = samples.stretch[last];
  for (let s = s0; s <= s1; s++) {
    const x0 = across(layout().from[s]), x1 = across(layout().to[s]);
    const part = `${drawn === s - 1 ? "L" : "M"}${f(x0)} ${f(axes.up(stretches.c_from[s]))}L${f(x1)} ${f(axes.up(stretches.c_to[s]))}`;
    if (burns(s)) { c += part; drawn = s; } else idle += part.replace(/^L/, "M");
    if (stretches.last[s] > stretches.line[s] && stretches.c_hi[s] > stretches.c_lo[s]) spread += `M${f(x0)} ${f(axes.up(stretches.c_lo[s]))}H${f(x1)}V${f(axes.up(stretches.c_hi[s]))}H${f(x0)}Z`;
    if (stretches.z_speed[s] > 0) speed += `M${f(x0)} ${f(axes.floor)}V${f(Math.max(axes.ceiling, axes.fast(stretches.z_speed[s])))}H${f(Math.max(x1, x0 + 0.6))}V${f(axes.floor)}Z`;
    if (stretches.z_step[s] > 0) steps += `M${f(across(stepAt(s)))} ${f(axes.floor)}V${f(axes.fast(stretches.z_step[s]))}`;
  }
  make(inside, "path", { class: "window", d: bands });
  make(inside, "path", { class: "stock", d: stock });
  make(inside, "path", { class: "spread", d: spread });
  make(inside, "path", { class: "c travel", d: idle });
  make(inside, "path", { class: "c", d: c });
  make(inside, "path", { class: "rate", d: speed });
  make(inside, "path", { class: "step", d: steps });
  for (const [name, v] of limits) if (axes.fast(v) >= axes.ceiling) make(inside, "path", { class: name, d: `M${plot.left} ${axes.fast(v)}H${axes.right}` });
  path.programs.forEach((p, k) => {
    const s = stretches.program.indexOf(k);
    if (k > 0 && s > 0) make(inside, "path", { class: "zone", d: `M${f(across(layout().from[s]))} ${plot.top}V${axes.floor}` });
  });
  for (const button of document.querySelectorAll("button[data-at]")) {
    const k = nearest(along.time, +button.dataset.at), most = button.className === "step", y = most ? axes.ceiling : plot.top;
    const x = across(most ? stepAt(steepest) : alongAt(layout(), k));
    if (x >= plot.left && x <= axes.right) make(svg, "path", { class: most ? "most step" : button.closest("tr.out") ? "worst out" : "worst", d: `M${f(x - 5)} ${y - 9}H${f(x + 5)}L${f(x)} ${y - 1}Z` });
  }
  for (const [y0, y1] of [[plot.top, plot.split], [axes.ceiling, axes.floor]]) make(svg, "rect", { class: "frame", x: plot.left, y: y0, width: axes.right - plot.left, height: y1 - y0 });
  const cursor = make(inside, "g", { id: "cursor" });
  make(cursor, "path", { class: "cursor", d: `M0 ${plot.top}V${plot.split}M0 ${axes.ceiling}V${axes.floor}` });
  make(cursor, "circle", { class: "at", r: 5 });
  box.replaceChildren(svg);
  plot.up = axes.up;
  placeCursor();
};
const placeCursor = () => {
  const cursor = element("cursor");
  cursor.setAttribute("transform", `translate(${across(alongAt(layout(), view.at)).toFixed(2)} 0)`);
  cursor.querySelector("circle").setAttribute("cy", plot.up(cAt(view.at)).toFixed(2));
};
